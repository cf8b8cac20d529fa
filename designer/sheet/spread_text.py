"""A spread as text for a terminal: caution first, then shares, outputs, what matters most, inputs, corners."""

from __future__ import annotations

import textwrap

from designer.results import Design
from designer.sheet.cautions import deferral, live
from designer.sheet.facts import facts_of
from designer.sheet.spread_section import told
from designer.sheet.spread_words import Rows

WIDTH = 116


def spread_tables(made: Design) -> str:
    """Caution, how many stay near the target, every table, what must be known to read them."""
    facts, shown = facts_of(made), told(made.spread, plotted=False)
    lines = [*_wrapped(" ".join((live(facts), *deferral(facts)))), "",
             f"{made.project.title or made.circuit_title}: how far builds lie apart", ""]
    for line in shown.shares:
        lines += _wrapped(line)
    for table in shown.tables:
        lines += ["", *_table(table)]
    lines += ["", *(text for note in shown.notes for text in _wrapped(note))]
    return "\n".join(lines).replace("\u00a0", " ") + "\n"


def _table(table: Rows) -> list[str]:
    rows = [table.heads, *table.rows]
    widths = [max(len(row[k]) for row in rows) for k in range(len(table.heads))]
    if sum(widths) + 2 * len(widths) > WIDTH:        # too wide for a line: a block a row
        lines = [f"{table.caption}:"]
        for row in table.rows:
            told_ = "; ".join(f"{head} {cell}" for head, cell in zip(table.heads[1:], row[1:], strict=True))
            lines += _wrapped(f"{row[0]}: {told_}", "  ", "    ")
        return lines
    return [f"{table.caption}:", *(
        "  " + "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows)]


def _wrapped(text: str, first: str = "", then: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)
