"""A reservoir that one half cycle alone charges: what is left of a bridge with a diode open.

While the diode conducts, x = (i, w): L·di/dt = v − D − (R + r)·i + r·I − w, C·dw/dt = i − I, r·(i − I) being the drop
in the reservoir's own resistance; else C·dw/dt = −I. Source and state are stepped together by the exact exponential
of that linear system; the ends of conduction are found within a step. One point; the periodic state by secants.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import expm
from scipy.optimize import brentq

from designer.results import Array
from designer.waveforms.reservoir import Bridge

STEPS = 720                 # of a period
ROUNDS = 40
AGREE = 1e-8                # of the source's crest: the bus a period later
LEAST_INDUCTANCE = 1e-6     # s, of L/R: below it the current follows at once
LEAST_RESISTANCE = 1e-3     # ohm, of leads alone


@dataclass(frozen=True, kw_only=True)
class HalfWave:
    """The bus (V; nan where it falls to zero), and the line's current (A) that is direct: mean, r.m.s., peak.

    ``ripple_current``: r.m.s. current of the reservoir, A.
    """

    mean: float
    valley: float
    crest: float
    line_mean: float
    line_rms: float
    line_peak: float
    ripple_current: float


def half_wave(bridge: Bridge) -> HalfWave:
    """Give the periodic state of the first point of ``bridge`` with one way of it open.

    All figures are nan where the load empties the reservoir before the next pulse.
    """
    one = _One(bridge)
    if one.load <= 0:
        return HalfWave(mean=one.top, valley=one.top, crest=one.top, line_mean=0.0, line_rms=0.0, line_peak=0.0,
                        ripple_current=0.0)
    before, after = one.top, one.top * 0.8
    first = one.period(before)[0] - before
    end, time, current, free = one.period(after)
    second = end - after
    for _ in range(ROUNDS):
        if abs(second) <= AGREE * one.peak or second == first:
            break
        before, after, first = after, after - second * (after - before) / (second - first), second
        end, time, current, free = one.period(after)
        second = end - after
    bus = free + one.series * (current - one.load)
    if not abs(second) <= 1e3 * AGREE * one.peak or float(bus.min()) <= 0:
        nan = float("nan")
        return HalfWave(mean=nan, valley=nan, crest=nan, line_mean=nan, line_rms=nan, line_peak=nan,
                        ripple_current=nan)
    span = time[-1] - time[0]
    square = float(np.trapezoid(current**2, time) / span)
    return HalfWave(
        mean=float(np.trapezoid(bus, time) / span), valley=float(bus.min()), crest=float(bus.max()),
        line_mean=float(np.trapezoid(current, time) / span), line_rms=float(np.sqrt(square)),
        line_peak=float(current.max()), ripple_current=float(np.sqrt(max(square - one.load**2, 0.0))))


class _One:
    """The loop of one point; the state is (i, w, sin, cos, 1) from the source's trough on."""

    def __init__(self, bridge: Bridge) -> None:
        def of(name: str) -> float:
            return float(getattr(bridge, name)[0])

        self.peak, self.omega, self.drop, self.load = of("peak"), of("omega"), of("drop"), of("load_current")
        self.series, self.capacitance = of("series_resistance"), of("capacitance")
        resistance = max(of("resistance"), LEAST_RESISTANCE)
        inductance = max(of("inductance"), LEAST_INDUCTANCE * resistance)
        self.top = self.peak - self.drop
        self.span = 2 * np.pi / self.omega
        self.step = self.span / STEPS
        on = np.zeros((5, 5))
        on[0] = [-(resistance + self.series) / inductance, -1 / inductance, self.peak / inductance, 0.0,
                 (self.series * self.load - self.drop) / inductance]
        on[1, 0], on[1, 4] = 1 / self.capacitance, -self.load / self.capacitance
        on[2, 3], on[3, 2] = self.omega, -self.omega
        self.on, whole = on, expm(on * self.step)
        self.powers = np.empty((STEPS, 5, 5))       # of the exponential of one step, from none on
        self.powers[0] = np.eye(5)
        for count in range(1, STEPS):
            self.powers[count] = whole @ self.powers[count - 1]

    def period(self, level: float) -> tuple[float, Array, Array, Array]:
        """Free level a period after ``level`` (V, at the source's trough); times, line current and level between."""
        now, times, currents, levels = 0.0, [np.zeros(1)], [np.zeros(1)], [np.array([level])]
        while now < self.span:
            when = self._starts(now, level)
            level, now = level - self.load * (when - now) / self.capacitance, when
            passed = np.array([[when], [0.0], [level]])
            if when < self.span:
                passed = np.concatenate((passed, self._conducts(when, level)), axis=1)
                now, level = float(passed[0, -1]), float(passed[2, -1])
            for rows, row in zip((times, currents, levels), passed, strict=True):
                rows.append(row)
        return level, np.concatenate(times), np.concatenate(currents), np.concatenate(levels)

    def _starts(self, now: float, level: float) -> float:
        """When the source passes the falling bus, s; the end of the period where it does not any more."""
        def over(t: Array | float) -> Array:
            free = level - self.load * (np.asarray(t) - now) / self.capacitance
            return np.asarray(-self.peak * np.cos(self.omega * np.asarray(t)) - self.drop - free
                              + self.series * self.load)

        times = np.append(np.arange(now, self.span, self.step), self.span)
        above = np.flatnonzero(over(times[1:]) > 0)
        if not above.size:
            return self.span
        first = float(times[above[0]])
        return first if float(over(first)) > 0 else float(brentq(
            lambda t: float(over(t)), first, float(times[above[0] + 1]), xtol=1e-14))

    def _conducts(self, when: float, level: float) -> Array:
        """Times (s), currents (A) and levels (V) from turn-on to the current's end."""
        angle = self.omega * when
        start = np.array([0.0, level, -np.cos(angle), np.sin(angle), 1.0])
        states = self.powers @ start
        gone = np.flatnonzero(states[1:, 0] <= 0)
        last = int(gone[0]) if gone.size else STEPS - 1       # the last step at which current flows
        flows, left = states[last], min(self.step, max(self.span - when - last * self.step, 0.0))
        rest = self.step

        def current(t: float) -> float:
            return float((expm(self.on * t) @ flows)[0])

        least = 1e-6 * self.step
        stop = float(brentq(current, least, rest, xtol=1e-15)) if current(least) > 0 > current(rest) else left
        end = expm(self.on * stop) @ flows
        times = when + np.append(np.arange(1, last + 1) * self.step, last * self.step + stop)
        return np.array([np.minimum(times, self.span), np.append(states[1:last + 1, 0], 0.0),
                         np.append(states[1:last + 1, 1], end[1])])
