"""The chopper side: transistor, freewheel diode, gate drive, current limit, clamp, and the frequency they run at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from designer.checks import verdict
from designer.parts import conductors, flyback_diode, transistor
from designer.parts.commutation import State
from designer.parts.gate_values import GENERIC
from designer.parts.stray_clamp import STRAY_INDUCTANCE
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Array, Assumption, Check, FaultCase, Part, Quantity, Reason
from designer.studies import chopper_control, chopper_frequency
from designer.studies.armature_leads import contactor_row, fed, first_brush, second_brush, swap
from designer.studies.bus_parts import TOUCHABLE
from designer.studies.chopper_bench import first_power
from designer.studies.chopper_parts import Chosen, Seen, choose
from designer.studies.groups import crest_of
from designer.studies.sides import Control, Names, Power, Row, Scene, Side, SideParts, Where
from designer.studies.sides.mains import thin
from designer.studies.stall import stall_ends
from designer.studies.stall_leads import on_motor

LOGIC = "thin wire, apart from every power wire"


def seen_of(scene: Scene) -> Seen:
    """What the survey saw of the chopper: the worst of each stress, each in its own state."""
    assert scene.fixed is not None
    assert scene.fixed.chopping is not None
    motor, series = scene.fixed.motor, scene.fixed.field is None
    crest = max(crest_of(scene.project), scene.worst("bus_voltage_crest", "any").value)
    rms, mean, peak = (scene.worst(name) for name in (
        "switch_current_rms", "freewheel_current_mean", "armature_current_peak"))
    stall = scene.groups["stall"][0]
    cold = float(stall.points.armature_resistance[0]) + (float(stall.points.field_resistance[0]) if series else 0.0)
    return Seen(
        crest=crest, state=_state(scene, "running", crest), stall=_state(scene, "stall", crest),
        stall_time=stall_ends(scene.project, scene.stalled[0]), peak=peak.value,
        diode=(mean.value, scene.worst("freewheel_current_rms").value),
        stalled_diode=(scene.worst("freewheel_current_mean", "stall").value,
                       scene.worst("freewheel_current_rms", "stall").value),
        on_time=scene.least("on_time").value, frequency=scene.fixed.chopping.frequency,
        inductance=float(motor.series_winding().inductance(peak.value)) if series else motor.armature_inductance,
        resistance=cold, opposing=motor.brush_drop,
        at={"r.m.s. current": rms.at, "mean current": mean.at, "running peak": peak.at})


def _state(scene: Scene, where: Where, crest: float) -> State:
    """The worst of each current; the valley is what the transistor takes over."""
    valleys = [float(np.nanmax(_valley(group.stresses), initial=0.0)) for group in scene.groups[where]]
    return State(
        bus=crest, mean_current=scene.worst("switch_current_mean", where).value,
        rms_current=scene.worst("switch_current_rms", where).value, turn_on_current=max(valleys, default=0.0),
        turn_off_current=scene.worst("switch_current_peak", where).value)


def _valley(stresses: Mapping[str, Array]) -> Array:
    return np.maximum(stresses["armature_current_peak"] - stresses["armature_current_ripple"], 0.0)


def _parts(scene: Scene) -> SideParts:
    """All that switches; raises ``InputError`` where a part cannot be had."""
    seen = seen_of(scene)
    chosen = choose(seen, scene.project)
    seated = (
        transistor.on_sink(chosen.device, name="Q1", demand=chosen.demand, margins=scene.margins),
        flyback_diode.on_sink(chosen.diode, name="D1", demand=chosen.diode_demand, margins=scene.margins))
    frequency = chopper_frequency.choose(scene, seen, chosen, seated)
    return SideParts(
        parts=(*chosen.parts(), _leads(scene, chosen)), on_sink=seated, drops=chopper_control.drops(chosen),
        switched=chosen.switched,
        chopping=chopper_control.chopping_of(chosen, frequency.value),
        reasons=tuple(_no_start(scene, chosen)), assumptions=_assumptions(scene, chosen), tables=(frequency.table,),
        warnings=frequency.warnings,
        checks=_surged(scene, chosen),
        figures={
            "current_limit": Quantity(chosen.limit.nominal, "A"),
            "armature_current_ripple": Quantity(scene.worst("armature_current_ripple").value, "A"),
        })


def _surged(scene: Scene, chosen: Chosen) -> tuple[Check, ...]:
    """Transistor and diode at a turn-off while a choke ahead has lifted the bus: rare, so held to the rating itself."""
    if not scene.surge:
        return ()
    stress = scene.surge + max(chosen.clamp.peak_voltage - crest_of(scene.project), 0.0)
    return tuple(
        Check(part=name, rating="voltage with the bus lifted after a dip", stress=Quantity(stress, "V"),
              limit=Quantity(device["voltage"], "V"), margin=1.0,
              verdict=verdict(stress=stress, limit=device["voltage"], allowed=1.0),
              source="rare and short: the rating itself (common practice, no source)",
              at="the mains back after a dip, the line choke and the reservoir ringing",
              remedy="A device of the next voltage class in the file's parts, or a smaller choke.")
        for name, device in (("Q1", chosen.device), ("D1", chosen.diode)))


def _leads(scene: Scene, chosen: Chosen) -> Part:
    """The motor's leads: they carry the freewheel diode's current too, and where it can jam all of the limit's."""
    worst, jams = scene.worst("armature_current_rms"), scene.project.load.can_jam
    held = max(worst.value, chosen.limit.high) if jams else worst.value
    return conductors.winding_leads(
        conductors.Carried(current=held, ambient=scene.box, overloads=on_motor(scene),
                           at="stall under the current limit, its upper end" if jams else worst.at),
        role="motor-wire", what="motor", margins=scene.margins)


def _no_start(scene: Scene, chosen: Chosen) -> Iterator[Reason]:
    """The torque at rest under the limit's lower end, cold and stiff, against friction and load."""
    assert scene.fixed is not None
    motor, load, stall = scene.fixed.motor, scene.fixed.load, scene.groups["stall"][0]
    current = chosen.limit.low
    field = current if scene.fixed.field is None else float(stall.points.field_current[0])
    torque = float(motor.curve.at(field, motor.remanence)) * current
    needed = motor.friction_torque + float(load.at_motor(0.0))
    if torque <= needed:
        yield Reason(
            code="no-start", message="Under its current limit, at the lower end of that, the motor does not start its "
            "load.", figure=Quantity(torque, "N*m"), limit=Quantity(needed, "N*m"),
            way_out="A higher [control] current_limit, more field current, or a larger gear ratio.")


def _assumptions(scene: Scene, chosen: Chosen) -> tuple[Assumption, ...]:
    marks = {mark for one in (chosen.device, chosen.diode) for mark in one.marks.values() if mark != "your file"}
    apart = ", from a supply with reinforced isolation," if crest_of(scene.project) > TOUCHABLE else ""
    return (
        Assumption(text=f"Commutation loop of {engineering(STRAY_INDUCTANCE, 'H')}: bus capacitor, freewheel diode and "
                   "transistor within about 10 cm of loop.", mark="common practice, no source"),
        Assumption(text=f"Gate driver: {engineering(GENERIC.delay, 's', 2)} of delay, shortest pulse "
                   f"{engineering(GENERIC.shortest_pulse, 's', 2)}.", mark="generic class, from memory"),
        Assumption(text=f"Control logic that makes the duty{apart} is not in this parts list.", mark="assumed"),
        *(Assumption(text=f"Transistor and freewheel diode: {mark}.", mark="generic class") for mark in sorted(marks)),
    )


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """The loop of bus capacitor, diode and transistor; motor; clamp; gate drive; current limit."""
    thick = f"{names.of('motor-wire')} {names.marked('motor-wire', 'for the motor current')}".strip()
    power = f"{thick}, insulation for the bus voltage"
    q, d, shunt = (names.of(role) for role in ("switch", "flyback-diode", "current-sense-resistor"))
    fused = names.of("dc-fuse") if project.supply.is_mains else ""
    top = f"{fused}, out" if fused else "plus bus"
    yield top, f"{d}, cathode", "copper area or wide strap", "this loop is the shortest of all"
    yield f"{d}, anode", f"{q}, drain or collector", "copper area or wide strap", ""
    if project.circuit.kind is not None and CIRCUIT_KINDS[project.circuit.kind].winding == "series":
        yield from contactor_row(names, top, power)
        yield fed(names, top), "field, first end", power, ""
        yield "field, second end", first_brush(names), power, swap(names, "the field ends")
    else:
        yield from contactor_row(names, top, power)
        yield fed(names, top), first_brush(names), power, swap(names, "the brushes' leads")
    yield second_brush(names), f"{q}, drain or collector", power, "as a pair with the lead before"
    yield f"{q}, source or emitter", f"{shunt}, first end", "copper area or wide strap", ""
    yield f"{shunt}, second end", "minus bus", "copper area or wide strap", "never to earth: the bus is live"
    yield from cell_wires(names, q=q, shunt=shunt, top=top, project=project)


def cell_wires(names: Names, *, q: str, shunt: str, top: str, project: Project) -> Iterator[Row]:
    """Clamp, gate drive and current limit of the transistor ``q``, the roles those of an armature's chopper."""
    if names.of("clamp-capacitor"):
        c = names.of("clamp-capacitor")
        yield f"{q}, drain or collector", f"{names.of('clamp-diode')}, anode", "its own legs", "within a centimetre"
        yield f"{names.of('clamp-diode')}, cathode", c, "its own legs", f"its other end to {q}, source or emitter"
        yield c, f"{names.of('clamp-resistor')}, then {'the ' if top == 'plus bus' else ''}{top}", thin(project), ""
    yield from _gate_wires(names, q, project)
    yield from _limit_wires(names, q, shunt, wire=thin(project))


def _gate_wires(names: Names, q: str, project: Project) -> Iterator[Row]:
    u, supply, wire = names.of("gate-driver"), names.of("gate-supply"), thin(project)
    yield f"{supply}, plus", f"{u}, supply pin", wire, f"{names.of('gate-supply-capacitor')} at the pins"
    yield f"{supply}, minus", f"{q}, source or emitter pin", wire, "to the pin itself, ahead of the shunt"
    yield f"{u}, output", f"{names.of('gate-resistor')}, then {q} gate", wire, "twisted with the return"
    if names.of("gate-resistor-off"):
        yield (f"{q}, gate", f"{names.of('gate-resistor-off')}, then {names.of('gate-bypass-diode')}, anode", wire,
               f"its cathode to {u}, output")
    yield (f"{q}, gate", f"{names.of('gate-pull-down')} and {names.of('gate-clamp')}, cathode", "their own legs",
           f"other ends to {q}, source or emitter")
    yield ("logic, duty output", f"{u}, input", LOGIC,
           "the isolated side" if crest_of(project) > TOUCHABLE else "its ground at the bus minus, at the driver")


def _limit_wires(names: Names, q: str, shunt: str, *, wire: str) -> Iterator[Row]:
    u, c = names.of("current-limit-comparator"), names.of("current-sense-filter-capacitor")
    yield (f"{shunt}, sense end at {q}", f"{names.of('current-sense-filter-resistor')}, then {u}, input", wire,
           f"twisted with the other sense lead; {c} at the input")
    yield f"{shunt}, sense end at the bus", f"{u}, ground", wire, "carries no other current"
    yield (f"{u}, reference", f"{names.of('threshold-resistor')}, then {u}, threshold", wire,
           f"{names.of('threshold-resistor', 1)} from there to ground")
    yield f"{u}, latch output", f"{names.of('gate-driver')}, disable", wire, "it ends the on-time without any program"


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """What transistor, diode, gate and limit do when they fail."""
    yield from chopper_control.faults(scene)
    own, crest = power.sides.get("chopper") if power else None, Quantity(crest_of(scene.project), "V")
    yield FaultCase(
        fault="freewheel-shorted",
        name="Freewheel diode shorted: the transistor turns on into the bus", figures={"bus": crest},
        ends_by="the current limit where it is quicker than the transistor; else the d.c. fuse")
    yield FaultCase(
        fault="gate-supply-low",
        name="Gate supply lost or low", figures={"bus": crest},
        ends_by="the driver's undervoltage lock-out and the pull-down: the transistor stays off")
    if own is not None and own.chopping is not None:
        yield FaultCase(
            fault="current-sensor-stuck",
            name="Shunt or sense lead shorted, comparator dead: no current limit, unseen until a stall",
            figures={"stall current at the setting": Quantity(_unlimited(scene), "A"),
                     "limit that is missing": Quantity(own.chopping.current_limit, "A")},
            ends_by="nothing in this design before the transistor fails short: try the limit before each use")


def _unlimited(scene: Scene) -> float:
    """The stall current (A) that the setting would drive without a limit, highest bus, cold."""
    assert scene.fixed is not None
    stall, series = scene.groups["stall"][0], scene.fixed.field is None
    resistance = float(stall.points.armature_resistance[0] + (stall.points.field_resistance[0] if series else 0.0))
    volts = float(stall.points.setting[0]) * crest_of(scene.project) - scene.fixed.motor.brush_drop
    return max(volts, 0.0) / resistance


SIDE = Side(
    parts=_parts, wires=_wires, reasons=chopper_control.reasons, faults=_faults,
    control=Control(
        prepared=chopper_control.prepared, first_power=first_power, look=chopper_control.look,
        figures=chopper_control.figures, warnings=chopper_control.warnings, span=chopper_control.span,
        summary=chopper_control.summary))
