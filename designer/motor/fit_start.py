"""Where the joint fit starts: given the saturation everything else is a line, so the saturation is scanned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from designer.motor.fit_curve import Law, Shape, Table
from designer.motor.fit_errors import priors
from designer.results import Array

if TYPE_CHECKING:
    from designer.motor.fit_bench import Bench

BEND = np.concatenate(([0.0], np.geomspace(0.02, 20.0, 40)))   # saturation times the largest current
FAST = 1000.0       # rad/s, at which the parts of the friction are compared before any reading


@dataclass(frozen=True, kw_only=True)
class Start:
    """First guesses by name (SI), and the scales of what is known: V·s, A, N·m."""

    values: dict[str, float]
    flux: float = 1.0
    current: float = 1.0
    torque: float = 1.0

    @classmethod
    def of(cls, bench: Bench, shape: Shape) -> Start:
        """Guess from the readings of a bench."""
        values = _windings(bench)
        rows = _turning(bench, values)
        if not len(rows):
            return cls(values=values)
        current, k, amps, speed = rows.T
        values |= _curve(shape, current, k)
        line = 1.0 + sum(priors()[name].value * (speed / FAST) ** power
                         for name, power in (("viscous", 1), ("windage", 2)))
        torque = max(float(np.median(k * amps / line)), 1e-9)
        values |= {"friction_torque": torque, "viscous_friction": priors()["viscous"].value * torque / FAST,
                   "windage": priors()["windage"].value * torque / FAST**2}
        top = int(np.argmax(current))
        return cls(values=values | _run_down(bench, values), flux=max(float(k[top]), 1e-9),
                   current=max(float(current[top]), 1e-9), torque=torque)


def _windings(bench: Bench) -> dict[str, float]:
    """Resistances as mean of V/I, the armature's as the slope."""
    found: dict[str, float] = {"brush_drop": priors()["brush-drop"].value, "tap_ratio": priors()["tap-ratio"].value}
    for winding, name in (("field", "field_resistance"), ("field-tap", "field_tap_resistance")):
        pairs = [(r.voltage, r.current) for _, r in bench.of("standstill-dc", {"winding": winding}) if r.current > 0]
        tap = winding == "field-tap"
        pairs += [(r.field_voltage, r.field_current) for _, r in bench.of("separate-excitation", {"tap": tap})
                  if r.field_voltage is not None and r.field_current > 0]
        if pairs:
            found[name] = float(np.median([v / i for v, i in pairs]))
    pairs = [(r.voltage, r.current) for _, r in bench.of("standstill-dc", {"winding": "armature"}) if r.current > 0]
    if pairs:
        volts, amps = np.array(pairs).T
        found["armature_resistance"] = max(float(np.median((volts - found["brush_drop"]) / amps)), 1e-3)
    elif "armature_resistance" in bench.given:
        found["armature_resistance"] = bench.given["armature_resistance"]
    if "field_resistance" not in found:
        found["field_resistance"] = bench.given.get("field_resistance", 1.0)
    found.setdefault("armature_resistance", 1.0)
    return found


def _turning(bench: Bench, values: dict[str, float]) -> Array:
    """Field current (of the whole field's turns), speed constant, armature current and speed of each turning row."""
    rows = []

    def row(reading: Any, *, field: float, volts: float, amps: float, ohms: float) -> None:
        drop = values["brush_drop"] + ohms * amps
        if reading.speed > 0:
            rows.append((field, max(volts - drop, 0.05 * volts) / reading.speed, amps, reading.speed))

    for _, r in bench.of("separate-excitation"):
        row(r, field=r.field_current * (values["tap_ratio"] if r.tap else 1.0), volts=r.armature_voltage,
            amps=r.armature_current, ohms=values["armature_resistance"])
    for _, r in bench.of("series-run", {"supply": "dc"}):
        row(r, field=r.current, volts=r.voltage, amps=r.current,
            ohms=values["armature_resistance"] + values["field_resistance"])
    return np.array(rows, float)


def _curve(shape: Shape, current: Array, k: Array) -> dict[str, float]:
    """The straight part by least absolute deviations at each saturation; the best of them, or the nodes' means."""
    if isinstance(shape, Table):
        x = np.array(shape.nodes)
        near = [np.median(k[np.argsort(np.abs(current - node))[:2]]) for node in x]
        rising = np.maximum.accumulate(near)
        return {"remanence": 0.0, **{f"node_{n}": float(v) for n, v in enumerate(rising)}}
    assert isinstance(shape, Law)
    top = float(np.max(current)) or 1.0
    remanence = priors()["remanence"].value * float(k[np.argmax(current)])
    read = current > 0
    if not read.any():
        return {"remanence": float(np.median(k)), "slope": 0.0, "saturation": 0.0}
    bends = BEND[:, None] / top
    reach = current[read] / (1 + bends * current[read])
    slopes = np.maximum(np.median((k[read] - remanence) / reach, axis=1), 1e-12)
    away = np.abs(np.log(np.maximum(k[read], 1e-12) / (remanence + slopes[:, None] * reach)))
    best = int(np.argmin(np.minimum(away, 1.0).sum(axis=1)))
    return {"remanence": remanence, "slope": float(slopes[best]), "saturation": float(bends[best, 0])}


def _run_down(bench: Bench, values: dict[str, float]) -> dict[str, float]:
    """Inertia from the mean torque of each run-down, and the speed at time 0."""
    found: dict[str, float] = {}
    from designer.motor.fit_bench import run_downs

    for number, current in enumerate(run_downs(bench)):
        rows = [(r.time, r.speed) for _, r in bench.of("run-down") if (r.field_current or 0.0) == current]
        time, speed = np.array(sorted(rows)).T
        slope = (speed[0] - speed[-1]) / max(time[-1] - time[0], 1e-9)
        mean = float(np.mean(speed))
        torque = values["friction_torque"] + values["viscous_friction"] * mean + values["windage"] * mean**2
        found[f"start_{number}"] = float(speed[0] + max(slope, 0.0) * time[0])
        found["inertia"] = torque / max(slope, 1e-9)
    return found
