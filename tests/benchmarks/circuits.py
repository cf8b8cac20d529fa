"""Every circuit's operating points a second: the array engine against an independent march of single points.

The marches are those of the tests (scipy ``solve_ivp``, no code shared with the package). They are built to be right,
not to be fast, and tighter than the package is asked for, so these ratios stand beside those of ``run``, ``chopper``
and ``rectifier``, whose references are driven to the same error. Each circuit's points differ in the control setting;
the worst difference between both sides on the sample stands beside the rates.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from designer.circuits import circuit as circuit_of
from designer.circuits.case import Feed, Fixed, Points
from designer.circuits.field_chopper import CIRCUIT as FIELD_CHOPPER
from designer.circuits.field_chopper import FieldPoints
from designer.circuits.field_path import FieldCell
from designer.motor.flux import FluxCurve, Winding
from designer.project import loads
from designer.studies.solve import fixed_of
from designer.waveforms.rectifier import Bridge, charged
from tests import chopper_pairs, pairs, reference, reference_chopper, reference_network
from tests.benchmarks import rectifier
from tests.circuits import test_chopper_field, test_chopper_series, test_dual_chopper, test_field_chopper
from tests.rectified_pairs import Job
from tests.reference_series import series_period
from tests.waveforms.test_rectified_point import STIFF, job

TOLERANCE = 1e-6
DEGREE = math.pi / 180
Array = np.ndarray


@dataclass(frozen=True, kw_only=True)
class Side:
    """One circuit: what it is compared by, its range of settings, many points at once, one point by march."""

    name: str
    figure: str
    settings: tuple[float, float]
    many: Callable[[Array], Array]
    one: Callable[[float], float]


def _motor_points(name: str, fixed: Fixed, given: Mapping[str, float], figure: str) -> Callable[[Array], Array]:
    """Many points of a circuit with a motor that differ in the setting."""
    circuit: Any = circuit_of(name)

    def many(settings: Array) -> Array:
        return np.asarray(getattr(circuit.solve(fixed, Points.of(fixed, {**given, "setting": settings})), figure))

    return many


def _triac() -> Side:
    case = replace(pairs.S1, speed=3000 * reference.RPM, R_s=0.4)
    shared = pairs.fixed(case, TOLERANCE)
    given = {"voltage": case.voltage, "frequency": case.frequency, "speed": case.speed}
    return Side(
        name="triac-series", figure="torque", settings=(95 * DEGREE, 140 * DEGREE),
        many=_motor_points("triac-series", shared, given, "torque"),
        one=lambda alpha: float(reference.steady(replace(case, alpha=alpha)).torque))


def _rectified(one: Job) -> Side:
    fixed = replace(fixed_of(loads(one.text, verb="solve")), tolerance=TOLERANCE)
    given = {"voltage": one.voltage, "frequency": one.frequency, "speed": float(one.speed or 0.0)}
    return Side(
        name=one.circuit, figure="torque", settings=(90 * DEGREE, 125 * DEGREE),
        many=_motor_points(one.circuit, fixed, given, "torque"),
        one=lambda alpha: reference_network.measured(replace(one, alpha=alpha))["electromagnetic_torque"])


def _rectifiers() -> tuple[Side, ...]:
    """Rectifiers on phase angle with overlap, their devices with drops, a freewheel diode across the motor."""
    four = {"bridge": "diodes-thyristor"}
    jobs = (job("thyristor-series", 160.0, 100.0, STIFF), job("thyristor-armature", 160.0, 100.0, STIFF),
            job("bridge-series", 160.0, 100.0, STIFF, **four), job("bridge-armature", 160.0, 100.0, STIFF, **four))
    return tuple(_rectified(one) for one in jobs)


def _chopper_series() -> Side:
    drive = test_chopper_series.BASE
    fixed = test_chopper_series.fixed_of(drive, tolerance=TOLERANCE)
    return Side(
        name="chopper-series", figure="torque", settings=(0.2, 0.9),
        many=_motor_points("chopper-series", fixed, {"voltage": drive.bus, "speed": drive.speed}, "torque"),
        one=lambda duty: float(series_period(replace(drive, duty=duty)).torque))


def _chopper_armature() -> Side:
    drive = replace(chopper_pairs.s4(rpm=1500.0, field_current=0.4), switch=chopper_pairs.SWITCH,
                    freewheel=chopper_pairs.FREEWHEEL)
    text = chopper_pairs.Job(drive=replace(drive, duty=0.5)).text
    fixed = replace(fixed_of(loads(text, verb="solve")), tolerance=TOLERANCE)
    return Side(
        name="chopper-armature", figure="torque", settings=(0.3, 0.95),
        many=_motor_points("chopper-armature", fixed, {"voltage": drive.dc, "speed": drive.speed}, "torque"),
        one=lambda duty: reference_chopper.solved(replace(drive, duty=duty)).torque)


def _two_windings() -> tuple[Side, ...]:
    """Circuits that hold the field's mean current by a chopper of its own, on a bus behind a resistance."""
    two, field = test_dual_chopper.Case(source=0.8), test_chopper_field.Case(source=0.2)

    def dual(duty: float) -> float:
        _, armature, winding = test_dual_chopper.expected(replace(two, duty=duty))
        return float(armature.switch_mean + winding.switch_mean)

    def by_field(current: float) -> float:
        _, armature, winding = test_chopper_field.expected(replace(field, field=current))
        return float(armature + winding.switch_mean)

    both = replace(test_dual_chopper.fixed_of(two), tolerance=TOLERANCE)
    alone = replace(test_chopper_field.fixed_of(field), tolerance=TOLERANCE)
    return (
        Side(name="chopper-field", figure="line current", settings=(0.4, 0.75), one=by_field, many=_motor_points(
            "chopper-field", alone, {"voltage": field.bus, "speed": field.speed}, "taken")),
        Side(name="dual-chopper", figure="line current", settings=(0.4, 0.95), one=dual, many=_motor_points(
            "dual-chopper", both, {"voltage": two.bus, "speed": two.speed}, "taken")))


def _bus() -> Side:
    base = rectifier.grid(1, seed=5)

    def many(loads_: Array) -> Array:
        one = np.ones(loads_.size)
        spread = {name: getattr(base, name) * one for name in Bridge.__dataclass_fields__ if name != "load_current"}
        return np.asarray(charged(Bridge(**spread, load_current=loads_)).line_rms)

    def by_march(load: float) -> float:
        return float(rectifier.exact(rectifier.points(replace(base, load_current=np.array([load]))))[1, 0])

    return Side(name="rectifier", figure="line current, r.m.s.", settings=(0.2, 3.0), many=many, one=by_march)


def _field_alone() -> Side:
    drive = replace(test_field_chopper.BASE, frequency=300.0, source_resistance=2.0)
    leakage = 0.1 * drive.L_f
    cell = FieldCell(
        switch=test_chopper_series.Drop(threshold=drive.switch.threshold, slope=drive.switch.slope),
        freewheel=test_chopper_series.Drop(threshold=drive.freewheel.threshold, slope=drive.freewheel.slope),
        frequency=drive.frequency, tolerance=TOLERANCE, winding=Winding(
            curve=FluxCurve.from_points(test_field_chopper.CURVE), constant=leakage, main=drive.L_f - leakage))

    def many(duties: Array) -> Array:
        one = np.ones(duties.size)
        points = FieldPoints(voltage=drive.bus * one, frequency=0 * one, duty=duties, resistance=drive.R_f * one)
        feed = Feed(alternating=False, resistance=drive.source_resistance)
        return np.asarray(FIELD_CHOPPER.solve(feed, cell, points).current.mean)

    return Side(name="field-chopper", figure="field current", settings=(0.2, 0.95), many=many,
                one=lambda duty: float(series_period(replace(drive, duty=duty)).mean))


def sides() -> tuple[Side, ...]:
    """Every circuit and supply, in the order of the file format."""
    return (_triac(), *_rectifiers(), _chopper_series(), _chopper_armature(), *_two_windings(), _bus(),
            _field_alone())


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")


def circuits_ratio(
    *, count: int = 512, sample_size: int = 3, repeat: int = 3, say: Callable[[str], None] = _say
) -> dict[str, float]:
    """Print each circuit's rates and the worst difference; give the ratios by circuit."""
    say(f"Every circuit, package at a tolerance of {TOLERANCE:g}, {count} points at once; march of {sample_size} each:")
    ratios = {}
    for side in sides():
        settings, sample = np.linspace(*side.settings, count), np.linspace(*side.settings, sample_size + 2)[1:-1]
        times = []
        for _ in range(repeat):
            start = time.perf_counter()
            side.many(settings)
            times.append(time.perf_counter() - start)
        start = time.perf_counter()
        right = np.array([side.one(float(value)) for value in sample])
        march = (time.perf_counter() - start) / sample_size
        off_by = float(np.max(np.abs(side.many(sample) / right - 1)))
        rate = count / min(times)
        ratios[side.name] = rate * march
        say(f"  {side.name:19s} {rate:10.0f} points/s   march {1 / march:8.2f} points/s   ratio {rate * march:8.0f}   "
            f"{side.figure} apart by {off_by:.1e}")
    return ratios


if __name__ == "__main__":
    circuits_ratio()
