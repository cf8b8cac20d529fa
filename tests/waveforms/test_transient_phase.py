"""The march through time on phase angle: steady states against the circuits, starts and run-ups against solve_ivp.

Sources: the circuits' own periodic solutions, held against independent integrations in their tests; tests/reference.py
(scipy solve_ivp, DOP853) for the motions; physics.md, check vectors, for the published run-up.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.bridge_armature import CIRCUIT as BRIDGE_ARMATURE
from designer.circuits.bridge_series import CIRCUIT as BRIDGE_SERIES
from designer.circuits.case import Drop, Feed, Fixed, Points
from designer.circuits.thyristor_armature import CIRCUIT as THYRISTOR_ARMATURE
from designer.circuits.thyristor_series import CIRCUIT as THYRISTOR_SERIES
from designer.circuits.transient import phase_drive
from designer.circuits.triac_series import CIRCUIT as TRIAC
from designer.motor.field_feed import FieldFeed
from designer.motor.flux import FluxCurve
from designer.motor.model import Load, MotorModel
from designer.waveforms.transient_motor import Drag
from designer.waveforms.transient_phase import Mains, PhaseMarch
from tests import pairs, reference
from tests.reference import DEGREE, RPM

#: an invented motor whose curve has few readings and much remanence
MOTOR = MotorModel(
    curve=FluxCurve.from_points(((0.0, 0.012), (0.5, 0.11), (1.0, 0.19), (2.0, 0.29), (4.0, 0.36))),
    armature_resistance=3.1, field_resistance=1.9, armature_inductance=28e-3, field_inductance=35e-3,
    field_leakage=3.5e-3, saturating=True, remanence="keep", brush_drop=2.0, winding_temperature=20.0,
    friction_torque=0.015, viscous_friction=1e-5, windage=2e-8, inertia=4.5e-4)
FED = Fixed(
    motor=MOTOR, load=Load(), feed=Feed(resistance=0.4, inductance=0.8e-3, rectifier=Drop(threshold=0.8, slope=0.015)),
    switch=Drop(threshold=0.9, slope=0.045), freewheel=Drop(threshold=0.7, slope=0.02), field=FieldFeed(held=2.0),
    tolerance=1e-7)
SERIES = replace(FED, field=None)
FORMS = ("common-cathode", "one-leg", "diodes-thyristor")
WAYS = [(circuit, shared, name, freewheel) for circuit, shared, names in (
    (TRIAC, SERIES, FORMS[:1]), (THYRISTOR_SERIES, SERIES, FORMS[:1]), (THYRISTOR_ARMATURE, FED, FORMS[:1]),
    (BRIDGE_SERIES, SERIES, FORMS), (BRIDGE_ARMATURE, FED, FORMS)) for name in names for freewheel in (True, False)]
MAINS = Mains(peak=230 * math.sqrt(2), omega=100 * math.pi)
HELD = Drag(inertia=math.inf)


def settled(circuit, shared, *, angle, speed):
    """The last two half cycles of a march at a speed held, and the circuit's own periodic solution."""
    points = Points.of(shared, {"voltage": 230.0, "frequency": 50.0, "setting": angle, "speed": speed})
    march = PhaseMarch(phase_drive(circuit, shared, points), speed=speed, field_current=2.0)
    halves = [march.half_cycle(angle, MAINS, HELD) for _ in range(300)]
    return halves[-2:], circuit.solve(shared, points)


@pytest.mark.parametrize(("circuit", "shared", "name", "freewheel"), WAYS)
@pytest.mark.parametrize("inductance", [0.0, 0.8e-3])
@pytest.mark.parametrize(("degrees", "speed"), [(10, 150), (60, 50), (95, 150), (150, 20), (120, 300)])
def test_steady_state_is_the_circuits(circuit, shared, name, freewheel, inductance, degrees, speed):
    """Marched until it repeats, r.m.s. currents and peak are the periodic solution's to 0.1 % (circuit.solve)."""
    shared = replace(shared, bridge=name, freewheeling=freewheel, feed=replace(shared.feed, inductance=inductance))
    halves, found = settled(circuit, shared, angle=degrees * DEGREE, speed=float(speed))
    armature, line = (math.sqrt(sum(getattr(half, what) for half in halves) / 0.02)
                      for what in ("square", "line_square"))
    assert armature == pytest.approx(float(np.sqrt(found.armature_square[0])), rel=1e-3)
    assert line == pytest.approx(float(np.sqrt(found.line_square[0])), rel=1e-3)
    stresses = circuit.stresses(found)
    peak = float(stresses.get("armature_current_peak", stresses["line_current_peak"])[0])
    assert max(half.peak for half in halves) == pytest.approx(peak, rel=1e-3)


def test_control_lost_is_told():
    """At rest S1 loses control below 78° (physics.md, check vectors), and tells it half cycle by half cycle."""
    for degrees, lost in ((77.5, True), (79.0, False)):
        shared = pairs.fixed(replace(pairs.S1, alpha=0.0))
        halves, _ = settled(TRIAC, shared, angle=degrees * DEGREE, speed=0.0)
        assert [half.lost for half in halves] == [lost, lost]


def test_short_pulse_goes_half_wave_where_control_is_lost():
    """A pulse that ends before the other half's current does misses it: direct current flows (definitions, Triac)."""
    shared = replace(SERIES, feed=Feed(), gate=replace(SERIES.gate, pulse=0.05))
    halves, found = settled(TRIAC, shared, angle=50 * DEGREE, speed=0.0)
    assert bool(found.state.missed_negative[0])
    assert sorted(half.fired for half in halves) == [False, True]
    assert math.sqrt(sum(half.square for half in halves) / 0.02) == pytest.approx(float(found.rms[0]), rel=1e-3)


def run(case, *, until, speed=0.0):
    """Times (s) and speeds at every half cycle of the package's march of a reference case."""
    shared = pairs.fixed(case)
    points = pairs.points(shared, [case])
    march = PhaseMarch(phase_drive(TRIAC, shared, points), speed=speed)
    mains = Mains(peak=case.voltage * math.sqrt(2), omega=2 * math.pi * case.frequency)
    drag = Drag.of(shared.motor, shared.load, inertia=case.inertia)
    times, speeds = [0.0], [speed]
    while speeds[-1] < until and len(times) < 2000:
        half = march.half_cycle(case.alpha, mains, drag)
        times.append(times[-1] + half.time)
        speeds.append(half.speed)
    return np.array(times), np.array(speeds)


def test_runaway_time():
    """physics.md, check vectors: S1 at full conduction, 253 V, no load: 3000 to 12000 rpm in 0.36 s; and to 1 % by
    tests/reference.py, which marches the same equations with solve_ivp.
    """
    case = replace(pairs.S1, alpha=0.0, voltage=253.0, load=(0.0, 0.0, 0.0), inertia=4.5e-4)
    times, speeds = run(case, until=12100 * RPM, speed=2800 * RPM)
    crossed = np.interp(np.array([3000, 12000]) * RPM, speeds, times)
    assert float(np.diff(crossed)[0]) == pytest.approx(0.36, abs=0.01)
    expected = reference.run(replace(case, speed=2800 * RPM), lambda t, w: w > 12100 * RPM)
    other = np.interp(np.array([3000, 12000]) * RPM, expected.speed, expected.time)
    assert float(np.diff(crossed)[0]) == pytest.approx(float(np.diff(other)[0]), rel=0.01)


def test_start_from_rest_at_a_fixed_angle():
    """S1 at 95° with its load: the time to 90 % of 3000 rpm to 1 % of solve_ivp, saturating inductance too."""
    for case in (pairs.S1, replace(pairs.S1, saturating=True, R_s=0.4, L_s=0.8e-3)):
        case = replace(case, alpha=95 * DEGREE, inertia=9e-3, load=(0.4, 0.0, 0.0))
        times, speeds = run(case, until=3000 * RPM)
        expected = reference.run(replace(case, speed=0.0), lambda t, w: w > 3000 * RPM)
        theirs = float(np.interp(2700 * RPM, expected.speed, expected.time))
        assert float(np.interp(2700 * RPM, speeds, times)) == pytest.approx(theirs, rel=0.01)


def test_what_opposes_only_holds_at_rest():
    """Torque below friction and load leaves the shaft where it is (definitions, Friction)."""
    drag = Drag(inertia=1e-3, constant=0.5, linear=0.0, square=0.0)
    assert drag.acceleration(0.3, 0.0) == 0.0
    assert drag.acceleration(0.7, 0.0) == pytest.approx(200.0)
    assert drag.acceleration(0.3, 1.0) == pytest.approx(-200.0)
