"""``design`` on the examples: scenario answers, what a verdict lets out, the same bytes twice."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.balance import find_speed
from designer.circuits.triac_series import CIRCUIT
from designer.errors import InputError
from designer.output import json_text
from designer.results import Quantity
from designer.studies.design import design
from designer.studies.export import design_json, quantity
from designer.studies.terminal import point_table
from tests import reference
from tests.reference import DEGREE, RPM
from tests.studies import cases


def codes(made):
    """The codes of the reasons, in their order."""
    return [reason.code for reason in made.design.reasons]


def test_s1_angles_and_currents(s1):
    """needs.md S1, "Reference": 102.7°, 97.4° at 207 V, 106.9° at 253 V to 0.5°; 4.18 A, 3.03 A, 7.27 A to 2 %."""
    settings = s1.found.targets[0].points.setting / DEGREE
    assert settings == pytest.approx([97.4, 102.7, 106.9], abs=0.5)
    point = s1.design.operating_point
    assert point["firing_angle"] == pytest.approx(s1.found.setting, abs=1e-4)
    assert point["output_torque"] == pytest.approx(0.8, rel=1e-3)
    for name, amperes in (("rms", 4.18), ("mean_absolute", 3.03), ("peak", 7.27)):
        assert point[f"line_current_{name}"] == pytest.approx(amperes, rel=0.02)
    assert point["switch_loss"] == pytest.approx(3.0, rel=0.02)


def test_s1_without_load(s1):
    """physics.md, check vectors: 14380 rpm at 230 V, 15375 at 253 V with full friction, to 0.5 %."""
    assert s1.design.headline["no_load_speed"].value / RPM == pytest.approx(14380, rel=5e-3)
    high = s1.found.held.points[[2]].scaled(load=0.0)
    assert find_speed(CIRCUIT, s1.found.fixed, high)[0] / RPM == pytest.approx(15375, rel=5e-3)


def test_s1_speed_against_load(s1):
    """needs.md S1, "the lesson": 5546 rpm at 0.4 N·m, setting held, to 1 %; shares of the load from 0 to 1.25."""
    rows = {share.value: (torque.value, speed.value / RPM) for share, torque, speed in s1.design.sag}
    assert rows[0.5] == pytest.approx((0.4, 5546), rel=0.01)
    assert rows[0.25] == pytest.approx((0.2, 8153), rel=0.01)
    assert rows[1.0] == pytest.approx((0.8, 3000), rel=1e-3)


def test_s1_stall_is_that_of_high_mains_and_cold(s1):
    """Stall figures at 253 V, 21 °C, setting and full conduction (scipy solve_ivp), to 1e-3; above needs.md's 7.2 A."""
    head = s1.design.headline
    cold = s1.found.stall.points
    expected = [reference.steady(cases.case_of(s1, cold, at)) for at in (0, 1)]
    assert cold.voltage == pytest.approx(253.0)
    assert cold.armature_resistance == pytest.approx(2.1, rel=1e-9)
    assert head["stall_current_rms"].value == pytest.approx(expected[0].rms, rel=1e-3)
    assert head["stall_torque"].value == pytest.approx(expected[0].torque, rel=1e-3)
    assert head["stall_current_rms"].value > 7.2
    faults = {fault.name: fault.figures for fault in s1.design.faults}
    assert faults["Stall at full output, high mains, cold"]["line current, r.m.s."].value == pytest.approx(
        expected[1].rms, rel=1e-3)


@pytest.mark.parametrize("name, at", [("unloaded_speed", 0), ("unloaded_speed_full_conduction", 1)])
def test_s1_unloaded_speeds_rest_on_the_least_friction(s1, name, at):
    """At the speed told, torque and 0.7 × friction balance at 253 V, cold (scipy solve_ivp), to 1e-3 of speed."""
    case = cases.case_of(s1, s1.found.unloaded[at].points)
    speed = s1.design.headline[name].value
    assert case.friction == pytest.approx((0.7 * 0.022, 0.7 * 15e-6, 0.7 * 20e-9))
    assert case.load == (0.0, 0.0, 0.0)
    ends = [reference.excess(replace(case, speed=speed * x)) for x in (0.999, 1.001)]
    assert ends[0] > 0 > ends[1]


def test_s1_is_not_ready(s1):
    """needs.md S1: open loop, the load can come off, 17000 rpm against 6000: refused as overspeed."""
    assert not s1.design.ready
    assert codes(s1)[:2] == ["overspeed", "stall"]
    # the triac typed in tells no I²t: its class of 16 A bears 144 A²s in 10 ms, far from 100 A²s in half a millisecond
    assert {(reason.code, reason.message[:2]) for reason in s1.design.reasons[2:]} == {
        ("rating-passed", "F1"), ("rating-passed", "Q1")}
    reason = s1.design.reasons[0]
    assert reason.limit.value / RPM == pytest.approx(6000)
    assert reason.figure.value == s1.design.headline["unloaded_speed_full_conduction"].value


def test_s2_further_target_is_out_of_reach(s2):
    """needs.md S2: 9000 rpm at 109.5° (0.5°) and 2.66 A (2 %); 14000 rpm refused, nearest 13190 at 108 V (0.5 %)."""
    point = s2.design.operating_point
    assert point["firing_angle"] / DEGREE == pytest.approx(109.5, abs=0.6)
    assert point["line_current_rms"] == pytest.approx(2.66, rel=0.02)
    assert codes(s2) == ["not-reachable", "overspeed"]
    reason = s2.design.reasons[0]
    assert "Further target 1 of 14000 rpm" in reason.message
    assert "108 V" in reason.message
    assert reason.limit == Quantity(pytest.approx(0.242), "N*m")
    assert reason.figure.value < 0.242
    assert reason.nearest["output_speed"].value / RPM == pytest.approx(13190, rel=5e-3)
    low = cases.case_of(s2, s2.found.targets[1].points[[0]].at(setting=np.zeros(1)))
    short = reference.steady(low).torque - low.friction_torque(low.speed)
    assert reason.figure.value == pytest.approx(short, rel=1e-3)


def test_s2_speeds_over_the_mains_band(s2):
    """needs.md S2: the angle held, 8374/8996/9589 rpm at 108/120/132 V, to 0.5 %."""
    assert s2.found.held.points.speed / RPM == pytest.approx([8374, 8996, 9589], rel=5e-3)


def test_fan_is_ready(fan):
    """The fixed impeller stays below both limits at full conduction, so nothing stands against it."""
    assert fan.design.ready
    assert codes(fan) == []
    head = fan.design.headline
    assert head["loaded_speed_switch_shorted"].value <= head["speed_limit"].value
    assert head["speed_limit"].value / RPM == pytest.approx(14000)
    assert all(check.verdict != "fail" for check in fan.design.checks)


def test_json_of_a_verdict(s1, fan):
    """Ready: parts, wiring and steps; not ready: cautions and figures, nothing to build from."""
    no, yes = design_json(s1.design), design_json(fan.design)
    assert (no["verdict"]["verdict"], yes["verdict"]["verdict"]) == ("not ready", "ready")
    for key in ("parts", "wiring", "first_power"):
        assert no[key] == []
        assert len(yes[key]) > 3
    assert [r["code"] for r in no["verdict"]["reasons"]] == codes(s1)
    for told in (no, yes):
        assert told["checks"]
        assert told["operating_point"]["quantities"]["output_speed"]["unit"] == "rad/s"
        assert all(set(part["value"] or {"value": 0, "unit": ""}) == {"value", "unit"} for part in told["parts"])


def test_json_is_strict_and_repeats(fan):
    """No nan, no infinity; a second design of the same file gives the same bytes."""
    first = json_text(design_json(fan.design))
    assert json.loads(first, parse_constant=lambda word: pytest.fail(word))["format"] == 1
    assert json_text(design_json(cases.redesigned(fan))) == first
    assert quantity(Quantity(math.inf, "s")) == {"value": None, "unit": "s"}


def test_a_loop_without_its_tacho_is_refused():
    """A speed loop asks for a reading of its tacho: refused by key, not left out in silence."""
    with pytest.raises(InputError, match=r"readings.*no reading of a tacho"):
        design(cases.project("drill-press", ('feedback = "none"', 'feedback = "tacho"')))


def test_point_table(s1):
    """One line a quantity with its unit, odd harmonics by order, warnings last."""
    text = point_table(s1.design.operating_point)
    assert text.startswith("triac-series\n")
    assert "output speed" in text
    assert "3000 rpm" in text
    assert "line harmonics" in text
    assert " 3: " in text


def test_a_shorted_triac_does_not_ask_the_gate(s1):
    """A 0.1 ms pulse fired at 0° misses every other half; a shorted triac does not: the same speeds as with a train
    (derived: safety.md, "from full conduction").
    """
    pulsed = design(cases.project(s1.name, (
        'kind = "triac-series"', 'kind = "triac-series"\ngate = "pulse"\ngate_pulse = "100 us"')))
    for name in ("unloaded_speed_full_conduction", "loaded_speed_switch_shorted"):
        assert pulsed.headline[name].value == pytest.approx(s1.design.headline[name].value, rel=1e-3)
