"""Flux curve k(i), the inductance that follows from it, and both against flux linkage.

k is the speed voltage per rad/s, equal to the torque per ampere (V·s = N·m/A). Between the readings
it follows a shape-preserving cubic; the linkage of a winding is then closed form, and marching on
linkage keeps the order of an integrator, which the curve's kinks in slope would cost it otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

import numpy as np

from designer.results import Array, Mask

Remanence = Literal["drop", "keep", "follows-current"]


@dataclass(frozen=True, kw_only=True)
class FluxCurve:
    """Speed constant against field current: readings, joined by a monotone cubic.

    ``current`` (A, rising from above 0) and ``value`` (V·s, remanence already taken off) are the
    readings of the odd part g; ``remanence`` is k at 0 A.
    """

    current: tuple[float, ...]
    value: tuple[float, ...]
    remanence: float = 0.0

    @classmethod
    def from_points(cls, points: tuple[tuple[float, float], ...]) -> FluxCurve:
        """Take ``(A, V·s)`` pairs in rising order; a row at 0 A is the remanence."""
        remanence = points[0][1] if points[0][0] == 0.0 else 0.0
        rest = [point for point in points if point[0] > 0.0]
        return cls(
            current=tuple(i for i, _ in rest),
            value=tuple(k - remanence for _, k in rest),
            remanence=remanence,
        )

    @property
    def last_current(self) -> float:
        """The largest current that was read, A."""
        return self.current[-1]

    @property
    def linear(self) -> bool:
        """True where one chord is all there is, so that g is a straight line up to the last reading."""
        return len(self.current) == 1

    @cached_property
    def end_slope(self) -> float:
        """Slope at the last reading: the last chord's, reduced as the chords fall."""
        x, y = np.array((0.0, *self.current)), np.array((0.0, *self.value))
        chords = np.diff(y) / np.diff(x)
        if len(chords) == 1:
            return float(chords[0])
        last, previous = chords[-1], chords[-2]
        return float(last * min(1.0, last / previous)) if previous > 0 else 0.0

    @cached_property
    def _cubics(self) -> tuple[Array, Array]:
        """Left ends of the pieces on ``[0, last]``, and their coefficients by rising power (rows)."""
        x, y = np.array((0.0, *self.current)), np.array((0.0, *self.value))
        slopes = _inner_slopes(np.concatenate((-x[:0:-1], x)), np.concatenate((-y[:0:-1], y)))[len(x) - 1 :]
        slopes = np.append(slopes[:-1], self.end_slope)
        h, chord = np.diff(x), np.diff(y) / np.diff(x)
        bend = (slopes[:-1] + slopes[1:] - 2 * chord) / h
        return x[:-1], np.array((y[:-1], slopes[:-1], (chord - slopes[:-1]) / h - bend, bend / h))

    def _piece(self, i: Array) -> tuple[Array, Array]:
        """Distance into its piece, and the coefficients of it, for every current up to the last reading."""
        starts, rows = self._cubics
        at = np.searchsorted(starts, i, side="right") - 1
        return i - starts[at], rows[:, at]

    @cached_property
    def initial_slope(self) -> float:
        """g′(0), V·s/A."""
        return float(self._cubics[1][1, 0])

    def odd(self, current: Array | float) -> Array:
        """Give the odd part sgn(i)·g(|i|), V·s."""
        i = np.abs(current)
        last = self.last_current
        t, (c0, c1, c2, c3) = self._piece(np.minimum(i, last))
        inside = c0 + t * (c1 + t * (c2 + t * c3))
        beyond = self.end_slope * last * -np.expm1(-np.maximum(i - last, 0.0) / last)
        return np.asarray(np.sign(current) * (inside + beyond))

    def slope(self, current: Array | float) -> Array:
        """Give g′(|i|), V·s/A."""
        i = np.abs(current)
        last = self.last_current
        tail = self.end_slope * np.exp(-np.maximum(i - last, 0.0) / last)
        t, (_, c1, c2, c3) = self._piece(np.minimum(i, last))
        return np.asarray(np.where(i > last, tail, c1 + t * (2 * c2 + 3 * t * c3)))

    def odd_and_slope(self, current: Array) -> tuple[Array, Array]:
        """Give g (V·s) and g′ (V·s/A) at currents that are zero or more, in one go."""
        last = self.last_current
        beyond = np.maximum(current - last, 0.0) / last
        t, (c0, c1, c2, c3) = self._piece(np.minimum(current, last))
        fall = np.expm1(-beyond)
        odd = c0 + t * (c1 + t * (c2 + t * c3)) - self.end_slope * last * fall
        slope = np.where(beyond > 0, self.end_slope * (1 + fall), c1 + t * (2 * c2 + 3 * t * c3))
        return np.asarray(odd), np.asarray(slope)

    def at(self, current: Array | float, remanence: Remanence = "follows-current") -> Array:
        """Give k(i), V·s, with the remanence dropped, kept, or with the current's sign."""
        odd = self.odd(current)
        if remanence == "keep":
            return odd + self.remanence
        return odd if remanence == "drop" else odd + self.remanence * np.sign(current)

    @cached_property
    def steepest(self) -> float:
        """Largest slope anywhere, V·s/A."""
        starts, (_, _, c2, c3) = self._cubics
        bends = starts - c2 / np.where(c3 == 0, np.inf, 3 * c3)
        ends = np.append(starts[1:], self.last_current)
        bends = bends[(bends > starts) & (bends < ends)]
        return float(np.max(self.slope(np.concatenate((starts, ends, bends)))))

    @cached_property
    def _plain(self) -> bool:
        """True where the curve is nowhere steeper than at its start."""
        return self.steepest <= self.initial_slope * (1 + 1e-12)

    def shape(self, current: Array | float) -> Array:
        """Give ∫ min(1, g′/g′(0)) di from 0 to i ≥ 0, in A: the linkage per unit of main inductance."""
        return self.shape_of(current, self.odd(current))

    def shape_of(self, current: Array | float, odd: Array) -> Array:
        """Give :meth:`shape` where g (``odd``, V·s) is known already."""
        g = odd / self.initial_slope
        if self._plain:
            return g
        edges, straight, steps = self._clipped
        i = np.asarray(current, float)
        piece = np.searchsorted(edges, i, side="right") - 1
        return np.asarray(np.where(straight[piece], i, g) + steps[piece])

    def _slope_meets(self, value: float) -> Array:
        """Currents inside the pieces at which the slope passes ``value``."""
        starts, (_, c1, c2, c3) = self._cubics
        ends = np.append(starts[1:], self.last_current)
        root = np.sqrt(np.maximum(c2 * c2 - 3 * c3 * (c1 - value), 0.0))
        # both roots of 3·c3·t² + 2·c2·t + c1 = value, in the form that stays exact when c3 is small
        q = -(c2 + np.where(c2 < 0, -root, root))
        t = np.array((np.divide(q, 3 * c3, out=np.full_like(q, -1.0), where=c3 != 0),
                      np.divide(c1 - value, q, out=np.full_like(q, -1.0), where=q != 0)))
        i = starts + t
        return np.asarray(i[(i > starts) & (i < ends)])

    @cached_property
    def _clipped(self) -> tuple[Array, Mask, Array]:
        """Edges of the pieces, where the clip holds in them, and what keeps the integral continuous."""
        found = self._slope_meets(self.initial_slope)
        last = self.last_current
        # the tail's slope falls from end_slope by 1/e over each last_current
        tail = last * (1 + np.log(max(self.end_slope / self.initial_slope, 1.0)))
        inner = {float(x) for x in (*self.current, *found, tail) if np.isfinite(x) and x > 0.0}
        edges = np.array((0.0, *sorted(inner)))
        middles = np.append((edges[:-1] + edges[1:]) / 2, 2 * edges[-1])
        straight = self.slope(middles) >= self.initial_slope
        g = self.odd(edges) / self.initial_slope
        grown = np.where(straight[:-1], np.diff(edges), np.diff(g))
        reached = np.concatenate(((0.0,), np.cumsum(grown)))
        return edges, straight, reached - np.where(straight, edges, g)


def _inner_slopes(x: Array, y: Array) -> Array:
    """PCHIP's slopes at the inner points, 0 at both ends.

    Weighted harmonic mean of the two chords where they have one sign, else 0. Source: F. N. Fritsch and
    J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984). Written out because importing the library's
    interpolation costs as much as all the marching of a design; a test holds it against the library.
    """
    h, chord = np.diff(x), np.diff(y) / np.diff(x)
    before, after = chord[:-1], chord[1:]
    w1, w2 = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
    rising = before * after > 0
    safe = np.where(rising, before, 1.0), np.where(rising, after, 1.0)
    inner = np.where(rising, (w1 + w2) / (w1 / safe[0] + w2 / safe[1]), 0.0)
    return np.concatenate(((0.0,), inner, (0.0,)))


@dataclass(frozen=True, kw_only=True)
class Winding:
    """Everything that stores flux in one current path: constant inductance and a saturating part.

    ``constant`` (H) does not saturate; ``main`` (H) follows the curve's slope. Linkage is
    ``constant·i + main·shape(i)``, V·s.
    """

    curve: FluxCurve
    constant: float
    main: float

    def linkage(self, current: Array | float) -> Array:
        """Give the flux linkage at ``current`` (A, ≥ 0), V·s."""
        i = np.asarray(current, float)
        return self.constant * i + (self.main * self.curve.shape(i) if self.main else 0.0)

    def inductance(self, current: Array | float) -> Array:
        """Give the incremental inductance dλ/di at ``current``, H."""
        if not self.main:
            return np.full(np.shape(current), self.constant)
        share = np.minimum(1.0, self.curve.slope(current) / self.curve.initial_slope)
        return np.asarray(self.constant + self.main * share)

    def everything(self, current: Array) -> tuple[Array, Array, Array, Array]:
        """Give linkage (V·s), inductance (H), g (V·s) and g′ (V·s/A) at currents that are zero or more, in one go."""
        odd, slope = self.curve.odd_and_slope(current)
        if not self.main:
            return self.constant * current, np.full(np.shape(current), self.constant), odd, slope
        first = self.curve.initial_slope
        return (self.constant * current + self.main * self.curve.shape_of(current, odd),
                self.constant + self.main * np.minimum(1.0, slope / first), odd, slope)

    def current(self, linkage: Array) -> Array:
        """Invert :meth:`linkage`: A from V·s (≥ 0), by a cubic through 8000 exact pairs (error about 1e-9)."""
        target = np.asarray(linkage, float)
        top = float(np.max(target, initial=0.0)) / self.least or 1.0
        grid = top * np.linspace(0.0, 1.0, 8001) ** 1.5
        known = self.linkage(grid)
        reached = int(np.searchsorted(known, target.max(initial=0.0))) + 2
        known, grid = known[:reached], grid[:reached]
        j = np.clip(np.searchsorted(known, target, side="right") - 1, 0, len(known) - 2)
        width = known[j + 1] - known[j]
        t = (target - known[j]) / width
        slope = width / self.inductance(grid)[[j, j + 1]]
        rise = grid[j + 1] - grid[j]
        bend, twist = 3 * rise - 2 * slope[0] - slope[1], slope[0] + slope[1] - 2 * rise
        return np.asarray(grid[j] + t * (slope[0] + t * (bend + t * twist)))

    @property
    def least(self) -> float:
        """The inductance when the main part is fully saturated (all of it where none is), H."""
        return self.constant or self.main


@dataclass(frozen=True, kw_only=True)
class LinkageTable:
    """Current and the curve's odd part as straight pieces over evenly spaced linkage, for marching.

    In cell j, i = rows[0, j] + rows[2, j]·λ and g = rows[1, j] + rows[3, j]·λ.
    The error of a piece falls with the square of its width.
    """

    step: float
    rows: Array

    @classmethod
    def reaching(cls, winding: Winding, highest: float) -> LinkageTable:
        """Give a table that reaches at least the linkage ``highest``, V·s; kept for the next call."""
        return _table(winding, 1.25 ** math.ceil(math.log(highest, 1.25)) if highest > 0 else 1.0)

    @classmethod
    def build(cls, winding: Winding, highest: float, cells: int = 16384) -> LinkageTable:
        """Tabulate up to the linkage ``highest``, V·s."""
        linkage = np.linspace(0.0, highest, cells + 1)
        current = winding.current(linkage)
        values = np.stack((current, winding.curve.odd(current)))
        step = highest / cells
        slopes = np.diff(values, axis=1) / step
        return cls(step=step, rows=np.concatenate((values[:, :-1] - slopes * linkage[:-1], slopes)))

    def rows_at(self, linkage: Array, into: Array | None = None, spare: Array | None = None) -> Array:
        """Give the four rows in the cells that hold ``linkage``; the first and the last cell reach on beyond.

        ``into`` (four times as large) and ``spare`` (twice) are arrays to write to, where they are there already.
        """
        if spare is None:
            cell = (linkage * (1.0 / self.step)).astype(np.intp)
        else:
            cell = spare[1].view(np.intp)
            np.multiply(linkage, 1.0 / self.step, out=spare[0])
            np.copyto(cell, spare[0], casting="unsafe")
        return self.rows.take(cell, axis=1, out=into, mode="clip")

    def at(self, linkage: Array) -> tuple[Array, Array]:
        """Give current and odd part at ``linkage`` as the rows of one array, and their slopes likewise."""
        found = self.rows_at(linkage)
        slopes = found[2:]
        return found[:2] + slopes * linkage, slopes


@lru_cache(maxsize=64)
def _table(winding: Winding, highest: float) -> LinkageTable:
    return LinkageTable.build(winding, highest)
