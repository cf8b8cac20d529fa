"""Every state that a design is held to: targets over the mains band, corners, stall, load lost."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Fixed, Points
from designer.circuits.run_up import RunUp, run_up
from designer.circuits.triac_series import TriacSeries, TriacSolution
from designer.motor.model import Load
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Array
from designer.studies.conditions import State, Thermal, settled, thermal_of
from designer.studies.rows import (
    FRICTION_BOUNDS,
    SHORTED,
    UNLOADED,
    Rows,
    bench_rows,
    corner_rows,
    free_rows,
    probe_rows,
)
from designer.waveforms.phase_control import Gate

ACCURACY = 1e-4             # of r.m.s. current and torque in a survey
FIRMWARE_GUARD = 0.5e-3     # s, least guard of a designed gate drive
UNEQUAL = math.radians(1.0)  # between the two halves: detector edge, optocoupler


@dataclass(frozen=True, kw_only=True)
class Worst:
    """The greatest of a stress over the states surveyed, and where it arises."""

    value: float
    at: str


@dataclass(frozen=True, kw_only=True)
class Group:
    """States solved together, with a label each."""

    labels: tuple[str, ...]
    points: Points
    solved: TriacSolution

    def worst(self, values: Array) -> Worst:
        """Give the greatest of ``values`` with its label."""
        at = int(np.nanargmax(values))
        return Worst(value=float(values[at]), at=self.labels[at])


@dataclass(frozen=True, kw_only=True)
class Unloaded:
    """A load lost: the steady speed (rad/s) that follows, and how fast the limit is passed."""

    name: str
    speed: float
    run: RunUp | None


@dataclass(frozen=True, kw_only=True)
class Survey:
    """All states of one design; speeds are the motor's."""

    fixed: Fixed
    thermal: Thermal
    setting: float
    reached: bool
    targets: tuple[State, ...]      # a target each: at low, nominal and high mains, setting found again
    loads: tuple[Load, ...]
    held: State                     # setting held, load as written: low, nominal, high mains
    free: Group                     # setting held, nominal mains, the loads of LOAD_STEPS; then the load lost
    corners: Group
    probes: Group                   # small changes of setting, load, mains and temperature about the target
    bench: Group                    # the states of the steps to first power
    range: Group                    # every target at every mains, setting found: the control range
    stall: Group                    # at the setting, at full conduction; high mains, cold
    full_output: Mapping[float, float]  # output speed (rad/s) that full output reaches, by target out of reach
    shorted_loaded: float           # rad/s: full conduction with the load on, high mains, cold, least friction
    unloaded: tuple[Unloaded, ...]  # at the setting, at full conduction; high mains, cold, least friction
    direct_current: Worst           # from halves fired one degree apart
    lost_below: tuple[float, float]  # rad: control lost below, at standstill and at speed


def voltages(project: Project) -> tuple[float, float, float]:
    """Low, nominal and high mains, V r.m.s."""
    supply = project.supply
    return supply.lowest_voltage, float(supply.voltage or 0.0), supply.highest_voltage


Settings = tuple[float, float, float]    # rad, at low, nominal and high mains


def survey(circuit: TriacSeries, fixed: Fixed, project: Project, *, settings: Settings | None = None) -> Survey:
    """Solve all states of the design; ``fixed`` carries the switch's drop.

    ``settings`` is given where what is held is not the angle: a breakover network fires earlier at high
    mains (π where it goes out).
    """
    omega = 2 * math.pi * float(project.supply.frequency or 0.0)
    guard = max(fixed.gate.guard, FIRMWARE_GUARD * omega)
    fixed = replace(fixed, tolerance=ACCURACY, gate=Gate(pulse=fixed.gate.pulse, guard=guard,
                                                         latching=fixed.gate.latching))
    thermal = thermal_of(project)
    wanted = _wanted(project, fixed)
    targets = tuple(_target(circuit, replace(fixed, load=load), thermal, project, speed) for speed, load in wanted)
    setting = float(targets[0].points.setting[1])
    reached = math.isfinite(setting)
    if not reached:
        setting = circuit.setting_range(fixed)[0]
    out = circuit.setting_range(fixed)[1]
    each = np.full(3, setting) if settings is None else np.minimum(settings, out)
    held = settled(circuit, fixed, thermal, _points(project, fixed, setting=each, speed=wanted[0][0]), held=True)
    setting = float(each[1])
    cold = _cold(project, fixed, thermal, float(each[2]))
    shares = tuple(_share(fixed.load, load, speed) for speed, load in wanted)
    rows = (corner_rows(fixed, thermal, project, held), free_rows(circuit, fixed, held, cold=cold, loads=shares),
            probe_rows(fixed, held), bench_rows(circuit, fixed, project, cold=cold, held=held))
    # a shorted switch, and the bench that fires at once, do not ask the gate
    shorted = replace(fixed, gate=Gate())
    if fixed.gate.pulse == math.inf and not fixed.gate.latching:
        corners, free, probes, bench = _at_own_speed(circuit, fixed, rows)
    else:
        corners, probes = _at_own_speed(circuit, fixed, (rows[0], rows[2]))
        free, bench = _at_own_speed(circuit, shorted, (rows[1], rows[3]))
    stall = _stall(circuit, shorted, project, cold, targets)
    return Survey(
        fixed=fixed, thermal=thermal, setting=setting, reached=reached, targets=targets,
        loads=tuple(load for _, load in wanted), held=held, free=free, corners=corners, probes=probes, bench=bench,
        range=_range(circuit, fixed, targets), stall=stall,
        full_output=_full_output(circuit, fixed, targets, wanted),
        shorted_loaded=max(float(v) for v, n in zip(free.points.speed, free.labels, strict=True) if n == SHORTED),
        unloaded=_unloaded(circuit, shorted, project, free, held),
        direct_current=_direct_current(circuit, fixed, corners),
        lost_below=_lost_below(circuit, fixed, cold, held),
    )


def _stall(
    circuit: TriacSeries, fixed: Fixed, project: Project, cold: dict[str, float | Array], targets: tuple[State, ...]
) -> Group:
    """Rest at the earliest setting that the targets ask for at nominal mains, and at full conduction.

    Behind a potentiometer any setting can be turned to. The source is as stiff as the prospective current.
    """
    full = circuit.setting_range(fixed)[0]
    settings = [float(state.points.setting[1]) for state in targets]
    known = [s for s in settings if math.isfinite(s)]
    earliest = min(known) if known and project.circuit.firing == "optocoupler" else full
    stiff = replace(fixed, source_inductance=0.0, source_resistance=min(
        fixed.feed.resistance, voltages(project)[1] / project.supply.fault_current))
    both = Points.of(stiff, {**cold, "setting": np.array([earliest, full]), "speed": 0.0})
    return Group(labels=("stall at the setting, high mains, cold", "stall at full conduction, high mains, cold"),
                 points=both, solved=circuit.solve(stiff, both))


def _wanted(project: Project, fixed: Fixed) -> tuple[tuple[float, Load], ...]:
    """Motor speed and load of the target and of every further target."""
    ratio = fixed.load.ratio
    first = (float(project.target.speed or 0.0) * ratio, fixed.load)
    return (first, *((t.speed * ratio, _shaped(fixed.load, t.speed, t.torque)) for t in project.further_target))


def _share(written: Load, load: Load, speed: float) -> float:
    """The load as a share of the one written, at the motor's speed; 0 where none is written."""
    output = speed / written.ratio
    asked = float(written.at_output(output))
    return float(load.at_output(output)) / asked if asked > 0 else 0.0


def _shaped(load: Load, speed: float, torque: float) -> Load:
    """The load as written, scaled to pass through a further target; a constant one where it is none there."""
    written = float(load.at_output(speed))
    if written <= 0:
        return replace(load, torque=torque, viscous=0.0, square=0.0)
    share = torque / written
    return replace(load, torque=share * load.torque, viscous=share * load.viscous, square=share * load.square)


def _points(project: Project, fixed: Fixed, *, setting: float | Array = 0.0, speed: float = 0.0) -> Points:
    """The three mains voltages at nominal frequency."""
    return Points.of(fixed, {"voltage": np.array(voltages(project)), "frequency": project.supply.frequency,
                             "setting": setting, "speed": speed})


def _target(
    circuit: TriacSeries, fixed: Fixed, thermal: Thermal, project: Project, speed: float
) -> State:
    return settled(circuit, fixed, thermal, _points(project, fixed, speed=speed), held=False)


def _cold(project: Project, fixed: Fixed, thermal: Thermal, setting: float) -> dict[str, float | Array]:
    """High mains, cold windings, least friction, no load."""
    armature, field = fixed.motor.resistances(thermal.cold, thermal.cold)
    return {
        "voltage": voltages(project)[2], "frequency": float(project.supply.frequency or 0.0), "setting": setting,
        "armature_resistance": armature, "field_resistance": field, "friction": FRICTION_BOUNDS[0], "load": 0.0,
    }


def _at_own_speed(circuit: TriacSeries, fixed: Fixed, groups: tuple[Rows, ...]) -> list[Group]:
    """Find the speeds of all groups in one go, and solve them there."""
    points = Points.joined([rows.points for rows in groups])
    speed = find_speed(circuit, fixed, points)
    made, first = [], 0
    for rows in groups:
        chosen = np.arange(first, first + len(rows.points))
        at = points[chosen].at(speed=np.nan_to_num(speed[chosen], nan=np.inf))
        ends = at.at(speed=np.where(np.isfinite(at.speed), at.speed, 0.0))
        made.append(Group(labels=rows.labels, points=at, solved=circuit.solve(fixed, ends)))
        first += len(rows.points)
    return made


def _range(
    circuit: TriacSeries, fixed: Fixed, targets: tuple[State, ...]
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
    return Group(labels=tuple(labels), points=points, solved=circuit.solve(fixed, points))


def _full_output(
    circuit: TriacSeries, fixed: Fixed, targets: tuple[State, ...], wanted: tuple[tuple[float, Load], ...]
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
    circuit: TriacSeries, fixed: Fixed, project: Project, free: Group, held: State
) -> tuple[Unloaded, ...]:
    """Speeds with the load lost, and the time from the running speed to the limit."""
    limit, inertia = speed_limit(project), project.motor.inertia
    start = float(np.nanmax(held.points.speed))
    found = []
    for name in UNLOADED:
        points = free.points[[free.labels.index(name)]]
        run = None
        if inertia and limit and start < limit < points.speed[0]:
            run = run_up(circuit, fixed, points, start=start, end=limit, inertia=inertia)
        found.append(Unloaded(name=name, speed=float(points.speed[0]), run=run))
    return tuple(found)


def speed_limit(project: Project) -> float | None:
    """The lower of the motor's limit and ratio × the driven part's, rad/s at the motor; None without any."""
    known = [limit for limit in (
        project.motor.maximum_speed,
        None if project.load.maximum_speed is None else project.load.maximum_speed * project.ratio,
    ) if limit is not None and math.isfinite(limit)]
    return min(known) if known else None


def _direct_current(circuit: TriacSeries, fixed: Fixed, corners: Group) -> Worst:
    """The direct current that halves fired a degree apart make, at the worst loaded corner."""
    loaded = np.flatnonzero((corners.points.load > 0) & (corners.points.speed > 0))
    if not loaded.size or corners.points.setting[0] + UNEQUAL >= math.pi - fixed.gate.guard:
        return Worst(value=0.0, at="the target")
    solved = circuit.unequal(fixed, corners.points[loaded], UNEQUAL)
    at = int(np.argmax(np.abs(solved.mean)))
    return Worst(value=float(np.abs(solved.mean[at])), at=corners.labels[int(loaded[at])])


def _lost_below(
    circuit: TriacSeries, fixed: Fixed, cold: dict[str, float | Array], held: State
) -> tuple[float, float]:
    """The firing angle below which control is lost, at standstill and at the target's speed."""
    speed = np.array([0.0, float(held.points.speed[1])])
    points = Points.of(fixed, {**cold, "setting": circuit.setting_range(fixed)[0], "speed": speed})
    solved = circuit.solve(fixed, points)
    angles = np.where(solved.state.lost, solved.state.positive.turn_on, 0.0)
    return float(angles[0]), float(angles[1])
