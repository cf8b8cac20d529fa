"""States solved together, and the worst of a stress over them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from designer.project.model import Project
from designer.results import Array

Settings = tuple[float, float, float]    # of the control, at low, nominal and high mains


@dataclass(frozen=True, kw_only=True)
class Worst:
    """The greatest of a stress over the states surveyed, and where it arises."""

    value: float
    at: str


@dataclass(frozen=True, kw_only=True)
class Group:
    """States solved together, with a label each; ``circuit`` is the one that solved them."""

    labels: tuple[str, ...]
    points: Any
    solved: Any
    circuit: Any

    @cached_property
    def stresses(self) -> Mapping[str, Array]:
        """What line and devices see at every state, by name."""
        found: Mapping[str, Array] = self.circuit.stresses(self.solved)
        return found

    def worst(self, values: Array) -> Worst:
        """Give the greatest of ``values`` with its label; 0 where all are missing."""
        if not np.isfinite(values).any():
            return Worst(value=0.0, at="")
        at = int(np.nanargmax(values))
        return Worst(value=float(values[at]), at=self.labels[at])

    @property
    def loaded(self) -> Group:
        """The states that carry the load."""
        at = np.flatnonzero(self.points.load > 0)
        return Group(labels=tuple(self.labels[k] for k in at), points=self.points[at], solved=self.solved[at],
                     circuit=self.circuit)


def voltages(project: Project) -> tuple[float, float, float]:
    """Low, nominal and high supply, V r.m.s. or direct."""
    supply = project.supply
    return supply.lowest_voltage, float(supply.voltage or 0.0), supply.highest_voltage


def crest_of(project: Project) -> float:
    """The bus without load at the highest supply, V; no drop is taken off."""
    high = voltages(project)[2]
    return math.sqrt(2.0) * high if project.supply.is_mains else high


def given_of(table: object, keys: Mapping[str, str] | tuple[str, ...]) -> dict[str, float]:
    """The numbers of a table of ``[parts]`` by key, as far as they are given."""
    return {key: value for key in keys if table is not None and (value := getattr(table, key, None)) is not None}
