"""The states of the steps to first power that a meter is held to: low voltage, bench supply, full supply."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import OperatingPoint
from designer.studies.bench import calm_voltage
from designer.studies.chopper_bench import bench_duty, on_bench_supply
from designer.studies.field_supplies import RECTIFIED, ahead, half_wave
from designer.studies.meter_waves import MeterPoint, field_shown, meter_points
from designer.studies.survey import Survey, speed_limit
from designer.waveforms.meter_readings import seen


@dataclass(frozen=True, kw_only=True)
class MeterState:
    """One state: the step it belongs to, and what meters show at each test point."""

    title: str
    points: tuple[MeterPoint, ...]


def states(found: Survey, project: Project, point: OperatingPoint) -> tuple[MeterState, ...]:
    """Give the states in the order of the steps, the target on its full supply last."""
    kind = CIRCUIT_KINDS[str(project.circuit.kind)]
    chops = kind.chops and found.fixed.chopping is not None and found.circuit.setting == "duty"
    return (*_low_voltage(found, project), *(_bench_supply(found, project) if chops else ()),
            _full(found, project, point))


def _low_voltage(found: Survey, project: Project) -> Iterator[MeterState]:
    """Isolated low a.c. through the power circuit; left out where the firing network is dead there."""
    if found.bench is None or project.circuit.firing != "optocoupler":
        return
    volts = calm_voltage(found, speed_limit(project) or math.inf)
    for key, name in (("at 90°", "fired at 90°"), ("at once", "fired at once")):
        at = found.bench.labels.index(f"{volts:g} V, {key}")
        if not math.isfinite(float(found.bench.points.speed[at])):
            continue
        one = found.bench.solved[np.array([at])]
        yield MeterState(
            title=f"The power circuit on {volts:g} V a.c., isolated, {name}",
            points=meter_points(found.bench.circuit.operating_point(one), one,
                                frequency=float(found.bench.points.frequency[at])))


def _bench_supply(found: Survey, project: Project) -> Iterator[MeterState]:
    """The chopper on a bench supply."""
    at = on_bench_supply(found, project, limit=speed_limit(project) or math.inf)
    if not math.isfinite(at.speed):
        return
    one = at.solved[np.array([0])]
    yield MeterState(
        title=f"The power circuit on {at.voltage:g} V d.c., duty {100 * bench_duty(found):.0f} %",
        points=meter_points(found.circuit.operating_point(one), one, frequency=0.0))


def _full(found: Survey, project: Project, point: OperatingPoint) -> MeterState:
    """The target on the whole supply."""
    frequency = float(project.supply.frequency or 0.0)
    solved = found.circuit.solve(found.fixed, found.held.points[[1]])
    volts = engineering(float(project.supply.voltage or 0.0), "V")
    points = meter_points(point, solved, frequency=frequency)
    return MeterState(title=f"The whole supply of {volts}, load coupled, at the setting",
                      points=(*points, *_field_voltage(found, project, points)))


def _field_voltage(found: Survey, project: Project, points: tuple[MeterPoint, ...]) -> Iterator[MeterPoint]:
    """Across a field fed apart: the mean is what its current takes hot, the shape its supply's."""
    supply = project.field_supply
    if supply is None or any(told.name == "field_voltage" for told in points):
        return
    given, at = ahead(project, supply), found.held.points
    mean = float(at.field_current[1] * at.field_resistance[1])
    often = supply.frequency or (None if supply.kind == "chopper" else project.supply.frequency)
    if given is None or not 0 < mean < math.inf or (supply.kind != "dc" and often is None):
        return
    shown, pace = seen(np.array([0.0, 1.0]), np.full(2, mean)), 0.0
    if supply.kind in RECTIFIED:
        pace = float(often or 0.0)
        shown = field_shown(mean, given.most if supply.kind == "phase-angle" else mean, frequency=pace,
                            form="half" if half_wave(supply) else "rectified")
    elif supply.kind == "chopper":
        pace, duty = float(often or 0.0), min(mean / given.most, 1.0)
        shown = seen(np.array([0.0, duty, duty, 1.0]), given.most * np.array([1.0, 1.0, 0.0, 0.0]), frequency=pace)
    yield MeterPoint(name="field_voltage", unit="V", frequency=pace, shown=shown)
