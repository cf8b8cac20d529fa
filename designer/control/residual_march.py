"""One mains cycle of a thyristor that the motor's own voltage fires: coast, fire, conduct, coast.

Speed and current are marched together, many machines at once; nothing is periodic here, so a cycle that is not fired
is a cycle that coasts. Explicit Runge-Kutta of fourth order, ``STEP`` wide.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from designer.motor.flux import Winding
from designer.motor.model import Load, MotorModel
from designer.results import Array, Mask

STEP = math.radians(4.0)     # of the march while current flows
TRIES = 73                   # angles of the positive half at which the firing is looked for, 90° among them
HALVINGS = 30                # of the interval in which it fires
FURTHER = 1.001              # of the speed: the end of a search past which nothing fires
TURN = 2 * math.pi


@dataclass(frozen=True, kw_only=True)
class Lanes:
    """Machines side by side, SI; ``motor``, ``winding``, ``load``, ``inertia`` (motor's shaft, kg·m²) are common.

    One entry a lane: mains ``frequency`` and ``crest``, ``resistance`` of the loop (ohm), ``opposing`` (V, thyristor
    and brushes), ``standing`` (V·s: k while no current flows), ``friction`` and ``torque`` (factors on friction and
    load), ``share`` of the mains at the wiper, ``offset`` (V) that the reference loses, ``clamp`` (V at the wiper,
    infinite where none), ``angle`` (rad, a firing angle held; nan where the motor's voltage decides), ``shunt`` (F
    across the thyristor, whose current adds to the motor's own voltage). ``series``: the armature current makes the
    field.
    """

    motor: MotorModel
    winding: Winding
    load: Load
    inertia: float
    series: bool
    frequency: Array
    crest: Array
    resistance: Array
    opposing: Array
    standing: Array
    friction: Array
    torque: Array
    share: Array
    offset: Array
    clamp: Array
    angle: Array
    shunt: Array

    @classmethod
    def of(
        cls, rows: Mapping[str, Any], *, motor: MotorModel, winding: Winding, load: Load, inertia: float, series: bool
    ) -> Lanes:
        """Broadcast the rows, by their names; friction and load as written, no clamp and no held angle unless given."""
        names = [f.name for f in fields(cls)][5:]
        given = {"friction": 1.0, "torque": 1.0, "clamp": np.inf, "angle": np.nan, "shunt": 0.0, **rows}
        arrays = np.broadcast_arrays(*(np.asarray(given[name], float) for name in names))
        return cls(motor=motor, winding=winding, load=load, inertia=inertia, series=series, **{
            name: np.atleast_1d(one).ravel().copy() for name, one in zip(names, arrays, strict=True)})

    def __getitem__(self, chosen: Any) -> Lanes:
        rows = [f.name for f in fields(self)][5:]
        return replace(self, **{name: getattr(self, name)[chosen] for name in rows})

    def __len__(self) -> int:
        return len(self.crest)

    @property
    def omega(self) -> Array:
        """Angular frequency of the mains, rad/s."""
        return TURN * self.frequency

    @property
    def free_speed(self) -> Array:
        """Speed, rad/s, at the crest above which a lane is not fired; with a capacitor across, one just beyond it."""
        plain = (np.minimum(self.share * self.crest, self.clamp) - self.offset) / self.standing
        ahead, behind = self.shunted(np.maximum(plain, 0.0))
        crest = self.crest * np.hypot(self.share + ahead, behind)
        return np.where(self.shunt > 0, (np.minimum(crest, self.clamp + ahead * self.crest) - self.offset)
                        / self.standing * FURTHER, plain)

    def shunted(self, speed: Array) -> tuple[Array, Array]:
        """Give what the capacitor across the thyristor adds to the share, in phase with the mains and a quarter behind.

        Its current leads the mains by a quarter; in the windings' inductance it takes from the motor's voltage, in
        their resistance and as flux (series) it adds to it.
        """
        current = self.shunt * self.omega
        turned = self.winding.curve.initial_slope * speed if self.series else 0.0
        return (np.asarray(current * self.omega * float(self.winding.inductance(0.0))),
                np.asarray(current * (self.resistance + turned)))

    def drag(self, speed: Array, flux: Array) -> Array:
        """Iron, friction and load torque, N·m, at a speed (rad/s) and flux (V·s); at rest up to this much holds."""
        return np.asarray(self.motor.iron_torque(flux, speed) + self.friction * self.motor.friction(speed)
                          + self.torque * self.load.at_motor(speed))


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """One cycle from rising zero to rising zero: speeds in rad/s, angles in rad, A and A²; nan angles: not fired."""

    start: Array
    end: Array
    mean: Array
    lowest: Array
    highest: Array
    fired: Mask
    angle: Array
    extinction: Array
    peak: Array
    current_mean: Array
    current_square: Array


def coast(lanes: Lanes, speed: Array, angle: Array) -> Array:
    """Give the speed (rad/s) after so much mains angle (rad) without current."""
    time = angle / lanes.omega

    def slows(at: Array) -> Array:
        return -lanes.drag(np.maximum(at, 0.0), lanes.standing) / lanes.inertia

    a = slows(speed)
    b = slows(speed + time / 2 * a)
    c = slows(speed + time / 2 * b)
    d = slows(speed + time * c)
    return np.maximum(speed + time / 6 * (a + 2 * b + 2 * c + d), 0.0)


def fires(lanes: Lanes, speed: Array) -> tuple[Array, Array]:
    """Give firing angle (rad, nan where none) and speed there, for a speed (rad/s) at the rising zero."""
    half = coast(lanes, speed, np.full(len(lanes), math.pi))

    def at(theta: Array) -> Array:
        return speed + (half - speed) * theta / math.pi

    def spare(theta: Array) -> Array:
        line, own = lanes.crest * np.sin(theta), lanes.standing * at(theta)
        ahead, behind = lanes.shunted(at(theta))
        wiper = np.minimum(lanes.share * line, lanes.clamp) - own - lanes.offset
        wiper = wiper + ahead * line - behind * lanes.crest * np.cos(theta)
        wiper = np.where(np.isnan(lanes.angle), wiper, np.where(theta >= lanes.angle, 1.0, -1.0))
        return np.minimum(wiper, line - own - lanes.opposing)

    grid = np.linspace(0.0, math.pi, TRIES)
    seen = spare(grid[:, None])
    first = np.argmax(seen >= 0, axis=0)
    on = (seen >= 0).any(axis=0) & (first > 0)
    low, high = grid[np.maximum(first - 1, 0)], grid[first]
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        past = spare(middle) >= 0
        low, high = np.where(past, low, middle), np.where(past, middle, high)
    return np.where(on, high, np.nan), np.where(on, at(high), half)


def cycle(lanes: Lanes, speed: Array) -> Cycle:
    """Pass one cycle from a speed (rad/s) at the rising zero."""
    angle, then = fires(lanes, speed)
    on = np.flatnonzero(np.isfinite(angle))
    count = len(lanes)
    end = coast(lanes, speed, np.full(count, TURN))
    mean, peak, extinction = (speed + end) / 2, np.zeros(count), np.full(count, np.nan)
    charge, square, highest = np.zeros(count), np.zeros(count), np.maximum(speed, end)
    lowest = np.minimum(speed, end)
    if on.size:
        one = _conduct(lanes[on], angle[on], then[on])
        past = coast(lanes[on], one.speed, TURN - one.angle)
        mean[on] = ((speed[on] + then[on]) / 2 * angle[on] + one.way
                    + (one.speed + past) / 2 * (TURN - one.angle)) / TURN
        end[on], peak[on], extinction[on] = past, one.peak, one.angle
        charge[on], square[on] = one.charge / TURN, one.square / TURN
        highest[on] = np.maximum(np.maximum(one.highest, past), speed[on])
        lowest[on] = np.minimum(np.minimum(then[on], past), speed[on])
    return Cycle(start=speed, end=end, mean=mean, lowest=lowest, highest=highest, fired=np.isfinite(angle), angle=angle,
                 extinction=extinction, peak=peak, current_mean=charge, current_square=square)


@dataclass(frozen=True, kw_only=True)
class _Pulse:
    """What one pulse of current leaves: where it ends (rad), speed there, and its integrals over the angle."""

    angle: Array
    speed: Array
    way: Array
    charge: Array
    square: Array
    peak: Array
    highest: Array


def _conduct(lanes: Lanes, start: Array, speed: Array) -> _Pulse:
    """March current and speed from the firing until the current ends, in every lane."""
    count = len(lanes)
    state = np.array((np.zeros(count), speed, np.zeros(count), np.zeros(count), np.zeros(count)))
    theta, going = start.copy(), np.ones(count, bool)
    peak, highest = np.zeros(count), speed.copy()
    while going.any():
        after = _step(lanes, theta, state)
        after[1] = np.maximum(after[1], 0.0)      # friction stops the shaft, it does not drive it
        ends = going & (after[0] <= 0)
        part = np.where(ends, state[0] / np.maximum(state[0] - after[0], 1e-300), 1.0)
        state = np.where(going, state + part * (after - state), state)
        theta = np.where(going, theta + part * STEP, theta)
        peak, highest = np.maximum(peak, state[0]), np.maximum(highest, state[1])
        state[0] = np.where(ends, 0.0, state[0])
        going = going & ~ends & (theta < TURN)
    return _Pulse(angle=np.minimum(theta, TURN), speed=state[1], way=state[2], charge=state[3], square=state[4],
                  peak=peak, highest=highest)


def _step(lanes: Lanes, theta: Array, state: Array) -> Array:
    """One Runge-Kutta step of current, speed, and the integrals of speed, current and its square over the angle."""
    a = _slopes(lanes, theta, state)
    b = _slopes(lanes, theta + STEP / 2, state + STEP / 2 * a)
    c = _slopes(lanes, theta + STEP / 2, state + STEP / 2 * b)
    d = _slopes(lanes, theta + STEP, state + STEP * c)
    return np.asarray(state + STEP / 6 * (a + 2 * b + 2 * c + d))


def _slopes(lanes: Lanes, theta: Array, state: Array) -> Array:
    """Slopes over the mains angle."""
    current, speed = state[0], np.maximum(state[1], 0.0)
    flux, inductance = lanes.standing, np.full(len(lanes), lanes.winding.constant)
    if lanes.series:
        odd, slope = lanes.winding.curve.odd_and_slope(np.maximum(current, 0.0))
        flux = flux + odd
        inductance += lanes.winding.main * np.minimum(1.0, slope / lanes.winding.curve.initial_slope)
    volts = lanes.crest * np.sin(theta) - lanes.resistance * current - lanes.opposing - flux * speed
    gains = volts / (inductance * lanes.omega)
    spare = flux * current - lanes.drag(speed, flux)
    speeds = np.where(speed > 0, spare, np.maximum(spare, 0.0)) / (lanes.inertia * lanes.omega)
    return np.array((gains, speeds, speed, current, current * current))
