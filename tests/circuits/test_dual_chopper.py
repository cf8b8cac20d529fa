"""Two choppers on one bus against brute force (scipy's solve_ivp, no code shared), and the balance of powers."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.optimize import brentq

from designer.circuits.case import Chopping, Drop, Feed, Fixed, Points, Reservoir
from designer.circuits.dual_chopper import CIRCUIT
from designer.motor.field_feed import FieldFeed
from designer.motor.flux import FluxCurve
from designer.motor.model import Load, MotorModel
from designer.results import OperatingPoint, Quantity
from tests.reference import Curve
from tests.reference_chopper import Chopped, Chopper, Diode, chopped
from tests.reference_series import SeriesDrive, SeriesPeriod, series_period

CURVE = ((0.0, 0.012), (0.2, 0.11), (0.5, 0.22), (1.0, 0.31), (2.0, 0.38))     # A, V·s; invented
GIVEN = ("source_loss", "rectifier_loss", "capacitor_loss", "switch_loss", "freewheel_loss", "copper_loss_armature",
         "copper_loss_field", "brush_loss", "iron_loss", "friction_loss", "shaft_power")
SWITCH, DIODE = Diode(threshold=0.4, slope=0.05), Diode(threshold=0.8, slope=0.015)
R_A, L_A, R_F, L_F, BRUSH = 1.3, 6e-3, 21.0, 1.4, 1.8


@dataclass(frozen=True, kw_only=True)
class Case:
    """Bus (V) behind a resistance (ohm), duty, speed (rad/s), mean field current (A), Hz."""

    bus: float = 60.0
    source: float = 0.0
    duty: float = 0.5
    speed: float = 60.0
    field: float = 0.6
    frequency: float = 8e3
    saturating: bool = True


CASES = {
    "continuous": Case(), "source resistance": Case(source=0.8), "discontinuous": Case(duty=0.15, speed=200.0,
                                                                                     frequency=400.0, bus=100.0),
    "stalled": Case(speed=0.0, duty=0.1), "fully on": Case(duty=1.0, source=0.3, speed=150.0),
    "strong field": Case(field=1.5, frequency=1e3, source=0.5, speed=40.0),
    "straight inductance": Case(saturating=False, frequency=200.0, source=0.2),
}


def expected(case: Case) -> tuple[float, Chopped, SeriesPeriod]:
    """Bus, armature and field by brute force, the field's duty found for its mean."""
    k = Curve(CURVE).g(case.field) + CURVE[0][1]

    def armature(bus: float) -> Chopped:
        return chopped(Chopper(bus=bus, frequency=case.frequency, duty=case.duty, back=k * case.speed, R=R_A, L=L_A,
                               brush=BRUSH, switch=SWITCH, freewheel=DIODE))

    def field(bus: float) -> SeriesPeriod:
        drive = SeriesDrive(bus=bus, frequency=case.frequency, duty=0.5, speed=0.0, curve=Curve(CURVE), R_a=0.0,
                            R_f=R_F, L_a=0.0, L_f=L_F, brush=0.0, saturating=case.saturating, switch=SWITCH,
                            freewheel=DIODE)
        duty = brentq(lambda d: series_period(replace(drive, duty=d)).mean - case.field, 0.02, 0.99, xtol=1e-11)
        return series_period(replace(drive, duty=float(duty)))

    bus = case.bus
    if case.source:
        bus = float(brentq(lambda v: case.bus - case.source * (armature(v).switch_mean + field(v).switch_mean) - v,
                           0.8 * case.bus, case.bus, xtol=1e-8))
    return bus, armature(bus), field(bus)


def fixed_of(case: Case) -> Fixed:
    """The package's own records of a case."""
    motor = MotorModel(
        curve=FluxCurve.from_points(CURVE), armature_resistance=R_A, field_resistance=R_F, armature_inductance=L_A,
        field_inductance=L_F, field_leakage=0.1 * L_F, saturating=case.saturating, remanence="keep", brush_drop=BRUSH,
        winding_temperature=20.0, friction_torque=0.015, viscous_friction=1e-5, windage=2e-8, inertia=None,
        hysteresis_torque=4e-3, eddy_torque_coefficient=3e-6, flux_reference=0.3)
    return Fixed(
        motor=motor, load=Load(torque=0.1), feed=Feed(alternating=False, resistance=case.source),
        switch=Drop(threshold=SWITCH.threshold, slope=SWITCH.slope),
        freewheel=Drop(threshold=DIODE.threshold, slope=DIODE.slope), chopping=Chopping(frequency=case.frequency),
        field=FieldFeed(held=case.field), tolerance=1e-8)


def solved(case: Case, fixed: Fixed | None = None, *, hertz: float = 0.0) -> OperatingPoint:
    """What the package tells of it."""
    fixed = fixed or fixed_of(case)
    points = Points.of(fixed, {"voltage": case.bus, "frequency": hertz, "setting": case.duty, "speed": case.speed})
    return CIRCUIT.operating_point(CIRCUIT.solve(fixed, points))


def balance(point: OperatingPoint) -> float:
    """What is missing in the balance of powers, as a share of what is taken."""
    given = sum(q.value for name in GIVEN if isinstance(q := point.quantities.get(name), Quantity))
    return abs(given / point["input_power"] - 1)


@pytest.mark.parametrize("name", CASES)
def test_operating_point_is_that_of_brute_force(name: str) -> None:
    """Both loops and their common bus agree with scipy's solve_ivp to 1e-7, and the powers balance."""
    bus, armature, field = expected(CASES[name])
    point = solved(CASES[name])
    for what, value in {
        "bus_voltage_mean": bus, "armature_current_mean": armature.mean, "armature_current_rms": armature.rms,
        "armature_current_peak": armature.peak, "switch_current_rms": armature.switch_rms,
        "freewheel_current_rms": armature.freewheel_rms, "field_current_mean": field.mean,
        "field_current_rms": field.rms, "field_current_peak": field.peak, "field_current_min": field.first,
        "field_switch_current_mean": field.switch_mean, "field_switch_current_rms": field.switch_rms,
        "line_current_mean": armature.switch_mean + field.switch_mean,
    }.items():
        assert point[what] == pytest.approx(value, rel=1e-7), what
    assert balance(point) < 1e-7


@pytest.mark.parametrize("name", ["continuous", "discontinuous", "straight inductance"])
def test_the_capacitor_bears_both_switchings(name: str) -> None:
    """Its current is both switch currents less their mean, turned on together (source: the waveforms, trapezoids)."""
    point = solved(CASES[name])
    time = point.waveform["time"]
    field_on = time < point["field_duty"] / CASES[name].frequency
    drawn = point.waveform["switch_current"] + np.where(field_on, point.waveform["field_current"], 0.0)
    mean = np.trapezoid(drawn, time) / time[-1]
    square = np.trapezoid((drawn - mean) ** 2, time) / time[-1]
    assert point["capacitor_current_rms"] == pytest.approx(float(np.sqrt(square)), rel=1e-2)


def test_on_mains_the_powers_balance() -> None:
    """Bridge, reservoir and both choppers together (source: conservation of energy)."""
    case = Case(bus=230.0, duty=0.25, speed=200.0)
    fixed = replace(fixed_of(case), feed=Feed(
        resistance=0.4, inductance=0.8e-3, rectifier=Drop(threshold=0.8, slope=0.015),
        reservoir=Reservoir(capacitance=470e-6, series_resistance=0.08)))
    assert balance(solved(case, fixed, hertz=50.0)) < 1e-7


def test_a_field_that_the_bus_cannot_feed_is_fully_on() -> None:
    """More than (V − V_T)/(R_f + r_T) cannot flow: that is what flows (Ohm's law)."""
    point = solved(Case(field=5.0))
    assert point["field_current_mean"] == pytest.approx((60.0 - 0.4) / (R_F + 0.05), rel=1e-9)
    assert point["field_duty"] == 1.0
