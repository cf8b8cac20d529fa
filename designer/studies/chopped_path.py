"""What stands in the path that a chopper feeds: the armature alone, or armature and field in series."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from scipy.optimize import brentq

from designer.circuits.case import Fixed
from designer.errors import InputError
from designer.motor.model import MotorModel
from designer.project.model import Project
from designer.studies.groups import voltages

MOST_OF_CURVE = 50.0      # of the last reading of the flux curve: no torque is looked for beyond it


def inductance(fixed: Fixed, current: float) -> float:
    """H at a current (A): the armature's, or that of both windings as far as the current saturates them."""
    if fixed.field is not None:
        return fixed.motor.armature_inductance
    return float(fixed.motor.series_winding().inductance(current))


def resistance(fixed: Fixed, cold: Mapping[str, Any]) -> float:
    """Ohm of the path with the windings' resistances in ``cold``."""
    names = ("armature_resistance", "field_resistance") if fixed.field is None else ("armature_resistance",)
    return sum(float(np.asarray(cold[name]).ravel()[0]) for name in names)


def asked_current(fixed: Fixed, project: Project) -> float:
    """The greatest armature current (A) that target and further targets ask for, windings as read.

    Raises ``InputError`` where the flux curve gives no torque.
    """
    ratio, efficiency = fixed.load.ratio, fixed.load.efficiency
    first = float(project.target.speed or 0.0)
    asked = [(first, float(fixed.load.at_output(first))), *((t.speed, t.torque) for t in project.further_target)]
    torque = max(torque / (ratio * efficiency) + float(fixed.motor.friction(speed * ratio)) for speed, torque in asked)
    if fixed.field is None:
        return series_current(fixed.motor, torque)
    field = float(fixed.field.current(fixed.motor.field_resistance, voltages(project)[1]))
    flux = float(fixed.motor.curve.at(field, fixed.motor.remanence))
    if not flux > 0:
        raise InputError("circuit.field_current", field, "a current at which the flux curve is above zero")
    return torque / flux


def series_current(motor: MotorModel, torque: float) -> float:
    """The current (A) of k(i)·i = ``torque`` (N·m); ``InputError`` where none near the curve has it."""
    def excess(current: float) -> float:
        return float(motor.curve.at(current, motor.remanence)) * current - torque

    top = MOST_OF_CURVE * motor.curve.last_current
    if excess(top) < 0:
        raise InputError("load.torque", f"{torque:.3g} N*m at the motor", "a torque that the motor's flux curve gives",
                         "A larger gear ratio, or a larger motor.")
    return float(brentq(excess, 0.0, top, rtol=1e-9)) if torque > 0 else 0.0
