"""``check`` as text for a terminal: caution first, then verdict, rows, what is not known."""

from __future__ import annotations

import textwrap

from designer.sheet.cautions import deferral, live
from designer.sheet.facts import facts_of
from designer.sheet.own_words import Line, own_lines
from designer.sheet.text import told
from designer.studies.check import Checked

WIDTH = 116


def check_tables(found: Checked) -> str:
    """Caution, verdict, every key held against its stress, what is not known, and what stands against the design."""
    facts = facts_of(found.made)
    lines = [*_wrapped(" ".join((live(facts), *deferral(facts)))), "",
             f"{found.project.title or found.made.circuit_title}: "
             f"{'YOUR PARTS HOLD' if found.sound else 'YOUR PARTS DO NOT HOLD'}"]
    if found.own is None:
        lines += _wrapped("No design can be made, so there is no stress to hold a part against.", "  ")
    else:
        rows = own_lines(found.own)
        lines += _wrapped(rows.count, "  ")
        lines += _wrapped(rows.note, "  ") if rows.note else []
        lines += ["", *(text for line in rows.held for text in _held(line))]
        if rows.unknown:
            lines += ["", "Not known"]
            lines += [text for line in rows.unknown for text in _wrapped(
                f"[{line.table}] {line.key}: {line.more}", "  ", "      ")]
    if found.reasons:
        lines += ["", "The design with these parts is not ready"]
    for reason in found.reasons:
        limit = f", limit {told(reason.limit)}" if reason.limit else ""
        figure = f" [{told(reason.figure)}{limit}]" if reason.figure else ""
        lines += _wrapped(f"{reason.code}: {reason.message}{figure}", "  ", "    ")
        lines += _wrapped(f"way out: {reason.way_out}", "    ", "      ") if reason.way_out else []
    return "\n".join(lines).replace("\u00a0", " ") + "\n"


def _held(line: Line) -> list[str]:
    """A row: verdict, key and figure, the rating, stress of limit; under it margin, source, place and way out."""
    if line.limit == "—":
        what = line.rating
    elif line.allowed:
        what = f"{line.rating} {line.stress} of {line.limit} ({line.used}, may use {line.allowed})"
    else:
        what = f"worked out {line.stress}, may be {line.limit}"
    at = f" Worst: {line.at}." if line.at else ""
    lines = _wrapped(f"{line.verdict:<4}  {line.part}: [{line.table}] {line.key} = {line.yours}; {what}", "  ",
                     "        ")
    lines += _wrapped(f"Margin: {line.source}.{at}", "        ", "        ")
    return lines + (_wrapped(f"Way out: {line.more}", "        ", "        ") if line.more else [])


def _wrapped(text: str, first: str = "", then: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)
