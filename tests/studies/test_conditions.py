"""States at their own temperatures: what cannot be met is told, not replaced by another state."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from designer.circuits import circuit
from designer.circuits.case import Points
from designer.project import load
from designer.studies.conditions import settled, thermal_of
from designer.studies.solve import fixed_of

FAN = Path(__file__).parents[2] / "designer" / "examples" / "fan-fixed.toml"


def test_a_target_that_no_temperature_reaches_keeps_its_speed():
    """30000 rpm is out of reach at every winding temperature: no setting is found, and it lacks torque."""
    project = load(FAN, "design")
    fixed, kind = fixed_of(project), circuit("triac-series")
    speed = 30000 * math.pi / 30    # derived: far above the 23427 rpm that it reaches without load
    points = Points.of(fixed, {"voltage": np.array([207.0, 253.0]), "frequency": 50.0, "setting": 0.0, "speed": speed})
    state = settled(kind, fixed, thermal_of(project), points, held=False)
    assert np.isnan(state.points.setting).all()
    assert (state.points.speed == speed).all()
    assert (state.lacking < 0).all()
