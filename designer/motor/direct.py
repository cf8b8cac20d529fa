"""A motor where no inductance counts: on smooth direct voltage, and on mains behind a lamp.

The first turns on the bench, and d.c. beside a.c.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from designer.motor.model import Load, MotorModel
from designer.results import Array

ANGLES = 181       # of the half cycle
CURRENTS = 401
FASTEST = 2e4      # rad/s


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


@dataclass(frozen=True, kw_only=True)
class Behind:
    """A series motor on mains through a resistance far above its reactance: V r.m.s., ohms of the whole loop.

    The current then follows the voltage at every instant; what the inductance takes off is of the order
    of the square of reactance over resistance (below 1 % for a lamp that just turns the motor).
    """

    motor: MotorModel
    voltage: float
    resistance: float

    def torque(self, speed: float) -> float:
        """Mean torque, N·m, at ``speed`` (rad/s), fully fired."""
        angle, current = self.current(speed)
        constant = self.motor.curve.at(current, "drop" if self.motor.remanence == "keep" else self.motor.remanence)
        return float(np.trapezoid(constant * current, angle) / np.pi)

    def current(self, speed: float) -> tuple[Array, Array]:
        """Angles of the half cycle and the current there, A."""
        angle = np.linspace(0.0, np.pi, ANGLES)
        left = np.sqrt(2.0) * self.voltage * np.sin(angle) - self.motor.brush_drop
        grid = np.max(left) / self.resistance * np.linspace(0.0, 1.0, CURRENTS) ** 2
        asked = self.resistance * grid + speed * self.motor.curve.at(grid, self.motor.remanence)
        return angle, np.interp(left, asked, grid, left=0.0)

    def speed(self, load: Load, *, friction: float = 1.0) -> float:
        """The steady speed, rad/s, under ``load`` and ``friction`` times the friction; 0 where it cannot start."""
        def surplus(omega: float) -> float:
            return self.torque(omega) - friction * float(self.motor.friction(omega)) - float(load.at_motor(omega))

        if surplus(0.0) <= 0:
            return 0.0
        return float(brentq(surplus, 0.0, FASTEST, xtol=1e-3)) if surplus(FASTEST) < 0 else FASTEST


@dataclass(frozen=True, kw_only=True)
class SeparateDirect:
    """An armature with its field fed apart on direct voltage: V, ohms of the whole loop, constant flux (V·s).

    ``rectified``: the voltage is that of a bridge behind a resistance (V r.m.s.), not smooth.
    """

    motor: MotorModel
    voltage: float
    resistance: float
    flux: float
    rectified: bool = False

    def current(self, speed: float) -> float:
        """Mean current, A, at ``speed`` (rad/s); never below zero."""
        opposing = self.motor.brush_drop + self.flux * speed
        if not self.rectified:
            return max(self.voltage - opposing, 0.0) / self.resistance
        angle = np.linspace(0.0, np.pi, ANGLES)
        left = np.maximum(np.sqrt(2.0) * self.voltage * np.sin(angle) - opposing, 0.0)
        return float(np.trapezoid(left, angle) / np.pi) / self.resistance

    def torque(self, speed: float) -> float:
        """Mean torque, N·m."""
        return self.flux * self.current(speed)

    def speed(self, load: Load, *, friction: float = 1.0) -> float:
        """The steady speed, rad/s, under ``load`` and ``friction`` times the friction; 0 where it cannot start."""
        def surplus(omega: float) -> float:
            return self.torque(omega) - friction * float(self.motor.friction(omega)) - float(load.at_motor(omega))

        if surplus(0.0) <= 0:
            return 0.0
        return float(brentq(surplus, 0.0, FASTEST, xtol=1e-3)) if surplus(FASTEST) < 0 else FASTEST
