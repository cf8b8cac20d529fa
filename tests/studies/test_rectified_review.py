"""Faults and wiring words of rectifiers on phase angle that a review found wrong; paths traced by hand."""

from __future__ import annotations

import pytest

from designer.project import loads
from designer.studies.design import design
from tests.studies.cases import text_of


@pytest.mark.parametrize("bridge, through", [
    ("one-leg", "a thyristor of the other leg, once it fires"), ("common-cathode", "the one beside it")])
def test_a_shorted_diode_of_the_bridge_names_what_closes_the_short(bridge, through):
    """Derived: in one leg's form each bus has one thyristor and one diode, so a thyristor closes the short."""
    made = design(loads(text_of("extractor", ('bridge = "common-cathode"', f'bridge = "{bridge}"'))))
    assert any(fault.name == f"Diode of the bridge shorted: the line is short through {through}"
               for fault in made.faults)
