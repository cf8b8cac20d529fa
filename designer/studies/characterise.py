"""The verb `characterise`: constants from readings, hold-out grade, next reading, measuring plan; and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from designer.motor.fit_next import Next
from designer.motor.fit_suspects import Suspect
from designer.project import require
from designer.project.model import Project
from designer.project.requirements import lacking
from designer.quantities import engineering, shown
from designer.studies.fitted import Characterised, fitted
from designer.studies.hold_out import HeldOut, grade, hold_out
from designer.studies.measuring import Plan, plan
from designer.studies.next_reading import find_next

WORTH = 0.9     # of the uncertainty before: above it no single reading is worth naming for it
#: quantity of a reading -> unit
UNITS: Mapping[str, str] = {
    "voltage": "V", "current": "A", "field_current": "A", "field_voltage": "V", "armature_voltage": "V",
    "armature_current": "A", "speed": "rad/s", "frequency": "Hz", "torque": "N*m", "time": "s", "resistance": "ohm",
}
#: constant that is missing -> the reading that gives it: kind, winding
_GIVES: Mapping[str, tuple[str, str]] = {
    "motor.armature_resistance": ("standstill-dc", "armature"), "motor.field_resistance": ("standstill-dc", "field"),
    "motor.flux_curve": ("separate-excitation", ""), "motor.friction_torque": ("separate-excitation", ""),
    "motor.armature_inductance": ("standstill-ac", "armature"), "motor.field_inductance": ("standstill-ac", "field"),
    "motor.inertia": ("run-down", ""), "motor.thermal_resistance_armature": ("warm-up", "armature"),
    "motor.thermal_resistance_field": ("warm-up", "field"), "motor.insulation_resistance": ("insulation", ""),
}


@dataclass(frozen=True, kw_only=True)
class NextStep:
    """The reading worth taking next: kind, settings and what it should say (SI), words, and what it does."""

    kind: str
    winding: str
    settings: Mapping[str, float]
    expected: Mapping[str, float]
    action: str
    answer: str = ""
    before: float | None = None
    after: float | None = None


@dataclass(frozen=True, kw_only=True)
class Report:
    """All of the verb: what was fitted, what was predicted, how good it is, what to read next, and the plan."""

    found: Characterised
    held: tuple[HeldOut, ...]
    grade: str
    next: NextStep
    plan: Plan

    @property
    def project(self) -> Project:
        """The file as read."""
        return self.found.project

    @property
    def sound(self) -> bool:
        """True where nothing is suspect and no prediction is poor."""
        return not self.found.suspects and self.grade != "poor"


def characterise(project: Project) -> Report:
    """Fit the motor's constants to the project's readings and say how good they are, and what to read next.

    Raises ``InputErrors`` where there are no readings, and ``InputError`` where the motor turned and its armature's
    resistance is neither read nor given.
    """
    require(project, "characterise")
    found = fitted(project)
    held = hold_out(found.completed)
    return Report(found=found, held=held, grade=grade(held), next=_next(found), plan=plan(found))


def _next(found: Characterised) -> NextStep:
    """A suspect is read again first, then what is missing, then what tells most."""
    for one in found.suspects:
        return NextStep(kind=one.kind, winding="", settings={}, expected=dict(one.likely),
                        action=f"Take reading {one.place} again: {one.cause}.")
    for key in _missing(found.completed):
        kind, winding = _GIVES[key]
        what = f"{kind}, {winding}" if winding else kind
        return NextStep(kind=kind, winding=winding, settings={}, expected={},
                        action=f"Take a {what} reading: {key.removeprefix('motor.').replace('_', ' ')} is missing.")
    best = find_next(found.project, found.fit)
    if best is None:
        return NextStep(
            kind="separate-excitation", winding="", settings={}, expected={},
            action="Turn the motor with the field fed apart, at two or more field currents: flux curve and friction "
            "are not known yet.")
    return _settled(best)


def _settled(best: Next) -> NextStep:
    names, unit = {"speed": "rad/s"}, UNITS
    settings, expected = dict(best.candidate.settings), dict(best.candidate.expected)

    def told(name: str, value: float) -> str:
        text = shown(value, "rad/s") if name in names else engineering(value, unit[name], 3)
        return f"{name.replace('_', ' ')} {text}"

    what = f"{best.candidate.kind}{f', {best.candidate.winding}' if best.candidate.winding else ''}"
    sets = ", ".join(told(name, value) for name, value in settings.items())
    reads = ", ".join(told(name, value) for name, value in expected.items())
    action = (f"Take a {what} reading at {sets}; it should read {reads}. It takes the uncertainty of the "
              f"{best.answer} from ±{100 * best.before:.2g} % to ±{100 * best.after:.2g} %.")
    if best.after > WORTH * best.before:
        action += " No single reading within the bench's limits does much better: repeat what is there."
    return NextStep(kind=best.candidate.kind, winding=best.candidate.winding, settings=settings, expected=expected,
                    action=action, answer=best.answer, before=best.before, after=best.after)


def _missing(project: Project) -> Iterator[str]:
    """Keys that a design of the file's circuit needs, and that readings could give."""
    if project.circuit.kind is not None:
        yield from (fault.key for fault in lacking(project, "design") if fault.key in _GIVES)


def characterise_json(report: Report) -> dict[str, Any]:
    """The whole result as JSON: constants, flux curve, suspects, hold-out, grade, next reading."""
    found = report.found
    constants = {name: {"value": c.value, "unit": c.unit, "standard_uncertainty": c.uncertainty}
                 for name, c in found.constants.items()}
    return {
        "constants": constants,
        "flux_curve": None if found.curve is None else {
            "field_current": found.curve.current.tolist(), "speed_constant": found.curve.value.tolist(),
            "standard_uncertainty": found.curve.uncertainty.tolist(), "read_up_to": found.curve.read_up_to,
            "law": bool(found.fit and found.fit.lawful)},
        "suspects": [_suspect(one) for one in found.suspects],
        "kept_out": [{"reading": kept.place, "why": kept.why} for kept in found.kept_out],
        "hold_out": [{"reading": one.place, "predicted": _quantities(one.predicted),
                      "measured": _quantities(one.measured)} for one in report.held],
        "grade": report.grade,
        "next_reading": {
            "kind": report.next.kind, "winding": report.next.winding or None, "action": report.next.action,
            "settings": _quantities(report.next.settings), "expected": _quantities(report.next.expected),
            "answer": report.next.answer or None, "uncertainty_before": report.next.before,
            "uncertainty_after": report.next.after},
        "notes": list(found.notes),
        "measuring_plan": {
            "largest_safe_unloaded_voltage": _quantity("voltage", report.plan.safe_voltage),
            "highest_bench_speed": _quantity("speed", report.plan.safe_speed)},
        "format": 1,
    }


def _suspect(one: Suspect) -> dict[str, Any]:
    return {"reading": one.place, "cause": one.cause, "distance": one.distance, "set_aside": one.set_aside,
            "likely": _quantities(dict(one.likely))}


def _quantities(values: Mapping[str, float]) -> dict[str, Any]:
    return {name: _quantity(name, value) for name, value in values.items()}


def _quantity(name: str, value: float) -> dict[str, Any]:
    return {"value": value, "unit": UNITS[name]}
