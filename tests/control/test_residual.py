"""Speed held by the motor's own voltage, against a brute-force march of every cycle by scipy's general integrator.

Source of the numbers: independent integration in this file (scipy.integrate.solve_ivp with events; curve by scipy's
PchipInterpolator over the mirrored points), and exact limits. The motor is invented.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicHermiteSpline, PchipInterpolator

from designer.control.residual import held, share_for
from designer.control.residual_march import Lanes, fires
from designer.equations import residual as eq
from designer.motor.flux import FluxCurve, Winding
from designer.motor.model import Load, MotorModel

POINTS = ((0.0, 0.009), (0.1, 0.055), (0.2, 0.10), (0.3, 0.138), (0.5, 0.195), (0.8, 0.245), (1.2, 0.28), (2.0, 0.315))
INERTIA, CREST, HERTZ, OHMS, DROP, OFFSET = 1.25e-4, 325.27, 50.0, 58.0, 2.85, 0.9
TORQUE = 0.06
FRICTION = (0.008, 6e-6, 6e-9)


def machine() -> MotorModel:
    """An invented series motor for 230 V."""
    return MotorModel(
        curve=FluxCurve.from_points(POINTS), armature_resistance=34.0, field_resistance=22.0, armature_inductance=0.12,
        field_inductance=0.28, field_leakage=0.028, saturating=True, remanence="keep", brush_drop=2.0,
        winding_temperature=20.0, friction_torque=FRICTION[0], viscous_friction=FRICTION[1], windage=FRICTION[2],
        inertia=2.5e-5)


def lanes(*, series: bool = True, **rows) -> Lanes:
    """The machine behind its thyristor on 230 V; a separate field of 0.2 V·s where it is not in series."""
    motor = machine()
    winding = motor.series_winding() if series else Winding(curve=motor.curve, constant=0.12, main=0.0)
    base = {"frequency": HERTZ, "crest": CREST, "resistance": OHMS, "opposing": DROP,
            "standing": POINTS[0][1] if series else 0.2, "offset": OFFSET}
    return Lanes.of(
        base | rows, motor=motor, winding=winding, load=Load(torque=TORQUE), inertia=INERTIA, series=series)


class _Reference:
    """The same machine written anew: state current, speed, angle of the shaft."""

    def __init__(self, *, share: float, torque: float, series: bool = True):
        self.share, self.torque, self.series = share, torque, series
        x = np.array([i for i, _ in POINTS])
        y = np.array([k for _, k in POINTS]) - POINTS[0][1]
        inner = PchipInterpolator(np.concatenate((-x[:0:-1], x)), np.concatenate((-y[:0:-1], y)))
        slopes = inner(x, 1)
        chords = np.diff(y) / np.diff(x)
        slopes[-1] = chords[-1] * min(1.0, chords[-1] / chords[-2])
        self.curve = CubicHermiteSpline(x, y, slopes)
        self.slope = self.curve.derivative()

    def flux(self, current: float) -> float:
        return float(self.curve(max(current, 0.0))) + POINTS[0][1] if self.series else 0.2

    def inductance(self, current: float) -> float:
        if not self.series:
            return 0.12
        share = min(1.0, float(self.slope(max(current, 0.0)) / self.slope(0.0)))
        return 0.12 + 0.028 + 0.252 * share

    def drag(self, speed: float) -> float:
        a, b, c = FRICTION
        return (a + b * speed + c * speed**2 + self.torque) if speed > 0 else 0.0

    def flowing(self, t: float, state: np.ndarray) -> list[float]:
        current, speed, _ = state
        flux = self.flux(current)
        volts = CREST * math.sin(2 * math.pi * HERTZ * t) - OHMS * current - DROP - flux * speed
        return [volts / self.inductance(current), (flux * current - self.drag(speed)) / INERTIA, speed]

    def resting(self, t: float, state: np.ndarray) -> list[float]:
        return [0.0, -self.drag(state[1]) / INERTIA, state[1]]

    def waits(self, t: float, state: np.ndarray) -> float:
        line = CREST * math.sin(2 * math.pi * HERTZ * t)
        own = (POINTS[0][1] if self.series else 0.2) * state[1]
        return min(self.share * line - own - OFFSET, line - own - DROP)

    def mean_speed(self, start: float, *, cycles: int, settle: int) -> tuple[float, float]:
        """Mean speed and share of fired cycles, from a firing after ``settle`` cycles to the last firing."""
        self.waits.__func__.terminal, self.waits.__func__.direction = True, 1
        ended = lambda t, state: state[0]  # noqa: E731
        ended.terminal, ended.direction = True, -1
        state, period, marks = np.array([0.0, start, 0.0]), 1 / HERTZ, []
        for number in range(cycles):
            begin, t = np.array(state), 0.0
            wait = solve_ivp(self.resting, (0.0, period / 2), state, events=self.waits, max_step=2e-4, rtol=1e-8)
            t, state = wait.t[-1], wait.y[:, -1]
            if wait.status == 1:
                marks.append((number, begin[2]))
                pulse = solve_ivp(self.flowing, (t, period), state + np.array([1e-9, 0.0, 0.0]), events=ended,
                                  max_step=2e-4, rtol=1e-7, atol=1e-9)
                t, state = pulse.t[-1], np.array([0.0, *pulse.y[1:, -1]])
            if t < period:
                state = solve_ivp(self.resting, (t, period), state, rtol=1e-8).y[:, -1]
        kept = [mark for mark in marks if mark[0] >= settle]
        (first, way), (last, end) = kept[0], kept[-1]
        return (end - way) / ((last - first) * period), (len(kept) - 1) / (last - first)


@pytest.mark.parametrize("share", [0.0125, 0.0165])
@pytest.mark.parametrize("part", [0.0, 0.5, 1.0])
def test_steady_speed_agrees_with_a_march_of_every_cycle(share: float, part: float):
    """No load, half and full load, two settings of the divider: within 1 % of the brute-force mean."""
    found = held(lanes(share=share, torque=part))
    mean, fired = _Reference(share=share, torque=part * TORQUE).mean_speed(float(found.mean[0]), cycles=90, settle=30)
    assert float(found.mean[0]) == pytest.approx(mean, rel=0.01)
    assert float(found.fired[0]) == pytest.approx(fired, abs=0.05)


def test_a_separate_field_is_held_too():
    """With a field of its own the same march holds within 1 %, its voltage many times stronger."""
    found = held(lanes(series=False, share=0.22, torque=1.0, standing=0.2))
    mean, fired = _Reference(share=0.22, torque=TORQUE, series=False).mean_speed(
        float(found.mean[0]), cycles=90, settle=30)
    assert float(found.mean[0]) == pytest.approx(mean, rel=0.01)
    assert float(found.fired[0]) == pytest.approx(fired, abs=0.05)


def test_no_firing_later_than_the_crest():
    """The plain divider fires between 0 and 90°: at light load it skips cycles, and the speed stays at w_0."""
    found = held(lanes(share=0.0125, torque=np.array([0.0, 0.3, 2.0])))
    free = float(eq.HIGHEST_SPEED(rho=0.0125, V_m=CREST, V_off=OFFSET, k_0=POINTS[0][1]))
    assert np.all(found.latest <= math.radians(90.5))
    assert found.fired[0] < 1
    assert not found.steady[0]
    assert found.lowest[0] <= free <= found.highest[0]
    assert found.fired[2] == 1
    assert found.steady[2]


def test_the_angle_is_that_of_the_closed_form():
    """At a steady cycle the firing angle is that of the speed at the moment of firing, which is the cycle's lowest."""
    found = held(lanes(share=0.02, torque=2.0))
    angle = eq.FIRING_ANGLE(k_0=POINTS[0][1], w=float(found.lowest[0]), V_off=OFFSET, rho=0.02, V_m=CREST)
    assert float(found.angle[0]) == pytest.approx(float(angle), abs=math.radians(0.2))


def test_a_share_is_found_for_a_speed():
    """The divider found for a speed gives that speed back; one that the motor cannot reach has none."""
    one = lanes(share=0.01)
    share = share_for(one, 450.0)
    assert float(held(lanes(share=share)).mean[0]) == pytest.approx(450.0, rel=2e-3)
    assert math.isnan(share_for(one, 5000.0))


def test_feedback_is_stiffer_than_a_held_angle():
    """From no load to full load the speed changes by a few per cent; with the angle held it more than doubles."""
    share = share_for(lanes(share=0.01), 450.0)
    angle = float(held(lanes(share=share)).angle[0])
    loads = np.array([0.0, 1.0])
    on, off = held(lanes(share=share, torque=loads)).mean, held(lanes(share=share, torque=loads, angle=angle)).mean
    assert on[0] / on[1] < 1.05
    assert off[0] / off[1] > 2.0
    assert off[1] == pytest.approx(on[1], rel=0.01)


def test_a_shaft_that_cannot_start_stands():
    """Where a pulse at every crest does not overcome the load the speed is 0, not a negative one."""
    found = held(lanes(share=0.0125, torque=60.0))
    assert float(found.mean[0]) == 0.0
    assert float(found.lowest[0]) == 0.0


@pytest.mark.parametrize("share", [0.016, 0.0185, 0.03])
def test_what_the_snubbers_current_shifts_is_that_of_its_circuit(share: float):
    """Thyristor blocking, speed held: snubber and windings as one circuit of third order, marched to its steady state.

    The gate fires where the wiper exceeds the motor's terminals: within 1°, the snubber's own resistor counted here and
    not there; and nearer than without any snubber.
    """
    capacitor, resistor, speed, omega = 22e-9, 1200.0, 450.0, 2 * math.pi * HERTZ
    slope = float(_Reference(share=share, torque=0.0).slope(0.0))
    inductance = 0.12 + 0.28

    def circuit(t: float, state: np.ndarray) -> list[float]:
        current, volts = state
        own = (POINTS[0][1] + slope * current) * speed
        left = CREST * math.sin(omega * t) - volts - (resistor + OHMS) * current - own
        return [left / inductance, current / capacitor]

    march = solve_ivp(circuit, (0.0, 6 / HERTZ), [0.0, 0.0], method="LSODA", rtol=1e-8, atol=1e-10, max_step=1e-5)
    last = march.t > 5 / HERTZ
    t, (current, volts) = march.t[last], march.y[:, last]
    terminals = CREST * np.sin(omega * t) - volts - resistor * current
    spare = share * CREST * np.sin(omega * t) - terminals - OFFSET
    fires_at = math.degrees((omega * t[np.argmax(spare >= 0)]) % (2 * math.pi)) if (spare >= 0).any() else math.nan
    one = lanes(share=share, shunt=capacitor)
    found = float(np.degrees(fires(one, np.array([speed]))[0][0]))
    free = float(np.degrees(fires(replace(one, shunt=np.zeros(1)), np.array([speed]))[0][0]))
    assert found == pytest.approx(fires_at, abs=1.0)
    assert math.isnan(free) or abs(found - fires_at) < abs(free - fires_at)
