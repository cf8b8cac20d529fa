"""The march through time on a chopper: steady states against the circuits, motions against solve_ivp.

Sources: the circuits' own periodic solutions, held against independent integrations in their tests; the complete
equations written here and integrated by scipy's ``solve_ivp``; needs.md and physics.md, S4, for the lost field.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from scipy.integrate import solve_ivp

from designer.circuits.case import Chopping, Drop, Feed, Fixed, Points
from designer.circuits.chopper_armature import CIRCUIT as ARMATURE
from designer.circuits.chopper_series import CIRCUIT as SERIES
from designer.circuits.transient import chopper_drive
from designer.motor.field_feed import FieldFeed
from designer.motor.flux import FluxCurve
from designer.motor.model import Load, MotorModel
from designer.waveforms.transient_chopper import ChopperMarch
from designer.waveforms.transient_motor import Drag
from designer.waveforms.transient_rates import FieldFed
from tests.reference import RPM

#: an invented motor whose curve has few readings and much remanence
MOTOR = MotorModel(
    curve=FluxCurve.from_points(((0.0, 0.012), (0.5, 0.11), (1.0, 0.19), (2.0, 0.29), (4.0, 0.36))),
    armature_resistance=3.1, field_resistance=1.9, armature_inductance=28e-3, field_inductance=35e-3,
    field_leakage=3.5e-3, saturating=True, remanence="keep", brush_drop=2.0, winding_temperature=20.0,
    friction_torque=0.015, viscous_friction=1e-5, windage=2e-8, inertia=4.5e-4)
SHARED = Fixed(
    motor=MOTOR, load=Load(), feed=Feed(alternating=False), switch=Drop(threshold=0.9, slope=0.045),
    freewheel=Drop(threshold=0.7, slope=0.02), field=FieldFeed(held=2.0), tolerance=1e-8)
HELD = Drag(inertia=math.inf)
#: needs.md, S4: the hidden truth of the invented lathe motor, sampled up to 8 A
S4 = MotorModel(
    curve=FluxCurve.from_points(tuple((0.1 * n, 0.004 + 0.108 * 0.1 * n / (1 + 0.1 * n / 5.5)) for n in range(81))),
    armature_resistance=2.45, field_resistance=1.95, armature_inductance=25e-3, field_inductance=44e-3,
    field_leakage=4.4e-3, saturating=False, remanence="keep", brush_drop=2.0, winding_temperature=21.0,
    friction_torque=0.025, viscous_friction=1.6e-5, windage=2.2e-8, inertia=6e-4)


@pytest.mark.parametrize(("circuit", "fed"), [(ARMATURE, SHARED.field), (SERIES, None)])
@pytest.mark.parametrize("frequency", [1e3, 16e3])
@pytest.mark.parametrize("limit", [math.inf, 6.0])
@pytest.mark.parametrize(("duty", "speed"), [(0.2, 150), (0.5, 300), (0.05, 100), (0.9, 50)])
def test_steady_state_is_the_circuits(circuit, fed, frequency, limit, duty, speed):
    """Marched until it repeats, means and r.m.s. are the periodic solution's to 0.1 % (circuit.solve).

    Where the limit acts on a long period its pattern need not repeat each period: the peak is the limit then.
    """
    shared = replace(SHARED, field=fed, chopping=Chopping(frequency=frequency, current_limit=limit))
    points = Points.of(shared, {"voltage": 200.0, "setting": duty, "speed": float(speed)})
    found = circuit.solve(shared, points).current
    march = ChopperMarch(chopper_drive(circuit, shared, points), speed=float(speed), field_current=2.0)
    for _ in range(80):
        one = march.span(duty, volts=200.0, time=0.005, drag=HELD)
    assert one.charge / one.time == pytest.approx(float(found.mean[0]), rel=1e-3)
    assert math.sqrt(one.square / one.time) == pytest.approx(float(found.rms[0]), rel=1e-3)
    assert one.drawn / one.time == pytest.approx(float(found.switch_mean[0]), rel=1e-3)
    assert one.peak == pytest.approx(float(found.greatest[0]), rel=1e-3)
    assert one.limited == (found.greatest[0] > limit * (1 - 1e-6))


def lathe(*, fed, volts=52.0):
    """S4 straight on a bus, field as fed, with the march standing at rest."""
    shared = replace(SHARED, motor=S4, switch=Drop(), freewheel=Drop(), field=FieldFeed(held=4.0),
                     chopping=Chopping(frequency=16e3))
    points = Points.of(shared, {"voltage": volts, "setting": 1.0, "speed": 0.0})
    return replace(chopper_drive(ARMATURE, shared, points), fed=fed)


def integrated(*, field, speed, volts, until, torque=0.0):
    """The complete equations of S4 on a bus: time at which ``until`` (rad/s) is passed, by solve_ivp.

    ``field``: (A at the begin, V that drives it less drops, ohm).
    """
    def k(current):
        return 0.004 + 0.108 * current / (1 + current / 5.5)

    def of(t, y):
        i, w, f = y
        drag = 0.025 + 1.6e-5 * w + 2.2e-8 * w * w + torque
        df = (field[1] - field[2] * f) / 44e-3 if f > 0 or field[1] > 0 else 0.0
        di = (volts - 2.0 - 2.45 * i - k(max(f, 0.0)) * w) / 25e-3
        if i <= 0 and di < 0:
            di = 0.0
        return [di, (k(max(f, 0.0)) * i - drag) / 6e-4, df]

    def passed(t, y):
        return y[1] - until

    passed.terminal, passed.direction = True, 1
    start = [(volts - 2.0 - k(field[0]) * speed) / 2.45, speed, field[0]]
    found = solve_ivp(of, (0.0, 60.0), start, method="RK45", rtol=1e-8, atol=1e-9, events=passed, max_step=5e-3)
    return float(found.t_events[0][0])


def marched(drive, *, speed, volts, until, field, torque=0.0):
    """The same by the package."""
    march = ChopperMarch(drive, speed=speed, field_current=field)
    march.linkage = 25e-3 * (volts - 2.0 - (0.004 + 0.108 * field / (1 + field / 5.5)) * speed) / 2.45
    drag = Drag(inertia=6e-4, constant=0.025 + torque, linear=1.6e-5, square=2.2e-8)
    time = 0.0
    while march.speed < until:
        before, at = march.speed, time
        time += march.span(1.0, volts=volts, time=0.002, drag=drag).time
    return at + (time - at) * (until - before) / (march.speed - before)


def test_field_lost_time():
    """S4 idling at 1900 rpm on 52 V, the field's supply gone, its current dying through a diode: the time to 5000 and
    to 11000 rpm to 1 % of solve_ivp.
    """
    for limit in (5000 * RPM, 11000 * RPM):
        drive = lathe(fed=FieldFed(voltage=-0.8, resistance=1.95))
        ours = marched(drive, speed=1900 * RPM, volts=52.0, until=limit, field=4.0)
        theirs = integrated(field=(4.0, -0.8, 1.95), speed=1900 * RPM, volts=52.0, until=limit)
        assert ours == pytest.approx(theirs, rel=0.01)


def test_field_lost_final_speed():
    """needs.md and physics.md, S4: at 52 V on remanence alone, no load, 11193 rpm and 18.5 A in the end."""
    march = ChopperMarch(lathe(fed=FieldFed(voltage=-0.8, resistance=1.95)), speed=1900 * RPM, field_current=4.0)
    drag = Drag(inertia=6e-4, constant=0.025, linear=1.6e-5, square=2.2e-8)
    for _ in range(1200):
        one = march.span(1.0, volts=52.0, time=0.05, drag=drag)
    assert march.speed / RPM == pytest.approx(11193, rel=1e-3)
    assert one.charge / one.time == pytest.approx(18.5, abs=0.05)


def test_start_up_time():
    """S4 from rest on 52 V at full field with 0.5 N·m: 90 % of 1700 rpm as soon as solve_ivp says, to 1 %."""
    drive = lathe(fed=FieldFed(voltage=None))
    march = ChopperMarch(drive, field_current=4.0)
    drag = Drag(inertia=6e-4, constant=0.525, linear=1.6e-5, square=2.2e-8)
    time = 0.0
    while march.speed < 1530 * RPM:
        before, at = march.speed, time
        time += march.span(1.0, volts=52.0, time=0.001, drag=drag).time

    def of(t, y):
        k = 0.004 + 0.108 * 4 / (1 + 4 / 5.5)
        left = k * y[0] - (0.525 + 1.6e-5 * y[1] + 2.2e-8 * y[1] ** 2)
        return [(50.0 - 2.45 * y[0] - k * y[1]) / 25e-3, 0.0 if y[1] <= 0 and left < 0 else left / 6e-4]

    def passed(t, y):
        return y[1] - 1530 * RPM

    passed.terminal = True
    found = solve_ivp(of, (0.0, 10.0), [0.0, 0.0], method="RK45", rtol=1e-9, atol=1e-10, events=passed, max_step=1e-3)
    ours = at + (time - at) * (1530 * RPM - before) / (march.speed - before)
    assert ours == pytest.approx(float(found.t_events[0][0]), rel=0.01)


def test_field_that_sets_the_speed_is_held_by_its_chopper():
    """The setting is the field's current: it rises as the bus drives it through the winding, then stands (derived)."""
    drive = replace(lathe(fed=FieldFed(voltage=0.0, resistance=1.95)), chops_field=True)
    march = ChopperMarch(drive)
    march.span(2.0, volts=52.0, time=1e-3, drag=HELD)
    assert march.field_current == pytest.approx(52 / 1.95 * (1 - math.exp(-1.95e-3 / 44e-3)), rel=1e-3)
    march.span(2.0, volts=52.0, time=0.1, drag=HELD)
    assert march.field_current == 2.0
