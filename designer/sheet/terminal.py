"""A whole design as text for a terminal: cautions first, then the verdict, figures, parts and checks."""

from __future__ import annotations

import textwrap

from designer.results import Design, Quantity, Reason
from designer.sheet.cautions import deferral, live
from designer.sheet.facts import facts_of
from designer.sheet.headline import figures
from designer.sheet.own_words import own_lines
from designer.sheet.parts_list import row
from designer.sheet.ratings import check_table
from designer.sheet.text import told, words

WIDTH = 116


def design_tables(design: Design) -> str:
    """Cautions, verdict with its reasons, headline figures, parts where it is ready, checks and warnings."""
    given = design.project.supply.frequency
    shown = [(figure.label, figure.value) for figure in figures(design, Quantity(given, "Hz") if given else None)]
    width, facts = max((len(label) for label, _ in shown), default=0), facts_of(design)
    lines = [
        *wrapped(" ".join((live(facts), *deferral(facts)))), "",
        f"{design.circuit_title}: {'READY' if design.ready else 'NOT READY'}",
        *(line for reason in design.reasons for line in _reason(reason)), "",
        *(f"  {label:<{width}}  {value}" for label, value in shown),
    ]
    if design.ready:
        lines += ["", "Parts", *_parts(design)]
    checked = check_table(design)
    if checked.rows:
        lines += ["", "Ratings"]
    lines += [f"  {check.verdict:<4}  {check.part}, {check.rating}: {check.stress} of {check.limit} "
              f"({check.used}, may use {check.allowed})" for check in checked.rows]
    lines += [f"  {remark}" for remark in checked.remarks]
    lines += [] if design.own is None else ["", f"Your own parts: {own_lines(design.own).count} See check."]
    lines += ["", *(line for w in design.warnings for line in wrapped(f"warning ({w.code}): {w.message}"))]
    return "\n".join(lines).replace("\u00a0", " ") + "\n"


def _reason(reason: Reason) -> list[str]:
    """One reason: what, with which figure against which limit, the way out, the nearest feasible point."""
    limit = f", limit {told(reason.limit)}" if reason.limit else ""
    figure = f" [{told(reason.figure)}{limit}]" if reason.figure else ""
    lines = wrapped(f"{reason.code}: {reason.message}{figure}", first="  ", then="    ")
    if reason.way_out:
        lines += wrapped(f"way out: {reason.way_out}", first="    ", then="      ")
    return lines + [f"    nearest: {words(name)} {told(value)}" for name, value in reason.nearest.items()]


def _parts(design: Design) -> list[str]:
    """A line a part: designator, value, marking, kind; under it what needs no part."""
    lines = []
    for part in map(row, design.parts):
        value = f"{part.count} × {part.value}" if part.count > 1 and part.value else part.value
        marking = "" if part.marking.replace(" ", "") == part.value.replace("\u00a0", "") else part.marking
        told_ = ", ".join(filter(None, (value, marking, part.description)))
        lines.append(f"  {part.designator or '—':<8} {told_}")
    return lines


def wrapped(text: str, *, first: str = "", then: str = "") -> list[str]:
    """A paragraph in lines of the terminal's width; numbers stay with their units."""
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)
