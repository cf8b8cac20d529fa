"""The line current of a design against IEC 61000-3-2: the worst of each order over the control range."""

from __future__ import annotations

import numpy as np

from designer.checks import HarmonicResult, harmonic_checks
from designer.parts import harmonics
from designer.studies.groups import Group, voltages
from designer.studies.sides import Scene


def line_checks(scene: Scene) -> HarmonicResult:
    """Hold the line current of a scene order by order; nothing on a d.c. supply.

    A motor is held over its control range, a supply without one over all states surveyed. How the standard calls the
    control is told from the solved current itself.
    """
    if not scene.alternating:
        return HarmonicResult(checks=(), worst=None, applies=False, note="", reasons=())
    group, project = _held(scene), scene.project
    each = scene.circuit.harmonics(group.solved)
    standing = np.all(np.isfinite(each), axis=1)      # a bus that collapses has no steady current
    if not standing.any():
        return HarmonicResult(checks=(), worst=None, applies=False, note="", reasons=())
    direct = np.asarray(group.stresses.get("line_current_mean", np.zeros(len(each))), float)
    return harmonic_checks(
        np.max(each[standing], axis=0).tolist(),
        supply=harmonics.Supply(voltage=voltages(project)[1], frequency=float(project.supply.frequency or 0.0)),
        use=harmonics.Use(
            power=float(np.nanmax(group.solved.input_power)),
            current=float(np.sqrt(np.nanmax(group.solved.line_square))),
            control=harmonics.control_of(each[standing], direct=direct[standing], cut=scene.kind.line != "bus")),
        given=project.margins.values)


def _held(scene: Scene) -> Group:
    return scene.groups["running"][0] if scene.found is None else scene.found.range
