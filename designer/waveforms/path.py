"""The loop that current flows in, and what one interval of conduction gives; entries are points."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from designer.results import Array, Indices


@dataclass(frozen=True, kw_only=True)
class Path:
    """Source, switch and motor in one loop; one entry a point, SI.

    ``peak`` V and ``omega`` rad/s of the sine source, ``resistance`` of the whole loop,
    ``opposing`` V: every constant drop, the remanent speed voltage included, ``speed`` rad/s.
    """

    peak: Array
    omega: Array
    resistance: Array
    opposing: Array
    speed: Array

    def __getitem__(self, chosen: object) -> Path:
        return Path(**{f.name: getattr(self, f.name)[chosen] for f in fields(self)})

    def __len__(self) -> int:
        return len(self.peak)


@dataclass(frozen=True, kw_only=True)
class Interval:
    """What one conduction interval gave: integrals over the source's angle, and its end.

    ``charge`` ∫i, ``square`` ∫i², ``pull`` ∫g·i, ``drawn`` ∫i·sin θ, each over rad; ``slope`` is
    −di/dθ at extinction (A/rad), ``latched`` the angle at which the current passed the level asked for.
    """

    turn_on: Array
    extinction: Array
    charge: Array
    square: Array
    pull: Array
    drawn: Array
    crest: Array
    slope: Array
    latched: Array

    def __getitem__(self, chosen: object) -> Interval:
        return Interval(**{f.name: getattr(self, f.name)[chosen] for f in fields(self)})


def empty(count: int) -> Interval:
    """Give intervals in which nothing flowed."""
    zero = np.zeros(count)
    never = np.full(count, np.inf)
    return Interval(
        turn_on=np.full(count, np.nan), extinction=np.full(count, np.nan), latched=never,
        **{name: zero.copy() for name in ("charge", "square", "pull", "drawn", "crest", "slope")},
    )


def put(into: Interval, where: Indices, values: Interval) -> None:
    """Write ``values`` into the places ``where`` of ``into``."""
    for f in fields(Interval):
        getattr(into, f.name)[where] = getattr(values, f.name)
