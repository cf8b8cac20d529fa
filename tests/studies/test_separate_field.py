"""A field fed apart: its own temperature and current, and what follows when it is lost."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, fsolve

from designer.circuits import circuit
from designer.circuits.case import Points
from designer.motor.field_feed import FieldFeed
from designer.studies import survey as surveys
from designer.studies.conditions import settled, thermal_of
from designer.studies.rows import FIELD_LOST
from designer.studies.solve import fixed_of
from tests.exact_chopper import exact
from tests.reference import RPM, Curve
from tests.reference_chopper import Diode
from tests.studies import cases

CHOPPER = circuit("chopper-armature")
SPEED = 140 * RPM * 18.0
LOAD = 4.5 / (18.0 * 0.88)
FRICTION = (0.018, 12e-6, 18e-9)
SWITCH, FREEWHEEL = Diode(threshold=0.4, slope=0.02), Diode(threshold=0.5, slope=0.01)
AMBIENT, VOLTS, OWN = 30.0, (31.0, 36.0, 42.0), 0.06
REMANENCE = 0.002     # V·s, of the example's curve
INERTIA = 3.2e-4


def warm(ohms, celsius):
    """Resistance at a temperature from 20 °C (IEC 60028: zero at −234.45 °C)."""
    return ohms * (234.45 + celsius) / (234.45 + 20.0)


def conductance(still, running, speed):
    """W/K of a heat path at a speed, written out from the definitions."""
    return 1 / still + (1 / running - 1 / still) * (min(speed / (8000 * RPM), 1.0)) ** 0.8


@pytest.fixture(scope="module")
def cart():
    """The garden cart of the examples: project, what all points share (devices given), thermal data."""
    project = cases.project("garden-cart", more='''
[parts.switch]
threshold_voltage = "0.4 V"
slope_resistance = "20 mohm"

[parts.freewheel]
threshold_voltage = "0.5 V"
slope_resistance = "10 mohm"
''')
    return project, replace(fixed_of(project), tolerance=1e-7), thermal_of(project)


def at_supply(fixed, *, speed=SPEED, setting=0.0):
    """The three supply voltages."""
    return Points.of(fixed, {"voltage": np.array(VOLTS), "speed": speed, "setting": setting})


def balance(project, supply, field_at, *, speed=SPEED):
    """Both temperatures (°C) and the duty that agree, by scipy's root finders on equations written out here.

    ``field_at``: A at a field resistance (ohm). The chopper's current is the exact one of the textbook forms.
    """
    def field_gains(t_f):
        heat = warm(1.4, t_f) * field_at(warm(1.4, t_f)) ** 2
        return AMBIENT + heat / conductance(2.3, 1.4, speed) - t_f

    t_f = float(brentq(field_gains, 0.0, 300.0))
    k = Curve(project.motor.flux_curve).g(field_at(warm(1.4, t_f))) + REMANENCE
    drag, back = FRICTION[0] + FRICTION[1] * speed + FRICTION[2] * speed**2, 1.8 + k * speed
    mean = (LOAD + drag) / k
    period = 1 / 18e3

    def left(x):
        t_a, duty, bus = 100 * x[0], x[1], supply * x[2]
        point = (bus - back - SWITCH.threshold, -back - FREEWHEEL.threshold, warm(0.42, t_a) + SWITCH.slope,
                 warm(0.42, t_a) + FREEWHEEL.slope, 1.9e-3, period, duty * period)
        _, (_, _, _, taken, on, given, off) = exact(point)
        square = (on + off) / period
        heat = warm(0.42, t_a) * square + 1.8 * mean
        return [(AMBIENT + heat / conductance(1.9, 0.9, speed) - t_a) / 100, (taken + given) / period / mean - 1,
                (supply - OWN * taken / period - bus) / supply]

    t_a, duty, _ = fsolve(left, [0.5, (back + 0.6 * mean) / supply, 0.99], xtol=1e-10)
    return 100 * t_a, t_f, duty


@pytest.mark.parametrize("feed", [
    FieldFeed(voltage=9.0), FieldFeed(voltage=12.0, drop=0.8, series=1.1), FieldFeed(held=4.0)],
    ids=["9 V", "12 V behind a diode and 1.1 ohm", "4 A held"])
def test_settled_temperatures_of_both_windings(cart, feed):
    """Armature, field and duty against a fixed point by scipy (brentq, fsolve): 0.05 K, 1e-4 of duty.

    At low and high supply; the field's is a d.c. supply that stands by itself.
    """
    project, shared, thermal = cart
    shared = replace(shared, field=feed)
    state = settled(CHOPPER, shared, thermal, at_supply(shared), held=False)

    def flowing(ohms):
        return 4.0 if feed.held else (feed.voltage - feed.drop) / (ohms + feed.series)

    for at in (0, 2):
        t_a, t_f, duty = balance(project, VOLTS[at], flowing)
        assert state.warm.armature[at] == pytest.approx(t_a, abs=0.05)
        assert state.warm.field[at] == pytest.approx(t_f, abs=0.05)
        assert state.points.setting[at] == pytest.approx(duty, abs=1e-4)
        assert state.points.field_current[at] == pytest.approx(flowing(warm(1.4, t_f)), rel=2e-4)
        assert state.field_square[at] == pytest.approx(state.points.field_current[at] ** 2, rel=1e-12)


def test_a_field_on_the_armature_s_supply_follows_it(cart):
    """A field supply that rises and falls with the armature's: current and heat by V/V_nom (scipy), to 0.05 K."""
    project, shared, thermal = cart
    shared = replace(shared, field=FieldFeed(voltage=9.0, follows=36.0))
    state = settled(CHOPPER, shared, thermal, at_supply(shared), held=False)
    for at in (0, 2):
        share = VOLTS[at] / 36.0
        _, t_f, duty = balance(project, VOLTS[at], lambda ohms, s=share: 9.0 * s / ohms)
        assert state.warm.field[at] == pytest.approx(t_f, abs=0.05)
        assert state.points.setting[at] == pytest.approx(duty, abs=1e-4)
    assert np.all(np.diff(state.warm.field) > 0)


def test_the_field_current_drifts_with_its_temperature(cart):
    """From cold to hot the current falls as the resistance rises, and the motor needs another duty for its speed.

    i = V/R_f(T) (derived), to 1e-9 at the temperature of the state.
    """
    _, shared, thermal = cart
    shared = replace(shared, field=FieldFeed(voltage=9.0))
    hot = settled(CHOPPER, shared, thermal, at_supply(shared), held=False)
    fixed = replace(thermal, fixed_armature=0.0, fixed_field=0.0)
    cold = settled(CHOPPER, shared, fixed, at_supply(shared), held=False)
    assert cold.points.field_current == pytest.approx(np.full(3, 9.0 / warm(1.4, 0.0)), rel=1e-9)
    assert hot.points.field_current == pytest.approx(9.0 / warm(1.4, hot.taken.field), rel=1e-9)
    assert np.all(hot.points.field_current < 0.9 * cold.points.field_current)
    assert np.isnan(cold.points.setting[0])     # the stronger field asks for more than 31 V
    assert np.all(hot.points.setting[1:] < cold.points.setting[1:] - 0.05)
    held = replace(shared, field=FieldFeed(held=4.0))
    assert settled(CHOPPER, held, thermal, at_supply(held), held=False).points.field_current.tolist() == [4.0] * 3


def test_a_held_setting_finds_its_speed_and_its_field(cart):
    """With the duty held the speed, and both temperatures at that speed, agree with the fixed point (scipy fsolve)."""
    project, shared, thermal = cart
    shared = replace(shared, field=FieldFeed(voltage=9.0))
    state = settled(CHOPPER, shared, thermal, at_supply(shared, setting=0.8), held=True)
    for at in (0, 2):
        speed = float(state.points.speed[at])
        t_a, t_f, duty = balance(project, VOLTS[at], lambda ohms: 9.0 / ohms, speed=speed)
        assert duty == pytest.approx(0.8, abs=2e-4)
        assert (state.warm.armature[at], state.warm.field[at]) == (
            pytest.approx(t_a, abs=0.05), pytest.approx(t_f, abs=0.05))


def lost(setting, remanence, *, shorted, start, limit):
    """Field and load lost at 42 V, armature cold (0 °C), least friction: final speed, and s from start to the limit.

    The armature current stands in balance at each speed: on the bus where shorted, else as the mean of a chopper
    without ripple; time by scipy solve_ivp, speed by brentq.
    """
    drop_on, drop_off = (0.0, 0.0) if shorted else (SWITCH.threshold, FREEWHEEL.threshold)
    slope_on, slope_off = (0.0, 0.01) if shorted else (SWITCH.slope, FREEWHEEL.slope)
    ohms = warm(0.42, 0.0) + setting * (slope_on + setting * OWN) + (1 - setting) * slope_off

    def torque(w):
        driving = setting * (42.0 - drop_on) - (1 - setting) * drop_off - 1.8 - remanence * w
        return remanence * driving / ohms - 0.7 * (FRICTION[0] + FRICTION[1] * w + FRICTION[2] * w * w)

    def there(t, y):
        return y[0] - limit

    there.terminal = True
    run = solve_ivp(lambda t, y: [torque(y[0]) / INERTIA], (0, 60.0), [start], events=there, rtol=1e-9, atol=1e-9)
    ends = float(brentq(torque, 0.0, 2e4)) if torque(0.0) > 0 else 0.0     # it falls with the speed throughout
    return ends, float(run.t_events[0][0]) if run.t_events[0].size else math.inf


@pytest.fixture(scope="module")
def weak(cart):
    """The cart with another remanence and limit: the state held at a duty of 0.6, and its field-lost rows by name."""
    def rows(remanence, limit):
        given = cases.project(
            "garden-cart", ('["0 A", "0.002 V*s"]', f'["0 A", "{remanence} V*s"]'),
            ('maximum_speed = "12000 rpm"', f'maximum_speed = "{limit} rpm"'),
            ('maximum_speed = "260 rpm"', 'maximum_speed = "none"'))
        shared = replace(cart[1], motor=fixed_of(given).motor, field=FieldFeed(held=4.0), tolerance=1e-5)
        held = settled(CHOPPER, shared, cart[2], at_supply(shared, setting=0.6), held=True)
        cold = surveys.cold_corner(given, shared, cart[2], held)
        found = surveys._field_lost(CHOPPER, shared, given, cold, held)
        return held, {case.name: case for case in found}

    return rows


@pytest.mark.parametrize("shorted", [False, True], ids=["at the setting", "switch shorted"])
@pytest.mark.parametrize(("remanence", "limit"), [(0.006, 3500.0), (0.02, 6000.0)])
def test_field_lost_is_the_worst_of_a_remanence_uncertain_by_half(weak, remanence, limit, shorted):
    """Of half, whole and one and a half of the remanence the one counts that is quickest past the limit; where none
    passes, the fastest. Speed is the greatest of the three. By scipy solve_ivp and brentq, to 1 % (no ripple there).
    """
    held, cases_by_name = weak(remanence, limit)
    case = cases_by_name[FIELD_LOST[int(shorted)]]
    start = float(np.nanmax(held.points.speed))
    setting = 1.0 if shorted else float(held.points.setting[2])
    each = [lost(setting, part * remanence, shorted=shorted, start=start, limit=limit * RPM)
            for part in (0.5, 1.0, 1.5)]
    quickest = min(time for _, time in each)
    assert math.isfinite(quickest)
    assert case.run.time == pytest.approx(quickest, rel=0.01)
    assert case.speed == pytest.approx(max(speed for speed, _ in each), rel=0.01)


def test_remanence_that_was_not_read_is_taken_as_a_share_of_the_flux(weak, cart):
    """2 % of the flux at the field's current (from memory: 1 to 3 %) where the curve begins at zero, never none."""
    motor = replace(cart[1].motor, curve=replace(cart[1].motor.curve, remanence=0.0))
    for part in surveys.REMANENCE_SPREAD:
        made = surveys.with_remanence(motor, part, 4.0)
        whole = float(motor.curve.at(4.0))
        assert float(made.curve.at(0.0, made.remanence)) == pytest.approx(part * 0.02 * whole, rel=1e-12)
    read = surveys.with_remanence(cart[1].motor, 1.5, 4.0)
    assert float(read.curve.at(0.0, read.remanence)) == pytest.approx(1.5 * REMANENCE, rel=1e-12)
