"""The motor's own checks: wire, brushes, commutator by its dimensions, and its heat over the duty."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from designer.checks import verdict
from designer.equations import commutator as eq
from designer.equations.motor import REFERRED_INERTIA
from designer.motor.commutator import Cycle, Limit, bar_voltages, limit, quantity
from designer.parts.winding import limits
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Check, Quantity, Step, Table
from designer.studies.conditions import LONGEST_TAU
from designer.studies.groups import crest_of
from designer.studies.sides import Scene
from designer.studies.stall import ARMATURE_PATHS
from designer.studies.survey import Survey

#: key of [motor] -> what cannot be judged without it
COSTS = {
    "wire_diameter_armature": "current density of the armature wire; the time to its limit in a stall is a guess",
    "wire_diameter_field": "current density of the field wire; the time to its limit in a stall is a guess",
    "brush_width": "current density of the brushes: whether they overheat and wear",
    "brush_thickness": "current density of the brushes: whether they overheat and wear",
    "commutator_bars": "voltage between bars: whether the commutator flashes over",
    "commutator_diameter": "surface speed of the commutator: whether the brushes keep contact",
}
#: limits beyond which a design is refused; the others warn
REFUSING = ("bar-peak",)


@dataclass(frozen=True, kw_only=True)
class _Row:
    """One check by dimensions: its step and limit."""

    name: str
    step: Step
    limit: Limit
    at: str

    @property
    def check(self) -> Check:
        """Pass within what is usual, warn beyond; a flash-over between bars alone fails.

        The other figures are from memory or practice and tell of wear: the winding's temperature refuses by itself.
        """
        share = self.limit.usual / self.limit.most
        says = verdict(stress=self.step.value, limit=self.limit.most, allowed=share)
        says = "warn" if says == "fail" and self.limit.name not in REFUSING else says
        return Check(
            part="motor", rating=self.name, stress=Quantity(self.step.value, self.limit.unit),
            limit=Quantity(self.limit.most, self.limit.unit), margin=share, verdict=says, source=self.limit.told,
            at=self.at, remedy="" if says == "pass" else "Less load, a lower speed, or another motor.")


def motor_checks(scene: Scene) -> tuple[Check, ...]:
    """Give a check for every dimension in the file; none for those that are not known."""
    return tuple(row.check for row in _dimensioned(scene))


def motor_steps(scene: Scene) -> tuple[Step, ...]:
    """Give the worked steps of the checks."""
    return tuple(row.step for row in _dimensioned(scene))


def motor_tables(scene: Scene) -> tuple[Table, ...]:
    """Give the tables: dimensions against usual limits, and the windings over the duty."""
    assert scene.found is not None
    rows: list[tuple[Quantity | str, ...]] = [
            (row.name, _shown(row.step.value, row.limit.unit), _shown(row.limit.usual, row.limit.unit),
             _shown(row.limit.most, row.limit.unit), row.check.verdict) for row in _dimensioned(scene)]
    motor = scene.project.motor
    rows += [(f"motor.{key}", "not known", "", "", f"not judged: {cost}")
             for key, cost in COSTS.items() if getattr(motor, key) is None]
    first = Table(
        name="motor-dimensions", title="Wire, brushes and commutator", rows=tuple(rows),
        columns=("what", "worst when running", "usual, at most", "most", "verdict"),
        note="Limits are from memory or practice: beyond them the sheet warns, and refuses only where bars may flash "
             "over. Two poles, two parallel paths and two brushes are taken; wire by the r.m.s. current over the "
             "duty cycle. "
             "The temperature of the winding decides, the density of its wire is a check of plausibility. The peak "
             "between bars leaves out armature reaction, which raises it.")
    duty = tuple(_duty_rows(scene.project, scene.found))
    return (first, Table(
        name="motor-duty", title="Windings over the duty", columns=("what", "armature", "field"), rows=duty,
        note="At the target and nominal supply, with the fan's help at that speed; one heat capacity a winding, many "
             "cycles. Longest time on and rest wanted: the loss counted with the winding at its limit, the safe side."))


def _shown(value: float, unit: str) -> str:
    if unit == "A/m**2":
        return f"{value / 1e6:.3g} A/mm²" if value >= 1e6 else f"{value / 1e4:.3g} A/cm²"
    return engineering(value, unit, 3)


def _greatest(scene: Scene, name: str) -> tuple[float, str]:
    """Greatest r.m.s. of a current of the motor (by its mean square), and its state."""
    found = [group.worst(np.sqrt(getattr(group.solved, name))) for group in scene.groups["running"] if group.labels]
    worst = max(found, key=lambda one: one.value)
    return worst.value, worst.at


def _dimensioned(scene: Scene) -> Iterator[_Row]:
    motor, duty = scene.project.motor, scene.project.duty
    cycle = (duty.on_time or 0.0) + (duty.off_time or 0.0)
    kept = math.sqrt((duty.on_time or 0.0) / cycle) if duty.kind == "periodic" and cycle > 0 else 1.0
    (armature, at), (field, at_field) = _greatest(scene, "armature_square"), _greatest(scene, "field_square")
    for name, diameter, current, paths, where in (
            ("armature wire", motor.wire_diameter_armature, armature, ARMATURE_PATHS, at),
            ("field wire", motor.wire_diameter_field, field, 1, at_field)):
        if diameter is not None:
            yield _Row(name=f"current density, {name}", limit=limit("wire"), at=where, step=Step(
                formula=eq.WIRE_DENSITY, inputs={"I_w": kept * current, "a_w": paths, "d_w": diameter}, note=name))
    if motor.brush_width is not None and motor.brush_thickness is not None:
        yield _Row(name="current density, brush", limit=limit("brush"), at=at, step=Step(
            formula=eq.BRUSH_DENSITY, inputs={
                "I_b": armature, "w_b": motor.brush_width, "t_b": motor.brush_thickness}))
    speeds = [g.worst(np.abs(g.points.speed)) for g in scene.groups["running"] if g.labels]
    fastest = max(speeds, key=lambda one: one.value)
    if motor.commutator_diameter is not None:
        yield _Row(name="surface speed, commutator", limit=limit("commutator-speed"), at=fastest.at, step=Step(
            formula=eq.SURFACE_SPEED, inputs={"d_c": motor.commutator_diameter, "n_m": fastest.value}))
    if motor.commutator_bars is not None:
        evenly, mean, peak = bar_voltages(motor.commutator_bars, across=_across(scene),
                                          speed_voltage=_speed_voltage(scene, fastest.value))
        yield _Row(name="mean bar voltage", limit=limit("bar-mean"), at=fastest.at, step=mean)
        yield _Row(name="peak bar voltage, turning", limit=limit("bar-peak"), at=fastest.at, step=peak)
        yield _Row(name="peak bar voltage, crest of the supply", limit=limit("bar-peak"), at="highest supply",
                   step=evenly)


def _across(scene: Scene) -> float:
    """The most that can stand across the armature, V: the crest of the bus, or of the supply."""
    return scene.worst("bus_voltage_crest").value or crest_of(scene.project)


def _speed_voltage(scene: Scene, speed: float) -> float:
    """Crest of the speed voltage, V: greatest field current and speed together, the safe side."""
    assert scene.found is not None
    names = ("field_current_peak", "field_current_rms") if scene.found.fixed.field is not None else (
        "field_current_peak", "armature_current_peak", "line_current_peak")
    current = next((value for name in names if (value := scene.worst(name).value) > 0), 0.0)
    curve = scene.found.fixed.motor.curve
    return (float(curve.odd(current)) + curve.remanence) * speed


def _cycles(project: Project, found: Survey) -> tuple[Cycle | None, Cycle | None]:
    """Both windings over the duty, at the target and nominal supply; None where the heat path is not known."""
    paths, tau = found.thermal.surroundings, project.motor.thermal_time_constant
    if paths is None or tau is None or not np.isfinite(found.held.square[1]):
        return None, None
    allowed = limits(project.motor.thermal_class or "A").running
    speed, tau = float(found.held.points.speed[1]), min(tau, LONGEST_TAU)
    made = [Cycle(end=max(watts / float(path.conductance(speed)), 1e-9), allowed=allowed - found.thermal.ambient,
                  loaded=tau * path.standstill / float(path.conductance(speed)), rest=tau)
            for watts, path in zip(_losses(found, allowed), paths.paths, strict=True)]
    return made[0], made[1]


def _losses(found: Survey, allowed: float) -> tuple[float, float]:
    """W of armature (copper, brushes, iron) and field at the target, copper at ``allowed`` (°C)."""
    model, held = found.fixed.motor, found.held
    hot = [float(ohms) for ohms in model.resistances(allowed, allowed)]
    more = model.brush_drop * float(held.absolute[1]) + float(np.nan_to_num(_iron(found)))
    return hot[0] * float(held.square[1]) + more, hot[1] * float(held.field_square[1])


def _iron(found: Survey) -> float:
    """W of iron loss at the target and nominal supply."""
    solved = found.circuit.solve(found.fixed, found.held.points[[1]])
    return float(np.asarray(solved.iron_torque).ravel()[0]) * float(found.held.points.speed[1])


def _duty_rows(project: Project, found: Survey) -> Iterator[tuple[Quantity | str, ...]]:
    cycles, duty, warm = _cycles(project, found), project.duty, found.held.warm
    highest = limits(project.motor.thermal_class or "A").running
    yield ("warmest at the target", *(Quantity(float(one[1]), "degC") if np.isfinite(one[1]) else "no end"
                                      for one in (warm.armature, warm.field)))
    yield ("limit of the class", Quantity(highest, "degC"), Quantity(highest, "degC"))
    if None in cycles:
        yield ("longest time on, from cold", *(2 * ("not known: needs both heat paths and "
                                                    "motor.thermal_time_constant",)))
    else:
        both = [one for one in cycles if one is not None]
        on, off = duty.on_time, duty.off_time
        yield ("longest time on, from cold", *(_longest(one) for one in both))
        if duty.kind == "periodic" and on is not None and off is not None:
            yield ("equivalent loss of the cycle, limit's loss", *(
                quantity(Step(formula=eq.CYCLE_LOSS, inputs={"P_load": watts, "t_on": on, "t_off": off}))
                for watts in _losses(found, highest)))
            base = found.thermal.ambient
            yield (f"peak in the cycle, limit's loss, {on:g} s on, {off:g} s off",
                   *(Quantity(base + one.peak(on, off), "degC") for one in both))
            yield ("least in the cycle", *(Quantity(base + one.trough(on, off).value, "degC") for one in both))
            yield (f"rest wanted after {on:g} s on", *(_rest(one, on) for one in both))
        else:
            yield ("rest wanted after half of that time", *(
                "none" if one.longest is None else _rest(one, one.longest.value / 2) for one in both))
    yield ("heat of starting, at least", *_starting(project, float(found.held.points.speed[1])))


def _longest(one: Cycle) -> Quantity | str:
    if one.continuous:
        return "without end"
    return "none" if one.longest is None else quantity(one.longest)


def _rest(one: Cycle, on: float) -> Quantity | str:
    if one.continuous:
        return "none"
    step = one.off_after(on)
    return "no rest is enough" if step is None else quantity(step)


def _starting(project: Project, speed: float) -> tuple[Quantity | str, str]:
    motor, load, starts = project.motor, project.load, project.duty.starts_per_hour
    if starts is None or starts <= 0:
        return "duty.starts_per_hour not given", ""
    if motor.inertia is None:
        return "not known: needs motor.inertia", ""
    inertia = float(REFERRED_INERTIA(J_m=motor.inertia, J_load=(load.inertia or 0.0) if load else 0.0, u=project.ratio))
    return quantity(Step(formula=eq.START_HEAT, inputs={
        "f_starts": starts, "J_all": inertia, "n_m": max(speed, 0.0)})), ""
