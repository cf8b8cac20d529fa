"""The periodic current of a chopped series motor on evenly spaced nodes of its on-time and of its off-time.

The unknowns are the currents at the nodes; linkage, curve and slopes are exact there. Newton's rounds run on the
linkages; only the slope of the last (and least) term of the scheme is held, so that a round wins many digits.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from designer.motor.flux import Winding
from designer.results import Array, Indices, Mask

ROUNDS, FEW = 60, 6   # of Newton: a bound, not a setting; after how many a move may be the rounding's
ROUGH = 1e-6         # of the crest, likewise, where only a sign is asked for
NEAR = 0.03          # of the tolerance: a move of a node, as a share of the crest, at which all are settled
NEAREST = 1e-12      # likewise, of the crest: no less can be told
LASTING = 1e-14      # of a deviation, lost in a period: less is no steady state
TINY = 1e-300
DEEPEST = 1e3       # greatest currents: how far below zero a trial may go


class Drives(Protocol):
    """What a loop has to tell; V, ohm, rad/s, s, one entry a point."""

    @property
    def on_voltage(self) -> Array:
        """With the bus."""

    @property
    def off_voltage(self) -> Array:
        """Without it."""

    @property
    def on_resistance(self) -> Array:
        """With the switch's slope."""

    @property
    def off_resistance(self) -> Array:
        """With the diode's slope."""

    @property
    def speed(self) -> Array:
        """Of the shaft."""

    @property
    def on_time(self) -> Array:
        """Of the switch."""

    @property
    def off_time(self) -> Array:
        """The rest of the period."""

    def __getitem__(self, chosen: Indices) -> Drives:
        """Some of the points."""


@dataclass(frozen=True, kw_only=True)
class Laid:
    """One of the two times on its nodes: ``time`` (s) it lasts; current (A) by (node, point)."""

    time: Array
    current: Array

    @property
    def doubled(self) -> Array:
        """The current on twice the nodes, straight between them, A."""
        woven = np.empty((2 * len(self.current) - 1, self.current.shape[1]))
        woven[::2] = self.current
        woven[1::2] = 0.5 * (self.current[1:] + self.current[:-1])
        return woven

    def __getitem__(self, chosen: Indices) -> Laid:
        return Laid(time=self.time[chosen], current=self.current[:, chosen])


@dataclass(frozen=True, kw_only=True)
class State:
    """Both times, and where the current is continuous; where it is not, the off-time ends with it."""

    on: Laid
    off: Laid
    continuous: Mask

    def __getitem__(self, chosen: Indices) -> State:
        return State(on=self.on[chosen], off=self.off[chosen], continuous=self.continuous[chosen])


@dataclass(frozen=True, kw_only=True)
class _Chain:
    """The change of each node's linkage: ``share`` of the first node's, and ``add`` (V·s); linkage at both ends."""

    share: Array
    add: Array
    inductance: Array
    ends: tuple[Array, Array]

    def __getitem__(self, chosen: slice) -> _Chain:
        return _Chain(share=self.share[:, chosen], add=self.add[:, chosen], inductance=self.inductance[:, chosen],
                      ends=(self.ends[0][chosen], self.ends[1][chosen]))


@dataclass(frozen=True, kw_only=True)
class _Both:
    """What drives the current in on-time and off-time, one after the other; V, ohm, rad/s."""

    voltage: Array
    resistance: Array
    speed: Array

    @classmethod
    def of(cls, loop: Drives) -> _Both:
        """Both times of a loop."""
        return cls(voltage=np.concatenate((loop.on_voltage, loop.off_voltage)),
                   resistance=np.concatenate((loop.on_resistance, loop.off_resistance)),
                   speed=np.concatenate((loop.speed, loop.speed)))


def simpson(values: Array, time: Array) -> Array:
    """Integrate by (node, point) over ``time`` (s); the number of steps is even."""
    inner = 4 * values[1:-1:2].sum(axis=0) + 2 * values[2:-1:2].sum(axis=0)
    return np.asarray((values[0] + inner + values[-1]) * time / (3 * (len(values) - 1)))


def laid(loop: Drives, winding: Winding, steps: int, *, crest: Array, tolerance: float) -> State:
    """Solve the nodes of on-time and off-time from nothing; ``crest`` (A) bounds the current.

    Raises ``ArithmeticError`` where a loop gains current every period (no resistance and no speed).
    """
    share = np.linspace(0.0, 1.0, steps + 1)[:, None]
    rise = np.minimum(loop.on_voltage * loop.on_time / winding.inductance(0.0), crest)
    on, off = Laid(time=loop.on_time, current=share * rise), Laid(time=loop.off_time, current=share[::-1] * rise)
    near = max(NEAR * tolerance, NEAREST)
    # as if the current could fall below zero: where it would, there is none at turn-on
    found = _settled(loop, winding, State(on=on, off=off, continuous=np.ones(len(rise), bool)), near=near)
    continuous = found.on.current[0] > 0
    ended = np.flatnonzero(~continuous)
    if not ended.size:
        return found
    # from a start without current
    loop, short = loop[ended], found[ended]
    start = State(on=_lifted(short.on, short.on.current[0]), off=_lifted(short.off, short.on.current[0]),
                  continuous=np.zeros(ended.size, bool))
    tried = _settled(loop, winding, start, near=None)
    off = Laid(time=_crossing(tried.off.current, loop.off_time), current=np.maximum(tried.off.current, 0.0))
    again = _settled(loop, winding, replace(tried, off=off), near=near)
    return _merged(found, ended, again)


def _merged(into: State, at: Indices, values: State) -> State:
    """The same with other states at some of the points."""
    on, off = into.on.current.copy(), into.off.current.copy()
    ends, continuous = into.off.time.copy(), into.continuous.copy()
    on[:, at], off[:, at], ends[at], continuous[at] = (
        values.on.current, values.off.current, values.off.time, values.continuous)
    return State(on=replace(into.on, current=on), off=Laid(time=ends, current=off), continuous=continuous)


def _lifted(part: Laid, low: Array) -> Laid:
    """The same that begins without current."""
    return replace(part, current=part.current - low)


def refined(loop: Drives, winding: Winding, known: State, *, tolerance: float) -> State:
    """The same on twice the nodes; anew where steps that were too wide took the one conduction for the other."""
    on, off = (Laid(time=part.time, current=part.doubled) for part in (known.on, known.off))
    state = State(on=on, off=off, continuous=known.continuous)
    found = _settled(loop, winding, state, near=max(NEAR * tolerance, NEAREST))
    wrong = np.flatnonzero(np.where(
        known.continuous, found.on.current[0] <= 0, (found.off.time >= loop.off_time) & (found.off.current[-1] > 0)))
    if not wrong.size:
        return found
    crest = np.maximum(found.on.current[:, wrong].max(axis=0), TINY)
    again = laid(loop[wrong], winding, len(found.on.current) - 1, crest=crest, tolerance=tolerance)
    return _merged(found, wrong, again)


def _crossing(current: Array, time: Array) -> Array:
    """About when the current first falls to zero, s."""
    below = current[1:] <= 0
    first, column = below.argmax(axis=0), np.arange(current.shape[1])
    before, after = current[first, column], current[first + 1, column]
    share = np.where(before > after, before / np.where(before > after, before - after, 1.0), 1.0)
    return np.asarray(time * (first + np.clip(share, 1e-6, 1.0)) / (len(current) - 1))


def _settled(loop: Drives, winding: Winding, known: State, *, near: float | None) -> State:
    """Newton's rounds over all nodes, until none moves by more than ``near`` of the crest.

    With ``near`` the ends of discontinuous off-times go where the current does; without it they stay, roughly solved.
    """
    on, off, ends, periodic = known.on.current, known.off.current, known.off.time, known.continuous
    both = _Both.of(loop)
    before = np.inf
    for count in range(ROUNDS):
        rising, falling = _chains(both, winding, (on, off), np.concatenate((loop.on_time, ends)))
        # the change of the first node: back to it after a period, or to no current
        joint = rising.ends[1] - falling.ends[0]
        share = falling.share[-1] * rising.share[-1]
        add = falling.share[-1] * (rising.add[-1] + joint) + falling.add[-1] + falling.ends[1] - rising.ends[0]
        lasting = np.where(periodic, 1 - share, 1.0)
        if np.any(lasting <= LASTING):
            at = int(np.argmin(lasting))
            raise ArithmeticError(f"no steady state: a loop without resistance gains current every period (point {at})")
        first = np.where(periodic, add / lasting, -rising.ends[0])
        turn = rising.share[-1] * first + rising.add[-1] + joint
        new_on = on + (rising.share * first + rising.add) / rising.inductance
        new_off = off + (falling.share * turn + falling.add) / falling.inductance
        crest = np.maximum(np.abs(new_on).max(axis=0), TINY)
        moved = max(_moved(new_on, on, crest), _moved(new_off, off, crest))
        floor = -DEEPEST * crest
        on, off = np.maximum(new_on, floor), np.maximum(new_off, floor)
        if near is not None and not periodic.all():
            step = np.where(periodic, 0.0, _overshoot(loop, winding, off[-1]))
            stepped = np.clip(ends + step, 0.5 * ends, loop.off_time)
            moved = max(moved, float((np.abs(stepped - ends) / np.maximum(ends, TINY)).max()))
            ends = stepped
        if moved <= (ROUGH if near is None else near) or (count > FEW and moved < 1e-9 and moved >= before):
            break
        before = moved
    return State(on=Laid(time=loop.on_time, current=on), off=Laid(time=ends, current=off), continuous=periodic)


def _moved(new: Array, old: Array, crest: Array) -> float:
    return float((np.abs(new - old).max(axis=0) / crest).max())


def _overshoot(loop: Drives, winding: Winding, current: Array) -> Array:
    """Time (s) by which the current's end lies after the last node."""
    linkage, _, drive, _ = _here(loop.off_voltage, (loop.off_resistance, loop.speed), winding, current)
    return np.asarray(linkage / np.where(drive < 0, -drive, np.inf))


def _here(
    voltage: Array, falls: tuple[Array, Array], winding: Winding, current: Array
) -> tuple[Array, Array, Array, Array]:
    """Linkage λ (V·s), inductance (H), f = dλ/dt (V) and −df/dλ (1/s) at a current; all straight below zero."""
    positive = np.maximum(current, 0.0)
    below = current - positive
    linkage, inductance, odd, slope = winding.everything(positive)
    if np.any(below):
        linkage, odd = linkage + winding.inductance(0.0) * below, odd + winding.curve.initial_slope * below
    drive = voltage - falls[0] * current - falls[1] * odd
    return linkage, inductance, drive, (falls[0] + falls[1] * slope) / inductance


def _chains(both: _Both, winding: Winding, current: tuple[Array, Array], time: Array) -> tuple[_Chain, _Chain]:
    """On-time and off-time side by side: a call costs about the same for twice the points."""
    count = current[0].shape[1]
    found = _chain(both.voltage, (both.resistance, both.speed), winding, np.concatenate(current, axis=1), time)
    return found[:count], found[count:]


def _chain(voltage: Array, falls: tuple[Array, Array], winding: Winding, current: Array, time: Array) -> _Chain:
    """One round of Newton's method from node to node, at ``current`` by (node, point)."""
    linkage, inductance, drive, slope = _here(voltage, falls, winding, current)
    half = 0.5 * time / (len(current) - 1)
    part = slope * (half / 3)
    push = half * drive
    swing = part * push                    # w²·f′/12, its sign turned
    over = 1 + half * slope[1:] * (1 + part[1:])
    keep = (1 - half * slope[:-1] * (1 - part[:-1])) / over
    gain = (linkage[:-1] - linkage[1:] + push[:-1] + push[1:] - swing[:-1] + swing[1:]) / over
    share, add = np.ones_like(current), np.zeros_like(current)
    for n, (factor, term) in enumerate(zip(keep, gain, strict=True)):
        np.multiply(share[n], factor, out=share[n + 1])
        np.multiply(add[n], factor, out=add[n + 1])
        add[n + 1] += term
    return _Chain(share=share, add=add, inductance=inductance, ends=(linkage[0], linkage[-1]))
