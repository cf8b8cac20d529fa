"""How warm the windings get: thermal resistance against speed, steady temperatures, thermal runaway."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from designer.equations.motor import WINDING_CONDUCTANCE, WINDING_TEMPERATURE
from designer.motor.model import KELVIN, MotorModel
from designer.results import Array

SETTLED = 0.01          # K: both windings move by less
HIGHEST = 400.0         # °C: copper's enamel and solder are long gone; above it the search ends
MOST_ROUNDS = 400


@dataclass(frozen=True, kw_only=True)
class WindingPath:
    """Heat path of one winding to ambient: W/K at standstill, and at ``reference_speed`` (rad/s)."""

    standstill: float
    running: float
    reference_speed: float

    def conductance(self, speed: Array | float) -> Array:
        """Give W/K at the motor's speed, rad/s, either way round; above the reference speed no more than there."""
        counted = np.minimum(np.abs(np.asarray(speed, float)), self.reference_speed)
        return np.asarray(WINDING_CONDUCTANCE(
            G_0=self.standstill, G_run=self.running, n=counted, n_ref=self.reference_speed))


def winding_path(motor: Any, winding: str) -> WindingPath | None:
    """Give the heat path of ``"armature"`` or ``"field"`` from ``project.motor``; None where not read.

    Without a running value the standstill one holds at every speed, on the safe side.
    """
    rest = getattr(motor, f"thermal_resistance_{winding}")
    if rest is None:
        return None
    running = getattr(motor, f"thermal_resistance_{winding}_running")
    reference = motor.thermal_resistance_speed
    if running is None or reference is None:
        return WindingPath(standstill=1 / rest, running=1 / rest, reference_speed=1.0)
    return WindingPath(standstill=1 / rest, running=1 / running, reference_speed=reference)


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """Where the heat goes: ambient (°C), both heat paths (armature, field), share of the rise by the duty."""

    ambient: float
    paths: tuple[WindingPath, WindingPath]
    duty: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Losses:
    """What heats the windings at given resistances: currents of each winding, iron loss, speed."""

    square: Array          # A², mean square of the armature current
    absolute: Array        # A, mean magnitude of the armature current
    field_square: Array    # A², mean square of the field current
    iron: Array            # W
    speed: Array           # rad/s


@dataclass(frozen=True, kw_only=True)
class Warm:
    """Steady winding temperatures, °C; infinite where the losses outrun the cooling."""

    armature: Array
    field: Array

    @property
    def runaway(self) -> Array:
        """True where no steady temperature exists."""
        return ~np.isfinite(self.armature + self.field)


def settle(
    motor: MotorModel, surroundings: Surroundings, losses: Callable[[Array, Array], Losses], count: int
) -> Warm:
    """Iterate T = ambient + losses·R_th for both windings of ``count`` points until they stand still.

    ``losses`` gives the losses at the resistances of armature and field (ohm, one entry a point each).
    """
    ambient, paths, duty = surroundings.ambient, surroundings.paths, surroundings.duty
    armature = field = np.full(count, ambient)
    for _ in range(MOST_ROUNDS):
        r_a, r_f = motor.resistances(armature, field)
        at = losses(r_a, r_f)
        heat = r_a * at.square + motor.brush_drop * at.absolute + at.iron, r_f * at.field_square
        after = [
            WINDING_TEMPERATURE(T_amb=ambient + KELVIN, P_w=duty * p, G_th=path.conductance(at.speed)) - KELVIN
            for p, path in zip(heat, paths, strict=True)
        ]
        moved = np.maximum(np.abs(after[0] - armature), np.abs(after[1] - field))
        armature, field = (np.minimum(t, HIGHEST + 100.0) for t in after)
        if np.all((moved < SETTLED) | (armature > HIGHEST) | (field > HIGHEST)):
            break
    gone = (armature > HIGHEST) | (field > HIGHEST) | (moved >= SETTLED)
    return Warm(armature=np.where(gone, np.inf, armature), field=np.where(gone, np.inf, field))
