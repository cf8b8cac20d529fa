"""Diagrams of circuits with thyristors: every part on them, in each form of the bridge.

Source of the expectations: the wiring of half-controlled bridges as the trade draws them (common practice, no source).
"""

from __future__ import annotations

import pytest

from designer.project.kinds import CIRCUIT_KINDS
from designer.sheet.diagrams import diagram, drawn
from designer.sheet.drawing.gates import part

SHARED = {
    "fuse": "F1\nF2.5AH250V", "varistor": "RV1\n275 V~", "x2-capacitor": "C1\n47 nF", "flyback-diode": "D3\n15 A 800 V",
    "zero-cross-resistor": "R11, R12\n2 × 150 kΩ", "zero-cross-detector": "U3", "zero-cross-pull-up": "R13\n220 kΩ",
    "zero-cross-filter-resistor": "R14\n220 Ω", "zero-cross-filter-capacitor": "C4\n68 pF", "earth": "PE"}
TWO = SHARED | {
    "switch": "Q1, Q2\n2 × 25 A 800 V", "rectifier-diode": "D1, D2\n2 × 20 A 800 V",
    "snubber-resistor": "R3, R4\n2 × 68 Ω", "snubber-capacitor": "C2, C3\n2 × 10 nF", "gate-driver": "U1, U2\n2 ×",
    "driver-resistor": "R5, R6\n2 × 390 Ω",
    "gate-resistor": "R7, R8\n2 × 330 Ω", "led-resistor": "R9, R10\n2 × 120 Ω", "gate-diode": "D4, D5\n2 × 1 A 1000 V"}
ONE = SHARED | {
    "switch": "Q1\n8 A 800 V", "snubber-resistor": "R3\n68 Ω", "snubber-capacitor": "C2\n10 nF", "gate-driver": "U1",
    "driver-resistor": "R5\n390 Ω", "gate-resistor": "R7\n330 Ω", "led-resistor": "R9\n120 Ω",
    "gate-diode": "D4\n1 A 1000 V"}
CASES = (
    ("thyristor-series", ONE), ("thyristor-armature", ONE),
    ("bridge-series", ONE | {"form": "diodes-thyristor", "bridge": "BR1\n8 A 800 V"}),
    ("bridge-armature", TWO | {"form": "common-cathode"}), ("bridge-series", TWO | {"form": "one-leg"}))


@pytest.mark.parametrize("name, labels", CASES, ids=lambda case: case if isinstance(case, str) else "")
def test_every_part_stands_on_the_diagram(name, labels):
    """Each designator is drawn; the gates are named; the field is in series or on its own supply."""
    kind = CIRCUIT_KINDS[name]
    assert drawn(kind)
    made = diagram(kind, labels)
    for role, text in labels.items():
        if role in ("form", "earth"):
            continue
        for one in text.partition("\n")[0].split(", "):
            assert one in made, role
    assert "G1" in made
    assert ("G2" in made) == ("Q2" in labels["switch"])
    assert ("field supply" in made) == (kind.winding == "separate")
    assert "isolated logic side" in made
    assert "motor frame, heatsink, box" in made


def test_the_three_forms_are_three_drawings():
    """Two thyristors on the plus side, two in one leg, one behind four diodes."""
    kind = CIRCUIT_KINDS["bridge-armature"]
    pictures = {diagram(kind, labels | {"form": form}) for form, labels in (
        ("common-cathode", TWO), ("one-leg", TWO), ("diodes-thyristor", ONE | {"bridge": "BR1\n8 A 800 V"}))}
    assert len(pictures) == 3


def test_half_wave_without_a_diode_has_none():
    """Nothing stands across the motor where the file wants no freewheel diode."""
    labels = {role: text for role, text in ONE.items() if role != "flyback-diode"}
    made = diagram(CIRCUIT_KINDS["thyristor-series"], labels)
    assert "D3" not in made
    assert "Q1" in made


@pytest.mark.parametrize("label, n, wanted", [
    ("Q1, Q2\n2 × 25 A 800 V", 0, "Q1\n25 A 800 V"), ("Q1, Q2\n2 × 25 A 800 V", 1, "Q2\n25 A 800 V"),
    ("Q1\n8 A 600 V", 0, "Q1\n8 A 600 V"), ("U1, U2\n2 ×", 1, "U2"), ("", 0, "")])
def test_one_of_several_has_its_own_label(label, n, wanted):
    """Its own designator, and the value of each without the count."""
    assert part({"switch": label}, "switch", n) == wanted
