"""Published examples of the one-switch chopper, and of motors fed by one or with a separate field.

Marks as in the collection of check values: "companion notebook seen" means that the printed output
of a textbook's companion was seen, not the page itself; "digits from memory" that the digits were not.
"""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from designer.equations import chopper as closed
from designer.equations import chopper_parts as smooth
from designer.equations import motor, separate_motor, universal_motor
from designer.waveforms.chopper import Loop, chopped, edge
from tests.published.printed import Row, every

BIMBHRA = "P. S. Bimbhra, Power Electronics (Khanna), Example {} (companion notebook seen)"
GUPTA = "B. R. Gupta and V. Singhal, Power Electronics, 6th ed. 2010, Example {} (companion notebook seen)"
RASHID = "M. H. Rashid, Power Electronics, 4th ed., Example {} (companion notebook seen, digits from memory)"
JACOB = "J. M. Jacob, Power Electronics: Principles and Applications, Example {} (companion notebook seen)"
DUBEY = "G. K. Dubey, Fundamentals of Electrical Drives, 2nd ed. 2004, Example {} (companion notebook seen)"
FITZGERALD = "Fitzgerald, Example 11.1, p. 561 (companion notebook seen, rejected)"
RPM = math.pi / 30


def loop(*, V, R, L, f, D, E=0.0):
    """One point without device drops."""
    given = {
        "on_voltage": V - E, "off_voltage": -E, "on_resistance": R, "off_resistance": R, "inductance": L,
        "period": 1 / f, "on_time": D / f,
    }
    return Loop(**{name: np.array([value]) for name, value in given.items()})


def one(array):
    """The number of the only point."""
    return float(array[0])


def d1():
    """D1: 220 V, 1 ohm, 5 mH, 24 V against it, 500 Hz, duty 0.3."""
    source = BIMBHRA.format("7.11, p. 408")
    given = {"V": 220.0, "R": 1.0, "L": 5e-3, "f_s": 500.0, "D": 0.3}
    found = chopped(loop(V=220.0, R=1.0, L=5e-3, f=500.0, D=0.3, E=24.0))
    bus = closed.SWITCH_MEAN(**given, E=24.0, dI=closed.RIPPLE(**given))
    harmonics = [closed.HARMONIC(**given, n=n) for n in (1, 2, 3)]
    return (
        Row(source=source, quantity="Iav A", printed="42.00", value=closed.MEAN_CURRENT(D=0.3, V=220.0, E=24.0, R=1.0)),
        Row(source=source, quantity="Iav A, closed waveform", printed="42.00", value=one(found.mean)),
        Row(source=source, quantity="Imax A", printed="51.46", value=closed.PEAK(**given, E=24.0)),
        Row(source=source, quantity="Imin A", printed="33.03", value=closed.LEAST(**given, E=24.0)),
        Row(source=source, quantity="1st harmonic rms A", printed="5.0903", value=harmonics[0]),
        Row(source=source, quantity="2nd A", printed="1.4983", value=harmonics[1]),
        Row(source=source, quantity="3rd A", printed="0.21643", value=harmonics[2]),
        Row(source=source, quantity="average supply A", printed="12.7289", value=bus),
        Row(source=source, quantity="input W", printed="2800.35", value=smooth.INPUT_POWER(V=220.0, I_sw=bus)),
        Row(source=source, quantity="power in E W", printed="1008", value=24.0 * one(found.mean)),
        Row(source=source, quantity="load rms A", printed="42.334", value=one(found.rms), verdict="rounding"),
        Row(source=source, quantity="dI A", printed="18.4285", value=one(found.ripple), verdict="recomputed"),
        Row(source=source, quantity="switch rms A", printed="23.4215", value=one(found.switch_rms),
            verdict="recomputed"),
        Row(source=source, quantity="diode mean A", printed="29.2711", value=one(found.diode_mean),
            verdict="recomputed"),
    )


def d3():
    """D3: 200 V, 4 ohm, 6 mH, 1 kHz, duty 0.5; the book's switch currents are those of a smooth load current."""
    source = GUPTA.format("5.7, p. 257")
    given = {"V": 200.0, "R": 4.0, "L": 6e-3, "f_s": 1000.0}
    found = chopped(loop(V=200.0, R=4.0, L=6e-3, f=1000.0, D=0.5))
    return (
        Row(source=source, quantity="Imax A", printed="29.13", value=closed.PEAK(**given, D=0.5, E=0.0)),
        Row(source=source, quantity="Imin A", printed="20.87", value=closed.LEAST(**given, D=0.5, E=0.0)),
        Row(source=source, quantity="ripple A", printed="8.33",
            value=closed.RIPPLE_GREATEST(V=200.0, f_s=1000.0, L=6e-3)),
        Row(source=source, quantity="average A", printed="25", value=one(found.mean)),
        Row(source=source, quantity="load rms A", printed="25.11", value=one(found.rms)),
        Row(source=source, quantity="input average A", printed="12.5",
            value=smooth.SWITCH_MEAN_SMOOTH(D=0.5, I=one(found.mean))),
        Row(source=source, quantity="input rms A", printed="17.755", verdict="rounding",
            value=smooth.SWITCH_RMS_SMOOTH(D=0.5, I_rms=one(found.rms))),
        Row(source=source, quantity="dI A", printed="8.25702", value=closed.RIPPLE_HALF_DUTY(**given),
            verdict="recomputed"),
        Row(source=source, quantity="dI A, any duty", printed="8.25702", value=closed.RIPPLE(**given, D=0.5),
            verdict="recomputed"),
        Row(source=source, quantity="switch mean A", printed="12.6145", value=one(found.switch_mean),
            verdict="recomputed"),
        Row(source=source, quantity="switch rms A", printed="17.9188", value=one(found.switch_rms),
            verdict="recomputed"),
        Row(source=source, quantity="diode mean A", printed="12.3855", value=one(found.diode_mean),
            verdict="recomputed"),
    )


def d5_d10():
    """D5 and D10: frequency and inductance for a given ripple."""
    return (
        Row(source=BIMBHRA.format("7.13, p. 412"), quantity="f Hz", printed="133.33",
            value=closed.FREQUENCY_FOR_RIPPLE(V=500.0, D=0.2, L=60e-3, dI=10.0)),
        Row(source=RASHID.format("5.3"), quantity="L mH", printed="27.5",
            value=1000 * closed.INDUCTANCE_FOR_RIPPLE(V=550.0, D=0.5, f_s=250.0, dI=20.0)),
    )


def d6():
    """D6: discontinuous; the printed mean voltage and current are flagged wrong (272 in place of E)."""
    source = BIMBHRA.format("7.12, p. 411")
    found = chopped(loop(V=220.0, R=1.0, L=1e-3, f=500.0, D=0.4, E=72.0))
    peak = closed.PEAK_OF_TWO_LOOPS(I_1=0.0, R_on=1.0, t_on=8e-4, L=1e-3, V_on=148.0)
    end = closed.EXTINCTION(t_on=8e-4, L=1e-3, R_off=1.0, I_2=peak, V_off=-72.0)
    mean = closed.DISCONTINUOUS_VOLTAGE(D=0.4, V=220.0, t_x=end, f_s=500.0, E=72.0)
    return (
        Row(source=source, quantity="Imax A", printed="81.5", value=one(found.peak)),
        Row(source=source, quantity="Imax A, formula", printed="81.4993", value=peak, verdict="recomputed"),
        Row(source=source, quantity="Vo V, flagged wrong", printed="121.77", value=mean, verdict="rejected"),
        Row(source=source, quantity="Io A, flagged wrong", printed="49.77", value=one(found.mean), verdict="rejected"),
        Row(source=source, quantity="tx ms", printed="1.55703", value=1000 * end, verdict="recomputed"),
        Row(source=source, quantity="tx ms, closed waveform", printed="1.55703", value=1000 * one(found.extinction),
            verdict="recomputed"),
        Row(source=source, quantity="Vo V", printed="103.947", value=mean, verdict="recomputed"),
        Row(source=source, quantity="Io A", printed="31.9469", value=one(found.mean), verdict="recomputed"),
        Row(source=source, quantity="Io A from Vo", printed="31.9469", value=mean - 72.0, verdict="recomputed"),
    )


def d8_d9():
    """D8 and D9: step-down filter; D9 rounds the on-time to 4.2 us before the ripple."""
    source, jacob = RASHID.format("5.5"), JACOB.format("7.2, p. 328")
    duty, on_time = 5 / 12, closed.SHORTEST_ON_TIME(D_min=5 / 12, f_s=100e3)
    rounded = closed.RISE(V=12.0, E=5.0, t_on=4.2e-6, L=220e-6)
    exact = closed.RISE(V=12.0, E=5.0, t_on=on_time, L=220e-6)
    L = closed.INDUCTANCE_FOR_RIPPLE(V=12.0, D=duty, f_s=25e3, dI=0.8)
    return (
        Row(source=source, quantity="duty %", printed="41.67",
            value=100 * brentq(lambda D: closed.MEAN_VOLTAGE(D=D, V=12.0) - 5.0, 0, 1)),
        Row(source=source, quantity="L uH", printed="145.83", value=1e6 * L),
        Row(source=source, quantity="C uF", printed="200",
            value=1e6 * smooth.FILTER_CAPACITANCE(dI=0.8, f_s=25e3, dV=20e-3)),
        Row(source=source, quantity="critical L mH", printed="5.83",
            value=1000 * smooth.CRITICAL_INDUCTANCE(D=duty, R_load=500.0, f_s=25e3)),
        Row(source=source, quantity="critical C uF", printed="0.4",
            value=1e6 * smooth.CRITICAL_CAPACITANCE(D=duty, L=L, f_s=25e3)),
        Row(source=jacob, quantity="duty %", printed="42", value=100 * duty),
        Row(source=jacob, quantity="on time us", printed="4.167", value=1e6 * on_time),
        Row(source=jacob, quantity="ripple mA, on-time rounded", printed="133.636", value=1000 * rounded),
        Row(source=jacob, quantity="peak mA, on-time rounded", printed="566.818", value=500 + 500 * rounded),
        Row(source=jacob, quantity="dI mA", printed="132.576", value=1000 * exact, verdict="recomputed"),
        Row(source=jacob, quantity="Ip mA", printed="566.288", value=500 + 500 * exact, verdict="recomputed"),
    )


def d12():
    """D12: series motor of 4 mN·m/A², 0.1 ohm, 600 V, duty 0.6, 300 A smooth."""
    source = BIMBHRA.format("12.16, p. 685")
    mean, k = closed.MEAN_VOLTAGE(D=0.6, V=600.0), 4e-3 * 300
    E = universal_motor.SPEED_VOLTAGE_DC(V=mean, R=0.1, I=300.0, V_b=0.0)
    bus = smooth.SWITCH_MEAN_SMOOTH(D=0.6, I=300.0)
    return (
        Row(source=source, quantity="input kW", printed="108", value=smooth.INPUT_POWER(V=600.0, I_sw=bus) / 1000),
        Row(source=source, quantity="equivalent input resistance ohm", printed="3.333",
            value=smooth.EQUIVALENT_RESISTANCE(V=600.0, D=0.6, I=300.0)),
        Row(source=source, quantity="speed rpm", printed="2626.1", value=universal_motor.SPEED(E=E, k=k) / RPM),
        Row(source=source, quantity="torque N m", printed="360", value=motor.TORQUE(k=k, i_a=300.0)),
    )


def x4():
    """X4: field winding on a one-switch chopper; the printed ripple is that of a two-level one, twice too large."""
    found = chopped(loop(V=240.0, R=187.0, L=4.2, f=1000.0, D=0.75))
    straight = closed.RIPPLE_STRAIGHT(V=240.0, D=0.75, f_s=1000.0, L=4.2)
    return (
        Row(source=FITZGERALD, quantity="If A", printed="0.96", value=one(found.mean)),
        Row(source=FITZGERALD, quantity="ripple mA", printed="21.4", value=1000 * one(found.ripple),
            verdict="rejected"),
        Row(source=FITZGERALD, quantity="Iav mA", printed="962.567", value=1000 * one(found.mean),
            verdict="recomputed"),
        Row(source=FITZGERALD, quantity="dI mA", printed="10.714", value=1000 * one(found.ripple),
            verdict="recomputed"),
        Row(source=FITZGERALD, quantity="dI mA, straight flanks", printed="10.714", value=1000 * straight,
            verdict="recomputed"),
    )


def e4():
    """E4: series motor by its curve at 600 rpm, 0.12 ohm, chopper from 220 V; straight lines between the points."""
    source = DUBEY.format("5.21, p. 128")
    current = np.arange(10.0, 81.0, 10.0)
    volts = np.array([64.0, 118.0, 150.0, 170.0, 184.0, 194.0, 202.0, 210.0])

    def k(i):
        return float(np.interp(i, current, volts)) / (600 * RPM)

    def speed_voltage(D, i):
        return universal_motor.SPEED_VOLTAGE_DC(V=closed.MEAN_VOLTAGE(D=D, V=220.0), R=0.12, I=i, V_b=0.0)

    def torque(i):
        power = universal_motor.CONVERTED_POWER(E=speed_voltage(0.65, i), I=i)
        return universal_motor.TORQUE(P_em=power, w=400 * RPM)

    meets = brentq(lambda i: k(i) * 400 * RPM - speed_voltage(0.65, i), 10, 80)
    slow = universal_motor.SPEED(E=speed_voltage(0.6, 60.0), k=k(60.0)) / RPM
    return (
        Row(source=source, quantity="(i) rpm", printed="386", value=slow),
        Row(source=source, quantity="(ii) torque at the 70 A read off, N m", printed="225", value=torque(70.0)),
        Row(source=source, quantity="(i) rpm", printed="385.979", value=slow, verdict="recomputed"),
        Row(source=source, quantity="(ii) A", printed="69.898", value=meets, verdict="recomputed"),
        Row(source=source, quantity="(ii) N m", printed="224.626", value=torque(meets), verdict="recomputed"),
    )


def e6():
    """E6: 220 V 600 rpm 500 A, 0.02 ohm, load 2000 − 2N; 450 rpm by voltage, 750 rpm by the field."""
    source = DUBEY.format("5.11, p. 89")
    k = (220 - 0.02 * 500) / (600 * RPM)
    slow = separate_motor.ARMATURE_CURRENT(T_e=1100.0, k=k)
    volts = separate_motor.ARMATURE_VOLTAGE(
        e=motor.SPEED_VOLTAGE(k=k, omega=450 * RPM), R_a=0.02, I_a=slow, V_b=0.0)
    fast = separate_motor.CURRENT_AT_POWER(V_a=220.0, V_b=0.0, R_a=0.02, T_e=500.0, omega=750 * RPM)
    weak = 500.0 / fast
    return (
        Row(source=source, quantity="(i) V", printed="164", value=volts),
        Row(source=source, quantity="(i) A", printed="329", value=slow),
        Row(source=source, quantity="(ii) A", printed="181.5", value=fast),
        Row(source=source, quantity="(ii) field V", printed="181.3", value=220 * weak / k),
        Row(source=source, quantity="(i) V", printed="164.082", value=volts, verdict="recomputed"),
        Row(source=source, quantity="(ii) field V", printed="181.339", value=220 * weak / k, verdict="recomputed"),
        Row(source=source, quantity="(ii) rpm from the field found", printed="750", verdict="recomputed",
            value=separate_motor.SPEED(V_a=220.0, V_b=0.0, R_a=0.02, I_a=fast, k=weak) / RPM),
    )


def e8():
    """E8: 15 hp 220 V, 0.25 ohm, field 147 ohm on 220 V, 0.7032 V/(A rad/s), 45 N·m at 1200 rpm."""
    source = RASHID.format("14.1")
    field = motor.FIELD_CURRENT(V_fs=220.0, R_fw=147.0, R_fx=0.0)
    k = 0.7032 * field
    current = separate_motor.ARMATURE_CURRENT(T_e=45.0, k=k)
    e = motor.SPEED_VOLTAGE(k=k, omega=1200 * RPM)
    volts = separate_motor.ARMATURE_VOLTAGE(e=e, R_a=0.25, I_a=current, V_b=0.0)
    return (
        Row(source=source, quantity="If A", printed="1.497", value=field),
        Row(source=source, quantity="Ia A", printed="42.75", value=current, verdict="rounding"),
        Row(source=source, quantity="Eg V", printed="132.28", value=e, verdict="rounding"),
        Row(source=source, quantity="Va V", printed="142.97", value=volts, verdict="rounding"),
        Row(source=source, quantity="rated Ia A", printed="50.87", verdict="rounding",
            value=separate_motor.RATED_CURRENT(P_m=15 * 746.0, V_a=220.0)),
    )


ROWS = (*d1(), *d3(), *d5_d10(), *d6(), *d8_d9(), *d12(), *x4(), *e4(), *e6(), *e8())


@every(ROWS)
def test_printed_number(row):
    """Met to half the last printed digit, or as its mark says; rejected numbers are not met."""
    row.check()


@pytest.mark.parametrize("D", [0.05, 0.3, 0.5, 0.9])
def test_formulas_are_the_closed_waveform(D):
    """Textbook forms, forms with two loops and the closed waveform give the same current (derived)."""
    given = {"V": 220.0, "R": 1.0, "L": 5e-3, "f_s": 500.0, "D": D}
    E = 0.5 * D * 220.0
    point = loop(V=220.0, R=1.0, L=5e-3, f=500.0, D=D, E=E)
    found = chopped(point)
    times = {"t_on": D / 500, "L": 5e-3, "R_on": 1.0, "V_on": 220.0 - E}
    first = closed.FIRST_OF_TWO_LOOPS(**times, R_off=1.0, t_off=(1 - D) / 500, V_off=-E)
    assert found.continuous.all()
    assert closed.LEAST(**given, E=E) == pytest.approx(one(found.first), rel=1e-12)
    assert first == pytest.approx(one(found.first), rel=1e-12)
    assert closed.PEAK_OF_TWO_LOOPS(I_1=first, **times) == pytest.approx(one(found.peak), rel=1e-12)
    assert closed.PEAK(**given, E=E) == pytest.approx(one(found.peak), rel=1e-12)
    assert closed.RIPPLE(**given) == pytest.approx(one(found.ripple), rel=1e-12)
    straight = closed.RIPPLE_STRAIGHT(V=220.0, D=D, f_s=500.0, L=5e-3)
    assert closed.RIPPLE(**given) <= straight <= closed.RIPPLE_GREATEST(V=220.0, f_s=500.0, L=5e-3)
    bus = closed.SWITCH_MEAN(**given, E=E, dI=one(found.ripple))
    assert bus == pytest.approx(one(found.switch_mean), rel=1e-12)
    duty = closed.EDGE_DUTY(E=E, V=220.0, R=1.0, L=5e-3, f_s=500.0)
    assert duty == pytest.approx(one(edge(point).duty), rel=1e-12)


def test_edge_current_is_the_limit_of_short_periods():
    """V·D·(1 − D)/(2·f·L) is the exact mean at the edge as R/(f·L) goes to zero (exact limit)."""
    for f, tolerance in ((1e3, 1e-2), (1e5, 1e-4), (1e7, 1e-6)):
        at = edge(loop(V=300.0, R=2.0, L=20e-3, f=f, D=0.3, E=40.0))
        straight = closed.EDGE_CURRENT(V=300.0, D=0.3, f_s=f, L=20e-3)
        assert one(at.mean) == pytest.approx(straight, rel=tolerance)


def test_diode_and_capacitor_of_a_smooth_current():
    """The smooth forms are the exact ones where the ripple vanishes (exact limit); D and 1 − D make the whole."""
    found = chopped(loop(V=300.0, R=2.0, L=20.0, f=16e3, D=0.3, E=40.0))
    mean = one(found.mean)
    assert smooth.DIODE_MEAN_SMOOTH(D=0.3, I=mean) == pytest.approx(one(found.diode_mean), rel=1e-6)
    alternating = math.sqrt(one(found.switch_rms) ** 2 - one(found.switch_mean) ** 2)
    assert smooth.CAPACITOR_RMS_SMOOTH(D=0.3, I=mean) == pytest.approx(alternating, rel=1e-6)


@pytest.mark.parametrize("current, volts, sign", [(4.05, 51.8, -1), (12.0, 30.0, 1)])
def test_more_field_is_slower_only_above_the_resistance_drop(current, volts, sign):
    """dω/dk of physics.md (derived) against a difference of the speed at constant torque."""
    k, R = 0.254, 2.45
    torque = k * current
    slope = separate_motor.SPEED_AGAINST_FIELD(R_a=R, I_a=current, V_a=volts, V_b=2.0, k=k)

    def speed(k):
        return separate_motor.SPEED(V_a=volts, V_b=2.0, R_a=R, I_a=torque / k, k=k)

    assert slope == pytest.approx((speed(k + 1e-6) - speed(k - 1e-6)) / 2e-6, rel=1e-6)
    assert math.copysign(1, slope) == sign
