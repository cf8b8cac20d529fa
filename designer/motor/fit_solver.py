"""Weighted least squares with errors in every quantity: Gauss-Newton on whitened equations, and its covariance.

Each reading's equations are whitened with their own covariance, taken at the present parameters; what is known
before any reading stands as one more equation a parameter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from designer.motor.fit_rows import Block, Layout, Said
from designer.results import Array

MOST_STEPS = 40
HALVINGS = 12
NEAR = 3.0              # standard errors of a reading: beyond them a robust fit holds it back
GONE = 12.0             # beyond these it does not count at all
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
    robust: bool = False    # far readings count less: for finding the rest, not for uncertainties
    frozen: tuple[float, ...] | None = None    # parameters at which the errors are taken; else those being sought

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


def whitened(
    block: Block, layout: Layout, values: Array, frozen: tuple[float, ...] | None = None,
) -> tuple[Array, Array]:
    """Give the equations of a block divided by their errors (reading, equation), and their slopes likewise.

    The errors are taken at the parameters ``frozen`` where they are given, else at ``values``.
    """
    said = block.equations(layout, values, block.measured)
    still = said if frozen is None else block.equations(layout, np.array(frozen), block.measured)
    return _divided(said, np.asarray(np.linalg.cholesky(block.covariance(still))))


def _divided(said: Said, root: Array) -> tuple[Array, Array]:
    stacked = np.linalg.solve(root, np.concatenate((said.value[:, :, None], said.parameters), axis=2))
    return np.asarray(stacked[:, :, 0]), np.asarray(stacked[:, :, 1:])


@dataclass(frozen=True, kw_only=True)
class _Frame:
    """Errors and weights of every block at some parameters: while a step is judged they stand still."""

    roots: tuple[Array, ...]
    weights: tuple[Array, ...]

    @classmethod
    def at(cls, problem: Problem, said: list[Said]) -> _Frame:
        """Errors of the readings; in a robust fit those far off are held back."""
        roots = tuple(np.asarray(np.linalg.cholesky(block.covariance(one)))
                      for block, one in zip(problem.blocks, said, strict=True))
        weights = []
        for one, root in zip(said, roots, strict=True):
            far = np.sqrt((np.linalg.solve(root, one.value[:, :, None])[:, :, 0] ** 2).sum(axis=1))
            held = np.sqrt(NEAR / np.maximum(far, NEAR)) if problem.robust else np.ones(len(far))
            weights.append(np.where(far > GONE, 0.0, held) if problem.robust else held)
        return cls(roots=roots, weights=tuple(weights))

    def stacked(self, problem: Problem, said: list[Said], values: Array) -> tuple[Array, Array]:
        """All equations, whitened: readings first, then what is known."""
        places = [problem.layout.place(name) for name in problem.known]
        sigma = np.array([known.uncertainty for known in problem.known.values()])
        centre = np.array([known.value for known in problem.known.values()])
        prior = np.zeros((len(places), len(values)))
        prior[np.arange(len(places)), places] = 1.0 / sigma
        residuals, slopes = [], []
        for one, root, weight in zip(said, self.roots, self.weights, strict=True):
            r, j = _divided(one, root)
            residuals.append((r * weight[:, None]).ravel())
            slopes.append((j * weight[:, None, None]).reshape(-1, len(values)))
        return (np.concatenate([*residuals, (values[places] - centre) / sigma]), np.concatenate([*slopes, prior]))


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


def _said(problem: Problem, values: Array) -> list[Said]:
    return [block.equations(problem.layout, values, block.measured) for block in problem.blocks]


def _descend(problem: Problem, values: Array, held: set[int]) -> tuple[Array, Array, Array]:
    """Gauss-Newton steps with the errors of the last parameters, halved where the sum of squares would rise."""
    free = np.array([place for place in range(len(values)) if place not in held])
    said = _said(problem, values)
    frame = _Frame.at(problem, said if problem.frozen is None else _said(problem, np.array(problem.frozen)))
    residuals, slopes = frame.stacked(problem, said, values)
    for _ in range(MOST_STEPS):
        inner = slopes[:, free]
        scale = np.sqrt((inner**2).sum(axis=0))
        scale[scale == 0] = 1.0
        step = np.linalg.lstsq(inner / scale, residuals, rcond=1e-12)[0] / scale
        size, squares = 1.0, float(residuals @ residuals)
        for _ in range(HALVINGS):
            tried = values.copy()
            tried[free] -= size * step
            said = _said(problem, tried)
            new = frame.stacked(problem, said, tried)[0]
            if new @ new <= squares * (1 + 1e-9) + 1e-12:
                break
            size /= 2
        moved = float(np.sqrt(np.sum((inner @ (size * step)) ** 2)))
        values = tried
        if problem.frozen is None:
            frame = _Frame.at(problem, said)
        residuals, slopes = frame.stacked(problem, said, values)
        if moved < SETTLED:
            break
    return values, slopes, residuals
