"""The faults that the sheet answers, each with its figures and what ends it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from designer.parts.fuse_gates import Link, opening_time
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import FaultCase, Quantity
from designer.studies.rows import FIELD_LOST, FIELD_LOST_LOADED
from designer.studies.stall import Stall, between
from designer.studies.survey import Survey, speed_limit


def faults(
    found: Survey, project: Project, *, stalled: tuple[Stall, ...], link: Link | None, sides: Iterable[FaultCase]
) -> tuple[FaultCase, ...]:
    """Stall, load lost, field lost, switch shorted, and those of the circuit's sides: figures, and what ends them."""
    return (*_stalls(found, project, stalled, link), *_speeds(found, project), *sides)


def _stalls(
    found: Survey, project: Project, stalled: tuple[Stall, ...], link: Link | None
) -> Iterator[FaultCase]:
    switch = project.protection.thermal_switch
    for stall in (stalled[0], *between(found, project, stalled, link), *stalled[1:]):
        figures = {"armature current, r.m.s.": Quantity(stall.armature, "A"),
                   "line current, r.m.s.": Quantity(stall.line, "A"), "peak": Quantity(stall.peak, "A"),
                   "torque": Quantity(stall.torque, "N*m")}
        if stall.time is not None:
            figures[f"{stall.winding} at {stall.limit:.0f} °C after"] = Quantity(stall.time, "s")
        opens = opening_time(link, current=stall.line) if link else (math.inf, math.inf)
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
        relay = case.name in (*FIELD_LOST, *FIELD_LOST_LOADED) and project.protection.field_loss_trip_time is not None
        if relay:
            ends = "the field-current relay"
        elif limit is not None and case.speed <= limit:
            ends = "the load, below the limit" if case.name in FIELD_LOST_LOADED else "friction, below the limit"
        else:
            excluded = fixed and case.name not in FIELD_LOST_LOADED
            ends = "excluded by the file, which says that the coupling is fixed" if excluded else trip
        yield FaultCase(name=case.name.capitalize(), figures=figures, ends_by=ends)
    shorted = found.shorted_loaded
    yield FaultCase(
        name="Switch shorted, load on", figures={"output speed": Quantity(shorted / found.fixed.load.ratio, "rad/s")},
        ends_by="the load, below the limit" if limit is not None and shorted <= limit else trip)
