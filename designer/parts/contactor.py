"""Contactors for direct current: main switch of a d.c. supply, and the one that stands in an armature's lead.

An a.c. rating is not enough: a direct current's arc has no zero to end at. The longer the time constant L/R of what
it breaks, the more the arc must take: a utilisation category (IEC 60947-4-1: DC-1, DC-3, DC-5) says up to which L/R a
rating holds. Safe side: the next larger of what its poles in series break, current times direct voltage.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from designer.errors import InputError
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating
from designer.tables import marked, read

TIME_CONSTANT = "time constant of what it breaks"


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What it carries and breaks: A running and at a stall, highest supply in V direct; where it stands.

    ``decay``: s, L/R of what it breaks; 0 where a diode behind it takes that current over.
    """

    line_current: float
    stall_current: float
    voltage: float
    decay: float = 0.0
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class ArmatureDemand:
    """What an armature's own contactor carries, makes and breaks; SI.

    ``running``, ``stalled``: A r.m.s. of the armature, loaded and at a stall under the setting; ``voltage``: the
    highest that may stand across its open gap, V; ``coil``: V of the supply that its coil hangs on (``mains``:
    alternating). ``decay``: s, L/R of the armature: the time in which its current falls to a third once the gates
    are blocked. ``wheel``: True where a freewheel diode on the motor's side takes that current over.
    """

    running: float
    stalled: float
    voltage: float
    coil: float
    mains: bool
    decay: float
    wheel: bool
    made: float = 0.0
    shorted: bool = False
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class Row:
    """A contactor as sold: A and V direct that it breaks with so many poles in series, opening time (s).

    ``category``: for which its d.c. rating is told, up to an L/R of ``time_constant`` (s). ``makes`` and ``breaks``:
    times its current, once in a while.
    """

    current: float
    direct_voltage: float
    poles_in_series: float
    opening: float
    category: str
    time_constant: float
    makes: float
    breaks: float
    meaning: str
    source: str
    mark: str


def choose(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Part, Row]:
    """Give the smallest switch that carries the current, breaks the stall and stands the direct voltage.

    Where none is rated for its L/R, it is the smallest that holds all else, whose check then fails.
    Raises ``InputError`` for ``supply.voltage`` where none of the table does.
    """
    rows = by_size()
    row = fitting({row: _ratings(row, demand=demand, margins=margins) for row in rows})
    if row is not None:
        return _part(row, ratings=_ratings(row, demand=demand, margins=margins)), row
    raise InputError(
        "supply.voltage", f"{demand.stall_current:.3g} A at a stall, {demand.voltage:.3g} V direct",
        f"up to {rows[-1].current:g} A at {rows[-1].direct_voltage:g} V in the largest listed",
        "Lower the supply or the current limit, or take a d.c. contactor outside this table.")


def by_size() -> tuple[Row, ...]:
    """Give the contactors of the table, that of the least power first."""
    return tuple(sorted(read("contactors", Row), key=lambda row: row.current * row.direct_voltage))


def fitting(rated: Mapping[Row, tuple[Rating, ...]]) -> Row | None:
    """Give the first of which every rating holds; failing that the first of which all but the L/R do."""
    for ratings_of in (lambda all_: all_, lambda all_: tuple(one for one in all_ if one.name != TIME_CONSTANT)):
        for row, ratings in rated.items():
            if all(map(holds, ratings_of(ratings))):
                return row
    return None


def time_constant(row: Row, decay: float) -> tuple[Rating, ...]:
    """The rating of the L/R that it breaks, s; none where ``decay`` is 0: a diode takes the current over."""
    if not decay > 0:
        return ()
    return (Rating(
        name=TIME_CONSTANT, limit=Quantity(row.time_constant, "s"), stress=Quantity(decay, "s"),
        source=f"IEC 60947-4-1 {row.category}, L/R up to {engineering(row.time_constant, 's', 2)} (from memory)",
        at="armature cold, no other path",
        remedy="A d.c. contactor rated for this time constant; on a circuit without a chopper in the armature, a diode "
               "across the armature behind the contactor, its cathode at the plus."),)


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
        *time_constant(row, demand.decay),
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


def choose_armature(demand: ArmatureDemand, *, margins: Mapping[str, float]) -> tuple[Part, Row]:
    """Give the smallest contactor that carries the armature's current, and makes and breaks that of a stall.

    Raises ``InputError`` for ``circuit.kind`` where none of the table does.
    """
    rows = by_size()
    row = fitting({row: armature_ratings(row, demand=demand, margins=margins) for row in rows})
    if row is not None:
        return _armature_part(row, ratings=armature_ratings(row, demand=demand, margins=margins), demand=demand), row
    raise InputError(
        "circuit.kind", f"{demand.stalled:.3g} A to break at {demand.voltage:.3g} V direct in the armature",
        f"up to {rows[-1].current:g} A at {rows[-1].direct_voltage:g} V in the largest listed",
        "A lower setting or current limit, or a field on a d.c. supply of its own, which is on before the main switch.")


def armature_ratings(
    row: Row, *, demand: ArmatureDemand, margins: Mapping[str, float]
) -> tuple[Rating, ...]:
    """Give the ratings of a contactor against a demand."""
    allowed, source = share("contact_current", margins)
    own, made = marked(row.source, row.mark), Quantity(demand.made or demand.stalled, "A")
    how = "switch shorted" if demand.shorted else "the setting not taken back"
    return (
        Rating(name="carried current", limit=Quantity(row.current, "A"), stress=Quantity(demand.running, "A"),
               share=allowed, source=source, at=demand.at),
        Rating(name="current made at rest", limit=Quantity(row.makes * row.current, "A"), stress=made, source=own,
               at=f"closed on a motor at rest, {how}: as at a stall; by order it makes none"),
        Rating(name="current broken at a stall", limit=Quantity(row.breaks * row.current, "A"),
               stress=Quantity(demand.stalled, "A"), source=own,
               at="stall, switch shorted, highest supply, cold: no gate can be blocked then" if demand.shorted else
               "stall at the setting, highest supply, cold; by order the gates are blocked before it opens"),
        Rating(name="d.c. voltage", limit=Quantity(row.direct_voltage, "V"), stress=Quantity(demand.voltage, "V"),
               source=own, at="highest supply, across the open gap"),
        *time_constant(row, 0.0 if demand.wheel else demand.decay),
    )


def _armature_part(row: Row, *, ratings: tuple[Rating, ...], demand: ArmatureDemand) -> Part:
    poles = f", {row.poles_in_series:g} poles in series" if row.poles_in_series > 1 else ""
    coil = f"coil {demand.coil:g} V{'~' if demand.mains else ' d.c.'}"
    tau = engineering(demand.decay, "s", 2)
    burns = (f"The freewheel diode stands on its motor's side and takes the armature's current over (L/R = {tau}): the "
             "contact breaks what the source drives, not what the armature holds." if demand.wheel else
             f"With the gates blocked the armature's current dies away by itself (L/R = {tau}). Opened under current "
             "it ends all of that in its arc: its d.c. rating must be for this time constant or a longer one.")
    return Part(
        role="armature-contactor", designator="K4", value=Quantity(row.current, "A"),
        description=f"armature contactor, two auxiliary make contacts: {row.meaning}",
        marking=f"{row.current:g} A {row.direct_voltage:g} V d.c.{poles}, {coil}", ratings=ratings,
        if_wrong="Left out: field and armature come on together at the main switch, and the armature starts without a "
                 "field. Rated for alternating current only: its arc does not end. Welded: a lost field is caught by "
                 "the blocked gates alone.",
        notes=("On: main switch, field, field-current relay, then this by the start button; its auxiliary contact "
               "releases the gates, and the setting begins at nothing. Off: gates, then this; the field stays on "
               "until the shaft stands, and goes off at the main switch.",
               burns,
               f"It opens within {engineering(row.opening, 's', 2)} of its coil's release. A diode alone across a "
               "direct coil makes that several times longer: use a varistor or the type's own suppressor.",
               "It drops out with the supply that the field hangs on, and comes back by the start button only."),
        sources=(marked(row.source, row.mark),))
