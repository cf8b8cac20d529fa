"""The plant against slopes of brute-force marches, closed forms of the d.c. motor, and step responses by solve_ivp.

Sources: tests/reference.py (scipy's solve_ivp on the triac circuit, no code shared), closed forms derived here,
``control.ss`` for the frequency response. The motors are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace

import control
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.circuits.bridge_armature import CIRCUIT as BRIDGE_ARMATURE
from designer.circuits.case import Chopping, Drop, Feed, Fixed, Points
from designer.circuits.chopper_armature import CIRCUIT as CHOPPER_ARMATURE
from designer.circuits.chopper_field import CIRCUIT as CHOPPER_FIELD
from designer.circuits.chopper_series import CIRCUIT as CHOPPER_SERIES
from designer.circuits.thyristor_armature import CIRCUIT as THYRISTOR_ARMATURE
from designer.circuits.triac_series import CIRCUIT as TRIAC
from designer.control.command import STEPS, CommandTable, command_table
from designer.control.plant import Band, Corners, Plant, corners, plants
from designer.motor.field_feed import FieldFeed
from designer.motor.flux import FluxCurve
from designer.motor.model import Load, MotorModel
from tests import reference
from tests.pairs import S1, fixed
from tests.reference import RPM

K, R_A, L_A, R_F, L_F, BUS = 0.25, 2.5, 25e-3, 20.0, 1.2, 300.0
BENT = ((0.0, 0.012), (0.5, 0.11), (1.0, 0.19), (2.0, 0.29), (4.0, 0.36), (8.0, 0.40))     # A, V·s
STRAIGHT = ((1.0, K),)


def direct(curve, *, separate, **changes):
    """A motor without friction on a stiff direct supply with ideal devices."""
    motor = MotorModel(
        curve=FluxCurve.from_points(curve), armature_resistance=R_A, field_resistance=R_F, armature_inductance=L_A,
        field_inductance=L_F, field_leakage=0.1 * L_F, saturating=len(curve) > 2, remanence="keep", brush_drop=0.0,
        winding_temperature=20.0, friction_torque=0.0, viscous_friction=0.0, windage=0.0, inertia=1e-3)
    given = Fixed(motor=motor, load=Load(torque=1.0), feed=Feed(alternating=False),
                  chopping=Chopping(frequency=16e3), field=FieldFeed(held=1.0) if separate else None, tolerance=1e-9)
    return replace(given, **changes)


def one(shared, *, speed, load=1.0, volts=BUS, frequency=0.0, inertia=1e-3):
    """A single corner."""
    points = Points.of(shared, {"voltage": volts, "frequency": frequency, "setting": 0.0, "speed": speed, "load": load})
    return Corners(points=points, labels=("here",), inertia=np.array([inertia]), states=("loaded",))


def linear(circuit, shared, corner, *, sample_time=2e-3):
    """Its one plant, and the table."""
    table = command_table(circuit, shared, corner.points)
    found = plants(circuit, shared, corner, table=table, sample_time=sample_time)
    assert not found.out_of_reach
    return found.plants[0], table


def test_chopped_armature_in_closed_form():
    """Continuous current on a stiff bus: dT/du = k·V/R, dT/dω = −k²/R, lag L/R, duty (k·ω + R·T/k)/V (derived)."""
    shared = direct(STRAIGHT, separate=True)
    plant, _ = linear(CHOPPER_ARMATURE, shared, one(shared, speed=400.0))
    assert plant.torque_by_command == pytest.approx(K * BUS / R_A, rel=1e-5)
    assert plant.torque_by_speed == pytest.approx(-K**2 / R_A, rel=1e-5)
    assert plant.drag_by_speed == pytest.approx(0.0, abs=1e-12)
    assert plant.lag == pytest.approx(L_A / R_A, rel=1e-12)
    assert plant.setting == pytest.approx((K * 400 + R_A / K) / BUS, rel=1e-5)
    assert plant.delay == pytest.approx(2e-3 + 1 / 16e3, rel=1e-12)


def test_devices_and_load_count():
    """Slope of the devices lengthens R by their shares; a load that grows with speed is drag without lag (derived)."""
    shared = direct(STRAIGHT, separate=True, switch=Drop(slope=0.4), freewheel=Drop(slope=0.1),
                    load=Load(torque=0.2, viscous=1e-3, square=1e-6))
    plant, _ = linear(CHOPPER_ARMATURE, shared, one(shared, speed=400.0))
    ohms = R_A + 0.4 * plant.setting + 0.1 * (1 - plant.setting)
    assert plant.lag == pytest.approx(L_A / ohms, rel=1e-9)
    assert plant.drag_by_speed == pytest.approx(-(1e-3 + 2e-6 * 400), rel=1e-6)
    assert plant.torque_by_speed == pytest.approx(plant.drag_by_speed - K**2 / ohms, rel=1e-3)
    assert plant.load_torque == pytest.approx(0.2 + 0.4 + 0.16, rel=1e-12)


def test_no_lag_where_the_current_ends_in_every_period():
    """A small load at a slow chopper: discontinuous, nothing stored from one period to the next (derived)."""
    shared = direct(STRAIGHT, separate=True, chopping=Chopping(frequency=300.0))
    plant, _ = linear(CHOPPER_ARMATURE, shared, one(shared, speed=600.0, load=0.05))
    assert plant.lag == 0.0
    assert 0 < plant.torque_by_command < K * BUS / R_A


def test_series_chopper_against_a_small_step():
    """solve_ivp of (dλ/di)·di/dt = D·V − R·i − k(i)·ω after a step of the duty: torque and its time to 1 − 1/e.

    Switched fast, so that the mean of the bus stands for it.
    """
    shared = direct(BENT, separate=False)
    corner = one(shared, speed=200.0, load=0.6)
    plant, table = linear(CHOPPER_SERIES, shared, corner)
    motor, winding = shared.motor, shared.motor.series_winding()

    def rate(_, y, duty):
        i = np.array([max(float(y[0]), 0.0)])
        k = motor.curve.at(i, "keep")
        return (duty * BUS - (R_A + R_F) * i - k * 200.0) / winding.inductance(i)

    def torque(i):
        return motor.curve.at(i, "keep") * i

    rest = solve_ivp(rate, (0, 5), [1.0], args=(plant.setting,), rtol=1e-10, atol=1e-12, method="LSODA").y[0, -1]
    step = 1e-3
    time = np.linspace(0, 10 * plant.lag, 2001)
    moved = solve_ivp(rate, (0, time[-1]), [rest], args=(plant.setting + step,), t_eval=time, rtol=1e-11, atol=1e-13)
    rise = torque(moved.y[0]) - torque(np.array([rest]))
    slope = np.max(np.abs(table.slopes_at(plant.command)))
    assert rise[-1] / step * slope == pytest.approx(plant.torque_by_command, rel=0.01)
    assert np.interp(1 - math.exp(-1), rise / rise[-1], time) == pytest.approx(plant.lag, rel=0.02)


def test_field_chopper_against_the_whole_motor():
    """Field stepped through L_f/R_f, armature and shaft by solve_ivp: the speed falls first, then rises, as told."""
    shared = direct(BENT, separate=False, load=Load(torque=0.9), field_floor=0.2)
    corner = one(shared, speed=900.0, load=1.0, volts=200.0, inertia=2e-3)
    plant, table = linear(CHOPPER_FIELD, shared, corner)
    motor, winding = shared.motor, CHOPPER_FIELD.solve(shared, corner.points.at(
        setting=np.array([plant.setting]))).cell.winding
    step = 1e-4
    target = float(table.setting_at(plant.command + step))

    def rate(_, y):
        field, armature, speed = y
        k = float(motor.curve.at(field, "keep"))
        tau = float(winding.inductance(np.array([plant.setting]))[0]) / R_F
        return [(target - field) / tau, (200.0 - R_A * armature - k * speed) / L_A, (k * armature - 0.9) / 2e-3]

    start = [plant.setting, 0.9 / float(motor.curve.at(plant.setting, "keep")), 900.0]
    time = np.linspace(0.0, 0.3, 301)
    told = solve_ivp(rate, (0, 0.3), start, t_eval=time, rtol=1e-11, atol=1e-13, max_step=1e-3).y[2] - 900.0
    a, b, _ = plant.matrices()
    system = control.ss(a, b[:, None], np.eye(1, len(a)), 0)
    linear_one = step * control.step_response(system, time).outputs
    assert plant.lead < 0 < plant.command_lag
    assert told.min() < 0 < told[-1]
    assert linear_one == pytest.approx(told, abs=0.02 * np.abs(told).max())


@pytest.mark.parametrize("speed, load", [(1000.0, 0.8), (3000.0, 0.8), (3000.0, 0.1), (6000.0, 0.3)])
def test_triac_against_marches(speed, load):
    """Slopes of torque against angle and speed by central differences of brute-force steady states, to 0.5 %."""
    case = replace(S1, speed=speed * RPM, load=(load, 0.0, 0.0))
    shared = replace(fixed(case, 1e-7), motor=replace(fixed(case).motor, inertia=1e-3))
    corner = one(shared, speed=case.speed, volts=230.0, frequency=50.0)
    straight = CommandTable(setting="firing_angle", commands=np.linspace(0, 1, 2), settings=np.array([3.1, 0.5]))
    plant = plants(TRIAC, shared, corner, table=straight, sample_time=0.01).plants[0]

    def excess(**changes):
        return reference.excess(replace(case, alpha=plant.setting, **changes) if "alpha" not in changes else
                                replace(case, **changes))

    by_angle = (excess(alpha=plant.setting + 2e-3) - excess(alpha=plant.setting - 2e-3)) / 4e-3
    by_speed = (excess(speed=1.002 * case.speed) - excess(speed=0.998 * case.speed)) / (0.004 * case.speed)
    assert excess() == pytest.approx(0.0, abs=1e-5)
    assert plant.torque_by_command == pytest.approx(-2.6 * by_angle, rel=5e-3)
    assert plant.torque_by_speed == pytest.approx(by_speed, rel=5e-3)
    assert plant.lag == 0.0
    assert plant.delay == pytest.approx(0.015, rel=1e-12)


def test_triac_step_of_the_angle_marched_with_the_shaft():
    """After a small step of the firing angle the marched shaft's acceleration is the plant's.

    Brute force half cycle by half cycle with inertia, less the same march without the step.
    """
    case = replace(S1, speed=3000 * RPM, inertia=2.45e-3)
    shared = fixed(case, 1e-7)
    corner = one(shared, speed=case.speed, volts=230.0, frequency=50.0, inertia=2.45e-3)
    straight = CommandTable(setting="firing_angle", commands=np.linspace(0, 1, 2), settings=np.array([3.1, 0.5]))
    plant = plants(TRIAC, shared, corner, table=straight, sample_time=0.01).plants[0]
    step, cycles = 0.004, 10
    early = plant.setting - 0.1      # of each half cycle: no current flows any more, the next is not yet fired

    def speeds(angle):
        speed, after, told, one_case = case.speed, 0.0, [], replace(case, alpha=angle)
        for _ in range(2 * cycles):
            segment, _ = reference.next_segment(one_case, after, speed)
            speed, after = segment.speed_off, segment.off
            end, _ = reference.coast(one_case, after, math.pi * math.floor(after / math.pi) + early, speed)
            told.append(end)
        return np.array(told)

    moved = (speeds(plant.setting - 2.6 * step) - speeds(plant.setting + 2.6 * step)) / 2
    a, b, _ = plant.matrices()
    time = (1 + np.arange(2 * cycles)) / 100
    expected = step * b[0] / a[0, 0] * np.expm1(a[0, 0] * time)
    assert moved == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize("changes", [
    {}, {"lag": 0.0}, {"command_lag": 0.03}, {"command_lag": 0.03, "lag": 0.0}, {"command_lag": 0.03, "lead": -0.004},
    {"command_lag": 0.03, "lag": 0.0, "lead": -0.004}, {"torque_by_speed": 2e-3}])
def test_matrices_and_response_are_one_plant(changes):
    """``control.ss`` of the matrices gives the frequency response but for the dead time."""
    plant = replace(Plant(label="", speed=300.0, command=0.3, setting=1.0, torque_by_command=2.0, torque_by_speed=-1e-2,
                          drag_by_speed=-3e-3, inertia=2e-3, lag=8e-3, delay=0.015), **changes)
    a, b, push = plant.matrices()
    omega = np.geomspace(0.1, 1000.0, 30)
    told = control.ss(a, b[:, None], np.eye(1, len(a)), 0)(1j * omega)
    assert plant.response(omega) == pytest.approx(told * np.exp(-0.015j * omega), rel=1e-9)
    assert push[0] == 1 / plant.inertia
    with pytest.raises(ValueError, match="lag of the command"):
        replace(plant, command_lag=0.0, lead=-1e-3).matrices()


def test_corners_are_every_combination():
    """Loads × supplies × windings × frictions, load lost with the motor's own inertia; no load counted once (rule)."""
    shared = direct(STRAIGHT, separate=True)
    band = Band(voltages=(("low", 270.0), ("nominal", 300.0), ("high", 330.0)), frequency=0.0,
                windings=(("cold", 2.0, 15.0), ("hot", 3.0, 25.0)), frictions=(0.5, 1.5), can_be_lost=True)
    found = corners(shared, band, [(300.0, 1.0), (500.0, 0.0)], inertia=3e-3, own=1e-3)
    assert len(found.labels) == len(found.points) == 12 * 4 + 12 * 2
    assert len(set(found.labels)) == len(found.labels)
    assert found.states.count("lost") == 24
    lost = np.array([state == "lost" for state in found.states])
    assert set(found.inertia[lost]) == {1e-3}
    assert set(found.inertia[~lost]) == {3e-3}
    assert set(found.points.load) == {0.0, 0.5, 1.0}
    assert found.labels[0] == "target 1, no load, low supply, cold, friction 0.5"
    held = corners(shared, replace(band, can_be_lost=False), [(300.0, 1.0)], inertia=3e-3, own=1e-3)
    assert len(held.labels) == 36
    assert held.labels[0] == "no load, low supply, cold, friction 0.5"


def test_a_corner_out_of_reach_is_told():
    """A speed too near to what the bus can give: no plant, but the torque that lacks (derived: k·(V − k·ω)/R − T)."""
    shared = direct(STRAIGHT, separate=True)
    corner = one(shared, speed=1195.0)
    table = CommandTable(setting="duty", commands=np.linspace(0, 1, STEPS + 1), settings=np.linspace(0, 1, STEPS + 1))
    found = plants(CHOPPER_ARMATURE, shared, corner, table=table, sample_time=2e-3)
    assert found.plants == ()
    ((label, lacking),) = found.out_of_reach
    assert label == "here"
    assert lacking == pytest.approx(K * (BUS - K * 1195) / R_A - 1.0, rel=1e-6)


@pytest.mark.parametrize("henries, continuous", [(0.4, True), (2e-3, False)])
def test_bridge_lags_only_while_its_current_never_stops(henries, continuous):
    """Armature on a half-controlled bridge with freewheel diode: lag L/R with a large inductance, none with a small.

    Continuous, the torque answers 1 + cos α: dT/dα = −k·V_m/π·sin α/R (derived).
    """
    base = direct(STRAIGHT, separate=True)
    shared = replace(base, feed=Feed(alternating=True), chopping=None, freewheeling=True, tolerance=1e-7,
                     motor=replace(base.motor, armature_inductance=henries))
    corner = one(shared, speed=400.0, load=1.5, volts=230.0, frequency=50.0)
    straight = CommandTable(setting="firing_angle", commands=np.linspace(0, 1, 2), settings=np.array([3.1, 0.1]))
    plant = plants(BRIDGE_ARMATURE, shared, corner, table=straight, sample_time=0.01).plants[0]
    assert plant.delay == pytest.approx(0.015, rel=1e-12)
    assert plant.lag == pytest.approx(henries / R_A if continuous else 0.0, rel=1e-12)
    if continuous:
        slope = K * math.sqrt(2) * 230 / math.pi * math.sin(plant.setting) / R_A
        assert plant.torque_by_command == pytest.approx(3.0 * slope, rel=1e-3)
        assert plant.torque_by_speed == pytest.approx(-K**2 / R_A, rel=1e-3)


def test_half_wave_fires_once_a_cycle():
    """One thyristor: a whole cycle between two firings, so one and a half cycles of dead time (derived)."""
    base = direct(STRAIGHT, separate=True)
    shared = replace(base, feed=Feed(alternating=True), chopping=None, freewheeling=True, tolerance=1e-7)
    corner = one(shared, speed=200.0, load=0.5, volts=230.0, frequency=50.0)
    straight = CommandTable(setting="firing_angle", commands=np.linspace(0, 1, 2), settings=np.array([3.1, 0.1]))
    plant = plants(THYRISTOR_ARMATURE, shared, corner, table=straight, sample_time=0.02).plants[0]
    assert plant.delay == pytest.approx(0.03, rel=1e-12)
