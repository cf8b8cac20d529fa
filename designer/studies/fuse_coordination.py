"""Each fuse against what it must carry, bear, end and save: the lines of its plot, and the answers with figures."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from designer.parts import dc_fuse
from designer.parts.coordination import WAY_OUT, Bears
from designer.parts.fuse_gates import ADIABATIC, Link, opening_time
from designer.parts.margins import holds
from designer.quantities import engineering
from designer.results import Part, Rating
from designer.studies.coordination_lines import (
    LONGEST,
    Line,
    of_device,
    of_link,
    of_windings,
    of_wire,
    pulses,
    steady,
)
from designer.studies.sides import Power, Scene
from designer.studies.stall import Stall

Answer = tuple[str, str, str]
_AC, _DC = "fuse", "dc-fuse"
_OTHER = " carries the load too, but "      # a note of the fuse: why another was not taken
_TOLD_APART = 1.2     # times running: room for the setting of an overcurrent relay; common practice, no source


@dataclass(frozen=True, kw_only=True)
class Coordination:
    """A fuse against what it must carry, bear and save: lines of a time-current plot, and the answers in words.

    ``answers``: question, answer with its figures, ``"yes"``, ``"no"`` or ``""`` where it is no matter of the fuse.
    """

    fuse: str
    lines: tuple[Line, ...]
    answers: tuple[Answer, ...]
    conclusion: str


def coordination(scene: Scene, power: Power | None, parts: tuple[Part, ...]) -> tuple[Coordination, ...]:
    """Give one record for each fuse of the parts list whose link is known; nothing where no parts were had."""
    if power is None:
        return ()
    found = []
    for role, link in ((_AC, power.link), (_DC, power.direct_link)):
        part = next((one for one in parts if one.role == role), None)
        if part is not None and link is not None:
            found.append(_one(scene, power, parts, (part, link)))
    return tuple(found)


def _one(
    scene: Scene, power: Power, parts: tuple[Part, ...], fuse: tuple[Part, Link | dc_fuse.Link]
) -> Coordination:
    part, link = fuse
    answers = (*_carries(part), *(_ends(stall, link) for stall in _stalls(scene, part)),
               *_saves(part, () if _behind(scene, part) else parts))
    return Coordination(
        fuse=f"{part.designator}, {part.marking}",
        lines=tuple(one for one in _lines(scene, power, parts, fuse) if one is not None),
        answers=answers, conclusion=_conclusion(scene, part, link, answers))


def _lines(
    scene: Scene, power: Power, parts: tuple[Part, ...], fuse: tuple[Part, Link | dc_fuse.Link]
) -> Iterator[Line | None]:
    part, link = fuse
    yield from of_link(link)
    yield steady("running", "load", _rating(part, "fuse rating").stress.value)
    for stall in _stalls(scene, part):
        until = LONGEST if stall.time is None else stall.time
        yield steady(_named(stall), "load", stall.line, until=until)
    held = next(iter(_stalls(scene, part)), None)
    if held is not None and abs(held.armature - held.line) > 0.05 * held.line:
        yield steady("armature at the stall at the setting", "load", held.armature,
                     until=LONGEST if held.time is None else held.time)
    yield pulses(part)
    if held is not None:
        yield from of_windings(scene)
    for device in _devices(power, part):
        yield of_device(device)
    wire = next((one for one in parts if one.role == "wire"), None)
    if wire is not None and not _behind(scene, part):
        yield of_wire(wire, name="wire in the box bears")
    yield steady("prospective short", "short", _breaking(part).stress.value)


def _stalls(scene: Scene, part: Part) -> tuple[Stall, ...]:
    """The stalls whose current is known where the fuse stands: behind a reservoir it is not the line's."""
    return () if _behind(scene, part) else scene.stalled


def _behind(scene: Scene, part: Part) -> bool:
    """True for a fuse behind the reservoir of a rectified mains: another current flows there than in the line."""
    return part.role == _DC and scene.alternating


def _devices(power: Power, part: Part) -> Iterator[Bears]:
    """What the fuse must save: each kind of device once; behind a d.c. fuse what its check was made for."""
    if part.role == _DC:
        for rating in part.ratings:
            if rating.name == "let-through against the device":
                yield Bears(name="transistor", i2t=rating.limit.value, surge=math.inf, current=0.0)
        return
    seen: set[str] = set()
    for side in power.sides.values():
        for device in side.bears:
            if device.name not in seen:
                seen.add(device.name)
                yield device


def _rating(part: Part, name: str) -> Rating:
    return next(rating for rating in part.ratings if rating.name == name)


def _breaking(part: Part) -> Rating:
    return next(rating for rating in part.ratings if rating.name.endswith("breaking capacity"))


def _told(rating: Rating) -> str:
    unit = rating.stress.unit
    stress = "not known" if math.isinf(rating.stress.value) else engineering(rating.stress.value, unit, 3)
    return f"{stress}, where {engineering(rating.share * rating.limit.value, unit, 3)} are allowed"


def _answer(question: str, rating: Rating, *, place: bool = False) -> Answer:
    where = f" ({rating.at})" if place and rating.at else ""
    return question, _told(rating) + where, "yes" if holds(rating) else "no"


def _carries(part: Part) -> Iterator[Answer]:
    yield _answer("Carries the load for good?", _rating(part, "fuse rating"), place=True)
    for rating in part.ratings:
        if rating.name.startswith("I²t of"):
            yield _answer(f"Bears {rating.name.removeprefix('I²t of ')}?", rating)
    yield _answer("Breaks the prospective short?", _breaking(part))


def _named(stall: Stall) -> str:
    """The stall in few words."""
    return "stall, switch shorted" if "shorted" in stall.name else stall.name.split(",")[0]


def _time(seconds: float) -> str:
    """Write a time, in minutes where it is long."""
    return f"{seconds / 60:.3g} min" if seconds >= 180 else engineering(seconds, "s", 3)


def _ends(stall: Stall, link: Link | dc_fuse.Link) -> Answer:
    """Whether the fuse surely opens before the winding reaches its limit."""
    late, question = opens_within(link, stall.line), f"Ends a {_named(stall)}?"
    flows = (f"{engineering(stall.line, 'A', 3)} is {stall.line / link.rating:.3g} times the rating: "
             + ("it need not open at all" if math.isinf(late) else f"it opens within {_time(late)}"))
    if stall.time is None:
        return question, f"{flows}; how long the windings stand it is not known", "" if math.isfinite(late) else "no"
    if math.isinf(stall.time):
        return question, f"{flows}; the windings stand it for good", ""
    return (question, f"{flows}; the {stall.winding} winding reaches {stall.limit:.0f} °C in {_time(stall.time)}",
            "yes" if late < stall.time else "no")


def opens_within(link: Link | dc_fuse.Link, current: float) -> float:
    """Give the latest time, s, in which ``link`` opens at ``current`` (A r.m.s.); infinite where it need not.

    Of a d.c. link only the I²t is told: it counts from 10 times the rating.
    """
    if isinstance(link, dc_fuse.Link):
        return link.let_through / current**2 if current >= ADIABATIC * link.rating else math.inf
    return opening_time(link, current=current)[1]


def _saves(part: Part, parts: Iterable[Part]) -> Iterator[Answer]:
    """Devices by the fuse's own checks, conductors by theirs."""
    for rating in part.ratings:
        if rating.name == "let-through against the device":
            yield _answer("Saves the semiconductors in a short?", rating, place=True)
        elif rating.name == "peak let-through against the device":
            yield _answer("Keeps the short's peak below their surge?", rating)
    for wire in parts:
        for rating in wire.ratings:
            if wire.role == "wire" and rating.name == "cross-section in a short":
                yield (f"Saves the wire {wire.designator} in a short?",
                       f"{1e6 * rating.stress.value:.2g} mm² needed, {1e6 * rating.limit.value:.2g} mm² taken",
                       "yes" if holds(rating) else "no")
            elif wire.role in ("wire", "supply-cord") and rating.name == "fuse rating against the wire":
                yield _answer(f"Guards {wire.designator} against overload?", rating)


def _conclusion(scene: Scene, part: Part, link: Link | dc_fuse.Link, answers: tuple[Answer, ...]) -> str:
    """The choice in words: what this fuse does, and what does the rest."""
    failed = [question for question, _, verdict in answers if verdict == "no" and not question.startswith("Ends")]
    whose = "is yours" if scene.project.parts.fuse is not None else "is taken"
    if failed:
        said = [f"{part.marking} {whose}, and it does not do it all. No to: {' '.join(failed)}"]
        if any("short" in question for question in failed):
            said.append(f"What would: {WAY_OUT}.")
    else:
        saved = any(question.startswith("Saves the semi") for question, *_ in answers)
        said = [f"{part.marking} {whose}: it carries the load, bears its surges and breaks the short"
                + (", and what it lets through the semiconductors bear." if saved else ".")]
    said += [note for note in part.notes if _OTHER in note or (part.role == _DC and note.startswith("At a stall"))]
    seen = _stalls(scene, part)
    missed = [stall for stall in seen if _ends(stall, link)[2] == "no"]
    if missed:
        said.append(_instead(scene, seen, missed))
    elif any(stall.time is None for stall in seen):
        said.append("Whether it ends a stall in time is not known: the motor's thermal resistances and time constant, "
                    "or its wire diameters, are missing.")
    elif seen:
        said.append("It ends every stall that the windings do not stand.")
    return " ".join(said)


def _instead(scene: Scene, seen: tuple[Stall, ...], missed: list[Stall]) -> str:
    """What ends the stalls that the fuse does not see in time."""
    running = scene.worst("line_current_rms").value
    least = min(missed, key=lambda stall: stall.line)
    times = [stall.time for stall in missed if stall.time is not None and math.isfinite(stall.time)]
    within = f", open within {_time(0.9 * min(times))}" if times else ""
    told = [f"No fuse that carries the load ends every stall in time: {len(missed)} of {len(seen)} it does not see, or "
            "sees too late."]
    switch = scene.project.protection.thermal_switch
    told.append(
        "What would: a thermal switch in the winding, with a release that latches." if switch is None else
        f"The thermal switch in the winding opens at {switch.opens:.0f} °C: it ends a stall, if the winding warms "
        "slowly enough for it to follow.")
    if least.line > _TOLD_APART * running:
        told.append(f"An overcurrent relay does it too: set above {engineering(running, 'A', 3)} (running) and below "
                    f"{engineering(least.line, 'A', 3)} (stall), slower than a start{within}.")
    else:
        told.append(f"A stall draws {engineering(least.line, 'A', 3)} from the supply, running as much as "
                    f"{engineering(running, 'A', 3)}: an overcurrent relay there cannot tell them apart; what watches "
                    "the shaft can.")
    if scene.kind.chops:
        told.append("The chopper's current limit holds a stall at this current; it does not end it.")
    return " ".join(told)
