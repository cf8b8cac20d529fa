"""The faults that the sheet answers, each with its figures and what ends it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from designer.parts import dc_fuse
from designer.parts.fuse_gates import ADIABATIC, Link, opening_time
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import FaultCase, Quantity
from designer.studies.refusals import SWITCH_FOLLOWS
from designer.studies.rows import FIELD_LOST, FIELD_LOST_LOADED
from designer.studies.stall import Stall, between
from designer.studies.survey import Survey, speed_limit


def faults(
    found: Survey, project: Project, *, stalled: tuple[Stall, ...], link: Link | None, sides: Iterable[FaultCase],
    direct: dc_fuse.Link | None = None,
) -> tuple[FaultCase, ...]:
    """Stall, load lost, field lost, switch shorted, and those of the circuit's sides: figures, and what ends them.

    ``link`` is the line fuse, ``direct`` the d.c. fuse, where there is one.
    """
    return (*_stalls(found, project, stalled, (link, direct)), *_speeds(found, project), *sides)


def _stalls(
    found: Survey, project: Project, stalled: tuple[Stall, ...], fuses: tuple[Link | None, dc_fuse.Link | None]
) -> Iterator[FaultCase]:
    link, direct = fuses
    for stall in (stalled[0], *between(found, project, stalled, link), *stalled[1:]):
        figures = {"armature current, r.m.s.": Quantity(stall.armature, "A"),
                   "line current, r.m.s.": Quantity(stall.line, "A"), "peak": Quantity(stall.peak, "A"),
                   "torque": Quantity(stall.torque, "N*m")}
        if stall.time is not None:
            figures[f"{stall.winding} at {stall.limit:.0f} °C after"] = Quantity(stall.time, "s")
        if link is not None:
            opens = opening_time(link, current=stall.line)
            figures["fuse opens, at the earliest"] = Quantity(opens[0], "s")
            figures["fuse opens, at the latest"] = Quantity(opens[1], "s")
        if direct is not None:
            figures["d.c. fuse opens, at the latest"] = Quantity(_clears(direct, stall.rms), "s")
        yield FaultCase(
            fault="stall", name=stall.name.capitalize(), figures=figures, ends_by=_ends(project, stall, fuses),
            first="" if stall.time is None else f"the {stall.winding} winding")


def _ends(project: Project, stall: Stall, fuses: tuple[Link | None, dc_fuse.Link | None]) -> str:
    """What ends a stall before the winding's limit, if anything does."""
    switch, (link, direct) = project.protection.thermal_switch, fuses
    if stall.time == math.inf:
        return "nothing: the windings stand it"
    if project.circuit.starter == "resistor":
        return "the overcurrent release of the armature contactor"
    if stall.time is not None and link is not None and opening_time(link, current=stall.line)[1] < stall.time:
        return "the fuse"
    if stall.time is not None and direct is not None and _clears(direct, stall.rms) < stall.time:
        return "the d.c. fuse"
    if switch is None:
        return "nothing in this design"
    opens = engineering(switch.opens, "degC")
    if stall.time is not None and stall.time < SWITCH_FOLLOWS:
        return f"nothing in this design: the thermal switch at {opens} does not follow so fast"
    return f"the thermal switch at {opens}"


def _clears(link: dc_fuse.Link, current: float) -> float:
    """Longest time, s, after which a d.c. fuse has cleared ``current`` (A); never where nothing known says so.

    By its total I²t, which is told of shorts: counted from ten times the rating on.
    """
    if link.clearing is None or not current >= ADIABATIC * link.rating:
        return math.inf
    return link.clearing / current**2


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
        kind = "field-lost" if case.name in (*FIELD_LOST, *FIELD_LOST_LOADED) else "load-lost"
        yield FaultCase(fault=kind, name=case.name.capitalize(), figures=figures, ends_by=ends)
    shorted = found.shorted_loaded
    yield FaultCase(
        fault="switch-shorted",
        name="Switch shorted, load on", figures={"output speed": Quantity(shorted / found.fixed.load.ratio, "rad/s")},
        ends_by="the load, below the limit" if limit is not None and shorted <= limit else trip)
