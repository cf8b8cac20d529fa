"""Transient junction temperature: what a device's chain of thermal resistances makes of pulses of loss.

A chain (Foster) adds terms, each a resistance with a time constant. The response to half-sine pulses, one in every
half cycle or cycle of the mains, is exact; what switches fast counts by its mean. Safe side: the case follows at once
and its pulses add to those of the chip; a generic chain warms faster than the curves of most devices.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.optimize import minimize_scalar

from designer.equations import transient as eq
from designer.results import Array
from designer.tables import marked, read

_GRID = 33


@dataclass(frozen=True, kw_only=True)
class Share:
    """A row of the generic chain: share of the junction-to-case resistance, and its time constant (s)."""

    share: float
    time_constant: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Term:
    """One term: thermal resistance (K/W) and time constant (s)."""

    resistance: float
    time_constant: float


@dataclass(frozen=True, kw_only=True)
class Train:
    """Power into a device: mean (W) of half sines of ``width`` s, one every ``period`` s; constant where that is 0."""

    mean: float
    period: float = 0.0
    width: float = 0.0

    @property
    def peak(self) -> float:
        """Peak of the pulses, W; the mean itself where the power is constant."""
        if self.period <= 0 or self.mean <= 0:
            return self.mean
        return float(eq.PULSE_PEAK(P_mean=self.mean, T_p=self.period, w_p=self.width))


def chain(junction_to_case: float, *, given: Iterable[tuple[float, float]] = ()) -> tuple[Term, ...]:
    """Give the chain of a device from its steady resistance, K/W; the user's ``given`` (K/W, s) as it is.

    A given chain that adds up to less than ``junction_to_case`` is scaled up to it.
    """
    own = tuple(Term(resistance=r, time_constant=tau) for r, tau in given)
    if not own:
        return tuple(Term(resistance=row.share * junction_to_case, time_constant=row.time_constant)
                     for row in read("foster_terms", Share))
    scale = max(1.0, junction_to_case / sum(term.resistance for term in own))
    return tuple(Term(resistance=scale * term.resistance, time_constant=term.time_constant) for term in own)


def source() -> str:
    """Where the generic chain comes from."""
    row = read("foster_terms", Share)[0]
    return marked(row.source, row.mark)


def impedance(terms: tuple[Term, ...], *, time: float) -> float:
    """Give the transient thermal resistance, K/W, after ``time`` (s) of constant power."""
    return sum(float(eq.FOSTER_TERM(R_i=term.resistance, tau_i=term.time_constant, t=time)) for term in terms)


def conducting(mean_absolute: float, *, rms: float) -> float:
    """Give the share of the period in which current flows, by its form factor; 1 where there is none."""
    return min(1.0, float(eq.CONDUCTION_SHARE(I_abs=mean_absolute, I_rms=rms))) if min(mean_absolute, rms) > 0 else 1.0


@lru_cache(maxsize=1024)
def peak_rise(terms: tuple[Term, ...], *, before: Train, during: Train, time: float) -> float:
    """Give the highest rise of the junction over its case, K, in ``time`` s of ``during`` after long ``before``.

    Pulses: the highest of the pulse under way at ``time`` (the first one at least) and of the first.
    """
    start = tuple(_settled(term, before) for term in terms)
    if during.period <= 0:
        found = [sum(_steady(term, at, during.mean, when) for term, at in zip(terms, start, strict=True))
                 for when in (0.0, time)]
        return max(found)
    last = max(0, math.ceil(time / during.period - 1e-9) - 1)
    return max(_highest(terms, start, during, passed) for passed in (0, last))


def rises(terms: tuple[Term, ...], *, before: Train, during: Train, times: Array) -> Array:
    """Give the highest rise, K, of the pulse under way at each of ``times`` (s)."""
    return np.array([peak_rise(terms, before=before, during=during, time=float(time)) for time in times])


def rise_at(terms: tuple[Term, ...], *, before: Train, during: Train, time: float) -> float:
    """Give the rise of the junction over its case, K, at the instant ``time`` (s), pulses from 0 on."""
    start = tuple(_settled(term, before) for term in terms)
    if during.period <= 0:
        return sum(_steady(term, at, during.mean, time) for term, at in zip(terms, start, strict=True))
    passed = int(time // during.period)
    within = time - passed * during.period
    return _within(terms, _passed(terms, start, during, passed), during, within)


def _steady(term: Term, at: float, power: float, time: float) -> float:
    """One term's rise, K, after ``time`` s of constant power."""
    return (at * math.exp(-time / term.time_constant)
            + power * float(eq.FOSTER_TERM(R_i=term.resistance, tau_i=term.time_constant, t=time)))


def _left(term: Term, train: Train) -> float:
    return float(eq.AFTER_PULSE(
        R_i=term.resistance, P_m=train.peak, tau_i=term.time_constant, w_p=train.width, T_p=train.period))


def _settled(term: Term, train: Train) -> float:
    """A term's rise, K, at the start of a pulse, when equal pulses have come for long."""
    if train.period <= 0 or train.mean <= 0:
        return term.resistance * train.mean
    return _left(term, train) / -math.expm1(-train.period / term.time_constant)


def _passed(terms: tuple[Term, ...], start: tuple[float, ...], train: Train, passed: int) -> tuple[float, ...]:
    return tuple(float(eq.AFTER_PULSES(
        dT_0=at, n_p=float(passed), T_p=train.period, tau_i=term.time_constant, dT_1=_left(term, train)))
        for term, at in zip(terms, start, strict=True))


def _within(terms: tuple[Term, ...], at: tuple[float, ...], train: Train, time: float) -> float:
    inside = min(time, train.width)
    found = 0.0
    for term, first in zip(terms, at, strict=True):
        rise = float(eq.IN_PULSE(dT_0=first, t=inside, tau_i=term.time_constant, R_i=term.resistance, P_m=train.peak,
                                 w_p=train.width))
        found += rise * math.exp(-(time - inside) / term.time_constant)
    return found


def _highest(terms: tuple[Term, ...], start: tuple[float, ...], train: Train, passed: int) -> float:
    """The highest rise within the pulse that follows ``passed`` others; after it every term falls."""
    at = _passed(terms, start, train, passed)
    grid = np.linspace(0.0, train.width, _GRID)
    values = [_within(terms, at, train, float(time)) for time in grid]
    best = int(np.argmax(values))
    if best == 0:
        return values[0]
    ends = (float(grid[best - 1]), float(grid[min(best + 1, _GRID - 1)]))
    found = minimize_scalar(lambda time: -_within(terms, at, train, float(time)), bounds=ends, method="bounded",
                            options={"xatol": 1e-7 * train.width})
    return max(values[best], -float(found.fun))
