"""Protective conductor: its section by the line's, in a fault, and what the bond test must read.

Safe side: the section rounded up by the standard's own rows; the cord's own resistance at 20 °C, so that a reading
with warm copper lies above it and is looked at.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.equations import mains_cord as eq
from designer.results import Step
from designer.tables import marked, read

#: ohm, highest reading in all with a cord (EN 50106:2008, seen)
MOST_WITH_CORD = 0.2


@dataclass(frozen=True, kw_only=True)
class Row:
    """Line section above … up to … (mm²): a fixed section (mm²) or a share of the line's."""

    line_above_mm2: float
    line_to_mm2: float
    fixed_mm2: float
    share: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Separate:
    """Least section (mm²) of a protective conductor that runs by itself."""

    name: str
    area_mm2: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Conductor:
    """k (A·√s/mm²) of a conductor in its insulation."""

    name: str
    k: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class BondTest:
    """One test of earth continuity: current (A), multiple of the rated one, ohm, beside the cord, source (V)."""

    name: str
    current: float
    multiple: float
    resistance: float
    beside_cord: float
    voltage: float
    source: str
    mark: str


def area(line: float, *, separate: bool = False, protected: bool = True) -> float:
    """Give the least section, m², of the protective conductor of a line of ``line`` m².

    ``separate``: it runs outside the cord, ``protected`` mechanically or not. Source: IEC 60364-5-54 Table 54.2 (seen).
    """
    square = line * 1e6
    row = next(row for row in read("protective_earths", Row) if square <= row.line_to_mm2 * (1 + 1e-9))
    least = row.fixed_mm2 + row.share * square
    if separate:
        name = "mechanically protected" if protected else "not protected"
        least = max(least, next(one.area_mm2 for one in read("separate_earths", Separate) if one.name == name))
    return least * 1e-6


def in_fault(current: float, *, time: float, conductor: str = "in a cable, PVC, copper") -> Step:
    """Give the step of the section that an earth fault of ``current`` (A) for ``time`` (s) asks for.

    ``LookupError`` of a conductor that is none of the table.
    """
    k = next((row.k for row in read("earth_conductors", Conductor) if row.name == conductor), None)
    if k is None:
        raise LookupError(f"no such conductor: {conductor}")
    return Step(formula=eq.ADIABATIC_EARTH, inputs={"I_earth": current, "t_earth": time, "c_earth": (k * 1e6) ** 2})


def bond_limit(core: float) -> float:
    """Give the highest reading (ohm) from the plug's earth pin to any metal, for a cord whose core has ``core`` ohm.

    Source: EN 50106:2008 (seen): 0.1 ohm and the cord, at most 0.2 ohm in all.
    """
    return min(float(eq.BOND_LIMIT(R_core=core)), MOST_WITH_CORD)


def tests(rated: float) -> tuple[tuple[BondTest, float], ...]:
    """Give each test with the least current, A, that it asks for at a rated current (A)."""
    return tuple((row, max(row.current, row.multiple * rated)) for row in read("bond_limits", BondTest))


def sources() -> tuple[str, ...]:
    """Give what stands behind section and test."""
    told = [(row.source, row.mark) for row in read("protective_earths", Row)]
    told += [(row.source, row.mark) for row in read("bond_limits", BondTest)]
    told += [(row.source, row.mark) for row in read("separate_earths", Separate)]
    return tuple(dict.fromkeys(marked(source, mark) for source, mark in told))
