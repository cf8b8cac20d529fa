"""A jammed shaft: how long each winding stands it, and what ends it in time."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from designer.equations.motor import STALL_TIME
from designer.motor.model import KELVIN
from designer.parts import winding
from designer.parts.fuse_gates import Link
from designer.project.model import Project
from designer.results import Step
from designer.studies.groups import Group, voltages
from designer.studies.survey import Survey

SEEN = 2.1             # times its rating: above it a fuse of IEC 60127-2 opens for certain
COPPER_ALONE = 3.0     # times as fast as copper and iron together; common practice, no source
SHORTEST_STALL, FOREVER = 1.0, 1e5   # s, bounds of the time for which devices must bear a stall
ARMATURE_PATHS = 2     # parallel paths of a two-pole armature's winding


@dataclass(frozen=True, kw_only=True)
class Stall:
    """A stall at one setting: currents (A), torque (N·m), time (s) to the winding's limit (°C).

    ``line`` is the r.m.s. current in the line, the others those of the switch. ``time`` is infinite where the
    windings stand it for ever and None where nothing tells. ``ended``: s after which a speed loop's guard has switched
    it off, None without one.
    """

    name: str
    line: float
    rms: float
    mean_absolute: float
    peak: float
    armature: float       # r.m.s.
    torque: float
    time: float | None
    winding: str
    limit: float
    step: Step | None
    ended: float | None = None


def stall_ends(project: Project, stall: Stall) -> float:
    """Time, s, for which the devices must bear the stall: the winding's own; for ever where that stands it."""
    if not project.load.can_jam:
        return SHORTEST_STALL
    if stall.ended is not None:
        return stall.ended
    return FOREVER if stall.time is None else min(max(stall.time, SHORTEST_STALL), FOREVER)


def thermal_class(project: Project) -> str:
    """The class by the name that the table knows."""
    given = project.motor.thermal_class or "A"
    return {"N": "200", "R": "220"}.get(given, given)


def stalls(found: Survey, project: Project) -> tuple[Stall, ...]:
    """The stalls at the setting and at full conduction, high mains, cold windings' current, from running warm."""
    groups = [found.stall] if found.burnt is None else [found.stall, found.burnt]
    return tuple(_of_current(found, project, group, name=name, index=index)
                 for group in groups for index, name in enumerate(group.labels))


def between(found: Survey, project: Project, stalled: tuple[Stall, ...], link: Link | None) -> tuple[Stall, ...]:
    """The stall at an angle between, at the greatest current that the fuse need not see; none where there is none."""
    if link is None or not stalled[0].line < SEEN * link.rating < stalled[1].line:
        return ()
    made = _of_current(found, project, found.stall, name="stall between, at the current that the fuse need not see",
                       index=1, share=SEEN * link.rating / stalled[1].line)
    return (replace(made, ended=stalled[0].ended),)


def hottest_winding(found: Survey) -> float:
    """The highest steady temperature of a winding in any running state, °C (what has none is told apart)."""
    states = (found.held, *found.targets)
    every = np.concatenate([np.concatenate((state.warm.armature, state.warm.field)) for state in states])
    return float(np.max(every, where=np.isfinite(every), initial=found.thermal.ambient))


def _of_current(
    found: Survey, project: Project, group: Group, *, name: str, index: int, share: float = 1.0
) -> Stall:
    """A stall at ``share`` of the current of one that was solved; torque and peak in proportion, an upper bound."""
    limit = winding.limits(thermal_class(project)).locked
    solved = group.solved
    line, most = math.sqrt(float(solved.line_square[index])), _collapsed(found, project, group, index)
    if most is not None:
        line, share = most, share * most / max(float(solved.armature_absolute[index]), 1e-9)
    armature = share * math.sqrt(float(solved.armature_square[index])), share * float(solved.armature_absolute[index])
    field = (share if found.fixed.field is None else 1.0) * math.sqrt(float(solved.field_square[index]))
    start = hottest_winding(found)

    def switch(what: str) -> float:
        return float(group.stresses[f"switch_current_{what}"][index])

    times = [(*time_to_limit(found, project, which, currents=currents, start=start, limit=limit), which)
             for which, currents in (("armature", armature), ("field", (field, field)))]
    known = [row for row in times if row[0] is not None]
    worst = min(known, key=lambda row: row[0] or 0.0) if known else times[0]
    return Stall(
        name=name, line=line if most is not None else share * line,
        rms=most or share * switch("rms"), mean_absolute=most or share * switch("mean_absolute"),
        peak=math.sqrt(2.0) * most if most is not None else share * switch("peak"), armature=armature[0],
        torque=share * float(solved.torque[index]),
        time=worst[0] if len(known) == 2 else None, winding=worst[2], limit=limit, step=worst[1],
    )


def _collapsed(found: Survey, project: Project, group: Group, index: int) -> float | None:
    """Where the bus falls to zero in every half cycle: the rectified mains on the windings' resistance alone, A.

    R.m.s., an upper bound: their inductance and the source only lower it. None where the bus was solved.
    """
    if math.isfinite(float(group.solved.line_square[index])):
        return None
    points = group.points
    ohms = float(points.armature_resistance[index])
    return voltages(project)[2] / (ohms + (float(points.field_resistance[index]) if found.fixed.field is None else 0.0))


def time_to_limit(
    found: Survey, project: Project, name: str, *, currents: tuple[float, float], start: float, limit: float
) -> tuple[float | None, Step | None]:
    """Time to the limit: the shorter of the wire's own heating and the winding's time constant.

    ``currents``: r.m.s. and mean magnitude, A. The time constant counts copper and iron together; where it
    is all that is known, the copper alone is taken to warm ``COPPER_ALONE`` times as fast.
    """
    motor, model = project.motor, found.fixed.motor
    if not start < limit:
        return 0.0, None
    rms, mean = currents
    resistance = float(model.resistances(limit, limit)[0 if name == "armature" else 1])
    loss = resistance * rms**2 + (model.brush_drop * mean if name == "armature" else 0.0)
    still, ambient = getattr(motor, f"thermal_resistance_{name}"), found.thermal.ambient
    if still is not None and ambient + loss * still <= limit:
        return math.inf, None
    diameter = getattr(motor, f"wire_diameter_{name}")
    found_times: list[tuple[float, Step]] = []
    if diameter is not None:
        paths = ARMATURE_PATHS if name == "armature" else 1
        density = winding.current_density(rms, wire_diameter=diameter, parallel=paths)
        step = winding.stall_time(density, start=start, limit=limit)
        found_times.append((step.value, step))
    if still is not None and motor.thermal_time_constant is not None:
        step = Step(formula=STALL_TIME, inputs={
            "tau_th": motor.thermal_time_constant, "q_Cu": COPPER_ALONE if diameter is None else 1.0,
            "T_limit": limit + KELVIN, "T_start": start + KELVIN, "P_stall": loss, "R_still": still,
            "T_amb": ambient + KELVIN},
            note=f"{name} winding, from running warm to {limit:.0f} °C")
        found_times.append((step.value, step))
    return min(found_times, key=lambda pair: pair[0]) if found_times else (None, None)
