"""Constants from readings as one self-contained page: cautions, constants, plots, suspects, next reading, worksheet."""

from __future__ import annotations

import math

from designer.equations.characterise import FLUX_LAW, SPEED_CONSTANT
from designer.motor.fit_bench import SEPARATE
from designer.motor.fit_errors import priors, usual_errors
from designer.quantities import engineering
from designer.results import Quantity, Step
from designer.sheet.cautions import page_deferral
from designer.sheet.cautions_bench import HAZARD, cautions
from designer.sheet.characterise_text import constants, curve, remarks, with_all
from designer.sheet.engine import environment
from designer.sheet.fit_figures import flux_and_friction, residuals
from designer.sheet.svg import Drawing, embed
from designer.sheet.text import show, words
from designer.sheet.worked import worked
from designer.studies.characterise import UNITS, Report
from designer.studies.from_readings import graded
from designer.studies.hold_out import HeldOut
from designer.tables import marked

SECTIONS = (
    ("cautions", "Cautions"), ("verdict", "Verdict"), ("constants", "Constants"), ("plots", "Fit over the readings"),
    ("suspects", "Suspects and remarks"), ("hold-out", "Readings held out"), ("next", "What to read next"),
    ("plan", "Measuring plan"), ("worked", "Worked calculations"), ("sources", "Errors counted and sources"),
)
MEANING = (
    "± is one standard uncertainty: about one true value in three lies outside it, one in twenty outside twice of it. "
    "It counts the errors of every quantity that was read, each reading's by itself; a scale error that all readings "
    "of "
    "one meter share is not in it."
)


def build_characterised(report: Report) -> str:
    """The page as one HTML text: nothing is loaded, no script runs, user text is escaped."""
    return environment().get_template("characterise.html").render(context(report))


def context(report: Report) -> dict[str, object]:
    """Everything that the template prints."""
    volts = f"{math.floor(report.plan.safe_voltage)}\u00a0V"
    speed = show(Quantity(report.plan.safe_speed, "rad/s"))
    drawn = report.found.fit is not None and report.found.fit.turning
    return {
        "title": report.project.title or "Motor from readings", "date": report.project.date, "hazard_line": HAZARD,
        "deferral": page_deferral(), "cautions": cautions(volts, speed), "report": report, "meaning": MEANING,
        "sections": [(name, title) for name, title in SECTIONS if drawn or name != "plots"],
        "grade": report.grade, "graded": graded(report.held), "constants": constants(report), "curve": curve(report),
        "plots": _plots(report) if drawn else [], "remarks": list(remarks(report)),
        "both": [(name, value, other) for name, value, other in with_all(report)],
        "held": [row for one in report.held for row in _held(one)], "next": report.next, "safe_voltage": volts,
        "safe_speed": speed, "tasks": report.plan.tasks, "assumed": report.plan.assumed, "known": report.plan.known,
        "worked": [worked(step) for step in _steps(report)],
        "errors": [(words(row.kind), words(row.quantity), f"{100 * row.relative:.2g}\u00a0%", f"{row.absolute:g}",
                    row.meaning, marked(row.source, row.mark)) for row in usual_errors().values()],
        "priors": [(words(row.name), f"{row.value:g}", f"{row.uncertainty:g}", row.meaning,
                    marked(row.source, row.mark)) for row in priors().values()],
    }


def _plots(report: Report) -> list[Drawing]:
    found = report.found
    made = found.fit
    assert made is not None
    if not any(block.quantities == SEPARATE for block in made.solution.problem.blocks):
        return []
    last = engineering(float(made.read_at[-1]), "A", 3)
    fastest = show(Quantity(made.fastest, "rad/s"))
    return [
        embed(flux_and_friction(found), name="flux", title="Flux curve and friction with bands of 95 %, and readings",
              description=f"Speed constant rising with the field current, read up to {last}; friction torque rising "
              f"with speed, read up to {fastest}; both bands widen beyond that. The numbers stand in the tables."),
        embed(residuals(found), name="residuals", title="How far each reading lies from the fit",
              description="Distance of volts and torque of every turning reading from the fit in standard errors; "
              "nearly all lie within two."),
    ]


def _held(one: HeldOut) -> list[tuple[str, str, str, str, str]]:
    return [(f"{one.place} ({one.kind})", words(name), show(Quantity(value, UNITS[name])),
             show(Quantity(one.measured[name], UNITS[name])), f"{100 * one.off[name]:+.1f}\u00a0%")
            for name, value in one.predicted.items() if name in one.off]


def _steps(report: Report) -> list[Step]:
    """The formulas with this motor's numbers: inductances, curve at its last reading, tacho, warm-up."""
    found = report.found
    steps = [one.step for one in found.inductances]
    made = found.fit
    if made is not None and made.turning:
        for block in made.solution.problem.blocks:
            if block.quantities == SEPARATE and "tap_ratio" not in block.needs:
                _, volts, amps, speed = block.measured[-1].tolist()
                steps.append(Step(formula=SPEED_CONSTANT, note=f"reading {block.places[-1]}", inputs={
                    "V_m": volts, "V_d": made.value("brush_drop")[0], "R_m": made.value("armature_resistance")[0],
                    "I_m": amps, "omega_m": speed}))
        if made.lawful:
            steps.append(Step(formula=FLUX_LAW, note="at the largest field current read", inputs={
                "k_r": made.value("remanence")[0], "K_f": made.value("slope")[0], "i_f": float(made.read_at[-1]),
                "u_s": made.value("saturation")[0]}))
    if found.tacho is not None:
        steps.append(found.tacho.step)
    return [*steps, *(step for one in found.warmings for step in one.steps)]
