"""The motor of a project from its readings: constants with their uncertainty, and the file with the gaps filled in."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from designer.errors import InputError, InputErrors
from designer.motor.fit import Fit, fit
from designer.motor.fit_bench import IRON, Bench, KeptOut
from designer.motor.fit_curve import Table
from designer.motor.fit_suspects import Suspect
from designer.motor.fit_winding import Inductance, Tacho, Warming, inductance, inductances, tacho, warming
from designer.motor.model import SERIES_DISAGREES
from designer.project.model import Project
from designer.project.requirements import lacking
from designer.project.tellable import tellable
from designer.results import Array

#: share of the largest field current read at which the law is drawn as a curve; beyond 1 it is an extrapolation
SHARES = (0.04, 0.08, 0.13, 0.19, 0.26, 0.36, 0.5, 0.62, 0.75, 0.87, 1.0, 1.15, 1.3, 1.5, 1.75, 2.0, 2.5, 3.0)
UNITS: Mapping[str, str] = {
    "armature_resistance": "ohm", "field_resistance": "ohm", "field_tap_resistance": "ohm", "brush_drop": "V",
    "friction_torque": "N*m", "viscous_friction": "N*m*s", "windage": "N*m*s**2", "tap_ratio": "1",
    "hysteresis_torque": "N*m", "eddy_torque_coefficient": "N*m*s", "inertia": "kg*m**2",
}
#: the keys of [motor] that readings can fill in
FILLED = (
    "armature_resistance", "armature_inductance", "field_resistance", "field_inductance", "brush_drop", "flux_curve",
    "speed_constant_at", "friction_torque", "viscous_friction", "windage", "hysteresis_torque",
    "eddy_torque_coefficient", "flux_reference", "inertia", "thermal_resistance_armature", "thermal_resistance_field",
    "thermal_resistance_armature_running", "thermal_resistance_field_running", "thermal_resistance_speed",
    "thermal_time_constant",
)


@dataclass(frozen=True, kw_only=True)
class Constant:
    """A fitted constant: value and standard uncertainty in ``unit`` (SI)."""

    value: float
    unit: str
    uncertainty: float


@dataclass(frozen=True, kw_only=True)
class Curve:
    """The flux curve as handed on: A, V·s, standard uncertainty in V·s, and the largest field current read."""

    current: Array
    value: Array
    uncertainty: Array
    read_up_to: float


@dataclass(frozen=True, kw_only=True)
class Characterised:
    """All that the readings tell: constants, curve, what is suspect or kept out, and the file with constants filled in.

    ``project`` is as read; ``completed`` has the fitted values where ``[motor]`` gives none.
    """

    project: Project
    completed: Project
    fit: Fit | None
    constants: Mapping[str, Constant]
    curve: Curve | None
    inductances: tuple[Inductance, ...]
    tacho: Tacho | None
    warmings: tuple[Warming, ...]
    suspects: tuple[Suspect, ...]
    kept_out: tuple[KeptOut, ...]
    notes: tuple[str, ...] = ()

    @property
    def used(self) -> tuple[str, ...]:
        """The keys of ``[motor]`` that the readings filled in."""
        new = self.completed.motor.model_fields_set - self.project.motor.model_fields_set
        return tuple(key for key in FILLED if key in new)


def bench_of(project: Project) -> Bench:
    """Give the readings of a project as the fit takes them, with the resistances that the file gives."""
    motor = project.motor
    given = {name: value for name in ("armature_resistance", "field_resistance")
             if (value := getattr(motor, name)) is not None}
    return Bench(readings=project.readings, given=given, instruments=project.instruments)


def completed(project: Project, verb: str) -> tuple[Project, Characterised | None]:
    """Give the project with constants fitted where ``[motor]`` lacks them and readings tell them; else as it is.

    Raises ``InputErrors`` where ``verb`` needs a constant that the readings were to tell and do not.
    """
    lacks = [key for key in tellable(project) if getattr(project.motor, key.removeprefix("motor."), None) is None]
    if not lacks:
        return project, None
    found = fitted(project)
    insulation = tuple(r for r in project.readings if r.kind == "insulation")
    faults = [_untold(fault) for fault in
              lacking(found.completed.model_copy(update={"readings": insulation}), verb) if fault.key in lacks]
    if faults:
        raise InputErrors(faults)
    return found.completed, found


def _untold(fault: InputError) -> InputError:
    """The same fault, said of readings that were there and did not tell it."""
    return InputError(fault.key, "readings that do not tell it", fault.allowed,
                      f"See what characterise says of them. {fault.hint}")


def fitted(project: Project) -> Characterised:
    """Fit the motor's constants to the project's readings.

    Raises ``InputError`` where the motor turned and its armature's resistance is neither read nor given.
    """
    bench = bench_of(project)
    made = fit(bench)
    constants = dict(_joint(made)) if made else {}
    ohms = {winding: (constants[name].value, constants[name].uncertainty) for winding, name in
            (("armature", "armature_resistance"), ("field", "field_resistance"), ("field-tap", "field_tap_resistance"))
            if name in constants}
    for winding, name in (("armature", "armature_resistance"), ("field", "field_resistance")):
        if winding not in ohms and name in bench.given:
            ohms[winding] = (bench.given[name], 0.0)
    if {"armature", "field"} <= set(ohms):
        ohms["series"] = (ohms["armature"][0] + ohms["field"][0], math.hypot(ohms["armature"][1], ohms["field"][1]))
    coils, out = inductances(bench, ohms)
    for winding, name in (("armature", "armature_inductance"), ("field", "field_inductance"),
                          ("field-tap", "field_tap_inductance"), ("series", "series_inductance")):
        if (found := inductance(coils, winding)) is not None:
            constants[name] = Constant(value=found[0], unit="H", uncertainty=found[1])
    counted, warm = tacho(bench), tuple(_warmings(project, bench))
    constants |= dict(_others(counted, warm))
    curve = _curve(made)
    suspects = (*(made.suspects if made else ()), *(counted.suspects if counted else ()))
    return Characterised(
        project=project, completed=_completed(project, constants, curve), fit=made, constants=constants, curve=curve,
        inductances=tuple(coils), tacho=counted, warmings=warm, suspects=suspects,
        kept_out=(*(made.kept_out if made else ()), *out), notes=tuple(_notes(project, constants, made, bench)))


def _joint(made: Fit) -> Iterator[tuple[str, Constant]]:
    """The constants of the joint fit that have a name in the file or a place in the JSON."""
    iron = all(made.has(name) for name in IRON)
    for name, unit in UNITS.items():
        if made.has(name):
            value, uncertainty = made.value(name)
            yield name, Constant(value=value, unit=unit, uncertainty=uncertainty)
    if iron:
        reference = made.solution.problem.layout.flux_reference
        yield "flux_reference", Constant(value=reference, unit="V*s", uncertainty=0.0)


def _others(counted: Tacho | None, warm: tuple[Warming, ...]) -> Iterator[tuple[str, Constant]]:
    if counted is not None:
        yield "tacho_pulses", Constant(value=counted.pulses[0], unit="1", uncertainty=counted.pulses[1])
        if counted.volts is not None:
            yield "tacho_voltage", Constant(value=counted.volts[0], unit="V*s", uncertainty=counted.volts[1])
    for one in warm:
        end = "_running" if one.speed else ""
        value, uncertainty = one.resistance
        yield f"thermal_resistance_{one.winding}{end}", Constant(value=value, unit="K/W", uncertainty=uncertainty)
        if one.speed:
            yield "thermal_resistance_speed", Constant(value=one.speed, unit="rad/s", uncertainty=0.0)
    still = [one.constant for one in warm if not one.speed]
    if still:       # the shorter one is the safe one: a stall reaches the limit sooner
        value, uncertainty = min(still)
        yield "thermal_time_constant", Constant(value=value, unit="s", uncertainty=uncertainty)


def _warmings(project: Project, bench: Bench) -> Iterator[Warming]:
    start = project.motor.winding_temperature
    if start is None:
        return
    for winding in ("armature", "field"):
        for turning in (False, True):
            rows = [r for r in bench.readings if r.kind != "warm-up" or bool(r.speed) == turning]
            found = warming(Bench(readings=rows, given=bench.given, instruments=bench.instruments), winding, start)
            if found is not None:
                yield found


def _curve(made: Fit | None) -> Curve | None:
    """The curve at the field currents read and, where a law holds, between and beyond them."""
    if made is None or not made.turning:
        return None
    shape = made.solution.problem.layout.shape
    nodes = made.read_at
    last = float(nodes[-1])
    if isinstance(shape, Table):
        current = np.array((0.0, *shape.nodes))
    else:
        between = [share * last for share in SHARES
                   if not np.any(np.abs(nodes - share * last) < 0.03 * np.maximum(nodes, share * last))]
        current = np.sort(np.concatenate(([0.0], nodes, between)))
    value, uncertainty = made.curve(current)
    return Curve(current=current, value=np.maximum.accumulate(np.maximum(value, 0.0)), uncertainty=uncertainty,
                 read_up_to=last)


def _completed(project: Project, constants: Mapping[str, Constant], curve: Curve | None) -> Project:
    """The project with fitted values where ``[motor]`` gives none."""
    motor = project.motor
    found: dict[str, Any] = {name: constant.value for name, constant in constants.items() if name in FILLED}
    if curve is not None and len(curve.current) > 2 and motor.speed_constant_at is None:
        found["flux_curve"] = tuple(zip(curve.current.tolist(), curve.value.tolist(), strict=True))
    found = {name: value for name, value in found.items() if not motor.given(name)}
    return project.model_copy(update={"motor": motor.model_copy(update=found)}) if found else project


def _notes(
    project: Project, constants: Mapping[str, Constant], made: Fit | None, bench: Bench,
) -> Iterator[str]:
    """What the readings say besides numbers."""
    if made is not None and made.widened > 1:
        yield f"The readings scatter {made.widened:.1f} times as much as their errors say: every ± is widened by that."
    if made is not None and made.turning and not made.lawful:
        yield ("The flux curve departs from the saturating law: it is a table of the field currents read, and ends at "
               "the last of them.")
    sums = [constants.get(name) for name in ("armature_inductance", "field_inductance", "series_inductance")]
    if all(sums):
        one, other, both = (constant.value for constant in sums if constant)
        off = both / (one + other) - 1
        if abs(off) > SERIES_DISAGREES:
            yield (f"Both windings in series read {100 * off:+.0f} % against the sum of the two: the brushes stand "
                   "off the neutral.")
    if project.pins:
        yield "Ohms of [[pins]] through the brushes are not used for the armature's resistance."
    if any(r.kind == "warm-up" for _, r in enumerate(bench.readings)) and project.motor.winding_temperature is None:
        yield "Warm-up readings need [motor] winding_temperature, the temperature at their start: they are not used."
    short = [r for r in bench.readings if r.kind == "series-run" and r.supply == "mains" and not r.hold_out]
    if short:
        yield "Runs on alternating current are predicted, not fitted: mark them hold_out = true."
