"""The cautions of a sheet: those that apply, with the design's figures in them. They stand before any value.

A computed figure is named in braces and filled in from the design; where the design doesn't give
it, the words say so and tell what to do instead.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.results import Design
from designer.sheet.cautions_motion import HEAT, RUNAWAY
from designer.sheet.cautions_power import CHARGE, CONTACTS, DISTURBANCE, EARTH, LIVE
from designer.sheet.facts import facts_of
from designer.sheet.rules import Caution, Facts, always

DEFERRAL = (
    "This sheet is a calculation. It is not an approval, a test report or a licence.",
    "The electrical codes and the law of the place where you build govern, and stand above anything "
    "printed here.",
    "Where the law keeps work on {work} for licensed people, or asks for supervision, it is for them, or "
    "under it.",
)
CAUTIONS = (
    *LIVE, *CHARGE, *EARTH, *RUNAWAY, *CONTACTS, *HEAT, *DISTURBANCE,
    Caution(
        code="not-for", heading="Not for", applies=always,
        lines=(
            "Lifting. Riding on, or moving people. Explosive or wet places. Running unattended.",
        ),
    ),
)


@dataclass(frozen=True, kw_only=True)
class Filled:
    """A caution as printed."""

    code: str
    heading: str
    lines: tuple[str, ...]


def page_deferral(work: str = "mains") -> tuple[str, ...]:
    """What a page that is no build sheet is not, and what stands above it; ``work`` is what the law may keep."""
    return tuple(line.format(work=work).replace("This sheet", "This page") for line in DEFERRAL)


def cautions(design: Design) -> tuple[Filled, ...]:
    """The cautions that apply to the design, with its figures in them."""
    facts = facts_of(design)
    return tuple(
        Filled(code=c.code, heading=c.heading, lines=tuple(_lines(c, facts))) for c in CAUTIONS if c.applies(facts)
    )


def _lines(caution: Caution, facts: Facts) -> list[str]:
    lines = [line if isinstance(line, str) else line.text for line in caution.lines
             if isinstance(line, str) or line.rule(facts)]
    return [line.format_map(facts.phrases) for line in lines]


def deferral(facts: Facts) -> tuple[str, ...]:
    """What the sheet is not, and what stands above it."""
    work = "mains" if facts.mains else "electrical machines"
    return tuple(line.format(work=work) for line in DEFERRAL)


def hazard_line(facts: Facts) -> str:
    """The line at the top of each page."""
    what = "mains voltage" if facts.mains else "direct current that kills" if facts.shock else "a supply that burns"
    turning = "and a fast rotor" if facts.kind.drives_motor else "and a charge that stays"
    return f"DANGER: {what} {turning}. {facts.phrases['off']}, wait, measure that it is dead, then touch."


def danger(facts: Facts) -> str:
    """The two worst things, above the cautions."""
    what = "Mains kills" if facts.mains else "Direct current of this voltage kills"
    if not facts.shock:
        what = "A strong d.c. supply burns"
    then = "a rotor that runs away maims" if facts.kind.drives_motor else "a charged bus waits for the hand"
    return f"{what}, and {then}."


def live(facts: Facts) -> str:
    """What a list of values for the bench begins with: what is live, or what burns."""
    if not facts.shock:
        return "The supply has no limit but its own: a short burns at once, and the rotor can run away."
    where = facts.phrases["potential"]
    return f"The whole circuit is live at {where}, its control side and heatsink included."


def drawn_live(facts: Facts) -> str:
    """What the circuit diagram says of touching."""
    if facts.shock and facts.kind.winding == "none":
        return "Everything drawn here is live, both output terminals too."
    if facts.shock:
        return "Everything drawn here is live, except what stands inside the box of an isolated logic side."
    return "Nothing drawn here limits what the supply drives into a short, except the fuse."


