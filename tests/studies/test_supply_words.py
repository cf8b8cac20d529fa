"""What a sheet calls its supply: mains where it is mains, and never on a battery."""

from __future__ import annotations

import re

import pytest

from designer.studies.bench import dead
from designer.studies.export import design_json
from designer.studies.sides import Names, side
from designer.studies.sides.mains import guarding
from tests.studies import cases

#: what sources call their classes of parts, and what must not stand between a diode and its winding
NAMES = ("mains rectifier diode", "mains diodes and bridges", "(a mains diode)", "no switch, fuse or plug")


@pytest.fixture(scope="module")
def cart():
    """The garden cart on its battery."""
    return cases.made("garden-cart")


def texts(value):
    """Every text of a JSON value but its keys."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from texts(one)
    elif isinstance(value, list):
        for one in value:
            yield from texts(one)


def test_nothing_of_a_battery_is_called_mains(cart):
    """No text of the whole result speaks of mains, a plug or a bridge: none is there (derived: the circuit)."""
    for text in texts(design_json(cart.design)):
        for name in NAMES:
            text = text.replace(name, "")
        assert not re.search(r"\bmains\b|\bplug\b|\bthe bridge\b", text, re.IGNORECASE), text


def test_curves_and_faults_of_a_battery_name_the_supply(cart):
    """Their words are those of the supply."""
    assert {curve.name for curve in cart.design.characteristic.load_curves} >= {"low supply", "high supply"}
    assert any(fault.name == "Stall at the setting, high supply, cold" for fault in cart.design.faults)


def test_mains_stays_named_where_it_is():
    """The first steps of a mains file speak of plug, mains conductors, varistor and the earth pin."""
    look, insulation, earth = dead(cases.project("lathe"))
    assert "Plug out" in look.action
    assert "mains and motor conductors" in insulation.action
    assert "varistor lifted" in insulation.action
    assert earth.title == "Earth continuity"
    assert "plug's earth pin" in earth.action


def test_a_battery_is_taken_off_at_both_poles_and_the_frame_is_proved():
    """It has no plug and no earth pin (derived)."""
    look, _, frame = dead(cases.project("garden-cart"))
    assert "both poles" in look.action
    assert frame.title == "Frame continuity"
    assert "where the supply has a protective earth" in frame.action


def test_logic_is_isolated_where_a_direct_bus_shocks():
    """Above 60 V d.c. (IEC 60364-4-41, from memory) as on mains; below it the logic stands at the bus minus."""
    def logic(*pairs):
        rows = side("chopper").wires(Names(parts=()), cases.project("garden-cart", *pairs), {})
        return next(row[3] for row in rows if row[0] == "logic, duty output")

    assert logic() == "its ground at the bus minus, at the driver"
    assert logic(('"36 V"', '"110 V"'), ('"31 V"', '"100 V"'), ('"42 V"', '"120 V"')) == "the isolated side"


def test_a_thermal_switch_in_the_coil_stands_in_the_wiring():
    """Its way is told, and that the release latches; one that breaks the line stands in the line."""
    (row,) = guarding(cases.project("garden-cart"))
    assert row[:2] == ("thermal switch in the motor", "coil of S1, in series")
    assert "latches" in row[3]
    assert list(guarding(cases.project("garden-cart", ('breaks = "contactor-coil"', 'breaks = "field"')))) == []
