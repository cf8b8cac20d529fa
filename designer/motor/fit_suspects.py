"""Readings that the others contradict, and the slip of the pen or of the meter that would explain each.

A reading is held against the fit without it (studentised deleted residual). It is a suspect where such a distance is
next to impossible by the errors alone, wherever it stands: a far reading that is right fits its neighbours' law.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from designer.motor.fit_rows import Block
from designer.motor.fit_solver import Solution, solve, whitened
from designer.results import Array

IMPOSSIBLE = 1e-5       # chance of such a distance by the errors alone: below it a reading is a suspect
POSSIBLE = 1e-3         # and what the reading must come back to once the slip is undone
TRIED = 3               # of the furthest readings, each left out in turn
RPM = math.pi / 30


@dataclass(frozen=True, kw_only=True)
class Slip:
    """What may have gone wrong with a reading: words, and the quantities as they would have been (SI)."""

    cause: str
    values: dict[str, float]


@dataclass(frozen=True, kw_only=True)
class Suspect:
    """A reading that the others contradict: its distance in standard uncertainties, and the likely slip.

    ``quantity`` and ``likely`` (SI) are what the slip undone gives, where one was found; ``set_aside`` is true where
    the fit was made without the reading.
    """

    place: int
    kind: str
    distance: float
    cause: str
    set_aside: bool
    likely: tuple[tuple[str, float], ...] = ()


def chance(squares: float, equations: int) -> float:
    """Give the chance that errors alone make a sum of squares this large (χ², one or two equations)."""
    return math.exp(-squares / 2) if equations == 2 else math.erfc(math.sqrt(max(squares, 0.0) / 2))


def deleted(found: Solution) -> list[tuple[int, float, int]]:
    """Give place, studentised square distance from the fit without it, and number of equations of every reading."""
    told = []
    for block in found.problem.blocks:
        residuals, slopes = whitened(block, found.problem.layout, found.values, found.problem.frozen)
        count = residuals.shape[1]
        left = np.eye(count) - slopes @ found.covariance @ slopes.transpose(0, 2, 1)
        undone = np.linalg.solve(left + 1e-9 * np.eye(count), residuals[:, :, None])[:, :, 0]
        squares = (residuals * undone).sum(axis=1)
        told += [(place, float(square), count) for place, square in zip(block.places, squares, strict=True)]
    return told


def ranked(found: Solution, values: Array) -> list[int]:
    """Give the places of all readings, the furthest from the equations at ``values`` first."""
    far: dict[int, float] = {}
    for block in found.problem.blocks:
        squares = (whitened(block, found.problem.layout, values, found.problem.frozen)[0] ** 2).sum(axis=1)
        for place, square in zip(block.places, squares.tolist(), strict=True):
            far[place] = max(far.get(place, 0.0), square)
    return sorted(far, key=lambda place: -far[place])


def furthest(found: Solution, told: set[int], rough: Array) -> tuple[int, Solution] | None:
    """Give the reading, not yet ``told``, that fits the others least, with the fit without it; None where all fit.

    The few furthest from ``rough``, a fit that holds far readings back, are each left out in turn: one gross error
    drags the fit towards itself and makes others look bad.
    """
    far = [one for one in deleted(found) if one[0] not in told]
    if not any(chance(square, count) < IMPOSSIBLE for _, square, count in far):
        return None
    places = [place for place in ranked(found, rough) if place not in told][:TRIED]
    tried = [(place, solve(found.problem.without(place), rough)) for place in places]
    return min(tried, key=lambda one: one[1].squares)


def distance(without: Solution, block: Block, measured: Array) -> tuple[float, int]:
    """Give the square distance of a reading (one row of values) from a fit that did not use it, and its equations."""
    one = replace(block, measured=measured[None, :])
    said = one.equations(without.problem.layout, without.values, one.measured)
    slopes = said.parameters[0]
    spread = one.covariance(said)[0] + slopes @ without.covariance @ slopes.T
    value = said.value[0]
    return float(value @ np.linalg.solve(spread, value)), len(value)


def suspect(before: Solution, place: int, without: Solution, reading: Any) -> Suspect:
    """Say what is wrong with the reading at ``place``: the likeliest slip, or that none is known."""
    blocks = [b.keeping(np.array([p == place for p in b.places])) for b in before.problem.blocks if place in b.places]
    far = max(blocks, key=lambda b: -math.log(max(chance(*distance(without, b, b.measured[0])), 1e-300)))
    square, count = distance(without, far, far.measured[0])
    tried = [(_undone(without, blocks, slip), slip) for slip in slips(blocks, reading)]
    best = max(tried, key=lambda one: one[0], default=None)
    if best is None or best[0] < POSSIBLE:
        return Suspect(place=place, kind=far.kind, distance=math.sqrt(square / count), set_aside=False,
                       cause="the other readings contradict it, and no usual slip explains it: read it again")
    return Suspect(place=place, kind=far.kind, distance=math.sqrt(square / count), set_aside=True, cause=best[1].cause,
                   likely=tuple(best[1].values.items()))


def _undone(without: Solution, blocks: list[Block], slip: Slip) -> float:
    """The least chance of any of the reading's equations once the slip is undone."""
    found = []
    for block in blocks:
        row = block.measured[0].copy()
        for name, value in slip.values.items():
            if name in block.quantities:
                row[block.quantities.index(name)] = value
        found.append(chance(*distance(without, block, row)))
    return min(found)


def slips(blocks: list[Block], reading: Any) -> Iterator[Slip]:
    """Give what may have gone wrong with one reading, whose equations stand in ``blocks``."""
    read = {name: float(value) for block in blocks
            for name, value in zip(block.quantities, block.measured[0], strict=True)}
    for name, factor, cause in _FACTORS:
        if name in read:
            yield Slip(cause=cause, values={name: read[name] * factor})
    for one, other, cause in _SWAPS:
        values = {}
        for name, source in ((one, other), (other, one)):
            value = getattr(reading, source, None)
            if value is not None and name in read:
                values[name] = float(value)
        if getattr(reading, one, None) is not None and values:
            yield Slip(cause=cause, values=values)
    for name in (name for name in read if name not in ("speed", "time")):
        words = name.replace("_", " ")
        for factor in (10.0, 0.1, 1000.0, 0.001):
            unit = "milli for one, or one for milli" if factor in (1000.0, 0.001) else "wrong range or decimal point"
            yield Slip(cause=f"{words} off by a factor of {_shown(factor)}: {unit}", values={name: read[name] * factor})


def _shown(factor: float) -> str:
    return f"{max(factor, 1 / factor):.0f}"


#: quantity, what undoes the slip, words; the factor of two first, since it is the commonest
_FACTORS = (
    ("speed", 2.0, "speed off by a factor of two: check pulses per turn"),
    ("speed", 0.5, "speed off by a factor of two: check pulses per turn"),
    ("speed", 1 / RPM, "speed off by 60/2π: rad/s written as rpm"),
    ("speed", RPM, "speed off by 60/2π: rpm written as rad/s"),
    ("speed", 10.0, "speed off by a factor of ten: a digit is missing, or the counter's gate is wrong"),
    ("speed", 0.1, "speed off by a factor of ten: a digit too many, or the counter's gate is wrong"),
    ("frequency", 2.0, "frequency off by a factor of two: the counter sees every other pulse"),
    ("frequency", 0.5, "frequency off by a factor of two: both half waves are counted"),
)
_SWAPS = (
    ("armature_voltage", "armature_current", "armature volts and amperes swapped"),
    ("armature_voltage", "field_voltage", "volts of armature and field swapped"),
    ("field_current", "armature_current", "amperes of field and armature swapped"),
    ("field_current", "field_voltage", "field volts and amperes swapped"),
    ("voltage", "current", "volts and amperes swapped"),
)
