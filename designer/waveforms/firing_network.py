"""Breakover-device (diac) firing network: the periodic solution with the charge left over.

One R-C, or two in cascade, charge the capacitor from which the breakover device fires the triac. The
network is linear between events, so each stretch is exact (sine and exponentials in the network's own
modes) and each event a root. Events: the device breaks over and takes the fold-back voltage out of the
last capacitor; it goes on conducting as long as the network feeds it more than its sustaining current;
the triac turns on (two-wire: the network's supply collapses to the triac's drop) and off again.

Each half cycle is written as a positive one, its predecessor's state with the sign turned. Many
potentiometer settings, and corners of the parts, run at once as arrays.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from designer.results import Array
from designer.waveforms.network_modes import Lanes, Network, Stretch, Supply, lanes_of

__all__ = ["Firing", "Network", "Supply", "fire"]

Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_GRID = 49           # points between events in which a crossing is looked for
_ROOT_STEPS = 40     # of the bracketed secant; six or so are enough
_EVENTS = 5000       # in one half cycle; far above what the sustaining current allows


@dataclass(frozen=True, kw_only=True)
class Firing:
    """Firing angles (rad, nan where the triac stays off) of positive and negative half cycles.

    Three-wire, the angle is the command: whether the other half's current has ended is for the caller.
    ``charge``: voltages on the capacitors at the positive-going zero; ``network_current`` (A r.m.s.)
    through the potentiometer; ``settled``: the state repeats.
    """

    positive: Array
    negative: Array
    charge: Array
    network_current: Array
    settled: Flags

    @property
    def fires(self) -> Flags:
        """True where both half cycles fire."""
        both: Flags = np.isfinite(self.positive) & np.isfinite(self.negative)
        return both


def fire(
    network: Network, *, supply: Supply, potentiometer: ArrayLike, idle: bool = False, most: int = 400,
) -> Firing:
    """Give the periodic firing angles at each ``potentiometer`` resistance (Ω).

    The march starts from discharged capacitors, which settles on the earliest state that holds itself
    (the one met when turning down from full); with ``idle`` it starts from the steady sine of a network
    that has never fired (turning up from off). Ends after ``most`` periods if it has not settled.
    """
    lanes = lanes_of(network, supply, potentiometer)
    nothing = np.zeros(lanes.count)
    start = _Half(
        charge=lanes.idle_state() if idle else np.zeros((lanes.count, lanes.order)),
        held=nothing, spill=nothing, angle=nothing, square=nothing,
    )
    first, second, settled = start, start, nothing.astype(bool)
    for _ in range(most):
        rows = np.flatnonzero(~settled)
        some = lanes.take(rows)
        before = second.take(rows)
        middle = _half_cycle(some, before, 0)
        after = _half_cycle(some, middle, 1)
        moved = np.abs(after.charge - before.charge).max(axis=1) / some.crest
        turned = _moved(after.angle, before.angle) + _moved(middle.angle, first.angle[rows])
        settled[rows] = (moved < 1e-10) & (turned < 1e-10)
        first, second = first.put(rows, middle), second.put(rows, after)
        if settled.all():
            break
    return Firing(
        positive=first.angle, negative=second.angle, charge=second.charge, settled=settled,
        network_current=np.sqrt((first.square + second.square) / (2 * np.pi)),
    )


def _moved(now: Array, before: Array) -> Array:
    moved: Array = np.abs(np.nan_to_num(now) - np.nan_to_num(before))
    return moved


@dataclass(frozen=True, kw_only=True)
class _Half:
    """State at the end of a half cycle, its signs already turned for the next.

    ``held`` is the sign of the conducting breakover device (0: off), ``spill`` how far the triac's
    current reaches into the next half cycle, ``square`` the integral of the squared network current.
    """

    charge: Array
    held: Array
    spill: Array
    angle: Array
    square: Array

    def take(self, rows: Rows) -> _Half:
        """Give some of the lanes."""
        return _Half(**{item.name: getattr(self, item.name)[rows] for item in fields(self)})

    def put(self, rows: Rows, part: _Half) -> _Half:
        """Give all lanes with those of ``part`` in their places."""
        whole = {item.name: getattr(self, item.name).copy() for item in fields(self)}
        for name, values in whole.items():
            values[rows] = getattr(part, name)
        return _Half(**whole)


def _half_cycle(lanes: Lanes, before: _Half, half: int) -> _Half:
    """March one half cycle from event to event."""
    at, charge, held = np.zeros(lanes.count), before.charge.copy(), before.held.copy()
    angle, square = np.full(lanes.count, np.nan), np.zeros(lanes.count)
    for _ in range(_EVENTS):
        rows = np.flatnonzero(at < np.pi)
        if not rows.size:
            return _Half(charge=-charge, held=-held, spill=lanes.spill(angle), angle=angle, square=square)
        some, spill = lanes.take(rows), before.spill[rows]
        stretch, end = _next_stretch(some, (at[rows], charge[rows], held[rows]), spill, np.isfinite(angle[rows]))
        until, event = _first_event(stretch, end, half)
        square[rows] += stretch.square(until)
        state = stretch.at(until[:, None])[:, 0].copy()
        over = event & (stretch.held == 0)
        sign = np.sign(state[:, -1])
        state[:, -1] -= np.where(over, sign * some.fold, 0.0)
        fires = over & np.logical_or(until >= spill, not lanes.two_wire)
        fed = stretch.fed(until[:, None], state[:, None])[:, 0]
        if lanes.two_wire and lanes.order == 1:
            fed = np.where(fires, (some.drop - state[:, 0]) / some.resistance, fed)
        stays = over & (sign * fed > some.sustain)
        at[rows], charge[rows] = until, state
        held[rows] = np.where(event, np.where(stays, sign, 0.0), stretch.held)
        angle[rows] = np.where(fires & np.isnan(angle[rows]), until, angle[rows])
    raise RuntimeError(f"more than {_EVENTS} breakovers in a half cycle")


def _next_stretch(
    lanes: Lanes, now: tuple[Array, Array, Array], spill: Array, fired: Flags,
) -> tuple[Stretch, Array]:
    """What feeds the network from now on, and until when at most."""
    at, charge, held = now
    spilling = lanes.two_wire & (at < spill)
    on = lanes.two_wire & (fired | spilling)
    stretch = Stretch(
        lanes=lanes, start=at, state=charge, held=held, amplitude=np.where(on, 0.0, lanes.crest),
        level=np.where(on, np.where(spilling, -lanes.drop, lanes.drop), 0.0),
    )
    return stretch, np.where(spilling, np.minimum(spill, np.pi), np.pi)


def _first_event(stretch: Stretch, end: Array, half: int) -> tuple[Array, Flags]:
    """The first breakover, or end of conduction of the device, before ``end``; and whether there is one."""
    grid = stretch.start[:, None] + (end - stretch.start)[:, None] * np.linspace(0.0, 1.0, _GRID)
    excess = stretch.excess(grid, half)
    passed = (excess >= 0)[:, 1:]
    event = passed.any(axis=1) & (end > stretch.start)
    rows = np.flatnonzero(event)
    if not rows.size:
        return end, event
    index = passed.argmax(axis=1)[rows]
    until = end.copy()
    until[rows] = _root(
        stretch.take(rows), half, (grid[rows, index], grid[rows, index + 1]),
        (excess[rows, index], excess[rows, index + 1]),
    )
    return until, event


def _root(stretch: Stretch, half: int, bracket: tuple[Array, Array], values: tuple[Array, Array]) -> Array:
    """The angle in the bracket at which the excess reaches zero (secant with the Illinois safeguard)."""
    (low, high), (below, above) = bracket, values
    side = np.zeros(len(low))
    for _ in range(_ROOT_STEPS):
        with np.errstate(divide="ignore", invalid="ignore"):
            middle = high - above * (high - low) / (above - below)
        middle = np.where((middle > low) & (middle < high), middle, (low + high) / 2)
        value = stretch.excess(middle[:, None], half)[:, 0]
        up = value >= 0
        below = np.where(up, np.where(side > 0, below / 2, below), value)
        above = np.where(up, value, np.where(side < 0, above / 2, above))
        low, high, side = np.where(up, low, middle), np.where(up, middle, high), np.where(up, 1.0, -1.0)
        close = np.abs(value) < 1e-10
        if (close | (high - low < 1e-13)).all():
            break
    return np.where(close, middle, high)
