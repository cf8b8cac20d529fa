"""What meters show on one period of a solved wave: straight pieces between its samples, both sides of every jump kept.

All integrals are exact for the straight pieces; a jump is two samples at one place, or a hair apart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from designer.equations import meter as eq
from designer.results import Array

HAND_BAND = 1000.0      # Hz: a.c. range of an ordinary hand meter; from memory
CREST_LIMIT = 3.0       # crest factor up to which a true r.m.s. meter keeps its word at full scale; from memory
HAIR = 1e-9             # of the period: closer than this two samples are one place


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What meters show of one wave, in its own unit (V, A).

    ``mean``: d.c. range; ``rms``: true r.m.s. of a.c. and d.c. together; ``ac``: true r.m.s. behind a capacitor;
    ``average``: average-responding, behind a capacitor and scaled for a sine; ``peak`` and ``trough``: oscilloscope;
    ``inside``: ``ac`` of the harmonics up to the band's end alone. ``scale``: least full scale that bears the crest.
    """

    mean: float
    rms: float
    ac: float
    average: float
    peak: float
    trough: float
    inside: float

    @property
    def crest(self) -> float:
        """Greatest magnitude over r.m.s., a.c. and d.c. together; nan where there is nothing."""
        return _over(max(abs(self.peak), abs(self.trough)), self.rms)

    @property
    def crest_ac(self) -> float:
        """The same behind a capacitor: of the wave less its mean; nan where nothing alternates."""
        return _over(max(self.peak - self.mean, self.mean - self.trough), self.ac)

    @property
    def scale(self) -> float:
        """Full scale of the range that bears the peak with a crest factor of ``CREST_LIMIT``."""
        return float(eq.LEAST_SCALE(V_peak=max(abs(self.peak), abs(self.trough)), crest_max=CREST_LIMIT))

    @property
    def reads_low(self) -> float:
        """Part by which a true r.m.s. a.c. range of the band falls short; 0 where nothing alternates."""
        return max(float(eq.READS_LOW(V_in=self.inside, V_ac=self.ac)), 0.0) if self.ac > 0 else 0.0


def _over(top: float, below: float) -> float:
    return float(eq.CREST_FACTOR(V_peak=top, V_rms=below)) if below > 0 else math.nan


def seen(x: Array, y: Array, *, turn: float | None = None, frequency: float = 50.0, band: float = HAND_BAND) -> Shown:
    """Give what meters show of one period of ``y`` over ``x`` (rad or s, rising; equal places are jumps).

    ``turn``: length of the period in the unit of ``x`` (left out: from the first sample to the last); ``frequency``:
    how often it repeats, Hz; ``band``: end of the a.c. range's band, Hz. Raises ``ValueError`` where ``x`` falls, or
    fewer than two samples are given.

    >>> angle = np.linspace(0.0, 2 * np.pi, 2001)
    >>> round(seen(angle, np.sqrt(2) * 230 * np.sin(angle)).average, 1)
    230.0
    """
    at, value = _closed(np.asarray(x, float), np.asarray(y, float), turn)
    width, period = np.diff(at), float(at[-1] - at[0])
    first, last = value[:-1], value[1:]
    mean = float(np.sum(width * (first + last))) / (2 * period)
    square = float(np.sum(width * (first**2 + first * last + last**2))) / (3 * period)
    rest = value - mean
    ac = math.sqrt(float(np.sum(width * (rest[:-1]**2 + rest[:-1] * rest[1:] + rest[1:]**2))) / (3 * period))
    ac = 0.0 if ac < HAIR * math.sqrt(square) else ac       # the rounding of a steady value
    return Shown(
        mean=mean, rms=math.sqrt(square), ac=ac,
        average=float(eq.AVERAGE_READING(V_abs=_magnitude(width, rest) / period)) if ac else 0.0,
        peak=float(np.max(value)), trough=float(np.min(value)),
        inside=min(_harmonics(at, value, orders=int(band / frequency * (1 + HAIR))), ac))


def _closed(x: Array, y: Array, turn: float | None) -> tuple[Array, Array]:
    """The wave over its whole period: the last piece back to the first sample, where samples stop short of it."""
    if len(x) < 2 or np.any(np.diff(x) < 0) or not x[-1] > x[0]:
        raise ValueError("a wave needs two samples or more at rising places")
    end = x[0] + (x[-1] - x[0] if turn is None else turn)
    if end > x[-1]:
        return np.append(x, end), np.append(y, y[0])
    return x, y


def _magnitude(width: Array, value: Array) -> float:
    """Integral of the magnitude of straight pieces; those that cross zero count as two triangles."""
    first, last = np.abs(value[:-1]), np.abs(value[1:])
    crossing = value[:-1] * value[1:] < 0
    both = np.where(crossing, first + last, 1.0)
    return float(np.sum(width * np.where(crossing, (first**2 + last**2) / (2 * both), (first + last) / 2)))


def _harmonics(x: Array, y: Array, *, orders: int) -> float:
    """R.m.s. of the harmonics 1 to ``orders`` of straight pieces, by the closed integral of each."""
    if orders < 1:
        return 0.0
    turn = float(x[-1] - x[0])
    place, width = 2 * np.pi * (x - x[0]) / turn, 2 * np.pi * np.diff(x) / turn
    middle, mean, rise = (place[:-1] + place[1:]) / 2, (y[:-1] + y[1:]) / 2, np.diff(y)
    order = np.arange(1, orders + 1)[:, None]
    half = order * width / 2
    small = half < 1e-3
    safe = np.where(small, 1.0, half)
    tilt = np.where(small, half / 6, (np.sin(safe) - safe * np.cos(safe)) / (2 * safe**2))
    pieces = width * np.exp(-1j * order * middle) * (mean * np.sinc(half / np.pi) - 1j * rise * tilt)
    coefficients = np.sum(pieces, axis=1) / np.pi
    return float(np.sqrt(np.sum(np.abs(coefficients) ** 2) / 2))
