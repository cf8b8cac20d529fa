"""The current of a separate field where the file leaves it to be chosen: least copper and brush loss at the target."""

from __future__ import annotations

import numpy as np
from scipy.optimize import minimize_scalar

from designer.circuits.case import Fixed
from designer.equations.separate_motor import COPPER_AND_BRUSH_LOSS
from designer.motor.field_feed import FieldFeed
from designer.project.model import Project

LEAST_PART = 0.02      # of the last reading of the curve


def least_loss_current(fixed: Fixed, project: Project) -> float:
    """Give the field current (A) of least R_a·i_a² + R_f·i_f² + V_b·i_a at the target's torque.

    Within the readings of the flux curve; windings as read. The armature's torque is load and friction.
    """
    motor, speed = fixed.motor, float(project.target.speed or 0.0) * fixed.load.ratio
    torque = float(fixed.load.at_motor(speed) + motor.friction(speed))
    last = motor.curve.last_current

    def loss(current: float) -> float:
        flux = float(motor.curve.at(current, motor.remanence))
        return float(COPPER_AND_BRUSH_LOSS(
            R_a=motor.armature_resistance, R_f=motor.field_resistance, V_b=motor.brush_drop, I_f=current,
            I_a=torque / flux))

    found = minimize_scalar(loss, bounds=(LEAST_PART * last, last), method="bounded", options={"xatol": 1e-6 * last})
    return float(np.clip(found.x, LEAST_PART * last, last))


def fed(fixed: Fixed, project: Project) -> FieldFeed:
    """How the field is fed: as the file says, else with the current of least loss."""
    return fixed.field or FieldFeed(held=round(least_loss_current(fixed, project), 3))
