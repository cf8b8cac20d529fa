"""Whole operating points of chopper and bridge, from project file to every quantity, against brute force.

Each point is put as a project file to ``designer.solve``, and as a case to ``tests/reference_chopper.py``
(scipy ``solve_ivp``, sharing no code with the package). The names are those of the contract with users.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

import designer
from designer.project import loads
from designer.results import OperatingPoint
from tests.chopper_pairs import FREEWHEEL, MAINS, REAL, S4_MOTOR, SWITCH, Job, s4, solved_rectifier
from tests.reference import RPM
from tests.reference_chopper import (
    Diode,
    Drive,
    Rectified,
    Rectifier,
    Solved,
    chopped,
    find_duty,
    find_speed,
    rectified,
    solved,
)

CLOSE = 1e-7          # share of the reference; its own error is below 1e-9
REAL_DC = Drive(
    motor=REAL, field_current=3.0, speed=4000 * RPM, duty=0.36, switching=16e3, switch=SWITCH, freewheel=FREEWHEEL,
    dc=311.0, dc_resistance=2.0,
)
SLOW = replace(REAL_DC, switching=2e3, motor=replace(REAL, L_a=3e-3), freewheel=Diode(threshold=1.1, slope=0.4))
AMERICAN = Rectifier(
    voltage=120.0, frequency=60.0, load=math.nan, C=1000e-6, esr=0.05, R_s=0.3, L_s=0.0,
    diode=Diode(threshold=0.75, slope=0.02),
)


@cache
def edge(drive: Drive) -> float:
    """The duty at which the current of a drive just touches zero at the end of the period (bisection on solve_ivp)."""
    low, high = 1e-3, 1.0
    for _ in range(32):
        middle = (low + high) / 2
        low, high = (low, middle) if solved(replace(drive, duty=middle)).chopped.continuous else (middle, high)
    return high


#: name -> job; together continuous, discontinuous and at the boundary, all kinds of supply, all three unknowns
JOBS = {
    "reference model, continuous": Job(drive=s4(rpm=1500, field_current=4.0, duty=0.167)),
    "drops of different slopes, source resistance": Job(drive=REAL_DC),
    "discontinuous, slopes of 45 and 400 milliohm": Job(drive=replace(SLOW, duty=0.28)),
    "discontinuous, back voltage close to the bus": Job(drive=replace(SLOW, speed=13000 * RPM, duty=0.9)),
    "full duty": Job(drive=replace(REAL_DC, duty=1.0)),
    "duty found": Job(drive=REAL_DC, unknown="duty", load=0.6),
    "speed found, discontinuous": Job(drive=replace(SLOW, duty=0.3), unknown="speed", load=0.02),
    "remanence kept, little field": Job(drive=replace(REAL_DC, field_current=0.3, duty=0.2)),
    "remanence dropped": Job(
        drive=replace(REAL_DC, motor=replace(REAL, remanence="drop"), field_current=0.3, duty=0.2)),
    "mains, reference impedance": Job(drive=replace(REAL_DC, mains=MAINS, dc=math.nan)),
    "mains, discontinuous": Job(drive=replace(SLOW, mains=MAINS, dc=math.nan, duty=0.25)),
    "mains of 120 V without inductance": Job(drive=replace(REAL_DC, mains=AMERICAN, dc=math.nan, duty=0.8)),
    "mains, speed found": Job(drive=replace(REAL_DC, mains=MAINS, dc=math.nan), unknown="speed", load=0.5),
    "mains, duty found": Job(drive=replace(REAL_DC, mains=MAINS, dc=math.nan), unknown="duty", load=0.5),
}
#: the same drive a millionth of the duty either side of the boundary
EDGES = {"just continuous": 1 + 1e-6, "just discontinuous": 1 - 1e-6}
EVERY_JOB = pytest.mark.parametrize("name", [*JOBS, *EDGES])

#: bridges into a constant load current
BRIDGES = {
    "reference impedance": replace(MAINS, load=1.0),
    "light load": replace(MAINS, load=0.02),
    "heavy load": replace(MAINS, load=8.0),
    "no inductance": replace(AMERICAN, load=2.5),
    "no pause": replace(MAINS, load=5.0, L_s=0.1),
    "two pulses a half cycle": replace(MAINS, load=2.0, C=47e-6),
    "ideal diodes, no series resistance": replace(MAINS, load=1.0, diode=Diode(), esr=0.0),
    "next to no impedance at all": replace(     # 26 mΩ in all: the current settles within 5 µs of turn-on
        AMERICAN, load=0.7, C=180e-6, R_s=0.0, esr=0.0, diode=Diode(threshold=0.0, slope=0.013)),
}
STIFF = "next to no impedance at all"


@dataclass(frozen=True, kw_only=True)
class Pair:
    """The package's answer and the reference's."""

    job: Job
    found: OperatingPoint
    wanted: Solved


@cache
def pair(name: str) -> Pair:
    """Both answers to a job, solved once; the reference finds its own unknown on a d.c. supply."""
    job = Job(drive=replace(SLOW, duty=edge(SLOW) * EDGES[name])) if name in EDGES else JOBS[name]
    found, drive = job.solved(), job.drive
    if job.unknown == "duty":
        duty = find_duty(drive, job.load) if drive.mains is None else found["duty"]
        drive = replace(drive, duty=duty)
    elif job.unknown == "speed":
        speed = find_speed(drive, job.load, low=10.0) if drive.mains is None else found["speed"]
        drive = replace(drive, speed=speed)
    return Pair(job=job, found=found, wanted=solved(drive))


#: of a current without ripple all of these are one number
STEADY = ("mean", "mean_absolute", "rms", "peak", "min")


def currents(name: str, values: dict[str, float]) -> dict[str, float]:
    """The quantities of one current."""
    return {f"{name}_current_{what}": value for what, value in values.items()}


def line_of(bridge: Rectified) -> dict[str, float]:
    """What a bridge draws, by the contract's names."""
    load = bridge.case.load
    return {
        **currents("line", {"mean": 0.0, "mean_absolute": load, "rms": bridge.line_rms, "peak": bridge.peak,
                            "min": -bridge.peak}),
        **currents("rectifier", {"mean": load / 2, "rms": bridge.line_rms / math.sqrt(2), "peak": bridge.peak}),
        "bus_voltage_mean": bridge.bus_mean, "bus_voltage_valley": bridge.bus_valley,
        "bus_voltage_crest": bridge.bus_crest, **bridge.line_quality(),
    }


def expected(wanted: Solved) -> dict[str, float]:
    """Every quantity that the reference knows of a drive."""
    drive, c, bridge = wanted.drive, wanted.chopped, wanted.rectified
    held = dict.fromkeys(STEADY, drive.field_current)
    line = dict.fromkeys(STEADY, c.switch_mean)
    return {
        "duty": drive.duty, "switching_frequency": drive.switching, "continuous": float(c.continuous),
        "speed": drive.speed, "output_speed": drive.speed, "electromagnetic_torque": wanted.torque,
        "shaft_torque": wanted.shaft_torque, "output_torque": wanted.shaft_torque,
        "torque_ripple": wanted.k * (c.peak - c.least),
        **currents("armature", {"mean": c.mean, "mean_absolute": c.mean, "rms": c.rms, "peak": c.peak, "min": c.least,
                                "ripple": c.peak - c.least}),
        **currents("switch", {"mean": c.switch_mean, "rms": c.switch_rms, "peak": c.peak if drive.duty > 0 else 0.0}),
        **currents("freewheel", {"mean": c.freewheel_mean, "rms": c.freewheel_rms,
                                 "peak": c.peak if drive.duty < 1 else 0.0}),
        **currents("field", held), "input_power": wanted.input_power, **wanted.losses(),
        "copper_loss_field": drive.motor.R_f * drive.field_current**2,
        "capacitor_current_rms": c.ripple_of_bus if bridge is None else math.hypot(
            c.ripple_of_bus, bridge.capacitor_rms),     # of two frequencies without a common one
        **(currents("line", line) if bridge is None else line_of(bridge)),
        **({} if c.continuous else {"extinction_time": c.extinction}),
    }




@EVERY_JOB
def test_every_quantity(name):
    """Each quantity the reference knows is there and within 1e-7 of it (scipy solve_ivp)."""
    both = pair(name)
    wanted = expected(both.wanted)
    scale = {"A": both.wanted.chopped.peak, "W": both.wanted.input_power, "N*m": both.wanted.torque}
    wrong = {}
    for key, value in wanted.items():
        quantity = both.found.quantities.get(key)
        if quantity is None:
            wrong[key] = "missing"
        elif quantity.value != pytest.approx(value, rel=CLOSE, abs=1e-9 * scale.get(quantity.unit, 1.0)):
            wrong[key] = f"{quantity.value!r}, expected {value!r}"
    assert wrong == {}


@EVERY_JOB
def test_powers_balance(name):
    """Definitions, "Power": both inputs are all losses and the shaft's power, to 1e-6 of them (derived)."""
    found = pair(name).found
    given = found["input_power"] + found["field_input_power"]
    names = ("source_loss", "field_source_loss", "rectifier_loss", "capacitor_loss", "field_supply_loss", "switch_loss",
             "freewheel_loss", "copper_loss_armature", "copper_loss_field", "brush_loss", "iron_loss", "friction_loss",
             "shaft_power")
    taken = sum(found[key] for key in names if key in found.quantities)
    assert taken == pytest.approx(given, rel=1e-6)
    assert found["efficiency"] == pytest.approx(found["shaft_power"] / given, rel=1e-9)
    assert found["shaft_power"] == pytest.approx(found["shaft_torque"] * found["speed"], rel=1e-9)
    assert "load_power" not in found.quantities
    assert found.quantities.get("switching_loss") is None or found["switching_loss"] == 0


@EVERY_JOB
def test_waveform(name):
    """One switching period with both ends, 361 points or more, each switching among them; currents and voltages
    are the reference's (scipy solve_ivp).
    """
    both = pair(name)
    wave, wanted = both.found.waveform, both.wanted
    c, time = wanted.chopped, np.asarray(wave["time"])
    period = 1 / wanted.drive.switching
    assert len(time) >= 361
    assert time[0] == 0
    assert time[-1] == pytest.approx(period, rel=1e-12)
    assert (np.diff(time) >= 0).all()
    instants = [0.0, wanted.drive.duty * period, period] + ([] if c.continuous else [c.extinction])
    assert [float(abs(time - t).min()) for t in instants] == pytest.approx([0.0] * len(instants), abs=1e-7 * period)
    current = np.asarray(wave["armature_current"])
    assert current == pytest.approx(c.current(np.minimum(time, period)), abs=CLOSE * c.peak)
    assert np.asarray(wave["switch_current"]) + np.asarray(wave["freewheel_current"]) == pytest.approx(
        current, abs=1e-12 * c.peak)
    assert np.asarray(wave["torque"]) == pytest.approx(wanted.k * current, rel=1e-9, abs=1e-12)
    assert np.asarray(wave["field_current"]) == pytest.approx(wanted.drive.field_current, rel=1e-12)
    if "speed" in wave:
        assert np.asarray(wave["speed"]) == pytest.approx(wanted.drive.speed, rel=1e-9, abs=1e-12)


@EVERY_JOB
def test_voltages_of_the_waveform(name):
    """Switch on, freewheel, rest: what stands across switch and armature away from the switchings (derived)."""
    both = pair(name)
    wave, c = both.found.waveform, both.wanted.chopped
    case, time, current = c.case, np.asarray(wave["time"]), c.current(np.asarray(wave["time"]))
    turn_off = case.duty * case.period
    off_end = case.period if c.continuous else c.extinction
    near = np.abs(time[:, None] - np.array([0.0, turn_off, off_end, case.period])).min(axis=1) < 1e-9 * case.period
    on, off, rest = time < turn_off, (time > turn_off) & (time < off_end), time > off_end
    on_drop = case.switch.threshold + case.switch.slope * current
    off_drop = case.freewheel.threshold + case.freewheel.slope * current
    armature = np.select([on, off, rest], [case.bus - on_drop, -off_drop, case.back])
    switch = np.select([on, off, rest], [on_drop, case.bus + off_drop, case.bus - case.back])
    for key, values in (("armature_voltage", armature), ("switch_voltage", switch)):
        assert np.asarray(wave[key])[~near] == pytest.approx(values[~near], abs=1e-6 * case.bus)
    if "bus_voltage" in wave and both.wanted.rectified is None:
        assert np.asarray(wave["bus_voltage"]) == pytest.approx(case.bus, rel=1e-9)


def test_the_edge_lies_where_both_say():
    """A millionth of the duty either side of the boundary the flag and the extinction time tell it (solve_ivp)."""
    over, under = pair("just continuous").found, pair("just discontinuous").found
    assert (over["continuous"], under["continuous"]) == (1, 0)
    assert "extinction_time" not in over.quantities
    assert under["extinction_time"] == pytest.approx(1 / 2e3, rel=1e-5)
    assert [w.code for w in under.warnings].count("discontinuous") == 1
    assert "discontinuous" not in [w.code for w in over.warnings]


def test_unknowns_on_the_mains_meet_the_load():
    """Found duty and speed carry the load in the reference, bus and chopper agreed anew (solve_ivp)."""
    for name in ("mains, duty found", "mains, speed found"):
        assert pair(name).wanted.shaft_torque == pytest.approx(0.5, rel=1e-6)


def test_standstill():
    """A rotor held turns no power; the torque at rest is k times the mean current (solve_ivp)."""
    drive = replace(REAL_DC, speed=0.0, duty=0.02)
    found = Job(drive=drive).solved()
    wanted = solved(drive)
    assert found["armature_current_mean"] == pytest.approx(wanted.chopped.mean, rel=CLOSE)
    assert found["electromagnetic_torque"] == pytest.approx(wanted.torque, rel=CLOSE)
    assert found["shaft_power"] == 0


def test_no_current_where_the_speed_is_too_high():
    """Above the bus by its own voltage the motor draws nothing (derived); friction then brakes it."""
    drive = replace(REAL_DC, speed=20000 * RPM, duty=0.5)
    assert chopped_case(drive).mean == 0.0
    found = Job(drive=drive).solved()
    assert found["armature_current_rms"] == 0
    assert found["input_power"] == 0
    assert not found.reached


def chopped_case(drive: Drive):
    """The chopper of a drive."""
    return solved(drive).chopped


@cache
def bridge_pair(name: str) -> tuple[OperatingPoint, Rectified]:
    """Both answers to a bridge, solved once."""
    return solved_rectifier(BRIDGES[name]), rectified(BRIDGES[name])


@pytest.mark.parametrize("name", BRIDGES)
def test_every_quantity_of_the_bridge(name):
    """Currents of line, one diode and reservoir, bus voltages, powers, line quality: within 1e-7 (solve_ivp)."""
    found, wanted = bridge_pair(name)
    case = wanted.case
    values = line_of(wanted) | wanted.losses() | {
        "input_power": wanted.input_power, "load_power": wanted.bus_mean * case.load,
        "capacitor_current_rms": wanted.capacitor_rms,
    }
    wrong = {}
    for key, value in values.items():
        quantity = found.quantities.get(key)
        if quantity is None:
            wrong[key] = "missing"
        elif quantity.value != pytest.approx(value, rel=CLOSE, abs=1e-9):
            wrong[key] = f"{quantity.value!r}, expected {value!r}"
    assert wrong == {}
    orders = found.quantities["line_harmonics"]
    assert isinstance(orders, tuple)
    assert [q.value for q in orders] == pytest.approx(list(wanted.harmonics()), rel=1e-6, abs=1e-7 * wanted.line_rms)
    given = sum(found[key] for key in ("source_loss", "rectifier_loss", "capacitor_loss", "load_power")
                if key in found.quantities)
    assert given == pytest.approx(found["input_power"], rel=1e-6)


@pytest.mark.parametrize("name", BRIDGES)
def test_waveform_of_the_bridge(name):
    """One period of the mains with both ends, each turn-on and extinction among the points; line current and bus
    voltage are the reference's (solve_ivp).
    """
    found, wanted = bridge_pair(name)
    wave, case = found.waveform, wanted.case
    angle = np.asarray(wave["angle"])
    assert len(angle) >= 361
    assert angle[-1] - angle[0] == pytest.approx(2 * math.pi, rel=1e-12)
    assert (np.diff(angle) >= 0).all()
    turns = np.array([edge for p in wanted.half.pulses for edge in (p.begin, p.end)])
    instants = np.concatenate([turns + n * math.pi for n in range(-2, 4)])
    inside = instants[(instants >= angle[0]) & (instants <= angle[-1])]
    assert len(inside) >= 4 * len(wanted.half.pulses)
    assert [float(abs(angle - a).min()) for a in inside] == pytest.approx([0.0] * len(inside), abs=1e-6)
    assert np.asarray(wave["line_current"]) == pytest.approx(wanted.line_current(angle), abs=1e-6 * wanted.peak)
    assert np.asarray(wave["bus_voltage"]) == pytest.approx(wanted.bus(angle), rel=1e-7)
    assert np.asarray(wave["source_voltage"]) == pytest.approx(
        case.crest * np.sin(angle), abs=1e-9 * case.crest)


def test_an_ideal_motor_without_iron_loss_says_so():
    """The reference model has no iron loss: the term is absent or nothing (definitions, "Power"; derived)."""
    found = pair("reference model, continuous").found
    assert found.quantities.get("iron_loss") is None or found["iron_loss"] == 0
    assert S4_MOTOR.iron[:2] == (0.0, 0.0)
    assert chopped(pair("reference model, continuous").wanted.chopped.case).continuous


def test_through_a_gear_and_with_warm_windings():
    """Definitions, "Torque, load, transmission" and "Temperature": output = ratio · efficiency · shaft torque at the
    speed over the ratio, and R(81 °C) = R(21 °C)·(234.45 + 81)/(234.45 + 21) (IEC 60028), in the reference's point.
    """
    job = Job(drive=REAL_DC, extra={"transmission": {"ratio": 2.0, "efficiency": "90 %"}})
    warm = (234.45 + 81) / (234.45 + 21)
    read = "winding_temperature = '21 °C'"
    text = job.text.replace(read, f"{read}\nrunning_temperature = '81 °C'")
    found = designer.solve(loads(text, verb="solve"))
    motor = replace(REAL, R_a=warm * REAL.R_a, R_f=warm * REAL.R_f)
    wanted = solved(replace(REAL_DC, motor=motor, speed=2 * REAL_DC.speed))
    assert found["speed"] == pytest.approx(2 * REAL_DC.speed, rel=1e-12)
    assert found["armature_current_mean"] == pytest.approx(wanted.chopped.mean, rel=CLOSE)
    assert found["output_torque"] == pytest.approx(2 * 0.9 * wanted.shaft_torque, rel=CLOSE)
    assert found["transmission_loss"] == pytest.approx(0.1 * found["shaft_power"], rel=1e-9)
    assert found["overall_efficiency"] == pytest.approx(0.9 * found["efficiency"], rel=1e-9)
    assert found["copper_loss_field"] == pytest.approx(warm * REAL.R_f * 9.0, rel=1e-9)
