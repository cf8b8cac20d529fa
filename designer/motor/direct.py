"""The series motor on smooth direct voltage: the first turn on the bench, and d.c. beside a.c."""

from __future__ import annotations

from dataclasses import dataclass

from scipy.optimize import brentq

from designer.motor.model import Load, MotorModel


@dataclass(frozen=True, kw_only=True)
class DirectPoint:
    """Current (A) and speed (rad/s) of a series motor on d.c.; at rest where it cannot start."""

    current: float
    speed: float


def series_on_direct(
    motor: MotorModel, load: Load, *, voltage: float, resistance: float, friction: float = 1.0
) -> DirectPoint:
    """Solve V = V_b + R·i + k(i)·ω with k(i)·i = friction + load, both windings in series.

    ``voltage`` V, ``resistance`` of the whole loop (ohm), ``friction`` a factor. The remanence has the
    sign of the current: a bench supply magnetises the way it drives.
    """
    highest = max((voltage - motor.brush_drop) / resistance, 0.0)

    def speed(current: float) -> float:
        return (voltage - motor.brush_drop - resistance * current) / float(motor.curve.at(current, motor.remanence))

    def surplus(current: float) -> float:
        omega = speed(current)
        torque = float(motor.curve.at(current, motor.remanence)) * current
        return torque - friction * float(motor.friction(omega)) - float(load.at_motor(omega))

    stalled = float(motor.curve.at(highest, motor.remanence)) * highest
    if stalled <= friction * motor.friction_torque + float(load.at_motor(0.0)):
        return DirectPoint(current=highest, speed=0.0)
    current = float(brentq(surplus, 1e-6 * highest, highest, xtol=1e-10 * highest))
    return DirectPoint(current=current, speed=speed(current))
