"""The states of a loop that finds its setting again: the target's speed held over supply, windings, friction, load."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from designer.circuits.balance import find_setting, find_speed
from designer.circuits.case import Circuit, Fixed, Points
from designer.errors import InputError, InputErrors
from designer.motor.model import Load
from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.quantities import shown
from designer.results import Array, PowerStep, Quantity, Reason, Table
from designer.studies.conditions import State
from designer.studies.groups import Group
from designer.studies.rows import Rows

if TYPE_CHECKING:
    from designer.studies.holding_run import Tried
    from designer.studies.sides import Power, Scene
    from designer.studies.survey import Survey

SIDE = "feedback"
LOOP_KEYS = ("ramp", "sample_time", "clock", "timer_bits")
STARTS = 2.0         # of the greatest torque asked for: what the loop may give, for a start; common practice, no source
BLIND = 0.25         # of the slowest target: the timer of the tacho spans that far (control.tacho_stage)
LOOP_BAND = 0.01     # where the file asks for none: what a loop must hold; common practice, no source


def closes(project: Project) -> bool:
    """True where a loop with a tacho finds the setting again."""
    return project.control.feedback == "tacho"


def with_feedback(kind: CircuitKind, project: Project) -> CircuitKind:
    """The circuit with the side of the loop where a tacho holds its speed.

    Raises ``InputErrors`` for keys of a loop without one, and for ``control.feedback`` where the field sets the speed:
    an armature that stands straight on its supply is beyond a regulator's reach in a start and a jam.
    """
    if not closes(project):
        idle = [InputError(f"control.{key}", getattr(project.control, key), 'no such key without feedback = "tacho"',
                           "It is a key of a speed loop: take it out, or give the loop its tacho.")
                for key in LOOP_KEYS if getattr(project.control, key) is not None]
        if idle:
            raise InputErrors(idle)
    if closes(project) and kind.setting == "field_current":
        raise InputError(
            "control.feedback", '"tacho"', f'"none" with {kind.name}', "A loop needs the armature on its own switch: "
            "chopper-armature or dual-chopper, or a bridge; with the field alone the speed follows the setting.")
    return replace(kind, sides=(*kind.sides, SIDE)) if kind.drives_motor and closes(project) else kind


def with_loop(scene: Scene) -> Scene:
    """The scene with its speed loop, whose guard ends a stall; as it is where none holds the speed.

    Raises ``InputError`` as ``studies.holding.holding`` does.
    """
    if not closes(scene.project):
        return scene
    from designer.studies.holding import holding

    loop = holding(scene)
    jam = None if loop.guard is None else loop.guard.jam
    return replace(scene, loop=loop, stalled=tuple(replace(one, ended=jam) for one in scene.stalled))


def loop_tables(scene: Scene) -> tuple[Table, ...]:
    """What the sheet tells of the loop; nothing where none holds the speed."""
    if scene.loop is None:
        return ()
    from designer.studies.holding_tables import tables

    return tables(scene, scene.loop)


def tried_loop(scene: Scene, power: Power | None) -> Tried | None:
    """The loop on the full motor; None where none holds the speed."""
    if scene.loop is None:
        return None
    from designer.studies.holding_run import tried

    return tried(scene, power)


def with_loop_steps(scene: Scene, own: tuple[PowerStep, ...]) -> tuple[PowerStep, ...]:
    """The circuit's own steps to first power with those of a loop among them."""
    if scene.loop is None:
        return own
    from designer.studies.holding_bench import first_power

    return first_power(scene, own)


def held_by_loop(circuit: Circuit, fixed: Fixed, target: State) -> State:
    """The target with its setting found at each supply; full output, and the speed it brings, where none holds it."""
    out = ~np.isfinite(target.points.setting)
    if not out.any():
        return target
    points = steered(circuit, fixed, target.points)
    solved = circuit.solve(fixed, points)
    return replace(target, points=points, square=np.where(out, solved.armature_square, target.square),
                   absolute=np.where(out, solved.armature_absolute, target.absolute),
                   field_square=np.where(out, solved.field_square, target.field_square))


def steered(circuit: Circuit, fixed: Fixed, points: Points) -> Points:
    """The points with the setting that holds their speed.

    Where none does, the regulator stands at the end of its range: full output where torque lacks, least output where
    even that drives the shaft faster; the speed is then the one that follows (0 where it stands still).
    """
    setting, lacking = find_setting(circuit, fixed, points)
    speed, out = points.speed.copy(), np.flatnonzero(~np.isfinite(setting))
    if out.size:
        most, least = circuit.setting_range(fixed)
        setting[out] = np.where(lacking[out] > 0, least, most)
        speed[out] = np.nan_to_num(find_speed(circuit, fixed, points[out].at(setting=setting[out])))
    return points.at(setting=setting, speed=speed)


def corners_of_loop(circuit: Circuit, fixed: Fixed, rows: Rows, *, speed: float) -> Group:
    """The corners (conditions as ``rows`` has them) with the loop holding ``speed`` (rad/s)."""
    points = steered(circuit, fixed, rows.points.at(speed=np.full(len(rows.points), speed)))
    return Group(labels=rows.labels, points=points, solved=circuit.solve(fixed, points), circuit=circuit)


def hardest_settings(
    circuit: Circuit, fixed: Fixed, targets: Sequence[tuple[State, Load]], speeds: Array,
) -> Array:
    """Give the setting that at each of ``speeds`` (rad/s at the motor, above 0) gives the loop's greatest torque.

    At low supply, windings hot, it is ``STARTS`` times the greatest torque that any target asks for, friction included;
    full output where that gives less.
    """
    asked = max(float(np.max(fixed.motor.friction(state.points.speed) + load.at_motor(state.points.speed)))
                for state, load in targets)
    torque = STARTS * (asked + fixed.motor.friction_torque) * fixed.load.ratio * fixed.load.efficiency
    heavy = replace(fixed, load=replace(fixed.load, torque=torque, viscous=0.0, square=0.0))
    points = targets[0][0].points[np.zeros(len(speeds), np.intp)].at(speed=speeds)
    setting, lacking = find_setting(circuit, heavy, replace(points, friction=np.zeros(len(speeds))))
    most, least = circuit.setting_range(fixed)
    return np.where(np.isfinite(setting), setting, np.where(lacking > 0, least, most))


def blind_below(speeds: Array, targets: Sequence[tuple[State, Load]]) -> Array:
    """Give the speeds whose setting counts at ``speeds``: nothing below ``BLIND`` of the slowest target.

    There the tacho may tell nothing yet, and a limit of rest would hold a stiff armature at rest for ever.
    """
    return np.maximum(speeds, BLIND * min(float(state.points.speed[1]) for state, _ in targets))


def hardest_at_rest(
    circuit: Circuit, fixed: Fixed, targets: Sequence[State], loads: Sequence[Load],
) -> float:
    """Give the hardest setting that the loop has at rest; ``loads`` a target each."""
    asked = tuple(zip(targets, loads, strict=True))
    return float(hardest_settings(circuit, fixed, asked, blind_below(np.zeros(1), asked))[0])


def spread(corners: Group, *, load: float | None = None) -> tuple[float, float]:
    """Least and greatest speed (rad/s) of the corners; of those with this load alone where one is given."""
    speeds: Array = corners.points.speed
    if load is not None:
        speeds = speeds[corners.points.load == load]
    return float(np.min(speeds)), float(np.max(speeds))


def band_of_loop(found: Survey, project: Project) -> Iterator[Reason]:
    """Give a reason where the loop's output stands at its end and the speed leaves the band."""
    if not closes(project):
        return
    target, band = float(project.target.speed or 0.0), project.target.speed_band or LOOP_BAND
    away = found.corners.points.speed / found.fixed.load.ratio / target - 1
    worst = int(np.argmax(np.abs(away)))
    if found.reached and abs(away[worst]) > band:
        yield Reason(
            code="speed-band", message=f"At {found.corners.labels[worst]} the loop stands at the end of its output, "
            f"and the speed is {shown(float(found.corners.points.speed[worst]) / found.fixed.load.ratio, 'rad/s')}.",
            figure=Quantity(float(away[worst]), "1"), limit=Quantity(band, "1"),
            way_out="A lower target or another gear ratio, a circuit with more range, or a load that never drops so "
            "far." if away[worst] < 0 else "A target above what the least output drives without load, or a circuit "
            "whose output goes down to nothing.")
