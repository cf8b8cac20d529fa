"""Main switch or contactor of a direct-current supply: an a.c. rating is not enough, an arc has no zero to end at.

Safe side: the next larger of what its poles in series break, current times direct voltage.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from designer.errors import InputError
from designer.parts.margins import holds, share
from designer.results import Part, Quantity, Rating
from designer.tables import marked, read


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What it carries and breaks: A running and at a stall, highest supply in V direct; where it stands."""

    line_current: float
    stall_current: float
    voltage: float
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class Row:
    """A contactor as sold: A and V direct that it breaks with so many poles in series, opening time (s)."""

    current: float
    direct_voltage: float
    poles_in_series: float
    opening: float
    meaning: str
    source: str
    mark: str


def choose(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Part, Row]:
    """Give the smallest switch that carries the current, breaks the stall and stands the direct voltage.

    Raises ``InputError`` for ``supply.voltage`` where none of the table does.
    """
    rows = sorted(read("contactors", Row), key=lambda row: row.current * row.direct_voltage)
    for row in rows:
        ratings = _ratings(row, demand=demand, margins=margins)
        if all(map(holds, ratings)):
            return _part(row, ratings=ratings), row
    raise InputError(
        "supply.voltage", f"{demand.stall_current:.3g} A at a stall, {demand.voltage:.3g} V direct",
        f"up to {rows[-1].current:g} A at {rows[-1].direct_voltage:g} V in the largest listed",
        "Lower the supply or the current limit, or take a d.c. contactor outside this table.")


def _ratings(row: Row, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    allowed, source = share("contact_current", margins)
    own = marked(row.source, row.mark)
    return (
        Rating(name="carried current", limit=Quantity(row.current, "A"), stress=Quantity(demand.line_current, "A"),
               share=allowed, source=source, at=demand.at),
        Rating(name="current broken at a stall", limit=Quantity(row.current, "A"),
               stress=Quantity(demand.stall_current, "A"), source=own, at="stall at the current limit, high supply"),
        Rating(name="d.c. voltage", limit=Quantity(row.direct_voltage, "V"), stress=Quantity(demand.voltage, "V"),
               source=own, at="highest supply"),
    )


def _part(row: Row, *, ratings: tuple[Rating, ...]) -> Part:
    poles = f", {row.poles_in_series:g} poles in series" if row.poles_in_series > 1 else ""
    return Part(
        role="main-switch", designator="S1", description=f"main switch for direct current: {row.meaning}",
        value=Quantity(row.current, "A"), marking=f"{row.current:g} A {row.direct_voltage:g} V d.c.{poles}",
        ratings=ratings,
        if_wrong="Rated for alternating current only: it draws an arc that does not end, and welds or burns. Reversed "
                 "polarity on a type with a blow-out magnet: the same.",
        notes=("With a no-volt or latching release: it stays open after a supply dip. It opens the armature's path; "
               "the field is switched after it.",),
        sources=(marked(row.source, row.mark),))
