"""What is asked for: motor speed and load of the target and of every further target."""

from __future__ import annotations

from dataclasses import replace

from designer.circuits.case import Fixed
from designer.motor.model import Load
from designer.project.model import Project


def wanted_points(project: Project, fixed: Fixed) -> tuple[tuple[float, Load], ...]:
    """Motor speed and load of the target and of every further target."""
    ratio = fixed.load.ratio
    first = (float(project.target.speed or 0.0) * ratio, fixed.load)
    return (first, *((t.speed * ratio, shaped(fixed.load, t.speed, t.torque)) for t in project.further_target))


def share_of(written: Load, load: Load, speed: float) -> float:
    """The load as a share of the one written, at the motor's speed; 0 where none is written."""
    output = speed / written.ratio
    asked = float(written.at_output(output))
    return float(load.at_output(output)) / asked if asked > 0 else 0.0


def shaped(load: Load, speed: float, torque: float) -> Load:
    """The load as written, scaled to pass through a further target; a constant one where it is none there."""
    written = float(load.at_output(speed))
    if written <= 0:
        return replace(load, torque=torque, viscous=0.0, square=0.0)
    share = torque / written
    return replace(load, torque=share * load.torque, viscous=share * load.viscous, square=share * load.square)
