"""The saturating series motor behind a phase-controlled rectifier, held against brute force by ``solve_ivp``."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from designer.motor.flux import FluxCurve, Winding
from designer.waveforms.phase_control import Gate
from designer.waveforms.rectified import Command, Rectification, Rectified
from designer.waveforms.rectified_march import rectified
from tests.reference import Curve
from tests.reference_rectified import NAMES, Rig, periodic

RPM = np.pi / 30
#: the hidden truth of a scenario's sewing-machine motor: 0.003 + 0.134·i/(1 + i/1.6), V·s
POINTS = tuple((i, 0.003 + 0.134 * i / (1 + i / 1.6)) for i in (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0))
BASE = Rig(peak=100 * 2**0.5, omega=100 * np.pi, alpha=0.0, speed=0.0, curve=Curve(POINTS), R=16.7, L=0.05,
           L_main=0.07, V_T=0.8, V_F=0.8)
LINE = {"R_s": 0.4, "L_s": 1e-3, "r_T": 0.02, "r_F": 0.015}


def rig(rpm: float, degrees: float, **more: object) -> Rig:
    """The base at a speed and a firing angle."""
    return replace(BASE, speed=rpm * RPM, alpha=np.radians(degrees), **more)  # type: ignore[arg-type]


def rectified_of(one: Rig, *, count: int = 1) -> Rectified:
    """The same circuit as the package takes it."""
    def all_(value: float) -> np.ndarray:
        return np.full(count, float(value))

    standing = one.remanence * one.speed
    return Rectified(
        peak=all_(one.peak), omega=all_(one.omega), source_resistance=all_(one.R_s), source_inductance=all_(one.L_s),
        on_threshold=all_(one.V_T), on_slope=all_(one.r_T), freewheel_threshold=all_(one.V_F),
        freewheel_slope=all_(one.r_F), back=all_(one.V_b + standing), standing=all_(standing), resistance=all_(one.R),
        speed=all_(one.speed), pulses=2 if one.pulses == 2 else 1, freewheel=one.freewheel)


def winding_of(one: Rig) -> Winding:
    """The winding as the package takes it."""
    return Winding(curve=FluxCurve.from_points(one.curve.points), constant=one.L, main=one.L_main)


def solved(one: Rig, *, tolerance: float = 1e-8, gate: Gate | None = None) -> Rectification:
    """The package's answer."""
    command = Command(alpha=np.array([one.alpha]), gate=gate or Gate())
    return rectified(rectified_of(one), winding_of(one), command, tolerance=tolerance)


CASES = {
    "half-wave, current ends before the next pulse": rig(3000, 82.3),
    "half-wave, slow, source with inductance": rig(600, 100, **LINE),
    "half-wave, current never ends, both overlaps": rig(600, 40, **LINE),
    "half-wave, turned on late": rig(12000, 0, R_s=0.4),
    "half-wave, no inductance that saturates": rig(3000, 60, L=0.12, L_main=0.0),
    "half-wave without freewheel": rig(3000, 60, freewheel=False, R_s=0.4, L_s=1e-3),
    "half-wave without freewheel, turned on late": rig(3000, 0, freewheel=False),
    "half-wave, far along the curve": rig(500, 20, peak=325.0, R=8.0, L=0.02, L_main=0.05),
    "bridge, current never ends": rig(600, 122, pulses=2, V_T=1.5),
    "bridge, both overlaps": rig(600, 122, pulses=2, **LINE),
    "bridge, long overlaps": rig(600, 100, pulses=2, **{**LINE, "L_s": 5e-3, "r_F": 0.5}),
    "bridge, current ends": rig(6000, 82, pulses=2, **LINE),
    "bridge, turned on late": rig(15000, 3, pulses=2),
    "bridge, narrow pulses": rig(300, 165, pulses=2, **LINE),
    "bridge at rest": rig(0, 90, pulses=2, **LINE),
    "bridge, the current of one pulse outlasts the next": rig(3000, 0, pulses=2, **LINE),
    "bridge, little inductance": rig(3000, 70, pulses=2, L=0.002, L_main=0.003, R_s=1.0, L_s=1e-4),
}


@pytest.mark.parametrize("one", CASES.values(), ids=CASES.keys())
def test_every_mode_agrees_with_brute_force(one: Rig) -> None:
    """All integrals to 1e-6, all angles to 1e-6 rad. Source: solve_ivp, tests/reference_rectified.py."""
    truth, found = periodic(one), solved(one)
    scale = truth.sums["charge"], truth.sums["square"]
    for name in NAMES:
        floor = 1e-6 * scale["square" in name] if name.startswith("freewheel") else 0.0
        assert getattr(found, name)[0] == pytest.approx(truth.sums[name], rel=1e-6, abs=1e-2 * floor), name
    assert found.crest[0] == pytest.approx(truth.crest, rel=1e-5)
    assert found.turn_on[0] == pytest.approx(truth.turn_on, abs=1e-6)
    if not found.lost[0]:
        for name in ("overlap_on", "commutation", "extinction", "armature_extinction"):
            assert getattr(found, name)[0] == pytest.approx(getattr(truth, name), abs=1e-6, nan_ok=True), name


def test_what_is_told_of_each_kind_of_point() -> None:
    """Continuous, late and lost as the waveform has it. Source: the definitions of angles and conduction."""
    continuous = solved(CASES["bridge, both overlaps"])
    assert continuous.continuous[0]
    assert continuous.overlap_on[0] > 0
    assert continuous.extinction[0] > np.pi > continuous.commutation[0] - 0.01
    assert np.isnan(continuous.armature_extinction[0])
    late = solved(CASES["half-wave, turned on late"])
    assert late.late[0]
    assert late.turn_on[0] > 0
    lost = solved(CASES["bridge, the current of one pulse outlasts the next"])
    assert lost.lost[0]
    assert not lost.late[0]
    assert lost.turn_on[0] == pytest.approx(lost.extinction[0] - np.pi, abs=1e-7)


def test_many_points_are_the_same_as_one_by_one() -> None:
    """A point does not change with its neighbours, within the bound. Source: derived (they share nothing)."""
    some = [one for one in CASES.values() if one.pulses == 2 and one.L_main == BASE.L_main]
    parts = [rectified_of(one) for one in some]
    together = Rectified(
        pulses=2, freewheel=True,
        **{name: np.concatenate([getattr(part, name) for part in parts])
           for name in ("peak", "omega", "source_resistance", "source_inductance", "on_threshold", "on_slope",
                        "freewheel_threshold", "freewheel_slope", "back", "standing", "resistance", "speed")})
    command = Command(alpha=np.array([one.alpha for one in some]))
    found = rectified(together, winding_of(some[0]), command, tolerance=1e-7)
    for n, one in enumerate(some):
        alone = solved(one, tolerance=1e-7)
        assert found.square[n] == pytest.approx(alone.square[0], rel=4e-7)
        assert found.pull[n] == pytest.approx(alone.pull[0], rel=4e-7)


@pytest.mark.parametrize("tolerance", [1e-3, 1e-4, 1e-6])
def test_the_bound_holds_on_a_spread_of_points(tolerance: float) -> None:
    """R.m.s. current and torque stay within the bound asked for. Source: the same march, much finer."""
    rng = np.random.default_rng(7)
    count = 60
    one = replace(rectified_of(replace(BASE, pulses=2, **LINE), count=count), speed=rng.uniform(0, 900, count))
    one = replace(one, back=2.0 + 0.003 * one.speed, standing=0.003 * one.speed)
    command = Command(alpha=rng.uniform(0.1, 2.8, count))
    fine = rectified(one, winding_of(BASE), command, tolerance=1e-9)
    found = rectified(one, winding_of(BASE), command, tolerance=tolerance)
    assert np.max(np.abs(found.square / fine.square - 1) / 2) < 1.3 * tolerance
    assert np.max(np.abs(found.pull / fine.pull - 1)) < 1.3 * tolerance


def test_a_straight_curve_is_solved_in_closed_form_and_agrees_with_brute_force() -> None:
    """g = c·i acts as a resistance c·ω. Source: solve_ivp, tests/reference_rectified.py."""
    one = replace(CASES["bridge, both overlaps"], curve=Curve(((0.0, 0.003), (20.0, 1.003))), L=0.12, L_main=0.0)
    truth, found = periodic(one), solved(one)
    for name in NAMES:
        assert getattr(found, name)[0] == pytest.approx(truth.sums[name], rel=1e-7), name


def test_a_current_beyond_the_straight_part_is_marched() -> None:
    """Past its one reading the curve bends over. Source: solve_ivp, tests/reference_rectified.py."""
    one = replace(CASES["bridge, both overlaps"], curve=Curve(((0.0, 0.003), (0.5, 0.04))), L=0.12, L_main=0.0)
    truth, found = periodic(one), solved(one)
    assert found.crest[0] > 0.5
    assert found.square[0] == pytest.approx(truth.sums["square"], rel=1e-6)
    assert found.pull[0] == pytest.approx(truth.sums["pull"], rel=1e-6)


def test_a_pulse_that_is_over_before_the_source_has_risen_misses() -> None:
    """A short pulse at 0° finds the source below what opposes it. Source: definitions, turn-on angle."""
    found = solved(rig(12000, 0), gate=Gate(pulse=0.01))
    assert found.missed[0]
    assert found.charge[0] == found.drawn[0] == 0.0
    assert np.isnan(found.turn_on[0])


@pytest.mark.parametrize(("width", "missed"), [(0.005, True), (0.08, False)])
def test_the_latching_current_must_be_reached_in_the_window(width: float, missed: bool) -> None:
    """From rest the current rises by V/L: 50 mA at 0.12 H and 141 V take 42 µs, 0.013 rad. Source: derived."""
    found = solved(rig(6000, 90, V_T=0.0, V_F=0.0), gate=Gate(pulse=width, latching=0.05))
    assert bool(found.missed[0]) is missed


def test_a_device_that_never_lets_go_runs_as_diodes() -> None:
    """Freewheeling through the thyristor the angle has no say. Source: solve_ivp at 0°, no gate."""
    one = rig(600, 120, pulses=2, V_T=1.4, V_F=1.4, R_s=0.4, L_s=1e-3)
    held = replace(rectified_of(one), held=True)
    found = rectified(held, winding_of(one), Command(alpha=np.array([one.alpha])), tolerance=1e-8)
    truth = periodic(replace(one, alpha=0.0))
    assert found.lost[0]
    assert found.square[0] == pytest.approx(truth.sums["square"], rel=1e-6)
    assert found.pull[0] == pytest.approx(truth.sums["pull"], rel=1e-6)


def test_a_held_device_lets_go_where_the_current_ends() -> None:
    """With a current that dies before the source drives it again the angle has its say. Source: solve_ivp."""
    one = rig(9000, 60, pulses=2, V_T=1.4, V_F=1.4, L=0.002, L_main=0.003)
    held = replace(rectified_of(one), held=True)
    found = rectified(held, winding_of(one), Command(alpha=np.array([one.alpha])), tolerance=1e-8)
    assert not found.lost[0]
    assert found.armature_extinction[0] < np.pi
    assert found.square[0] == pytest.approx(periodic(one).sums["square"], rel=1e-6)


def test_a_bridge_without_any_freewheel_path_is_refused() -> None:
    """Every half-controlled bridge has one. Source: derived."""
    with pytest.raises(ValueError, match="a half-controlled bridge has a freewheel path"):
        solved(rig(600, 120, pulses=2, freewheel=False))
