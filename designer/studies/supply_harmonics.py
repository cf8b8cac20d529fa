"""The line current of a supply without motor against IEC 61000-3-2."""

from __future__ import annotations

import numpy as np

from designer.checks import HarmonicResult, harmonic_checks
from designer.parts import harmonics
from designer.studies.groups import voltages
from designer.studies.sides import Scene


def line_checks(scene: Scene) -> HarmonicResult:
    """Hold the worst harmonics of all states surveyed against their limits."""
    group, project = scene.groups["running"][0], scene.project
    each = scene.circuit.harmonics(group.solved)
    return harmonic_checks(
        np.nanmax(each, axis=0).tolist(),
        supply=harmonics.Supply(voltage=voltages(project)[1], frequency=float(project.supply.frequency or 0.0)),
        use=harmonics.Use(power=float(np.nanmax(group.solved.input_power)),
                          current=float(np.sqrt(np.nanmax(group.solved.line_square))), control="none"),
        given=project.margins.values)
