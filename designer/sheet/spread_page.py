"""A spread as one self-contained page: cautions first, then shares, histograms, tables and corners."""

from __future__ import annotations

from designer.results import Design
from designer.sheet.cautions import cautions, danger, hazard_line, page_deferral
from designer.sheet.engine import environment
from designer.sheet.facts import facts_of
from designer.sheet.spread_section import told

SECTIONS = (("cautions", "Cautions"), ("tolerance", "How far builds lie apart"), ("assumptions", "Assumptions"))


def build_spread(made: Design) -> str:
    """The page as one HTML text: nothing is loaded, no script runs, user text is escaped."""
    return environment().get_template("spread.html").render(context(made))


def context(made: Design) -> dict[str, object]:
    """Everything that the template prints."""
    facts, project = facts_of(made), made.project
    work = "mains" if project.supply.is_mains else "electrical machines"
    return {
        "title": project.title or made.circuit_title, "date": project.date, "circuit": made.circuit_title,
        "hazard_line": hazard_line(facts), "danger": danger(facts), "deferral": page_deferral(work),
        "cautions": cautions(made), "sections": SECTIONS, "ready": made.ready, "assumptions": made.assumptions,
        "tolerance": told(made.spread, made.corners),
    }
