"""Published speed loops: the two optima, a PI regulator, speed drop under load, a cascaded drive.

Sources: R. K. and K. K. Sugandhi, Thyristors, 2nd ed. 1983, examples 12.4 to 12.8 (companion notebook seen); M. H.
Rashid, Power Electronics, 4th ed., examples 14.13 and 14.14 (companion notebook seen, digits from memory). Settling
times are those of 2 %. One printed time is wrong: 6.24 for 2·π.
"""

from __future__ import annotations

import math

import control
import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from designer.equations import speed_loop as eq
from tests.published.printed import Row
from tests.reference import RPM

SUGANDHI = "Sugandhi, Thyristors, 2nd ed. 1983, Example {} (companion notebook seen)"
RASHID = "M. H. Rashid, Power Electronics, 4th ed., Example {} (companion notebook seen, digits from memory)"


def settled(step, *, longest):
    """The last time at which the response lies 2 % off, in units of the small time (root by scipy)."""
    grid = np.linspace(0.0, longest, 20001)
    off = np.abs(np.array([step(t) for t in grid]) - 1) - 0.02
    last = np.flatnonzero(off > 0)[-1]
    return brentq(lambda t: abs(step(t) - 1) - 0.02, grid[last], grid[last + 1])


def modulus():
    """H1, modulus optimum, the small time 1 s."""
    def step(t):
        return eq.MODULUS_STEP(t=t, T_sm=1.0)

    top = minimize_scalar(lambda t: -step(t), bounds=(4.0, 8.0), method="bounded", options={"xatol": 1e-10})
    source = SUGANDHI.format("12.5 and 12.6")
    return (
        Row(source=source, quantity="first reaches 1", printed="4.7", value=brentq(lambda t: step(t) - 1, 3, 6)),
        Row(source=source, quantity="overshoot %", printed="4.3", value=-100 * top.fun - 100),
        Row(source=source, quantity="settling", printed="8.4", value=settled(step, longest=30.0)),
        Row(source=source, quantity="time of peak", printed="6.24", value=top.x, verdict="DISAGREES"),
        Row(source=source, quantity="time of peak", printed="6.2832", value=top.x, verdict="recomputed"),
    )


def symmetrical():
    """H1, symmetrical optimum, the small time 1 s."""
    def step(t):
        return eq.SYMMETRICAL_STEP(t=t, T_sm=1.0)

    top = minimize_scalar(lambda t: -step(t), bounds=(4.0, 8.0), method="bounded", options={"xatol": 1e-10})
    source = SUGANDHI.format("12.7 and 12.8")
    return (
        Row(source=source, quantity="first reaches 1", printed="3.1", value=brentq(lambda t: step(t) - 1, 2, 5)),
        Row(source=source, quantity="overshoot %", printed="43", value=-100 * top.fun - 100),
        Row(source=source, quantity="settling", printed="16.6", value=settled(step, longest=60.0)),
        Row(source=source, quantity="time of peak", printed="5.7726", value=top.x, verdict="recomputed"),
    )


def regulator():
    """H2: small time 20 ms, large 350 ms, plant gain 1, so that a unit of command accelerates by 1/0.35 s."""
    gain = eq.GAIN(r_K=1.0, a_s=2.0, g_J=1 / 0.35, T_sm=0.020)
    integral, input_resistance = eq.INTEGRAL_TIME(a_s=2.0, T_sm=0.020), 11e3
    feedback, source = gain * input_resistance, SUGANDHI.format("12.4, p. 39")
    return (
        Row(source=source, quantity="Tn ms", printed="80", value=1e3 * integral),
        Row(source=source, quantity="gain", printed="8.75", value=gain),
        Row(source=source, quantity="R2 kohm", printed="96.25", value=1e-3 * feedback),
        Row(source=source, quantity="C2 uF", printed="0.8", value=1e6 * integral / feedback),
    )


def drop():
    """H4: 50 kW, 240 V, 1700 rpm, proportional feedback by a tacho of 95 mV·s, power gain 100."""
    speed, k, source = 1700 * RPM, 0.91 * 1.4, RASHID.format("14.13")
    torque = 50e3 / speed
    volts = k * speed + 0.1 * 0.3 * speed / k     # without load: only the motor's own drag
    given = {"R_m": 0.1, "k": k, "B": 0.3}
    return (
        Row(source=source, quantity="rated speed rad/s", printed="178.02", value=speed),
        Row(source=source, quantity="rated torque N m", printed="280.87", value=torque, verdict="rounding"),
        Row(source=source, quantity="Va V", printed="230.994", value=volts, verdict="recomputed"),
        Row(source=source, quantity="Vr V", printed="19.2222", verdict="recomputed",
            value=eq.REFERENCE(V_a=volts, K_2=100.0, K_t=0.095, omega=speed)),
        Row(source=source, quantity="Va/K2 V", printed="2.31",
            value=eq.REFERENCE(V_a=volts, K_2=100.0, K_t=0.095, omega=0.0)),
        Row(source=source, quantity="Vb V", printed="16.91",
            value=eq.REFERENCE(V_a=0.0, K_2=100.0, K_t=0.095, omega=speed)),
        Row(source=source, quantity="open loop rad/s", printed="16.9902", verdict="recomputed",
            value=eq.SPEED_DROP(T_L=torque, K_l=0.0, **given)),
        Row(source=source, quantity="speed change at rated torque rad/s", printed="2.04",
            value=eq.SPEED_DROP(T_L=torque, K_l=9.5, **given)),
        Row(source=source, quantity="speed change at 1.1 x torque rad/s", printed="2.246",
            value=eq.SPEED_DROP(T_L=1.1 * torque, K_l=9.5, **given)),
    )


def cascade():
    """H5: 220 V, 1570 rpm on a three-phase converter; the speed regulator is the symmetrical optimum at width 2."""
    source, motor = RASHID.format("14.14"), {"R_m": 6.5, "L_m": 67e-3, "B": 0.087, "J_s": 0.06, "k": 1.24}
    wait = eq.MEAN_WAIT(m_p=6.0, f=60.0)
    full = 3 * math.sqrt(2) * 220 / math.pi
    small = 2.75637e-3 + 2e-3                          # inner loop and tacho filter
    current, tacho = 2.65922, 0.074                    # inner loop's amperes a volt, tacho volts per rad/s
    drive = eq.ACCELERATION(T_u=motor["k"] * current * tacho, J_s=motor["J_s"])
    return (
        Row(source=source, quantity="converter gain", printed="29.71", value=full / 10),
        Row(source=source, quantity="r1 1/s", printed="-5.64", value=eq.SLOW_POLE(**motor)),
        Row(source=source, quantity="r2 1/s", printed="-92.83", value=eq.FAST_POLE(**motor)),
        Row(source=source, quantity="converter lag ms", printed="1.39", value=1e3 * wait),
        Row(source=source, quantity="Ks", printed="25.8487", verdict="recomputed",
            value=eq.GAIN(r_K=1.0, a_s=2.0, g_J=drive, T_sm=small)),
        Row(source=source, quantity="ts ms", printed="19.0255", verdict="recomputed",
            value=1e3 * eq.INTEGRAL_TIME(a_s=2.0, T_sm=small)),
    )


@pytest.mark.parametrize("rows", [modulus, symmetrical, regulator, drop, cascade], ids=lambda f: f.__name__)
def test_printed_numbers(rows):
    """Every printed number of each group, as its source and mark say."""
    for row in rows():
        row.check()


@pytest.mark.parametrize("formula, numerator, denominator", [
    (eq.MODULUS_STEP, [1], [2, 2, 1]), (eq.SYMMETRICAL_STEP, [4, 1], [8, 8, 4, 1])])
def test_step_responses(formula, numerator, denominator):
    """Both closed forms against ``control.step_response`` of the transfer functions that they are derived from."""
    time = np.linspace(0.0, 30.0, 301)
    told = control.step_response(control.tf(numerator, denominator), time).outputs
    assert formula(t=time, T_sm=1.0) == pytest.approx(told, abs=1e-8)


@pytest.mark.parametrize("degrees", [36.8699, 45.0, 60.0])
def test_width_gives_its_phase_margin(degrees):
    """The width of a phase margin gives just that on the integrating plant with one lag (``control.margin``)."""
    width, small, drive = eq.WIDTH(phi_m=math.radians(degrees)), 0.03, 7.0
    gain = eq.GAIN(r_K=1.0, a_s=width, g_J=drive, T_sm=small)
    integral = eq.INTEGRAL_TIME(a_s=width, T_sm=small)
    loop = control.tf([gain * integral, gain], [integral, 0]) * control.tf([drive], [small, 1, 0])
    _, phase, _, crossover = control.margin(loop)
    assert phase == pytest.approx(degrees, abs=1e-3)
    assert crossover == pytest.approx(1 / (width * small), rel=1e-6)
    assert eq.WIDTH(phi_m=math.atan(0.75)) == pytest.approx(2.0, rel=1e-12)
