"""Speed against its limit: running, load lost, switch shorted, and whether a trip acts in time."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from designer.circuits.run_up import run_up
from designer.parts.margins import share
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Quantity, Reason
from designer.studies.closed_loop import closes
from designer.studies.rows import FIELD_LOST, FIELD_LOST_LOADED
from designer.studies.survey import Survey, Unloaded, speed_limit


def overspeed(found: Survey, project: Project) -> Iterator[Reason]:
    """Give the reasons of speed: limits are the motor's, at high mains, cold windings and least friction."""
    limit = speed_limit(project)
    if limit is None:
        yield Reason(code="no-speed-limit", message="Neither motor nor driven part has a speed limit.",
                     way_out="motor.maximum_speed from the nameplate or the donor appliance.")
        return
    running = running_speed(found)
    if running > limit:
        yield Reason(
            code="overspeed-running", message="The motor runs above its limit with a load on.",
            figure=Quantity(running, "rad/s"), limit=Quantity(limit, "rad/s"), way_out="A lower target or gear ratio.")
    trip = project.protection.overspeed_trip
    if trip is not None and not running < trip < limit:
        yield Reason(
            code="trip-out-of-place", message=f"The overspeed trip must lie between the running speed of "
            f"{shown(running, 'rad/s')} and the limit of {shown(limit, 'rad/s')} (speeds of the motor).",
            figure=Quantity(trip, "rad/s"), limit=Quantity(limit, "rad/s"),
            way_out="Another protection.overspeed_trip; it is the motor's speed, not the output's.")
    trips = _trips(found, project, limit)
    if project.load.coupling == "fixed":
        shorted = found.shorted_loaded
        if shorted > limit and not trips:
            at_output = shown(shorted / found.fixed.load.ratio, "rad/s")
            yield Reason(
                code="overspeed-shorted", message="A shorted switch drives the fixed load beyond the speed limit: "
                f"{at_output} at the output.", figure=Quantity(shorted, "rad/s"), limit=Quantity(limit, "rad/s"),
                way_out="An overspeed trip with a relay of its own: [protection] overspeed_trip and trip_time; "
                "or a load that asks more torque at speed.")
        yield from _field_lost(found, project, limit)
        return
    beyond = [case for case in found.unloaded if case.name not in FIELD_LOST and not case.speed <= limit]
    if beyond and not trips:
        yield _runaway(beyond, limit, project)
    yield from _field_lost(found, project, limit)


def _field_lost(found: Survey, project: Project, limit: float) -> Iterator[Reason]:
    """A lost field must be caught before the limit is passed, by its own trip or by the overspeed trip."""
    fixed = project.load.coupling == "fixed"
    names = FIELD_LOST_LOADED if fixed else FIELD_LOST
    lost = [case for case in found.unloaded if case.name in names and not case.speed <= limit]
    if not lost or _trips(found, project, limit):
        return
    times = [case.run.time for case in lost if case.run is not None]
    least, acts = min(times, default=0.0), project.protection.field_loss_trip_time
    factor = share("trip_factor", project.margins.values)[0]
    if acts is not None and factor * acts <= least:
        return
    worst = max(lost, key=lambda case: case.speed)
    within = f" {engineering(least, 's', 2)} after the field is lost" if least else ""
    yield Reason(
        code="field-loss", message=f"Without field current{', its fixed load on,' if fixed else ' and load'} the motor "
        f"passes its speed limit{within} and runs up to {shown(worst.speed, 'rad/s')} (remanence ±50 %).",
        figure=Quantity(least if acts is not None else worst.speed, "s" if acts is not None else "rad/s"),
        limit=Quantity(factor * acts, "s") if acts is not None else Quantity(limit, "rad/s"),
        way_out="A field-current relay in the armature's release: [protection] field_loss_trip_time, from loss of "
        f"field current to armature current off, {factor:g} times quicker than the limit is passed; or an overspeed "
        "trip. Both ask for motor.inertia.")


def running_speed(found: Survey) -> float:
    """The highest motor speed with a load on: setting held over the mains band, and every target, rad/s."""
    speeds = [found.held.points.speed, *(state.points.speed for state in found.targets)]
    return float(np.nanmax(np.concatenate(speeds)))


def _runaway(beyond: list[Unloaded], limit: float, project: Project) -> Reason:
    worst = max(beyond, key=lambda case: case.speed)
    times = [case.run.time for case in beyond if case.run is not None and math.isfinite(case.run.time)]
    told = "; ".join(f"{case.name}: {shown(case.speed, 'rad/s')}" for case in beyond)
    within = f" The limit is passed {engineering(min(times), 's', 2)} after the load is lost." if times else ""
    trip = "The stated trip does not act within the time to the limit divided by the factor."
    if project.protection.overspeed_trip is None:
        trip = "No overspeed trip is stated."
    return Reason(
        code="overspeed", message="The load can come off, and the motor then passes its speed limit "
        f"({told}; high {project.supply.word}, cold, least friction).{within} {trip}",
        figure=Quantity(worst.speed, "rad/s"), limit=Quantity(limit, "rad/s"),
        way_out='Fix the load on the shaft (coupling = "fixed"), or an overspeed trip that does not depend on the '
        "switch: [protection] overspeed_trip and trip_time, with motor.inertia.")


def trip_times(found: Survey, project: Project, limit: float) -> tuple[float, ...]:
    """Time, s, from the trip's speed to the limit with the load lost, in each way that it can be.

    Empty where there is no trip, no inertia, or the trip does not lie below the limit.
    """
    trip, inertia = project.protection.overspeed_trip, project.motor.inertia
    if trip is None or inertia is None or trip >= limit:
        return ()
    times = []
    for case in found.unloaded:
        if case.speed <= limit:
            times.append(math.inf)
            continue
        times.append(run_up(found.circuit, case.fixed, case.points, start=trip, end=limit, inertia=inertia).time)
    return tuple(times)


def _trips(found: Survey, project: Project, limit: float) -> bool:
    """True where a trip acts in time: from passing its speed, in every way, with the factor of the margins."""
    if closes(project):
        return True      # its guard holds every way against the limit, and is refused by its own side
    times, acts = trip_times(found, project, limit), project.protection.trip_time
    factor = share("trip_factor", project.margins.values)[0]
    trip = project.protection.overspeed_trip
    if not times or acts is None or trip is None or trip <= running_speed(found):
        return False
    return all(factor * acts <= time for time in times)
