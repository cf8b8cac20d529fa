"""Random designs with a triac: no chosen part is below its stress with its margin, in any state of the box.

Source of the stresses: the states' own waveforms, also at states that no part was chosen from; for some designs an
independent integration (tests/reference.py, scipy solve_ivp). Limits and shares: the tables, read in the test.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import chain
from types import SimpleNamespace

import numpy as np
import pytest

from designer.studies.groups import Group, voltages
from tests import reference
from tests.properties import held
from tests.properties.designs import Design, Tally, together
from tests.properties.floors import FLOORS, KINDS
from tests.studies.cases import case_of

SETTINGS = (0.9, 2.1)       # rad: firing angles of the draws
INTEGRATED = 5


@pytest.fixture(scope="module")
def tally() -> Tally:
    """All designs behind a triac."""
    kind = KINDS["triac-series"]
    return together("triac-series", machines=kind.machines, each=kind.each, settings=SETTINGS, circuit=kind.keys)


def needs(design: Design) -> Iterator[held.Need]:
    """What every part of it has to bear."""
    return chain(held.line_needs(design), held.switch_needs(design, "triacs"), held.sink_needs(design))


def test_all_circuits_together_make_two_thousand() -> None:
    """The floors of all circuits, which each file holds for its own, add up to what was asked."""
    assert sum(FLOORS.values()) >= 2000
    assert set(FLOORS) == set(KINDS)


def test_enough_designs_are_feasible(tally: Tally) -> None:
    """The property is worth what it was tried on."""
    assert len(tally.designs) >= FLOORS["triac-series"], tally.refused


def test_every_part_bears_its_stress_with_its_margin(tally: Tally) -> None:
    """No part of any design is below its stress in any state, surveyed or not."""
    assert [(n, fault) for n, one in enumerate(tally.designs) for fault in held.broken(needs(one))] == []


def test_the_next_smaller_class_is_found_out(tally: Tally) -> None:
    """With its triac one class smaller a design that needed the larger one breaks the property."""
    found = [held.broken(needs(smaller)) for one in tally.designs[:200] if (smaller := held.one_class_less(
        one, "triacs")) is not None]
    assert len(found) > 20
    assert sum(bool(faults) for faults in found) > 0.5 * len(found)


def integrated(design: Design, group: Group, at: int) -> reference.Result:
    """One state of a design by the independent march."""
    scene = design.scene
    case = case_of(SimpleNamespace(project=scene.project, found=scene.found), group.points, at)
    return reference.steady(case)


@pytest.mark.parametrize("nth", range(INTEGRATED))
def test_integrated_stresses_are_borne_too(tally: Tally, nth: int) -> None:
    """The worst states of a design, integrated apart, stay within the shares of the triac's class and of the fuse."""
    design = tally.designs[(2 * nth + 1) * len(tally.designs) // (2 * INTEGRATED)]
    part, fused = (held.parts_of(design, role)[0] for role in ("switch", "fuse"))
    row = held.row_of("triacs", part)
    for name in ("switch_current_rms", "turn_off_current_slope"):
        group = max(held.Seen(design=design).running, key=lambda one: float(np.max(one.stresses[name])))
        at = int(np.argmax(group.stresses[name]))
        truth = integrated(design, group, at)
        assert truth.rms == pytest.approx(float(group.stresses["switch_current_rms"][at]), rel=1e-3)
        assert truth.rms <= held.margin("switch_current") * row["current"]
        assert truth.slope_off <= held.margin("commutating_slope") * row["commutating_slope"]
        assert fused.value is not None
        assert truth.rms <= fused.value.value


@pytest.mark.parametrize("nth", range(INTEGRATED))
def test_the_first_peak_of_a_start_is_borne(tally: Tally, nth: int) -> None:
    """Switched on at rest, fully on, high mains, cold: the first half cycle stays within the surge share."""
    design = tally.designs[(2 * nth + 1) * len(tally.designs) // (2 * INTEGRATED)]
    scene, stall = design.scene, design.scene.groups["stall"][0]
    project = scene.project
    case = case_of(SimpleNamespace(project=project, found=scene.found), stall.points, 1)
    case = replace(case, L_s=0.0, R_s=min(
        project.supply.source_resistance, voltages(project)[1] / project.supply.fault_current))
    first = math.asin((case.V_b + case.V_T0) / (math.sqrt(2) * case.voltage)) + 1e-6
    peak = reference.conduct(case, 1, first, 0.0).peak
    assert peak > 1.02 * stall.stresses["switch_current_peak"][1]
    assert peak <= held.margin("switch_surge") * held.row_of("triacs", held.parts_of(design, "switch")[0])[
        "surge_current"]
