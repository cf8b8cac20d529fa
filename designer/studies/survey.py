"""Every state that a design is held to: targets over the mains band, corners, stall, load lost."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Circuit, Fixed, Points
from designer.circuits.run_up import RunUp, run_up
from designer.motor.model import Load, MotorModel
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Array
from designer.studies.closed_loop import closes, corners_of_loop, hardest_at_rest, held_by_loop
from designer.studies.conditions import State, Thermal, settled, thermal_of
from designer.studies.groups import Group, Settings, Worst, voltages
from designer.studies.rows import (
    FIELD_LOST,
    FIELD_LOST_LOADED,
    FRICTION_BOUNDS,
    SHORTED,
    UNLOADED,
    UNLOADED_GUESS,
    Rows,
    corner_rows,
    free_rows,
    lost_rows,
    probe_rows,
    shorted_rows,
)
from designer.studies.sides import Halfway, control
from designer.studies.wanted import share_of, wanted_points

ACCURACY = 1e-4             # of r.m.s. current and torque in a survey
REMANENCE_SPREAD = (0.5, 1.0, 1.5)  # of the remanence from build to build; common practice, no source
LEAST_REMANENCE = 0.02      # of the flux at the set field current, where none was read: 1 to 3 %, from memory

__all__ = ["ACCURACY", "Group", "Settings", "Survey", "Unloaded", "Worst", "speed_limit", "survey", "voltages"]


@dataclass(frozen=True, kw_only=True)
class Unloaded:
    """A load lost: the steady speed (rad/s) that follows, and how fast the limit is passed."""

    name: str
    speed: float
    run: RunUp | None
    points: Points
    fixed: Fixed


@dataclass(frozen=True, kw_only=True)
class Survey:
    """All states of one design; speeds are the motor's."""

    circuit: Circuit
    fixed: Fixed
    thermal: Thermal
    setting: float
    reached: bool
    targets: tuple[State, ...]      # a target each: at low, nominal and high mains, setting found again
    loads: tuple[Load, ...]
    held: State                     # setting held (a loop: found again), load as written: low, nominal, high mains
    free: Group                     # setting held, nominal mains, the loads of LOAD_STEPS
    corners: Group
    probes: Group                   # small changes of setting, load, mains and temperature about the target
    bench: Group | None             # the states of the steps to first power that the control asks for
    range: Group                    # every target at every mains, setting found: the control range
    stall: Group                    # at the setting, at full output; high mains, cold
    burnt: Group | None             # the switch shorted, where that is more than full output
    full_output: Mapping[float, float]  # output speed (rad/s) that full output reaches, by target out of reach
    shorted_loaded: float           # rad/s: switch shorted with the load on, high mains, cold, least friction
    unloaded: tuple[Unloaded, ...]  # at the setting, switch shorted, field lost (with a fixed load on too); high
    #                                 mains, cold, least friction
    look: Any                       # what only this kind of control has to tell


def survey(circuit: Circuit, fixed: Fixed, project: Project, *, settings: Settings | None = None) -> Survey:
    """Solve all states of the design; ``fixed`` is as the control prepared it.

    ``settings`` is given where what is held is not the setting itself: a breakover network fires earlier at
    high mains (no output where it goes out).
    """
    fixed, thermal = replace(fixed, tolerance=ACCURACY), thermal_of(project)
    wanted = wanted_points(project, fixed)
    targets = tuple(target_state(circuit, replace(fixed, load=load), thermal, project, speed=speed)
                    for speed, load in wanted)
    setting = float(targets[0].points.setting[1])
    reached = math.isfinite(setting)
    most, least = circuit.setting_range(fixed)
    each = np.full(3, setting if reached else most)
    if settings is not None:
        each = np.clip(np.array(settings), min(most, least), max(most, least))
    loop = closes(project)
    held = held_by_loop(circuit, fixed, targets[0]) if loop else settled(
        circuit, fixed, thermal, at_mains(project, fixed, setting=each, speed=wanted[0][0]), held=True)
    cold = cold_corner(project, fixed, thermal, held)
    shares = tuple(share_of(fixed.load, load, speed) for speed, load in wanted)
    (short, full), ask = circuit.shorted(fixed), control(CIRCUIT_KINDS[circuit.name])
    half = Halfway(circuit=circuit, fixed=fixed, project=project, cold=cold, held=held)
    edges = corner_rows(fixed, thermal, project, held)
    corners, free, probes, lost, burst, *bench = _at_own_speed(circuit, (
        (fixed, edges), (fixed, free_rows(held)),
        (fixed, probe_rows(circuit, fixed, held)), (fixed, lost_rows(fixed, held, cold)),
        (short, shorted_rows(fixed, held, cold, setting=full, loads=shares)),
        *(() if ask.rows is None else ((short, ask.rows(half)),)),
    ))
    corners = corners_of_loop(circuit, fixed, edges, speed=wanted[0][0]) if loop else corners
    loads = tuple(load for _, load in wanted)
    jammed = _stall(circuit, fixed, project, cold, targets,
                    start=hardest_at_rest(circuit, fixed, targets, loads) if loop else None)
    return Survey(
        circuit=circuit, fixed=fixed, thermal=thermal, setting=float(each[1]), reached=reached, targets=targets,
        loads=loads, held=held, free=free, corners=corners, probes=probes,
        bench=bench[0] if bench else None, range=_range(circuit, fixed, targets),
        stall=jammed[0], burnt=jammed[1] if len(jammed) > 1 else None,
        full_output=_full_output(circuit, fixed, targets, wanted),
        shorted_loaded=max(float(v) for v, n in zip(burst.points.speed, burst.labels, strict=True) if n == SHORTED),
        unloaded=(*_unloaded(circuit, fixed, project, lost, held), *_unloaded(circuit, short, project, burst, held),
                  *_field_lost(circuit, fixed, project, cold, held)),
        look=None if ask.look is None else ask.look(half, corners),
    )


def _stall(
    circuit: Circuit, fixed: Fixed, project: Project, cold: Mapping[str, Any], targets: tuple[State, ...], *,
    start: float | None,
) -> tuple[Group, ...]:
    """Rest at the greatest output that the targets ask for at nominal mains, at full output, and switch shorted.

    Behind a potentiometer any setting can be turned to; held by its own voltage a motor at rest is fired at once; a
    loop goes to the hardest that it has at rest (``start``) against a jam. The source is as stiff as the prospective
    current.
    """
    (short, full), (most, _) = circuit.shorted(fixed), circuit.setting_range(fixed)
    settings = [float(state.points.setting[1]) for state in targets]
    known = [s for s in settings if math.isfinite(s)]
    timed = project.circuit.firing == "optocoupler" and project.control.feedback != "residual-voltage"
    greatest = min(known, key=lambda s: abs(s - most)) if known and timed else most
    if start is not None:
        greatest = start
    same = control(CIRCUIT_KINDS[circuit.name]).full_is_shorted(fixed)
    base = short if full == most and same else fixed
    groups: list[Group] = []
    for which, labels, at in ((base, ("stall at the setting", "stall at full output"), (greatest, most)),
                              (short, ("stall, switch shorted",), (full,))):
        if which is short and base is short and groups:
            break
        stiff = replace(which, feed=replace(which.feed, inductance=0.0, choke=None, resistance=min(
            which.feed.resistance, voltages(project)[1] / project.supply.fault_current)))
        points = Points.of(stiff, {**cold, "setting": np.array(at), "load": 0.0, "speed": 0.0})
        groups.append(Group(labels=tuple(f"{name}, high {project.supply.word}, cold" for name in labels), points=points,
                            solved=circuit.solve(stiff, points), circuit=circuit))
    return tuple(groups)


def at_mains(project: Project, fixed: Fixed, *, setting: float | Array = 0.0, speed: float = 0.0) -> Points:
    """The three mains voltages at nominal frequency."""
    return Points.of(fixed, {"voltage": np.array(voltages(project)), "frequency": project.supply.frequency,
                             "setting": setting, "speed": speed})


def target_state(circuit: Circuit, fixed: Fixed, thermal: Thermal, project: Project, *, speed: float) -> State:
    """The setting at the three supplies for a motor speed (rad/s), and the temperatures that go with it."""
    return settled(circuit, fixed, thermal, at_mains(project, fixed, speed=speed), held=False)


def cold_corner(project: Project, fixed: Fixed, thermal: Thermal, held: State) -> dict[str, Any]:
    """High mains, the setting held there, cold windings, least friction; a field fed apart is hot, and weak."""
    armature, field = fixed.motor.resistances(thermal.cold, thermal.cold)
    return {
        "voltage": voltages(project)[2], "frequency": float(project.supply.frequency or 0.0),
        "setting": float(held.points.setting[2]), "armature_resistance": armature,
        "field_resistance": field if fixed.field is None else float(held.points.field_resistance[2]),
        "friction": FRICTION_BOUNDS[0],
    }


def _at_own_speed(circuit: Circuit, asked: Sequence[tuple[Fixed, Rows]]) -> list[Group]:
    """Find the speeds of all rows, those of one ``Fixed`` in one go, and solve them there; in the order asked."""
    made: dict[int, Group] = {}
    for fixed in {id(fixed): fixed for fixed, _ in asked}.values():
        places = [n for n, (own, _) in enumerate(asked) if own is fixed]
        points = Points.joined([asked[n][1].points for n in places])
        at = points.at(speed=np.nan_to_num(find_speed(circuit, fixed, points), nan=np.inf))
        solved = circuit.solve(fixed, at.at(speed=np.where(np.isfinite(at.speed), at.speed, 0.0)))
        first = 0
        for n in places:
            labels = asked[n][1].labels
            chosen = np.arange(first, first + len(labels))
            made[n] = Group(labels=labels, points=at[chosen], solved=solved[chosen], circuit=circuit)
            first += len(labels)
    return [made[n] for n in range(len(asked))]


def _range(
    circuit: Circuit, fixed: Fixed, targets: tuple[State, ...]
) -> Group:
    """The states of the control range that can be met; where none can, full output at the target's load."""
    labels, picked = [], []
    for number, state in enumerate(targets):
        for index in range(len(state.points)):
            if math.isfinite(state.points.setting[index]):
                name = "target" if number == 0 else f"further target {number}"
                labels.append(f"{name} at {engineering(float(state.points.voltage[index]), 'V')}, windings hot")
                picked.append(state.points[[index]])
    if not picked:
        state = targets[0]
        speed = np.nan_to_num(find_speed(circuit, fixed, state.points.at(
            setting=np.full(len(state.points), circuit.setting_range(fixed)[0]))))
        labels = [f"full output at {engineering(float(v), 'V')}" for v in state.points.voltage]
        picked = [state.points.at(setting=np.full(len(speed), circuit.setting_range(fixed)[0]), speed=speed)]
    points = Points.joined(picked)
    return Group(labels=tuple(labels), points=points, solved=circuit.solve(fixed, points), circuit=circuit)


def _full_output(
    circuit: Circuit, fixed: Fixed, targets: tuple[State, ...], wanted: tuple[tuple[float, Load], ...]
) -> dict[float, float]:
    """The lowest output speed that full conduction reaches over the mains band, for each target out of reach."""
    reached = {}
    for state, (speed, load) in zip(targets, wanted, strict=True):
        bad = np.flatnonzero(~np.isfinite(state.points.setting) & (state.lacking < 0))
        if bad.size:
            points = state.points[bad].at(setting=np.full(bad.size, circuit.setting_range(fixed)[0]))
            ends = find_speed(circuit, replace(fixed, load=load), points)
            reached[round(speed / load.ratio, 6)] = float(np.min(ends)) / load.ratio
    return reached


def _unloaded(
    circuit: Circuit, fixed: Fixed, project: Project, group: Group, held: State
) -> Iterator[Unloaded]:
    """Speeds with the load lost, and the time from the running speed to the limit."""
    limit, inertia = speed_limit(project), project.motor.inertia
    start = float(np.nanmax(held.points.speed))
    for at in np.flatnonzero(np.isin(group.labels, (*UNLOADED, *FIELD_LOST, *FIELD_LOST_LOADED))):
        points, run = group.points[[at]], None
        if inertia and limit and start < limit < points.speed[0]:
            run = run_up(circuit, fixed, points, start=start, end=limit, inertia=inertia)
        yield Unloaded(name=group.labels[at], speed=float(points.speed[0]), run=run, points=points, fixed=fixed)


def _field_lost(
    circuit: Circuit, fixed: Fixed, project: Project, cold: Mapping[str, Any], held: State
) -> Iterator[Unloaded]:
    """No field current: the motor turns on its remanence, which is uncertain by half either way.

    Without load; where the load is fixed with it on too, for it may be too light to hold the motor.
    """
    if fixed.field is None:
        return
    ways = ((fixed, float(held.points.setting[2])), circuit.shorted(fixed))
    rows_of = [*zip(FIELD_LOST, ways, (0.0, 0.0), strict=True)]
    if project.load.coupling == "fixed":
        rows_of += zip(FIELD_LOST_LOADED, ways, (1.0, 1.0), strict=True)
    for name, (which, setting), load in rows_of:
        cases: list[Unloaded] = []
        for part in REMANENCE_SPREAD:
            weak = replace(which, motor=with_remanence(which.motor, part, float(held.points.field_current[1])))
            rows = Rows(labels=(name,), points=Points.of(weak, {
                **cold, "setting": setting, "load": load, "field_current": 0.0,
                "speed": UNLOADED_GUESS * float(np.nan_to_num(held.points.speed[1]))}))
            cases += _unloaded(circuit, weak, project, _at_own_speed(circuit, [(weak, rows)])[0], held)
        # the quickest past the limit counts; where none passes it, the fastest; told is the greatest speed of all
        worst = min(cases, key=lambda case: (math.inf if case.run is None else case.run.time, -case.speed))
        yield replace(worst, speed=max(case.speed for case in cases))


def with_remanence(motor: MotorModel, part: float, current: float) -> MotorModel:
    """The motor with ``part`` of its remanence, where none was read with ``LEAST_REMANENCE`` of its flux; kept."""
    curve = motor.curve
    value = curve.remanence or LEAST_REMANENCE * float(curve.at(current))
    return replace(motor, curve=replace(curve, remanence=part * value), remanence="keep")


def speed_limit(project: Project) -> float | None:
    """The lower of the motor's limit and ratio × the driven part's, rad/s at the motor; None without any."""
    known = [limit for limit in (
        project.motor.maximum_speed,
        None if project.load.maximum_speed is None else project.load.maximum_speed * project.ratio,
    ) if limit is not None and math.isfinite(limit)]
    return min(known) if known else None
