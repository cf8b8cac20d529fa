"""The verb pinout: wiring that turns the torque exactly once, tapped fields, JSON as the guide has it."""

from __future__ import annotations

import json

import pytest

from designer.output import json_text
from designer.project import loads
from designer.project.loading import load
from designer.sheet.pinout_text import pinout_table
from designer.sheet.reports import examples, verb_of
from designer.studies.pinout import Connection, PinReport, pinout, pinout_json
from tests.pin_cases import OPEN, SCENARIOS

HALVES = (("1", "2", 1.4), ("3", "4", 1.5), ("5", "6", (2.9, 4.7, 2.6, 3.3)))


def text_of(rows, lead=None, more="others_open = true"):
    """A project file of pin rows."""
    lines = ['title = "Pins"']
    for a, b, value in rows:
        kind = "turning" if isinstance(value, tuple) else "resistance"
        told = [f"{x} ohm" for x in value] if isinstance(value, tuple) else "open" if value == OPEN else f"{value} ohm"
        lines.append(f'[[pins]]\npair = ["{a}", "{b}"]\n{kind} = {json.dumps(told)}')
    given = f'lead_resistance = "{lead} ohm"\n' if lead is not None else ""
    return "\n".join(lines) + f"\n[pin_test]\n{given}{more}\n"


def report(rows, lead=None, more="others_open = true") -> PinReport:
    """The report of pin rows, through the file as a user writes it."""
    return pinout(loads(text_of(rows, lead, more), verb="pinout"))


def scenario(name) -> PinReport:
    """The report of a scenario."""
    rows, lead, _ = SCENARIOS[name]
    return report(rows, lead)


def directions(made: Connection, report_: PinReport) -> tuple[int, int]:
    """Direction of the current through armature and field, found by following the wires from plus to minus."""
    ends = {wire.start: wire.end for wire in made.wires}
    through: dict[str, str] = {}
    for winding in report_.pinout.windings:
        if winding.role in ("armature", "field"):
            a, b = (f"pin {pin}" for pin in winding.pins)
            through |= {a: b, b: a}
    entered = set()
    for plus in ("supply +", "armature supply +", "field supply +"):
        place = ends.get(plus)
        while place is not None and place.startswith("pin"):
            entered.add(place)
            out = through[place]
            place = ends.get(out)
    first = {w.role: f"pin {w.pins[0]}" for w in report_.pinout.windings if w.role in ("armature", "field")}
    return tuple(1 if first[role] in entered else -1 for role in ("armature", "field"))  # type: ignore[return-value]


@pytest.mark.parametrize("name", SCENARIOS)
@pytest.mark.parametrize("way", ["series", "separate"])
def test_reversing_turns_the_torque_exactly_once(name, way):
    """Torque goes with the product of both currents: one winding is swapped, the other is not."""
    made = scenario(name)
    known = {c.name: c for c in made.connections}
    forward, reverse = (directions(known[f"{way}-{end}"], made) for end in ("forward", "reversed"))
    assert forward[0] * forward[1] == -reverse[0] * reverse[1]
    assert forward[1] == reverse[1]


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_winding_is_wired_once(name):
    """Each end of armature and field stands in each table once; nothing else of the connector does."""
    made = scenario(name)
    wanted = {f"pin {pin}" for w in made.pinout.windings if w.role in ("armature", "field") for pin in w.pins}
    assert [c.name for c in made.connections] == [
        "series-forward", "series-reversed", "separate-forward", "separate-reversed"]
    for connection in made.connections:
        places = [place for wire in connection.wires for place in (wire.start, wire.end) if place.startswith("pin")]
        assert sorted(places) == sorted(wanted)


def test_the_tap_is_told_by_its_share():
    """S5: 1.28 and 1.32 of 2.60 Ω (source: needs of the users), whole field first."""
    choices = scenario("S5").field_choices
    assert [c.pins for c in choices] == [("3", "5"), ("3", "4"), ("4", "5")]
    assert [c.share for c in choices] == pytest.approx([1.0, 1.28 / 2.60, 1.32 / 2.60], abs=1e-6)


def test_halves_are_joined_and_both_ways_are_told():
    """Pin 2 to pin 3 or to pin 4: one aids, the other opposes, and the way to tell is printed."""
    made = report(HALVES)
    assert [(c.pins, c.join) for c in made.field_choices] == [
        (("1", "4"), "pin 2 to pin 3"), (("1", "3"), "pin 2 to pin 4")]
    assert "aiding halves" in made.field_choices[0].effect
    series = made.connections[0]
    assert {(w.start, w.end) for w in series.wires} >= {("pin 2", "pin 3")}


def test_a_joint_inside_the_motor_leaves_one_way():
    """Series as it is: neither reversed nor fed apart without opening the motor."""
    made = report((("3", "4", 1.9), ("4", "6", (2.9, 4.7, 2.6, 3.3)), ("3", "6", (4.9, 6.7, 4.6))))
    (only,) = made.connections
    assert [(w.start, w.end) for w in only.wires] == [("supply +", "pin 6"), ("pin 3", "supply −")]
    assert "must be opened" in only.note


@pytest.mark.parametrize("rows", [
    (("1", "2", 2.0), ("2", "3", 2.0), ("1", "3", 2.0)),
    (("3", "4", 1.9), ("5", "6", 2.9)),
    (("3", "4", 1.9), ("5", "6", (2.9, 4.7, 2.6)), ("3", "frame", 10.0)),
    (("5", "6", (2.9, 4.7, 2.6)), ("7", "8", 180.0)),
], ids=["three-phase", "not-turned", "to-frame", "no-field"])
def test_what_is_not_settled_is_not_wired(rows):
    """No wiring, no choice of field: nothing to build from."""
    made = report(rows)
    assert (made.connections, made.field_choices) == ((), ())
    assert "Wiring" not in pinout_table(made)


def test_json_is_as_the_guide_has_it():
    """Windings with role, pins and confidence; leads; next reading; refusal or null; strict JSON."""
    data = json.loads(json_text(pinout_json(scenario("S5"))))
    assert {"windings", "lead_resistance", "next_reading", "refused", "format"} <= set(data)
    assert data["refused"] is None
    assert data["format"] == 1
    assert data["lead_resistance"]["value"] == pytest.approx(0.2)  # source: needs of the users, S5
    assert data["lead_resistance"]["unit"] == "ohm"
    for winding in data["windings"]:
        assert 0 <= winding["confidence"] <= 1
        assert winding["pins"]
    told = {winding["role"]: winding["pins"] for winding in data["windings"]}
    assert told["field"] == ["3", "5"]
    assert told["field-tap"] == ["4"]
    assert {"kind", "pins", "action", "meaning", "key", "bits"} == set(data["next_reading"])


def test_a_refusal_stands_in_the_json():
    """As a sentence."""
    data = pinout_json(report((("1", "2", 2.0), ("2", "3", 2.0), ("1", "3", 2.0))))
    assert data["refused"].startswith("Pins 1, 2, 3 read 2 Ω")
    assert data["connections"] == []


def test_worked_lines_come_from_the_formulas():
    """Leads from the tap, windings less the leads, share of the tap."""
    names = [step.formula.name for step in scenario("S5").worked]
    assert names == ["lead-resistance-from-tap", "winding-resistance-from-reading", "winding-resistance-from-reading",
                     "tap-share"]
    assert scenario("S5").worked[2].value == pytest.approx(2.60)  # source: needs of the users, S5


def test_the_terminal_tells_caution_labels_and_next():
    """Caution first; every label with its confidence; the wiring at the end."""
    text = pinout_table(scenario("S4"))
    assert text.startswith("Read a dead motor only")
    assert "Pins: LABELLED" in text
    assert text.index("earth") < text.index("Next reading") < text.index("Wiring for a first turn")
    assert max(map(len, text.splitlines())) <= 116


def test_contradictions_reach_the_terminal():
    """With their code."""
    text = pinout_table(report((*HALVES[2:], ("7", "8", 1.5), ("8", "9", 1.5), ("7", "9", 4.8))))
    assert "contradiction (triangle): 7–9 reads 4.8 Ω" in text
    assert "NOT SETTLED" in text


def test_examples_for_pinout_are_labelled():
    """Each example without a circuit is settled."""
    made = [pinout(load(path, "pinout")) for path in examples() if verb_of(path) == "pinout"]
    assert made
    assert all(one.pinout.wireable for one in made)
