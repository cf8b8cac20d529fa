"""What a connection makes of a motor, in figures: runaway, stiffness, no field, a series field in shunt."""

from __future__ import annotations

import math
from functools import cache

import pytest

from designer.studies import nature
from designer.studies.design import design
from tests.reference import Curve
from tests.studies import cases


@cache
def lathe():
    """The lathe as it stands."""
    return cases.made("lathe")


def test_a_series_motor_runs_away(fan):
    """The fan's motor unloaded, at the setting and at full output, beside its limit: the survey's own speeds."""
    told = nature.texts(fan.found, fan.project)
    setting, full = (fan.found.unloaded[at].speed * 30 / math.pi for at in (0, 1))
    assert f"at this setting {setting:.0f} rpm, above the limit of 14000 rpm" in told["nature_runaway"]
    assert f"at full output {full:.0f} rpm" in told["nature_runaway"]
    assert "nature_without_field" not in told
    assert set(nature.figures(fan.found, fan.project)) == {"field_in_shunt_current", "field_in_shunt_power"}


def test_stiffness_of_a_separate_field():
    """R_a/k² (derived): against the slope between the solved speeds of 0.75 and 1.25 of the load, to 5 %.

    Those have the chopper's slopes in them too.
    """
    made = lathe()
    droop = nature.droop(made.found)
    curve, at = Curve(made.project.motor.flux_curve), made.found.held.points
    k = curve.g(float(at.field_current[1])) + 0.004
    assert droop.value == pytest.approx(float(at.armature_resistance[1]) / k**2, rel=1e-6)
    speeds = made.found.free.points.speed
    slope = (speeds[3] - speeds[5]) / 0.5      # of 1 N·m
    assert droop.value == pytest.approx(float(slope), rel=0.1)
    assert droop.value < slope
    assert "falls with the load in a straight line" in nature.texts(made.found, made.project)["nature_stiffness"]


def test_no_field_is_fast_with_next_to_no_torque():
    """k_r·I (derived): 4 mV·s of remanence, the stall current; the speed is the worst of the survey's."""
    made = lathe()
    torque = nature.remanent_torque(made.found)
    stall = math.sqrt(float(made.found.stall.solved.armature_square[0]))
    assert torque.value == pytest.approx(0.004 * stall)
    text = nature.texts(made.found, made.project)["nature_without_field"]
    assert "next to nothing" in text
    assert "above the limit of 18000 rpm" in text


def test_a_series_field_in_shunt_is_refused():
    """V/R and V²/R at the crest of 253 V, 1.95 Ω at 21 °C brought to 10 °C (derived, IEC 60028)."""
    made = lathe()
    current, power = nature.shunt(made.found, made.project)
    ohms = 1.95 * (234.45 + 10) / (234.45 + 21)
    assert current.value == pytest.approx(math.sqrt(2) * 253 / ohms, rel=1e-6)
    assert power.value == pytest.approx(2 * 253**2 / ohms, rel=1e-6)
    text = made.design.texts["nature_shunt"]
    assert text.startswith("Refused: this field winding in shunt")
    assert "192 A" in text
    assert "68.6 kW" in text


def test_all_of_it_is_printed(fan):
    """Texts, figures and worked lines reach the design of either kind."""
    for made in (fan, lathe()):
        assert {"nature_stiffness", "nature_shunt"} <= set(made.design.texts)
        assert "field_in_shunt_power" in made.design.headline
        assert any(step.formula.name == "series-field-in-shunt-heat" for step in made.design.worked)
    assert "more field makes the motor slower" in lathe().design.texts["nature_turning_point"]


def test_reversing_in_a_design():
    """Asked for, the changeover stands in parts, wires, words and faults; both poles are crossed, the field is not."""
    made = design(cases.project("lathe", ('kind = "chopper-armature"', 'kind = "chopper-armature"\nreversing = true')))
    (part,) = [p for p in made.parts if p.role == "reversing-contact"]
    rows = [(w.start, w.end) for w in made.wiring if w.start.startswith(f"{part.designator}, pole")]
    crossed = sorted(end for _, end in rows if end.startswith("armature"))
    assert crossed == ["armature, first brush"] * 2 + ["armature, second brush"] * 2
    assert {end for _, end in rows if not end.startswith("armature")} == {"Q1, drain or collector"}
    assert not any(part.designator in w.start and "field" in w.end for w in made.wiring)
    assert "Armature leads swapped" in made.texts["reversing"]
    (fault,) = [f for f in made.faults if "Reversed while turning" in f.name]
    assert made.headline["plugging_current"] == fault.figures["current, full supply behind it"]
    # 8000 rpm, the field's current hot, cold armature: (√2·253 + k·ω − 2)/R (derived)
    curve = Curve(made.project.motor.flux_curve)
    k = curve.g(made.headline["field_current_mean"].value) + 0.004
    ohms = 2.45 * (234.45 + 10) / (234.45 + 21)
    expected = (math.sqrt(2) * 253 + k * 8000 * math.pi / 30 - 2) / ohms
    assert fault.figures["current, full supply behind it"].value == pytest.approx(expected, rel=1e-3)
