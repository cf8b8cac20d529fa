"""Periodic state of the triac circuit with the speed moving over the cycle: loop and shaft marched together.

dλ/dt = v − R·i − V₀ − ω·k and J·dω/dt = k·i − resisting(ω, k) − left, where ``left`` is the constant
torque that keeps the mean speed. One point at a time, on plain floats; classical Runge–Kutta.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from designer.motor.flux import LinkageTable, Winding
from designer.results import Array
from designer.waveforms.path import Path
from designer.waveforms.phase_control import Gate

STEP = math.pi / 640        # rad; r.m.s. current and torque then agree with solve_ivp to 1e-6
STABLE = 2.0                # largest step times the fastest decay of the loop
MOST_CYCLES = 300
CLOSE = 1e-9                # relative change of speed, and rad of turn-on, at which the state repeats
SUMS = ("current", "square", "drawn", "torque", "speed", "power")


@dataclass(frozen=True, kw_only=True)
class Shaft:
    """``inertia`` at the motor's shaft (kg·m²), and the torque (N·m) that resists at a speed (rad/s) and k (V·s)."""

    inertia: float
    resisting: Callable[[float, float], float]


@dataclass(frozen=True, kw_only=True)
class Swing:
    """One full period from a turn-on of the positive half: nodes and means.

    ``angle`` rad, ``current`` A (signed), ``constant`` V·s (k, signed), ``speed`` rad/s. ``means`` over
    the period: ``current`` (magnitude, A), ``square`` (A²), ``drawn`` (A, of i·sin θ), ``torque`` (N·m),
    ``speed`` (rad/s), ``power`` (W, of torque × speed). ``left``: constant torque (N·m) that the shaft
    gives besides what resists. ``conductions``: sign, turn-on and extinction of each, rad.
    """

    angle: Array
    current: Array
    constant: Array
    speed: Array
    means: Mapping[str, float]
    left: float
    conductions: tuple[tuple[int, float, float], ...]

    @property
    def speed_ripple(self) -> float:
        """Peak to peak, rad/s."""
        return float(np.ptp(self.speed))


def swing(
    path: Path, winding: Winding, firing_angle: float, *, gate: Gate, shaft: Shaft, remanence: tuple[float, float]
) -> Swing | None:
    """Give the periodic state whose mean speed is that of ``path`` (its first point); None where nothing fires.

    ``path.opposing`` counts the remanent voltage of the positive half at that speed; ``remanence``
    (V·s) is k at zero current as each half sees it. Raises ``ArithmeticError`` where the state does
    not repeat, ``ValueError`` at rest, where the speed has nothing to move about.
    """
    mean = float(path.speed[0])
    if mean <= 0:
        raise ValueError("a shaft at rest has no speed ripple")
    loop = _Loop.of(path, winding, firing_angle, gate=gate, shaft=shaft, remanence=remanence)
    first = loop.next_turn_on(0.0, mean)
    if first is None:
        return None
    (sign, angle), speed, left = first, mean, 0.0
    for _ in range(MOST_CYCLES):
        cycle = _Cycle()
        end, after = loop.cycle(cycle, (sign, angle), speed, left)
        turn = end - angle
        gained, off = after - speed, mean - cycle.state[6] / turn
        if max(abs(gained), abs(off)) < CLOSE * mean and abs(turn - 2 * math.pi) < CLOSE:
            return cycle.told(turn, left)
        left += shaft.inertia * loop.omega * gained / turn
        angle, speed = end - 2 * math.pi, speed + off
    raise ArithmeticError("the state with moving speed does not repeat")


class _Cycle:
    """What one cycle collects; ``state`` is λ, ω and the sums in the order of ``SUMS``."""

    def __init__(self) -> None:
        self.state: Array = np.zeros(2 + len(SUMS))
        self.nodes: list[tuple[float, float, float, float]] = []
        self.conductions: list[tuple[int, float, float]] = []

    def told(self, turn: float, left: float) -> Swing:
        angle, current, constant, speed = np.array(self.nodes).T
        means = {name: float(value) / turn for name, value in zip(SUMS, self.state[2:], strict=True)}
        return Swing(angle=angle, current=current, constant=constant, speed=speed, means=means, left=left,
                     conductions=tuple(self.conductions))


@dataclass(frozen=True, kw_only=True)
class _Loop:
    """The constants of the loop and its gate; ``drop`` is without the remanent voltage."""

    peak: float
    omega: float
    resistance: float
    drop: float
    remanence: tuple[float, float]
    window: tuple[float, float]
    shaft: Shaft
    inverse_step: float
    rows: tuple[list[float], ...]
    step: float

    @classmethod
    def of(
        cls, path: Path, winding: Winding, firing_angle: float, *,
        gate: Gate, shaft: Shaft, remanence: tuple[float, float],
    ) -> _Loop:
        peak, omega, resistance, opposing, speed = (
            float(getattr(path, name)[0]) for name in ("peak", "omega", "resistance", "opposing", "speed"))
        table = LinkageTable.reaching(winding, 2.02 * peak / omega)
        fastest = (resistance * float(table.rows[2].max()) + speed * float(table.rows[3].max())) / omega
        last = float(gate.last(np.array([firing_angle]))[0])
        return cls(
            peak=peak, omega=omega, resistance=resistance, drop=opposing - remanence[0] * speed,
            remanence=remanence, window=(firing_angle, last), shaft=shaft, inverse_step=1 / table.step,
            rows=tuple(row.tolist() for row in table.rows), step=min(STEP, STABLE / (fastest + 1e-9)),
        )

    def curve(self, linkage: float) -> tuple[float, float]:
        """Current and odd part of k."""
        cell = min(max(int(linkage * self.inverse_step), 0), len(self.rows[0]) - 1)
        i, g, per_i, per_g = (row[cell] for row in self.rows)
        return i + per_i * linkage, g + per_g * linkage

    def rates(self, angle: float, y: Array, sign: int, left: float) -> Array:
        """Derivatives over angle; ``sign`` 0 while nothing flows."""
        speed, sine = float(y[1]), sign * math.sin(angle)
        kept = self.remanence[0] if self.remanence[0] == -self.remanence[1] else 0.0
        i, k, rate = 0.0, kept, 0.0
        if sign:
            i, odd = self.curve(float(y[0]))
            k = odd + self.remanence[0 if sign > 0 else 1]
            rate = (self.peak * sine - self.drop - self.resistance * i - speed * k) / self.omega
        torque = k * i
        pushed = torque - self.shaft.resisting(speed, abs(k)) - left
        faster = pushed / (self.shaft.inertia * self.omega)
        return np.array((rate, faster, i, i * i, i * sine, torque, speed, torque * speed))

    def advance(self, angle: float, y: Array, h: float, *, sign: int, left: float) -> Array:
        """One Runge–Kutta step."""
        k1 = self.rates(angle, y, sign, left)
        k2 = self.rates(angle + h / 2, y + h / 2 * k1, sign, left)
        k3 = self.rates(angle + h / 2, y + h / 2 * k2, sign, left)
        k4 = self.rates(angle + h, y + h * k3, sign, left)
        return np.asarray(y + h / 6 * (k1 + 2 * (k2 + k3) + k4))

    def conduct(self, cycle: _Cycle, sign: int, angle: float, left: float) -> float:
        """March from turn-on to extinction; gives its angle."""
        start, y = angle, cycle.state
        while True:
            self.note(cycle, angle, y, sign)
            after = self.advance(angle, y, self.step, sign=sign, left=left)
            if after[0] <= 0:
                break
            angle, y = angle + self.step, after
        share = 0.0
        if y[0] > 0:
            def linkage(part: float) -> float:
                return float(self.advance(angle, y, part * self.step, sign=sign, left=left)[0])

            share = float(brentq(linkage, 0.0, 1.0, xtol=1e-13))
        cycle.state = self.advance(angle, y, share * self.step, sign=sign, left=left)
        cycle.state[0] = 0.0
        end = angle + share * self.step
        self.note(cycle, end, cycle.state, sign)
        cycle.conductions.append((sign, start, end))
        return end

    def note(self, cycle: _Cycle, angle: float, y: Array, sign: int) -> None:
        """Keep a node."""
        i, odd = self.curve(float(y[0])) if sign else (0.0, 0.0)
        kept = self.remanence[0 if sign >= 0 else 1] if sign or self.remanence[0] == -self.remanence[1] else 0.0
        cycle.nodes.append((angle, sign * i, (sign or 1) * (odd + kept), float(y[1])))

    def next_turn_on(self, after: float, speed: float) -> tuple[int, float] | None:
        """Sign and angle of the next firing; None where two periods pass without one."""
        first = math.floor(after / math.pi)
        for half in range(first - 1, first + 4):
            sign = 1 if half % 2 == 0 else -1
            share = (self.drop + self.remanence[0 if sign > 0 else 1] * speed) / self.peak
            if share >= 1:
                continue
            opens = math.asin(max(share, 0.0))
            when = max(after, half * math.pi + max(self.window[0], opens))
            if when < half * math.pi + min(self.window[1], math.pi - opens):
                return sign, when
        return None

    def cycle(self, cycle: _Cycle, first: tuple[int, float], speed: float, left: float) -> tuple[float, float]:
        """March from a turn-on to the next one of the same sign; gives its angle and the speed there."""
        cycle.state[1] = speed
        sign, angle = first
        while True:
            end = self.conduct(cycle, sign, angle, left)
            found = self.next_turn_on(end, float(cycle.state[1]))
            if found is None:
                raise ArithmeticError("the firing stops in the middle of the state with moving speed")
            sign, angle = found
            count = math.ceil((angle - end) / (8 * self.step))
            for n in range(count):
                at = end + (angle - end) * n / count
                cycle.state = self.advance(at, cycle.state, (angle - end) / count, sign=0, left=left)
                self.note(cycle, at + (angle - end) / count, cycle.state, 0)
            if sign == first[0]:
                return angle, float(cycle.state[1])
