"""The motor as a march through time sees it: flux and inductance against current in a table, torque against motion.

All is plain floats: a march asks thousands of times a second of motor time, one value at once.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from designer.motor.flux import Winding
from designer.motor.model import IRON_HYSTERESIS_EXPONENT, Load, MotorModel
from designer.results import Array

CELLS = 8192        # of a table up to its end: straight pieces, checked against the curve in the tests

#: of one cell, over linkage: current and its slope, g and its slope, hysteresis torque, eddy torque per rad/s
PathRow = tuple[float, float, float, float, float, float]
#: of one cell, over the field current: k and its slope, inductance and its slope, hysteresis torque, eddy torque
FieldRow = tuple[float, float, float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class Drag:
    """What the motor's torque works against: kg·m² at its shaft, and a torque a0 + a1·ω + a2·ω² (N·m).

    ``inertia`` infinite holds the speed.
    """

    inertia: float
    constant: float = 0.0
    linear: float = 0.0
    square: float = 0.0

    @classmethod
    def of(cls, motor: MotorModel, load: Load, *, inertia: float, friction: float = 1.0, share: float = 1.0) -> Drag:
        """Friction and load referred to the motor, each with its factor; ``inertia`` (kg·m²) is all of it."""
        turn, pull = 1.0 / load.ratio, share / (load.ratio * load.efficiency)
        return cls(
            inertia=inertia,
            constant=friction * motor.friction_torque + pull * load.torque,
            linear=friction * motor.viscous_friction + pull * load.viscous * turn,
            square=friction * motor.windage + pull * load.square * turn * turn)

    def torque(self, speed: float) -> float:
        """Give the torque against the motion at ``speed`` (rad/s), N·m."""
        return self.constant + speed * (self.linear + speed * self.square)

    def acceleration(self, torque: float, speed: float) -> float:
        """Give dω/dt, rad/s², under an electromagnetic ``torque``; at rest what opposes only holds."""
        left = torque - self.constant - speed * (self.linear + speed * self.square)
        return 0.0 if speed <= 0.0 and left < 0.0 else left / self.inertia


@dataclass(frozen=True, kw_only=True)
class PathTable:
    """Current, g (V·s) and iron torque of a current path against its flux linkage, in straight pieces.

    ``per_cell`` is cells per V·s, ``currents`` are those at the cells' left ends; ``steepest`` bounds g′/L, ``least``
    the inductance. Marched on linkage the curve's kinks cost less of a step's accuracy than on the current.
    """

    per_cell: float
    rows: tuple[PathRow, ...]
    currents: tuple[float, ...]
    steepest: float
    least: float

    @classmethod
    def of(cls, motor: MotorModel, winding: Winding, *, reaching: float, remanence: float) -> PathTable:
        """Tabulate up to the current ``reaching`` (A); ``remanence`` (V·s) counts in the iron torque alone."""
        return _path(motor, winding, 1.25 ** math.ceil(math.log(max(reaching, 1e-6), 1.25)), remanence)

    @classmethod
    def straight(cls, inductance: float) -> PathTable:
        """A path whose flux does not follow its current: ``inductance`` in H."""
        return cls(per_cell=0.0, rows=((0.0, 1.0 / inductance, 0.0, 0.0, 0.0, 0.0),), currents=(0.0,), steepest=0.0,
                   least=inductance)

    def current(self, linkage: float) -> float:
        """Give the current (A) at a linkage (V·s)."""
        row = self.rows[int(linkage * self.per_cell)]
        return row[0] + row[1] * linkage

    def linkage(self, current: float) -> float:
        """Give the linkage (V·s) at a current (A, zero or more)."""
        row = self.rows[max(bisect_right(self.currents, current) - 1, 0)]
        return (current - row[0]) / row[1]


@dataclass(frozen=True, kw_only=True)
class FieldTable:
    """k (V·s, without remanence), inductance (H) and iron torque against a separate field's current.

    ``per_cell`` is cells per ampere.
    """

    per_cell: float
    rows: tuple[FieldRow, ...]

    @classmethod
    def of(cls, motor: MotorModel, winding: Winding, *, reaching: float, remanence: float) -> FieldTable:
        """Tabulate up to the current ``reaching`` (A); ``winding`` is the field's, which may follow no curve."""
        return _field(motor, winding, 1.25 ** math.ceil(math.log(max(reaching, 1e-6), 1.25)), remanence)

    def at(self, current: float) -> FieldRow:
        """Give the row of the cell that holds ``current`` (A)."""
        return self.rows[int(current * self.per_cell)]


def _pieces(x: Array, *columns: Array) -> list[Array]:
    """Value at zero and slope of every straight piece of each column over ``x``."""
    found: list[Array] = []
    for y in columns:
        slope = np.diff(y) / np.diff(x)
        found += [y[:-1] - slope * x[:-1], slope]
    return found


def _iron(motor: MotorModel, current: Array, remanence: float) -> tuple[Array, Array]:
    """Hysteresis torque (N·m) and eddy torque per rad/s in the middle of every cell."""
    flux = np.abs(motor.curve.odd(0.5 * (current[1:] + current[:-1])) + remanence) / motor.flux_reference
    return motor.hysteresis_torque * flux**IRON_HYSTERESIS_EXPONENT, motor.eddy_torque_coefficient * flux**2


@lru_cache(maxsize=32)
def _path(motor: MotorModel, winding: Winding, top: float, remanence: float) -> PathTable:
    linkage = np.linspace(0.0, float(winding.linkage(top)), CELLS + 1)
    current = winding.current(linkage)
    odd, slope = motor.curve.odd_and_slope(current)
    inductance = winding.inductance(current)
    columns = (*_pieces(linkage, current, odd), *_iron(motor, current, remanence))
    rows = tuple(zip(*(column.tolist() for column in columns), strict=True))
    return PathTable(per_cell=CELLS / float(linkage[-1]), rows=rows, currents=tuple(current[:-1].tolist()),
                     steepest=float(np.max(slope / inductance)), least=float(np.min(inductance)))


@lru_cache(maxsize=32)
def _field(motor: MotorModel, winding: Winding, top: float, remanence: float) -> FieldTable:
    current = np.linspace(0.0, top, CELLS + 1)
    columns = (*_pieces(current, motor.curve.odd(current), winding.inductance(current)),
               *_iron(motor, current, remanence))
    rows = tuple(zip(*(column.tolist() for column in columns), strict=True))
    return FieldTable(per_cell=CELLS / top, rows=rows)
