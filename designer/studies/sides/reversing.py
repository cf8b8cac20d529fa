"""Reversing as a side of any motor's circuit: the changeover in the armature's leads, its wires and its fault."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from designer.parts import reversing
from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.results import FaultCase, Quantity, Step
from designer.studies.field_times import stop_time
from designer.studies.groups import voltages
from designer.studies.sides import Names, Power, Row, Scene, Side, SideParts
from designer.studies.sides.mains import thin
from designer.studies.survey import Survey

NAME = "reversing"


def with_reversing(kind: CircuitKind, project: Project) -> CircuitKind:
    """The circuit with this side where ``circuit.reversing`` asks for it."""
    return replace(kind, sides=(*kind.sides, NAME)) if project.circuit.reversing else kind


def _parts(scene: Scene) -> SideParts:
    """The changeover; raises ``InputError`` where no contact bears it."""
    found = scene.found
    assert found is not None
    mains, run_down = scene.alternating, stop_time(found, scene.project)
    driven, free = plugging(scene, found)
    shifted = bool(scene.project.motor.brush_shift) or found.fixed.motor.brush_shift is not None
    separate, stall = found.fixed.field is not None, found.stall.solved
    part = reversing.choose(reversing.Demand(
        running=_running(scene), separate=separate, stalled=math.sqrt(float(stall.armature_square[0])),
        nominal=voltages(scene.project)[1 if mains else 2], mains=mains, run_down=run_down, plugging=driven,
        shifted=shifted), margins=scene.margins)
    proved = reversing.interlock(run_down, separate=separate)
    text = (f"Armature leads swapped by {part.marking}; one winding only. {proved} "
            f"{reversing.shift(shifted)}")
    return SideParts(parts=(part,), worked=(driven, free), texts={"reversing": text}, figures={
        "plugging_current": Quantity(driven.value, "A"), "plugging_current_freewheel": Quantity(free.value, "A"),
        **({"reversing_timer": Quantity(reversing.timer(run_down), "s")} if math.isfinite(run_down) else {})})


def _running(scene: Scene) -> float:
    """The greatest r.m.s. armature current of any loaded state, A."""
    return max(math.sqrt(float(np.nanmax(group.solved.armature_square)))
               for group in scene.groups["running"] if len(group.labels))


def plugging(scene: Scene, found: Survey) -> tuple[Step, Step]:
    """The currents of plugging at the fastest loaded speed: with full supply behind it, and by the speed voltage alone.

    The second flows through a freewheel diode whatever the switch does: no current limit of the switch holds it.
    """
    motor, thermal = found.fixed.motor, found.thermal
    armature, field = (float(r) for r in motor.resistances(thermal.cold, thermal.cold))
    speed = max(float(np.nanmax(state.points.speed)) for state in (found.held, *found.targets))
    own = None if found.fixed.field is None else float(found.held.points.field_current[1])
    high = voltages(scene.project)[2] * (math.sqrt(2) if scene.alternating else 1.0)
    driven, free = (reversing.plugged(motor, voltage=volts, speed=speed, field=own, cold=(armature, field))
                    for volts in (high, 0.0))
    return (replace(driven, note=f"{driven.note}, crest of the high supply behind it"),
            replace(free, note=f"{free.note}, through the freewheel path alone"))


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """From the changeover, at which the circuit's two leads end, to the brushes; the field keeps its ends."""
    k, wire = names.of("reversing-contact"), "as for the armature"
    pair = names.marked("reversing-contact", "").startswith(reversing.PAIR)
    rest, pulled = ("forward contactor", "reverse contactor") if pair else ("at rest", "pulled in")
    for pole, side in ((1, reversing.FORWARD.plus), (2, reversing.FORWARD.minus)):
        yield f"{k}, pole {pole}, {rest}", f"armature, {side}", wire, "forward"
    for pole, side in ((1, reversing.REVERSE.plus), (2, reversing.REVERSE.minus)):
        yield f"{k}, pole {pole}, {pulled}", f"armature, {side}", wire, "reverse: crossed, armature only"
    yield ("direction switch, through the standstill interlock", f"{k}, coil", thin(project),
           "the switch alone must not reach the coil" + (
               ": to the one coil or the other, each over the other's opening auxiliary contact; the commons of both "
               "poles go to both contactors" if pair else ""))


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """Thrown while the motor turns."""
    found = scene.found
    assert found is not None
    driven, free = plugging(scene, found)
    rated = _running(scene)
    limit = found.fixed.chopping.current_limit if found.fixed.chopping else math.inf
    held = ("; the current limit does not see what the freewheel diode carries" if math.isfinite(limit) else "")
    yield FaultCase(
        fault="reversed",
        name="Reversed while turning, the interlock bridged: supply and speed voltage add up",
        figures={"current, full supply behind it": Quantity(driven.value, "A"),
                 "current by the speed voltage alone": Quantity(free.value, "A"),
                 **({"of the running current": Quantity(driven.value / rated, "1")} if rated > 0 else {})},
        ends_by=f"the fuse, after the commutator has flashed over{held}")


SIDE = Side(parts=_parts, wires=_wires, faults=_faults)
