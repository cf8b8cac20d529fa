"""A jammed shaft: how long each winding stands it, and what ends it in time."""

from __future__ import annotations

import math
from dataclasses import dataclass

from designer.equations.motor import STALL_TIME
from designer.motor.model import KELVIN
from designer.parts import winding
from designer.project.model import Project
from designer.results import Step
from designer.studies.survey import Survey

ARMATURE_PATHS = 2     # parallel paths of a two-pole armature's winding


@dataclass(frozen=True, kw_only=True)
class Stall:
    """A stall at one setting: currents (A), torque (N·m), time (s) to the winding's limit (°C).

    ``time`` is infinite where the windings stand it for ever and None where nothing tells.
    """

    name: str
    rms: float
    mean_absolute: float
    peak: float
    torque: float
    time: float | None
    winding: str
    limit: float
    step: Step | None


def thermal_class(project: Project) -> str:
    """The class by the name that the table knows."""
    given = project.motor.thermal_class or "A"
    return {"N": "200", "R": "220"}.get(given, given)


def stalls(found: Survey, project: Project) -> tuple[Stall, ...]:
    """The stalls at the setting and at full conduction, high mains, cold windings, from running warm."""
    limit = winding.limits(thermal_class(project)).locked
    return tuple(_stall(found, project, index, limit) for index in range(len(found.stall.points)))


def _stall(found: Survey, project: Project, index: int, limit: float) -> Stall:
    return _of_current(
        found, project, limit, name=found.stall.labels[index], index=index, share=1.0)


def stall_between(found: Survey, project: Project, full: Stall, rms: float) -> Stall:
    """The stall at an angle between, with ``rms`` A: the greatest that a fuse need not see."""
    return _of_current(found, project, full.limit, name="stall between, at the current that the fuse need not see",
                       index=1, share=rms / full.rms)


def _of_current(found: Survey, project: Project, limit: float, *, name: str, index: int, share: float) -> Stall:
    """A stall at ``share`` of the current of one that was solved; torque and peak in proportion, an upper bound."""
    solved = found.stall.solved
    rms, mean = share * float(solved.rms[index]), share * float(solved.mean_absolute[index])
    times: list[tuple[float | None, str, Step | None]] = []
    starts = float(found.held.warm.armature[1]), float(found.held.warm.field[1])
    for which, start in zip(("armature", "field"), starts, strict=True):
        times.append(_time(found, project, which, currents=(rms, mean), start=start, limit=limit))
    known = [row for row in times if row[0] is not None]
    worst = min(known, key=lambda row: row[0] or 0.0) if known else times[0]
    return Stall(
        name=name, rms=rms, mean_absolute=mean, peak=share * float(solved.peak[index]),
        torque=share * float(solved.torque[index]),
        time=worst[0] if len(known) == 2 else None, winding=worst[1], limit=limit, step=worst[2],
    )


def _time(
    found: Survey, project: Project, name: str, *, currents: tuple[float, float], start: float, limit: float
) -> tuple[float | None, str, Step | None]:
    """By the time constant where it is known, else adiabatic by the wire's diameter.

    ``currents``: r.m.s. and mean magnitude, A.
    """
    rms, mean = currents
    motor, model = project.motor, found.fixed.motor
    if not start < limit:
        return 0.0, name, None
    resistance = float(model.resistances(limit, limit)[0 if name == "armature" else 1])
    loss = resistance * rms**2 + (model.brush_drop * mean if name == "armature" else 0.0)
    still = getattr(motor, f"thermal_resistance_{name}")
    ambient = found.thermal.ambient
    if still is not None and ambient + loss * still <= limit:
        return math.inf, name, None
    if still is not None and motor.thermal_time_constant is not None:
        step = Step(formula=STALL_TIME, inputs={
            "tau_th": motor.thermal_time_constant, "T_limit": limit + KELVIN, "T_start": start + KELVIN,
            "P_stall": loss, "R_still": still, "T_amb": ambient + KELVIN},
            note=f"{name} winding, from running warm to {limit:.0f} °C")
        return step.value, name, step
    diameter = getattr(motor, f"wire_diameter_{name}")
    if diameter is None:
        return None, name, None
    density = winding.current_density(
        rms, wire_diameter=diameter, parallel=ARMATURE_PATHS if name == "armature" else 1)
    step = winding.stall_time(density, start=start, limit=limit)
    return step.value, name, step
