"""One row of the user's own parts: a key of the file held against what the design works out for that part."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from designer.checks import remedy, verdict
from designer.project.part_tables import PartKey
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating
from designer.tables import marked

Verdict = Literal["pass", "warn", "fail", "not known"]
_SAME = {"V*A": "W"}     # units in which a user writes what a rating counts in another


@dataclass(frozen=True, kw_only=True)
class OwnRow:
    """One key held against one rating or value.

    ``given`` is the user's figure (None where it is not known), ``limit`` what may not be passed; for a value,
    ``stress`` is the one worked out, ``low`` and ``high`` what lies around it. ``margin`` is the share that may be
    used, nan for a value.
    """

    table: str
    key: str
    part: str
    role: str
    rating: str
    given: Quantity | str | None
    verdict: Verdict
    source: str
    limit: Quantity | None = None
    stress: Quantity | None = None
    low: Quantity | None = None
    high: Quantity | None = None
    margin: float = math.nan
    at: str = ""
    remedy: str = ""
    costs: str = ""        # what it costs that the key is not known

    @property
    def used(self) -> float:
        """Stress over limit; for a value, the user's over the one worked out; nan where there is none."""
        if self.limit is not None and self.stress is not None:
            return self.stress.value / self.limit.value if self.limit.value else math.inf
        if isinstance(self.given, Quantity) and self.stress is not None and self.stress.value:
            return self.given.value / self.stress.value
        return math.nan


def rating_rows(key: PartKey, *, own: Any, part: Part, table: str, chosen: bool) -> Iterator[OwnRow]:
    """Rows of a key over every rating of ``part`` that it is held against.

    ``own`` is the user's value; ``chosen`` tells that the design's own ratings are those of the user's part.
    """
    for rating in part.ratings:
        if not key.meets(rating.name) or not math.isfinite(rating.limit.value):
            continue
        unit = _SAME.get(rating.limit.unit, rating.limit.unit)
        frame = OwnRow(table=table, key=key.key, part=part.designator, role=part.role, rating=rating.name, given=None,
                       verdict="not known", source=rating.source, at=rating.at, stress=rating.stress)
        if own is None:
            yield replace(frame, costs=_costs(rating, key))
            continue
        given = Quantity(own, unit if key.sense != "own" else key.unit)
        held = _held(key, rating=rating, own=own, part=part, chosen=chosen)
        if held is None:
            yield replace(frame, given=given, costs="No design stands with this part, and this rating follows only "
                          "from one: mend what fails first.")
        else:
            yield _told(replace(frame, given=given), rating=held, key=key)


def _held(key: PartKey, *, rating: Rating, own: float, part: Part, chosen: bool) -> Rating | None:
    """The rating with the user's figure put in; None where the design alone could tell it."""
    unit = rating.limit.unit
    if key.sense == "limit" or (key.sense == "own" and not chosen and key.words == "direct"):
        return replace(rating, limit=Quantity(own, unit))
    if key.sense == "scaled":
        assert part.value is not None
        return replace(rating, limit=Quantity(rating.limit.value * own / part.value.value, unit))
    if key.sense == "stress":
        return replace(rating, stress=Quantity(own, unit))
    return rating if chosen else None


def _told(row: OwnRow, *, rating: Rating, key: PartKey) -> OwnRow:
    says = verdict(stress=rating.stress.value, limit=rating.limit.value, allowed=rating.share)
    way = "" if says == "pass" else _way_out(rating, key=key, own=row.given)
    return replace(row, limit=rating.limit, stress=rating.stress, margin=rating.share, verdict=says, remedy=way)


def _way_out(rating: Rating, *, key: PartKey, own: Quantity | str | None) -> str:
    """Which figure of the user's key would pass."""
    if key.sense == "stress":
        most = rating.share * rating.limit.value
        return f"Take one of at most {engineering(most, rating.limit.unit)}."
    unlike = isinstance(own, Quantity) and own.unit == rating.limit.unit and own.value > 0
    if key.sense in ("scaled", "own") and unlike and isinstance(own, Quantity):
        factor = rating.limit.value / own.value     # the rating's limit for each unit of the user's figure
        rating = replace(rating, stress=Quantity(rating.stress.value / factor, rating.limit.unit))
    elif key.sense == "own" and isinstance(own, Quantity) and own.unit != rating.limit.unit:
        return rating.remedy or remedy(rating)
    return remedy(rating)


def _costs(rating: Rating, key: PartKey) -> str:
    stress = engineering(rating.stress.value, rating.stress.unit)
    where = f" ({rating.at})" if rating.at else ""
    if "stress" in (key.sense, key.words):
        return f"Its {key.key.replace('_', ' ')} is not known; the design counts with {stress}{where}."
    took = "; the design counts with that of a generic class" if key.sense == "own" else ""
    return f"Whether it stands {rating.name} of {stress}{where} is not known{took}."


def value_row(key: PartKey, *, own: Any, part: Part, table: str) -> OwnRow | None:
    """The row of a part's value or class; None where the part has no such value."""
    frame = OwnRow(table=table, key=key.key, part=part.designator, role=part.role, rating=key.key.replace("_", " "),
                   given=None, verdict="not known", source=_source(key), at="")
    if key.sense == "class":
        passing = key.words.partition("/")[0].split("|")
        if own is None:
            return replace(frame, costs=f"One of another class than {', '.join(passing)} can fail into a short "
                           "across the mains.")
        good, frame = own in passing, replace(frame, rating=f"class, one of {', '.join(passing)}")
        return replace(frame, given=own, verdict="pass" if good else "fail",
                       remedy="" if good else f"Take one of class {passing[0]}.")
    if part.value is None or part.value.unit != key.unit:
        return None
    worked = part.value
    low, high = (Quantity(worked.value * (share or 1.0), worked.unit) for share in (key.least, key.most))
    frame = replace(frame, stress=worked, low=low, high=high)
    if own is None:
        return replace(frame, costs=f"The figures hold for {_shown(worked)}; whether yours is one is not known.")
    slack = 1e-9 * worked.value
    side = "too low" if own < low.value - slack else "too high" if own > high.value + slack else ""
    way = f"{side.capitalize()}: take {_shown(worked)}. {part.if_wrong}".strip() if side else ""
    return replace(frame, given=Quantity(own, key.unit), verdict="fail" if side else "pass", remedy=way)


def _shown(quantity: Quantity) -> str:
    if quantity.unit == "m**2":
        return f"{engineering(1e6 * quantity.value, '1')} mm²"
    return engineering(quantity.value, quantity.unit)


def _source(key: PartKey) -> str:
    return marked(key.source, key.mark)
