"""The user's own parts as rows for people: for the sheet's section, the page of ``check`` and the terminal."""

from __future__ import annotations

import math
from dataclasses import dataclass

from designer.quantities import engineering
from designer.results import Quantity
from designer.sheet.text import allowed, show, used, words
from designer.studies.own_parts import OwnParts
from designer.studies.own_rows import OwnRow

NONE = "—"


@dataclass(frozen=True, kw_only=True)
class Line:
    """One row as printed."""

    table: str
    key: str
    part: str
    rating: str
    yours: str
    limit: str
    stress: str
    used: str
    allowed: str
    verdict: str
    at: str
    source: str
    more: str       # way out, or what it costs that the key is not known


@dataclass(frozen=True, kw_only=True)
class Lines:
    """All rows: those held, worst first by verdict, and those not known; with a line that counts them."""

    held: tuple[Line, ...]
    unknown: tuple[Line, ...]
    count: str
    note: str


_ORDER = {"fail": 0, "warn": 1, "pass": 2, "not known": 3}


def own_lines(own: OwnParts) -> Lines:
    """The rows of the user's parts, what fails first."""
    rows = sorted(own.rows, key=lambda row: _ORDER[row.verdict])
    counts = {name: own.count(name) for name in _ORDER}
    passed = f"{counts['pass']} pass, {counts['warn']} warn, {counts['fail']} fail"
    note = "" if own.chosen else (
        "No design stands with these parts, so the stresses are those of a design with generic parts of the same "
        "conducting drop and capacitance. Mend what fails, and check again.")
    return Lines(
        held=tuple(_line(row) for row in rows if row.verdict != "not known"),
        unknown=tuple(_line(row) for row in rows if row.verdict == "not known"),
        count=f"{passed}; {counts['not known']} not known, and not counted as passed.", note=note)


def _line(row: OwnRow) -> Line:
    is_value = row.low is not None and row.high is not None
    return Line(
        table=f"parts.{row.table}", key=row.key, part=f"{row.part}, {words(row.role)}" if row.part else words(row.role),
        rating=row.rating, yours=_shown(row.given), limit=_limit(row),
        stress=_shown(row.stress), used=_used(row), allowed=_allowed(row) if not is_value else "", verdict=row.verdict,
        at=row.at, source=row.source, more=row.remedy or row.costs)


def _shown(value: Quantity | str | None) -> str:
    if value is None:
        return NONE
    return value if isinstance(value, str) else show(value)


def _limit(row: OwnRow) -> str:
    if row.low is not None and row.high is not None:
        return f"{show(row.low)} to {show(row.high)}"
    return _shown(row.limit)


def _used(row: OwnRow) -> str:
    if row.limit is not None and row.stress is not None:
        return used(row.stress, row.limit)
    return NONE if math.isnan(row.used) else f"{engineering(100 * row.used, '1', 3)}\u00a0%"


def _allowed(row: OwnRow) -> str:
    return NONE if math.isnan(row.margin) or row.limit is None else allowed(row.margin, row.limit)
