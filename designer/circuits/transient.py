"""A circuit at the conditions of a point, as the marches through time take it: its devices, drops, motor and field."""

from __future__ import annotations

import math
from dataclasses import replace

from designer.circuits.case import Circuit, Drop, Fixed, Points
from designer.circuits.field_path import field_winding
from designer.circuits.rectified_solution import RectifiedSolution
from designer.motor.model import MotorModel
from designer.waveforms.transient_chopper import ChopperDrive
from designer.waveforms.transient_motor import Drag, FieldTable, PathTable
from designer.waveforms.transient_rates import Drops, FieldFed, PhaseDrive

BEYOND = 2.2       # times the greatest direct current of the point: how far the flux table reaches


def drag_of(fixed: Fixed, points: Points, *, inertia: float) -> Drag:
    """What works against the torque at the first point, with its factors on friction and load."""
    return Drag.of(fixed.motor, fixed.load, inertia=inertia, friction=float(points.friction[0]),
                   share=float(points.load[0]))


def field_fed(fixed: Fixed, points: Points) -> FieldFed | None:
    """How the first point's separate field is fed; None with a series winding."""
    if fixed.field is None:
        return None
    feed, winding = fixed.field, float(points.field_resistance[0])
    if feed.held is not None or feed.voltage is None:
        return FieldFed(voltage=None)
    share = 1.0 if feed.follows is None else float(points.voltage[0]) / feed.follows
    return FieldFed(voltage=feed.voltage * share - feed.drop, resistance=winding + feed.series)


def field_table(fixed: Fixed, points: Points) -> FieldTable | None:
    """Flux against the separate field's current; None with a series winding."""
    if fixed.field is None:
        return None
    motor = fixed.motor
    top = max(float(points.field_current[0]), motor.curve.last_current)
    return FieldTable.of(motor, field_winding(motor), reaching=BEYOND * top, remanence=_flowing(motor))


def path_table(fixed: Fixed, points: Points, *, extra: float = 0.0) -> PathTable:
    """The path of the motor's current with ``extra`` henries in series."""
    motor = fixed.motor
    if fixed.field is not None:
        return PathTable.straight(motor.armature_inductance + extra)
    ohms = float(points.armature_resistance[0] + points.field_resistance[0])
    volts = float(points.voltage[0]) * (math.sqrt(2.0) if fixed.feed.alternating else 1.0)
    return PathTable.of(motor, motor.series_winding(extra), reaching=BEYOND * volts / ohms, remanence=_flowing(motor))


def phase_drive(circuit: Circuit, fixed: Fixed, points: Points) -> PhaseDrive:
    """The drive of a circuit on phase angle at the conditions of its first point (its speed and setting do not count).

    The circuit itself tells how its devices stand, a shorted one of ``Circuit.shorted`` likewise.
    """
    rest = points[[0]].at(speed=points.speed[[0]] * 0.0)
    solved = circuit.solve(fixed, rest)
    flowing = _flowing(fixed.motor)
    bare = PhaseDrive(
        motor=path_table(fixed, rest), whole=path_table(fixed, rest), field=field_table(fixed, rest),
        fed=field_fed(fixed, rest), on=_drops(fixed.switch), wheel=None, back=fixed.motor.brush_drop, resistance=0.0,
        source_resistance=0.0, source_inductance=0.0, remanence=(flowing, flowing), gate=fixed.gate)
    if not isinstance(solved, RectifiedSolution):
        series = fixed.field is None
        ohms = float(rest.armature_resistance[0]) + (float(rest.field_resistance[0]) if series else 0.0)
        turns = fixed.motor.remanence == "keep" and series
        return replace(
            bare, whole=path_table(fixed, rest, extra=fixed.feed.inductance), resistance=ohms,
            source_resistance=fixed.feed.resistance, source_inductance=fixed.feed.inductance, two_way=True,
            remanence=(flowing, -flowing if turns else flowing))
    model, form = solved.model, solved.form
    wheel = Drops(threshold=float(model.freewheel_threshold[0]), slope=float(model.freewheel_slope[0]))
    henries = float(model.source_inductance[0])
    return replace(
        bare, whole=path_table(fixed, rest, extra=henries), back=float(model.back[0]),
        on=Drops(threshold=float(model.on_threshold[0]), slope=float(model.on_slope[0])),
        resistance=float(model.resistance[0]), wheel=wheel if form.freewheel is not None else None,
        source_resistance=float(model.source_resistance[0]), source_inductance=henries, pulses=form.pulses,
        held=form.held, keeps=form.keeps_gate)


def _flowing(motor: MotorModel) -> float:
    """The part of k (V·s) that does not follow the current, while current flows."""
    return 0.0 if motor.remanence == "drop" else motor.curve.remanence


def _drops(one: Drop) -> Drops:
    return Drops(threshold=one.threshold, slope=one.slope)


def chopper_drive(circuit: Circuit, fixed: Fixed, points: Points) -> ChopperDrive:
    """The drive of a circuit on a chopper at the conditions of its first point; raises ``ValueError`` for another."""
    how, separate = fixed.chopping, fixed.field is not None
    if how is None or circuit.setting == "firing_angle":
        raise ValueError(f"{circuit.name} is no chopper")
    chops_field = circuit.setting == "field_current"
    ohms = float(points.armature_resistance[0]) + (0.0 if separate else float(points.field_resistance[0]))
    bare, wheel = _drops(fixed.switch), _drops(fixed.freewheel)
    return ChopperDrive(
        path=path_table(fixed, points), field=field_table(fixed, points),
        fed=FieldFed(voltage=0.0, resistance=float(points.field_resistance[0])) if chops_field
        else field_fed(fixed, points),
        on=Drops() if chops_field else bare, wheel=wheel, back=fixed.motor.brush_drop, resistance=ohms,
        remanence=_flowing(fixed.motor), period=1.0 / how.frequency, shortest=how.shortest,
        limit=math.inf if chops_field else how.current_limit, chops_field=chops_field,
        field_drops=(_drops(fixed.field_switch or fixed.switch), _drops(fixed.field_freewheel or fixed.freewheel)))
