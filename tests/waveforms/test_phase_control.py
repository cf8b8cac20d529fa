"""The triac's periodic steady state against an independent march by scipy's solve_ivp.

tests/reference.py integrates the equation of definitions.md in current (DOP853, relative tolerance
1e-10, extinction by event) and shares no code with the package, which marches on flux linkage.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.triac_series import CIRCUIT
from tests import reference
from tests.pairs import S1, S1_TEN, S2, fixed, points, solve
from tests.reference import DEGREE, RPM, Curve

SOLVE_IVP = "scipy solve_ivp brute force"
SATURATING = replace(
    S1, curve=Curve(S1_TEN), remanence="drop", saturating=True, alpha=107.9935 * DEGREE,
    R_s=0.4, L_s=0.25 / (100 * math.pi), V_T0=0.85, r_T=0.025,
)
STRAIGHT = replace(S1, curve=Curve([(0.0, 0.003), (5.0, 0.25)]))
CONVEX = replace(SATURATING, curve=Curve(
    [(0.0, 0.002), (0.5, 0.02), (1.0, 0.06), (2.0, 0.16), (4.0, 0.24), (8.0, 0.30)]))
SLOW = {"alpha": 30 * DEGREE, "speed": 1000 * RPM}
PULSE = {"pulse": 100e-6}
LAMP = {"alpha": 0.0, "R_s": 264.5, "speed": 6500 * RPM}

CASES = {
    "saturating, odd part, reference impedance": SATURATING,
    "constant inductance, remanence follows the current": S1,
    "remanence kept": replace(S1, remanence="keep", alpha=100 * DEGREE),
    "remanence kept, saturating, fast": replace(SATURATING, remanence="keep", alpha=95 * DEGREE, speed=6000 * RPM),
    "remanence kept, twelve thousand": replace(S1, remanence="keep", alpha=60 * DEGREE, speed=12000 * RPM),
    "late firing, 165 degrees": replace(SATURATING, alpha=165 * DEGREE),
    "near zero conduction, 176 degrees": replace(SATURATING, alpha=176 * DEGREE),
    "near zero conduction, fast": replace(SATURATING, alpha=176 * DEGREE, speed=12000 * RPM),
    "control lost, train": replace(SATURATING, **SLOW),
    "control lost, pulse: half-wave": replace(SATURATING, **SLOW, **PULSE),
    "control lost, train, constant inductance": replace(S1, **SLOW),
    "control lost, pulse, constant inductance": replace(S1, **SLOW, **PULSE),
    "control lost by a hair, pulse still there": replace(S1, alpha=50.2 * DEGREE, **PULSE),
    "control lost, train, remanence kept": replace(S1, **SLOW, remanence="keep"),
    "control lost, pulse, remanence kept": replace(SATURATING, **SLOW, **PULSE, remanence="keep"),
    "lamp in series": replace(S1, **LAMP),
    "lamp in series, saturating": replace(SATURATING, **LAMP),
    "twenty thousand, full conduction": replace(SATURATING, alpha=0.0, speed=20000 * RPM),
    "twenty thousand, 40 degrees": replace(SATURATING, alpha=40 * DEGREE, speed=20000 * RPM),
    "lamp of 60 W at rest: fast decay": replace(S1, alpha=0.0, R_s=881.7, speed=0.0),
    "hundred and fifty thousand: fast decay": replace(S1, alpha=0.0, speed=150000 * RPM),
    "fast decay, saturating, iron loss": replace(SATURATING, speed=100000 * RPM, iron=(0.02, 2e-5, 0.25)),
    "stall": replace(SATURATING, speed=0.0),
    "stall, full conduction": replace(SATURATING, speed=0.0, alpha=0.0),
    "stall, full conduction, constant inductance": replace(S1, speed=0.0, alpha=0.0),
    "gate guard": replace(SATURATING, guard=5e-4, alpha=100 * DEGREE),
    "gate guard, control lost": replace(SATURATING, guard=5e-4, **SLOW),
    "60 Hz, fan": S2,
    "60 Hz, fan, saturating": replace(S2, saturating=True, alpha=80 * DEGREE),
    "one chord: closed form": replace(STRAIGHT, alpha=120 * DEGREE),
    "one chord, beyond the last reading": replace(STRAIGHT, alpha=60 * DEGREE),
    "one chord, control lost": replace(STRAIGHT, alpha=20 * DEGREE, speed=500 * RPM),
    "curve that rises faster than at first": CONVEX,
    "curve that rises faster, full conduction": replace(CONVEX, alpha=0.0),
    "iron loss": replace(SATURATING, iron=(0.02, 2e-5, 0.25)),
    "remanence kept, full conduction": replace(S1, remanence="keep", alpha=0.0, speed=15000 * RPM),
}


@pytest.mark.parametrize("case", CASES.values(), ids=[f"{name} ({SOLVE_IVP})" for name in CASES])
def test_currents_torque_and_angles_agree_with_solve_ivp(case):
    """R.m.s. current and torque to 1e-5, asked for 1e-6; the other means likewise; angles to 1e-6 rad."""
    expected, found = reference.steady(case), solve(case)
    assert found.rms[0] == pytest.approx(expected.rms, rel=1e-5)
    assert found.torque[0] == pytest.approx(expected.torque, rel=1e-5)
    assert found.mean_absolute[0] == pytest.approx(expected.mean_absolute, rel=1e-5)
    assert found.mean[0] == pytest.approx(expected.mean, abs=1e-5 * expected.rms)
    assert found.peak[0] == pytest.approx(expected.peak, rel=1e-5)
    assert found.input_power[0] == pytest.approx(expected.input_power, rel=1e-5)
    assert found.iron_torque[0] == pytest.approx(expected.iron_torque, rel=2e-3)  # 64 nodes
    assert halves(found) == [pytest.approx(pair, abs=1e-6) for pair in conductions(expected)]


def halves(found):
    """Turn-on and extinction of each half that conducts, in its own angle, the positive first."""
    both = (found.state.positive, found.state.negative)
    return [(h.turn_on[0], h.extinction[0]) for h in both if np.isfinite(h.extinction[0])]


def conductions(expected):
    """The same of the reference: angles counted from the zero before the half they belong to."""
    turn, result = 2 * math.pi, []
    for segment in sorted(expected.segments, key=lambda s: -s.sign):
        half = 0.0 if segment.sign > 0 else math.pi
        shift = half + turn * round((segment.on - half - math.pi / 2) / turn)
        result.append((segment.on - shift, segment.off - shift))
    return result


@pytest.mark.parametrize("case", [CASES["saturating, odd part, reference impedance"],
                                  CASES["constant inductance, remanence follows the current"]])
@pytest.mark.parametrize("tolerance", [1e-4, 1e-5, 1e-6, 1e-7])
def test_the_error_bound_is_kept(case, tolerance):
    """Asked for a bound, the march keeps it; the reference is good to about 1e-9 (scipy solve_ivp)."""
    expected, found = reference.steady(case), solve(case, tolerance)
    for value, right in ((found.rms, expected.rms), (found.torque, expected.torque)):
        assert value[0] == pytest.approx(right, rel=2 * tolerance)
    assert found.state.positive.extinction[0] == pytest.approx(expected.extinction, abs=tolerance)


def test_many_points_at_once_are_the_single_points():
    """An array of points gives what each gives alone, lost, late and missing ones among them (derived)."""
    wide = [
        replace(SATURATING, alpha=a * DEGREE, speed=n * RPM)
        for a in (0.0, 20.0, 70.0, 110.0, 150.0, 179.9) for n in (0.0, 1000.0, 6000.0, 20000.0)
    ]
    shared = fixed(SATURATING)
    together = CIRCUIT.solve(shared, points(shared, wide))
    for n, case in enumerate(wide):
        alone = solve(case)
        assert together.rms[n] == pytest.approx(alone.rms[0], rel=2e-6, abs=1e-12)
        assert together.torque[n] == pytest.approx(alone.torque[0], rel=2e-6, abs=1e-12)
        assert together.state.lost[n] == alone.state.lost[0]


@pytest.mark.parametrize("case, missed", [
    (replace(SATURATING, alpha=0.2 * DEGREE, pulse=10e-6, speed=12000 * RPM), True),
    (replace(S1, alpha=0.2 * DEGREE, pulse=10e-6, speed=12000 * RPM), True),
    (replace(S1, alpha=1.0 * DEGREE, pulse=10e-3, speed=12000 * RPM), False),
    (replace(S1, alpha=179.9 * DEGREE), True),                  # the source is already below 2 V
    (replace(S1, voltage=1.4), True),                           # a crest of 1.98 V never passes 2 V
])
def test_misfire(case, missed):
    """A short pulse that ends before the source exceeds what opposes it fires nothing (definitions.md)."""
    assert math.isnan(reference.steady(case).turn_on) is missed
    found = solve(case)
    assert bool(found.state.missed_positive[0] and found.state.missed_negative[0]) is missed
    assert bool(found.rms[0] == 0.0 and found.torque[0] == 0.0) is missed


def test_a_long_gate_fires_when_it_can():
    """α before the source exceeds the drops: turn-on at asin((V_b + V_T0 + k_r·ω)/V_m) (definitions.md)."""
    case = replace(S1, alpha=0.0, voltage=20.0, speed=12000 * RPM, V_T0=0.85)
    angle = math.asin((2.0 + 0.85 + 0.003 * 12000 * RPM) / (20 * math.sqrt(2)))
    found = solve(case)
    assert found.state.late[0]
    assert not found.state.lost[0]
    assert found.state.positive.turn_on[0] == pytest.approx(angle, abs=1e-12)


def test_lost_control_half_waves_with_a_short_pulse_and_not_with_a_train():
    """needs.md row 4, definitions.md: direct current in the line with the pulse, none with the train."""
    train, pulse = solve(replace(SATURATING, **SLOW)), solve(replace(SATURATING, **SLOW, **PULSE))
    assert train.state.lost[0]
    assert pulse.state.lost[0]
    assert abs(train.mean[0]) < 1e-6 * train.rms[0]
    assert pulse.mean[0] == pytest.approx(pulse.mean_absolute[0])
    assert pulse.state.missed_negative[0]
    full = solve(replace(SATURATING, alpha=0.0, speed=1000 * RPM))
    assert train.rms[0] == pytest.approx(full.rms[0], rel=2e-6)


def test_latching_current_that_the_window_ends_before():
    """definitions.md: a window that ends before the latching current is reached is a misfire (solve_ivp)."""
    case = replace(S1, **PULSE)
    segment = reference.conduct(case, 1, case.alpha, case.speed)
    reached = float(segment.wave(case.alpha + 100e-6 * 100 * math.pi)[0])
    shared = fixed(case)
    for level, missed in ((0.99 * reached, False), (1.01 * reached, True)):
        gated = replace(shared, gate=replace(shared.gate, latching=level))
        found = CIRCUIT.solve(gated, points(gated, [case]))
        assert bool(found.state.missed_positive[0]) is missed


def test_unequal_firing_makes_direct_current():
    """physics.md: half cycles fired 1° apart; each half agrees with its own march (scipy solve_ivp)."""
    shared = fixed(SATURATING)
    found = CIRCUIT.unequal(shared, points(shared, [SATURATING]), 1 * DEGREE)
    first = reference.conduct(SATURATING, 1, SATURATING.alpha, SATURATING.speed)
    second = reference.conduct(SATURATING, 1, SATURATING.alpha + DEGREE, SATURATING.speed)
    direct = (first.integrals["x"] - second.integrals["x"]) / (2 * math.pi)
    assert found.mean[0] == pytest.approx(direct, rel=1e-4)
    assert direct > 0.02
