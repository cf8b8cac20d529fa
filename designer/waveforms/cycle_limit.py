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
    """Give the on-time whose periodic peak is ``limit`` (A), s, rounded down; the period where none reaches it.

    Zero where the current stands above the limit without the bus (the load drives it through the diode).
    """
    low, high = np.zeros_like(loop.period), np.array(loop.period)
    for _ in range(60):
        middle = 0.5 * (low + high)
        above = _peak(loop, middle) > limit
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.where(_reaches(loop, limit), low, loop.period)


def _peak(loop: Loop, on_time: Array) -> Array:
    """Greatest periodic current, A; without end where no resistance limits it."""
    endless = (loop.on_resistance == 0) & (loop.off_resistance == 0)
    volts = loop.on_voltage * on_time + loop.off_voltage * (loop.period - on_time)
    grows = endless & (volts >= 0)
    tame = replace(loop, on_resistance=np.where(grows, 1.0, loop.on_resistance), on_time=on_time)
    return np.where(grows, np.inf, chopped(tame).greatest)


def _reaches(loop: Loop, limit: Array) -> Mask:
    """True where full on-time passes the limit: direct current V/R."""
    with np.errstate(divide="ignore", invalid="ignore"):
        direct = np.where(loop.on_voltage > 0, loop.on_voltage / loop.on_resistance, 0.0)
    return np.asarray(direct > limit)
