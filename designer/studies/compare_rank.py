"""The order of merit, its rule in words, and what sets each candidate behind the first."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from designer.quantities import engineering, shown
from designer.studies.compare_result import Candidate, Standing

RULE = (
    "Ordered by, each counting only where all before it are equal: (1) what fits before what runs past the speed limit "
    "without a trip, before what is not allowed, before what is out of reach, before what does not go with the file; "
    "(2) where the file gives a speed band, what holds it with the setting fixed; (3) copper loss of armature and "
    "field at the target, rounded to two digits; (4) number of parts. Price, skill, noise and radio disturbance are "
    "not weighed."
)
SAID = {
    Standing.FITS: "fits", Standing.UNSAFE: "unsafe without a trip", Standing.NOT_ALLOWED: "not allowed",
    Standing.OUT_OF_REACH: "out of reach", Standing.UNFIT: "does not go with the file"}


def rounded(watts: float) -> float:
    """To two significant digits: closer than that the model does not know a loss."""
    if not watts > 0 or not math.isfinite(watts):
        return watts
    return round(watts, 1 - math.floor(math.log10(watts)))


def _loss(one: Candidate) -> float:
    return rounded(one.figure("copper_loss")) if "copper_loss" in one.figures else math.inf


def _parts(one: Candidate) -> float:
    return one.figure("parts")


#: what counts, in order: a number that is to be small
CRITERIA: tuple[Callable[[Candidate], float], ...] = (
    lambda one: float(one.standing), lambda one: float(one.holds_band is False), _loss, _parts)


def ordered(candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Put them in order of merit, each with what sets it behind the first."""
    rows = sorted(candidates, key=lambda one: (*(rule(one) for rule in CRITERIA), one.circuit))
    return tuple(replace(one, lost_to=lost_to(one, rows[0]) if one is not rows[0] else "") for one in rows)


def lost_to(one: Candidate, first: Candidate) -> str:
    """The first criterion in which ``one`` is behind ``first``, with both figures."""
    at = next((n for n, rule in enumerate(CRITERIA) if rule(one) != rule(first)), len(CRITERIA))
    if at == 0:
        why = one.reasons[0].message if one.reasons else ""
        return f"{SAID[one.standing].capitalize()}: {why}"
    words: tuple[Callable[[], str], ...] = (
        lambda: f"Speed band not held: {_share(one, 'speed_change')} from no load to full load, "
                f"{first.title[:1].lower()}{first.title[1:]} {_share(first, 'speed_change')}.",
        lambda: f"Copper loss {_watts(one)} against {_watts(first)}.",
        lambda: f"{one.figure('parts'):.0f} parts against {first.figure('parts'):.0f}, at the same copper loss of "
                f"{_watts(first)}.",
        lambda: "Equal in all that is weighed.")
    return words[at - 1]()


def _watts(one: Candidate) -> str:
    return engineering(one.figure("copper_loss"), "W", 3)


def _share(one: Candidate, name: str) -> str:
    return shown(one.figure(name), "1", 3)


