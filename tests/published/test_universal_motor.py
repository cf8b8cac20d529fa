"""Published examples of the series and universal motor: phasors on a.c., smooth direct current.

Marks as in the collection of check values; "source seen" means the source's own text was seen.
"""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from designer.equations import universal_motor as motor
from designer.motor.flux import FluxCurve
from tests.published.printed import Row, every

RPM = math.pi / 30
GURU = ("B. S. Guru and H. R. Hiziroglu, Electric Machinery and Transformers, 3rd ed., Example 10.5, p. 606 "
        "(companion notebook seen)")
KOTHARI = "D. P. Kothari and I. J. Nagrath, Electric Machines, single-phase motor chapter (source seen for X and EMF)"
DUBEY = "G. K. Dubey, Fundamentals of Electrical Drives, 2nd ed. 2004, Example 5.21, p. 128 (companion notebook seen)"
GATE = "GATE-style worked answer on two series motors (source seen)"
BIMBHRA = "P. S. Bimbhra, Power Electronics (Khanna), Example 12.16, p. 685 (companion notebook seen)"


def e1():
    """E1: 120 V 60 Hz, 8000 rpm, 17.58 A at power factor 0.912; 80 W rotational loss."""
    current, R, X, pf = 17.58, 0.65 + 1.36, 1.2 + 1.6, 0.912
    E = motor.SPEED_VOLTAGE_BY_POWER_FACTOR(V=120.0, cos_phi=pf, R=R, I=current, V_b=0.0)
    phasor = 120 - current * complex(pf, -math.sqrt(1 - pf**2)) * complex(R, X)
    output = motor.CONVERTED_POWER(E=E, I=current) - 80
    return (
        Row(source=GURU, quantity="EMF V", printed="74.1", value=E),
        Row(source=GURU, quantity="EMF angle deg", printed="-24.22",
            value=math.degrees(math.atan2(phasor.imag, phasor.real))),
        Row(source=GURU, quantity="EMF V, phasor", printed="74.1042", value=abs(phasor), verdict="recomputed"),
        Row(source=GURU, quantity="output W", printed="1222.75", value=output),
        Row(source=GURU, quantity="shaft torque N m", printed="1.46", value=motor.TORQUE(P_em=output, w=8000 * RPM)),
        Row(source=GURU, quantity="efficiency %", printed="63.6", value=100 * output / (120 * current * pf)),
    )


def e3():
    """E3: 2000 rpm and 0.6 A on 120 V d.c.; 20 ohm, 0.25 H; the same current on 120 V 60 Hz."""
    X = 2 * math.pi * 60 * 0.25
    direct = motor.SPEED_VOLTAGE_DC(V=120.0, R=20.0, I=0.6, V_b=0.0)
    alternating = motor.SPEED_VOLTAGE_AC(V=120.0, X=X, I=0.6, R=20.0, V_b=0.0)
    k = direct / (2000 * RPM)
    speed = motor.SPEED(E=alternating, k=k)
    power = motor.CONVERTED_POWER(E=alternating, I=0.6)
    return (
        Row(source=KOTHARI, quantity="X ohm", printed="94.25", value=X),
        Row(source=KOTHARI, quantity="EMF on DC V", printed="108", value=direct),
        Row(source=KOTHARI, quantity="EMF on AC V", printed="93.8407", value=alternating, verdict="recomputed"),
        Row(source=KOTHARI, quantity="speed rpm", printed="1737.79", value=speed / RPM, verdict="recomputed"),
        Row(source=KOTHARI, quantity="torque N m", printed="0.309397", verdict="recomputed",
            value=motor.TORQUE(P_em=power, w=speed)),
        Row(source=KOTHARI, quantity="power factor", printed="0.882006", verdict="recomputed",
            value=motor.POWER_FACTOR(E=alternating, R=20.0, I=0.6, V_b=0.0, V=120.0)),
    )


E4_AMPS = (10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0)
E4_VOLTS = (64.0, 118.0, 150.0, 170.0, 184.0, 194.0, 202.0, 210.0)   # at 600 rpm
E4_CURVE = FluxCurve.from_points(tuple((i, e / (600 * RPM)) for i, e in zip(E4_AMPS, E4_VOLTS, strict=True)))


def k_linear(i):
    """The same table by straight lines, as the collection of check values reads it."""
    return float(np.interp(i, E4_AMPS, E4_VOLTS)) / (600 * RPM)


def current_at(k, V, R, speed):
    """The current at which the loop's voltages balance at a speed."""
    return brentq(lambda i: motor.SPEED_VOLTAGE_DC(V=V, R=R, I=i, V_b=0.0) - k(i) * speed, 1.0, 80.0)


def e4():
    """E4: series motor with its magnetisation curve on a chopper from 220 V, 0.12 ohm."""
    E = motor.SPEED_VOLTAGE_DC(V=0.6 * 220, R=0.12, I=60.0, V_b=0.0)
    straight = current_at(k_linear, 0.65 * 220, 0.12, 400 * RPM)
    return (
        Row(source=DUBEY, quantity="(i) rpm", printed="386",
            value=motor.SPEED(E=E, k=float(E4_CURVE.at(60.0))) / RPM),
        Row(source=DUBEY, quantity="(ii) torque at the read-off 70 A, N m", printed="225",
            value=float(E4_CURVE.at(70.0)) * 70),
        Row(source=DUBEY, quantity="(ii) current, straight lines, A", printed="69.898", verdict="recomputed",
            value=straight),
        Row(source=DUBEY, quantity="(ii) torque, straight lines, N m", printed="224.626", verdict="recomputed",
            value=k_linear(straight) * straight),
        Row(source=DUBEY, quantity="(ii) torque by the package's curve, N m", printed="225", verdict="rounding",
            value=(lambda i: float(E4_CURVE.at(i)) * i)(
                current_at(lambda i: float(E4_CURVE.at(i)), 0.65 * 220, 0.12, 400 * RPM))),
    )


def e5():
    """E5: 0.5 ohm, 500 V, 60 A, 800 rpm; then two in series on 500 V at 400 rpm with 2.5 times the torque."""
    E = motor.SPEED_VOLTAGE_DC(V=500.0, R=0.5, I=60.0, V_b=0.0)
    torque = motor.TORQUE(P_em=motor.CONVERTED_POWER(E=E, I=60.0), w=800 * RPM)
    load = 2.5 * torque

    def lacking(i):
        each = motor.SPEED_VOLTAGE_DC(V=250.0, R=0.5, I=i, V_b=0.0)
        return 2 * motor.CONVERTED_POWER(E=each, I=i) - load * 400 * RPM

    return (
        Row(source=GATE, quantity="EMF V", printed="470", value=E, verdict="recomputed"),
        Row(source=GATE, quantity="torque N m", printed="336.61", value=torque),
        Row(source=GATE, quantity="load torque N m", printed="841.52", value=load, verdict="rounding"),
        Row(source=GATE, quantity="current A, smaller root", printed="84.92", value=brentq(lacking, 1.0, 200.0)),
    )


def d12():
    """D12, its motor: 4 mN·m/A², 0.1 ohm, 300 A from a mean of 0.6 · 600 V."""
    E = motor.SPEED_VOLTAGE_DC(V=0.6 * 600, R=0.1, I=300.0, V_b=0.0)
    speed = motor.SPEED(E=E, k=0.004 * 300)
    return (
        Row(source=BIMBHRA, quantity="speed rpm", printed="2626.1", value=speed / RPM),
        Row(source=BIMBHRA, quantity="torque N m", printed="360",
            value=motor.TORQUE(P_em=motor.CONVERTED_POWER(E=E, I=300.0), w=speed)),
    )


@every((*e1(), *e3(), *e4(), *e5(), *d12()))
def test_printed_number(row):
    """Met to half the last printed digit, or as its mark says."""
    row.check()


def test_four_times_the_torque_halves_the_speed_without_losses():
    """needs.md row 3 (seen in a public page): a series motor without losses and saturation, k = c·i."""
    c, volts = 0.09, 230.0

    def speed(torque):
        i = math.sqrt(torque / c)
        return motor.SPEED(E=motor.SPEED_VOLTAGE_DC(V=volts, R=0.0, I=i, V_b=0.0), k=c * i)

    assert speed(0.8) == pytest.approx(speed(0.2) / 2, rel=1e-12)
