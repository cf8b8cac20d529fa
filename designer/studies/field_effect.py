"""On which side of the turning point of "more field, slower" the target lies."""

from __future__ import annotations

import math

import numpy as np

from designer.equations import field as eq
from designer.results import Step, Warning_
from designer.studies.survey import Survey

#: of the turned slope: below this share of the driving voltage neither side is told
_FLAT = 0.05


def slope(found: Survey) -> Step:
    """What more field does to the speed at the target."""
    at, motor = found.held.points, found.fixed.motor
    current = float(found.held.absolute[1])
    flux = float(motor.curve.at(float(at.field_current[1]), motor.remanence))
    resistance = float(at.armature_resistance[1])
    volts = flux * float(np.nan_to_num(at.speed[1])) + resistance * current + motor.brush_drop
    return Step(formula=eq.SPEED_SLOPE, inputs={
        "R_a": resistance, "I_a": current, "V_a": volts, "V_b": motor.brush_drop, "k_f": flux},
        note="what more field does at the target, armature voltage and torque held")


def effect(found: Survey) -> tuple[str, bool]:
    """On which side of the turning point the target lies, and whether more field is NOT slower there."""
    step = slope(found)
    drive = step.inputs["V_a"] - step.inputs["V_b"]
    share_lost = 2 * step.inputs["R_a"] * step.inputs["I_a"] / drive if drive > 0 else math.inf
    if abs(share_lost - 1) < _FLAT:
        return "At the target the speed hardly depends on the field current: it lies at the turning point.", True
    if share_lost > 1:
        return ("At the target MORE field makes the motor faster: the armature's resistive drop is more than half of "
                "its voltage. A warming field then slows it.", True)
    return ("At the target more field makes the motor slower, a warming field faster: the armature's resistive drop "
            f"is {50 * share_lost:.0f} % of its voltage, below the half at which that turns.", False)


def warnings(found: Survey) -> tuple[Warning_, ...]:
    """The side of the turning point where it is the unexpected one."""
    text, turned = effect(found)
    return (Warning_(code="field-turning-point", message=text),) if turned else ()
