"""The parts list: rows for the sheet, and the same as CSV for a spreadsheet."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from designer.results import Design, Part
from designer.sheet.text import allowed, show, used, words

COLUMNS = (
    "designator", "part", "count", "value", "marking", "tolerance", "description",
    "rating", "limit", "stress", "used", "may use", "at", "why", "if wrong", "sources",
)
NOT_READY = "NOT READY: no parts list. See the build sheet for the reasons."
_MARKED_ALONE = frozenset({
    "supply-cord", "wire", "heatsink", "switch", "varistor", "bridge", "flyback-diode", "field-diode", "clamp-diode",
    "inrush-bypass", "field-relay", "armature-contactor", "motor-wire", "field-wire", "rectifier-diode", "gate-diode",
    "second-path-relay",
    "field-thyristor", "field-bridge", "field-fuse", "field-transformer", "field-gate-diode", "field-switch",
})
_FORMULA = tuple("=+-@＝＋－＠|%")


@dataclass(frozen=True, kw_only=True)
class RatingRow:
    """One rating of a part as printed."""

    name: str
    limit: str
    stress: str
    used: str
    allowed: str
    at: str
    source: str


@dataclass(frozen=True, kw_only=True)
class PartRow:
    """One part as printed."""

    designator: str
    part: str
    count: int
    value: str
    marking: str
    tolerance: str
    description: str
    ratings: tuple[RatingRow, ...]
    why: tuple[str, ...]
    if_wrong: str
    sources: tuple[str, ...]


def row(part: Part) -> PartRow:
    """Write one part for the list."""
    ratings = tuple(
        RatingRow(
            name=rating.name, limit=show(rating.limit), stress=show(rating.stress),
            used=used(rating.stress, rating.limit), allowed=allowed(rating.share, rating.limit),
            at=rating.at, source=rating.source,
        )
        for rating in part.ratings
    )
    formulas = ", ".join(dict.fromkeys(words(step.formula.name) for step in part.worked))
    notes = tuple(note if note.endswith(".") else f"{note}." for note in part.notes)
    said = " ".join(notes)
    return PartRow(
        designator=part.designator, part=words(part.role), count=part.count,
        value=_value(part), marking=part.marking,
        tolerance=f"± {part.tolerance.lstrip('± ')}" if part.tolerance else "",
        description=part.description, ratings=ratings,
        why=(*notes, f"Worked out below: {formulas}.") if formulas else notes,
        if_wrong=part.if_wrong, sources=tuple(source for source in part.sources if source not in said),
    )


def _value(part: Part) -> str:
    """The value, unless the marking or the description says it all."""
    return "" if part.value is None or part.role in _MARKED_ALONE else show(part.value)


def parts_csv(design: Design) -> str:
    """The parts list as CSV (RFC 4180, every cell quoted), one line a rating.

    A cell that a spreadsheet would take for a formula starts with an apostrophe. A design that is
    not ready has no parts list: one line says so.
    """
    target = io.StringIO()
    writer = csv.writer(target, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    if not design.ready:
        writer.writerow([NOT_READY])
        return target.getvalue()
    writer.writerow(COLUMNS)
    for part in map(row, design.parts):
        for line in _lines(part):
            writer.writerow([_plain(cell) for cell in line])
    return target.getvalue()


def _lines(part: PartRow) -> list[tuple[str, ...]]:
    """The part with its first rating, then a line for each further rating."""
    name = (part.designator, part.part)
    start = (*name, str(part.count), part.value, part.marking, part.tolerance, part.description)
    end = ("; ".join(part.why), part.if_wrong, "; ".join(part.sources))
    cells = [(r.name, r.limit, r.stress, r.used, r.allowed, r.at) for r in part.ratings] or [("",) * 6]
    first, *further = cells
    again = (*name, *[""] * 5)
    return [(*start, *first, *end), *((*again, *cell, "", "", "") for cell in further)]


def _plain(cell: str) -> str:
    """A cell on one line that no spreadsheet takes for a formula."""
    line = " ".join(cell.split())
    return f"'{line}" if line.startswith(_FORMULA) else line
