"""The field current at which a motor on phase angle passes its speed limit, solved: its voltage hangs on its load."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Points
from designer.results import Array
from designer.studies.rows import FRICTION_BOUNDS
from designer.studies.survey import LEAST_REMANENCE, REMANENCE_SPREAD, Survey

STEPS = 25      # field currents looked at in one go; the one found is then looked at as closely again


def solved_unsafe(found: Survey, *, limit: float, load: float) -> float:
    """Give the field current, A, at and below which the motor passes ``limit`` (rad/s) at a setting; 0 where none.

    High mains, windings cold, least friction, ``load`` as a factor (0 where it can be lost). Rounded up to the next
    current looked at: the speed need not fall with every bit more field, so the greatest unsafe one counts.
    """
    flowing = float(found.held.points.field_current[1])
    # the least remanence from build to build is the fastest at next to no field
    motor = found.fixed.motor
    curve = motor.curve
    left = curve.remanence or LEAST_REMANENCE * float(curve.at(flowing))
    weak = replace(motor, curve=replace(curve, remanence=min(REMANENCE_SPREAD) * left), remanence="keep")
    settings = [float(state.points.setting[2]) for state in (found.held, *found.targets)]
    known = [setting for setting in settings if np.isfinite(setting)]
    if not known:
        return 0.0
    setting = min(known, key=lambda one: abs(one - found.circuit.setting_range(found.fixed)[0]))

    def speeds(currents: Array) -> Array:
        armature, field = motor.resistances(found.thermal.cold, found.thermal.cold)
        fixed = replace(found.fixed, motor=weak)
        points = Points.of(fixed, {
            "voltage": found.held.points.voltage[2], "frequency": found.held.points.frequency[1], "setting": setting,
            "speed": 0.5 * limit, "armature_resistance": armature, "field_resistance": field,
            "friction": FRICTION_BOUNDS[0], "load": load, "field_current": currents})
        return np.nan_to_num(find_speed(found.circuit, fixed, points), nan=np.inf)

    low, high = 0.0, flowing
    for _ in range(2):
        grid = np.linspace(low, high, STEPS)
        unsafe = np.flatnonzero(speeds(grid) > limit)
        if not unsafe.size:
            return 0.0 if low == 0.0 else high
        last = int(unsafe[-1])
        if last == STEPS - 1:
            return high
        low, high = float(grid[last]), float(grid[last + 1])
    return high
