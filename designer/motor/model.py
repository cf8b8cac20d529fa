"""The motor as numbers: curve, resistances at temperature, losses, and the load on its shaft."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from designer.equations.motor import COPPER_RESISTANCE
from designer.errors import InputError
from designer.motor.flux import FluxCurve, Remanence, Winding
from designer.results import Array

KELVIN = 273.15
LEAKAGE_SHARE = 0.1        # of the unsaturated field inductance; common practice, no source
SERIES_DISAGREES = 0.10    # more than this between a series reading and the sum is brush shift
NOT_TOLD = 20.0            # °C the resistances count as read at where the file does not say, and asks for no other
IRON_HYSTERESIS_EXPONENT = 1.6  # common practice, no source


@dataclass(frozen=True, kw_only=True)
class MotorModel:
    """A commutator motor, SI, resistances as read at ``winding_temperature`` (°C)."""

    curve: FluxCurve
    armature_resistance: float
    field_resistance: float
    armature_inductance: float
    field_inductance: float
    field_leakage: float
    saturating: bool
    remanence: Remanence
    brush_drop: float
    winding_temperature: float
    friction_torque: float
    viscous_friction: float
    windage: float
    inertia: float | None
    hysteresis_torque: float = 0.0
    eddy_torque_coefficient: float = 0.0
    flux_reference: float = 1.0
    series_inductance: float | None = None   # unsaturated, from a reading of both windings in series

    def series_winding(self, extra: float = 0.0) -> Winding:
        """Armature and field in one path, with ``extra`` henries (source, leads) in series.

        A series reading, where there is one, replaces the constant part (the brush shift is in it).
        """
        main = self.field_inductance - self.field_leakage if self.saturating else 0.0
        total = self.armature_inductance + self.field_inductance
        if self.series_inductance is not None:
            total = self.series_inductance
        return Winding(curve=self.curve, constant=total - main + extra, main=main)

    def resistances(self, armature: Array | float, field: Array | float) -> tuple[Array, Array]:
        """Give armature and field resistance, ohm, at the two winding temperatures in °C."""
        reference = self.winding_temperature + KELVIN
        return (
            np.asarray(COPPER_RESISTANCE(R_ref=self.armature_resistance, T=armature + KELVIN, T_ref=reference)),
            np.asarray(COPPER_RESISTANCE(R_ref=self.field_resistance, T=field + KELVIN, T_ref=reference)),
        )

    def friction(self, speed: Array | float) -> Array:
        """Give the friction torque, N·m, at ``speed`` (rad/s, ≥ 0); at rest up to this much holds."""
        w = np.asarray(speed, float)
        return np.asarray(self.friction_torque + self.viscous_friction * w + self.windage * w * w)

    @property
    def brush_shift(self) -> float | None:
        """By what share a reading of both windings in series departs from the sum of the two, where that is much.

        More than 10 % means brushes off the neutral; None where they agree or no such reading exists.
        """
        if self.series_inductance is None:
            return None
        departs = self.series_inductance / (self.armature_inductance + self.field_inductance) - 1
        return departs if abs(departs) > SERIES_DISAGREES else None

    def remanent(self, on: Array) -> Array:
        """Give the remanent part of k, V·s, where ``on`` is the current's sign (0 while none flows)."""
        if self.remanence == "keep":
            return np.full(np.shape(on), self.curve.remanence)
        return np.asarray(on * (0.0 if self.remanence == "drop" else self.curve.remanence))

    @property
    def has_iron_loss(self) -> bool:
        """True where the readings told iron loss apart from friction."""
        return self.hysteresis_torque > 0.0 or self.eddy_torque_coefficient > 0.0

    def iron_torque(self, flux: Array | float, speed: Array | float) -> Array:
        """Give the torque of the iron loss, N·m, at a flux k (V·s) that stands still and a speed, rad/s.

        Nothing unless the readings tell it apart from friction; the hysteresis part only while the rotor turns.
        """
        w = np.asarray(speed, float)
        if not self.has_iron_loss:
            return np.zeros(np.broadcast_shapes(np.shape(flux), w.shape))
        part = np.abs(np.asarray(flux, float)) / self.flux_reference
        return np.asarray((w > 0) * self.hysteresis_torque * part**IRON_HYSTERESIS_EXPONENT
                          + self.eddy_torque_coefficient * w * part**2)


@dataclass(frozen=True, kw_only=True)
class Load:
    """What the driven machine asks, at its own shaft, and how it hangs on the motor."""

    torque: float = 0.0
    viscous: float = 0.0
    square: float = 0.0
    inertia: float = 0.0
    ratio: float = 1.0
    efficiency: float = 1.0

    def at_output(self, output_speed: Array | float) -> Array:
        """Give the load torque, N·m, at the output shaft's speed, rad/s."""
        w = np.asarray(output_speed, float)
        return np.asarray(self.torque + self.viscous * w + self.square * w * w)

    def at_motor(self, speed: Array | float) -> Array:
        """Give the load referred to the motor's shaft, N·m, at the motor's speed, rad/s."""
        return np.asarray(self.at_output(np.asarray(speed) / self.ratio) / (self.ratio * self.efficiency))


def motor_model(motor: Any, *, alternating: bool, series_inductance: float | None = None) -> MotorModel:
    """Build the model from ``project.motor``; ``alternating`` field current drops the remanence.

    Defaults are those of the project's definitions: leakage a tenth of the field inductance, saturation where
    the curve has three points or more. Raises ``InputError`` where the inductance is to follow a curve
    that does not rise at first.
    """
    one = motor.speed_constant_at
    points = tuple(motor.flux_curve) if motor.flux_curve else ((one.field_current, one.value),)
    saturating = motor.saturating_inductance
    saturating = len(points) >= 3 if saturating is None else saturating
    inductance = motor.field_inductance
    if inductance is None:      # a field fed apart, whose current stands still: nothing asks for it
        inductance, saturating = 0.0, False
    curve = FluxCurve.from_points(points)
    if saturating and not curve.initial_slope > 0:
        raise InputError(
            "motor.flux_curve", "no rise up to the first reading above 0 A", "a curve that rises from 0 A on",
            "The inductance follows the curve's slope: read it again at small field currents, or say "
            "saturating_inductance = false.")
    leakage = motor.field_leakage_inductance
    return MotorModel(
        curve=curve,
        armature_resistance=motor.armature_resistance,
        field_resistance=motor.field_resistance,
        armature_inductance=motor.armature_inductance,
        field_inductance=inductance,
        field_leakage=LEAKAGE_SHARE * inductance if leakage is None else leakage,
        saturating=saturating,
        remanence=motor.remanence or ("drop" if alternating else "keep"),
        brush_drop=motor.brush_drop,
        winding_temperature=NOT_TOLD if motor.winding_temperature is None else motor.winding_temperature,
        friction_torque=motor.friction_torque or 0.0,
        viscous_friction=motor.viscous_friction or 0.0,
        windage=motor.windage or 0.0,
        inertia=motor.inertia,
        hysteresis_torque=motor.hysteresis_torque or 0.0,
        eddy_torque_coefficient=motor.eddy_torque_coefficient or 0.0,
        flux_reference=motor.flux_reference or 1.0,
        series_inductance=series_inductance,
    )


def load_model(load: Any, transmission: Any) -> Load:
    """Build the load from ``project.load`` and ``project.transmission`` (either may be absent)."""
    parts: Mapping[str, float] = {
        name: getattr(load, name, None) or 0.0 for name in ("torque", "viscous", "square", "inertia")
    }
    return Load(
        torque=parts["torque"],
        viscous=parts["viscous"],
        square=parts["square"],
        inertia=parts["inertia"],
        ratio=getattr(transmission, "ratio", None) or 1.0,
        efficiency=getattr(transmission, "efficiency", None) or 1.0,
    )
