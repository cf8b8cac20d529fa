"""The currents of a linear motor behind a rectifier while one set of devices conducts, in closed form.

Each mode is one or two first-order equations with a constant and a sine that drive them. With x the angle since the
mode began, every current is c·cos x + s·sin x + b + Σ r_k·w_k(x), w_k = (1 − exp(−κ_k·x))/κ_k, which stays exact as
a rate κ_k goes to zero. In overlap motor and source are coupled by the freewheel path's resistance; the two equations
part along the main axes of their symmetric matrix (scaled by the roots of the inductances).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from designer.results import Array, Indices, Mask
from designer.waveforms.rectified import FREEWHEEL, OVERLAP, SOURCE, Rectified

_ITERATIONS = 60
_NEAR = 1e-9           # rad
_TINY = 1e-300

#: value and slope at an angle
Valued = Callable[[Array], tuple[Array, Array]]


@dataclass(frozen=True, kw_only=True)
class Course:
    """One current of a mode: the coefficients of its cosine, sine, constant, and of each w_k (rows)."""

    cosine: Array
    sine: Array
    base: Array
    rates: tuple[Array, ...]

    def at(self, basis: Basis) -> Array:
        """Give the current, A."""
        total = wide(self.cosine, basis.cosine) * basis.cosine + wide(self.sine, basis.cosine) * basis.sine
        total += wide(self.base, basis.cosine)
        for rate, grown in zip(self.rates, basis.grown, strict=True):
            total += wide(rate, basis.cosine) * grown
        return np.asarray(total)

    def slope(self, basis: Basis) -> Array:
        """Give the slope, A/rad."""
        total = wide(self.sine, basis.cosine) * basis.cosine - wide(self.cosine, basis.cosine) * basis.sine
        for rate, kappa, grown in zip(self.rates, basis.kappas, basis.grown, strict=True):
            total += wide(rate, basis.cosine) * (1 - wide(kappa, basis.cosine) * grown)
        return np.asarray(total)

    def __getitem__(self, chosen: Indices) -> Course:
        return Course(cosine=self.cosine[chosen], sine=self.sine[chosen], base=self.base[chosen],
                      rates=tuple(rate[chosen] for rate in self.rates))


@dataclass(frozen=True, kw_only=True)
class Basis:
    """The functions of x that the currents are sums of, at some angles of each point."""

    cosine: Array
    sine: Array
    kappas: tuple[Array, ...]
    grown: tuple[Array, ...]


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One mode of some points from ``start`` (rad) on: their places, rates, and both currents.

    ``sign``: with which sign the source's sine stands at the path's devices (−1 while the pulse before still flows).
    """

    places: Indices
    mode: int
    start: Array
    sign: Array
    kappas: tuple[Array, ...]
    motor: Course
    source: Course
    length: Array

    def __len__(self) -> int:
        return len(self.places)

    def basis(self, x: Array) -> Basis:
        """Give the functions of x (rad since the start; a row a point, or one value a point)."""
        grown = []
        for kappa in self.kappas:
            rate = wide(kappa, x)
            grown.append(np.where(rate > 0, -np.expm1(-rate * x) / np.maximum(rate, _TINY), x))
        return Basis(cosine=np.cos(x), sine=np.sin(x), kappas=self.kappas, grown=tuple(grown))

    def __getitem__(self, chosen: Indices) -> Piece:
        return Piece(places=self.places[chosen], mode=self.mode, start=self.start[chosen], sign=self.sign[chosen],
                     kappas=tuple(kappa[chosen] for kappa in self.kappas), motor=self.motor[chosen],
                     source=self.source[chosen], length=self.length[chosen])

    def ended(self, length: Array) -> Piece:
        """The same with its length, rad."""
        return replace(self, length=length)


def wide(value: Array | Mask, like: Array) -> NDArray[Any]:
    """Give one value a point in the shape of ``like``: as a column where that has a row a point."""
    return value[:, None] if like.ndim == 2 else value


def _axis(*, start: Array, initial: Array, kappa: Array, constant: Array, sine: Array) -> Course:
    """The solution of z' = −κ·z + constant + sine·sin θ from ``initial`` at ``start``."""
    share = sine / (1 + kappa**2)      # forced part: share·(κ·sin θ − cos θ)
    s, c = np.sin(start), np.cos(start)
    at_start, quarter = share * (kappa * s - c), share * (kappa * c + s)
    left = initial - at_start
    return Course(cosine=at_start, sine=quarter, base=left, rates=(constant - kappa * left,))


def piece(circuit: Rectified, inductance: Array, mode: int, *, places: Indices,
          begin: tuple[Array, Array, Array, Array]) -> Piece:
    """Give the currents of ``mode`` for the points at ``places`` of the circuit.

    ``begin``: angle (rad), motor current and source current (A), sign of the source's sine.
    """
    some, henries = circuit[places], inductance[places]
    start, motor, _, sign = begin
    zero = np.zeros(len(places))
    none = Course(cosine=zero, sine=zero, base=zero, rates=(zero,))
    if mode == OVERLAP:
        return _overlap(some, henries, places=places, begin=begin)
    if mode == SOURCE:
        reactance = some.omega * (henries + some.source_inductance)
        kappa = (some.source_resistance + some.on_slope + some.resistance) / reactance
        course = _axis(start=start, initial=motor, kappa=kappa, constant=-(some.on_threshold + some.back) / reactance,
                       sine=sign * some.peak / reactance)
        both = course, course
    elif mode == FREEWHEEL:
        reactance = some.omega * henries
        kappa = (some.freewheel_slope + some.resistance) / reactance
        course = _axis(start=start, initial=motor, kappa=kappa,
                       constant=-(some.freewheel_threshold + some.back) / reactance, sine=zero)
        both = course, none
    else:
        kappa, both = zero, (none, none)
    return Piece(places=places, mode=mode, start=start, sign=sign, kappas=(kappa,), motor=both[0], source=both[1],
                 length=zero)


def _overlap(some: Rectified, henries: Array, *, places: Indices, begin: tuple[Array, Array, Array, Array]) -> Piece:
    """Both paths conduct: two coupled equations, along the main axes of their matrix."""
    start, motor, source, sign = begin
    root_m, root_s = np.sqrt(some.omega * henries), np.sqrt(some.omega * some.source_inductance)
    first = (some.resistance + some.freewheel_slope) / root_m**2
    second = (some.source_resistance + some.on_slope + some.freewheel_slope) / root_s**2
    mixed = -some.freewheel_slope / (root_m * root_s)
    turn = 0.5 * np.arctan2(2 * mixed, first - second)
    c, s = np.cos(turn), np.sin(turn)
    against = -(some.freewheel_threshold + some.back) / root_m
    driving, sine = (some.freewheel_threshold - some.on_threshold) / root_s, sign * some.peak / root_s
    kappas, axes = [], []
    for a, b in ((c, s), (-s, c)):
        # no passive path has a negative rate; rounding may say so of one that has none
        kappa = np.maximum(first * a * a + 2 * mixed * a * b + second * b * b, 0.0)
        kappas.append(kappa)
        axes.append(_axis(start=start, initial=a * root_m * motor + b * root_s * source, kappa=kappa,
                          constant=a * against + b * driving, sine=b * sine))
    one, two = axes
    return Piece(places=places, mode=OVERLAP, start=start, sign=sign, kappas=tuple(kappas),
                 motor=_mixed(one, two, c / root_m, -s / root_m), source=_mixed(one, two, s / root_s, c / root_s),
                 length=np.zeros(len(places)))


def _mixed(one: Course, two: Course, a: Array, b: Array) -> Course:
    return Course(cosine=a * one.cosine + b * two.cosine, sine=a * one.sine + b * two.sine,
                  base=a * one.base + b * two.base, rates=(a * one.rates[0], b * two.rates[0]))


def falling_root(function: Valued, *, low: Array, high: Array) -> Array:
    """Give where ``function`` (value and slope) falls through zero, to rounding.

    It is above zero just after ``low`` and not above it at ``high``: Newton's steps, halving where they leave.
    """
    low, high = np.array(low, float), np.array(high, float)
    middle, open_ = 0.5 * (low + high), np.ones(low.shape, bool)
    for _ in range(_ITERATIONS):
        value, slope = function(middle)
        above = value > 0
        low, high = np.where(above, middle, low), np.where(above, high, middle)
        after = middle - value / np.where(slope < 0, slope, -_TINY)
        after = np.where((after >= low) & (after <= high), after, 0.5 * (low + high))
        after = np.where(open_, after, middle)
        open_ &= np.abs(after - middle) > _NEAR      # the next step would be its square
        middle = after
        if not open_.any():
            break
    return np.asarray(middle)
