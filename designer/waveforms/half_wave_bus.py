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

STEPS = 1440                # of a period
ROUNDS = 40
AGREE = 1e-9                # of the source's crest: the bus a period later
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
    first, second = one.period(before)[0] - before, one.period(after)[0] - after
    for _ in range(ROUNDS):
        if abs(second) <= AGREE * one.peak or second == first:
            break
        before, after, first = after, after - second * (after - before) / (second - first), second
        second = one.period(after)[0] - after
    _, time, current, free = one.period(after)
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
        self.step = 2 * np.pi / self.omega / STEPS
        on = np.zeros((5, 5))
        on[0] = [-(resistance + self.series) / inductance, -1 / inductance, self.peak / inductance, 0.0,
                 (self.series * self.load - self.drop) / inductance]
        on[1, 0], on[1, 4] = 1 / self.capacitance, -self.load / self.capacitance
        on[2, 3], on[3, 2] = self.omega, -self.omega
        self.on, self.whole = on, expm(on * self.step)

    def period(self, level: float) -> tuple[float, Array, Array, Array]:
        """Free level a period after ``level`` (V, at the source's trough); times, line current and level between."""
        rows = [(0.0, 0.0, level)]
        now, state, flows = 0.0, np.array([0.0, level, -1.0, 0.0, 1.0]), False
        for count in range(1, STEPS + 1):
            end = count * self.step
            if not flows:
                now, state, flows = self._wait(now, state, end)
            if flows:
                whole = abs(end - now - self.step) < 1e-9 * self.step
                then = (self.whole if whole else expm(self.on * (end - now))) @ state
                if then[0] < 0:
                    left = end - now
                    stop = float(brentq(lambda t, s=state: float((expm(self.on * t) @ s)[0]), 1e-3 * left, left)) if (
                        (expm(self.on * 1e-3 * left) @ state)[0] > 0) else 0.0
                    state = expm(self.on * stop) @ state
                    state[0], now, flows = 0.0, now + stop, False
                    rows.append((now, 0.0, float(state[1])))
                    now, state, flows = self._wait(now, state, end)
                    then = state
                if flows or now < end:
                    state, now = then, end
            rows.append((now, float(max(state[0], 0.0)), float(state[1])))
        time, current, free = np.array(rows).T
        return float(state[1]), time, current, free

    def _wait(self, now: float, state: Array, end: float) -> tuple[float, Array, bool]:
        """Without current up to ``end``, or up to where the source passes the bus."""
        def over(t: float) -> float:
            level = float(state[1]) - self.load * (t - now) / self.capacitance
            return -self.peak * float(np.cos(self.omega * t)) - self.drop - (level - self.series * self.load)

        starts = over(end) > 0
        when = (now if over(now) > 0 else float(brentq(over, now, end, xtol=1e-15))) if starts else end
        level = float(state[1]) - self.load * (when - now) / self.capacitance
        angle = self.omega * when
        return when, np.array([0.0, level, -np.cos(angle), np.sin(angle), 1.0]), starts
