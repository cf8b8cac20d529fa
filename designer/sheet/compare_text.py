"""A comparison as text for a terminal: caution first, then the order with its reasons, then the figures."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from designer.sheet.compare_words import LINES, NONE, remarks, written
from designer.sheet.text import told
from designer.studies.compare_rank import SAID
from designer.studies.compare_result import Candidate, Comparison, Pair

WIDTH, ABREAST = 116, 4
_FIRST = ("Mains kills, and a runaway rotor maims. A comparison gives nothing to build from: design the circuit "
          "chosen, and build from its sheet alone. This is a calculation, not an approval.")


def compare_tables(found: Comparison) -> str:
    """Caution, the ranking with what each loses by, figures side by side, remarks, assumptions."""
    lines = [*_wrapped(_FIRST), "", f"{found.project.title or 'Comparison'}: {_verdict(found)}", ""]
    for place, one in enumerate(found.candidates, start=1):
        lines += _ranked(place, one)
    lines += ["", *_wrapped(found.rule)]
    told_ = [one for one in found.candidates if "setting_nominal" in one.figures]
    for start in range(0, len(told_), ABREAST):
        lines += ["", *_table(told_[start:start + ABREAST])]
    for one in found.candidates:
        lines += ["", *_wrapped(f"{one.circuit}: {' '.join(remarks(one))}", "", "  ")]
    for pair in found.pairs:
        lines += ["", *_pair(pair)]
    lines += ["", *(line for a in found.assumptions for line in _wrapped(f"{a.text} ({a.mark})", "", "  "))]
    return "\n".join(lines).replace("\u00a0", " ") + "\n"


def _verdict(found: Comparison) -> str:
    first = found.first
    return f"{first.circuit} stands first" if first.fits else "no circuit fits as the file stands"


def _ranked(place: int, one: Candidate) -> list[str]:
    lines = _wrapped(f"{place}. {one.circuit} ({one.title}): {SAID[one.standing]}", "", "   ")
    if one.lost_to:
        lines += _wrapped(one.lost_to, "   ", "   ")
    rest = one.reasons[1:] if one.lost_to.endswith(one.reasons[0].message if one.reasons else "\0") else one.reasons
    for reason in rest:
        limit = f", limit {told(reason.limit)}" if reason.limit else ""
        figure = f" [{told(reason.figure)}{limit}]" if reason.figure else ""
        lines += _wrapped(f"{reason.code}: {reason.message}{figure}", "   ", "     ")
    if one.reasons:
        lines += _wrapped(f"way out: {one.reasons[0].way_out}", "   ", "     ")
    return lines


def _table(some: Sequence[Candidate]) -> list[str]:
    rows = [("", *(one.circuit for one in some))]
    rows += [(line.label, *(line.cell(one) for one in some)) for line in LINES]
    kept = [row for row in rows if any(cell != NONE for cell in row[1:])]
    return _columns(kept)


def _columns(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    share = (WIDTH - widths[0]) // max(len(widths) - 1, 1) - 2
    widths = [widths[0], *(min(width, share) for width in widths[1:])]
    lines = []
    for row in rows:
        cells = [textwrap.wrap(cell, width) or [""] for cell, width in zip(row, widths, strict=True)]
        cells[0] = [row[0]]
        for k in range(max(map(len, cells))):
            parts = (c[k] if k < len(c) else "" for c in cells)
            lines.append("  ".join(f"{part:<{w}}" for part, w in zip(parts, widths, strict=True)).rstrip())
    return lines


def _pair(pair: Pair) -> list[str]:
    rows = [("", *pair.columns)]
    rows += [(name, *(cell if isinstance(cell, str) else written(cell) for cell in cells)) for name, cells in pair.rows]
    return [*_wrapped(pair.title), *_columns(rows), *_wrapped(pair.note)]


def _wrapped(text: str, first: str = "", then: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)
