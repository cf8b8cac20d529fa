"""A comparison as one self-contained page: cautions first, the order with its reasons, figures side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from designer.quantities import engineering
from designer.results import Quantity, Reason
from designer.sheet.cautions import Filled, page_deferral
from designer.sheet.compare_words import LINES, NONE, remarks, written
from designer.sheet.engine import environment
from designer.sheet.text import show, told
from designer.studies.compare_rank import SAID
from designer.studies.compare_result import Candidate, Comparison, Pair

HAZARD = "DANGER: nothing here is to be built from. Design the circuit chosen, and build from its own sheet."
ABREAST = 5        # circuits side by side on a page of A4
SECTIONS = (
    ("cautions", "Cautions"), ("order", "Order"), ("figures", "Figures side by side"),
    ("circuits", "Circuit by circuit"), ("hearsay", "Two questions, in figures"),
    ("assumptions", "Rule and assumptions"),
)


def build_compare(found: Comparison) -> str:
    """The page as one HTML text: nothing is loaded, no script runs, user text is escaped."""
    return environment().get_template("compare.html").render(context(found))


def context(found: Comparison) -> dict[str, object]:
    """Everything that the template prints."""
    told_ = [one for one in found.candidates if "setting_nominal" in one.figures]
    work = "mains" if found.project.supply.is_mains else "electrical machines"
    return {
        "title": found.project.title or "Comparison of circuits", "date": found.project.date, "hazard_line": HAZARD,
        "deferral": page_deferral(work),
        "cautions": tuple(cautions(found)), "asked": asked(found),
        "sections": [(name, title) for name, title in SECTIONS if found.pairs or name != "hearsay"],
        "fits": found.first.fits, "first": found.first, "rule": found.rule, "assumptions": found.assumptions,
        "order": [(one.circuit, SAID[one.standing], _loss(one), _why(one)) for one in found.candidates],
        "tables": [_table(told_[n:n + ABREAST]) for n in range(0, len(told_), ABREAST)],
        "circuits": [(one, SAID[one.standing], [_reason(r) for r in one.reasons], tuple(remarks(one)))
                     for one in found.candidates],
        "pairs": [_pair(pair) for pair in found.pairs],
    }


def asked(found: Comparison) -> str:
    """Target and supply in one line."""
    project = found.project
    speed = float(project.target.speed or 0.0)
    supply = project.supply
    volts = engineering(float(supply.voltage or 0.0), "V")
    hertz = f" {engineering(supply.frequency, 'Hz')}" if supply.frequency else " direct"
    torque = show(Quantity(project.load.torque_at(speed), "N*m"))
    return f"{show(Quantity(speed, 'rad/s'))} with {torque} at the output, {volts}{hertz}"


def cautions(found: Comparison) -> Iterator[Filled]:
    """What holds of every circuit compared, before any figure."""
    yield Filled(code="not-to-build", heading="Nothing here is to be built from", lines=(
        "A comparison holds no part against its stress. Design the circuit chosen, and build only from a sheet that "
        "says READY.",
        "What stands first has the least copper loss and the fewest parts, not the least danger. Read what its failed "
        "switch does.",
    ))
    yield Filled(code="live", heading="All of these are live", lines=(
        "Every circuit here is live as a whole while it is connected, control side, heatsink, tacho and thermal-switch "
        "leads too, and at zero output too.",
        "A bus keeps its charge after the supply is off: measured, not trusted.",
        "The type of residual-current device differs with the circuit. Behind an isolation transformer it does "
        "nothing.",
    ))
    yield Filled(code="runaway", heading="Runaway", lines=(
        "A series motor without load runs away at a fraction of its rated voltage. A separate field that is lost is a "
        "runaway too.",
        "A switch usually fails short: full output, whatever the setting.",
    ))
    yield Filled(code="not-for", heading="Not for", lines=(
        "Lifting. Riding on, or moving people. Explosive or wet places. Running unattended.",))


def _loss(one: Candidate) -> str:
    return written(one.figures["copper_loss"]) if "copper_loss" in one.figures else NONE


def _why(one: Candidate) -> str:
    return one.lost_to or ("stands first" if one.fits else one.reasons[0].message)


def _table(some: Sequence[Candidate]) -> dict[str, object]:
    rows = [(line.label, [line.cell(one) for one in some]) for line in LINES]
    return {"heads": [one.circuit for one in some],
            "rows": [(label.strip(), label.startswith(" "), cells) for label, cells in rows
                     if any(cell != NONE for cell in cells)]}


def _reason(reason: Reason) -> dict[str, str]:
    return {"code": reason.code.replace("-", " "), "message": reason.message, "way_out": reason.way_out,
            "figure": told(reason.figure) if reason.figure else "", "limit": told(reason.limit) if reason.limit else ""}


def _pair(pair: Pair) -> dict[str, object]:
    rows = [(name, [cell if isinstance(cell, str) else written(cell) for cell in cells]) for name, cells in pair.rows]
    return {"title": pair.title, "heads": pair.columns, "rows": rows, "note": pair.note}
