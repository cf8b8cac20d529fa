"""Published half-wave rectifiers, converters and semi-converters, by formula and through the rectified-motor solver.

Marks as in the collection of check values: "companion notebook seen" means that the printed output of a textbook's
companion was seen, not the page; "digits from memory" that they were not. A full converter (four thyristors) is not
among the circuits: with discontinuous current its pulses are those of one thyristor, with continuous current the
closed forms of ``equations/rectified.py`` hold.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from designer.equations import motor as motor_formulas
from designer.equations import phase_angle, separate_motor
from designer.equations import rectified as eq
from designer.waveforms.rectified import SOURCE, Command, Rectification, Rectified
from designer.waveforms.rectified_linear import rectified
from designer.waveforms.rectified_pieces import piece
from designer.waveforms.rectified_sums import sums
from tests.published.printed import Row
from tests.reference import RPM

BIMBHRA = "P. S. Bimbhra, Power Electronics (Khanna), Example {} (companion notebook seen)"
DUBEY = "G. K. Dubey, Fundamentals of Electrical Drives, 2nd ed. 2004, Example {} (companion notebook seen)"
RASHID = "M. H. Rashid, Power Electronics, 4th ed., Example {} (companion notebook seen, digits from memory)"
HART = "D. W. Hart, Power Electronics, {} (digits and number from memory)"
SEN = "P. C. Sen, Principles of Electric Machines and Power Electronics, 3rd ed., Example 10.1, p. 518 (companion \
notebook seen)"
DEG = math.pi / 180


def load(*, volts, hertz, R, L, E=0.0, pulses=1, freewheel=False, L_s=0.0) -> tuple[Rectified, np.ndarray]:
    """An R-L-E load behind ideal devices, and its inductance."""
    a = lambda value: np.array([float(value)])  # noqa: E731
    return Rectified(
        peak=a(math.sqrt(2) * volts), omega=a(2 * math.pi * hertz), source_resistance=a(0), source_inductance=a(L_s),
        on_threshold=a(0), on_slope=a(0), freewheel_threshold=a(0), freewheel_slope=a(0), back=a(E), standing=a(E),
        resistance=a(R), speed=a(0), pulses=pulses, freewheel=freewheel), a(L)


def solved(alpha, **given) -> Rectification:
    """Its steady state at a firing angle in rad."""
    circuit, inductance = load(**given)
    return rectified(circuit, inductance, Command(alpha=np.array([float(alpha)])))


def mean(found: Rectification) -> float:
    """Mean current over the period."""
    return float(found.charge[0]) / (2 * math.pi)


def rms(found: Rectification) -> float:
    """R.m.s. current over the period."""
    return math.sqrt(float(found.square[0]) / (2 * math.pi))


def half_wave():
    """A3, A5, A7 and X1: a battery, an R-L load, given extinction angles; X1's printed numbers are refused."""
    a3, a7, x1 = (BIMBHRA.format(n) for n in ("6.3, p. 284", "6.4, p. 285", "6.2, p. 283"))
    a5, crest, omega = HART.format("Example 3-9"), math.sqrt(2) * 230, 2 * math.pi * 50
    end = phase_angle.NATURAL_EXTINCTION(E=150, V_m=crest)
    battery = {"V_m": crest, "theta_1": 35 * DEG, "theta_2": end, "E": 150.0, "R": 8.0}
    current, square = phase_angle.HALF_WAVE_MEAN_CURRENT(**battery), phase_angle.HALF_WAVE_RMS_CURRENT(**battery)
    early = battery | {"theta_1": phase_angle.NATURAL_TURN_ON(E=150, V_m=crest)}
    natural, natural_rms = phase_angle.HALF_WAVE_MEAN_CURRENT(**early), phase_angle.HALF_WAVE_RMS_CURRENT(**early)
    coil = solved(45 * DEG, volts=120, hertz=60, R=20, L=0.04)
    given = {"V_m": crest, "theta_1": 40 * DEG, "theta_2": 210 * DEG}
    back = phase_angle.NATURAL_TURN_ON(E=110, V_m=crest)
    power = 20 * rms(coil) ** 2
    rest = {"theta_2": 210 * DEG, "omega": omega}
    return (
        Row(source=a3, quantity="average current A", printed="4.9208", value=current),
        Row(source=a3, quantity="battery power W", printed="738.12", value=150 * current),
        Row(source=a3, quantity="power in R W", printed="689.54", value=8 * square**2),
        Row(source=a3, quantity="power factor", printed="0.6686",
            value=(150 * current + 8 * square**2) / (230 * square)),
        Row(source=a5, quantity="beta rad", printed="3.79", value=float(coil.extinction[0])),
        Row(source=a5, quantity="beta deg", printed="217", value=float(coil.extinction[0]) / DEG),
        Row(source=a5, quantity="Irms A", printed="3.26", value=rms(coil)),
        Row(source=a5, quantity="P W", printed="213", value=power),
        Row(source=a5, quantity="P W, as drawn", printed="213", value=float(coil.drawn[0]) / (2 * math.pi)),
        Row(source=a5, quantity="power factor", printed="0.54", value=power / (120 * rms(coil))),
        Row(source=a5, quantity="Io A", printed="2.03535", value=mean(coil), verdict="recomputed"),
        Row(source=a7, quantity="(a) turn-off time ms", printed="8.333",
            value=1e3 * phase_angle.TURN_OFF_TIME(theta_1=0.0, **rest)),
        Row(source=a7, quantity="(a) Vo V", printed="84.489", value=phase_angle.HALF_WAVE_LOAD_VOLTAGE(**given, E=0.0)),
        Row(source=a7, quantity="(a) Io A", printed="16.8979",
            value=phase_angle.HALF_WAVE_MEAN_CURRENT(**given, E=0.0, R=5.0)),
        Row(source=a7, quantity="(b) turn-off time ms", printed="9.431",
            value=1e3 * phase_angle.TURN_OFF_TIME(theta_1=back, **rest)),
        Row(source=a7, quantity="(b) Io A", printed="6.5090",
            value=phase_angle.HALF_WAVE_MEAN_CURRENT(**given, E=110.0, R=5.0)),
        Row(source=a7, quantity="(b) Vo V", printed="142.545",
            value=phase_angle.HALF_WAVE_LOAD_VOLTAGE(**given, E=110.0)),
        Row(source=a7, quantity="true extinction deg", printed="187.162", verdict="recomputed",
            value=float(solved(40 * DEG, volts=230, hertz=50, R=5, L=2e-3).extinction[0]) / DEG),
        Row(source=x1, quantity="Io A", printed="3.5679", value=natural, verdict="rejected"),
        Row(source=x1, quantity="charging W", printed="535.18", value=150 * natural, verdict="rejected"),
        Row(source=x1, quantity="power factor", printed="0.583", verdict="rejected",
            value=(150 * natural + 8 * natural_rms**2) / (230 * natural_rms)),
        Row(source=BIMBHRA.format("3.9, p. 71"), quantity="Io A", printed="4.97", value=natural),
        Row(source=BIMBHRA.format("3.9, p. 71"), quantity="Irms A", printed="9.29", value=natural_rms),
        Row(source=x1, quantity="Io A, recomputed", printed="4.96932", value=natural, verdict="recomputed"),
    )


def full_converters():
    """B1, B3, B12, B14: means and smooth line currents."""
    b1, b3, b12 = BIMBHRA.format("12.6, p. 665"), DUBEY.format("5.13, p. 102"), BIMBHRA.format("6.11, p. 309")
    crest = math.sqrt(2) * 230
    k = (220 - 10 * 1.0) / (1500 * RPM)
    volts = eq.FULL_CONVERTER_MEAN(V_m=crest, alpha=30 * DEG)
    speed = separate_motor.SPEED(V_a=volts, V_b=0.0, R_a=1.0, I_a=5 / k, k=k) / RPM
    torque = eq.CONVERTER_TORQUE(k=k, V_mean=eq.FULL_CONVERTER_MEAN(V_m=crest, alpha=45 * DEG), w=1000 * RPM, R_a=1.0)
    k3, mean3 = (200 - 150 * 0.06) / (875 * RPM), 2 * math.sqrt(2) * 220 / math.pi
    at = lambda rpm: math.degrees(math.acos((k3 * rpm * RPM + 9) / mean3))  # noqa: E731
    braking = separate_motor.SPEED(
        V_a=eq.FULL_CONVERTER_MEAN(V_m=math.sqrt(2) * 220, alpha=160 * DEG), V_b=0.0, R_a=0.06, I_a=150, k=k3) / RPM
    level = eq.FULL_CONVERTER_MEAN(V_m=crest, alpha=45 * DEG)
    current = level / 10
    first = eq.FULL_CONVERTER_LINE_FUNDAMENTAL(I_d=current)
    inverting = -0.09 * 1000 + 30 * 0.4
    return (
        Row(source=b1, quantity="(a) rpm", printed="1254.22", value=speed),
        Row(source=b1, quantity="(b) N m", printed="8.586", value=torque),
        Row(source=b3, quantity="alpha at 750 rpm deg", printed="29.3", value=at(750)),
        Row(source=b3, quantity="alpha at -500 rpm deg", printed="120.371", value=at(-500), verdict="recomputed"),
        Row(source=b3, quantity="alpha at -500 rpm, printed to whole degrees", printed="120", value=at(-500)),
        Row(source=b3, quantity="speed at 160 deg", printed="-893.9", value=braking),
        Row(source=b12, quantity="rectification efficiency", printed="0.6366",
            value=level * current / (230 * current)),
        Row(source=b12, quantity="form factor", printed="1.5708",
            value=phase_angle.FORM_FACTOR(V_rms=230, V_mean=level)),
        Row(source=b12, quantity="voltage ripple factor", printed="1.2114",
            value=phase_angle.RIPPLE_FACTOR(form=230 / level)),
        Row(source=b12, quantity="power factor", printed="0.63662",
            value=eq.CONVERTER_POWER_FACTOR(V_mean=level, I_d=current, V=230, I_l=current)),
        Row(source=b12, quantity="harmonic factor", printed="0.48342", verdict="rounding",
            value=eq.HARMONIC_FACTOR(I_l=current, I_l1=first)),
        Row(source=b12, quantity="P W", printed="2143.96", value=level * current),
        Row(source=b12, quantity="Q var", printed="2143.956", value=230 * first * math.sin(45 * DEG)),
        Row(source=SEN, quantity="inverting alpha deg", printed="136.22",
            value=math.degrees(math.acos(inverting / (2 * math.sqrt(2) * 120 / math.pi)))),
        Row(source=SEN, quantity="power returned W", printed="2340.0", value=-inverting * 30),
    )


def continuous_ripple():
    """B8 and B10: the full converter's own ripple; its pulse is one source piece from the current at firing."""
    b8, b10 = RASHID.format("10.2"), HART.format("chapter 4, controlled full-wave rectifier")
    circuit, henries = load(volts=120, hertz=60, R=0.5, L=6.5e-3, E=10)
    values = {"V_m": math.sqrt(2) * 120, "R": 0.5, "X": 2 * math.pi * 60 * 6.5e-3, "E": 10.0}
    first = eq.FULL_CONVERTER_FIRST(alpha=60 * DEG, **values)
    at, one = np.array([0]), np.ones(1)
    begin = one * 60 * DEG, one * first, one * first, one
    pulse = piece(circuit, henries, SOURCE, places=at, begin=begin).ended(one * math.pi)
    total = sums(circuit, [pulse], 1)
    average, effective = float(total["charge"][0]) / math.pi, math.sqrt(float(total["square"][0]) / math.pi)
    wheel, coil = load(volts=120, hertz=60, R=10, L=0.1)
    begun = eq.FULL_CONVERTER_FIRST(alpha=60 * DEG, V_m=math.sqrt(2) * 120, R=10.0, X=2 * math.pi * 60 * 0.1, E=0.0)
    other = piece(wheel, coil, SOURCE, places=at, begin=(one * 60 * DEG, one * begun, one * begun, one))
    seen = sums(wheel, [other.ended(one * math.pi)], 1)
    io, ir = float(seen["charge"][0]) / math.pi, math.sqrt(float(seen["square"][0]) / math.pi)
    assert float(pulse.motor.at(pulse.basis(pulse.length))[0]) == pytest.approx(first, rel=1e-12)
    return (
        Row(source=b8, quantity="load current at firing A", printed="49.34", value=first),
        Row(source=b8, quantity="thyristor average A", printed="44.05", value=average / 2, verdict="rounding"),
        Row(source=b8, quantity="thyristor rms A", printed="63.71", value=effective / math.sqrt(2), verdict="rounding"),
        Row(source=b8, quantity="output rms A", printed="90.1", value=effective),
        Row(source=b8, quantity="output average A", printed="88.1", value=average, verdict="rounding"),
        Row(source=b8, quantity="output average A, exact", printed="88.038", value=average, verdict="recomputed"),
        Row(source=b8, quantity="critical alpha deg", printed="73.23", value=eq.FULL_CONVERTER_EDGE(**values) / DEG),
        Row(source=b10, quantity="Vo V", printed="54.0",
            value=eq.FULL_CONVERTER_MEAN(V_m=math.sqrt(2) * 120, alpha=60 * DEG)),
        Row(source=b10, quantity="Io A", printed="5.40", value=io),
        Row(source=b10, quantity="Irms A", printed="5.54", value=ir),
        Row(source=b10, quantity="P W", printed="307", value=10 * ir**2),
        Row(source=b10, quantity="Irms A, recomputed", printed="5.54161", value=ir, verdict="recomputed"),
    )


def dubey_motor():
    """The motor of B3: k (V·s) and a pulse train of its converter with discontinuous current (torque N·m, end rad)."""
    k = (200 - 150 * 0.06) / (875 * RPM)

    def pulse(alpha, rpm, henries):
        found = solved(alpha * DEG, volts=220, hertz=50, R=0.06, L=henries, E=k * rpm * RPM)
        return 2 * k * mean(found), float(found.extinction[0]) / DEG
    return k, pulse


def discontinuous():
    """B4 and X9: torques that the book took from an extinction angle found by trial are refused."""
    b4, x9 = DUBEY.format("5.14, p. 103"), DUBEY.format("5.15, p. 105")
    k, pulse = dubey_motor()
    first, end = pulse(60, 400, 0.85e-3)
    second, late = pulse(120, -400, 2.85e-3)
    volts = eq.FULL_CONVERTER_MEAN(V_m=math.sqrt(2) * 220, alpha=120 * DEG)
    third = eq.CONVERTER_TORQUE(k=k, V_mean=volts, w=-600 * RPM, R_a=0.06)
    loop = {"V_m": math.sqrt(2) * 220, "R": 0.06, "X": 2 * math.pi * 50 * 2.85e-3, "alpha": 120 * DEG}
    edge = 0.06 * eq.FULL_CONVERTER_FIRST(**loop, E=0.0)      # E at which the current at firing is zero
    at_edge = k * (volts - edge) / 0.06
    heavy = separate_motor.SPEED(V_a=volts, V_b=0.0, R_a=0.06, I_a=1200 / k, k=k) / RPM
    light = brentq(lambda rpm: pulse(120, rpm, 2.85e-3)[0] - 300, -500, 0)
    return (
        Row(source=b4, quantity="(i) beta deg, by trial", printed="230", value=end, verdict="rounding"),
        Row(source=b4, quantity="(i) torque N m", printed="1067", value=first, verdict="DISAGREES"),
        Row(source=b4, quantity="(i) torque, recomputed", printed="1102.91", value=first, verdict="recomputed"),
        Row(source=b4, quantity="(ii) beta deg, by trial", printed="281", value=late),
        Row(source=b4, quantity="(ii) torque N m", printed="336.4", value=second, verdict="DISAGREES"),
        Row(source=b4, quantity="(ii) torque, recomputed", printed="325.554", value=second, verdict="recomputed"),
        Row(source=b4, quantity="(iii) torque N m", printed="1110", value=third),
        Row(source=x9, quantity="boundary torque", printed="396.289", value=at_edge, verdict="recomputed"),
        Row(source=x9, quantity="boundary speed", printed="-505.95", value=edge / k / RPM, verdict="recomputed"),
        Row(source=x9, quantity="speed at 1200 N m", printed="-506", value=heavy, verdict="rejected"),
        Row(source=x9, quantity="speed at 1200 N m, recomputed", printed="-611.931", value=heavy, verdict="recomputed"),
        Row(source=x9, quantity="speed at 300 N m", printed="5.6", value=light, verdict="rejected"),
        Row(source=x9, quantity="speed at 300 N m, recomputed", printed="-355.926", value=light, verdict="recomputed"),
    )


def semi_converters():
    """B5 by its closed forms, B15 through the solver, with the speed at which its current ceases to be continuous."""
    b5, b15 = RASHID.format("14.3"), DUBEY.format("5.16, p. 110")
    crest = math.sqrt(2) * 208
    field = motor_formulas.FIELD_CURRENT(V_fs=eq.HALF_CONTROLLED_MEAN(V_m=crest, alpha=0.0), R_fw=147.0, R_fx=0.0)
    current, e = 45 / (0.7032 * field), motor_formulas.SPEED_VOLTAGE(k=0.7032 * field, omega=1000 * RPM)
    volts = e + 0.25 * current
    alpha = math.acos(volts * math.pi / crest - 1)
    line = eq.HALF_CONTROLLED_LINE_RMS(I_d=current, alpha=alpha)
    k = (220 - 12.8 * 2) / (960 * RPM)

    def bridge(rpm):
        return solved(60 * DEG, volts=230, hertz=50, R=2.0, L=0.15, E=k * rpm * RPM, pulses=2, freewheel=True)

    edge = brentq(lambda rpm: float(bridge(rpm).first[0]) - 1e-9, 600, 742.9)
    return (
        Row(source=b5, quantity="Vf V", printed="187.27", value=eq.HALF_CONTROLLED_MEAN(V_m=crest, alpha=0.0)),
        Row(source=b5, quantity="Ia A", printed="50.23", value=current),
        Row(source=b5, quantity="alpha_a deg", printed="82.2", value=alpha / DEG),
        Row(source=b5, quantity="Isa A", printed="37.03", value=line),
        Row(source=b5, quantity="power factor", printed="0.694",
            value=eq.CONVERTER_POWER_FACTOR(V_mean=volts, I_d=current, V=208, I_l=line)),
        Row(source=b15, quantity="(i) torque N m", printed="32.68", value=k * mean(bridge(600))),
        Row(source=b15, quantity="(ii) speed rpm", printed="664.8",
            value=brentq(lambda rpm: k * mean(bridge(rpm)) - 20, 600, 740)),
        Row(source=b15, quantity="boundary rpm", printed="742.469", value=edge, verdict="recomputed"),
    )


def overlap():
    """R1: the printed numbers are a mid-point rectifier's; a bridge loses twice as much."""
    source = BIMBHRA.format("6.33, p. 363")
    values = {"V_m": math.sqrt(2) * 230, "alpha": 30 * DEG, "omega": 2 * math.pi * 50, "L_s": 1.5e-3, "I_d": 17.933}
    return (
        Row(source=source, quantity="mid-point mean V", printed="176.640",
            value=eq.MID_POINT_MEAN_WITH_OVERLAP(**values)),
        Row(source=source, quantity="mid-point overlap deg", printed="2.855",
            value=eq.OVERLAP_AT_TURN_ON(**values) / DEG),
        Row(source=source, quantity="bridge mean V", printed="173.95", verdict="recomputed",
            value=eq.FULL_CONVERTER_MEAN_WITH_OVERLAP(**values)),
        Row(source=source, quantity="bridge overlap deg", printed="5.50509", verdict="recomputed",
            value=eq.FULL_CONVERTER_OVERLAP(**values) / DEG),
    )


GROUPS = (half_wave, full_converters, continuous_ripple, discontinuous, semi_converters, overlap)


@pytest.mark.parametrize("rows", GROUPS, ids=lambda f: f.__name__)
def test_printed_numbers(rows):
    """Every printed number of each group, as its source and mark say."""
    for row in rows():
        row.check()
