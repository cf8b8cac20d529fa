"""The chopped series motor against brute force (scipy's solve_ivp, no code shared), and its balance of powers."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.case import Chopping, Drop, Feed, Fixed, Points, Reservoir
from designer.circuits.chopper_series import CIRCUIT
from designer.motor.flux import FluxCurve
from designer.motor.model import Load, MotorModel
from designer.results import OperatingPoint, Quantity
from tests.reference import Curve
from tests.reference_chopper import Diode
from tests.reference_series import SeriesDrive, SeriesPeriod, series_period

CURVE = ((0.0, 0.012), (0.5, 0.11), (1.0, 0.19), (2.0, 0.29), (4.0, 0.36), (8.0, 0.40))     # A, V·s; invented
STRAIGHT = ((400.0, 1.6),)      # 4 mN·m/A², example 12.16 of Bimbhra, Power Electronics (companion notebook seen)
TAKEN = ("input_power", "field_input_power")
GIVEN = ("source_loss", "rectifier_loss", "capacitor_loss", "switch_loss", "freewheel_loss", "copper_loss_armature",
         "copper_loss_field", "brush_loss", "iron_loss", "friction_loss", "shaft_power")

BASE = SeriesDrive(
    bus=120.0, frequency=18e3, duty=0.45, speed=150.0, curve=Curve(CURVE), R_a=3.1, R_f=1.9, L_a=28e-3, L_f=35e-3,
    switch=Diode(threshold=0.9, slope=0.045), freewheel=Diode(threshold=0.8, slope=0.015))
CASES = {
    "continuous": BASE,
    "slow, deep in saturation": replace(BASE, frequency=900.0, duty=0.6, speed=60.0),
    "discontinuous": replace(BASE, frequency=400.0, duty=0.06, speed=300.0),
    "discontinuous from a fast shaft": replace(BASE, bus=300.0, frequency=1000.0, duty=0.08, speed=1500.0),
    "stalled": replace(BASE, duty=0.1, speed=0.0, frequency=4000.0),
    "fully on, source resistance": replace(BASE, duty=1.0, source_resistance=0.7),
    "source resistance, chopped": replace(BASE, duty=0.5, source_resistance=1.5, frequency=2000.0),
    "past the curve": replace(BASE, bus=200.0, duty=0.7, speed=20.0, frequency=3000.0),
    "remanence dropped": replace(BASE, remanence="drop", frequency=1000.0),
    "inductance that does not saturate": replace(BASE, saturating=False, frequency=1000.0),
}


def fixed_of(drive: SeriesDrive, *, tolerance: float = 1e-8, iron: bool = False) -> Fixed:
    """The package's own records of a drive."""
    assert drive.remanence in ("keep", "drop")
    leakage = 0.1 * drive.L_f if drive.leakage is None else drive.leakage
    motor = MotorModel(
        curve=FluxCurve.from_points(drive.curve.points), armature_resistance=drive.R_a, field_resistance=drive.R_f,
        armature_inductance=drive.L_a, field_inductance=drive.L_f, field_leakage=leakage, saturating=drive.saturating,
        remanence="keep" if drive.remanence == "keep" else "drop", brush_drop=drive.brush, winding_temperature=20.0,
        friction_torque=0.015, viscous_friction=1e-5, windage=2e-8, inertia=None,
        **({"hysteresis_torque": 5e-3, "eddy_torque_coefficient": 5e-6, "flux_reference": 0.29} if iron else {}))
    return Fixed(
        motor=motor, load=Load(torque=0.1), feed=Feed(alternating=False, resistance=drive.source_resistance),
        switch=Drop(threshold=drive.switch.threshold, slope=drive.switch.slope),
        freewheel=Drop(threshold=drive.freewheel.threshold, slope=drive.freewheel.slope),
        chopping=Chopping(frequency=drive.frequency), tolerance=tolerance)


def solved(drive: SeriesDrive, *, iron: bool = False) -> OperatingPoint:
    """What the package tells of it."""
    fixed = fixed_of(drive, iron=iron)
    points = Points.of(fixed, {"voltage": drive.bus, "setting": drive.duty, "speed": drive.speed})
    return CIRCUIT.operating_point(CIRCUIT.solve(fixed, points))


def figures(found: SeriesPeriod) -> dict[str, float]:
    """By the names of the operating point."""
    return {
        "armature_current_mean": found.mean, "armature_current_rms": found.rms, "armature_current_peak": found.peak,
        "armature_current_min": found.first, "field_current_rms": found.rms, "switch_current_mean": found.switch_mean,
        "switch_current_rms": found.switch_rms, "line_current_mean": found.switch_mean,
        "electromagnetic_torque": found.torque}


def balance(point: OperatingPoint) -> float:
    """What is missing in the balance of powers, as a share of what is taken."""
    def total(names: tuple[str, ...]) -> float:
        return sum(q.value for name in names if isinstance(q := point.quantities.get(name), Quantity))

    return abs(total(GIVEN) / total(TAKEN) - 1)


@pytest.mark.parametrize("name", CASES)
def test_operating_point_is_that_of_brute_force(name: str) -> None:
    """Currents, torque and extinction agree with scipy's solve_ivp to 1e-7 of their size (source: solve_ivp)."""
    drive = CASES[name]
    expected, point = series_period(drive), solved(drive)
    for what, value in figures(expected).items():
        assert point[what] == pytest.approx(value, rel=1e-7, abs=1e-9), what
    assert bool(point["continuous"]) is expected.continuous
    if not expected.continuous:
        assert point["extinction_time"] == pytest.approx(expected.extinction, rel=1e-7)


@pytest.mark.parametrize("name", CASES)
def test_powers_balance(name: str) -> None:
    """What is drawn is what is lost and what leaves at the shaft (source: conservation of energy)."""
    assert balance(solved(CASES[name], iron=True)) < 1e-7


def test_on_mains_the_powers_balance_and_the_bus_sags() -> None:
    """Bridge, reservoir and chopper agree; the bus lies below the crest (source: conservation of energy)."""
    fixed = replace(fixed_of(BASE), feed=Feed(
        resistance=0.4, inductance=0.8e-3, rectifier=Drop(threshold=0.8, slope=0.015),
        reservoir=Reservoir(capacitance=470e-6, series_resistance=0.08)))
    points = Points.of(fixed, {"voltage": 230.0, "frequency": 50.0, "setting": 0.3, "speed": 365.0})
    point = CIRCUIT.operating_point(CIRCUIT.solve(fixed, points))
    assert balance(point) < 1e-7
    assert point["bus_voltage_valley"] < point["bus_voltage_mean"] < point["bus_voltage_crest"] < 230 * math.sqrt(2)
    held = series_period(replace(BASE, bus=point["bus_voltage_mean"], duty=0.3, speed=365.0))
    assert point["armature_current_rms"] == pytest.approx(held.rms, rel=1e-7)     # solve_ivp on the same bus


def test_iron_torque_is_the_mean_over_the_period() -> None:
    """T_h·mean((k/k_n)^1.6) + T_e·ω·mean((k/k_n)²), from the waveform itself (source: definition, trapezoids)."""
    point = solved(CASES["discontinuous"], iron=True)
    time, current = point.waveform["time"], point.waveform["field_current"]
    flux = (np.array([BASE.curve.g(float(i)) for i in current]) + 0.012) / 0.29
    period, speed = 1 / 400.0, 300.0
    torque = (5e-3 * np.trapezoid(flux**1.6, time) + 5e-6 * speed * np.trapezoid(flux**2, time)) / period
    assert point["iron_loss"] / speed == pytest.approx(torque, rel=1e-4)


def test_waveform_has_both_ends_and_every_switching() -> None:
    """One period with both ends, 361 points or more, turn-off and end of current among them (contract)."""
    point = solved(CASES["discontinuous"])
    time, current = point.waveform["time"], point.waveform["armature_current"]
    assert len(time) >= 361
    assert (time[0], time[-1]) == (0.0, pytest.approx(1 / 400.0))
    assert np.all(np.diff(time) > 0)
    for at in (0.06 / 400.0, point["extinction_time"]):
        assert np.min(np.abs(time - at)) < 1e-12
    assert current.max() == pytest.approx(point["armature_current_peak"], rel=1e-9)


def test_straight_curve_is_closed_form() -> None:
    """D12: 600 V, duty 0.6, 300 A: 2626.1 rpm, 360 N·m, 108 kW (Bimbhra, Example 12.16; companion notebook seen)."""
    drive = replace(
        BASE, bus=600.0, duty=0.6, speed=2626.06 * math.pi / 30, curve=Curve(STRAIGHT), R_a=0.1, R_f=0.0, L_a=0.3,
        L_f=0.3, saturating=False, brush=0.0, switch=Diode(), freewheel=Diode())
    point = solved(drive)
    assert point["armature_current_mean"] == pytest.approx(300.0, rel=1e-3)
    assert point["electromagnetic_torque"] == pytest.approx(360.0, rel=2e-3)
    assert point["input_power"] == pytest.approx(108e3, rel=1e-3)
    expected = series_period(drive)
    for what, value in figures(expected).items():
        assert point[what] == pytest.approx(value, rel=1e-8), what


def test_curve_of_a_published_traction_motor() -> None:
    """E4: 220 V, duty 0.6, 60 A: 386 rpm; duty 0.65, 400 rpm: 225 N·m (Dubey, Example 5.21; companion notebook
    seen). The book reads the curve by eye; straight lines between its points give 224.6 N·m.
    """
    volts = ((10, 64), (20, 118), (30, 150), (40, 170), (50, 184), (60, 194), (70, 202), (80, 210))   # at 600 rpm
    curve = Curve(tuple((float(i), v / (20 * math.pi)) for i, v in volts))
    drive = replace(BASE, bus=220.0, duty=0.6, speed=386 * math.pi / 30, curve=curve, R_a=0.12, R_f=0.0, L_a=0.05,
                    L_f=0.05, saturating=False, brush=0.0, switch=Diode(), freewheel=Diode())
    assert solved(drive)["armature_current_mean"] == pytest.approx(60.0, rel=2e-3)
    second = solved(replace(drive, duty=0.65, speed=400 * math.pi / 30))
    assert second["electromagnetic_torque"] == pytest.approx(225.0, rel=5e-3)


def test_current_limit_holds_the_peak() -> None:
    """Under a limit the peak is the limit, and the waveform that of the shortened duty (source: solve_ivp)."""
    drive = replace(BASE, speed=0.0)
    fixed = replace(fixed_of(drive), chopping=Chopping(frequency=drive.frequency, shortest=1e-6, current_limit=3.0))
    points = Points.of(fixed, {"voltage": drive.bus, "setting": drive.duty, "speed": 0.0})
    point = CIRCUIT.operating_point(CIRCUIT.solve(fixed, points))
    assert point["armature_current_peak"] == pytest.approx(3.0, rel=1e-7)
    assert [w.code for w in point.warnings] == ["current-limit"]
    expected = series_period(replace(drive, duty=point["duty"]))
    assert point["armature_current_rms"] == pytest.approx(expected.rms, rel=1e-7)


def test_no_current_where_the_bus_does_not_reach() -> None:
    """A bus below the drops drives nothing, and a warning says so."""
    point = solved(replace(BASE, bus=2.5))
    assert point["armature_current_mean"] == 0.0
    assert [w.code for w in point.warnings] == ["no-current"]


def test_points_together_are_the_points_alone() -> None:
    """Batching changes nothing beyond the tolerance (source: the same points one by one)."""
    fixed = fixed_of(BASE)
    points = Points.of(fixed, {"voltage": 120.0, "setting": np.array((0.02, 0.3, 0.6, 1.0)),
                               "speed": np.array((300.0, 150.0, 20.0, 400.0))})
    together = CIRCUIT.solve(fixed, points)
    for n in range(4):
        alone = CIRCUIT.solve(fixed, points[[n]])
        assert together.torque[n] == pytest.approx(alone.torque[0], rel=1e-7)
