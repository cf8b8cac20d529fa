"""A chopper whose current makes its own field: armature and a saturating field winding in one loop, periodic.

dλ/dt = V − R·i(λ) − ω·g(i(λ)), with the bus while the switch conducts and without it while the diode does. Where
curve and inductance are straight lines that is the closed form of ``chopper`` with R + ω·g′ in the place of R.
Else all nodes of on-time and off-time are solved at once, by λ1 = λ0 + w·(f0 + f1)/2 + w²·(f0′ − f1′)/12 from node
to node (fourth order, stable at any width: Hairer, Nørsett and Wanner, Solving Ordinary Differential Equations,
from memory). Each round of Newton's method is a chain of straight lines, which closes on itself after a period: the
periodic state needs no marching. Steps are halved until nothing moves.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np
from scipy.optimize.elementwise import find_root

from designer.motor.flux import Winding
from designer.results import Array, Indices, Mask
from designer.waveforms.chopper import Loop, chopped
from designer.waveforms.periodic import Periodic
from designer.waveforms.series_nodes import State, laid, refined, simpson

FINE = 1e-9                  # of the crest: how far a trace's nodes are settled
FEWEST, HALVINGS = 2, 12      # steps of each of the two times: to begin with, and how often they may be halved


@dataclass(frozen=True, kw_only=True)
class SeriesLoop:
    """The loop of a chopped series motor, one entry a point; V, ohm, rad/s, s.

    ``on_voltage``: bus less switch threshold, brush drop and remanent speed voltage; ``off_voltage`` likewise
    without the bus, zero or below. The resistances hold both windings and the slope of the device.
    """

    on_voltage: Array
    off_voltage: Array
    on_resistance: Array
    off_resistance: Array
    speed: Array
    period: Array
    on_time: Array

    def __len__(self) -> int:
        return len(self.period)

    def __getitem__(self, chosen: Mask | Indices | slice) -> SeriesLoop:
        return SeriesLoop(**{item.name: getattr(self, item.name)[chosen] for item in fields(self)})

    @property
    def off_time(self) -> Array:
        """Time from turn-off of the switch to its next turn-on, s."""
        return np.asarray(self.period - self.on_time)

    def straight(self, slope: float, inductance: float | Array) -> Loop:
        """The same with g = ``slope``·i (V·s/A) and a constant inductance (H), in closed form."""
        return Loop(
            on_voltage=self.on_voltage, off_voltage=self.off_voltage,
            on_resistance=self.on_resistance + slope * self.speed,
            off_resistance=self.off_resistance + slope * self.speed,
            inductance=np.broadcast_to(inductance, len(self)).astype(float), period=self.period, on_time=self.on_time)


@dataclass(frozen=True, kw_only=True)
class SeriesChopped(Periodic):
    """The current of one period.

    ``sums``: rows of what passes in it: charge (A·s) and square (A²·s) through the switch, both through the diode,
    and the pull ∫ g·i (V·s·A·s).
    """

    sums: Array

    def __getitem__(self, chosen: Mask | Indices | slice) -> SeriesChopped:
        return SeriesChopped(**{item.name: getattr(self, item.name)[..., chosen] for item in fields(self)})

    @property
    def on_charge(self) -> Array:
        """Charge through the switch, A·s per period."""
        return np.asarray(self.sums[0])

    @property
    def on_square(self) -> Array:
        """∫ i² dt through the switch, A²·s per period."""
        return np.asarray(self.sums[1])

    @property
    def off_charge(self) -> Array:
        """Charge through the diode, A·s per period."""
        return np.asarray(self.sums[2])

    @property
    def off_square(self) -> Array:
        """∫ i² dt through the diode, A²·s per period."""
        return np.asarray(self.sums[3])

    @property
    def pull(self) -> Array:
        """∫ g·i dt, V·s·A·s per period."""
        return np.asarray(self.sums[4])


def series_chopped(loop: SeriesLoop, winding: Winding, *, tolerance: float) -> SeriesChopped:
    """Give the periodic current of every point, to ``tolerance`` of its peak, charge, square and pull.

    No current flows where ``on_voltage`` ≤ 0 or ``on_time`` = 0. Raises ``ValueError`` where the loop drives
    itself (``off_voltage`` above zero), ``ArithmeticError`` where there is no steady state or no step is fine enough.
    """
    if np.any(loop.off_voltage > 0):
        raise ValueError(f"a series motor does not drive itself (point {int(np.argmax(loop.off_voltage > 0))})")
    count = len(loop)
    found = SeriesChopped(
        continuous=np.zeros(count, bool), extinction=np.full(count, np.nan), period=loop.period,
        first=np.zeros(count), peak=np.zeros(count), sums=np.zeros((5, count)))
    flows = (loop.on_voltage > 0) & (loop.on_time > 0)
    if not winding.main and winding.curve.linear:
        found = _straight(loop, winding)
        flows &= found.greatest > winding.curve.last_current
    at = np.flatnonzero(flows)
    if at.size:
        _put(found, at, _halved(loop[at], winding, tolerance))
    return found


def _put(into: SeriesChopped, where: Indices, values: SeriesChopped) -> None:
    for name in ("first", "peak", "continuous", "extinction", "sums"):
        getattr(into, name)[..., where] = getattr(values, name)


def _straight(loop: SeriesLoop, winding: Winding) -> SeriesChopped:
    """The closed form; right where the current stays within the straight curve."""
    slope = winding.curve.initial_slope
    one = chopped(loop.straight(slope, winding.constant))
    squares = one.on_square, one.off_square
    return SeriesChopped(
        continuous=one.continuous, first=one.first, peak=one.peak, extinction=one.extinction, period=one.period,
        sums=np.array((one.on_charge, squares[0], one.off_charge, squares[1], slope * (squares[0] + squares[1]))))


def _bound(loop: SeriesLoop, winding: Winding) -> Array:
    """A current, A, that none of the points passes: direct current, or the mean's own and one rise from there."""
    resistance = np.minimum(loop.on_resistance, loop.off_resistance)
    rise = loop.on_voltage * loop.on_time / winding.least
    with np.errstate(divide="ignore"):
        mean = rise * winding.least / (loop.period * resistance)
        direct = loop.on_voltage / loop.on_resistance
    return np.asarray(np.minimum(mean + rise, direct))


def _halved(loop: SeriesLoop, winding: Winding, tolerance: float) -> SeriesChopped:
    """Halve the steps of those points that still move."""
    state = laid(loop, winding, FEWEST, crest=_bound(loop, winding), tolerance=tolerance)
    coarse, todo = _summed(loop, winding, state), np.arange(len(loop))
    found = coarse[todo]
    for _ in range(HALVINGS):
        state = refined(loop, winding, state, tolerance=tolerance)
        fine = _summed(loop, winding, state)
        moved = _moved(fine, coarse)
        _put(found, todo, fine)
        left = np.flatnonzero(~(moved <= tolerance))
        if not left.size:
            return found
        loop, state, coarse, todo = loop[left], state[left], fine[left], todo[left]
    raise ArithmeticError(f"no step is fine enough for this chopper (point {int(todo[0])})")


def _moved(fine: SeriesChopped, coarse: SeriesChopped) -> Array:
    """The greatest change of current, charge, square and pull, each as a share of its own."""
    crest = np.maximum(fine.first, fine.peak)
    charge, square = fine.sums[0] + fine.sums[2], fine.sums[1] + fine.sums[3]
    whole = np.array((charge, square, charge, square, fine.sums[4]))
    ends = np.maximum(np.abs(fine.first - coarse.first), np.abs(fine.peak - coarse.peak)) / crest
    return np.asarray(np.maximum(ends, (np.abs(fine.sums - coarse.sums) / whole).max(axis=0)))


def _summed(loop: SeriesLoop, winding: Winding, state: State) -> SeriesChopped:
    """What the nodes tell."""
    rows, pull = [], np.zeros(len(loop))
    for part in (state.on, state.off):
        current = np.maximum(part.current, 0.0)
        rows += [simpson(current, part.time), simpson(current**2, part.time)]
        pull += simpson(current * winding.curve.odd(current), part.time)
    return SeriesChopped(
        continuous=state.continuous, first=state.on.current[0] * state.continuous, peak=state.on.current[-1],
        extinction=np.where(state.continuous, np.nan, loop.on_time + state.off.time), period=loop.period,
        sums=np.array((*rows, pull)))


def series_limited(
    loop: SeriesLoop, winding: Winding, *, limit: float, shortest: float, tolerance: float
) -> SeriesLoop:
    """Give the loop with the on-times that a current limit (A) leaves, none below ``shortest`` (s).

    All points pass the limit at their own on-time; the peak grows with it: one root a point.
    """
    def excess(on_time: Array, index: Array) -> Array:
        tried = replace(loop[index.astype(np.intp)], on_time=on_time)
        return np.asarray(series_chopped(tried, winding, tolerance=tolerance).greatest - limit)

    low = np.minimum(shortest, loop.period)
    on_time, at = low.copy(), np.arange(len(loop), dtype=float)
    held = at[(excess(low, at) < 0) & (low < loop.on_time)]
    if held.size:
        own = held.astype(np.intp)
        found = find_root(excess, (low[own], loop.on_time[own]), args=(held,), tolerances={
            "xatol": 0.1 * tolerance * float(loop.period.min()), "fatol": 0.0})
        on_time[own] = found.x
    return replace(loop, on_time=on_time)


def _traced(loop: SeriesLoop, winding: Winding, steps: int) -> State:
    return laid(loop, winding, 2 * (steps // 2), crest=_bound(loop, winding), tolerance=FINE)


def series_trace(loop: SeriesLoop, winding: Winding, steps: int = 180) -> tuple[Array, Array]:
    """Give time from turn-on (s) and current (A) of every point over one period with both ends, by (node, point).

    Turn-off is a node, and the end of the current where it has one; after that it stays zero.
    """
    state, share = _traced(loop, winding, steps), np.linspace(0.0, 1.0, 2 * (steps // 2) + 1)[:, None]
    on, off = state.on, state.off
    rest = off.time + (loop.off_time - off.time) * share[1:]
    time = np.concatenate((share * loop.on_time, loop.on_time + share[1:] * off.time, loop.on_time + rest))
    last = np.broadcast_to(off.current[-1] * state.continuous, rest.shape)
    current = np.concatenate((on.current, off.current[1:-1], last[:1], last))
    flows = (loop.on_voltage > 0) & (loop.on_time > 0)
    return time, np.asarray(np.maximum(current, 0.0) * flows)


def series_mean(loop: SeriesLoop, winding: Winding, of: Callable[[Array], Array], steps: int = 64) -> Array:
    """Give the mean over the period of a function of the current (A), its value at no current included."""
    state, flows = _traced(loop, winding, steps), (loop.on_voltage > 0) & (loop.on_time > 0)
    parts = [(np.maximum(part.current, 0.0), part.time * flows) for part in (state.on, state.off)]
    rest = of(np.zeros(len(loop))) * (loop.period - parts[0][1] - parts[1][1])
    return np.asarray((sum(simpson(of(current), time) for current, time in parts) + rest) / loop.period)
