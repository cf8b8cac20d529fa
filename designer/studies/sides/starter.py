"""The starter side: an armature straight on its bus behind resistor and bypass, and the floor under its field."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from designer.equations.starter import CURRENT_AT_REST, WEAKENING_TIME
from designer.errors import InputError
from designer.parts import conductors, field_floor, starter_contacts, starting_resistor, winding
from designer.quantities import engineering, shown
from designer.results import Assumption, FaultCase, Part, Quantity, Reason, Step
from designer.studies import bus_parts, field_control
from designer.studies.field_bench import first_power
from designer.studies.refusals import RATED_OVER
from designer.studies.sides import Control, Power, Scene, Side, SideParts
from designer.studies.stall import thermal_class
from designer.studies.stall_leads import on_motor
from designer.studies.start_run import Start, allowed, lowest_bus, running, starter
from designer.studies.starter_wires import wires
from designer.studies.starting import field_heat, out_of_range, variable_supply
from designer.studies.survey import Survey, speed_limit

STARTS = 6.0        # an hour, where the file says none: common practice, no source


def _found(scene: Scene) -> Survey:
    if scene.found is None:
        raise ValueError("a starter needs a motor's survey")
    return scene.found


def _parts(scene: Scene) -> SideParts:
    """All of it; raises ``InputError`` where a part cannot be had."""
    found, project = _found(scene), scene.project
    floor = _floor(scene)
    wire = _leads(scene)
    demand = _contacts(scene, None)
    volts = _highest(scene)
    if project.circuit.starter == "variable-supply":
        return _brought_up(scene, demand, volts, (floor, wire))
    begun = starter(found, project)
    demand = _contacts(scene, begun)
    main, row = starter_contacts.armature(demand, margins=scene.margins)
    weaken = _weakening(found, begun)
    return SideParts(
        parts=(main, *starter_contacts.buttons(volts), *_stages(scene, begun, demand), starter_contacts.timer(demand),
               starter_contacts.undervoltage(demand, row), starter_contacts.overcurrent(demand), floor, wire),
        field_feed=field_control.feed(found), assumptions=_assumptions(scene, begun, weaken),
        worked=(begun.needed, begun.ratio, _at_rest(begun), weaken),
        figures={"starting_current": Quantity(begun.rest[0], "A"), "second_peak": Quantity(begun.second, "A"),
                 "start_energy": Quantity(sum(begun.energies), "J"),
                 "start_power_peak": Quantity(sum(begun.powers), "W"),
                 "start_time": Quantity(begun.longest, "s"), "starter_time_out": Quantity(begun.time_out, "s"),
                 "field_weakening_time": Quantity(max(weaken.value, 0.0), "s"), **_speeds(found)})


def _brought_up(scene: Scene, demand: starter_contacts.Demand, volts: float, more: tuple[Part, ...]) -> SideParts:
    """A supply that is brought up and limits by itself: contactor, buttons, and the relay that asks for its low end."""
    found = _found(scene)
    main, _ = starter_contacts.armature(demand, margins=scene.margins)
    rest = found.fixed.motor.brush_drop + allowed(found, scene.project) * demand.cold
    return SideParts(
        parts=(main, *starter_contacts.buttons(volts), starter_contacts.zero_start(volts=rest), *more),
        field_feed=field_control.feed(found), figures=_speeds(found),
        assumptions=(Assumption(text="The supply is brought up from its lower end by hand or by its own control, and "
                                f"limits its current to {engineering(allowed(found, scene.project), 'A', 3)}; the "
                                "coil and the gate drive have a supply of their own.",
                                mark="condition of this design"),))


def _speeds(found: Survey) -> dict[str, Quantity]:
    return {"unloaded_speed_field_floor": Quantity(found.look.unloaded, "rad/s"),
            "field_floor": Quantity(found.fixed.field_floor, "A")}


def _floor(scene: Scene) -> Part:
    """The resistor across the field's transistor."""
    found, project = _found(scene), scene.project
    hot = winding.limits(thermal_class(project)).running
    crest = scene.worst("bus_voltage_crest", "any").value
    highest = max(crest, found.held.points.voltage[2] * (math.sqrt(2.0) if scene.alternating else 1.0))
    return field_floor.choose(field_floor.Demand(
        floor=found.fixed.field_floor, lowest=lowest_bus(project), highest=float(highest), peak=float(highest),
        hot=float(found.fixed.motor.resistances(hot, hot)[1])), margins=scene.margins)[0]


def _leads(scene: Scene) -> Part:
    """The armature's leads: they carry what the d.c. fuse ahead of them lets pass for good."""
    worst, link = scene.worst("armature_current_rms"), bus_parts.choose(scene).link
    rated = 0.0 if link is None else link.rating
    return conductors.winding_leads(
        conductors.Carried(current=max(worst.value, rated), ambient=scene.box, overloads=on_motor(scene),
                           at=worst.at if worst.value >= rated else "the rating of the d.c. fuse ahead"),
        role="motor-wire", what="armature", margins=scene.margins)


def _contacts(scene: Scene, begun: Start | None) -> starter_contacts.Demand:
    found, worst = _found(scene), scene.worst("armature_current_rms")
    stalled = scene.worst("armature_current_peak", "stall").value
    cold = float(found.stall.points.armature_resistance[0])
    return starter_contacts.Demand(
        current=worst.value, stalled=stalled, highest=_highest(scene), lowest=_running_bus(scene), cold=cold,
        load=running(found), at=worst.at,
        time_constant=found.fixed.motor.armature_inductance / cold, **({} if begun is None else {
            "time_out": begun.time_out, "started": max(begun.rest[0], begun.second),
            "jammed": (begun.conditions.lowest - begun.conditions.brushes) / begun.conditions.hot}))


def _running_bus(scene: Scene) -> float:
    """The lowest bus with the load on, V: on mains the valley."""
    valley = scene.least("bus_voltage_valley").value
    return valley if scene.alternating and math.isfinite(valley) else lowest_bus(scene.project)


def opening(scene: Scene) -> float:
    """How long the armature contactor takes to open, s; ``InputError`` where the table has none."""
    return starter_contacts.armature(_contacts(scene, None), margins=scene.margins)[1].opening


def _highest(scene: Scene) -> float:
    high = scene.project.supply.highest_voltage
    return math.sqrt(2.0) * high if scene.alternating else high


def _stages(scene: Scene, begun: Start, demand: starter_contacts.Demand) -> Iterator[Part]:
    """A resistor, its bypass and the relay that closes it, stage by stage."""
    hourly = scene.project.duty.starts_per_hour
    for at, (ohms, stage) in enumerate(zip(begun.resistors, begun.stages, strict=True)):
        which = "" if len(begun.stages) == 1 else f", stage {at + 1}"
        yield starting_resistor.choose(starting_resistor.Demand(
            ohms=ohms, energy=begun.energies[at], time=sum(one.time for one in begun.slow[:at + 1]),
            peak_power=begun.powers[at], stalled=begun.stalled[at], time_out=begun.time_out,
            starts=STARTS if hourly is None else hourly, voltage=demand.highest, which=which,
            worked=(begun.needed, *(() if at == 0 and len(begun.stages) == 1 else (begun.ratio,)))),
            margins=scene.margins)
        yield starter_contacts.bypass(stage, demand, margins=scene.margins, which=which)
        yield starter_contacts.stage_relay(stage, which=which)


def _at_rest(begun: Start) -> Step:
    given = begun.conditions
    return Step(formula=CURRENT_AT_REST, note="the first peak of a start: highest supply, cold, resistor as marked",
                inputs={"V_a": given.highest, "V_b": given.brushes, "R_a": given.cold, "R_st": sum(begun.resistors)})


def _weakening(found: Survey, begun: Start) -> Step:
    """How slowly the field goes from full to its setting, so that the armature current stays within the allowed one."""
    given, motor = begun.conditions, found.fixed.motor
    flux = float(motor.curve.at(found.setting, motor.remanence))
    return Step(formula=WEAKENING_TIME, note="from full field to the setting, nominal supply", inputs={
        "J_r": given.inertia, "omega_1": min(found.shorted_loaded, float(np.nan_to_num(found.held.points.speed[1]))),
        "omega_2": float(np.nan_to_num(found.held.points.speed[2])), "k_f": flux, "I_lim": given.allowed,
        "I_L": running(found)})


def _assumptions(scene: Scene, begun: Start, weaken: Step) -> tuple[Assumption, ...]:
    project = scene.project
    told = [Assumption(text=f"A start is made at full field, {engineering(begun.conditions.field, 'A', 3)}, and the "
                       f"field is weakened over {engineering(max(weaken.value, 0.0), 's', 2)} or more after the last "
                       "bypass: the logic's work, and none of this parts list.", mark="condition of this design")]
    if project.control.current_limit is None:
        told.append(Assumption(text=f"At a start up to {engineering(begun.conditions.allowed, 'A', 3)} are allowed in "
                               "the armature, twice what the target draws.", mark="common practice, no source"))
    if project.duty.starts_per_hour is None:
        told.append(Assumption(text=f"{STARTS:g} starts an hour.", mark="common practice, no source"))
    return tuple(told)


def _reasons(scene: Scene) -> Iterator[Reason]:
    """The floor against the speed limit; a field or an armature that the bus overwhelms; a supply that cannot start."""
    found, project = _found(scene), scene.project
    limit, at, fixed = speed_limit(project), found.look, project.load.coupling == "fixed"
    speed = at.loaded if fixed else at.unloaded
    if limit is not None and not speed <= limit:
        enough = f"A floor of {engineering(1.005 * at.enough, 'A', 3)} or more" if math.isfinite(at.enough) else (
            "No field current of the flux curve holds the limit: a lower armature supply")
        yield Reason(
            code="field-floor", message="With the field's chopper dead the floor of "
            f"{engineering(found.fixed.field_floor, 'A')} is left, and the motor"
            f"{', its fixed load on,' if fixed else ''} runs up to {shown(speed, 'rad/s')}, past its limit.",
            figure=Quantity(speed, "rad/s"), limit=Quantity(limit, "rad/s"),
            way_out=f"{enough}, or a lower armature supply.")
    if project.protection.field_loss_trip_time is None:
        yield Reason(
            code="field-loss", message="A broken field winding or lead takes the floor away too, and nothing in the "
            "armature's path limits its speed: a field-loss trip must open its contactor.",
            way_out="[protection] field_loss_trip_time: the field-current relay in the armature contactor's coil.")
    rated = project.motor.rated_voltage or project.nameplate.voltage
    if rated is not None and _highest(scene) > RATED_OVER * rated:
        yield Reason(
            code="above-rated-voltage", message="The bus lies above the motor's rated voltage, and the armature stands "
            "straight on it.", figure=Quantity(_highest(scene), "V"), limit=Quantity(RATED_OVER * rated, "V"),
            way_out="A supply of the motor's own voltage, or an armature chopper, whose duty is capped.")
    yield from out_of_range(found)
    yield from field_heat(found, project)
    if project.circuit.starter == "variable-supply":
        yield from variable_supply(found, project)


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """What the starter and the floor do when they fail."""
    found, project, limit = _found(scene), scene.project, speed_limit(scene.project)
    own = power.sides.get("starter") if power else None
    ends = ("the floor: within the speed limit" if limit is not None and found.look.unloaded <= limit
            else "the load, which is fixed")
    yield FaultCase(
        fault="field-switch",
        name="Field's chopper dead (transistor open, driver or logic lost), load off: the floor is left",
        figures={"field current": Quantity(found.fixed.field_floor, "A"),
                 "speed": Quantity(found.look.unloaded, "rad/s"),
                 "output speed, load on": Quantity(found.look.loaded / found.fixed.load.ratio, "rad/s")},
        ends_by=ends)
    yield FaultCase(
        fault="field-switch",
        name="Field's transistor shorted: full field, the slowest",
        figures={"output speed, load on": Quantity(found.shorted_loaded / found.fixed.load.ratio, "rad/s"),
                 "field current, cold": Quantity(_highest(scene) / float(found.fixed.motor.resistances(
                     found.thermal.cold, found.thermal.cold)[1]), "A")},
        ends_by="nothing in this design: the field winding must bear it, or a thermal switch takes the supply off")
    if own is None or project.circuit.starter != "resistor":
        return
    try:
        begun = starter(found, project)
    except InputError:
        return
    yield from _starter_faults(scene, begun)


def _starter_faults(scene: Scene, begun: Start) -> Iterator[FaultCase]:
    stalled = scene.worst("armature_current_peak", "stall").value
    yield FaultCase(
        fault="starter",
        name="Stalled at the start, the resistor in",
        figures={"armature current": Quantity(begun.rest[0], "A"),
                 "heat in the resistor": Quantity(sum(begun.powers), "W"),
                 "energy until the time-out": Quantity(sum(begun.stalled), "J")},
        ends_by=f"the start timer, after {engineering(begun.time_out, 's', 2)}: the resistor bears it")
    yield FaultCase(
        fault="starter",
        name="Stalled in running, the bypass closed", figures={"armature current": Quantity(stalled, "A")},
        ends_by="the overcurrent release, within "
        f"{engineering(starter_contacts.RELEASE, 's', 2)}, and the armature contactor")
    yield FaultCase(
        fault="starter",
        name="Bypass welded: the next start would be straight on the bus",
        figures={"armature current": Quantity(stalled, "A")},
        ends_by="its opening contact in the armature contactor's coil, which does not close")
    yield FaultCase(
        fault="starter",
        name="Bypass never closes: the motor runs on through the resistor",
        figures={"heat in the resistor": Quantity(sum(begun.resistors) * running(_found(scene))**2, "W")},
        ends_by="the start timer; its thermal fuse")
    yield FaultCase(
        fault="supply-returns",
        name="Supply dips and comes back",
        figures={"drops out below": Quantity(starter_contacts.DROPS_OUT * _running_bus(scene), "V")},
        ends_by="the undervoltage relay opens the armature contactor, and the bypass with it: it stays off until the "
        "start button is pressed")


SIDE = Side(
    parts=_parts, wires=wires, reasons=_reasons, faults=_faults,
    control=Control(
        prepared=field_control.prepared, first_power=first_power, look=field_control.look,
        figures=field_control.figures, warnings=field_control.warnings, span=field_control.span,
        summary=field_control.summary))

