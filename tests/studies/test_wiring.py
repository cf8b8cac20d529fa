"""The wiring names what is fitted, and nothing else."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pytest

from designer.project import load
from designer.project.kinds import CIRCUIT_KINDS
from designer.results import Part, Quantity
from designer.studies.wiring import wiring

FAN = Path(__file__).parents[2] / "designer" / "examples" / "fan-fixed.toml"

TRIAC = CIRCUIT_KINDS["triac-series"]
POWER = ("fuse F1", "varistor RV1", "x2-capacitor C1", "switch Q1", "heatsink HS1", "supply-cord W1", "wire W2")
DRIVEN = ("gate-driver U1", "driver-resistor R1", "gate-resistor R2", "led-resistor R3", "zero-cross-detector U2",
          "zero-cross-pull-up R6", "zero-cross-filter-resistor R7", "zero-cross-filter-capacitor C2")
NETWORK = ("timing-resistor R4", "potentiometer R5", "timing-capacitor C3", "timing-resistor R8", "timing-capacitor C4",
           "breakover-device D1", "gate-resistor R9")


def parts(*rows: str) -> tuple[Part, ...]:
    """Parts by role and designator."""
    return tuple(
        Part(role=role, designator=name, description="", marking="0.5 mm²", value=Quantity(1.0, "ohm"))
        for role, name in (row.split(" ") for row in rows))


def named(wires: object) -> set[str]:
    """Every designator that the table mentions; S1 is the reader's own switch."""
    return set(re.findall(r"\b(?:RV|HS|[RCQUFWD])\d+", repr(wires)))


@pytest.mark.parametrize("network, more", [("", DRIVEN), ("two-wire", NETWORK), ("three-wire", NETWORK)])
def test_every_part_is_wired_and_no_other(network, more):
    """The table and the parts list agree: without a bleeder, R1 is not put across the mains."""
    fitted = parts(*POWER, *more)
    wires = wiring(TRIAC, fitted, load(FAN, "design"), {"firing_network": network} if network else {})
    assert named(wires) == {part.designator for part in fitted} - {"HS1", "W2"}
    across = [wire for wire in wires if "their other ends to the neutral rail" in wire.note]
    assert [wire.end for wire in across] == ["RV1, C1, each"]


def test_a_bleeder_goes_across_the_mains():
    """Where there is one, it is named by its own designators."""
    wires = wiring(TRIAC, parts(*POWER, "x2-bleeder R1"), load(FAN, "design"), {})
    assert any(wire.start == "line rail" and wire.end == "R1, in series" for wire in wires)


def test_the_thermal_switch_breaks_the_line():
    """A thermal switch that breaks the mains lies between fuse and line rail; without one the fuse feeds it."""
    project = load(FAN, "design")
    rows = [(wire.start, wire.end) for wire in wiring(TRIAC, parts(*POWER), project, {})]
    assert ("F1", "thermal switch in the motor") in rows
    assert ("thermal switch in the motor", "line rail") in rows
    bare = project.model_copy(update={"protection": project.protection.model_copy(update={"thermal_switch": None})})
    assert ("F1", "line rail") in [(w.start, w.end) for w in wiring(TRIAC, parts(*POWER), bare, {})]


def test_earth_is_first():
    """The protective earth comes from the plug to the frame, and on to everything that can be touched."""
    wires = wiring(TRIAC, parts(*POWER), load(FAN, "design"), {})
    earth = [wire for wire in wires if "green" in wire.conductor]
    assert [wire.end for wire in earth] == ["earth screw of the frame", "motor frame, heatsink, metal box, each"]
    assert dataclasses.is_dataclass(earth[0])
