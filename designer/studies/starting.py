"""What stands against an armature straight on its supply beside its starter: the field's heat, a supply brought up."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from designer.circuits.balance import find_speed
from designer.motor.field_feed import FieldFeed
from designer.parts import winding
from designer.parts.field_relay import PICK_UP_SHARE
from designer.parts.margins import share
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Quantity, Reason
from designer.studies.conditions import field_alone
from designer.studies.field_choice import current_for_speed
from designer.studies.stall import thermal_class
from designer.studies.start_run import allowed
from designer.studies.survey import Survey

SQRT2 = math.sqrt(2.0)


def greatest_field(found: Survey) -> float:
    """The greatest field current (A) that a target holds at any supply: at the highest."""
    return float(np.nanmax(np.concatenate([state.points.setting for state in (found.held, *found.targets)])))


def out_of_range(found: Survey) -> Iterator[Reason]:
    """A target below the speed at full field, or one whose field lies below the floor, with the figure that binds."""
    motor, ratio = found.fixed.motor, found.fixed.load.ratio
    low, full = found.circuit.setting_range(found.fixed)
    for state, load in zip(found.targets, found.loads, strict=True):
        bad = np.flatnonzero(~np.isfinite(state.points.setting))
        if not bad.size:
            continue
        at, wanted = int(bad[-1]), float(state.points.speed[1])
        if float(state.lacking[at]) > 0:
            slowest = find_speed(found.circuit, replace(found.fixed, load=load), state.points[[at]].at(
                setting=np.array([full])))
            yield Reason(
                code="field-range", message="Even at full field, "
                f"{engineering(full, 'A', 3)}, the motor turns faster than the target of "
                f"{shown(wanted / ratio, 'rad/s')} at {engineering(float(state.points.voltage[at]), 'V')}: a weaker "
                "field only speeds it up from there.",
                figure=Quantity(float(slowest[0]) / ratio, "rad/s"), limit=Quantity(wanted / ratio, "rad/s"),
                way_out="A lower armature supply, a larger gear ratio, or an armature chopper.")
            continue
        at = int(bad[0])
        bus = float(state.points.voltage[at]) * (SQRT2 if found.fixed.feed.alternating else 1.0)
        needed = current_for_speed(motor, voltage=bus, torque=float(load.at_motor(wanted) + motor.friction(wanted)),
                                   speed=wanted, celsius=float(state.taken.armature[at]))[0]
        if needed is not None and needed < low:
            yield Reason(
                code="field-range", message=f"The target of {shown(wanted / ratio, 'rad/s')} takes a field of "
                f"{engineering(needed, 'A', 3)} at {engineering(float(state.points.voltage[at]), 'V')}, below its "
                "floor.",
                figure=Quantity(low, "A"), limit=Quantity(needed, "A"),
                way_out="A lower circuit.field_floor where the speed limit allows it, a lower target, or a higher "
                "supply.")


def field_heat(found: Survey, project: Project) -> Iterator[Reason]:
    """The field winding at the strongest setting, the shaft at rest: its fan does not blow before a start."""
    if found.thermal.surroundings is None or not found.reached:
        return
    limits = winding.limits(thermal_class(project))
    limit = limits.running * share("winding_temperature", project.margins.values)[0]
    current, still = greatest_field(found), found.held.points.at(speed=np.zeros(len(found.held.points)))
    own = replace(found.fixed, field=FieldFeed(held=current))
    hottest = float(np.max(field_alone(own, replace(found.thermal.surroundings, duty=1.0), still)))
    if hottest > limit:
        yield Reason(
            code="field-at-rest", message=f"The field at {engineering(current, 'A', 3)}, on before the armature and "
            f"after it, gets too hot at rest for class {limits.thermal_class}: its own fan does not blow then.",
            figure=Quantity(hottest, "degC"), limit=Quantity(limit, "degC"),
            way_out="A higher target, which takes less field, forced air that blows at rest too, or a lower supply.")


def variable_supply(found: Survey, project: Project) -> Iterator[Reason]:
    """A supply brought up from zero feeds the field too: at rest it must drive the field past its relay's pick-up."""
    if project.supply.is_mains:
        yield Reason(
            code="starter", message="Rectified mains stands at its crest from the first moment: it is no variable "
            "supply.", way_out='starter = "resistor", or a d.c. supply that is brought up from zero.')
        return
    motor, limit = found.fixed.motor, allowed(found, project)
    cold = float(found.stall.points.armature_resistance[0])
    volts = motor.brush_drop + limit * cold
    hot = winding.limits(thermal_class(project)).running
    field, needed = volts / float(motor.resistances(hot, hot)[1]), PICK_UP_SHARE * found.setting
    if field < needed:
        yield Reason(
            code="starter", message=f"At rest the supply may stand at {engineering(volts, 'V', 3)} only, or the "
            f"armature draws more than {engineering(limit, 'A', 3)}; the field, on the same supply, then has "
            f"{engineering(field, 'A', 3)}, and its relay does not let the armature on.",
            figure=Quantity(field, "A"), limit=Quantity(needed, "A"),
            way_out='starter = "resistor"; or a higher [control] current_limit where supply and brushes bear it.')
