"""Speed against its limit: running, load lost, switch shorted, and whether a trip acts in time."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from designer.circuits.run_up import run_up
from designer.circuits.triac_series import TriacSeries
from designer.parts.margins import share
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Quantity, Reason
from designer.studies.survey import Survey, Unloaded, speed_limit
from designer.waveforms.phase_control import Gate


def overspeed(circuit: TriacSeries, found: Survey, project: Project) -> Iterator[Reason]:
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
    trips = _trips(circuit, found, project, limit)
    if project.load.coupling == "fixed":
        shorted = found.shorted_loaded
        if shorted > limit and not trips:
            at_output = shown(shorted / found.fixed.load.ratio, "rad/s")
            yield Reason(
                code="overspeed-shorted", message="A shorted triac drives the fixed load beyond the speed limit: "
                f"{at_output} at the output.", figure=Quantity(shorted, "rad/s"), limit=Quantity(limit, "rad/s"),
                way_out="An overspeed trip with a relay of its own: [protection] overspeed_trip and trip_time; "
                "or a load that asks more torque at speed.")
        return
    beyond = [case for case in found.unloaded if not case.speed <= limit]
    if beyond and not trips:
        yield _runaway(beyond, limit, project)


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
        f"({told}; high mains, cold, least friction).{within} {trip}",
        figure=Quantity(worst.speed, "rad/s"), limit=Quantity(limit, "rad/s"),
        way_out='Fix the load on the shaft (coupling = "fixed"), or an overspeed trip that does not depend on the '
        "triac: [protection] overspeed_trip and trip_time, with motor.inertia.")


def trip_times(circuit: TriacSeries, found: Survey, project: Project, limit: float) -> tuple[float, ...]:
    """Time, s, from the trip's speed to the limit with the load lost: at the setting and at full conduction.

    Empty where there is no trip, no inertia, or the trip does not lie below the limit.
    """
    trip, inertia = project.protection.overspeed_trip, project.motor.inertia
    if trip is None or inertia is None or trip >= limit:
        return ()
    times, shorted = [], replace(found.fixed, gate=Gate())     # a shorted switch does not ask the gate
    for case in found.unloaded:
        if case.speed <= limit:
            times.append(math.inf)
            continue
        points = found.free.points[[found.free.labels.index(case.name)]]
        times.append(run_up(circuit, shorted, points, start=trip, end=limit, inertia=inertia).time)
    return tuple(times)


def _trips(circuit: TriacSeries, found: Survey, project: Project, limit: float) -> bool:
    """True where a trip acts in time: from passing its speed, at both settings, with the factor of the margins."""
    times, acts = trip_times(circuit, found, project, limit), project.protection.trip_time
    factor = share("trip_factor", project.margins.values)[0]
    trip = project.protection.overspeed_trip
    if not times or acts is None or trip is None or trip <= running_speed(found):
        return False
    return all(factor * acts <= time for time in times)
