"""The field current as the setting of an armature straight on its bus: first guess, floor, turning point, its words."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Chopping, Circuit, Fixed, Points
from designer.motor.field_feed import FieldFeed
from designer.parts import winding
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Quantity, Warning_
from designer.studies.chopper_control import FREQUENCY, LIKELY_DIODE, LIKELY_HIGH, LIKELY_LOW, LIKELY_SHORTEST, LOW_BUS
from designer.studies.feeds import likely_feed
from designer.studies.field_choice import current_for_speed
from designer.studies.field_effect import effect
from designer.studies.groups import Group, crest_of, voltages
from designer.studies.rows import UNLOADED_GUESS
from designer.studies.sides import Halfway
from designer.studies.start_run import lowest_bus
from designer.studies.survey import Survey, speed_limit

TRIED, LEAST = 60, 0.01      # field currents among which a safe floor is sought: from this part of the greatest on
FIGURES = 4         # of the field current whose heat is counted
SPAN_OVER = 1.3     # of the greatest field current in use: how far plots go


@dataclass(frozen=True, kw_only=True)
class Look:
    """The field at its floor, highest supply, cold, least friction: steady speeds of the motor (rad/s).

    ``unloaded``, ``loaded``; ``unsafe`` (A): the greatest field current looked at that passes the speed limit, 0
    where none does; ``enough`` (A): the next, nan where there is none.
    """

    unloaded: float
    loaded: float
    unsafe: float
    enough: float


def full_field(fixed: Fixed, project: Project) -> float:
    """The greatest field current (A) that is there at any time: last reading, lowest bus on the hot winding."""
    hot = winding.limits(project.motor.thermal_class or "A").running
    return min(fixed.motor.curve.last_current,
               lowest_bus(project) / float(fixed.motor.resistances(hot, hot)[1]))


def prepared(circuit: Circuit, fixed: Fixed, project: Project) -> Fixed:
    """Complete what all points share: a first guess of devices, bus and field current; the greatest field."""
    crest, parts = crest_of(project), project.parts
    likely = LIKELY_LOW if crest < LOW_BUS else LIKELY_HIGH
    load, speed = fixed.load, float(project.target.speed or 0.0) * fixed.load.ratio
    torque = float(load.at_motor(speed) + fixed.motor.friction(speed))
    full = full_field(fixed, project)
    bus = crest * voltages(project)[1] / voltages(project)[2]
    guess = current_for_speed(fixed.motor, voltage=bus, torque=torque, speed=speed,
                              celsius=fixed.motor.winding_temperature)[0]
    field = full if guess is None else min(max(guess, fixed.field_floor), full)
    armature = torque / max(float(fixed.motor.curve.at(field, fixed.motor.remanence)), 1e-9)
    return replace(
        fixed, feed=likely_feed(project, current=armature + field), field=FieldFeed(held=_told(field)),
        switch=fixed.switch if parts.switch else likely, freewheel=fixed.freewheel if parts.freewheel else LIKELY_DIODE,
        chopping=Chopping(frequency=project.circuit.switching_frequency or FREQUENCY, shortest=LIKELY_SHORTEST),
        setting_cap=full)


def _told(current: float) -> float:
    """A field current to the figures that a round of the design is held to."""
    return float(f"{current:.{FIGURES}g}")


def feed(found: Survey) -> FieldFeed:
    """The field current at the target as the next round heats the winding with it."""
    return FieldFeed(held=_told(found.setting))


def look(half: Halfway, corners: Group) -> Look:
    """Find the speeds at the floor, the worst corner, and the floor that would do."""
    fixed, circuit, limit = half.fixed, half.circuit, speed_limit(half.project)
    low, high = circuit.setting_range(fixed)
    currents = np.concatenate(([low], np.geomspace(LEAST * high, high, TRIED)))
    guess = UNLOADED_GUESS * float(np.nan_to_num(half.held.points.speed[1], nan=100.0))
    count = len(currents)
    points = Points.of(fixed, {**half.cold, "setting": np.tile(currents, 2), "speed": guess,
                               "load": np.repeat((0.0, 1.0), count), "field_current": np.tile(currents, 2)})
    speed = np.nan_to_num(find_speed(circuit, fixed, points), nan=np.inf).reshape(2, count)
    held = speed[1 if half.project.load.coupling == "fixed" else 0]
    past = np.flatnonzero(held[1:] > (math.inf if limit is None else limit))
    last = int(past[-1]) + 1 if past.size else 0
    return Look(unloaded=float(speed[0, 0]), loaded=float(speed[1, 0]), unsafe=float(currents[last]) if last else 0.0,
                enough=math.nan if last == count - 1 else float(currents[last + 1]))


def figures(found: Survey) -> dict[str, Quantity]:
    """The ends of the field current, and the speeds there."""
    low, high = found.circuit.setting_range(found.fixed)
    ratio, at = found.fixed.load.ratio, found.look
    return {"smallest_field_current": Quantity(low, "A"), "largest_field_current": Quantity(high, "A"),
            "fastest_at_the_floor": Quantity(at.loaded / ratio, "rad/s"),
            "slowest_at_full_field": Quantity(found.shorted_loaded / ratio, "rad/s")}


def span(found: Survey) -> tuple[float, float]:
    """The field currents that plots show: from the floor to a little beyond the greatest in use."""
    low, high = found.circuit.setting_range(found.fixed)
    used = [float(np.nanmax(np.nan_to_num(state.points.setting), initial=0.0))
            for state in (found.held, *found.targets)]
    return low, min(high, max(SPAN_OVER * max(used), 2 * low))


def warnings(found: Survey) -> tuple[Warning_, ...]:
    """The side of the turning point where it is the unexpected one."""
    text, turned = effect(found)
    return (Warning_(code="field-turning-point", message=text),) if turned else ()


def summary(found: Survey, project: Project) -> dict[str, str]:
    """One sentence of what it does, and on which side of the turning point."""
    ratio = found.fixed.load.ratio
    low, nominal, high = (float(speed) / ratio for speed in found.held.points.speed)
    free, floor = float(found.free.points.speed[0]) / ratio, found.look.unloaded / ratio
    return {"summary": (
        "The armature stands straight on its supply behind a starter; a chopper of "
        f"{engineering(found.fixed.chopping.frequency if found.fixed.chopping else 0.0, 'Hz')} holds the field at "
        f"{engineering(found.setting, 'A')}, which sets the speed: {shown(nominal, 'rad/s')} with the load as written, "
        f"{shown(low, 'rad/s')} at low and {shown(high, 'rad/s')} at high supply, {shown(free, 'rad/s')} with the load "
        f"off. With the chopper dead the floor of {engineering(found.fixed.field_floor, 'A')} stays, and "
        f"{shown(floor, 'rad/s')} unloaded at the most.")}
