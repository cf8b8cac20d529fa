"""``check`` as one self-contained page: cautions first, then the user's parts against their stresses."""

from __future__ import annotations

from designer.results import Reason
from designer.sheet.cautions import cautions, danger, hazard_line, page_deferral
from designer.sheet.engine import environment
from designer.sheet.facts import facts_of
from designer.sheet.own_words import own_lines
from designer.sheet.text import told
from designer.studies.check import Checked

SECTIONS = (("cautions", "Cautions"), ("verdict", "Verdict"), ("own-parts", "Your parts against their stresses"),
            ("design", "The design with these parts"), ("assumptions", "Assumptions"))


def build_check(found: Checked) -> str:
    """The page as one HTML text: nothing is loaded, no script runs, user text is escaped."""
    return environment().get_template("check.html").render(context(found))


def context(found: Checked) -> dict[str, object]:
    """Everything that the template prints."""
    made, facts = found.made, facts_of(found.made)
    work = "mains" if found.project.supply.is_mains else "electrical machines"
    return {
        "title": found.project.title or made.circuit_title, "date": found.project.date,
        "circuit": made.circuit_title, "hazard_line": hazard_line(facts), "danger": danger(facts),
        "deferral": page_deferral(work), "cautions": cautions(made), "sections": SECTIONS, "sound": found.sound,
        "own": None if found.own is None else own_lines(found.own),
        "reasons": [_reason(reason) for reason in found.reasons], "assumptions": made.assumptions,
    }


def _reason(reason: Reason) -> dict[str, str]:
    return {"code": reason.code.replace("-", " "), "message": reason.message, "way_out": reason.way_out,
            "figure": told(reason.figure) if reason.figure else "", "limit": told(reason.limit) if reason.limit else ""}
