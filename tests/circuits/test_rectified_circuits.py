"""Armature on a thyristor and on half-controlled bridges: balances, devices, faults, warnings, through files too."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

import designer
from designer.circuits.bridge_armature import CIRCUIT as BRIDGE
from designer.circuits.case import Drop, Feed, Fixed, Points
from designer.circuits.rectifier_forms import bridge
from designer.circuits.thyristor_armature import CIRCUIT as THYRISTOR
from designer.errors import InputError
from designer.motor.field_feed import FieldFeed
from designer.motor.flux import FluxCurve
from designer.motor.model import Load, MotorModel
from designer.project import loads
from designer.waveforms.phase_control import Gate

MOTOR = MotorModel(
    curve=FluxCurve.from_points(((0.0, 0.012), (0.5, 0.11), (1.0, 0.19), (2.0, 0.29), (4.0, 0.36))),
    armature_resistance=3.1, field_resistance=1.9, armature_inductance=28e-3, field_inductance=35e-3,
    field_leakage=3.5e-3, saturating=True, remanence="keep", brush_drop=2.0, winding_temperature=20.0,
    friction_torque=0.015, viscous_friction=1e-5, windage=2e-8, inertia=4.5e-4)
FIXED = Fixed(
    motor=MOTOR, load=Load(), feed=Feed(resistance=0.4, inductance=0.8e-3, rectifier=Drop(threshold=0.8, slope=0.015)),
    switch=Drop(threshold=0.9, slope=0.045), freewheel=Drop(threshold=0.7, slope=0.02), field=FieldFeed(held=2.0))
LOSSES = ("source_loss", "rectifier_loss", "field_supply_loss", "switch_loss", "freewheel_loss",
          "copper_loss_armature", "copper_loss_field", "brush_loss", "iron_loss", "friction_loss", "shaft_power")
WAYS = [(THYRISTOR, "common-cathode", True), (THYRISTOR, "common-cathode", False)] + [
    (BRIDGE, name, freewheel) for name in ("common-cathode", "one-leg", "diodes-thyristor")
    for freewheel in (True, False)]


def solved(circuit, fixed=FIXED, **given):
    """One point at 230 V 50 Hz; angle 95 degrees and 150 rad/s unless given."""
    values = {"voltage": 230.0, "frequency": 50.0, "setting": math.radians(95), "speed": 150.0} | given
    return circuit.solve(fixed, Points.of(fixed, values))


def told(circuit, fixed=FIXED, **given):
    """Its operating point."""
    return circuit.operating_point(solved(circuit, fixed, **given))


def smooth(fixed):
    """The same behind an ideal source, with an armature of very much inductance and no drops."""
    motor = replace(MOTOR, armature_inductance=40.0, brush_drop=0.0)
    return replace(fixed, motor=motor, feed=Feed(), switch=Drop(), freewheel=Drop())


@pytest.mark.parametrize(("circuit", "name", "freewheel"), WAYS)
@pytest.mark.parametrize("angle", [10.0, 60.0, 95.0, 150.0])
def test_power_balance(circuit, name, freewheel, angle):
    """What both supplies give is what is lost and what the shaft takes, to 1e-9 (definitions, Power)."""
    fixed = replace(FIXED, bridge=name, freewheeling=freewheel)
    found = told(circuit, fixed, setting=math.radians(angle))
    drawn = found["input_power"] + found["field_input_power"]
    sinks = sum(found[key] for key in LOSSES if key in found.quantities)
    assert drawn == pytest.approx(sinks, rel=1e-9)


@pytest.mark.parametrize(("circuit", "name", "freewheel"), WAYS)
def test_waveforms_have_the_figures_of_the_quantities(circuit, name, freewheel):
    """Mean, r.m.s. and peak of every traced current are those told (definitions, Currents)."""
    fixed = replace(FIXED, bridge=name, freewheeling=freewheel)
    found = told(circuit, fixed, setting=math.radians(60))
    angle = found.waveform["angle"]
    for what in ("armature", "line", "switch", "freewheel"):
        wave = found.waveform.get(f"{what}_current")
        assert (wave is None) == (f"{what}_current_rms" not in found.quantities)
        if wave is None:
            continue
        rms = math.sqrt(np.trapezoid(wave**2, angle) / (2 * math.pi))
        # where two devices of a leg hand over, the leg's square is told, which is the safe side
        most = 1.02 if (name, freewheel, what) == ("common-cathode", False, "switch") else 1.001
        assert rms <= found[f"{what}_current_rms"] * 1.001
        assert rms * most >= found[f"{what}_current_rms"]
        mean = np.trapezoid(wave, angle) / (2 * math.pi)
        assert mean == pytest.approx(found[f"{what}_current_mean"], rel=5e-3, abs=1e-3)
        assert np.abs(wave).max() == pytest.approx(found[f"{what}_current_peak"], rel=1e-3)
    power = np.trapezoid(found.waveform["motor_voltage"] * found.waveform["armature_current"], angle) / (2 * math.pi)
    inside = found["copper_loss_armature"] + found["brush_loss"] + found["electromagnetic_torque"] * 150.0
    assert power == pytest.approx(inside, rel=2e-3)


DEVICES = {
    ("common-cathode", True): {"switch": (1, 0), "rectifier": (1, 0), "freewheel": (0, 2)},
    ("one-leg", True): {"switch": (1, 0), "rectifier": (1, 0), "freewheel": (0, 2)},
    ("one-leg", False): {"switch": (1, 0), "rectifier": (1, 2)},
    ("common-cathode", False): {"switch": (1, 1), "rectifier": (1, 1)},
    ("diodes-thyristor", True): {"switch": (2, 0), "rectifier": (1, 0), "freewheel": (0, 2)},
}


@pytest.mark.parametrize(("form", "expected"), DEVICES.items(), ids=lambda v: str(v))
def test_device_means_with_smooth_current(form, expected):
    """Shares of the period that one device conducts, of π − α and of α over 2π (derived from the diagrams)."""
    alpha = math.radians(70)
    fixed = replace(smooth(FIXED), bridge=form[0], freewheeling=form[1])
    found = told(BRIDGE, fixed, setting=alpha)
    current = found["armature_current_mean"]
    assert found["armature_current_ripple"] < 0.02 * current
    for role in ("switch", "rectifier", "freewheel"):
        assert (f"{role}_current_mean" in found.quantities) == (role in expected)
        if role in expected:
            source, wheel = expected[role]
            share = (source * (math.pi - alpha) + wheel * alpha) / (2 * math.pi)
            assert found[f"{role}_current_mean"] == pytest.approx(share * current, rel=5e-3)
            assert found[f"{role}_current_rms"] == pytest.approx(math.sqrt(share) * current, rel=5e-3)
    assert found["line_current_mean"] == 0
    assert found["displacement_factor"] == pytest.approx(math.cos(alpha / 2), rel=2e-3)
    orders = [q.value for q in found.quantities["line_harmonics"]]
    assert orders[0] == pytest.approx(2 * math.sqrt(2) / math.pi * current * math.cos(alpha / 2), rel=2e-3)
    assert max(orders[1::2]) < 1e-9 * orders[0]


def test_half_wave_draws_direct_current_and_even_orders():
    """One half cycle a period: mean line current, and second order, told with the half-wave warning."""
    found = told(THYRISTOR, replace(FIXED, freewheeling=True))
    assert found["line_current_mean"] == pytest.approx(found["switch_current_mean"])
    assert found["line_current_mean"] > 0
    assert found.quantities["line_harmonics"][1].value > 0.1 * found.quantities["line_harmonics"][0].value
    assert "half-wave" in {w.code for w in found.warnings}
    distortion = math.sqrt(found["line_current_rms"] ** 2 - found["line_current_mean"] ** 2
                           - found.quantities["line_harmonics"][0].value ** 2)
    assert found["line_current_distortion"] == pytest.approx(
        distortion / found.quantities["line_harmonics"][0].value, rel=1e-9)


def test_freewheel_diode_gives_more_and_smoother_torque():
    """At rest the diode lets the current go on where without it the source turns it down (derived)."""
    with_, without = (told(THYRISTOR, replace(FIXED, freewheeling=f), speed=0.0) for f in (True, False))
    assert with_["electromagnetic_torque"] > without["electromagnetic_torque"]
    assert with_["extinction_angle"] < without["extinction_angle"]


@pytest.mark.parametrize(("changed", "code"), [
    ({"setting": 0.2, "speed": 900.0}, "late-firing"),
    ({"setting": 2.9, "speed": 900.0}, "no-firing"),
    ({"setting": 2.0, "speed": 400.0}, "discontinuous"),
    ({"setting": 0.0, "speed": 100.0}, "loss-of-control"),
    ({"field_current": 5.0}, "curve-exceeded"),
])
def test_warnings(changed, code):
    """Each state out of the ordinary is told by its code (contract, JSON)."""
    codes = {w.code for w in told(BRIDGE, replace(FIXED, freewheeling=True), **changed).warnings}
    assert code in codes


def test_bridges_without_their_freewheel_diode():
    """Diodes-thyristor never lets go, common-cathode would not with its gates off, one-leg does not care (contract)."""
    found = {name: told(BRIDGE, replace(FIXED, bridge=name, freewheeling=False), setting=2.2, speed=20.0)
             for name in ("diodes-thyristor", "common-cathode", "one-leg")}
    codes = {name: {w.code for w in point.warnings} for name, point in found.items()}
    assert "loss-of-control" in codes["diodes-thyristor"]
    assert "loss-of-control" in codes["common-cathode"]
    assert "loss-of-control" not in codes["one-leg"]
    kept = solved(BRIDGE, replace(FIXED, bridge="diodes-thyristor", freewheeling=True), setting=2.2, speed=20.0)
    assert found["diodes-thyristor"]["electromagnetic_torque"] > 3 * kept.torque[0]
    half = BRIDGE.half_waving(replace(FIXED, freewheeling=False), kept.points)
    assert half.state.continuous[0]
    assert half.torque[0] > found["common-cathode"]["electromagnetic_torque"]


def test_shorted_thyristor_without_freewheel_puts_the_line_on_the_armature():
    """At rest no mean torque; turning, the line brakes: direct current against the speed voltage. Power balances."""
    short, setting = THYRISTOR.shorted(FIXED)
    rest = solved(THYRISTOR, short, setting=setting, speed=0.0)
    turning = solved(THYRISTOR, short, setting=setting, speed=100.0)
    assert rest.torque[0] == pytest.approx(0.0, abs=1e-6)
    assert turning.torque[0] < 0
    flux = float(MOTOR.curve.at(2.0, "keep"))
    for one, speed in ((rest, 0.0), (turning, 100.0)):
        sinks = (3.5 * one.armature_square + 2.0 * one.armature_absolute + flux * speed * one.mean)[0]
        assert one.input_power[0] == pytest.approx(sinks, rel=1e-6)
    # mean volts: no direct voltage from the line; the brush drop turns with the current
    assert abs(turning.mean[0]) <= flux * 100.0 / 3.5
    seen = THYRISTOR.stresses(turning)
    assert seen["line_current_rms"][0] ** 2 == pytest.approx(float(turning.armature_square[0]))
    assert THYRISTOR.harmonics(turning).shape == (1, 40)


def test_shorted_elsewhere_is_full_output_and_says_what_shorts_the_line():
    """Half-wave with freewheel and half-controlled bridges short the line; four diodes and a thyristor do not."""
    assert THYRISTOR.form(replace(FIXED, freewheeling=True)).line_short == "freewheel"
    assert bridge("common-cathode", freewheel=True).line_short == "switch"
    assert bridge("one-leg", freewheel=False).line_short == "rectifier"
    assert bridge("diodes-thyristor", freewheel=True).line_short == ""
    fixed = replace(FIXED, freewheeling=True, gate=Gate(pulse=0.1))
    short, setting = BRIDGE.shorted(fixed)
    assert short.shorted
    assert solved(BRIDGE, short, setting=setting).torque[0] >= solved(BRIDGE, fixed, setting=0.3).torque[0]


def test_unknown_bridge_is_refused():
    """A bridge that is none of the three names the three."""
    with pytest.raises(InputError, match=r"circuit.bridge: found 'full', allowed common-cathode, one-leg, diodes-thy"):
        bridge("full", freewheel=True)


def test_remanence_is_kept():
    """Without field current the armature turns on the remanence (definitions, Remanence)."""
    fixed = replace(FIXED, freewheeling=True)
    found = solved(BRIDGE, fixed, field_current=0.0, speed=0.0, setting=1.5)
    assert found.torque[0] == pytest.approx(0.012 * float(found.armature_absolute[0]), rel=1e-12)


FILE = """
title = "armature"
[supply]
kind = "mains"
voltage = "230 V"
frequency = "50 Hz"
[motor]
armature_resistance = "3.1 ohm"
armature_inductance = "28 mH"
field_resistance = "1.9 ohm"
field_inductance = "35 mH"
winding_temperature = "20 degC"
brush_drop = "2 V"
flux_curve = [["0 A", "0.012 V*s"], ["0.5 A", "0.11 V*s"], ["1 A", "0.19 V*s"], ["2 A", "0.29 V*s"]]
friction_torque = "15 mN*m"
viscous_friction = "0 N*m*s"
windage = "0 N*m*s**2"
[target]
speed = "2000 rpm"
[load]
torque = "0.8 N*m"
[field_supply]
kind = "dc"
voltage = "8 V"
[parts.rectifier]
threshold_voltage = "0.8 V"
slope_resistance = "15 mohm"
[circuit]
field_current = "2 A"
"""


@pytest.mark.parametrize(("keys", "has"), [
    ('kind = "thyristor-armature"', {"switch"}),
    ('kind = "thyristor-armature"\nfreewheel = true', {"switch", "freewheel"}),
    ('kind = "bridge-armature"', {"switch", "rectifier", "freewheel"}),
    ('kind = "bridge-armature"\nbridge = "one-leg"', {"switch", "rectifier"}),
    ('kind = "bridge-armature"\nbridge = "diodes-thyristor"', {"switch", "rectifier", "freewheel"}),
])
def test_solve_of_a_file(keys, has):
    """The firing angle for a speed and a load, and back: with that angle the same speed (contract, solve)."""
    found = designer.solve(loads(FILE + keys + "\n", verb="solve"))
    assert found.reached
    assert found["shaft_torque"] == pytest.approx(0.8, rel=1e-6)
    for role in ("switch", "rectifier", "freewheel"):
        assert (f"{role}_current_rms" in found.quantities) == (role in has)
    angle = f'firing_angle = "{math.degrees(found["firing_angle"])!r} deg"'
    text = FILE.replace('[target]\nspeed = "2000 rpm"\n', "") + keys + "\n" + angle + "\n"
    back = designer.solve(loads(text, verb="solve"))
    assert back["output_speed"] == pytest.approx(2000 * math.pi / 30, rel=1e-5)
