"""Designs and sheets of chopper-series, dual-chopper and field-chopper. Sources stand beside the numbers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

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
