"""The d.c. bus: a bridge with its reservoir on mains, or a d.c. supply, and the chopper that draws from it.

On mains the bridge charges the reservoir with a constant load current, the chopper's mean; the chopper runs at
the mean of the bus; both are found together. A d.c. supply gives its voltage less what its resistance takes of the
mean current (the bus capacitor is ideal for the chopper's ripple).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from designer.circuits.case import Feed
from designer.results import Array, Indices, Mask
from designer.waveforms.rectifier import Bridge, Charged, bus_mean, charged

MOST_ROUNDS = 60
AGREE = 1e-11       # of the bus voltage: a hundredth of the agreement asked for
CLOSE = 1e-7        # likewise, on the curve
SAFE = 0.1          # of ``agree``: what a secant's error may be at most, as the two before tell it
NODES = 25          # currents at which a bridge is solved for its curve
MANY, GRID = 64, 1.02   # supplies at once from which curves are read between others', that are so far apart
TINY = 1e-3         # V: where a curve ends
HEAVY = 0.5         # of the open bus: a ripple beyond that is off the curve


@dataclass(frozen=True, kw_only=True)
class Source:
    """What feeds the bus at each point: V r.m.s. or direct, Hz (0 on direct current)."""

    voltage: Array
    frequency: Array

    def __getitem__(self, chosen: Indices | Mask) -> Source:
        return Source(voltage=self.voltage[chosen], frequency=self.frequency[chosen])


@dataclass(frozen=True, kw_only=True)
class Bus:
    """The bus at every point: V mean, valley, crest; ``current`` (A) drawn from it; ``bridge`` on mains."""

    mean: Array
    valley: Array
    crest: Array
    current: Array
    bridge: Bridge | None
    charged: Charged | None

    def __getitem__(self, chosen: Indices | Mask) -> Bus:
        return Bus(
            mean=self.mean[chosen], valley=self.valley[chosen], crest=self.crest[chosen], current=self.current[chosen],
            bridge=None if self.bridge is None else self.bridge[chosen],
            charged=None if self.charged is None else self.charged[chosen])


def bus(feed: Feed, source: Source, current: Array) -> Bus:
    """Give the bus under a given mean current (A); nan where the load overwhelms the source."""
    if not feed.alternating:
        mean = source.voltage - feed.line_resistance * current
        return Bus(mean=mean, valley=mean, crest=mean, current=current, bridge=None, charged=None)
    bridge = _bridge(feed, source, current)
    found = charged(bridge)
    return Bus(mean=found.mean, valley=found.valley, crest=found.crest, current=current, bridge=bridge, charged=found)


Draw = Callable[[Array, Indices], Array]


def meet(
    feed: Feed, source: Source, draw: Draw, *, least: Array, exact: Literal["no", "usual", "all"]
) -> Array:
    """Give the bus voltage (V, mean) at which ``draw`` is just what it feeds.

    ``draw`` gives A at a bus voltage for the points of the indices, and rises with it; ``least`` (V) is the lowest
    voltage that it takes. On mains the answer lies on the bridge's curve of mean voltage against current; where
    ``exact`` asks for it, it is then found on the bridge itself, to 1e-11: ``"usual"`` up to the end of the curve,
    ``"all"`` beyond it too, which takes long. Beyond it the curve goes straight on; where the load overwhelms the
    source that is all there is, and ``bus`` tells nan.
    """
    top = _open(feed, source)
    if not feed.alternating and feed.line_resistance == 0.0:
        return top
    low = np.minimum(least, top)
    if not feed.alternating:
        straight: Draw = lambda current, at: source.voltage[at] - feed.line_resistance * current   # noqa: E731
        return _crossing(straight, draw, low=low, high=top, guess=top, agree=CLOSE if exact == "no" else AGREE)
    curve = _on_curve(feed, source)
    volts = _crossing(curve, draw, low=low, high=top, guess=top, agree=CLOSE)
    if exact == "no":
        return volts
    tops = _top(feed, source)

    def given(current: Array, at: Indices) -> Array:
        mean = curve(current, at)
        on = np.flatnonzero((current <= tops[at]) | (exact == "all"))
        found = bus_mean(_bridge(feed, source[at[on]], current[on]))
        mean[on] = np.where(np.isfinite(found), found, mean[on])
        return mean

    return _crossing(given, draw, low=low, high=top, guess=volts, agree=AGREE)


def _crossing(given: Draw, draw: Draw, *, low: Array, high: Array, guess: Array, agree: float) -> Array:
    """The voltage v with given(draw(v)) = v: secant steps kept inside the bracket, halved where they leave it.

    The last step is taken untried where the two before it leave an error below ``agree`` (of ``high``): a secant's
    error is about the product of the two before.
    """
    low, high, at = low.copy(), np.maximum(high, low), guess.copy()
    todo = np.arange(len(at))
    value = np.asarray(given(draw(at, todo), todo)) - at
    # a load that draws more the higher the bus: one step of the bus itself lies on the other side
    before, value_before, step = at.copy(), value.copy(), np.clip(at + value, low, high)
    inside = np.zeros(len(at), bool)
    for _ in range(MOST_ROUNDS):
        low, high = np.where(value > 0, np.maximum(at, low), low), np.where(value < 0, np.minimum(at, high), high)
        near = inside & (np.abs(value * value_before) <= SAFE * agree * high**2)
        todo = np.flatnonzero((np.abs(value) > agree * high) & (high - low > agree * high) & ~near)
        if not todo.size:
            break
        before[todo], value_before[todo] = at[todo], value[todo]
        at[todo] = step[todo]
        value[todo] = given(draw(at[todo], todo), todo) - at[todo]
        moved = at - before
        slope = np.divide(value - value_before, moved, out=np.full_like(at, np.nan), where=moved != 0)
        with np.errstate(invalid="ignore", divide="ignore"):
            secant = at - value / slope
        inside = (slope < 0) & (secant > low) & (secant < high)
        step = np.where(inside, secant, 0.5 * (low + high))
    return np.where(near, step, at)


def _on_curve(feed: Feed, source: Source) -> Draw:
    """The bus voltage against the current drawn, by the curve of each point's supply."""
    pairs = list(zip(source.voltage.tolist(), source.frequency.tolist(), strict=True))
    kinds = {pair: n for n, pair in enumerate(dict.fromkeys(pairs))}
    curves = None if len(kinds) < MANY else _between(feed, *np.array(list(kinds)).T)
    if curves is None:
        curves = np.array([_curve(feed, *pair) for pair in kinds])
    which, tops, rows = np.array([kinds[pair] for pair in pairs]), _top(feed, source), curves

    def given(current: Array, at: Indices) -> Array:
        return _read(np.maximum(current, 0.0) / tops[at], rows[which[at]])

    return given


def _between(feed: Feed, voltage: Array, frequency: Array) -> Array | None:
    """Curves of many supplies, read between those of few: cubic on even steps of ln V and ln f.

    None where the bridge of one of the few gives out within its curve.
    """
    places = [np.log(values) / np.log(GRID) for values in (voltage, frequency)]
    firsts = [np.floor(place).astype(int) - 1 for place in places]
    weights = [_cubic(place - first) for place, first in zip(places, firsts, strict=True)]
    total = np.zeros((len(voltage), NODES))
    for row in range(4):
        for column in range(4):
            nodes, which = np.unique((firsts[0] + row, firsts[1] + column), axis=1, return_inverse=True)
            few = np.array([_curve(feed, GRID ** float(v), GRID ** float(f)) for v, f in nodes.T.tolist()])
            if np.any(few <= TINY):
                return None
            total += (weights[0][row] * weights[1][column])[:, None] * few[which.ravel()]
    return total


def _cubic(u: Array) -> tuple[Array, Array, Array, Array]:
    """Lagrange's weights of nodes at 0, 1, 2, 3 for a value at u."""
    return (-(u - 1) * (u - 2) * (u - 3) / 6, u * (u - 2) * (u - 3) / 2,
            -u * (u - 1) * (u - 3) / 2, u * (u - 1) * (u - 2) / 6)


def _top(feed: Feed, source: Source) -> Array:
    """The greatest current of each supply's curve, A."""
    assert feed.reservoir is not None
    return np.asarray(HEAVY * _open(feed, source) * 2 * source.frequency * feed.reservoir.capacitance)


@lru_cache(maxsize=1024)
def _curve(feed: Feed, voltage: float, frequency: float) -> tuple[float, ...]:
    """The mean bus voltage (V) at the cubes of even steps to the greatest current of a supply's curve."""
    full = np.ones(NODES)
    source = Source(voltage=voltage * full, frequency=frequency * full)
    means = bus_mean(_bridge(feed, source, _top(feed, source) * np.linspace(0.0, 1.0, NODES) ** 3))
    good = np.isfinite(means)
    if not good.all():      # a soft source gives out before the ripple tells: straight on from what it can
        last = int(np.argmin(good)) - 1
        means = np.where(good, means, means[max(last, 0)] * np.linspace(2.0, -1.0, NODES).clip(0.0, 1.0))
    return tuple(float(v) for v in means)


def _read(part: Array, means: Array) -> Array:
    """Cubic through the four nearest nodes at the cube root of ``part`` of the greatest current; straight beyond it."""
    x = np.minimum(np.cbrt(part), 1.0) * (NODES - 1)
    first = np.clip(x.astype(int) - 1, 0, NODES - 4)
    u = x - first
    rows = np.arange(len(part))
    value = sum(weight * means[rows, first + k] for k, weight in enumerate(_cubic(u)))
    fall = (means[:, -1] - means[:, -2]) / (1 - ((NODES - 2) / (NODES - 1)) ** 3)     # V per greatest current
    return np.asarray(np.where(part > 1.0, np.maximum(means[:, -1] + fall * (part - 1.0), TINY), value))


def _open(feed: Feed, source: Source) -> Array:
    """The bus without load, V."""
    if not feed.alternating:
        return source.voltage.astype(float)
    return np.asarray(np.sqrt(2.0) * source.voltage - 2 * feed.rectifier.threshold)


def _bridge(feed: Feed, source: Source, current: Array) -> Bridge:
    assert feed.reservoir is not None
    full = np.ones(len(source.voltage))
    return Bridge(
        peak=np.sqrt(2.0) * source.voltage, omega=2 * np.pi * source.frequency,
        resistance=full * (feed.line_resistance + 2 * feed.rectifier.slope), inductance=full * feed.line_inductance,
        drop=full * 2 * feed.rectifier.threshold, capacitance=full * feed.reservoir.capacitance,
        series_resistance=full * feed.reservoir.series_resistance, load_current=np.asarray(current, float))
