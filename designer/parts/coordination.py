"""Fuse against semiconductor: what a link lets through on every short that it sees, and what a device bears of it.

The I²t that a device bears is stated for 10 ms. A hard short is over in much less, and then it bears less: the
greatest let-through, the shortest time in which a short can bring it and the device's I²t for that time are held
against each other. Safe side: the steepest rise of the current, the greatest let-through of the type, the worst of all
fault currents from 2.1 times the rating up to the prospective one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from designer.equations.fuse import DEVICE_I2T, DEVICE_SURGE, PEAK_LET_THROUGH, RISE_TIME
from designer.parts.fuse_gates import ADIABATIC, UNKNOWN, Link, gate, let_through, weak_time
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Quantity, Rating, Step

#: s, for which the I²t and the surge of a device are stated
STATED = 10e-3
#: times the rating: above it a link opens for certain
SEEN = 2.1
#: exponent of the device's I²t below ``STATED``
ROOT = 0.5
I2T, PEAK = "I²t against the fuse", "peak let-through of the fuse"
#: what to do where no device bears what the fuse lets through
WAY_OUT = (
    "a fuse that lets less through, in [parts.fuse] with its i2t (a semiconductor link, gR), or an isolating "
    "transformer: at a lower prospective current the same I²t takes longer")
_POINTS = 9
_LARGER = f"A device of more I²t, {WAY_OUT}."


@dataclass(frozen=True, kw_only=True)
class Short:
    """One fault: prospective r.m.s. current (A), the I²t let through (A²s), the least time for it (s), peak (A).

    ``rise``: how the time was found, None where it is no matter of a rising current.
    """

    prospective: float
    let_through: float
    time: float
    peak: float
    rise: Step | None = None

    @property
    def words(self) -> str:
        """The fault in words."""
        if math.isinf(self.let_through):
            return f"short of {engineering(self.prospective, 'A', 3)}"
        return (f"short of {engineering(self.prospective, 'A', 3)}: {engineering(self.let_through, 'A**2*s', 3)} in "
                f"{engineering(self.time, 's', 3)}")


@dataclass(frozen=True, kw_only=True)
class Bears:
    """What ONE device bears: I²t (A²s) and surge peak (A) of 10 ms, r.m.s. current (A) for good."""

    name: str
    i2t: float
    surge: float
    current: float

    def heat(self, time: float) -> float:
        """Give the I²t (A²s) that it bears within ``time`` (s).

        Below 10 ms it falls with the square root of the time. Longer than that no less than at 10 ms, as heat has
        more time to flow away, and no less than its rated current brings (derived).
        """
        if time < STATED:
            return float(DEVICE_I2T(W_0=self.i2t, t=time, t_0=STATED, p_scale=ROOT))
        return max(self.i2t, self.current**2 * time)

    def peak(self, time: float) -> float:
        """Give the peak (A) of a surge of ``time`` (s) that it bears, for 10 ms and more that of 10 ms."""
        return float(DEVICE_SURGE(I_p=self.surge, t_0=STATED, t=min(time, STATED)))


@lru_cache(maxsize=512)
def shorts(link: Link, *, prospective: float, steepness: float) -> tuple[Short, ...]:
    """Give what ``link`` lets through on shorts of ``prospective`` A r.m.s. and less, the strongest first.

    ``steepness``: 1/s, the steepest rise per ampere of prospective current (``FAULT_STEEPNESS``). Weaker shorts from
    2.1 times the rating up, where the link's gate is known. One of unknown let-through: infinite.
    """
    lets = let_through(link, prospective=prospective)
    hardest = _hard(lets, prospective=prospective, steepness=steepness) if (
        prospective >= ADIABATIC * link.rating or link.clearing is not None or math.isinf(lets)) else None
    found = [] if hardest is None else [hardest]
    if not gate(link.speed, breaking=link.breaking, rating=link.rating):
        return tuple(found)
    top = min(prospective, ADIABATIC * link.rating)
    if top > SEEN * link.rating:
        found += [_weak(link, current=float(current)) for current in np.geomspace(top, SEEN * link.rating, _POINTS)]
    return tuple(found)


def _hard(lets: float, *, prospective: float, steepness: float) -> Short:
    if math.isinf(lets):
        return Short(prospective=prospective, let_through=lets, time=STATED, peak=lets)
    rise = Step(formula=RISE_TIME, inputs={"W": lets, "q_k": steepness, "I_k": prospective},
                note="least time in which a short brings what the fuse lets through")
    peak = float(PEAK_LET_THROUGH(q_k=steepness, I_k=prospective, t=rise.value))
    return Short(prospective=prospective, let_through=lets, time=rise.value, peak=min(peak, _crest(prospective)),
                 rise=rise if rise.value < STATED else None)


def _weak(link: Link, *, current: float) -> Short:
    time = weak_time(link, current=current)
    return Short(prospective=current, let_through=current**2 * time, time=time, peak=_crest(current))


def _crest(current: float) -> float:
    """The greatest peak that a short of so many A r.m.s. can have at all: fully displaced from zero."""
    return 2.0 * math.sqrt(2.0) * current


def ratings(
    of: Bears, *, met: Iterable[Short], margins: Mapping[str, float], key: str = "switch_i2t", where: str = "",
) -> tuple[Rating, ...]:
    """Give the two checks of a device against the shorts ``met``, each at its own worst; zero where there are none."""
    every = tuple(met)
    none = Short(prospective=0.0, let_through=0.0, time=STATED, peak=0.0)
    hot = max(every, key=lambda short: short.let_through / of.heat(short.time), default=none)
    high = max(every, key=lambda short: short.peak / of.peak(short.time), default=none)
    rows = [(I2T, "A**2*s", of.heat(hot.time), hot.let_through, hot, share(key, margins)),
            (PEAK, "A", of.peak(high.time), high.peak, high, share("fault_peak", margins))]
    return tuple(Rating(
        name=name, limit=Quantity(limit, unit), stress=Quantity(stress, unit), share=allowed[0], source=allowed[1],
        at=", ".join(filter(None, (where, short.words if every else ""))),
        remedy=UNKNOWN if math.isinf(stress) else _LARGER)
        for name, unit, limit, stress, short, allowed in rows)


def saves(
    link: Link, *, of: Iterable[Bears], prospective: float, steepness: float, margins: Mapping[str, float]
) -> bool:
    """Tell whether ``link`` saves every device from every short that it sees."""
    met = shorts(link, prospective=prospective, steepness=steepness)
    return all(holds(rating) for one in of for rating in ratings(one, met=met, margins=margins))


def steps(of: Bears, *, met: Iterable[Short]) -> tuple[Step, ...]:
    """Give the worked lines of the hardest short: how long it lasts, and what the device bears for that long."""
    short = next(iter(met), None)
    if short is None or short.rise is None:
        return ()
    bears = {"W_0": of.i2t, "t": short.time, "t_0": STATED, "p_scale": ROOT}
    return (short.rise, Step(formula=DEVICE_I2T, inputs=bears, note="I²t that the device bears for that long"))


def hint(short: Rating) -> str:
    """Give what else helps where it is the fuse's let-through that no device bears; nothing for another rating."""
    return f" Else take {WAY_OUT}." if short.name in (I2T, PEAK) else ""
