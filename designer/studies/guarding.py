"""The guard of a speed loop against the rotor: every fault, the time to the speed limit, and who is faster."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from designer.circuits.run_up import run_up
from designer.control.guard import Guard, Race
from designer.equations.motor import REFERRED_INERTIA
from designer.parts.margins import share
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Quantity, Reason, Table
from designer.studies.overspeed import running_speed
from designer.studies.rows import FIELD_LOST, FIELD_LOST_LOADED, UNLOADED
from designer.studies.survey import Survey, Unloaded, speed_limit

RELAY, GATES = "the second path", "the output blocked"


def races(found: Survey, project: Project, watched: Guard) -> tuple[Race, ...]:
    """Give every fault that can pass the speed limit, at high supply, cold windings and least friction.

    The load is lost with each where it can be; with a fixed coupling it stays on.
    """
    limit = speed_limit(project)
    if limit is None:
        return ()
    return (*(_race(found, project, watched, case=case) for case in _cases(found, project)),
            _blind(found, project, watched))


def _cases(found: Survey, project: Project) -> Iterator[Unloaded]:
    fixed = project.load.coupling == "fixed"
    for case in found.unloaded:
        if case.name in UNLOADED:
            yield _loaded(found, case) if fixed else case
        elif case.name == (FIELD_LOST_LOADED if fixed else FIELD_LOST)[0]:
            yield case


def _loaded(found: Survey, case: Unloaded) -> Unloaded:
    """The same with the load on, as a coupling that cannot be lost leaves it."""
    speed = found.shorted_loaded if case.name == UNLOADED[1] else float(np.nanmax(found.held.points.speed))
    name = case.name.replace("load lost", "load on")
    return replace(case, points=case.points.scaled(load=1.0), speed=speed, name=name)


def _inertia(found: Survey, project: Project) -> float:
    """kg·m² at the motor: its own, and that of a load that cannot be lost."""
    own, load = project.motor.inertia, found.fixed.load
    assert own is not None
    if project.load.coupling != "fixed":
        return own
    return float(REFERRED_INERTIA(J_m=own, J_load=load.inertia, u=load.ratio))


def _time(found: Survey, project: Project, case: Unloaded, start: float) -> float:
    """s from ``start`` (rad/s) to the limit; infinite where the steady speed lies within it."""
    limit = speed_limit(project)
    assert limit is not None
    if case.speed <= limit:
        return math.inf
    if start >= limit:
        return 0.0
    return run_up(found.circuit, case.fixed, case.points, start=start, end=limit,
                  inertia=_inertia(found, project)).time


def _race(found: Survey, project: Project, watched: Guard, *, case: Unloaded) -> Race:
    """One case: a shorted switch is caught by speed, a program that stands by its watchdog, a lost field by speed."""
    loop = watched.loop
    if case.name.endswith("switch shorted"):
        return Race(fault=case.name, since="passing the trip's speed", sees="edges that come too fast", acts=RELAY,
                    up=_time(found, project, case, watched.trip_speed), seen=watched.fast.value, off=loop.opening)
    if case.name.startswith("load"):
        return Race(fault=f"{case.name}, the program standing still", since="the fault, at running speed",
                    sees="the watchdog", acts=RELAY, up=_time(found, project, case, running_speed(found)),
                    seen=watched.watchdog.value, off=loop.opening)
    return Race(fault=f"{case.name}, the output as it was", since="passing the trip's speed",
                sees="edges that come too fast", acts=GATES, up=_time(found, project, case, watched.trip_speed),
                seen=watched.fast.value, off=max(loop.blocked, loop.sample_time))


def _blind(found: Survey, project: Project, watched: Guard) -> Race:
    """The tacho lost: the loop sees rest, and goes to its full output at once, the worst that it can do."""
    case = next(one for one in _cases(found, project) if one.name.endswith("switch shorted"))
    what = "load on" if project.load.coupling == "fixed" else "load lost"
    return Race(fault=f"tacho lost and {what}, full output at once", since="the last edge, at running speed",
                sees="edges that stay away", acts=GATES, up=_time(found, project, case, running_speed(found)),
                seen=watched.lost.value, off=max(watched.loop.blocked, watched.loop.sample_time))


def too_slow(found: Survey, project: Project, watched: Guard) -> Iterator[Reason]:
    """Give a reason for the race that is lost by most; the trip must lie below the limit too."""
    limit, factor = speed_limit(project), share("trip_factor", project.margins.values)[0]
    if limit is None:
        return
    if watched.trip_speed >= limit:
        yield Reason(
            code="trip-out-of-place", message="The loop's trip would lie above the speed limit: between the running "
            "speed and the limit there is no room for it (speeds of the motor).",
            figure=Quantity(watched.trip_speed, "rad/s"), limit=Quantity(limit, "rad/s"),
            way_out="A lower target, another gear ratio, or protection.overspeed_trip between both.")
        return
    lost = [race for race in races(found, project, watched) if not race.won(factor)]
    if not lost:
        return
    worst = min(lost, key=lambda race: race.step.value)
    needs = factor * (worst.seen + worst.off)
    yield Reason(
        code="guard-too-slow", message=f"{worst.fault.capitalize()}: {engineering(worst.up, 's', 2)} from "
        f"{worst.since} to the limit of {shown(limit, 'rad/s')}; {worst.sees} are seen and {worst.acts} acts within "
        f"{engineering(worst.seen + worst.off, 's', 2)}, and {factor:g} times that must fit.",
        figure=Quantity(worst.up, "s"), limit=Quantity(needs, "s"),
        way_out="A contact that opens sooner (a coil suppressor that lets go fast), a shorter control.sample_time, a "
        "lower target, a gear ratio with more room below the limit, more inertia that cannot be lost, or less supply "
        "voltage.")


def table(found: Survey, project: Project, watched: Guard) -> Table:
    """The races as a table of the sheet."""
    factor = share("trip_factor", project.margins.values)[0]
    rows = tuple((
        race.fault, race.since, Quantity(race.up, "s") if math.isfinite(race.up) else "the limit is not reached",
        race.sees, Quantity(race.seen, "s"), race.acts, Quantity(race.off, "s"),
        f"{race.step.value:.2g}" if math.isfinite(race.up) else "—", "yes" if race.won(factor) else "NO")
        for race in races(found, project, watched))
    return Table(
        name="guard-times", title="Who is faster: the guard or the rotor",
        columns=("fault", "counted from", "to the speed limit", "seen by", "seen within", "acts", "off within",
                 "times faster", f"{factor:g} times?"), rows=rows,
        note=f"High supply, cold windings, least friction. The trip lies at {shown(watched.trip_speed, 'rad/s')} of "
            "the "
        "motor. Every trip latches: output blocked, second path opened, and only the start button brings it back; "
        f"after a supply dip or when a thermal switch has cooled nothing starts by itself. Without a single edge "
        f"{engineering(watched.start_time, 's', 2)} after the output came on at a start it trips too: a jam lasts "
        f"{engineering(watched.jam, 's', 2)} at most.")
