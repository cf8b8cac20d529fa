"""Why a design is not ready: each reason with its figure, its limit and the way out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

import numpy as np

from designer.motor.warming import HIGHEST
from designer.parts import winding
from designer.parts.fuse_gates import Link, opening_time
from designer.parts.margins import share
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Check, Quantity, Reason
from designer.studies.closed_loop import band_of_loop
from designer.studies.overspeed import overspeed
from designer.studies.stall import Stall, between, hottest_winding, thermal_class
from designer.studies.survey import Survey

TEST_VOLTAGE = 500.0                          # V, of the insulation test
SWITCH_FOLLOWS = 30.0                         # s: quickest stall that a thermal switch is trusted with; common practice
SWITCH_CLEAR = 5.0                            # K between running winding and opening; common practice, no source
RATED_OVER = 1.15                             # of the rated voltage: mains +10 % and a nameplate's rounding
HIGHEST_PLACE = 2000.0                        # m
SOFTEST = 1 / 50                              # ohm per V of mains: softer than 50 A prospective is no supply for this
INSULATION, INSULATION_DOUBLE = 1e6, 2e6     # ohm; IEC 60204-1 (from memory), class II (seen)


def reasons(
    found: Survey, project: Project, *, stalled: tuple[Stall, ...], link: Link | None,
    sides: Iterable[Reason] = (),
) -> tuple[Reason, ...]:
    """Everything that stands against building it, in the order in which a reader would mend it.

    ``sides`` are the reasons of the circuit's own sides.
    """
    return (
        *_insulation(project), *_targets(found, project), *_stands_still(found), *_speed_band(found, project),
        *sides,
        *overspeed(found, project), *_heat(found, project), *_stall(found, project, stalled, link),
        *_supply(found, project),
    )


def failed(checks: tuple[Check, ...]) -> tuple[Reason, ...]:
    """A reason for each check that fails; harmonics of the line current are one together."""
    bad = [check for check in checks if check.verdict == "fail"]
    orders = [check for check in bad if check.rating.startswith("harmonic ")]
    return (*_passed(check for check in bad if check not in orders), *_too_many_harmonics(orders))


def _too_many_harmonics(bad: list[Check]) -> Iterator[Reason]:
    """One reason for all orders that pass their limit: the worst of them with figure and limit, the rest by number."""
    if len(bad) < 2:
        yield from _passed(bad)
        return
    worst = max(bad, key=lambda check: check.stress.value / check.limit.value)
    orders = ", ".join(check.rating.removeprefix("harmonic ") for check in bad)
    yield Reason(
        code="rating-passed", message=f"{worst.part}: {len(bad)} harmonics pass their limits ({worst.at}), the worst "
        f"by its share is order {worst.rating.removeprefix('harmonic ')}; all of them: {orders}.", figure=worst.stress,
        limit=Quantity(worst.limit.value * worst.margin, worst.limit.unit), way_out=worst.remedy)


def _passed(bad: Iterable[Check]) -> tuple[Reason, ...]:
    return tuple(
        Reason(
            code="rating-passed", message=f"{check.part}: {check.rating} passes its "
                f"rating{f' ({check.at})' if check.at else ''}.",
            figure=check.stress, limit=Quantity(check.limit.value * check.margin, check.limit.unit),
            way_out=_SHORTER_STALL if "at stall" in check.rating else check.remedy or "A part of the next rating.",
        )
        for check in bad
    )


_SHORTER_STALL = (
    "A protection that ends the stall sooner, a load that cannot jam, a larger heatsink ([parts.heatsink]), or a "
    "larger switch ([parts.switch])."
)


def _insulation(project: Project) -> Iterator[Reason]:
    read, told = project.motor.insulation_resistance, False
    for reading in project.readings:
        if reading.kind == "insulation" and reading.resistance is not None:
            if (reading.test_voltage or 0.0) < TEST_VOLTAGE:
                yield Reason(
                    code="insulation", message="An insulation reading was not taken at 500 V: it tells nothing.",
                    figure=Quantity(reading.test_voltage or 0.0, "V"), limit=Quantity(TEST_VOLTAGE, "V"),
                    way_out="Measure again with a 500 V tester.")
                told = True
                continue
            read = reading.resistance if read is None else min(read, reading.resistance)
    limit = INSULATION_DOUBLE if project.motor.double_insulated else INSULATION
    if read is None and not told:
        yield Reason(code="insulation", message="The windings' insulation to the frame was not measured.",
                     limit=Quantity(limit, "ohm"), way_out="Measure it with a 500 V tester.")
    if read is not None and read < limit:
        yield Reason(
            code="insulation", message="The windings' insulation to the frame is too low.",
            figure=Quantity(read, "ohm"), limit=Quantity(limit, "ohm"),
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
                if torque > 0 and found.circuit.setting == "field_current":
                    break       # its side tells the speed at full field
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
                "full output is short of torque there.",
                figure=Quantity(max(torque + short * ratio * load.efficiency, 0.0), "N*m"),
                limit=Quantity(torque, "N*m"),
                way_out=_MORE_OUTPUT if found.fixed.chopping is None else _MORE_BUS,
                nearest=_nearest(found, speed))
            break


_MORE_OUTPUT = "A lower speed or load, another gear ratio, or a field tap with fewer turns."
_MORE_BUS = ("A lower speed or load, another gear ratio, less field current at high speed (more at a stall), or a bus "
             "that sags less: a larger reservoir, a stiffer supply.")


def _nearest(found: Survey, speed: float) -> dict[str, Quantity]:
    """What full output reaches, where the survey solved it with this load."""
    reached = found.full_output.get(round(speed, 6))
    return {} if reached is None else {
        "output_speed": Quantity(reached, "rad/s"), **_setting(found)}


def _stands_still(found: Survey) -> Iterator[Reason]:
    """A corner at which the setting held no longer turns the load: the motor stands and heats."""
    corners = found.corners
    still = np.flatnonzero((corners.points.load > 0) & ~(corners.points.speed > 0))
    if found.reached and still.size:
        yield Reason(
            code="stalls-in-band", message="With the setting held the motor stands still, with the load on, at "
            f"{corners.labels[int(still[0])]}.",
            figure=Quantity(0.0, "rad/s"),
            limit=Quantity(float(found.held.points.speed[1]) / found.fixed.load.ratio, "rad/s"),
            way_out="A higher speed or a larger gear ratio, so that the torque at rest lies well above the load; or "
            "speed feedback.")


def _speed_band(found: Survey, project: Project) -> Iterator[Reason]:
    band = project.target.speed_band
    yield from band_of_loop(found, project)
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


def _heat(found: Survey, project: Project) -> Iterator[Reason]:
    limits = winding.limits(thermal_class(project))
    limit = limits.running * share("winding_temperature", project.margins.values)[0]
    states = [("with the setting held", found.held), *(
        ("target" if n == 0 else f"further target {n}", state) for n, state in enumerate(found.targets))]
    told: set[str] = set()
    for name, state in states:
        if bool(np.any(state.warm.runaway)) and "runaway" not in told:
            told.add("runaway")
            yield Reason(
                code="thermal-runaway", message=f"The windings find no steady temperature ({name}): heat raises the "
                "resistance faster than the cooling follows.", figure=Quantity(HIGHEST, "degC"),
                limit=Quantity(limit, "degC"), way_out=_COOLER)
        for part in ("armature", "field"):
            warm = getattr(state.warm, part)
            worst = float(np.max(warm, where=np.isfinite(warm), initial=-np.inf))
            if worst > limit and part not in told:
                told.add(part)
                yield Reason(
                    code="winding-too-hot", message=f"The {part} winding gets too hot for class {limits.thermal_class} "
                    f"in the stated duty ({name}).", figure=Quantity(worst, "degC"), limit=Quantity(limit, "degC"),
                    way_out=_COOLER)


_COOLER = ("Gear down 2:1 or more so that the motor turns faster with less torque, forced air, a shorter duty, or a "
           "larger motor.")


def _stall(found: Survey, project: Project, stalled: tuple[Stall, ...], link: Link | None) -> Iterator[Reason]:
    """A jammed load: the fuse clears it, the windings stand it, or a thermal switch follows fast enough."""
    if not project.load.can_jam or project.circuit.starter == "resistor":
        return      # a starter's overcurrent release ends it, or its side is refused
    switch = project.protection.thermal_switch
    problem = None if switch is None else _switch_problem(found, project)
    for stall in (*stalled[:1], *between(found, project, stalled, link)):
        opens = math.inf if link is None else opening_time(link, current=stall.line)[1]
        if stall.time is not None and (math.isinf(stall.time) or opens < stall.time):
            continue
        factor = share("trip_factor", project.margins.values)[0]
        if stall.ended is not None and stall.time is not None and factor * stall.ended <= stall.time:
            continue
        if switch is not None and problem is None and (stall.time is None or stall.time >= SWITCH_FOLLOWS):
            continue
        time = "in a time that nothing given tells" if stall.time is None else f"in {engineering(stall.time, 's', 3)}"
        slow = f" A thermal switch does not follow in less than {SWITCH_FOLLOWS:g} s." if switch and not problem else ""
        yield Reason(
            code="stall", message=f"Jammed ({stall.name}), the {stall.winding} winding passes {stall.limit:.0f} °C "
            f"{time} at {engineering(stall.armature, 'A')} r.m.s., and the fuse does not clear it before."
            f"{slow}{' ' + problem if problem else ''}",
            figure=None if stall.time is None else Quantity(stall.time, "s"),
            limit=Quantity(opens, "s") if math.isfinite(opens) else None,
            way_out=f"A thermal switch in the winding that breaks {_broken(project)} ([protection] thermal_switch), a "
            "load that cannot jam, or another motor; motor.thermal_time_constant or the wires' diameters where the "
            "time is not known.")
        return


def _switch_problem(found: Survey, project: Project) -> str | None:
    """Why the thermal switch of the file does not count, if so."""
    switch = project.protection.thermal_switch
    assert switch is not None
    limits = winding.limits(thermal_class(project))
    hottest, opens = hottest_winding(found), engineering(switch.opens, "degC")
    if switch.breaks not in ("mains", "contactor-coil"):
        return f'The thermal switch breaks "{switch.breaks}": only {_broken(project)} counts.'
    if switch.opens > limits.locked:
        return (f"The thermal switch opens at {opens}, above the {limits.locked:.0f} °C that the class allows with the "
                "rotor locked.")
    if switch.opens <= hottest + SWITCH_CLEAR:
        return (f"The thermal switch opens at {opens}, and the windings run at {engineering(hottest, 'degC')}: "
                "it opens in normal use.")
    return None


def _broken(project: Project) -> str:
    """What a thermal switch may break: a contact of it in a direct current draws an arc that stays."""
    coil = "the coil of a contactor"
    return f"the mains or {coil}" if project.supply.is_mains else coil


def _setting(found: Survey) -> dict[str, Quantity]:
    """The setting of full output."""
    name = found.circuit.setting
    unit = {"firing_angle": "rad", "field_current": "A"}.get(name, "1")
    return {name: Quantity(found.circuit.setting_range(found.fixed)[0], unit)}


def _supply(found: Survey, project: Project) -> Iterator[Reason]:
    """What the motor and the file say of the supply that the circuit can't mend."""
    rated = project.motor.rated_voltage or project.nameplate.voltage
    high = project.supply.highest_voltage
    if rated is not None and high > RATED_OVER * rated and found.fixed.setting_cap is None:
        yield Reason(
            code="above-rated-voltage", message=f"The {project.supply.word} lies above the motor's rated voltage: with "
            "the switch fully on, or shorted, insulation and commutator stand more than they were made for.",
            figure=Quantity(high, "V"), limit=Quantity(RATED_OVER * rated, "V"),
            way_out="A transformer to the motor's own voltage." if project.supply.is_mains else
            "A supply of the motor's own voltage.")
    yield from supply_reasons(project)


def supply_reasons(project: Project) -> Iterator[Reason]:
    """What the file says of supply, place and restart that no circuit can mend."""
    stiff = float(project.supply.voltage or 0.0) / project.supply.fault_current
    if project.supply.source_resistance > max(stiff, SOFTEST * float(project.supply.voltage or 0.0)):
        yield Reason(
            code="supply-contradiction", message="The source resistance given is far above what the prospective "
            "current allows.", figure=Quantity(project.supply.source_resistance, "ohm"), limit=Quantity(stiff, "ohm"),
            way_out="supply.resistance as measured, or the prospective current that belongs to it.")
    if project.ambient.altitude > HIGHEST_PLACE:
        yield Reason(
            code="altitude", message="Cooling and clearances are computed for up to 2000 m.",
            figure=Quantity(project.ambient.altitude, "m"), limit=Quantity(HIGHEST_PLACE, "m"),
            way_out="Build it for a lower place, or have it computed by someone who derates for the thin air.")
    if project.control.restart != "manual":
        yield Reason(
            code="restart", message="The machine would start again by itself when the supply returns.",
            way_out='restart = "manual", with a latching release.')
