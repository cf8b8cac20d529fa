"""The faults that the sheet answers, each with its figures and what ends it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from designer.circuits.triac_series import TriacSeries
from designer.parts.fuse_gates import opening_time
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import FaultCase, Quantity
from designer.studies.stall import Stall, between
from designer.studies.survey import Survey, speed_limit
from designer.studies.triac_power import Power


def faults(
    kind: TriacSeries, found: Survey, project: Project, *, stalled: tuple[Stall, ...], power: Power | None
) -> tuple[FaultCase, ...]:
    """Stall, load lost, switch shorted, half cycles missing or unequal: figures, and what ends them."""
    return (*_stalls(found, project, stalled, power), *_speeds(found, project), *_halves(kind, found))


def _stalls(
    found: Survey, project: Project, stalled: tuple[Stall, ...], power: Power | None
) -> Iterator[FaultCase]:
    switch = project.protection.thermal_switch
    link = power.link if power else None
    for stall in (stalled[0], *between(found, project, stalled, link), *stalled[1:]):
        figures = {"current, r.m.s.": Quantity(stall.rms, "A"), "peak": Quantity(stall.peak, "A"),
                   "torque": Quantity(stall.torque, "N*m")}
        if stall.time is not None:
            figures[f"{stall.winding} at {stall.limit:.0f} °C after"] = Quantity(stall.time, "s")
        opens = opening_time(link, current=stall.rms) if link else (math.inf, math.inf)
        figures["fuse opens, at the earliest"] = Quantity(opens[0], "s")
        figures["fuse opens, at the latest"] = Quantity(opens[1], "s")
        if stall.time is not None and opens[1] < stall.time:
            ends = "the fuse"
        elif switch is not None:
            ends = f"the thermal switch at {engineering(switch.opens, 'degC')}"
        else:
            ends = "nothing: the windings stand it" if stall.time == math.inf else "nothing in this design"
        yield FaultCase(name=stall.name.capitalize(), figures=figures, ends_by=ends)


def _speeds(found: Survey, project: Project) -> Iterator[FaultCase]:
    limit = speed_limit(project)
    trip = "the overspeed trip" if project.protection.overspeed_trip is not None else "nothing in this design"
    fixed = project.load.coupling == "fixed"
    for case in found.unloaded:
        figures = {"speed": Quantity(case.speed, "rad/s")}
        if limit is not None and case.run is not None:
            figures["time to the speed limit"] = Quantity(case.run.time, "s")
        if limit is not None and case.speed <= limit:
            ends = "friction, below the limit"
        else:
            ends = "excluded by the file, which says that the coupling is fixed" if fixed else trip
        yield FaultCase(name=case.name.capitalize(), figures=figures, ends_by=ends)
    shorted = found.shorted_loaded
    yield FaultCase(
        name="Triac shorted, load on", figures={"output speed": Quantity(shorted / found.fixed.load.ratio, "rad/s")},
        ends_by="the load, below the limit" if limit is not None and shorted <= limit else trip)


def _halves(kind: TriacSeries, found: Survey) -> Iterator[FaultCase]:
    charge = kind.solve(found.fixed, found.held.points[[1]]).state.positive.charge
    one_way = kind.one_way(found.fixed, found.held.points[[1]])
    yield FaultCase(
        name="Triac shorted one way", figures={
            "direct current in the line": Quantity(abs(float(one_way.mean[0])), "A"),
            "line current, r.m.s.": Quantity(float(one_way.rms[0]), "A")},
        ends_by="nothing here: the motor speeds up, a transformer ahead saturates; switch off at the plug")
    yield FaultCase(
        name="One half cycle not fired",
        figures={"direct current in the line": Quantity(float(charge[0]) / (2 * math.pi), "A")},
        ends_by="whoever hears the hum: half the torque, even harmonics, a transformer ahead saturates")
    yield FaultCase(
        name="Halves fired one degree apart",
        figures={"direct current in the line": Quantity(found.direct_current.value, "A")},
        ends_by="nothing: it is small and stays")
