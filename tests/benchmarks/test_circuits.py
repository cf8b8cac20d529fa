"""The round of all circuits covers each of them, both sides agree, and it runs; no test passes or fails on a time."""

import numpy as np
import pytest

from designer.circuits import CIRCUITS, SUPPLIES
from tests.benchmarks import circuits

#: quick to march; what the others march is compared in their own tests
QUICK = ("triac-series", "chopper-series", "chopper-armature", "chopper-field", "field-chopper", "rectifier")


def test_every_circuit_and_supply_has_its_side():
    """A circuit that is added is asked for here."""
    assert {side.name for side in circuits.sides()} == {one.name for one in (*CIRCUITS, *SUPPLIES)}


@pytest.mark.parametrize("name", QUICK)
def test_package_and_march_agree(name: str):
    """To 1e-5 in the figure that is compared (scipy solve_ivp, no code shared)."""
    side = next(one for one in circuits.sides() if one.name == name)
    middle = float(np.mean(side.settings))
    assert side.many(np.array([middle]))[0] == pytest.approx(side.one(middle), rel=1e-5)
