"""Readings that the fit did not use: predicted, compared, graded."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from scipy.optimize import brentq

from designer.circuits import circuit
from designer.circuits.balance import find_speed
from designer.circuits.case import Points
from designer.motor.direct import series_on_direct
from designer.motor.model import Load, MotorModel, motor_model
from designer.project.drive import Circuit
from designer.project.machine import Load as FileLoad
from designer.project.machine import Target
from designer.project.model import Project
from designer.project.supply import Supply

#: grade -> how far speed, current and torque may be off, as shares; needs.md's workflow fails a model above the second
GRADES: Mapping[str, Mapping[str, float]] = {
    "good": {"speed": 0.05, "current": 0.07, "torque": 0.10},
    "usable": {"speed": 0.08, "current": 0.10, "torque": 0.15},
}
NOT_GRADED = "not graded"
ENOUGH = 1e-4       # of r.m.s. current and torque: the readings are no better
FASTEST = 2e4       # rad/s


@dataclass(frozen=True, kw_only=True)
class HeldOut:
    """One reading held out: its place, what was predicted and what was read, by quantity (SI)."""

    place: int
    kind: str
    predicted: Mapping[str, float]
    measured: Mapping[str, float]

    @property
    def off(self) -> dict[str, float]:
        """How far each prediction is off, as a share of the reading."""
        return {name: self.predicted[name] / self.measured[name] - 1 for name in self.predicted if self.measured[name]}


def hold_out(project: Project) -> tuple[HeldOut, ...]:
    """Predict every reading with ``hold_out = true`` that the motor's constants suffice for."""
    return tuple(_each(project))


def grade(found: tuple[HeldOut, ...]) -> str:
    """Give ``good``, ``usable`` or ``poor`` by the worst prediction; ``not graded`` without any."""
    if not found:
        return NOT_GRADED
    for name, limits in GRADES.items():
        if all(abs(share) <= limits[quantity.removeprefix("armature_")] for one in found
               for quantity, share in one.off.items()):
            return name
    return "poor"


def _each(project: Project) -> Iterator[HeldOut]:
    for place, reading in enumerate(project.readings):
        if not reading.hold_out:
            continue
        found = _predicted(project, reading)
        if found is not None:
            yield HeldOut(place=place, kind=reading.kind, predicted=found,
                          measured={name: float(getattr(reading, name)) for name in found})


def _predicted(project: Project, reading: Any) -> dict[str, float] | None:
    motor = project.motor
    if motor.flux_curve is None or motor.armature_resistance is None or motor.friction_torque is None:
        return None
    if reading.kind == "series-run" and motor.field_resistance is not None:
        if reading.supply == "mains":
            return _on_mains(project, reading)
        return on_direct(project, reading.voltage)
    if reading.kind == "separate-excitation" and not reading.tap:
        return separate(_direct(project), field=reading.field_current, volts=reading.armature_voltage)
    if reading.kind == "locked-rotor":
        field = reading.current if reading.field_current is None else reading.field_current
        return {"torque": float(_direct(project).curve.at(field)) * reading.current}
    return None


def on_direct(project: Project, volts: float) -> dict[str, float]:
    """Speed (rad/s) and current (A) of both windings in series without load, on direct voltage."""
    loop = float(project.motor.armature_resistance or 0.0) + float(project.motor.field_resistance or 0.0)
    point = series_on_direct(_direct(project), Load(), voltage=volts, resistance=loop)
    return {"speed": point.speed, "current": point.current}


def separate(model: MotorModel, *, field: float, volts: float) -> dict[str, float]:
    """Speed (rad/s) and current (A) of the motor without load, fed apart, on ``volts`` at field current ``field``."""
    k = float(model.curve.at(field, "keep"))

    def amps(speed: float) -> float:
        return (volts - model.brush_drop - k * speed) / model.armature_resistance

    def surplus(speed: float) -> float:
        return k * amps(speed) - float(model.friction(speed))

    if surplus(0.0) <= 0:
        return {"speed": 0.0, "armature_current": max(amps(0.0), 0.0)}
    speed = float(brentq(surplus, 0.0, FASTEST)) if surplus(FASTEST) < 0 else math.inf
    return {"speed": speed, "armature_current": amps(speed)}


def _direct(project: Project) -> MotorModel:
    motor = project.motor
    known = motor.model_copy(update={
        "armature_inductance": motor.armature_inductance or 1e-3, "field_inductance": motor.field_inductance or 1e-3,
        "field_resistance": motor.field_resistance or 1.0, "winding_temperature": motor.winding_temperature or 20.0})
    return motor_model(known, alternating=False)


def _on_mains(project: Project, reading: Any) -> dict[str, float] | None:
    """The motor on the sine itself: a triac that is always on, ideal source."""
    from designer.studies.solve import fixed_of  # solve tells the grade of the readings that it rests on

    motor = project.motor
    if motor.armature_inductance is None or motor.field_inductance is None or not reading.frequency:
        return None
    supply = Supply(kind="mains", voltage=reading.voltage, frequency=reading.frequency, resistance=0.0, inductance=0.0)
    alone = motor.model_copy(update={
        "running_temperature": None, "running_temperature_armature": None, "running_temperature_field": None,
        "winding_temperature": 20.0 if motor.winding_temperature is None else motor.winding_temperature})
    bench = Project(supply=supply, load=FileLoad(torque=0.0), target=Target(),
                    circuit=Circuit(kind="triac-series", firing_angle=0.0))
    kind, shared = circuit("triac-series"), replace(fixed_of(bench.model_copy(update={
        "motor": alone, "readings": project.readings})), tolerance=ENOUGH)
    always = Points.of(shared, {
        "voltage": reading.voltage, "frequency": reading.frequency, "setting": 0.0, "speed": 0.0,
        "armature_resistance": shared.motor.armature_resistance, "field_resistance": shared.motor.field_resistance})
    always = always.at(speed=find_speed(kind, shared, always))
    return {"speed": float(always.speed[0]), "current": float(kind.solve(shared, always).line_square[0]) ** 0.5}
