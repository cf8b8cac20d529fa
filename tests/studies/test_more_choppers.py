"""Designs and sheets of chopper-series, dual-chopper and field-chopper; why chopper-field is not designed."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from designer.errors import InputErrors
from designer.project import loads
from designer.results import Design
from designer.sheet import build_sheet
from designer.sheet.cautions import cautions
from designer.sheet.diagrams import diagram
from designer.sheet.facts import kind_of
from designer.sheet.pictures import labels, said
from designer.studies.design import design
from designer.studies.solve import solve
from tests.studies import cases

EXAMPLES = {"chopper-series": "garden-cart", "dual-chopper": "two-chopper-cart", "field-chopper": "lathe-field"}
RPM = math.pi / 30
#: parts that no conductor ends at: they are conductors, or are screwed on
NOT_WIRED = {"wire", "motor-wire", "field-wire", "heatsink"}


@dataclass(frozen=True, kw_only=True)
class Sheeted:
    """A design, its sheet's text, and its diagram."""

    design: Design
    page: str
    drawing: str


@cache
def sheeted(circuit: str) -> Sheeted:
    """One design a circuit for all tests here."""
    found = design(cases.project(EXAMPLES[circuit]))
    drawing = diagram(kind_of(found), labels(found.parts) | said(found))
    return Sheeted(design=found, page=build_sheet(found), drawing=drawing)


@pytest.fixture(scope="module", params=EXAMPLES)
def made(request) -> Sheeted:
    """Each circuit's in turn."""
    return sheeted(request.param)


def field_speed(floor: str):
    """The two-chopper cart with its armature straight on the bus."""
    pairs = [('kind = "dual-chopper"', f'kind = "chopper-field"\nstarter = "resistor"\nfield_floor = "{floor}"'),
             ('field_current = "4 A"', ""), ('current_limit = "14 A"', "")]
    return cases.project("two-chopper-cart", *pairs)


def faults_of(project) -> dict[str, object]:
    """The faults of a refused design by key."""
    with pytest.raises(InputErrors) as raised:
        design(project)
    return {fault.key: fault for fault in raised.value.faults}


def test_ready_with_every_check_met(made):
    """The invented examples come out ready: no reason, no failed check, parts and steps to first power."""
    found = made.design
    assert found.reasons == ()
    assert {check.verdict for check in found.checks} <= {"pass", "warn"}
    assert found.parts
    assert found.first_power


def test_every_part_has_a_conductor(made):
    """No part of the list is left out of the wiring table: clamp, gate drive and filter of a field's chopper too."""
    text = " ".join(f"{wire.start} {wire.end} {wire.note}" for wire in made.design.wiring)
    named = set(re.findall(r"[A-Z]+\d+", text))
    for part in made.design.parts:
        if part.count and part.role not in NOT_WIRED:
            assert set(part.designator.split(", ")) <= named, part.designator


def test_every_part_of_the_chopper_is_drawn(made):
    """The diagram shows transistor, diode, driver, clamp and current limit of each chopper by designator."""
    shown = set(re.findall(r"[A-Z]+\d+", made.drawing))
    for part in made.design.parts:
        plain = part.role.removeprefix("field-")
        if plain in {"switch", "flyback-diode", "diode", "gate-driver", "gate-resistor", "gate-pull-down", "gate-clamp",
                     "clamp-capacitor", "clamp-resistor", "clamp-diode", "current-sense-resistor", "relay"}:
            assert part.designator in shown, part.designator
    assert f"Circuit diagram: {made.design.circuit_title}" in made.page


def test_cautions_by_what_fails(made):
    """Whose transistor it is decides what is told: a shorted armature's, a field lost, a field that runs nothing."""
    found = made.design
    told = {caution.code: " ".join(caution.lines) for caution in cautions(found)}
    kind = kind_of(found)
    assert ("shorted-transistor" in told) is ("chopper" in kind.sides)
    assert ("field-transistor" in told) is ("field-chopper" in kind.sides)
    assert ("field-loss" in told) is (kind.winding == "separate")
    assert ("runaway" in told) is (kind.winding == "series")
    if kind.name == "dual-chopper":
        assert "must take the armature off first" in told["field-transistor"]
    if kind.name == "field-chopper":
        assert "holds no relay that watches the field" in told["field-transistor"]


def test_two_choppers_prove_the_field_before_the_armature():
    """The current relay's drop-out lies below the field that is held and above what runs away (physics: chopper)."""
    found = sheeted("dual-chopper").design
    relay = next(part for part in found.parts if part.role == "field-relay")
    unsafe = next(rating for rating in relay.ratings if "unsafe" in rating.name)
    assert 0 < unsafe.stress.value < unsafe.limit.value < relay.value.value < 4.0
    text = " ".join(f"{step.title} {step.action}" for step in found.first_power)
    assert "field" in text.lower()


def test_field_speed_is_refused_with_its_figures():
    """At 42 V the armature at rest draws (42 − 1.8) V over its cold resistance (derived: voltage law).

    Cold is 0 °C: 0.42 Ω·(234.45 + 0)/(234.45 + 20) = 0.38699 Ω (IEC 60028), so 103.9 A.
    """
    fault = faults_of(field_speed("4 A"))["circuit.kind"]
    expected = 40.2 / (0.42 * 234.45 / 254.45)
    assert expected == pytest.approx(103.9, abs=0.05)
    assert "104 A at rest on the highest bus of 42 V" in str(fault)
    assert "must not be built without them" in str(fault)


def test_floor_resistor_keeps_the_floor_at_the_lowest_bus():
    """1 A at 31 V takes at most 31 Ω less the winding at the limit of class F, 140 °C by resistance (derived).

    1.4 Ω·(234.45 + 140)/(234.45 + 20) = 2.060 Ω, so 28.94 Ω, told rounded down; 42²/28.94 = 61.0 W.
    """
    fault = str(faults_of(field_speed("1 A"))["circuit.kind"])
    ohms = float(re.search(r"at most ([\d.]+) Ω", fault)[1])
    watts = float(re.search(r"up to ([\d.]+) W", fault)[1])
    exact = 31.0 - 1.4 * (234.45 + 140) / 254.45
    assert 0.98 * exact < ohms <= exact
    assert 42.0**2 / exact <= watts < 1.02 * 42.0**2 / exact


def test_floor_too_weak_for_the_speed_limit_is_told():
    """Without load (V − V_b)/k is the speed; 260 rpm at ratio 18 is the limit (derived: speed voltage)."""
    fault = faults_of(field_speed("1 A"))["circuit.field_floor"]
    told = float(re.search(r"settles at (\d+) rpm", str(fault))[1])
    assert told == pytest.approx(40.2 / 0.034 / RPM, abs=1)       # k at 1 A as in the file
    assert "at most 4680 rpm" in str(fault)
    least = float(re.search(r"A floor of ([\d.]+) A", str(fault))[1])
    needed = 40.2 / (4680 * RPM)
    curve = np.array([(2.0, 0.060), (3.0, 0.078), (4.0, 0.090)])
    assert least == pytest.approx(np.interp(needed, curve[:, 1], curve[:, 0]), rel=0.02)     # straight between readings
    assert set(faults_of(field_speed("4 A"))) == {"circuit.kind"}


def test_floor_that_the_lowest_bus_does_not_drive_is_told():
    """31 V through 2.06 Ω is 15.0 A: a floor above it cannot be (derived: Ohm's law)."""
    fault = faults_of(field_speed("40 A"))["circuit.field_floor"]
    assert "less than 15 A" in str(fault)
    assert "even without a resistor" in str(fault)


def test_resistances_as_read_need_no_temperature():
    """Where no running temperature is told, none is needed: the resistances are taken as read (definitions)."""
    text = cases.text_of("two-chopper-cart")
    without = re.sub(r"(?m)^winding_temperature = .*$", "", text)
    assert without != text
    assert solve(loads(without))["duty"] == pytest.approx(solve(loads(text))["duty"], rel=1e-9)


def test_running_temperature_asks_for_that_of_the_reading():
    """A temperature apart from the reading's needs the reading's (definitions)."""
    text = re.sub(r"(?m)^winding_temperature = .*$", 'running_temperature = "80 °C"', cases.text_of("two-chopper-cart"))
    with pytest.raises(InputErrors, match=r"motor\.winding_temperature"):
        solve(loads(text))
