"""One full period of a mains circuit on a common grid of angles, and its harmonics."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from designer.motor.flux import Winding
from designer.results import Array
from designer.waveforms.march import trace
from designer.waveforms.path import Interval, Path

NODES = 512            # per half cycle; even, for Simpson's rule
REST = 721             # evenly spaced angles over the period besides
ORDERS = 40


@dataclass(frozen=True, kw_only=True)
class HalfTrace:
    """One half cycle of one point: angle in its own half (rad), current (A, ≥ 0), odd part of k (V·s)."""

    angle: Array
    current: Array
    odd: Array

    @property
    def conducts(self) -> bool:
        """False where the half did not fire."""
        return bool(np.isfinite(self.angle[0]))


def half_traces(path: Path, winding: Winding, half: Interval) -> tuple[HalfTrace, ...]:
    """Trace a half cycle of every point."""
    rows = trace(path, winding, half, nodes=NODES)
    return tuple(HalfTrace(angle=a, current=i, odd=g) for a, i, g in zip(*rows, strict=True))


def half_trace(path: Path, winding: Winding, half: Interval) -> HalfTrace:
    """Trace the first point of a half cycle."""
    return half_traces(path[[0]], winding, half[[0]])[0]


@dataclass(frozen=True, kw_only=True)
class Series:
    """Fourier series of the line current over the period: i = mean + Σ (a_n·cos nθ + b_n·sin nθ), A."""

    mean: float
    a: Array
    b: Array

    @property
    def rms(self) -> Array:
        """R.m.s. value of the orders 1 to 40, A."""
        return np.asarray(np.hypot(self.a, self.b) / np.sqrt(2.0))

    @property
    def displacement_factor(self) -> float:
        """Cosine of the angle between the fundamental and the source's sine."""
        return float(self.b[0] / np.hypot(self.a[0], self.b[0])) if self.rms[0] else 0.0


def series(halves: tuple[HalfTrace, HalfTrace]) -> Series:
    """Give the Fourier series of the line current, by Simpson's rule on the traced nodes."""
    orders = np.arange(ORDERS + 1)[:, None]
    total = np.zeros(ORDERS + 1, complex)
    for sign, shift, half in ((1.0, 0.0, halves[0]), (-1.0, np.pi, halves[1])):
        if half.conducts:
            weights = np.ones(NODES + 1)
            weights[1:-1:2], weights[2:-1:2] = 4.0, 2.0
            weights *= (half.angle[-1] - half.angle[0]) / NODES / 3
            total += sign * np.exp(1j * orders * (half.angle + shift)) @ (weights * half.current)
    total /= np.pi
    return Series(mean=float(total[0].real / 2), a=total[1:].real, b=total[1:].imag)


@dataclass(frozen=True, kw_only=True)
class Period:
    """One full period, both ends included: angle (rad), current (A), odd part of k (V·s), and the sign
    of the half that conducts (0 while off). A switching instant stands twice, a rounding apart.
    """

    angle: Array
    current: Array
    odd: Array
    on: Array


def period(halves: tuple[HalfTrace, HalfTrace]) -> Period:
    """Lay both halves on one period; what lies beyond its end is put at its beginning."""
    turn = 2 * np.pi
    blocks = []
    for sign, shift, half in ((1.0, 0.0, halves[0]), (-1.0, np.pi, halves[1])):
        if not half.conducts:
            continue
        theta = half.angle + shift
        for start in (0.0, turn):
            inside = np.clip(theta, start, start + turn)
            at = np.unique(inside[(theta >= start) & (theta <= start + turn) | (inside != theta)])
            at = at[(at >= theta[0]) & (at <= theta[-1])]
            if at.size > 1:
                current, odd = (sign * np.interp(at, theta, y) for y in (half.current, half.odd))
                blocks.append(np.array((at - start, current, odd, np.full(at.size, sign))))
    rest = np.linspace(0.0, turn, REST)
    edges = [e for block in blocks for e in
             (np.nextafter(block[0, 0], -np.inf), np.nextafter(block[0, -1], np.inf))]
    free = np.concatenate((rest, [e for e in edges if 0.0 <= e <= turn]))
    for block in blocks:
        free = free[(free < block[0, 0]) | (free > block[0, -1])]
    off = np.zeros((4, free.size))
    off[0] = free
    columns = np.concatenate((off, *blocks), axis=1)
    angle, current, odd, on = columns[:, np.argsort(columns[0], kind="stable")]
    return Period(angle=angle, current=current, odd=odd, on=on)
