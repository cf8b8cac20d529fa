"""The series motor on direct voltage and behind a lamp, against scenario answers and the marched reference."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import fsolve

from designer.motor.direct import Behind, series_on_direct
from designer.motor.model import Load
from tests import reference
from tests.pairs import S1, model
from tests.reference import RPM

MOTOR = model(S1)


@pytest.mark.parametrize("volts, rpm, amperes", [(12.0, 1591, 0.52), (24.0, 3587, 0.58)])
def test_s1_hold_outs(volts, rpm, amperes):
    """needs.md S1, hold-outs on series d.c. (computed there), speed to 1 %, current to its printed digits."""
    found = series_on_direct(MOTOR, Load(), voltage=volts, resistance=3.8)
    assert found.speed / RPM == pytest.approx(rpm, rel=0.01)
    assert found.current == pytest.approx(amperes, abs=0.006)


def test_s1_on_direct_mains_voltage():
    """physics.md, check vectors: reactance zero, 230 V d.c., 0.8 N·m: 9127 rpm, to 0.1 %."""
    found = series_on_direct(MOTOR, Load(torque=0.8), voltage=230.0, resistance=3.8)
    assert found.speed / RPM == pytest.approx(9127, rel=1e-3)


@pytest.mark.parametrize("load, friction, ratio", [
    (Load(), 1.0, 1.0), (Load(torque=0.5, viscous=1e-4, square=1e-7), 0.7, 1.0),
    (Load(torque=1.0, ratio=3.0), 1.3, 3.0),
])
def test_both_balances_hold(load, friction, ratio):
    """Voltage and torque written out, solved by scipy's fsolve: current and speed to 1e-8."""
    curve = S1.curve

    def left(x):
        i, w = 1.0 * x[0], 100.0 * x[1]
        k = curve.g(i) + curve.k_r
        out = w / ratio
        asked = (load.torque + load.viscous * out + load.square * out * out) / ratio
        friction_torque = friction * (0.022 + 15e-6 * w + 20e-9 * w * w)
        return [200.0 - 2.0 - 3.8 * i - k * w, k * i - friction_torque - asked]

    found = series_on_direct(MOTOR, load, voltage=200.0, resistance=3.8, friction=friction)
    i, w = fsolve(left, [found.current * 1.05, found.speed / 100 * 0.97], xtol=1e-13)
    assert (found.current, found.speed) == pytest.approx((i, 100 * w), rel=1e-8)


@pytest.mark.parametrize("volts, current", [(3.0, 1 / 3.8), (1.5, 0.0)])
def test_at_rest(volts, current):
    """Too little torque to start, or no more than the brush drop: at rest, with the current of Ohm's law (derived)."""
    found = series_on_direct(MOTOR, Load(torque=0.8), voltage=volts, resistance=3.8)
    assert found.speed == 0.0
    assert found.current == pytest.approx(current, rel=1e-12)


@pytest.mark.parametrize("speed", [0.0, 300.0, 700.0])
def test_behind_a_lamp(speed):
    """230 V behind 264.5 Ω (V²/P of 200 W): torque by scipy solve_ivp without reactance to 0.3 %; with it, 3 %."""
    loop = Behind(motor=MOTOR, voltage=230.0, resistance=264.5 + 3.8)
    case = replace(S1, alpha=0.0, speed=speed, R_s=264.5, load=(0.0, 0.0, 0.0))
    assert loop.torque(speed) == pytest.approx(reference.steady(replace(case, L_a=2e-3, L_f=3e-3)).torque, rel=3e-3)
    assert loop.torque(speed) == pytest.approx(reference.steady(case).torque, rel=0.03)
    angle, current = loop.current(speed)
    middle = len(angle) // 2
    k = S1.curve.g(float(current[middle])) + S1.curve.k_r
    assert 268.3 * current[middle] + k * speed + 2.0 == pytest.approx(math.sqrt(2) * 230.0, rel=1e-3)
    assert np.all(current >= 0)


def test_speed_behind_a_lamp():
    """Unloaded behind 264.5 Ω: 6576 rpm (scipy solve_ivp, full reactance), to 2 %; behind 60 W it does not start."""
    loop = Behind(motor=MOTOR, voltage=230.0, resistance=264.5 + 3.8)
    assert loop.speed(Load()) / RPM == pytest.approx(6576, rel=0.02)
    assert loop.speed(Load(), friction=0.7) > loop.speed(Load())
    assert Behind(motor=MOTOR, voltage=230.0, resistance=230.0**2 / 60 + 3.8).speed(Load()) == 0.0
