"""The primary fuse, 5 × 20 mm of IEC 60127-2: it must carry the load and bear the starts, and break a short.

Safe side: the smallest rating that carries the load at the temperature in the box. A stall of a series
motor often stays below 2.1 times the rating: the fuse does not see it, and the figures say so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

from designer.equations import fuse as eq
from designer.errors import InputError
from designer.parts import coordination
from designer.parts.coordination import Short, shorts
from designer.parts.fuse_demand import Demand, Given, Pulse
from designer.parts.fuse_gates import (
    UNKNOWN,
    Link,
    ambient_factor,
    gate,
    let_through,
    let_through_known,
    let_through_step,
    melting,
    opening_time,
    pulse_share,
    sources,
)
from designer.parts.margins import holds, share
from designer.parts.preferred import fuse_ratings
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import read

__all__ = [
    "Demand", "Given", "Link", "Pulse", "ambient_factor", "choose", "let_through", "links", "mildest", "options",
    "passed", "ratings"]

_WRONG = (
    "Too large: a short welds the switch and burns the wiring before it opens. Too small or too quick: it "
    "opens on starts. Low breaking capacity (L) on mains: it bursts."
)


@dataclass(frozen=True, kw_only=True)
class Breaking:
    """A breaking letter: the larger of ``current`` (A) and ``multiple`` × rating, at ``voltage`` (V)."""

    letter: str
    current: float
    multiple: float
    voltage: float
    meaning: str
    source: str
    mark: str


@cache
def links() -> tuple[Link, ...]:
    """Give every link that has a sheet: T before F, high breaking before enhanced and low, smallest first."""
    letters = {row.letter: row for row in read("fuse_breaking", Breaking)}
    return tuple(
        _link(rating, speed=speed, row=letters[letter])
        for speed, letter in (("T", "H"), ("F", "H"), ("T", "E"), ("T", "L"), ("F", "L"))
        for rating in fuse_ratings() if gate(speed, breaking=letter, rating=rating))


def _link(rating: float, *, speed: str, row: Breaking) -> Link:
    capacity = max(row.current, row.multiple * rating)
    return Link(rating=rating, speed=speed, breaking=row.letter, capacity=capacity, voltage=row.voltage)


def options(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Link, ...]:
    """Give the links that carry the load, bear the pulses and break the short, best first.

    The devices are left out: ``mildest`` of these is what they must bear at the least.
    """
    alone = replace(demand, devices=())
    return tuple(link for link in links() if _large_enough(link, demand=alone, margins=margins)
                 and all(map(holds, ratings(link, demand=alone, margins=margins))))


def _large_enough(link: Link, *, demand: Demand, margins: Mapping[str, float]) -> bool:
    """False where the first rating cannot hold: so the others of a link far too small are not worked out."""
    used = share("fuse_current", margins)[0] * (1 + 1e-6)
    return used * link.rating * _warm(link.speed, demand.ambient) >= demand.line_current


@cache
def _warm(speed: str, ambient: float) -> float:
    """What is left of a rating at ``ambient`` (°C)."""
    return float(ambient_factor(speed, ambient=ambient).value)


def mildest(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Short, ...]:
    """Give the shorts behind that link of ``options`` which lets the least through; nothing where there is none."""
    least = min(options(demand, margins=margins), default=None,
                key=lambda link: let_through(link, prospective=demand.prospective))
    return () if least is None else passed(least, demand=demand)


def passed(link: Link, *, demand: Demand) -> tuple[Short, ...]:
    """Give what ``link`` lets through on every short that it sees."""
    return shorts(link, prospective=demand.prospective, steepness=demand.steepness)


_DEVICE, _PEAK = "let-through against the device", "peak let-through against the device"


def choose(
    demand: Demand, *, margins: Mapping[str, float], given: Given | None = None,
) -> tuple[Part, Link]:
    """Give the fuse and its link: time-lag where it saves the device, else quick-acting; the user's as it is.

    A user's own link whose let-through is not known fails against the device: it counts as infinite. Where no link
    saves the devices it is the one that lets the least through, and its checks fail.

    Raises ``InputError`` where no link does it, with what would: ``parts.fuse.current_kind`` on a d.c.
    path, ``parts.fuse.rating`` above the largest, ``supply.prospective_current`` beyond every breaking capacity.
    """
    if given is not None and given != Given():
        link = _own(given, demand=demand)
        return _part(link, demand=demand, margins=margins), link
    if demand.direct_current:
        raise InputError(
            "parts.fuse.current_kind", "a direct-current path", "a fuse with a stated d.c. rating",
            "An a.c. breaking capacity says nothing about d.c.: give the data of such a fuse in "
            "[parts.fuse], or put the fuse in the a.c. side.")
    carrying = options(demand, margins=margins)
    if not carrying:
        raise _nothing_carries(demand, margins=margins)
    for link in carrying:
        if all(map(holds, ratings(link, demand=demand, margins=margins))):
            made, why = _part(link, demand=demand, margins=margins), _why(link, carrying[0], demand, margins=margins)
            return replace(made, notes=(*made.notes[:-1], *why, *made.notes[-1:])), link
    best = min(carrying, key=lambda link: let_through(link, prospective=demand.prospective))
    return _part(best, demand=demand, margins=margins), best


def _own(given: Given, *, demand: Demand) -> Link:
    if given.rating is None:
        raise InputError("parts.fuse.rating", None, "the rated current", "Give it, or leave [parts.fuse] out.")
    if demand.direct_current and given.current_kind not in ("dc", "both"):
        raise InputError(
            "parts.fuse.current_kind", given.current_kind, '"dc" or "both" on a direct-current path',
            "An a.c. fuse does not break direct current.")
    capacity = given.breaking_capacity if given.breaking_capacity is not None else 35.0
    letter = "H" if capacity >= 1500 else "E" if capacity >= 150 else "L"
    return Link(
        rating=given.rating, speed=given.characteristic or "T", breaking=letter, capacity=capacity,
        voltage=given.voltage if given.voltage is not None else 250.0, clearing=given.clearing,
        current_kind=given.current_kind)


def _nothing_carries(demand: Demand, *, margins: Mapping[str, float]) -> InputError:
    top = max(link.capacity for link in links())
    if demand.prospective > share("fuse_breaking", margins)[0] * top:
        return InputError(
            "supply.prospective_current", f"{demand.prospective:.0f} A", f"up to {top:.0f} A",
            "No miniature fuse breaks this: put one of high breaking capacity (gG 10 × 38 mm) ahead, or "
            "feed through a transformer.")
    factor = ambient_factor("F", ambient=demand.ambient).value
    largest = max(link.rating for link in links() if link.capacity >= demand.prospective)
    return InputError(
        "parts.fuse.rating", f"{demand.line_current / factor:.3g} A needed, with "
        + ", ".join(f"{p.name} {p.rms:.3g} A for {p.time:.3g} s" for p in demand.pulses),
        f"miniature fuses up to {largest:g} A",
        "Lower the load or gear down, soften the start, cool the box, or use a fuse of another construction "
        "(gG 10 × 38 mm).")


def _why(link: Link, first: Link, demand: Demand, *, margins: Mapping[str, float]) -> tuple[str, ...]:
    """Why it is not the link that would be taken for the load and the starts alone."""
    if link == first or not demand.devices:
        return ()
    short = next(r for r in _against(first, demand=demand, margins=margins) if not holds(r))
    unit = short.stress.unit
    return (f"{first.marking} carries the load too, but lets {engineering(short.stress.value, unit, 3)} through "
            f"({short.at}), where {engineering(short.share * short.limit.value, unit, 3)} are allowed.",)


def _against(link: Link, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    """Let-through and its peak against the devices, each with the one that has the least left."""
    names = {coordination.I2T: _DEVICE, coordination.PEAK: _PEAK}
    every = [replace(rating, name=names[rating.name]) for of in demand.devices for rating in coordination.ratings(
        of, met=passed(link, demand=demand), margins=margins, where=of.name)]
    return tuple(max((r for r in every if r.name == name), key=lambda r: r.stress.value / (r.share * r.limit.value))
                 for name in names.values() if every)


def ratings(link: Link, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    """Give every rating of ``link`` against ``demand``."""
    factor = ambient_factor(link.speed, ambient=demand.ambient).value
    rows = [
        ("fuse rating", link.rating * factor, demand.line_current, "A", "fuse_current"),
        ("a.c. voltage", link.voltage, demand.voltage, "V", "fuse_voltage"),
        ("breaking capacity", 0.0 if _wrong_kind(link, demand=demand) else link.capacity, demand.prospective, "A",
         "fuse_breaking"),
    ]
    if gate(link.speed, breaking=link.breaking, rating=link.rating):
        rows += [
            (f"I²t of {p.name}", melting(link, current=p.rms), p.rms**2 * p.time, "A**2*s", "fuse_pulse")
            for p in demand.pulses
        ]
    shares = {key: share(key, margins) for *_, key in rows}
    if "fuse_pulse" in shares:
        shares["fuse_pulse"] = min(shares["fuse_pulse"], pulse_share(demand.starts))
    remedies = _remedies(link, demand=demand)
    own = tuple(
        Rating(name=name, limit=Quantity(limit, unit), stress=Quantity(stress, unit), at=demand.at,
               share=shares[key][0], source=shares[key][1], remedy=remedies.get(name, ""))
        for name, limit, stress, unit, key in rows)
    return *own, *_against(link, demand=demand, margins=margins)


def _wrong_kind(link: Link, *, demand: Demand) -> bool:
    """True where the link's breaking capacity is stated for the other kind of current: here it has none."""
    return link.current_kind == ("ac" if demand.direct_current else "dc")


def _remedies(link: Link, *, demand: Demand) -> dict[str, str]:
    """What to do where the table's ladder of ratings does not say it."""
    told = {}
    if _wrong_kind(link, demand=demand):
        told["breaking capacity"] = (
            f"It breaks {'alternating' if demand.direct_current else 'direct'} current only: take a fuse with a "
            "breaking capacity stated for the current here.")
    return told


def _part(link: Link, *, demand: Demand, margins: Mapping[str, float]) -> Part:
    factor = ambient_factor(link.speed, ambient=demand.ambient)
    steps = [factor, Step(formula=eq.NEEDED_RATING, inputs={
        "I_line": demand.line_current, "k_amb": factor.value, "k_use": share("fuse_current", margins)[0]},
        note="least rating that carries the load")]
    steps += [Step(formula=eq.I2T_RECTANGLE, inputs={"I_p": p.rms, "t": p.time}, note=p.name)
              for p in demand.pulses]
    if link.clearing is None and let_through_known(link):
        steps.append(let_through_step(link, prospective=demand.prospective))
    return Part(
        role="fuse", designator="F1",
        description=f"fuse 5 × 20 mm, {'time-lag' if link.speed.startswith('T') else 'quick-acting'}, "
        f"breaking capacity {engineering(link.capacity, 'A')}",
        value=Quantity(link.rating, "A"), marking=link.marking,
        ratings=ratings(link, demand=demand, margins=margins), worked=tuple(steps), if_wrong=_WRONG,
        notes=_notes(link, demand=demand, margins=margins), sources=sources(link))


def _notes(link: Link, *, demand: Demand, margins: Mapping[str, float]) -> tuple[str, ...]:
    early, late = opening_time(link, current=demand.stall_current)
    stall = f"Stall at {demand.stall_current:.3g} A is {demand.stall_current / link.rating:.2f} times the rating"
    notes = []
    if math.isinf(late):
        notes.append(f"{stall}: the fuse need not open at all. Something else must end a stall.")
    else:
        notes.append(f"{stall}: it opens within {early:.3g} to {late:.3g} s.")
        if demand.stall_limit is not None and late > demand.stall_limit:
            notes.append(
                f"The winding reaches its limit in {demand.stall_limit:.3g} s: the fuse may be too slow, "
                "something else must end a stall.")
    if not gate(link.speed, breaking=link.breaking, rating=link.rating):
        notes.append("Its time-current gate is not in the tables: starts and stall are not checked"
                     + (f". {UNKNOWN}" if link.clearing is None else "."))
    if not demand.direct_current and link.current_kind is None:
        notes.append("Kind of current not stated: taken as a fuse for alternating current.")
    if demand.devices:
        notes.append(
            "A short is taken to begin at the crest, where it rises most steeply, in a loop with the angle of the "
            "supply's impedance (of IEC 60725's reference where none is given) and 50 µH or more (common practice, no "
            "source); what a device bears of it falls with the square root of the time below 10 ms (from memory).")
    used = share("fuse_current_ul", margins)[0]
    ul = demand.line_current / (used * ambient_factor(link.speed, ambient=demand.ambient).value)
    notes.append(
        f"A fuse rated by UL 248-14 instead carries {100 * used:.3g} % only: at least {ul:.2g} A (seen). It goes in "
        "the line conductor; both poles are switched.")
    return tuple(notes)
