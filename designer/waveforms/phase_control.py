"""Periodic steady state of a switch pair (triac) in series with a motor on a sine source.

Each half cycle starts from zero current, so a single march gives it, unless the current of the half
before still flows when the gate calls. Then a gate train turns the device on the instant it lets go
(control is lost), and a short pulse finds it still conducting the other way: every second half cycle
is missed, and direct current flows.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from designer.motor.flux import Winding
from designer.results import Array, Indices, Mask
from designer.waveforms.march import conduct
from designer.waveforms.path import Interval, Path, empty, put

MOST_CYCLES = 400   # cycles until halves of unequal shape repeat; a bound, not a setting


@dataclass(frozen=True, kw_only=True)
class Gate:
    """How the gate is driven: ``pulse`` (rad wide; infinite for a train held to the end), the guard
    before the next zero (rad), and the device's latching current (A; 0 where none is given).
    """

    pulse: float = np.inf
    guard: float = 0.0
    latching: float = 0.0

    def last(self, firing_angle: Array) -> Array:
        """Give the angle at which the gate window closes, rad."""
        return np.minimum(firing_angle + self.pulse, np.pi - self.guard)


@dataclass(frozen=True, kw_only=True)
class Steady:
    """One full period: the positive and the negative half, and what happened to the firing.

    ``late``: the source had not yet risen above what opposes it; ``lost``: the current of the half
    before outlasted the firing angle; ``missed``: that half did not fire (each an array of bool).
    """

    positive: Interval
    negative: Interval
    late: Mask
    lost: Mask
    missed_positive: Mask
    missed_negative: Mask


def earliest(path: Path, firing_angle: Array) -> Array:
    """Give the first angle from the firing angle on at which the source exceeds what opposes it, rad.

    ``nan`` where that never happens in the half cycle.
    """
    share = path.opposing / path.peak
    opens = np.arcsin(np.clip(share, 0.0, 1.0))
    when = np.maximum(firing_angle, opens)
    # "exceeds": at the angle where both are equal nothing flows yet, but a moment later it does
    return np.where((share < 1.0) & (when < np.pi - opens), when, np.nan)


def steady(
    positive: Path, winding: Winding, firing_angle: Array, *, gate: Gate, tolerance: float,
    negative: tuple[Path, Array] | None = None,
) -> Steady:
    """Give the periodic steady state of every point.

    ``negative`` (path and firing angle of the other half, in its own angle) is given only where the
    halves differ: remanence kept, or unequal firing.
    """
    solver = _Solver(winding=winding, gate=gate, tolerance=tolerance)
    if negative is None:
        return solver.equal_halves(positive, firing_angle)
    return solver.unequal_halves((positive, negative[0]), (firing_angle, negative[1]))


@dataclass(frozen=True, kw_only=True)
class _Solver:
    winding: Winding
    gate: Gate
    tolerance: float

    def half(self, path: Path, turn_on: Array) -> Interval:
        """Conduction from ``turn_on``; the points where it is nan stay empty."""
        result = empty(len(path))
        fires = np.flatnonzero(np.isfinite(turn_on))
        if fires.size:
            level = self.gate.latching or np.inf
            put(result, fires, conduct(path[fires], self.winding, turn_on[fires],
                                       tolerance=self.tolerance, latching=level))
        return result

    def latches(self, half: Interval, last: Array) -> Mask:
        """True where the latching current was reached before the gate window closed."""
        if not self.gate.latching:
            return np.isfinite(half.extinction)
        return np.isfinite(half.extinction) & (half.latched <= last)

    def drop(self, half: Interval, fired: Mask) -> Interval:
        """Empty the points that did not fire."""
        missed = np.flatnonzero(~fired)
        put(half, missed, empty(missed.size))
        return half

    def equal_halves(self, path: Path, firing_angle: Array) -> Steady:
        last = self.gate.last(firing_angle)
        turn_on = earliest(path, firing_angle)
        turn_on = np.where(turn_on < last, turn_on, np.nan)
        half = self.half(path, turn_on)
        fired = self.latches(half, last)
        late = fired & (turn_on > firing_angle)
        outlasts = fired & (half.extinction - np.pi > turn_on)
        # a pulse that is over before the current of the other half is: that other half never fires
        blocked = outlasts & (half.extinction - np.pi > last)
        lost = np.flatnonzero(outlasts & ~blocked)
        if lost.size:
            angle = self._overlapping(path[lost], turn_on[lost], half.extinction[lost] - np.pi)
            put(half, lost, self.half(path[lost], angle))
            half.extinction[lost] = angle + np.pi
        half = self.drop(half, fired)
        other = self.drop(half[slice(None)], ~blocked) if not blocked.any() else self.drop(_copy(half), ~blocked)
        return Steady(
            positive=half, negative=other, late=late, lost=outlasts,
            missed_positive=~fired, missed_negative=~fired | blocked,
        )

    def _overlapping(self, path: Path, low: Array, high: Array) -> Array:
        """The turn-on angle from which the current lasts exactly half a period: secant in a bracket."""
        def excess(at: Indices, angle: Array) -> Array:
            return self.half(path[at], angle).extinction - np.pi - angle

        everything = np.arange(len(path))
        # a later start ends no later; the hair keeps the signs apart where both ends almost agree
        low, high = low.copy(), high + 1e-3
        left, right = high - 1e-3 - low, excess(everything, high)
        best = low - left * (high - low) / (right - left)
        todo = everything
        for _ in range(40):
            now = excess(todo, best[todo])
            later = now > 0
            up, down = todo[later], todo[~later]
            low[up], left[up] = best[up], now[later]
            high[down], right[down] = best[down], now[~later]
            after = (low - left * (high - low) / (right - left))[todo]
            moved = np.abs(after - best[todo])
            best[todo] = after
            # the false position has come much closer than it last moved
            todo = todo[moved > 3 * self.tolerance]
            if not todo.size:
                break
        return best

    def unequal_halves(self, paths: tuple[Path, Path], firing: tuple[Array, Array]) -> Steady:
        lasts = self.gate.last(firing[0]), self.gate.last(firing[1])
        opens = earliest(paths[0], firing[0]), earliest(paths[1], firing[1])
        count = len(paths[0])
        halves = [empty(count), empty(count)]
        fired = [np.zeros(count, bool), np.zeros(count, bool)]
        until = np.full(count, -np.inf)      # extinction of the half before, in this half's angle
        todo = np.arange(count)
        for cycle in range(2 * MOST_CYCLES):
            side = cycle % 2
            path, first, last = paths[side][todo], opens[side][todo], lasts[side][todo]
            turn_on = np.maximum(first, until[todo])
            turn_on = np.where(turn_on < last, turn_on, np.nan)
            half = self.half(path, turn_on)
            latched = self.latches(half, last)
            half = self.drop(half, latched)
            before = halves[side].turn_on[todo]
            put(halves[side], todo, half)
            fired[side][todo] = latched
            # what is left of a half that did not fire is what was left before it, one half cycle less
            until[todo] = np.where(latched, half.extinction, until[todo]) - np.pi
            if side:
                continue
            change = np.abs(np.nan_to_num(half.turn_on, nan=-9.0) - np.nan_to_num(before, nan=-9.0))
            if cycle:
                todo = todo[change > 0.01 * self.tolerance]
                if not todo.size:
                    break
        lost = np.zeros(count, bool)
        for side in (0, 1):
            outlived = halves[1 - side].extinction - np.pi
            lost |= fired[1 - side] & (outlived > np.fmax(opens[side], -9.0))
        late = (fired[0] & (opens[0] > firing[0])) | (fired[1] & (opens[1] > firing[1]))
        return Steady(
            positive=halves[0], negative=halves[1], late=late, lost=lost,
            missed_positive=~fired[0], missed_negative=~fired[1],
        )


def _copy(half: Interval) -> Interval:
    return half[np.arange(len(half.extinction))]
