"""The pinout as one self-contained page: cautions first, the connector drawn, labels, next reading, wiring."""

from __future__ import annotations

import math

from designer.motor.pin_roles import roles
from designer.motor.pin_table import Reading
from designer.quantities import engineering
from designer.sheet.cautions import page_deferral
from designer.sheet.cautions_pinout import HAZARD, cautions
from designer.sheet.connector import connector, spoken
from designer.sheet.engine import environment
from designer.sheet.pinout_words import CARE, MEANING, pins, resistance, role, sure, verdict, with_error
from designer.sheet.svg import embed
from designer.sheet.worked import worked
from designer.studies.pinout import PinReport
from designer.tables import marked

#: id, title, whether only a settled connector has it
SECTIONS = (
    ("cautions", "Cautions", False), ("verdict", "Verdict", False), ("connector", "The connector", False),
    ("next", "What to read next", False), ("against", "Contradictions and open questions", False),
    ("wiring", "Wiring for a first turn", True), ("readings", "Readings", False),
    ("worked", "Worked calculations", False), ("sources", "Ranges and sources", False),
)


def build_pinout(report: PinReport) -> str:
    """The page as one HTML text: nothing is loaded, no script runs, user text is escaped."""
    return environment().get_template("pinout.html").render(context(report))


def context(report: PinReport) -> dict[str, object]:
    """Everything that the template prints."""
    found = report.pinout
    stamp, why = verdict(found)
    drawing = embed(connector(found), name="connector", title="The connector, looked at from the side of its pins",
                    description=spoken(found))
    return {
        "title": report.project.title or "Connector of an unknown motor", "date": report.project.date,
        "hazard_line": HAZARD, "deferral": page_deferral(), "cautions": cautions(found), "meaning": MEANING,
        "sections": [(name, title) for name, title, builds in SECTIONS if report.connections or not builds],
        "stamp": stamp, "why": why, "settled": found.wireable, "drawing": drawing,
        "labels": [(pins(w), role(w), sure(w.confidence), resistance(w), CARE[w.role]) for w in found.windings],
        "lead": with_error(found.lead.value, found.lead.uncertainty), "lead_source": found.lead.source,
        "next": found.next_reading, "contradictions": found.contradictions, "questions": found.questions,
        "connections": report.connections, "choices": [_choice(c.pins, c.share, c.join, c.effect)
                                                       for c in report.field_choices],
        "readings": [_reading(r) for r in found.table.readings.values() if r.finite],
        "open": ["–".join(r.pair) for r in found.table.readings.values() if not r.finite],
        "others_open": report.project.pin_test.others_open,
        "worked": [worked(step) for step in report.worked],
        "ranges": [(r.role.replace("-", " "), f"{_ohms(r.low)} to {_ohms(r.high)}", r.meaning, marked(r.source, r.mark))
                   for r in roles().values()],
    }


def _choice(ends: tuple[str, str], share: float | None, join: str, effect: str) -> tuple[str, str, str, str]:
    part = "—" if share is None else f"{engineering(100 * share, '1', 2)}\u00a0%"
    return "–".join(ends), part, join, effect


def _ohms(value: float) -> str:
    return engineering(value, "ohm", 3).replace(" ", "\u00a0") if math.isfinite(value) else "open"


def _reading(reading: Reading) -> tuple[str, str, str, str]:
    """One row: the pair, at rest, turning, and the positions that were read twice."""
    twice = ", ".join(f"{_ohms(a)} and {_ohms(b)}" for a, b in reading.repeats)
    return ("–".join(reading.pair), ", ".join(map(_ohms, reading.still)) or "—",
            ", ".join(map(_ohms, reading.turning)) or "—", twice or "—")
