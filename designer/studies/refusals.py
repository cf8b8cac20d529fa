"""Why a design is not ready: each reason with its figure, its limit and the way out."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from designer.circuits.run_up import run_up
from designer.circuits.triac_series import TriacSeries
from designer.parts import winding
from designer.parts.fuse_gates import Link, opening_time
from designer.parts.margins import share
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Check, Quantity, Reason
from designer.studies.stall import Stall, thermal_class
from designer.studies.survey import Survey, Unloaded, speed_limit

INSULATION, INSULATION_DOUBLE = 1e6, 2e6     # ohm; IEC 60204-1 (from memory), class II (seen)


def reasons(
    circuit: TriacSeries, found: Survey, project: Project, *, stalled: tuple[Stall, ...], link: Link | None
) -> tuple[Reason, ...]:
    """Everything that stands against building it, in the order in which a reader would mend it."""
    return (
        *_insulation(project), *_targets(found, project), *_speed_band(found, project), *_firing(found),
        *_speed(circuit, found, project), *_heat(found, project), *_stall(project, stalled, link),
        *_transformer(found, project),
    )


def failed(checks: tuple[Check, ...]) -> tuple[Reason, ...]:
    """A reason for each check that fails."""
    return tuple(
        Reason(
            code="rating-passed", message=f"{check.part}: {check.rating} passes its "
                f"rating{f' ({check.at})' if check.at else ''}.",
            figure=check.stress, limit=Quantity(check.limit.value * check.margin, check.limit.unit),
            way_out=check.remedy or "A part of the next rating.",
        )
        for check in checks if check.verdict == "fail"
    )


def _insulation(project: Project) -> Iterator[Reason]:
    read = project.motor.insulation_resistance
    for reading in project.readings:
        if reading.kind == "insulation" and reading.resistance is not None:
            read = reading.resistance if read is None else min(read, reading.resistance)
    limit = INSULATION_DOUBLE if project.motor.double_insulated else INSULATION
    if read is None or read < limit:
        yield Reason(
            code="insulation", message="The windings' insulation to the frame is too low.",
            figure=None if read is None else Quantity(read, "ohm"), limit=Quantity(limit, "ohm"),
            way_out="Clean out the carbon dust, dry the motor, measure again at 500 V; else another motor.")


def _targets(found: Survey, project: Project) -> Iterator[Reason]:
    """Points that cannot be held over the whole mains band."""
    ratio = found.fixed.load.ratio
    for number, (state, load) in enumerate(zip(found.targets, found.loads, strict=True)):
        name = "The target" if number == 0 else f"Further target {number}"
        speed = float(state.points.speed[1]) / ratio
        for index in np.flatnonzero(~np.isfinite(state.points.setting)):
            short = float(state.lacking[index])
            volts = engineering(float(state.points.voltage[index]), "V")
            torque = float(load.at_output(speed))
            if short > 0:
                yield Reason(
                    code="overhauling" if torque <= 0 else "setting-out-of-range",
                    message=f"{name} of {shown(speed, 'rad/s')}: at {volts} the load is too small for any setting to "
                        "hold.",
                    figure=Quantity(torque, "N*m"), way_out="A lower gear ratio, or a brake load.")
                break
            yield Reason(
                code="not-reachable",
                message=f"{name} of {shown(speed, 'rad/s')} with {engineering(torque, 'N*m')} is not reachable at "
                    f"{volts}: "
                "full conduction is short of torque there.",
                figure=Quantity(torque + short * ratio * load.efficiency, "N*m"), limit=Quantity(torque, "N*m"),
                way_out="A lower speed or load, another gear ratio, or a field tap with fewer turns.",
                nearest=_nearest(found, speed))
            break


def _nearest(found: Survey, speed: float) -> dict[str, Quantity]:
    """What full conduction reaches, where the survey solved it with this load."""
    reached = found.full_output.get(round(speed, 6))
    return {} if reached is None else {"output_speed": Quantity(reached, "rad/s")}


def _speed_band(found: Survey, project: Project) -> Iterator[Reason]:
    band = project.target.speed_band
    if band is None or project.control.feedback != "none" or not found.reached:
        return
    target = float(project.target.speed or 0.0)
    full = float(found.held.points.speed[1]) / found.fixed.load.ratio
    free = float(found.free.points.speed[0]) / found.fixed.load.ratio
    change = (free - full) / target
    if change > band:
        yield Reason(
            code="speed-band", message=f"With the setting held the speed goes from {shown(full, 'rad/s')} at full "
                "load to "
            f"{shown(free, 'rad/s')} at no load.", figure=Quantity(change, "1"), limit=Quantity(band, "1"),
            way_out="A gear ratio so that the motor runs faster, a separately fed field, or speed feedback.")


def _firing(found: Survey) -> Iterator[Reason]:
    state = found.range.solved.state
    if bool(np.any(state.missed_positive ^ state.missed_negative)):
        yield Reason(
            code="half-wave", message="A single short gate pulse finds the triac still conducting the other way: only "
                "one half of each "
            "cycle conducts.", figure=Quantity(float(np.max(np.abs(found.range.solved.mean))), "A"),
            limit=Quantity(0.0, "A"),
            way_out='A gate held through its window: gate = "train".')
    elif bool(np.any(state.missed_positive & state.missed_negative)):
        yield Reason(
            code="no-firing", message="At a setting of the control range the triac does not fire or does not latch.",
            figure=Quantity(float(found.range.points.setting[int(np.argmax(state.missed_positive))]), "rad"),
            way_out="A gate held through its window, a triac of lower latching current, or an earlier angle.")


def _speed(circuit: TriacSeries, found: Survey, project: Project) -> Iterator[Reason]:
    limit = speed_limit(project)
    if limit is None:
        yield Reason(code="no-speed-limit", message="Neither motor nor driven part has a speed limit.",
                     way_out="motor.maximum_speed from the nameplate or the donor appliance.")
        return
    running = float(np.nanmax(found.held.points.speed))
    ratio = found.fixed.load.ratio
    if running > limit:
        yield Reason(code="overspeed-running", message="The motor runs above its limit with the load on, at high "
            "mains.",
                     figure=Quantity(running, "rad/s"), limit=Quantity(limit, "rad/s"), way_out="A lower target or "
                         "gear ratio.")
    if project.load.coupling == "fixed":
        shorted = found.shorted_loaded
        if shorted > limit and not _trips(circuit, found, project, limit):
            yield Reason(
                code="overspeed-shorted", message="A shorted triac drives the fixed load beyond the speed limit "
                f"({shown(shorted / ratio, 'rad/s')} at the output, high mains).", figure=Quantity(shorted, "rad/s"),
                limit=Quantity(limit, "rad/s"),
                way_out="An overspeed trip of its own relay: [protection] overspeed_trip and trip_time; or a heavier "
                    "fan.")
        return
    beyond = [case for case in found.unloaded if not case.speed <= limit]
    if beyond and not _trips(circuit, found, project, limit):
        yield _runaway(beyond, limit, project)


def _runaway(beyond: list[Unloaded], limit: float, project: Project) -> Reason:
    worst = max(beyond, key=lambda case: case.speed)
    times = [case.run.time for case in beyond if case.run is not None and math.isfinite(case.run.time)]
    told = "; ".join(f"{case.name}: {shown(case.speed, 'rad/s')}" for case in beyond)
    within = f" The limit is passed {engineering(min(times), 's', 2)} after the load is lost." if times else ""
    trip = ("The stated trip does not act within the time to the limit divided by the factor."
            if project.protection.overspeed_trip is not None else "No overspeed trip is stated.")
    return Reason(
        code="overspeed", message=f"The load can come off, and the motor then passes its speed limit ({told}; high "
            "mains, cold, "
        f"least friction).{within} {trip}",
        figure=Quantity(worst.speed, "rad/s"), limit=Quantity(limit, "rad/s"),
        way_out='Fix the load on the shaft (coupling = "fixed"), or an overspeed trip that does not depend on the '
            'triac: '
        "[protection] overspeed_trip and trip_time, with motor.inertia.")


def trip_times(circuit: TriacSeries, found: Survey, project: Project, limit: float) -> tuple[float, ...]:
    """Time, s, from the trip's speed to the limit with the load lost: at the setting and at full conduction."""
    trip, inertia = project.protection.overspeed_trip, project.motor.inertia
    if trip is None or inertia is None or trip * found.fixed.load.ratio >= limit:
        return ()
    times = []
    for name, case in zip(found.free.labels[-2:], found.unloaded, strict=True):
        if case.speed <= limit:
            times.append(math.inf)
            continue
        points = found.free.points[[found.free.labels.index(name)]]
        times.append(run_up(circuit, found.fixed, points, start=trip, end=limit, inertia=inertia).time)
    return tuple(times)


def _trips(circuit: TriacSeries, found: Survey, project: Project, limit: float) -> bool:
    """True where a trip acts in time: from passing its speed, at both settings, with the factor of the margins."""
    times = trip_times(circuit, found, project, limit)
    acts = project.protection.trip_time
    factor = share("trip_factor", project.margins.values)[0]
    trip = project.protection.overspeed_trip
    running = float(np.nanmax(found.held.points.speed))
    return bool(times) and acts is not None and trip is not None and trip > running and all(
        factor * acts <= time for time in times)


def _heat(found: Survey, project: Project) -> Iterator[Reason]:
    limits = winding.limits(thermal_class(project))
    states = [("with the setting held", found.held), *(
        ("target" if n == 0 else f"further target {n}", state) for n, state in enumerate(found.targets))]
    told: set[str] = set()
    for name, state in states:
        if bool(np.any(state.warm.runaway)) and "runaway" not in told:
            told.add("runaway")
            yield Reason(code="thermal-runaway", message=f"The windings find no steady temperature ({name}): heat "
                "raises the "
                         "resistance faster than the cooling follows.", figure=Quantity(400.0, "degC"),
                         limit=Quantity(limits.running, "degC"), way_out=_COOLER)
        for part in ("armature", "field"):
            worst = float(np.max(np.where(np.isfinite(getattr(state.warm, part)), getattr(state.warm, part), -np.inf)))
            if worst > limits.running and part not in told:
                told.add(part)
                yield Reason(code="winding-too-hot", message=f"The {part} winding gets too hot for class "
                             f"{limits.thermal_class} in the stated duty ({name}).", figure=Quantity(worst, "degC"),
                             limit=Quantity(limits.running, "degC"), way_out=_COOLER)


_COOLER = (
    "Gear down 2:1 or more so that the motor turns faster with less torque, forced air, a shorter duty, or a larger "
    "motor."
)


def _stall(project: Project, stalled: tuple[Stall, ...], link: Link | None) -> Iterator[Reason]:
    if not project.load.can_jam:
        return
    switch = project.protection.thermal_switch
    limits = winding.limits(thermal_class(project))
    if switch is not None and switch.opens <= limits.first_hour:
        return
    for stall in stalled[:1]:
        opens = math.inf if link is None else opening_time(link, current=stall.rms)[1]
        if stall.time is not None and (math.isinf(stall.time) or opens < stall.time):
            continue
        time = "in a time that nothing given tells" if stall.time is None else f"in {engineering(stall.time, 's', 3)}"
        yield Reason(
            code="stall", message=f"Jammed with the setting held, the {stall.winding} winding passes "
                f"{stall.limit:.0f} °C {time} at "
            f"{engineering(stall.rms, 'A')} r.m.s., and the fuse does not see it.",
            figure=None if stall.time is None else Quantity(stall.time, "s"),
            limit=Quantity(opens, "s") if math.isfinite(opens) else None,
            way_out="A thermal switch in the motor that breaks the mains ([protection] thermal_switch), a stall trip, "
                "or a load that "
            "cannot jam; motor.thermal_time_constant or the wires' diameters where the time is not known.")


def _transformer(found: Survey, project: Project) -> Iterator[Reason]:
    transformer = project.supply.transformer
    if transformer is None or transformer.magnetising_current is None:
        return
    if found.direct_current.value > transformer.magnetising_current:
        yield Reason(
            code="transformer-direct-current", message="Half cycles fired one degree apart draw more direct current "
                "than the "
            "transformer's magnetising current.", figure=Quantity(found.direct_current.value, "A"),
            limit=Quantity(transformer.magnetising_current, "A"), way_out="A larger transformer, or none.")
