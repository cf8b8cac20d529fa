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


def test_a_common_cathode_thyristor_takes_both_snubbers_at_turn_on():
    """Derived: firing lifts the common cathode, and the other's snubber charges through it with the same V/R.

    The choke of 33 µH at its lower end (E6: 20 %, IEC 60063) leaves the rest.
    """
    made = design(loads(text_of("extractor")))
    worst = {check.rating: check for check in made.checks if check.part.startswith(("Q", "R"))}
    own, one = worst["rise of current"], worst["current rise at turn-on"]
    crest = 2**0.5 * 253.0
    assert own.stress.value == pytest.approx(2 * one.stress.value + crest / (0.8 * 33e-6), rel=1e-6)
    assert {own.verdict, one.verdict} == {"pass"}


@pytest.mark.parametrize("freewheel, wired", [("true", True), ("false", False)])
def test_a_choke_stands_between_capacitor_and_thyristor_where_a_diode_free_wheels(freewheel, wired):
    """Derived: 358 V on 0.5 µH of wire rise at 700 A/µs; a choke is in parts, checks and wiring where it is needed."""
    made = design(loads(text_of("buffing-spindle", ("freewheel = true", f"freewheel = {freewheel}"))))
    chokes = [part for part in made.parts if part.role == "turn-on-choke"]
    assert bool(chokes) is wired
    assert any(row.end == "L1, one end" and "C1" in row.start for row in made.wiring) is wired
    assert any(check.part == "L1" and check.rating == "rise of current that it leaves"
               for check in made.checks) is wired
    told = next(one.text for one in made.assumptions if "moment of commutation" in one.text)
    assert ("only the choke stands before the thyristors" in told) is wired


def test_a_field_fed_from_the_mains_is_told_as_the_first_mains_step():
    """The rule of the steps to first power: what mains brings is said where it is first connected."""
    made = design(loads(text_of("extractor", ('kind = "dc"\nvoltage = "12 V"',
                                              'kind = "transformer-rectifier"\nvoltage = "12 V"\npower = "100 W"'))))
    step = next(one for one in made.first_power if one.title == "The field on its own supply")
    assert step.mains
    assert "prove it dead" in step.caution
