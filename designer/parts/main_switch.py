"""Main switch: opens both poles under a stall, and does not close again by itself when the supply returns.

Safe side: the next larger rated current.
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
    """What the switch carries, breaks and stands: A r.m.s. running and at a stall, highest mains V r.m.s."""

    line_current: float
    stall_current: float
    nominal: float
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class Row:
    """A switch as sold: rated current (A) and voltage (V), and what it is."""

    current: float
    voltage: float
    meaning: str
    source: str
    mark: str


def choose(demand: Demand, *, margins: Mapping[str, float]) -> Part:
    """Give the main switch that carries the line current and breaks the stall.

    Raises ``InputError`` for ``load.torque`` where none of the table does.
    """
    rows = read("switches", Row)
    for row in rows:
        ratings = _ratings(row, demand=demand, margins=margins)
        if all(holds(rating) for rating in ratings):
            return Part(
                role="main-switch", designator="S1", description=f"main switch: {row.meaning}",
                value=Quantity(row.current, "A"), marking=f"{row.current:g} A {row.voltage:g} V~", ratings=ratings,
                if_wrong="One pole only: the circuit stays live where the plug was turned. Without a no-volt release: "
                         "the machine starts by itself when the supply returns. Too small: its contacts weld.",
                notes=("Both poles. With a no-volt or latching release: it stays open after a supply dip, and after a "
                       "thermal switch has cooled.",),
                sources=(marked(row.source, row.mark),))
    raise InputError(
        "load.torque", f"{demand.stall_current:.3g} A at a stall, {demand.nominal:.3g} V",
        f"up to {rows[-1].current:g} A at {rows[-1].voltage:g} V",
        "Lower the load or gear down, or take a contactor outside this table.")


def _ratings(row: Row, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    allowed, source = share("contact_current", margins)
    own = marked(row.source, row.mark)
    return (
        Rating(name="carried current", limit=Quantity(row.current, "A"), stress=Quantity(demand.line_current, "A"),
               share=allowed, source=source, at=demand.at),
        Rating(name="current broken at a stall", limit=Quantity(row.current, "A"),
               stress=Quantity(demand.stall_current, "A"), source=own, at="stall at the setting, high mains, cold"),
        Rating(name="a.c. voltage", limit=Quantity(row.voltage, "V"), stress=Quantity(demand.nominal, "V"), source=own,
               at="nominal mains, as the switch is rated"),
    )
