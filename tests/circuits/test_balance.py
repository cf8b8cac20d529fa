"""Speed from setting and load, setting from speed and load, against the marched reference."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.circuits import balance
from designer.circuits.balance import HIGHEST_SPEED, find_setting, find_speed, surplus
from designer.circuits.triac_series import CIRCUIT
from designer.waveforms.phase_control import Gate
from tests import reference
from tests.pairs import S1, S2, fixed, points
from tests.reference import DEGREE, RPM


def many(shared, case, given):
    """The case's point with columns replaced."""
    base = points(shared, [case])
    count = max(np.size(v) for v in given.values())
    return replace(base[np.zeros(count, int)], **{k: np.broadcast_to(np.asarray(v, float), count).copy()
                                                  for k, v in given.items()})


@pytest.mark.parametrize("case, low, high", [(S1, 3000, 3400), (S2, 8800, 9200)], ids=["S1", "S2"])
def test_found_speed_balances_the_marched_torque(case, low, high):
    """The reference's own balance (scipy solve_ivp and brentq), to 1e-4 of speed; from any first guess."""
    case = replace(case, alpha=case.alpha - (0.5 * DEGREE if case is S1 else 0.0))
    shared = fixed(case, 1e-5)
    truth = reference.settle_speed(case, low * RPM, high * RPM)
    found = find_speed(CIRCUIT, shared, many(shared, case, {"speed": [0.0, 5.0, 300.0, 5000.0]}))
    assert found == pytest.approx(np.full(4, truth), rel=1e-4)


def test_a_guess_that_is_the_root(monkeypatch):
    """A sign that turns between two batches of points within their error bound is a root, not a runaway (derived)."""
    root, calls = 314.0, []

    def noisy(circuit, shared, some):
        calls.append(len(some))
        shift = 1e-5 if len(calls) == 1 else -1e-5      # the first batch sees the guess just below the root
        return (root - some.speed) * 1e-3 + shift * 1e-3

    monkeypatch.setattr(balance, "surplus", noisy)
    found = find_speed(CIRCUIT, fixed(S1, 1e-4), many(fixed(S1), S1, {"speed": [root, 100.0]}))
    assert found == pytest.approx([root, root], rel=1e-4)


def test_at_rest_friction_holds():
    """Torque at rest below load and static friction: speed 0, not a small one (derived)."""
    shared = fixed(S1, 1e-4)
    held = find_speed(CIRCUIT, shared, many(shared, S1, {"setting": [150 * DEGREE, 175 * DEGREE], "load": [1.0, 0.0]}))
    assert held.tolist() == [0.0, 0.0]


def test_a_speed_without_end():
    """No friction and no load: still speeding up at 190 000 rpm, told as nan."""
    case = replace(S1, friction=(0.0, 0.0, 0.0), alpha=0.0)
    shared = fixed(case, 1e-3)
    found = find_speed(CIRCUIT, shared, many(shared, case, {"load": [0.0]}))
    assert np.isnan(found).all()
    assert surplus(CIRCUIT, shared, many(shared, case, {"load": [0.0], "speed": [HIGHEST_SPEED]}))[0] > 0


def test_setting_out_of_reach():
    """Too much load: nan and what full conduction lacks (scipy solve_ivp, to 1e-3); a driving load: what is over."""
    shared = fixed(S1, 1e-5)
    setting, lacking = find_setting(CIRCUIT, shared, many(shared, S1, {"load": [10.0, -1.0, 1.0], "setting": 0.0}))
    assert np.isnan(setting).tolist() == [True, True, False]
    most = reference.steady(replace(S1, alpha=0.0)).torque
    assert lacking[0] == pytest.approx(most - 8.0 - S1.friction_torque(S1.speed), rel=1e-3)
    assert lacking[1] == pytest.approx(0.8 - S1.friction_torque(S1.speed), rel=1e-6)
    assert lacking[2] == 0.0
    assert setting[2] / DEGREE == pytest.approx(reference.find_angle(S1, 95 * DEGREE, 110 * DEGREE) / DEGREE, abs=2e-3)


def test_a_gate_that_never_latches_has_no_setting():
    """The setting is found for a gate that holds, then held against the gate as it is: refused where none fires."""
    shared = replace(fixed(S1, 1e-4), gate=Gate(latching=60.0))
    setting, lacking = find_setting(CIRCUIT, shared, many(shared, S1, {"setting": [0.0]}))
    assert np.isnan(setting).all()
    assert lacking[0] == pytest.approx(-0.8 - S1.friction_torque(S1.speed), rel=1e-6)


@settings(max_examples=6, deadline=None, derandomize=True)
@given(st.floats(500, 9000), st.floats(0.05, 1.5))
def test_setting_and_speed_undo_each_other(rpm, load):
    """find_speed at the setting that find_setting gives comes back to the speed (derived), to 2e-3."""
    shared = fixed(S1, 1e-4)
    asked = many(shared, S1, {"speed": [rpm * RPM], "load": [load / 0.8], "setting": 0.0})
    setting, lacking = find_setting(CIRCUIT, shared, asked)
    if np.isnan(setting[0]):
        assert lacking[0] < 0
        return
    assert abs(surplus(CIRCUIT, shared, asked.at(setting=setting))[0]) < 2e-3 * (load + 0.05)
    assert find_speed(CIRCUIT, shared, asked.at(setting=setting))[0] == pytest.approx(rpm * RPM, rel=2e-3)
