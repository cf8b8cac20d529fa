"""An armature with a separate field on a phase-controlled rectifier: constant flux, closed forms."""

from __future__ import annotations

import numpy as np

from designer.circuits.case import Fixed, Points
from designer.circuits.rectified_solution import RectifiedSolution, model
from designer.circuits.rectifier_forms import Form
from designer.results import Array
from designer.waveforms.rectified import Command
from designer.waveforms.rectified_linear import rectified
from designer.waveforms.rectified_trace import spectrum


def solve(fixed: Fixed, points: Points, form: Form) -> RectifiedSolution:
    """Solve every point at its firing angle (rad), speed (rad/s) and field current (A)."""
    flux = np.asarray(fixed.motor.curve.at(points.field_current, fixed.motor.remanence), float)
    one = model(fixed, points, form, resistance=points.armature_resistance, standing=flux * points.speed)
    inductance = np.full(len(points), fixed.motor.armature_inductance)
    command = Command(alpha=points.setting, gate=fixed.gate)
    return RectifiedSolution(
        fixed=fixed, points=points, form=form, model=one, command=command,
        state=rectified(one, inductance, command), flux=flux, inductance=inductance)


def harmonics(solved: RectifiedSolution) -> Array:
    """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
    found = spectrum(solved.model, solved.inductance, solved.command)[:, 1:]
    return np.asarray(np.abs(found) / np.sqrt(2.0))
