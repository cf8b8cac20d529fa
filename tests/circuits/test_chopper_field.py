"""Speed set by the field alone: direct current, solve_ivp for the field's ripple, the side of the turning point."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.optimize import brentq

from designer.circuits.balance import find_setting, find_speed
from designer.circuits.case import Chopping, Drop, Feed, Fixed, Points, Reservoir
from designer.circuits.chopper_field import CIRCUIT
from designer.errors import InputErrors
from designer.motor.flux import FluxCurve
from designer.motor.model import Load, MotorModel
from designer.project import loads, require
from designer.results import OperatingPoint, Quantity
from tests.reference import Curve
from tests.reference_chopper import Diode
from tests.reference_series import SeriesDrive, SeriesPeriod, series_period

CURVE = ((0.0, 0.012), (0.2, 0.11), (0.5, 0.22), (1.0, 0.31), (2.0, 0.38))     # A, V·s; invented
GIVEN = ("source_loss", "rectifier_loss", "capacitor_loss", "switch_loss", "freewheel_loss", "copper_loss_armature",
         "copper_loss_field", "brush_loss", "iron_loss", "friction_loss", "shaft_power")
SWITCH, DIODE = Diode(threshold=0.4, slope=0.05), Diode(threshold=0.8, slope=0.015)
R_A, L_A, R_F, L_F, BRUSH = 1.3, 6e-3, 21.0, 1.4, 1.8


@dataclass(frozen=True, kw_only=True)
class Case:
    """Bus (V) behind a resistance (ohm), mean field current (A), speed (rad/s), Hz."""

    bus: float = 60.0
    source: float = 0.0
    field: float = 0.6
    speed: float = 200.0
    frequency: float = 8e3
    saturating: bool = True


CASES = {
    "plain": Case(), "source resistance": Case(source=0.5), "weak field": Case(field=0.15, speed=500.0),
    "strong field": Case(field=1.8, speed=120.0, source=0.3), "at rest": Case(speed=0.0, source=0.1),
    "slow chopper": Case(frequency=60.0), "straight inductance": Case(saturating=False, frequency=100.0, source=0.4),
}


def expected(case: Case) -> tuple[float, float, SeriesPeriod]:
    """Bus, armature current (Ohm's law) and field (solve_ivp), the field's duty found for its mean."""
    k = Curve(CURVE).g(case.field) + CURVE[0][1]

    def armature(bus: float) -> float:
        return (bus - BRUSH - k * case.speed) / R_A

    def field(bus: float) -> SeriesPeriod:
        drive = SeriesDrive(bus=bus, frequency=case.frequency, duty=0.5, speed=0.0, curve=Curve(CURVE), R_a=0.0,
                            R_f=R_F, L_a=0.0, L_f=L_F, brush=0.0, saturating=case.saturating, switch=SWITCH,
                            freewheel=DIODE)
        duty = brentq(lambda d: series_period(replace(drive, duty=d)).mean - case.field, 0.02, 0.99, xtol=1e-11)
        return series_period(replace(drive, duty=float(duty)))

    bus = case.bus
    if case.source:
        bus = float(brentq(lambda v: case.bus - case.source * (armature(v) + field(v).switch_mean) - v,
                           0.75 * case.bus, case.bus, xtol=1e-8))
    return bus, armature(bus), field(bus)


def fixed_of(case: Case, *, load: float = 1.0) -> Fixed:
    """The package's own records of a case."""
    motor = MotorModel(
        curve=FluxCurve.from_points(CURVE), armature_resistance=R_A, field_resistance=R_F, armature_inductance=L_A,
        field_inductance=L_F, field_leakage=0.1 * L_F, saturating=case.saturating, remanence="keep", brush_drop=BRUSH,
        winding_temperature=20.0, friction_torque=0.015, viscous_friction=1e-5, windage=2e-8, inertia=None,
        hysteresis_torque=4e-3, eddy_torque_coefficient=3e-6, flux_reference=0.3)
    return Fixed(
        motor=motor, load=Load(torque=load), feed=Feed(alternating=False, resistance=case.source),
        switch=Drop(threshold=SWITCH.threshold, slope=SWITCH.slope), field_floor=0.1,
        freewheel=Drop(threshold=DIODE.threshold, slope=DIODE.slope), chopping=Chopping(frequency=case.frequency),
        tolerance=1e-8)


def solved(case: Case, fixed: Fixed | None = None, *, hertz: float = 0.0) -> OperatingPoint:
    """What the package tells of it."""
    fixed = fixed or fixed_of(case)
    points = Points.of(fixed, {"voltage": case.bus, "frequency": hertz, "setting": case.field, "speed": case.speed})
    return CIRCUIT.operating_point(CIRCUIT.solve(fixed, points))


def balance(point: OperatingPoint) -> float:
    """What is missing in the balance of powers, as a share of what is taken."""
    given = sum(q.value for name in GIVEN if isinstance(q := point.quantities.get(name), Quantity))
    return abs(given / point["input_power"] - 1)


@pytest.mark.parametrize("name", CASES)
def test_operating_point_is_that_of_brute_force(name: str) -> None:
    """Armature by Ohm's law, field by scipy's solve_ivp, their common bus: to 1e-7; and the powers balance."""
    bus, armature, field = expected(CASES[name])
    point = solved(CASES[name])
    for what, value in {
        "bus_voltage_mean": bus, "armature_current_mean": armature, "armature_current_rms": armature,
        "field_current_mean": field.mean, "field_current_rms": field.rms, "field_current_peak": field.peak,
        "switch_current_mean": field.switch_mean, "switch_current_rms": field.switch_rms,
        "line_current_mean": armature + field.switch_mean,
    }.items():
        assert point[what] == pytest.approx(value, rel=1e-7), what
    assert point["torque_ripple"] == pytest.approx(0.0, abs=1e-12)
    assert balance(point) < 1e-7


def test_on_mains_the_powers_balance() -> None:
    """Bridge, reservoir, armature and the field's chopper together (source: conservation of energy)."""
    case = Case(bus=230.0, field=1.2, speed=880.0)
    fixed = replace(fixed_of(case), feed=Feed(
        resistance=0.4, inductance=0.8e-3, rectifier=Drop(threshold=0.8, slope=0.015),
        reservoir=Reservoir(capacitance=470e-6, series_resistance=0.08)))
    assert balance(solved(case, fixed, hertz=50.0)) < 1e-7


def test_the_setting_found_is_the_stronger_of_two_fields() -> None:
    """Two fields give one torque at one speed; the stronger takes less current (source: the parabola of k)."""
    fixed, speed = fixed_of(Case()), 230.0
    points = Points.of(fixed, {"voltage": 60.0, "speed": speed, "setting": 0.0})
    setting, lacking = find_setting(CIRCUIT, fixed, points)
    assert lacking[0] == 0.0
    found = CIRCUIT.solve(fixed, points.at(setting=setting))
    friction = 0.015 + 1e-5 * speed + 2e-8 * speed**2
    assert found.torque[0] - found.iron_torque[0] == pytest.approx(1.0 + friction, rel=1e-6)
    turn = (60.0 - BRUSH) / (2 * speed)        # k at which the torque is greatest
    assert found.flux[0] > turn


def test_more_field_is_slower_on_the_right_side_and_faster_beyond() -> None:
    """dω/dk turns its sign at k·ω = R_a·i_a; the point beyond says so (source: derived)."""
    fixed = fixed_of(Case(), load=2.5)
    points = Points.of(fixed, {"voltage": 60.0, "speed": 50.0, "setting": np.array((0.1, 0.12, 1.0, 1.2))})
    speed = find_speed(CIRCUIT, fixed, points)
    assert speed[0] < speed[1]
    assert speed[2] > speed[3] > 0
    first = CIRCUIT.operating_point(CIRCUIT.solve(fixed, points.at(speed=speed)))
    assert "field-turned" in [w.code for w in first.warnings]


def test_what_no_field_holds_is_told_with_its_torque() -> None:
    """Too fast for the load: nan and a torque lacking; slower than the strongest field: nan and one in excess."""
    fixed = fixed_of(Case())
    points = Points.of(fixed, {"voltage": 60.0, "setting": 0.0, "speed": np.array((3000.0, 20.0))})
    setting, lacking = find_setting(CIRCUIT, fixed, points)
    assert np.isnan(setting).all()
    assert lacking[0] < 0 < lacking[1]


def test_refused_without_starter_and_floor() -> None:
    """An armature straight on its supply needs a starter, and a floor under its field (physics: chopper)."""
    project = loads('[supply]\nkind = "dc"\nvoltage = "60 V"\n[circuit]\nkind = "chopper-field"\n')
    with pytest.raises(InputErrors) as raised:
        require(project, "design")
    keys = [fault.key for fault in raised.value.faults]
    assert {"circuit.starter", "circuit.field_floor"} <= set(keys)
    assert "needs one" in str(raised.value)


def test_a_lost_field_runs_on_the_remanence() -> None:
    """A field current of 0 beside the setting is a broken field: k is the remanence's (definitions: k(0) = k_r)."""
    fixed = fixed_of(Case())
    points = Points.of(fixed, {"voltage": 60.0, "setting": 0.6, "speed": 300.0, "field_current": np.array((0.6, 0.0))})
    found = CIRCUIT.solve(fixed, points)
    assert found.flux[1] == pytest.approx(CURVE[0][1])
    assert found.current.mean[1] == pytest.approx((60.0 - BRUSH - CURVE[0][1] * 300.0) / R_A, rel=1e-9)
    assert found.flux[0] > 10 * found.flux[1]
