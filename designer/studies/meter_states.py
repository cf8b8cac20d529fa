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
from designer.studies.meter_waves import MeterPoint, meter_points
from designer.studies.survey import Survey, speed_limit


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
    return MeterState(title=f"The whole supply of {volts}, load coupled, at the setting",
                      points=meter_points(point, solved, frequency=frequency))
