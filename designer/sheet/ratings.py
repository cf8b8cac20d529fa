"""The ratings held against stresses, as rows for people: long lists folded, every row with a name."""

from __future__ import annotations

import math
from dataclasses import dataclass

from designer.results import Check, Design
from designer.sheet.text import allowed, show, used, words

WORST = 5
_LISTED = "line current"      # checks of this kind come by the dozen, one an order


@dataclass(frozen=True, kw_only=True)
class CheckRow:
    """One check as printed."""

    part: str
    rating: str
    stress: str
    limit: str
    used: str
    allowed: str
    verdict: str
    at: str
    source: str
    remedy: str


@dataclass(frozen=True, kw_only=True)
class CheckTable:
    """The rows, and what is said of those left out."""

    rows: tuple[CheckRow, ...]
    remarks: tuple[str, ...]


def check_table(design: Design) -> CheckTable:
    """Give the checks in order; of a long list of line harmonics the worst five, and all that don't pass.

    A rating without a limit is no check and is left out.
    """
    names = part_names(design)
    single = [c for c in design.checks if not c.part.startswith(_LISTED) and math.isfinite(c.limit.value)]
    rows = [_row(check, names) for check in single]
    remarks = []
    for kind in dict.fromkeys(c.part for c in design.checks if c.part.startswith(_LISTED)):
        listed = sorted((c for c in design.checks if c.part == kind), key=_share, reverse=True)
        shown = [c for n, c in enumerate(listed) if n < WORST or c.verdict != "pass"]
        rows += [_row(check, names) for check in shown]
        rest = listed[len(shown):]
        if rest:
            most = used(rest[0].stress, rest[0].limit)
            name = f"{kind[0].upper()}{kind[1:]}"
            remarks.append(f"{name}: the {len(rest)} other orders pass too, at most {most} of the limit.")
    return CheckTable(rows=tuple(rows), remarks=tuple(remarks))


def part_names(design: Design) -> dict[str, str]:
    """For ratings of what has no designator (a gate pulse, no snubber): rating name -> what it belongs to."""
    return {
        rating.name: words(part.role)
        for part in design.parts if not part.designator for rating in part.ratings
    }


def _share(check: Check) -> float:
    return check.stress.value / check.limit.value if check.limit.value else math.inf


def _row(check: Check, names: dict[str, str]) -> CheckRow:
    return CheckRow(
        part=words(check.part) if check.part else names.get(check.rating, "circuit"), rating=check.rating,
        stress=show(check.stress), limit=show(check.limit), used=used(check.stress, check.limit),
        allowed=allowed(check.margin, check.limit), verdict=check.verdict, at=check.at, source=check.source,
        remedy=check.remedy if check.verdict != "pass" else "",
    )
