"""The speed moving over the cycle with the inertia, against current and shaft marched by solve_ivp."""

import dataclasses
import math

import numpy as np
import pytest

from designer.circuits.balance import find_speed
from designer.circuits.triac_series import CIRCUIT
from designer.waveforms.swing import Shaft, swing
from tests import reference
from tests.pairs import S1, S1_TEN, fixed, points
from tests.reference import DEGREE, RPM, Curve

SATURATING = dataclasses.replace(
    S1, curve=Curve(S1_TEN), remanence="drop", saturating=True, alpha=108 * DEGREE,
    R_s=0.4, L_s=0.25 / (100 * math.pi), V_T0=0.85, r_T=0.025, inertia=4.5e-4,
)
CASES = {
    "saturating, 4.5 kg·cm²": SATURATING,
    "constant inductance, remanence follows the current": dataclasses.replace(S1, inertia=4.5e-4),
    "light rotor, iron loss": dataclasses.replace(
        SATURATING, inertia=2e-4, iron=(0.02, 2e-5, 0.25), speed=6000 * RPM, load=(0.5, 0.0, 0.0), alpha=100 * DEGREE),
    "remanence kept, load with the square of the speed": dataclasses.replace(
        SATURATING, remanence="keep", load=(0.0, 0.0, 0.8 / (3000 * RPM) ** 2)),
}


def moving(case, mean_speed):
    """The package's state at a mean speed; the load is in what resists, so that nothing is left over."""
    rigid = dataclasses.replace(case, speed=mean_speed)
    shared = fixed(rigid)
    solved = CIRCUIT.solve(shared, points(shared, [rigid]))

    def resisting(speed, k):
        return case.friction_torque(speed) + case.load_torque(speed) + case.iron_torque(k, speed)

    found = swing(solved.paths[0], solved.winding, rigid.alpha, gate=shared.gate,
                  shaft=Shaft(inertia=case.inertia, resisting=resisting), remanence=solved.remanence)
    return found, solved


@pytest.mark.parametrize("case", CASES.values(), ids=[f"{name} (scipy solve_ivp brute force)" for name in CASES])
def test_swing_agrees_with_solve_ivp(case):
    """R.m.s. current, torque and mean speed to 1e-5, ripple to 1e-4; nothing is left beyond the load."""
    shared = fixed(case, 1e-5)
    expected = reference.rippling(case, float(find_speed(CIRCUIT, shared, points(shared, [case]))[0]))
    found, _ = moving(case, expected.mean_speed)
    assert found.left == pytest.approx(0.0, abs=1e-5 * expected.torque)
    assert math.sqrt(found.means["square"]) == pytest.approx(expected.rms, rel=1e-5)
    assert found.means["torque"] == pytest.approx(expected.torque, rel=1e-5)
    assert found.means["speed"] == pytest.approx(expected.mean_speed, rel=1e-8)
    assert found.speed_ripple == pytest.approx(expected.speed_ripple, rel=1e-4)


def test_a_heavy_rotor_does_not_swing():
    """With a thousandfold inertia the state is that of a held speed, to 1e-5 (derived)."""
    found, solved = moving(dataclasses.replace(SATURATING, inertia=0.45), SATURATING.speed)
    assert math.sqrt(found.means["square"]) == pytest.approx(solved.rms[0], rel=1e-5)
    assert found.means["torque"] == pytest.approx(solved.torque[0], rel=1e-5)
    assert found.speed_ripple < 1e-3 * SATURATING.speed
    first = found.conductions[0]
    assert first[1:] == pytest.approx((solved.state.positive.turn_on[0], solved.state.positive.extinction[0]), abs=1e-4)


@pytest.mark.parametrize("pulse", [None, 1e-4])
def test_swing_when_control_is_lost(pulse):
    """The powers close with the moving speed, train and half-wave pulse (derived: mean of i·v)."""
    case = dataclasses.replace(SATURATING, alpha=30 * DEGREE, speed=1000 * RPM, pulse=pulse)
    found, _ = moving(case, case.speed)
    assert len(found.conductions) == (2 if pulse is None else 1)
    total = case.R_s + case.R_a + case.R_f + case.r_T
    drawn = math.sqrt(2) * case.voltage * found.means["drawn"]
    spent = total * found.means["square"] + (case.V_b + case.V_T0) * found.means["current"] + found.means["power"]
    assert spent == pytest.approx(drawn, rel=1e-5)
    assert np.all(np.diff(found.angle) >= 0)


def test_nothing_fires():
    """No firing: None; a shaft at rest is refused."""
    assert moving(dataclasses.replace(SATURATING, alpha=179.9 * DEGREE), 300.0)[0] is None
    with pytest.raises(ValueError, match="a shaft at rest has no speed ripple"):
        moving(SATURATING, 0.0)
