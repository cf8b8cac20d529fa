"""Weighted least squares with errors in every quantity: Gauss-Newton on whitened equations, and its covariance.

Each reading's equations are whitened with their own covariance, taken at the present parameters; what is known
before any reading stands as one more equation a parameter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from designer.motor.fit_rows import Block, Layout
from designer.results import Array

MOST_STEPS = 40
SETTLED = 1e-5          # of a standard uncertainty: a step this small ends the search


@dataclass(frozen=True, kw_only=True)
class Known:
    """What is known of a parameter before any reading: value and standard uncertainty."""

    value: float
    uncertainty: float


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Blocks of readings, parameters, what is known of them, and where none may go below zero."""

    blocks: tuple[Block, ...]
    layout: Layout
    known: Mapping[str, Known]
    positive: tuple[str, ...] = ()

    def without(self, place: int) -> Problem:
        """Give the same without the reading at ``place`` of the file."""
        kept = tuple(b.keeping(np.array([p != place for p in b.places], bool)) for b in self.blocks)
        return replace(self, blocks=tuple(b for b in kept if b.places))


@dataclass(frozen=True, kw_only=True)
class Solution:
    """Parameters with their covariance, the sum of squares, and the degrees of freedom."""

    problem: Problem
    values: Array
    covariance: Array
    squares: float
    freedom: int

    def value(self, name: str) -> float:
        """Give one parameter."""
        return float(self.values[self.problem.layout.place(name)])

    def uncertainty(self, name: str) -> float:
        """Give one parameter's standard uncertainty."""
        place = self.problem.layout.place(name)
        return float(np.sqrt(self.covariance[place, place]))


def whitened(block: Block, layout: Layout, values: Array) -> tuple[Array, Array]:
    """Give the equations of a block divided by their errors (reading, equation), and their slopes likewise."""
    said = block.equations(layout, values, block.measured)
    root = np.linalg.cholesky(block.covariance(said))
    stacked = np.linalg.solve(root, np.concatenate((said.value[:, :, None], said.parameters), axis=2))
    return stacked[:, :, 0], stacked[:, :, 1:]


def _stack(problem: Problem, values: Array) -> tuple[Array, Array]:
    """All equations, whitened: readings first, then what is known."""
    parts = [whitened(block, problem.layout, values) for block in problem.blocks]
    places = [problem.layout.place(name) for name in problem.known]
    sigma = np.array([known.uncertainty for known in problem.known.values()])
    centre = np.array([known.value for known in problem.known.values()])
    prior = np.zeros((len(places), len(values)))
    prior[np.arange(len(places)), places] = 1.0 / sigma
    residuals = [r.ravel() for r, _ in parts] + [(values[places] - centre) / sigma]
    slopes = [j.reshape(-1, len(values)) for _, j in parts] + [prior]
    return np.concatenate(residuals), np.concatenate(slopes)


def solve(problem: Problem, start: Array) -> Solution:
    """Give the least squares from ``start``; a parameter that would fall below zero where it must not is held there.

    The covariance is that of the fit without the bounds: a friction of 0 ± x is what such a reading says.
    """
    held: set[int] = set()
    floor = [problem.layout.place(name) for name in problem.positive if problem.layout.has(name)]
    values = np.array(start, float)
    while True:
        values, slopes, residuals = _descend(problem, values, held)
        below = {place for place in floor if values[place] < 0 and place not in held}
        if not below:
            break
        held |= below
        values[list(below)] = 0.0
    scale = np.sqrt((slopes**2).sum(axis=0))
    scale[scale == 0] = 1.0
    inner = slopes / scale
    covariance = np.linalg.pinv(inner.T @ inner, hermitian=True) / np.outer(scale, scale)
    return Solution(problem=problem, values=values, covariance=covariance, squares=float(residuals @ residuals),
                    freedom=max(len(residuals) - len(values), 1))


def _descend(problem: Problem, values: Array, held: set[int]) -> tuple[Array, Array, Array]:
    """Gauss-Newton steps, halved where the sum of squares would more than double, until they are small."""
    free = np.array([place for place in range(len(values)) if place not in held])
    residuals, slopes = _stack(problem, values)
    for _ in range(MOST_STEPS):
        inner = slopes[:, free]
        scale = np.sqrt((inner**2).sum(axis=0))
        scale[scale == 0] = 1.0
        step = np.linalg.lstsq(inner / scale, residuals, rcond=1e-12)[0] / scale
        size, squares = 1.0, residuals @ residuals
        for _ in range(8):
            tried = values.copy()
            tried[free] -= size * step
            new_residuals, new_slopes = _stack(problem, tried)
            if new_residuals @ new_residuals <= 2 * squares + len(residuals):
                break  # the weights move with the parameters, so a small rise is no failure
            size /= 2
        moved = np.sqrt(np.sum((inner @ (size * step)) ** 2))
        values, residuals, slopes = tried, new_residuals, new_slopes
        if moved < SETTLED:
            break
    return values, slopes, residuals

