"""A speed held by a loop: tacho, command, plant over every corner, regulator, guard, and the program's constants.

Made for a survey whose settings the loop has found again. What stands against it comes back as reasons.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.case import Points
from designer.control import plant
from designer.control.command import CommandLimit, CommandTable, command_limit, command_table, start_refused
from designer.control.firmware import Demand, Firmware, firmware
from designer.control.guard import Guard, Loop, guard
from designer.control.lag import firings
from designer.control.loop import Tuned, tune
from designer.control.start import quickest_start, ramp_refused
from designer.control.tacho_stage import Stage, Wanted, stage
from designer.errors import InputError
from designer.motor.fit_winding import tacho
from designer.project.assumed import CLOCK, TIMER_BITS
from designer.quantities import engineering
from designer.results import Array, Quantity, Reason
from designer.studies.closed_loop import blind_below, hardest_settings
from designer.studies.fitted import bench_of
from designer.studies.groups import crest_of, voltages
from designer.studies.overspeed import running_speed
from designer.studies.rows import FREQUENCY_SPREAD, FRICTION_BOUNDS
from designer.studies.sides import Scene
from designer.studies.sides.second_path import found_of
from designer.studies.survey import Survey, speed_limit
from designer.studies.wanted import share_of, wanted_points

CHOPPER_SAMPLE = 0.005     # s between two steps of the regulator of a chopper; common practice, no source
EDGES = 1.0                # new edges of the tacho in every step, at least
RAMP = 2.0                 # s of the soft start where the file gives none, at least; common practice, no source
LIMIT_SPEEDS = 25          # at which the command's limit is told
NEARLY_STILL = 0.1         # rad/s
BETWEEN = 17               # commands looked at between two entries of the table
OVER = 1.3                 # of the fastest target: the last of them


@dataclass(frozen=True, kw_only=True)
class Holding:
    """The loop as made; ``tuned``, ``guard`` and ``firmware`` are None where ``reasons`` tell why there is none."""

    stage: Stage
    table: CommandTable
    limit: CommandLimit
    corners: plant.Corners
    linear: plant.Linearised
    tuned: Tuned | None
    guard: Guard | None
    firmware: Firmware | None
    sample_time: float
    ramp: float
    reasons: tuple[Reason, ...]


def holding(scene: Scene) -> Holding:
    """Make the loop of a scene; raises ``InputError`` where the file's tacho or timer cannot serve it."""
    found = scene.found
    assert found is not None
    targets = _targets(found, scene)
    sample = sample_time(scene, found, slowest=min(speed for speed, _ in targets))
    fast = _fastest(found, scene, targets)
    seen = stage(tacho(bench_of(scene.project)), Wanted(
        speeds=tuple(speed for speed, _ in targets), highest=fast, update=sample,
        clock=scene.project.control.clock or CLOCK, bits=scene.project.control.timer_bits or TIMER_BITS,
        bus_peak=crest_of(scene.project), mains=voltages(scene.project)[1] if scene.alternating else 0.0,
        altitude=scene.project.ambient.altitude, margins=scene.margins))
    corners = _corners(found, scene, targets)
    table = command_table(found.circuit, found.fixed, _nominal(found, scene, targets))
    limit = _limit(found, scene, table, targets)
    linear = plant.plants(found.circuit, found.fixed, corners, table=table, sample_time=sample)
    aged = tuple(replace(one, delay=one.delay + max(0.0, seen.delay(one.speed) - 0.5 * sample))
                 for one in linear.plants)
    tuned = tune(aged, sample_time=sample) if aged else None
    reasons = [*seen.reasons, *([tuned] if isinstance(tuned, Reason) else [])]
    if (start := start_refused(limit, table)) is not None:
        reasons.append(start)
    ramp, slow = _ramp(found, scene, table=table, limit=limit)
    reasons += slow
    made = Holding(stage=seen, table=table, limit=limit, corners=corners, linear=replace(linear, plants=aged),
                   tuned=None if isinstance(tuned, Reason) else tuned, guard=None, firmware=None, sample_time=sample,
                   ramp=ramp, reasons=tuple(reasons))
    return made if made.tuned is None or seen.reasons else _guarded(made, scene, found, targets)


def _ramp(
    found: Survey, scene: Scene, *, table: CommandTable, limit: CommandLimit
) -> tuple[float, list[Reason]]:
    """The soft start (s): the file's, else twice the quickest one at low supply, hot, full load; and what is wrong."""
    motor, load = scene.project.motor.inertia, found.fixed.load
    assert motor is not None
    rest = replace(found.held.points[[0]], friction=np.array([FRICTION_BOUNDS[1]]))
    quickest = quickest_start(
        found.circuit, found.fixed, rest, table=table, limit=limit,
        reach=(float(found.held.points.speed[1]), motor + load.inertia / load.ratio**2))
    given = scene.project.control.ramp
    if given is None:
        return (max(RAMP, math.ceil(4 * quickest) / 2) if math.isfinite(quickest) else RAMP), []
    slow = ramp_refused(given, quickest) if math.isfinite(quickest) else None
    return given, [] if slow is None else [slow]


def _guarded(made: Holding, scene: Scene, found: Survey, targets: list[tuple[float, float]]) -> Holding:
    """The same with its guard and the program's constants; without them where the shaft cannot break away."""
    assert made.tuned is not None
    broken = _break_away(made, found)
    most = float(made.limit.at(0.0))
    if broken is None or broken > most:
        return replace(made, reasons=(*made.reasons, Reason(
            code="loop-no-start", message="At rest the load does not break away with the most command that is under "
            "control there.", figure=Quantity(1.0 if broken is None else broken, "1"), limit=Quantity(most, "1"),
            way_out="A load that asks less torque at rest, a larger gear ratio, or a stiffer supply.")))
    one, frequency = made.tuned.regulator, float(scene.project.supply.frequency or 0.0)
    watched = guard(Loop(
        pulses=made.stage.tacho.pulses, slowest=made.stage.lowest.speed, sample_time=made.sample_time,
        gain=one.gain / 2 ** made.limit.easing(0.0, target=targets[0][0]), integral_time=one.integral_time,
        target=targets[0][0], ramp=made.ramp, break_away=broken,
        blocked=_blocked(found, frequency), opening=found_of(scene).opening.value), running=running_speed(found),
        given=scene.project.protection.overspeed_trip)
    chopping = found.fixed.chopping
    constants = firmware(Demand(
        clock=scene.project.control.clock or CLOCK, bits=scene.project.control.timer_bits or TIMER_BITS,
        pulses=made.stage.tacho.pulses, averaging=made.stage.timer.averaging, table=made.table, limit=made.limit,
        gain=one.gain, integral_time=one.integral_time, sample_time=made.sample_time, ramp=made.ramp,
        target=targets[0][0], slowest=made.stage.lowest.speed, trip_speed=watched.trip_speed,
        lost_time=watched.lost_time, start_time=watched.start_time,
        frequency=frequency if chopping is None else None, frequency_spread=FREQUENCY_SPREAD,
        switching_frequency=None if chopping is None else chopping.frequency,
        **_gate(found, frequency)))
    return replace(made, guard=watched, firmware=constants)


def _gate(found: Survey, frequency: float) -> dict[str, float]:
    """The gate's guard and the length of a single pulse (0: a train), s."""
    if found.fixed.chopping is not None:
        return {}
    gate, omega = found.fixed.gate, 2 * math.pi * frequency
    return {"gate_guard": gate.guard / omega, "gate_pulse": gate.pulse / omega if math.isfinite(gate.pulse) else 0.0}


def _blocked(found: Survey, frequency: float) -> float:
    """s from blocking the output to no current that drives: to the next zero of the mains, or at once."""
    return 1 / frequency if found.fixed.chopping is None else 0.0


def _targets(found: Survey, scene: Scene) -> list[tuple[float, float]]:
    """Motor speed (rad/s) and share of the load as written, of the target and every further one."""
    fixed = found.fixed
    return [(speed, share_of(fixed.load, load, speed)) for speed, load in wanted_points(scene.project, fixed)]


def _fastest(found: Survey, scene: Scene, targets: list[tuple[float, float]]) -> float:
    """The highest speed that the tacho must tell, rad/s: whatever fails, but no further than where the rotor may go."""
    limit = speed_limit(scene.project) or math.inf
    most = max(*(case.speed for case in found.unloaded), found.shorted_loaded)
    return max(min(most, OVER * limit), OVER * max(speed for speed, _ in targets))


def sample_time(scene: Scene, found: Survey, *, slowest: float) -> float:
    """Time between two steps, s: the file's, or the least that brings new edges at the slowest target.

    On phase angle whole times from one firing to the next. Raises ``InputError`` for ``control.sample_time`` where the
    file's is none of them.
    """
    given, counted = scene.project.control.sample_time, tacho(bench_of(scene.project))
    edges = 0.0 if counted is None else counted.pulses[0] * slowest / (2 * math.pi)
    least = EDGES / edges if edges > 0 else 0.0
    if found.fixed.chopping is not None:
        return given or max(CHOPPER_SAMPLE, math.ceil(least * 1e3) / 1e3)
    beat = 1 / (firings(found.corners.solved) * float(scene.project.supply.frequency or 0.0))
    if given is None:
        return beat * max(1, math.ceil(least / beat - 1e-9))
    if abs(given / beat - round(given / beat)) > 1e-3 or given < 0.5 * beat:
        raise InputError(
            "control.sample_time", engineering(given, "s"), f"whole multiples of {engineering(beat, 's')}",
            "The switch fires once in that time, and the regulator steps with it; leave it out to have it chosen.")
    return beat * round(given / beat)


def _windings(found: Survey) -> list[tuple[str, float, float]]:
    """Cold and hot windings: name, ohm of armature and field."""
    armature, field = found.fixed.motor.resistances(found.thermal.cold, found.thermal.cold)
    warm = found.held.points
    return [("windings cold", float(armature), float(field)),
            ("windings hot", float(warm.armature_resistance[1]), float(warm.field_resistance[1]))]


def _corners(found: Survey, scene: Scene, targets: list[tuple[float, float]]) -> plant.Corners:
    motor, load = scene.project.motor.inertia, found.fixed.load
    assert motor is not None        # asked for by the requirements of a loop
    low, nominal, high = voltages(scene.project)
    return plant.corners(found.fixed, plant.Band(
        voltages=(("low", low), ("nominal", nominal), ("high", high)),
        frequency=float(scene.project.supply.frequency or 0.0), windings=_windings(found), frictions=FRICTION_BOUNDS,
        can_be_lost=scene.project.load.coupling != "fixed"), targets, inertia=motor + load.inertia / load.ratio**2,
        own=motor)


def _nominal(found: Survey, scene: Scene, targets: list[tuple[float, float]]) -> Points:
    """The targets at nominal supply, windings hot."""
    held = found.held.points[[1] * len(targets)]
    return replace(held, speed=np.array([speed for speed, _ in targets]),
                   load=np.array([share for _, share in targets]))


def _limit(found: Survey, scene: Scene, table: CommandTable, targets: list[tuple[float, float]]) -> CommandLimit:
    """The command's limit from rest to beyond the fastest target: the edge of control, and the torque for a start."""
    rows = [(volts, armature, field) for volts in voltages(scene.project) for _, armature, field in _windings(found)]
    volts, armature, field = (np.array(column) for column in zip(*rows, strict=True))
    points = Points.of(found.fixed, {
        "voltage": volts, "armature_resistance": armature, "field_resistance": field,
        "frequency": float(scene.project.supply.frequency or 0.0), "setting": 0.0, "speed": 0.0})
    speeds = np.linspace(0.0, OVER * max(speed for speed, _ in targets), LIMIT_SPEEDS)
    limit = command_limit(found.circuit, found.fixed, points, table=table, speeds=speeds)
    asked = tuple(zip(found.targets, found.loads, strict=True))
    hardest, alike = (table.command_at(hardest_settings(found.circuit, found.fixed, asked, at)) for at in (
        blind_below(speeds, asked), np.maximum(speeds, NEARLY_STILL)))
    commands = np.minimum(limit.commands, hardest)
    return replace(limit, commands=commands, settings=table.setting_at(commands), alike=alike)


def _break_away(made: Holding, found: Survey) -> float | None:
    """The command at which the loaded shaft starts: low supply, windings hot, most friction; None where never.

    Looked for among the table's entries, and then between the two that enclose it; rounded up.
    """
    motor, load = found.fixed.motor, found.fixed.load
    asked = FRICTION_BOUNDS[1] * motor.friction_torque + float(load.at_motor(0.0))
    commands: Array = made.table.commands
    for _ in range(2):
        count = len(commands)
        points = found.held.points[np.zeros(count, np.intp)].at(
            setting=made.table.setting_at(commands), speed=np.zeros(count))
        torque: Array = np.maximum.accumulate(found.circuit.solve(found.fixed, points).torque)
        if torque[-1] <= asked:
            return None
        at = max(int(np.argmax(torque > asked)), 1)
        commands = np.linspace(commands[at - 1], commands[at], BETWEEN)
    return float(commands[-1])
