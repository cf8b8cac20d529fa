"""A chopper under a current limit that acts in every cycle, above all at stall.

The clock turns the switch on; it turns off at the end of the on-time that the setting asks for, or earlier where
the current reaches the limit, but never before the shortest on-time (blanking, comparator, driver and turn-off
together). Where the current rises more in the shortest on-time than it falls in the rest of the period, it
climbs past the limit from cycle to cycle until both are equal: the limit does not hold, and the current that
stands then is that of the shortest on-time alone.

The peak of the periodic current grows with the on-time, so everything is one root over ``chopped``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from designer.results import Array, Mask
from designer.waveforms.chopper import Chopped, Loop, chopped

#: share of the period above which a limit on the peak alone lets long and short cycles follow each other
#: (derived: a deviation at turn-on is multiplied by −m_fall/m_rise each cycle, which is D/(1 − D) on straight flanks)
SUBHARMONIC = 0.5
MOST_STEPS = 100     # of the search for an on-time; Newton takes some four
SETTLED = 1e-9       # of the period: after a Newton step as small as that the next would be lost in rounding


@dataclass(frozen=True, kw_only=True)
class Limited:
    """What stands under the limit, one entry a point.

    ``holds``: the peak stays at or below the limit. ``acts``: the limit shortens the on-time of the setting.
    ``on_time`` (s): what results. ``longest`` (s): the on-time whose peak is just the limit; as a shortest on-time
    it is the longest with which the limit would still hold (the period where no on-time reaches the limit).
    ``subharmonic``: the limit acts at more than half the period, where a limit without slope compensation lets
    long and short cycles alternate; the peak is still the limit, the mean lies below ``current.mean``.
    ``current``: the periodic current.
    """

    holds: Mask
    acts: Mask
    on_time: Array
    longest: Array
    subharmonic: Mask
    current: Chopped

    @property
    def peak(self) -> Array:
        """Greatest current, A: the limit where it acts and holds, more where it can't hold."""
        return self.current.greatest

    @property
    def mean(self) -> Array:
        """Mean current, A."""
        return self.current.mean


def limited(loop: Loop, *, limit: Array, shortest: Array) -> Limited:
    """Give the periodic current of ``loop`` (its ``on_time`` is what the setting asks for) under a limit.

    ``limit`` (A): the peak at which the switch current ends, the delay of the comparator included (its overshoot
    is ``equations.chopper_parts.LIMIT_OVERSHOOT``). ``shortest`` (s): no cycle is shorter, the setting's
    own on-time included. For a stall the loop has no speed voltage; with one, ``current`` is that of the
    speed. Raises ``ValueError`` for a limit that is not above zero or a shortest on-time outside the period, and as
    ``chopped`` does.
    """
    limit, shortest = (np.broadcast_to(np.asarray(x, float), loop.period.shape) for x in (limit, shortest))
    if not np.all(limit > 0):
        raise ValueError("the limit must be above zero")
    if not np.all((shortest >= 0) & (shortest <= loop.period)):
        raise ValueError("the shortest on-time must lie within the period")
    longest = longest_on_time(loop, limit=limit)
    on_time = np.maximum(np.minimum(loop.on_time, longest), shortest)
    acts = longest < loop.on_time
    current = chopped(replace(loop, on_time=on_time))
    return Limited(
        holds=on_time <= longest, acts=acts, on_time=on_time, longest=longest,
        subharmonic=acts & (on_time == longest) & (longest > SUBHARMONIC * loop.period), current=current)


def longest_on_time(loop: Loop, *, limit: Array) -> Array:
    """Give the on-time whose periodic peak is ``limit`` (A), s; the period where none reaches it.

    From the peak the current falls for the rest of the period, and the on-time is what it then takes back to
    the peak: one root a point, both flanks in closed form. Zero where the current stands above the limit without
    the bus (the load drives it through the diode).
    """
    period, reaches = loop.period, _reaches(loop, limit)
    low, high = np.zeros_like(period), np.array(period)
    rising, falling = (np.maximum(sign * (voltage - limit * resistance), 0.0) for sign, voltage, resistance in (
        (1.0, loop.on_voltage, loop.on_resistance), (-1.0, loop.off_voltage, loop.off_resistance)))
    straight = np.divide(falling, rising + falling, out=np.full_like(period, 0.5), where=rising + falling > 0)
    at = np.where(reaches, straight * period, 0.0)     # as with straight flanks
    for _ in range(MOST_STEPS):
        first, slope = _after(loop, limit, period - at)
        needed, steep = _to(loop, first, limit)
        excess = np.where(reaches, needed - at, 0.0)
        low, high = np.where(excess > 0, at, low), np.where(excess < 0, at, high)
        newton = at + excess / (1.0 + np.where(first > 0, steep * slope, 0.0))
        step = np.where((newton >= low) & (newton <= high), newton, 0.5 * (low + high))
        moved, at = np.abs(step - at), step
        if np.all(moved <= SETTLED * period):
            break
    stands = (loop.off_voltage > 0) & (loop.off_voltage >= limit * loop.off_resistance)
    return np.where(reaches, np.where(stands, 0.0, at), period)


def _after(loop: Loop, current: Array, time: Array) -> tuple[Array, Array]:
    """Current (A, not below zero) that is left of ``current`` after ``time`` on the diode, and its slope, A/s."""
    x = loop.off_resistance * time / loop.inductance
    left = current * np.exp(-x) + loop.off_voltage * time / loop.inductance * _mean_decay(x)
    return np.maximum(left, 0.0), (loop.off_voltage - loop.off_resistance * left) / loop.inductance


def _to(loop: Loop, first: Array, current: Array) -> tuple[Array, Array]:
    """Time (s) on the bus from ``first`` to ``current``, and the seconds that one ampere more of ``first`` spares."""
    start = loop.on_voltage - loop.on_resistance * first
    with np.errstate(divide="ignore", invalid="ignore"):
        y = loop.on_resistance * (current - first) / start
        time = loop.inductance * (current - first) / start * _log_mean(y)
        spared = -loop.inductance / start
    return np.nan_to_num(time, nan=np.inf, posinf=np.inf), np.nan_to_num(spared)


def _mean_decay(x: Array) -> Array:
    """(1 − e^−x)/x."""
    return np.asarray(np.divide(-np.expm1(-x), x, out=np.ones_like(x), where=x > 0))


def _log_mean(y: Array) -> Array:
    """−ln(1 − y)/y; infinite from y = 1 on."""
    inside = (y > 0) & (y < 1)
    found = np.divide(-np.log1p(-np.where(inside, y, 0.0)), y, out=np.ones_like(y), where=inside)
    return np.asarray(np.where(y >= 1, np.inf, found))


def _reaches(loop: Loop, limit: Array) -> Mask:
    """True where full on-time passes the limit: direct current V/R."""
    with np.errstate(divide="ignore", invalid="ignore"):
        direct = np.where(loop.on_voltage > 0, loop.on_voltage / loop.on_resistance, 0.0)
    return np.asarray(direct > limit)
