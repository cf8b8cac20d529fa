"""Fuse for a direct-current path: between battery or reservoir and chopper.

Safe side: the smallest rating that carries the load in the warm box, at a d.c. voltage and breaking capacity that are
stated for direct current. An a.c. fuse waits for a zero that never comes: its arc goes on.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from designer.equations import fuse as eq
from designer.errors import InputError
from designer.parts.fuse import Given
from designer.parts.fuse_gates import UNKNOWN, ambient_factor, pulse_share
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read, settings

Place = Literal["battery", "bus"]
_WRONG = (
    "An a.c. fuse here burns on in its own arc and takes the box with it. Too large: a short in the chopper is fed "
    "until copper melts. Too small: it opens on starts."
)
_ALLOWED = '"dc" or "both" on a direct-current path'
_KIND = "An a.c. breaking capacity says nothing about direct current: take a fuse with a stated d.c. rating."


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the fuse carries, bears and breaks; SI.

    ``place``: ``"battery"`` (or another direct supply) or ``"bus"`` (behind a reservoir). ``current``: r.m.s. at the
    worst continuous corner. ``voltage``: highest direct voltage. ``prospective``: A into a dead short there.
    ``time_constant``: L/R of that short, s. ``stored``: A²s that a reservoir can drive through it by itself,
    infinite for a battery. ``pulse``: A²s of charging the bus through it (0 where it does not pass here), ``starts``
    how often; ``start``: A²s of a motor's start, where a starter's resistor shapes it. ``stall_current``: A in this
    path at a stall under the current limit. ``device_i2t``: A²s (10 ms) of what it must save, None where nothing.
    ``ambient``: °C round it.
    """

    place: Place
    current: float
    voltage: float
    prospective: float
    ambient: float
    time_constant: float = 0.0
    stored: float = math.inf
    pulse: float = 0.0
    starts: float = 1e4
    start: float = 0.0
    stall_current: float = 0.0
    device_i2t: float | None = None
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class Row:
    """A kind of link as sold: d.c. voltage, breaking capacity (A), ratings (A), I²t over the square of the rating.

    ``arcing_i2t``: total, at most; ``melting_i2t``: at least. ``time_constant``: L/R (s) of its d.c. rating.
    """

    name: str
    kind: str
    voltage: float
    breaking: float
    rating_low: float
    rating_high: float
    arcing_i2t: float
    melting_i2t: float
    time_constant: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Link:
    """A link for direct current: A, V, A; ``clearing`` and ``melting`` A²s (None: not told), L/R of its rating (s)."""

    name: str
    rating: float
    voltage: float
    breaking: float
    clearing: float | None
    melting: float | None
    time_constant: float | None
    source: str

    @property
    def let_through(self) -> float:
        """Greatest I²t on a short, A²s; infinite where nobody has told it."""
        return math.inf if self.clearing is None else self.clearing


def links(place: Place) -> tuple[Link, ...]:
    """Give the generic links of a place, smallest rating first, then the lowest voltage."""
    ratings = settings("preferred")["fuse"]["direct"]
    made = [
        Link(name=row.name, rating=rating, voltage=row.voltage, breaking=row.breaking,
             clearing=row.arcing_i2t * rating**2, melting=row.melting_i2t * rating**2,
             time_constant=row.time_constant, source=marked(row.source, row.mark))
        for row in read("dc_fuses", Row) if row.kind in (place, "bus")
        for rating in ratings if row.rating_low <= rating <= row.rating_high]
    return tuple(sorted(made, key=lambda link: (link.rating, link.voltage)))


def choose(
    demand: Demand, *, margins: Mapping[str, float], given: Given | None = None,
) -> tuple[Part, Link]:
    """Give the smallest link that holds every rating; the user's own (``[parts.fuse]``) as it is.

    Raises ``InputError``: ``parts.fuse.current_kind`` for an own fuse that is not stated for direct current,
    ``supply.voltage``, ``supply.prospective_current`` or ``parts.fuse.rating`` where no link does.
    """
    if given is not None and given != Given():
        link = own(given)
        return _part(link, demand=demand, margins=margins), link
    found = links(demand.place)
    for link in found:
        made = _part(link, demand=demand, margins=margins)
        if all(map(holds, made.ratings)):
            return made, link
    raise _none_holds(found, demand=demand, margins=margins)


def own(given: Given) -> Link:
    """Give the user's own fuse; ``InputError`` where it is not stated for direct current, or lacks what matters."""
    if given.current_kind not in ("dc", "both"):
        raise InputError("parts.fuse.current_kind", given.current_kind, _ALLOWED, _KIND)
    wanted = {"rating": given.rating, "voltage": given.voltage, "breaking_capacity": given.breaking_capacity}
    for key, value in wanted.items():
        if value is None:
            raise InputError(f"parts.fuse.{key}", None, "the figure that the fuse states for direct current",
                             "Give it, or leave [parts.fuse] out.")
    return Link(
        name="your fuse", rating=float(given.rating or 0.0), voltage=float(given.voltage or 0.0),
        breaking=float(given.breaking_capacity or 0.0), clearing=given.clearing, melting=None, time_constant=None,
        source="your file")


def _none_holds(found: tuple[Link, ...], *, demand: Demand, margins: Mapping[str, float]) -> InputError:
    volts, capacity = max(link.voltage for link in found), max(link.breaking for link in found)
    if demand.voltage > volts:
        return InputError("supply.voltage", f"{demand.voltage:.0f} V direct", f"links up to {volts:g} V d.c.",
                          "Use a lower voltage, or give your own in [parts.fuse].")
    if demand.prospective > capacity:
        return InputError(
            "supply.prospective_current", f"{demand.prospective:.0f} A", f"links that break up to {capacity:g} A d.c.",
            "Use a longer or thinner lead to the battery, or give your own in [parts.fuse].")
    short = [r for link in found for r in ratings(link, demand=demand, margins=margins) if not holds(r)][-1]
    return InputError(
        "parts.fuse.rating", f"{short.name} {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} in the last link tried",
        "Lower the load, cool the box, or give your own fuse in [parts.fuse].")


def ratings(link: Link, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    """Give every rating of ``link`` against ``demand``."""
    factor = ambient_factor("T", ambient=demand.ambient).value
    rows = [
        ("fuse rating", link.rating * factor, demand.current, "A", share("fuse_current", margins)),
        ("d.c. voltage", link.voltage, demand.voltage, "V", share("fuse_voltage", margins)),
        ("d.c. breaking capacity", link.breaking, demand.prospective, "A", share("fuse_breaking", margins)),
    ]
    if link.time_constant is not None:
        rows.append(("time constant of the short", link.time_constant, demand.time_constant, "s", (1.0, link.source)))
    if demand.pulse > 0 and link.melting is not None:
        rows.append(("I²t of charging the bus", link.melting, demand.pulse, "A**2*s",
                     min(share("fuse_pulse", margins), pulse_share(demand.starts))))
    if demand.start > 0 and link.melting is not None:
        rows.append(("I²t of a start", link.melting, demand.start, "A**2*s",
                     min(share("fuse_pulse", margins), pulse_share(demand.starts))))
    if demand.device_i2t is not None:
        rows.append(("let-through against the device", demand.device_i2t, link.let_through, "A**2*s",
                     share("switch_i2t", margins)))
    return tuple(
        Rating(name=name, limit=Quantity(limit, unit), stress=Quantity(stress, unit), share=allowed[0],
               source=allowed[1], at=demand.at, remedy=UNKNOWN if math.isinf(stress) else "")
        for name, limit, stress, unit, allowed in rows)


def _part(link: Link, *, demand: Demand, margins: Mapping[str, float]) -> Part:
    factor = ambient_factor("T", ambient=demand.ambient)
    battery = demand.place == "battery"
    return Part(
        role="dc-fuse", designator="F1" if battery else "F2",
        description=f"{link.name}, {link.voltage:g} V d.c., breaks {engineering(link.breaking, 'A')} d.c.",
        value=Quantity(link.rating, "A"), marking=f"{link.rating:g} A {link.voltage:g} V d.c.",
        ratings=ratings(link, demand=demand, margins=margins),
        worked=(factor, Step(formula=eq.NEEDED_RATING, inputs={
            "I_line": demand.current, "k_amb": factor.value, "k_use": share("fuse_current", margins)[0]},
            note="least rating that carries the load")),
        if_wrong=_WRONG, notes=_notes(link, demand=demand), sources=(link.source,))


def _notes(link: Link, *, demand: Demand) -> tuple[str, ...]:
    notes = []
    if demand.stall_current > 0:
        multiple = demand.stall_current / link.rating
        notes.append(
            f"At a stall under the current limit {engineering(demand.stall_current, 'A', 3)} flow here, {multiple:.2g} "
            "times the rating: " + ("it does not see a stall; something else must end it."
                                    if multiple < 2.0 else "it may open, but do not rely on it."))
    if math.isfinite(demand.stored):
        enough = link.clearing is not None and demand.stored > link.clearing
        notes.append(
            f"The reservoir alone can drive {engineering(demand.stored, 'A**2*s', 3)} into a short: "
            + ("enough to open it." if enough else "perhaps not enough; the line fuse must open then."))
    notes.append("It stands in the positive lead, close to what feeds it, and both its ends are live until the bus "
                 "is measured dead." if demand.place == "bus" else
                 "It stands in the positive lead within a hand's breadth of the battery.")
    return tuple(notes)
