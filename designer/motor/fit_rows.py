"""What each kind of reading says of the motor: equations that are zero for the true values.

A block holds the readings of one kind. Its equations are evaluated on all of them at once, with the slopes against
parameters and against what was measured, so that the errors of every quantity of a row count (effective variance).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from designer.motor.fit_curve import Shape
from designer.motor.fit_errors import Errors
from designer.results import Array

HYSTERESIS_EXPONENT = 1.6   # common practice, no source
ROUNDING = 1e-9
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)


@dataclass(frozen=True, kw_only=True)
class Layout:
    """The parameters of a fit in order, and the shape of its flux curve."""

    names: tuple[str, ...]
    shape: Shape
    flux_reference: float = 1.0     # V·s, of the iron torques

    def has(self, name: str) -> bool:
        """True where ``name`` is a parameter."""
        return name in self.names

    def place(self, name: str) -> int:
        """Give the column of a parameter."""
        return self.names.index(name)

    def curve(self, values: Array, current: Array) -> tuple[Array, Array, Array]:
        """Give k, dk/di and dk/dparameter (a column for every parameter) at currents ≥ 0."""
        first = self.place("remanence")
        inside = slice(first, first + len(self.shape.names))
        k, slope, own = self.shape.at(values[inside], current)
        columns = np.zeros((len(current), len(self.names)))
        columns[:, inside] = own
        return k, slope, columns

    def friction(self, values: Array, speed: Array, k: Array) -> tuple[Array, Array, Array, Array]:
        """Give the torque of friction and iron (N·m), its slopes against speed, k and each parameter."""
        columns = np.zeros((len(speed), len(self.names)))
        for name, part in (("friction_torque", np.ones_like(speed)), ("viscous_friction", speed),
                           ("windage", speed**2)):
            columns[:, self.place(name)] = part
        along = values[self.place("viscous_friction")] + 2 * values[self.place("windage")] * speed
        across = np.zeros_like(speed)
        if self.has("hysteresis_torque"):
            share = np.maximum(k, 0.0) / self.flux_reference
            columns[:, self.place("hysteresis_torque")] = share**HYSTERESIS_EXPONENT
            columns[:, self.place("eddy_torque_coefficient")] = speed * share**2
            held, eddy = values[self.place("hysteresis_torque")], values[self.place("eddy_torque_coefficient")]
            along = along + eddy * share**2
            across = (HYSTERESIS_EXPONENT * held * share**(HYSTERESIS_EXPONENT - 1)
                      + 2 * eddy * speed * share) / self.flux_reference
        return columns @ values, along, across, columns


class Said(NamedTuple):
    """Equations of a block: value (reading, equation), slope against parameters, and against the measured."""

    value: Array
    parameters: Array
    measured: Array


Equations = Callable[[Layout, Array, Array], Said]


@dataclass(frozen=True, kw_only=True)
class Block:
    """Readings of one kind: places in the file, quantities in order, values, errors, equations and what they need.

    ``needs`` are the parameters of the equations, those of flux curve and friction left out.
    """

    kind: str
    places: tuple[int, ...]
    quantities: tuple[str, ...]
    measured: Array
    errors: Errors
    equations: Equations
    needs: tuple[str, ...]

    def covariance(self, said: Said) -> Array:
        """Give the covariance of each reading's equations, from the errors of all that was measured in it."""
        sigma = self.errors.at(self.measured)
        scaled = said.measured * sigma[:, None, :]
        spread = scaled @ scaled.transpose(0, 2, 1)
        # two equations that share one gross error stay two equations to rounding
        return np.asarray(spread * (1.0 + ROUNDING * np.eye(spread.shape[1])))

    def keeping(self, kept: Array) -> Block:
        """Give the block with the readings where ``kept`` is true alone."""
        return replace(self, places=tuple(p for p, k in zip(self.places, kept, strict=True) if k),
                       measured=self.measured[kept],
                       errors=Errors(relative=self.errors.relative[kept], absolute=self.errors.absolute[kept]))


def _empty(layout: Layout, rows: int, equations: int, quantities: int) -> Said:
    return Said(value=np.zeros((rows, equations)), parameters=np.zeros((rows, equations, len(layout.names))),
                measured=np.zeros((rows, equations, quantities)))


def ohms(needs: tuple[str, ...]) -> Equations:
    """V = R·I of a winding at rest, with whatever drops beside (brushes, their film); measured: V, I."""
    loop = tuple(name for name in needs if name.endswith("resistance"))
    drops = tuple(name for name in needs if name not in loop)

    def equations(layout: Layout, values: Array, measured: Array) -> Said:
        volts, amps = measured.T
        said = _empty(layout, len(volts), 1, 2)
        resistance = sum(values[layout.place(name)] for name in loop)
        said.value[:, 0] = volts - resistance * amps - sum(values[layout.place(name)] for name in drops)
        for name in loop:
            said.parameters[:, 0, layout.place(name)] = -amps
        for name in drops:
            said.parameters[:, 0, layout.place(name)] = -1.0
        said.measured[:, 0, 0] = 1.0
        said.measured[:, 0, 1] = -resistance
        return said
    return equations


def running(*, series: bool, tap: bool = False) -> Equations:
    """Voltage law and torque balance of a turning motor without load.

    Measured: field current, armature voltage, armature current, speed; in series V, I, speed.
    """
    def equations(layout: Layout, values: Array, measured: Array) -> Said:
        volts, amps, speed = measured[:, -3:].T
        said = _empty(layout, len(volts), 2, measured.shape[1])
        turns = values[layout.place("tap_ratio")] if tap else 1.0
        field = amps if series else measured[:, 0]
        k, slope, columns = layout.curve(values, turns * field)
        if tap:
            columns[:, layout.place("tap_ratio")] = slope * field
        slope = slope * turns
        friction, along, across, own = layout.friction(values, speed, k)
        loop = ("armature_resistance", "field_resistance") if series else ("armature_resistance",)
        resistance = sum(values[layout.place(name)] for name in loop)
        said.value[:, 0] = volts - values[layout.place("brush_drop")] - resistance * amps - k * speed
        said.value[:, 1] = k * amps - friction
        said.parameters[:, 0] = -columns * speed[:, None]
        said.parameters[:, 0, layout.place("brush_drop")] -= 1.0
        for name in loop:
            said.parameters[:, 0, layout.place(name)] -= amps
        said.parameters[:, 1] = columns * (amps - across)[:, None] - own
        first = 1 if series else 0
        said.measured[:, 0, -3], said.measured[:, 0, -2], said.measured[:, 0, -1] = 1.0, -resistance, -k
        said.measured[:, 1, -2], said.measured[:, 1, -1] = k, -along
        said.measured[:, 0, first] -= slope * speed
        said.measured[:, 1, first] += slope * (amps - across)
        return said
    return equations


def stalled(layout: Layout, values: Array, measured: Array) -> Said:
    """k·I = torque with the rotor held; measured: field current, current, torque."""
    field, amps, torque = measured.T
    said = _empty(layout, len(amps), 1, 3)
    k, slope, columns = layout.curve(values, field)
    said.value[:, 0] = k * amps - torque
    said.parameters[:, 0] = columns * amps[:, None]
    said.measured[:, 0] = np.stack((slope * amps, k, -np.ones_like(k)), axis=-1)
    return said


def coasting(start: str) -> Equations:
    """t = J·∫dω/T from the speed read up to the start's; measured: field current, time, speed."""
    def equations(layout: Layout, values: Array, measured: Array) -> Said:
        field, time, speed = measured.T
        said = _empty(layout, len(time), 1, 3)
        top, inertia = values[layout.place(start)], values[layout.place("inertia")]
        half = (top - speed) / 2
        grid = (speed + half)[:, None] + half[:, None] * _NODES
        k, _, _ = layout.curve(values, field)
        flat = np.repeat(k, grid.shape[1])
        torque, _, _, own = layout.friction(values, grid.ravel(), flat)
        torque = torque.reshape(grid.shape)
        taken = half * (_WEIGHTS / torque).sum(axis=1)
        said.value[:, 0] = time - inertia * taken
        weighed = (half[:, None] * _WEIGHTS / torque**2)[:, :, None] * own.reshape(*grid.shape, -1)
        said.parameters[:, 0] = inertia * weighed.sum(axis=1)
        said.parameters[:, 0, layout.place("inertia")] = -taken
        ends = layout.friction(values, np.append(speed, top), np.append(k, k[:1]))[0]
        said.parameters[:, 0, layout.place(start)] = -inertia / ends[-1]
        said.measured[:, 0, 1] = 1.0
        said.measured[:, 0, 2] = inertia / ends[:-1]
        return said
    return equations
