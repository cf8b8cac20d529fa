"""What spreads, by which law, and how it is drawn; what the outputs then say, and which input matters most."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import ndtr, ndtri

from designer.results import Array
from designer.tolerance.corner import Corner

SIGMAS = 3.0            # a normal spread ends there
LEVELS = 5              # steps of equal probability of an inductance
PERCENTILES = (1.0, 5.0, 25.0, 50.0, 75.0, 95.0, 99.0)
BINS = 40               # of a histogram


@dataclass(frozen=True, kw_only=True)
class Input:
    """One thing that spreads: its law between ``low`` and ``high`` in ``unit``, and where that comes from."""

    name: str
    words: str
    unit: str
    law: Literal["uniform", "normal"]
    low: float
    high: float
    source: str
    levels: int = 0

    @property
    def centre(self) -> float:
        """The middle, where the nominal state stands."""
        return 0.5 * (self.low + self.high)

    @property
    def deviation(self) -> float:
        """Standard deviation: of a uniform law width/√12, of a normal one what truncation at 3 σ leaves."""
        if self.law == "uniform":
            return float((self.high - self.low) / np.sqrt(12.0))
        density = np.exp(-0.5 * SIGMAS**2) / np.sqrt(2 * np.pi)
        left = 1 - 2 * SIGMAS * density / (2 * float(ndtr(SIGMAS)) - 1)
        return float((self.high - self.low) / (2 * SIGMAS) * np.sqrt(left))

    def at(self, probability: Array) -> Array:
        """The value below which a share of ``probability`` lies."""
        if self.levels:
            probability = (np.floor(probability * self.levels) + 0.5) / self.levels
        if self.law == "uniform":
            return self.low + (self.high - self.low) * probability
        cut = float(ndtr(-SIGMAS))
        return np.asarray(self.centre + (self.high - self.low) / (2 * SIGMAS) * ndtri(
            cut + (1 - 2 * cut) * probability))


def spread_of(name: str, *, share: float, words: str, source: str) -> Input:
    """A factor about 1 with a normal law of the standard uncertainty ``share``."""
    return Input(name=name, words=words, unit="1", law="normal", low=1 - SIGMAS * share, high=1 + SIGMAS * share,
                 source=source, levels=LEVELS if name == "inductance" else 0)


def drawn(inputs: tuple[Input, ...], samples: int, seed: int) -> dict[str, Array]:
    """Draw ``samples`` of every input, independent of each other, from PCG64 with ``seed``."""
    even = np.random.Generator(np.random.PCG64(seed)).random((samples, len(inputs)))
    return {one.name: one.at(even[:, k]) for k, one in enumerate(inputs)}


def changed(inputs: tuple[Input, ...]) -> dict[str, Array]:
    """The centre, then each input alone one standard deviation down and up."""
    rows = np.tile([one.centre for one in inputs], (1 + 2 * len(inputs), 1))
    for k, one in enumerate(inputs):
        rows[1 + 2 * k, k] -= one.deviation
        rows[2 + 2 * k, k] += one.deviation
    return {one.name: rows[:, k] for k, one in enumerate(inputs)}


@dataclass(frozen=True, kw_only=True)
class Output:
    """What one quantity does over the samples; values in ``unit``.

    ``percentiles`` by per cent; ``counts`` of samples between the ``edges``; ``missing`` samples have no value.
    """

    name: str
    words: str
    unit: str
    nominal: float
    mean: float
    deviation: float
    percentiles: Mapping[float, float]
    edges: Array
    counts: Array
    missing: int


def output(name: str, values: Array, *, words: str, unit: str, nominal: float) -> Output:
    """Mean, deviation, percentiles and histogram of ``values`` (nan where a sample has none)."""
    some = values[np.isfinite(values)]
    if not some.size:
        nothing = np.array([])
        return Output(name=name, words=words, unit=unit, nominal=nominal, mean=np.nan, deviation=np.nan,
                      percentiles=dict.fromkeys(PERCENTILES, np.nan), edges=nothing, counts=nothing,
                      missing=len(values))
    counts, edges = np.histogram(some, bins=BINS)
    return Output(
        name=name, words=words, unit=unit, nominal=nominal, mean=float(np.mean(some)),
        deviation=float(np.std(some, ddof=1)) if some.size > 1 else 0.0,
        percentiles=dict(zip(PERCENTILES, np.percentile(some, PERCENTILES).tolist(), strict=True)),
        edges=edges, counts=counts, missing=len(values) - some.size)


@dataclass(frozen=True, kw_only=True)
class Influence:
    """What one input does to one output, by four measures.

    ``low`` and ``high``: how far the output moves, the input alone one standard deviation down and up (exact model).
    ``regression`` is the standardised coefficient of a linear regression on all inputs, ``rank`` the rank
    correlation, ``share`` the input's part of the variance that the regression explains.
    """

    input: str
    output: str
    low: float
    high: float
    regression: float
    rank: float
    share: float


def influences(
    inputs: Sequence[Input], draws: Mapping[str, Array], values: Array, *, name: str, alone: Array,
) -> tuple[tuple[Influence, ...], float]:
    """Every input's influence on ``values``, the largest first, and the share that the regression explains.

    ``alone``: the output at the centre, then with each input one standard deviation down and up, as ``changed``.
    """
    good = np.isfinite(values)
    if good.sum() <= len(inputs) + 1 or np.ptp(values[good]) == 0:
        return (), np.nan
    columns = np.column_stack([draws[one.name][good] for one in inputs])
    y = values[good]
    x = (columns - columns.mean(axis=0)) / np.where(columns.std(axis=0) > 0, columns.std(axis=0), 1.0)
    wanted = (y - y.mean()) / y.std()
    weights, *_ = np.linalg.lstsq(x, wanted, rcond=None)
    explained = float(1 - np.mean((wanted - x @ weights) ** 2))
    ranks, place = np.apply_along_axis(_ranks, 0, columns), _ranks(y)
    total = float(np.sum(weights**2)) or 1.0
    made = [Influence(
        input=one.name, output=name, low=float(alone[1 + 2 * k] - alone[0]), high=float(alone[2 + 2 * k] - alone[0]),
        regression=float(weights[k]), rank=_correlation(ranks[:, k], place), share=float(weights[k] ** 2 / total))
        for k, one in enumerate(inputs)]
    return tuple(sorted(made, key=lambda one: -one.share)), explained


def _ranks(values: Array) -> Array:
    """Ranks from 1 on; equal values share the mean of theirs."""
    _, place, counts = np.unique(values, return_inverse=True, return_counts=True)
    return np.asarray((np.cumsum(counts) - 0.5 * (counts - 1))[place])


def _correlation(one: Array, other: Array) -> float:
    a, b = one - one.mean(), other - other.mean()
    scale = float(np.sqrt(np.sum(a * a) * np.sum(b * b)))
    return float(np.sum(a * b)) / scale if scale else 0.0


@dataclass(frozen=True, kw_only=True)
class Spread:
    """What Monte Carlo found: samples, seed, what spreads, outputs, influences and shares.

    ``bands``: share of the samples whose speed stays within that share of the target. ``changes``: share of those
    whose speed changes from no load to full load by no more than that share of the target (none without a load).
    ``reached``: share in which the target can be reached at all; ``reachable``: whether it is at nominal.
    ``resolved`` states were found one by one, ``unsolved`` samples have none (the motor stands, runs away, or burns).
    ``explained`` by output: how much of its variance the regression tells.
    """

    reachable: bool
    samples: int
    seed: int
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    influences: Mapping[str, tuple[Influence, ...]]
    explained: Mapping[str, float]
    bands: tuple[tuple[float, float], ...]
    changes: tuple[tuple[float, float], ...]
    asked: float | None
    reached: float
    resolved: int
    unsolved: int
    corners: tuple[Corner, ...]
    notes: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """True where the target is reached at nominal, and every sample has a steady state."""
        return self.reachable and self.unsolved == 0
