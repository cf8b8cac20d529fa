"""An independent brute-force model of a series motor behind one thyristor or a bridge, for the tests.

Written from the definitions alone and sharing no code with the package: scipy's ``solve_ivp`` (DOP853, tight
tolerance, changes of paths by event) marches the currents from rest, period after period, until they repeat. Slow on
purpose. SI units, rad; angles count from the zero of the ideal source ahead of a pulse.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from scipy.integrate import solve_ivp

from tests.reference import Curve

RTOL, ATOL = 1e-11, 1e-13
NAMES = ("charge", "square", "pull", "source_charge", "source_square", "drawn", "freewheel_charge",
         "freewheel_square")


@dataclass(frozen=True, kw_only=True)
class Rig:
    """Source, paths and motor by the letters of the definitions."""

    peak: float
    omega: float
    alpha: float
    speed: float
    curve: Curve
    R: float                         # of the motor
    L: float                         # that does not saturate
    L_main: float = 0.0              # that follows the slope of the curve
    V_b: float = 2.0
    R_s: float = 0.0
    L_s: float = 0.0
    V_T: float = 0.0                 # all devices of the source's path together
    r_T: float = 0.0
    V_F: float = 0.0
    r_F: float = 0.0
    freewheel: bool = True
    pulses: int = 1
    k_r: float | None = None         # kept remanence; the curve's unless given

    @property
    def remanence(self) -> float:
        """Speed constant without current."""
        return self.curve.k_r if self.k_r is None else self.k_r

    def inductance(self, i: float) -> float:
        """The motor's, at a current."""
        share = min(1.0, self.curve.slope(max(i, 0.0)) / self.curve.initial_slope) if self.L_main else 0.0
        return self.L + self.L_main * share

    def emf(self, i: float) -> float:
        """Brush drop and speed voltage; below no current straight on."""
        g = self.curve.g(i) if i >= 0 else self.curve.initial_slope * i
        return self.V_b + (self.remanence + g) * self.speed


@dataclass
class Period:
    """One period that repeats: integrals over a full period of the source, and its angles."""

    sums: dict[str, float]
    crest: float = 0.0
    turn_on: float = math.nan
    overlap_on: float = 0.0
    commutation: float = math.nan
    extinction: float = math.nan
    armature_extinction: float = math.nan
    nodes: list[tuple[float, float, float]] = field(default_factory=list)


class March:
    """The state on its way: angle, motor current, line current."""

    def __init__(self, rig: Rig) -> None:
        """From rest at the firing angle."""
        self.rig, self.theta, self.i, self.s, self.sign = rig, rig.alpha, 0.0, 0.0, 1.0
        self.fired = False

    def volts(self, x: float) -> float:
        """The source's sine as it stands at the path that conducts."""
        return self.sign * self.rig.peak * math.sin(x)

    def rates(self, mode: str, x: float, i: float, s: float) -> tuple[float, float]:
        """Slopes of motor and line current, A/rad."""
        r, v = self.rig, self.volts(x)
        if mode == "source":
            di = v - r.V_T - (r.R_s + r.r_T + r.R) * i - r.emf(i)
            di /= (r.L_s + r.inductance(i)) * r.omega
            return di, di
        f = i - s
        di = (-r.V_F - r.r_F * f - r.R * i - r.emf(i)) / (r.inductance(i) * r.omega)
        if mode == "freewheel":
            return di, 0.0
        return di, (v - r.V_T - (r.R_s + r.r_T) * s + r.V_F + r.r_F * f) / (r.L_s * r.omega)

    def leg(self, mode: str, until: float, events: list[Callable[[float, float, float], float]], one: Period) -> int:
        """March one mode; give which of ``events`` (falling through zero) ended it, −1 for the end."""
        start = self.theta

        def slope(x: float, y: np.ndarray) -> list[float]:
            i, s = y[0], (y[0] if mode == "source" else y[1] if mode == "overlap" else 0.0)
            di, ds = self.rates(mode, x, i, s)
            return [di, ds, i, i * i, self.rig.curve.g(max(i, 0.0)) * i, s, s * s, self.volts(x) * s, i - s,
                    (i - s) ** 2]

        marks = []
        for event in events:
            def mark(x: float, y: np.ndarray, event: Callable[[float, float, float], float] = event) -> float:
                # a hair after the start, where it may be zero
                return event(x, y[0], y[1]) if x > start + 1e-9 else 1.0
            mark.terminal, mark.direction = True, -1.0  # type: ignore[attr-defined]
            marks.append(mark)
        found = solve_ivp(slope, (start, until), [self.i, self.s, *[0.0] * 8], method="DOP853", rtol=RTOL, atol=ATOL,
                          events=marks, max_step=0.05)
        end = found.y[:, -1]
        for name, value in zip(NAMES, end[2:], strict=True):
            one.sums[name] += self.rig.pulses * value
        one.crest = max(one.crest, _crest(found.t, found.y[0]))
        line = found.y[0] if mode == "source" else found.y[1] if mode == "overlap" else 0 * found.y[0]
        one.nodes.extend(zip(found.t.tolist(), found.y[0].tolist(), line.tolist(), strict=True))
        self.theta, self.i = float(found.t[-1]), float(end[0])
        self.s = {"source": self.i, "overlap": float(end[1]), "freewheel": 0.0}[mode]
        hits = [n for n, times in enumerate(found.t_events) if times.size]
        return hits[0] if hits else -1

    def period(self) -> Period:
        """From one firing angle to that of the next pulse."""
        r, one = self.rig, Period(sums=dict.fromkeys(NAMES, 0.0))
        end = r.alpha + 2 * math.pi / r.pulses
        self.fired = False
        while self.theta < end - 1e-12:
            if self.s > 0 and (self.s >= self.i * (1 - 1e-12) or not r.freewheel):
                self.source(end, one)
            elif self.s > 0:
                self.both(end, one)
            elif self.i > 0:
                self.tail(end, one)
            else:
                self.off(end, one)
        self.theta -= 2 * math.pi / r.pulses
        self.sign = -1.0 if r.pulses == 2 and self.s > 0 else 1.0
        return one

    def off(self, end: float, one: Period) -> None:
        """Nothing flows: fire as soon as the source exceeds what opposes it."""
        r = self.rig
        share = (r.V_T + r.emf(0.0)) / r.peak
        when = max(self.theta, math.asin(min(share, 1.0))) if share < 1 else math.inf
        if self.fired or when >= math.pi - math.asin(min(share, 1.0)):
            self.theta = end
            return
        self.theta, self.fired, one.turn_on = when, True, when
        self.sign = 1.0
        self.i = self.s = 1e-15

    def source(self, end: float, one: Period) -> None:
        """The line carries the motor's current."""
        r = self.rig
        fall = r.R_s + r.r_T - (r.r_F if r.L_s == 0 else 0.0)

        def takes_over(x: float, i: float, _: float) -> float:
            return (self.volts(x) - r.V_T - fall * i - r.L_s * r.omega * self.rates("source", x, i, i)[0] + r.V_F)

        hit = self.leg("source", end, [lambda x, i, s: i, *([takes_over] if r.freewheel else [])], one)
        if hit == 0:
            self.i = self.s = 0.0
            one.extinction = one.armature_extinction = self.theta
        if hit == 1:
            one.commutation = self.theta
            if r.L_s == 0:
                self.s, one.extinction, self.sign = 0.0, self.theta, 1.0
            else:
                self.s = self.i * (1 - 1e-11)

    def both(self, end: float, one: Period) -> None:
        """Line and freewheel path share the motor's current."""
        opening, start = math.isnan(one.commutation) and self.fired and self.sign > 0, self.theta
        rising = self.s < 0.5 * self.i
        hit = self.leg("overlap", end, [lambda x, i, s: s, *([lambda x, i, s: i - s] if rising else [])], one)
        if hit == 0:
            self.s, one.extinction, self.sign = 0.0, self.theta, 1.0
        if hit == 1:
            self.s = self.i
        if opening:
            one.overlap_on = self.theta - start

    def tail(self, end: float, one: Period) -> None:
        """The freewheel path carries it all."""
        r = self.rig
        fall = r.r_F - (r.R_s + r.r_T if r.L_s == 0 else 0.0)

        def waits(x: float, i: float, _: float) -> float:
            return r.V_T - r.V_F - r.peak * math.sin(x) - fall * i

        if not self.fired and waits(self.theta, self.i, 0.0) <= 0:
            hit = 1
        else:
            hit = self.leg("freewheel", end, [lambda x, i, s: i, *([] if self.fired else [waits])], one)
        if hit == 0:
            self.i, one.armature_extinction = 0.0, self.theta
        if hit == 1:
            self.fired, self.sign, one.turn_on = True, 1.0, self.theta
            self.s = self.i if r.L_s == 0 else 1e-13 * self.i


def _crest(x: np.ndarray, y: np.ndarray) -> float:
    """The greatest value, by the quartic through five points about the greatest node."""
    top = int(np.argmax(y))
    if not 0 < top < len(y) - 1:
        return float(y[top])
    near = slice(max(top - 2, 0), top + 3)
    fine = np.linspace(x[top - 1], x[top + 1], 4001)
    return float(np.polyval(np.polyfit(x[near] - x[top], y[near], len(x[near]) - 1), fine - x[top]).max())


def periodic(rig: Rig, *, cycles: int = 400) -> Period:
    """March from rest until the current at the firing angle repeats."""
    march = March(rig)
    before = (0.0, 0.0)
    for _ in range(cycles):
        one = march.period()
        now = (march.i, march.s)
        if abs(now[0] - before[0]) + abs(now[1] - before[1]) <= 1e-10 * (1e-6 + one.crest):
            return one
        before = now
    raise ArithmeticError("the current does not repeat")
