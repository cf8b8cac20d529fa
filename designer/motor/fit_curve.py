"""The two shapes that a fitted flux curve may have: a saturating law, and a table where readings depart from it.

Both are functions of some of the fit's parameters, and give the speed constant with every slope that the fit needs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from designer.results import Array

LAW = ("remanence", "slope", "saturation")


class Shape(Protocol):
    """A flux curve as a function of parameters."""

    @property
    def names(self) -> tuple[str, ...]:
        """The parameters, in order."""

    def at(self, values: Array, current: Array) -> tuple[Array, Array, Array]:
        """Give k (V·s), dk/di (V·s/A) and dk/dparameter (a row a current) at currents ≥ 0."""


@dataclass(frozen=True)
class Law:
    """k = k_r + K·i/(1 + u·i): remanence k_r (V·s), first slope K (V·s/A), and saturation u = 1/I_s (1/A)."""

    @property
    def names(self) -> tuple[str, ...]:
        """The parameters, in order."""
        return LAW

    def at(self, values: Array, current: Array) -> tuple[Array, Array, Array]:
        """Give k, dk/di and dk/dparameter at currents ≥ 0."""
        rest, slope, bend = values
        bent = 1.0 + max(bend, 0.0) * current
        reach = current / bent
        return (rest + slope * reach, slope / bent**2,
                np.stack((np.ones_like(current), reach, -slope * reach**2), axis=-1))


@dataclass(frozen=True, kw_only=True)
class Table:
    """Straight pieces between 0 A and the field currents ``nodes`` (A, rising) that were read."""

    nodes: tuple[float, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The parameters: the value at 0 A, then one a node."""
        return ("remanence", *(f"node_{number}" for number in range(len(self.nodes))))

    def at(self, values: Array, current: Array) -> tuple[Array, Array, Array]:
        """Give k, dk/di and dk/dparameter at currents ≥ 0; beyond the last node by the last piece."""
        x = np.array((0.0, *self.nodes))
        piece = np.clip(np.searchsorted(x, current, side="right") - 1, 0, len(x) - 2)
        width = x[piece + 1] - x[piece]
        share = (current - x[piece]) / width
        columns = np.zeros((len(current), len(x)))
        rows = np.arange(len(current))
        columns[rows, piece] = 1.0 - share
        columns[rows, piece + 1] = share
        return columns @ values, (values[piece + 1] - values[piece]) / width, columns


def clusters(currents: Array, width: float = 0.04) -> tuple[float, ...]:
    """Give the field currents that were read, those within ``width`` (a share) of each other as their mean, A."""
    groups: list[list[float]] = []
    for current in np.sort(currents[currents > 0]).tolist():
        if groups and current <= groups[-1][0] * (1 + width):
            groups[-1].append(current)
        else:
            groups.append([current])
    return tuple(float(np.mean(group)) for group in groups)
