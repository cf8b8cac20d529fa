"""Contact of the second switch-off path: it takes the motor off where the controlled switch has failed shorted.

Safe side: the next larger contact; opening time at the upper end, slowed by the suppressor at its coil, and the arc
counted until the current is off.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from designer.equations.second_path import ALTERNATING_ARC, DIRECT_ARC, SECOND_PATH_OPENING
from designer.errors import InputError
from designer.parts.contactor import ArmatureDemand, choose_armature
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: an arc's voltage / the source's, of a contactor made for direct current (from memory; it must pass 1 to end at all)
ARC = 1.5
SUPPRESSOR = "varistor"
_WRONG = ("Left out: a switch that fails shorted drives the motor at full output, and only the main switch stops it. "
          "One pole only: an earth fault goes round it. Bridged or welded: the trip acts on nothing. A switch that "
          "stays closed in the start button's place: the motor starts by itself when the supply returns.")


@dataclass(frozen=True, kw_only=True)
class LineDemand:
    """What a contact in the mains line carries, makes and breaks; A r.m.s., V r.m.s., Hz.

    ``shorted``: at rest with the switch shorted; ``charging``: crest (A) when a reservoir behind it charges, 0 where
    there is none. ``left``: the step for the speed that a reservoir behind it still gives, and its limit (rad/s).
    ``acts``: s in which the trip is said to take the current off; None where none is said.
    """

    running: float
    shorted: float
    nominal: float
    frequency: float
    charging: float = 0.0
    left: tuple[Step, float] | None = None
    acts: float | None = None
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class LineRow:
    """A relay or contactor as sold: A and V r.m.s., poles, times its current that it makes and breaks once in a while,
    s until the contact has opened, coil W."""

    current: float
    voltage: float
    poles: float
    makes: float
    breaks: float
    release: float
    coil_power: float
    meaning: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Suppressor:
    """What stands across a coil: how many times longer the contact stays; ``supply`` of the coil."""

    kind: str
    factor: float
    supply: str
    meaning: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Choice:
    """The contact, and the step for the time from its coil's release to the current being off, s."""

    part: Part
    opening: Step


def suppressor(kind: str) -> Suppressor:
    """Give a suppressor by its kind; ``KeyError`` where the table has none."""
    return {row.kind: row for row in read("coil_suppressors", Suppressor)}[kind]


def line_opening(release: float, frequency: float, kind: str = SUPPRESSOR) -> Step:
    """The step for a contact in the mains line: ``release`` (s) of the bare coil, Hz."""
    return _opening(release, float(ALTERNATING_ARC(f=frequency)), kind, "arc to the next zero of the current")


def direct_opening(release: float, decay: float, kind: str = SUPPRESSOR) -> Step:
    """The step for a contact in a direct current of L/R ``decay`` (s); 0 where a diode takes that current over."""
    return _opening(release, float(DIRECT_ARC(tau=decay, m_arc=ARC)), kind,
                    f"arc of {ARC:g} times the source's voltage (from memory)")


def _opening(release: float, arc: float, kind: str, how: str) -> Step:
    return Step(formula=SECOND_PATH_OPENING, note=f"{suppressor(kind).meaning}; {how}", inputs={
        "k_sup": suppressor(kind).factor, "t_rel": release, "t_arc": arc})


def choose_line(demand: LineDemand, *, margins: Mapping[str, float]) -> Choice:
    """Give the smallest contact in the mains line, both poles, that holds.

    Raises ``InputError`` for ``protection.overspeed_trip`` where none of the table does.
    """
    rows = read("line_contacts", LineRow)
    for row in rows:
        ratings = _line_ratings(row, demand=demand, margins=margins)
        if all(map(holds, ratings)):
            opening = line_opening(row.release, demand.frequency)
            ratings += in_time(opening, demand.acts)
            return Choice(part=_line_part(row, ratings=ratings, demand=demand, opening=opening), opening=opening)
    short = next(rating for rating in ratings if not holds(rating))
    raise InputError(
        "protection.overspeed_trip", f"{short.name} {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} in the largest contact listed",
        "Less load, or a contactor outside this table: it must break the motor with the switch shorted.")


def _line_ratings(row: LineRow, *, demand: LineDemand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    allowed, source = share("contact_current", margins)
    own, shorted = marked(row.source, row.mark), Quantity(demand.shorted, "A")
    made = [
        Rating(name="carried current", limit=Quantity(row.current, "A"), stress=Quantity(demand.running, "A"),
               share=allowed, source=source, at=demand.at),
        Rating(name="current made, switch shorted", limit=Quantity(row.makes * row.current, "A"), stress=shorted,
               source=own, at="closed on a motor at rest, highest supply, cold"),
        Rating(name="current broken, switch shorted", limit=Quantity(row.breaks * row.current, "A"), stress=shorted,
               source=own, at="stall at full output or with the switch shorted, highest supply, cold"),
        Rating(name="a.c. voltage", limit=Quantity(row.voltage, "V"), stress=Quantity(demand.nominal, "V"), source=own,
               at="nominal mains, as the contact is rated"),
    ]
    if demand.charging > 0:
        made.append(Rating(
            name="crest made, reservoir empty", limit=Quantity(2**0.5 * row.makes * row.current, "A"),
            stress=Quantity(demand.charging, "A"), source=own, at="closed at the crest of the highest mains"))
    if demand.left is not None:
        step, limit = demand.left
        made.append(Rating(
            name="speed from the reservoir's energy", limit=Quantity(limit, "rad/s"),
            stress=Quantity(step.value, "rad/s"), source="derived: all of ½·C·V² into the rotor",
            at="switch shorted, load lost, the mains off after the trip's time"))
    return tuple(made)


def _line_part(row: LineRow, *, ratings: tuple[Rating, ...], demand: LineDemand, opening: Step) -> Part:
    left = () if demand.left is None else (demand.left[0],)
    after = () if demand.left is None else (
        "It stands ahead of the reservoir, whose energy still drives a motor behind a shorted switch: the speed that "
        "this can give is held against the limit above.",)
    return Part(
        role="second-path-relay", designator="K5", value=Quantity(row.current, "A"),
        description=f"contact of the second switch-off path, both poles of the mains, two auxiliary make contacts: "
                    f"{row.meaning}",
        marking=f"{row.current:g} A {row.voltage:g} V~, coil {demand.nominal:g} V~", ratings=ratings,
        worked=(opening, *left), if_wrong=_WRONG, notes=(*after, *coil_notes(opening)),
        sources=(marked(row.source, row.mark),))


def choose_direct(
    demand: ArmatureDemand, *, margins: Mapping[str, float], why: str, acts: float | None = None
) -> Choice:
    """Give the contactor in the motor's lead on the d.c. side, by its d.c. rating; ``why`` it stands there.

    Raises ``InputError`` for ``protection.overspeed_trip`` where none of the table holds.
    """
    try:
        part, row = choose_armature(demand, margins=margins)
    except InputError as error:
        raise InputError("protection.overspeed_trip", error.found, error.allowed,
                         "A lower supply, or a d.c. contactor outside this table.") from error
    opening = direct_opening(row.opening, 0.0 if demand.wheel else demand.decay)
    return Choice(opening=opening, part=replace(
        part, description=f"contact of the second switch-off path in the motor's lead, two auxiliary make contacts: "
        f"{row.meaning}", if_wrong=_WRONG + " Rated for alternating current only: its arc does not end.",
        ratings=(*part.ratings, *in_time(opening, acts)), worked=(opening,), notes=(why, *coil_notes(opening))))


def in_time(opening: Step, acts: float | None) -> tuple[Rating, ...]:
    """The rating of the time that the contact takes against that which the file states for the trip, s."""
    if acts is None:
        return ()
    return (Rating(
        name="time until the current is off", limit=Quantity(acts, "s"), stress=Quantity(opening.value, "s"),
        source="protection.trip_time, from passing the speed to current off: the trip's own detection comes on top",
        at="from the coil's release",
        remedy=f"protection.trip_time of {engineering(opening.value, 's', 2)} and the time that the trip takes to see "
               "the speed, or a faster contact."),)


def coil_notes(opening: Step) -> tuple[str, ...]:
    """What to mind at the coil: how fast it lets go, and what makes it slower."""
    alone = suppressor("diode")
    return (
        f"Current off within {engineering(opening.value, 's', 2)} of its coil's release, with a varistor across the "
        f"coil. A diode alone across a direct coil makes that up to {alone.factor:g} times longer "
        f"({marked(alone.source, alone.mark)}), a diode with a Zener diode {suppressor('zener').factor:g} times.",
        "Latched by its own auxiliary contact behind stop and start button: after a supply dip, a trip, or once the "
        "thermal switch has cooled, nothing comes back without the start button. Try it before each day's work.")
