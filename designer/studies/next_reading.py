"""What the target asks of the motor's constants, and which reading would settle the least sure answer."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from designer.motor.fit import Fit
from designer.motor.fit_next import Answers, Limits, Next, next_reading, unloaded
from designer.motor.model import load_model
from designer.project.fields import RPM
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.results import Array

#: of a bench where the file's [instruments] say nothing: two small d.c. supplies (common practice, no source)
BENCH_VOLTS, BENCH_AMPS, BENCH_SPEED = 30.0, 3.0, 5000.0 * RPM
SPEED_SHARE = 0.5       # of the motor's speed limit: more is not driven unguarded at the bench
FAST = 1000.0           # rad/s, where no target says how fast


def limits_of(project: Project, made: Fit | None) -> tuple[Limits, tuple[str, ...]]:
    """Give the bench's limits, and those that the file does not say, each with the value taken."""
    instruments, told = project.instruments, []
    armature = [r for r in project.readings if r.kind == "separate-excitation"]
    highest = max((r.armature_voltage for r in armature), default=0.0)
    largest = max((r.field_current for r in armature), default=0.0)

    def limit(name: str, other: float, words: str) -> float:
        value = getattr(instruments, name)
        if value is None:
            told.append(f"{words}: {other:.3g}")
            return other
        return float(value)

    volts = limit("armature_supply_voltage", max(BENCH_VOLTS, highest), "armature supply, V")
    amps = limit("armature_supply_current", BENCH_AMPS, "armature supply, A")
    field_amps = limit("field_supply_current", largest or BENCH_AMPS, "field supply, A")
    field_volts = limit("field_supply_voltage", BENCH_VOLTS, "field supply, V")
    top = project.motor.maximum_speed
    speed = limit("maximum_speed", BENCH_SPEED if top is None else SPEED_SHARE * top, "speed at the bench, rad/s")
    if made is not None and made.has("field_resistance"):
        field_amps = min(field_amps, field_volts / made.value("field_resistance")[0])
    return Limits(armature_voltage=volts, armature_current=amps, field_voltage=field_volts,
                  field_current=field_amps, speed=speed), tuple(told)


def find_next(project: Project, made: Fit | None) -> Next | None:
    """Give the reading that shrinks the worst uncertainty of the target most; None without turning readings."""
    if made is None or not made.turning:
        return None
    return next_reading(made, limits_of(project, made)[0], answers_of(project))


def answers_of(project: Project) -> Answers:
    """What the target needs of the model: current and voltage at full load, and the speed that the load's loss gives.

    Without a target and load: the flux curve at the largest field current read, and the friction at a high speed.
    """
    kind = CIRCUIT_KINDS[project.circuit.kind] if project.circuit.kind else None
    speed = project.target.speed
    if speed is None or not project.load.is_given or (kind is not None and not kind.drives_motor):
        return _plain
    load = load_model(project.load, project.transmission)
    turns = speed * load.ratio
    torque = float(load.at_motor(turns))
    series = kind is None or kind.winding == "series"

    def answers(made: Fit) -> Mapping[str, float]:
        if series:
            return _series(made, turns, torque)
        return _separate(made, turns, torque, project.circuit.field_current or float(made.read_at[-1]))

    return answers


def _plain(made: Fit) -> Mapping[str, float]:
    top = np.array([made.read_at[-1]])
    fast = np.array([FAST])
    return {"speed constant at the largest field current": float(made.curve(top)[0][0]),
            "friction at high speed": float(made.friction(fast)[0][0])}


def _bisected(surplus: Array, grid: Array) -> float:
    """Where a rising function on a grid passes zero, by a straight line between neighbours."""
    return float(np.interp(0.0, surplus, grid))


def _series(made: Fit, speed: float, torque: float) -> Mapping[str, float]:
    """Direct current that gives the torque with its voltage, and the unloaded speed at that voltage."""
    grid = float(made.read_at[-1]) * np.geomspace(1e-3, 30.0, 600)
    k = made.curve(grid)[0]
    needed = torque + float(made.friction(np.array([speed]))[0][0])
    current = _bisected(np.maximum.accumulate(k * grid) - needed, grid)
    resistance = made.value("armature_resistance")[0]
    resistance += made.value("field_resistance")[0] if made.has("field_resistance") else 0.0
    drop = made.value("brush_drop")[0]
    voltage = drop + resistance * current + float(made.curve(np.array([current]))[0][0]) * speed
    fast = np.maximum(voltage - drop - resistance * grid, 0.0) / np.maximum(k, 1e-12)
    lacking = made.friction(fast)[0] - k * grid
    runaway = float(np.exp(_bisected(-lacking, np.log(np.maximum(fast, 1e-9))))) if np.any(lacking > 0) else math.nan
    found = {"current at the target": current, "voltage at the target": voltage}
    return found | ({"unloaded speed at the target's setting": runaway} if math.isfinite(runaway) else {})


def _separate(made: Fit, speed: float, torque: float, field: float) -> Mapping[str, float]:
    k = float(made.curve(np.array([field]))[0][0])
    current = (torque + float(made.friction(np.array([speed]), k)[0][0])) / k
    voltage = made.value("brush_drop")[0] + made.value("armature_resistance")[0] * current + k * speed
    free = unloaded(made, field, voltage)
    found = {"armature current at the target": current, "armature voltage at the target": voltage}
    return found | ({} if free is None else {"unloaded speed at the target's setting": free["speed"]})
