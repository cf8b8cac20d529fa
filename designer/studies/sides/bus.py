"""The bus side: bridge, reservoir and what charges, discharges and protects it; or a d.c. supply's own parts."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from designer.circuits.case import Drop, Reservoir
from designer.equations.capacitor import STORED_ENERGY
from designer.parts import bleeder, bridge, contactor
from designer.parts.coordination import Short
from designer.parts.fuse_gates import opening_time
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Assumption, FaultCase, Part, Quantity, Reason, Warning_
from designer.studies import choke_choice
from designer.studies.bus_parts import TOUCHABLE, BusParts, charging_pulse, choose, drawn, source_resistance
from designer.studies.groups import crest_of, voltages
from designer.studies.sides import Names, Power, Row, Scene, Side, SideParts
from designer.studies.sides.mains import guarding

PULSATING = 2          # the bridge's pulses a period


def _parts(scene: Scene) -> SideParts:
    """The bus and what it gives the next survey; raises ``InputError`` where a part cannot be had."""
    made = choose(scene)
    bank, device = made.bank, made.device
    stored = float(STORED_ENERGY(C_max=bank.greatest, V_start=made.crest))
    marks = {mark for mark in bank.marks.values() if mark != "your file"}
    marks |= set() if device is None else {mark for mark in device.marks.values() if mark != "your file"}
    return SideParts(
        surge=made.surge,
        parts=(*(() if scene.alternating else (_main_switch(scene),)), *made.parts),
        behind=lambda through: _rectifier(made, through, scene),
        on_sink=() if device is None or made.demand is None else (
            bridge.on_sink(device, demand=made.demand, margins=scene.margins),),
        bears=() if device is None else (bridge.bears(device),),
        blocking=math.inf if device is None else device["voltage"],
        pulses=(charging_pulse(made.limiter),) if made.limiter and scene.alternating else (),
        drops={} if device is None else {"rectifier": Drop(
            threshold=device["threshold_voltage"], slope=device["slope_resistance"])},
        reservoir=Reservoir(capacitance=bank.capacitance, series_resistance=bank.series_resistance)
        if scene.alternating else None,
        limiter=made.limiter.running_resistance if made.limiter else 0.0,
        choke=made.choke.choke, direct_link=made.link, warnings=_lifted(scene, made),
        assumptions=_assumptions(scene, made, marks),
        texts={"inrush": "" if made.limiter is None else made.limiter.note},
        figures={"bus_crest_unloaded": Quantity(crest_of(scene.project), "V"),
                 "bus_stored_energy": Quantity(stored, "J"), **_times(scene, made)})


def _lifted(scene: Scene, made: BusParts) -> tuple[Warning_, ...]:
    """A bus that the line choke lifts above the crest, told where something switches on it."""
    crest = crest_of(scene.project)
    if made.surge <= crest:
        return ()
    return (Warning_(code="bus-surge", message=(
        f"After a dip of the mains the line choke may lift the bus to {engineering(made.surge, 'V', 3)} for a moment, "
        f"{engineering(made.surge - crest, 'V', 2)} above its crest: what hangs on it must bear that, a transistor "
        "with its overshoot on top.")),)


def _rectifier(made: BusParts, through: tuple[Short, ...], scene: Scene) -> tuple[Part, ...]:
    if made.device is None or made.demand is None:
        return ()
    return (bridge.part(made.device, demand=replace(made.demand, shorts=through), margins=scene.margins),)


def _main_switch(scene: Scene) -> Part:
    """The contactor of a d.c. supply."""
    line, stall = scene.worst("line_current_rms"), scene.worst("line_current_rms", "stall")
    return contactor.choose(contactor.Demand(
        line_current=line.value, stall_current=max(stall.value, line.value), voltage=voltages(scene.project)[2],
        at=line.at), margins=scene.margins)[0]


def _times(scene: Scene, made: BusParts) -> dict[str, Quantity]:
    """Discharge with the bleeder whole and with one string open, s; nothing where the bus is low."""
    part = next((part for part in made.parts if part.role == "bleeder"), None)
    if part is None or part.value is None:
        return {}
    demand = bleeder.bus_demand(
        made.bank.capacitance, tolerance=made.bank.tolerance, peak=made.crest, margins=scene.margins)
    whole, half = (bleeder.time_with(demand, each=part.value.value, in_series=part.count // demand.strings,
                                     strings=strings).value for strings in (demand.strings, demand.strings - 1))
    return {"bus_discharge_time": Quantity(whole, "s"), "bus_discharge_time_one_open": Quantity(half, "s")}


def _assumptions(scene: Scene, made: BusParts, marks: set[str]) -> tuple[Assumption, ...]:
    what = "Bridge and reservoir" if scene.alternating else "Reservoir"
    told = [Assumption(text=f"{what}: {mark}.", mark="generic class") for mark in sorted(marks)]
    if scene.project.supply.prospective_current is None and scene.project.supply.transformer is None:
        told.append(Assumption(
            text=f"Inrush, shorts and ripple current count a supply of {scene.project.supply.fault_current:.0f} A "
                 "into a short.", mark="assumed; common practice, no source"))
    if made.limiter is not None and made.limiter.kind == "bypassed":
        told.append(Assumption(
            text=f"The load stays off for {made.limiter.delay:.1f} s after switching on, until the bypass has closed.",
            mark="condition of this design"))
    return tuple(told)


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """From the supply's rails through limiter and bridge to the plus and minus bus, and what stands across it."""
    power = f"{names.marked('wire', 'as the cord')}, insulation for the bus voltage"
    feed = "line rail" if project.supply.is_mains else f"{names.of('main-switch') or 'S1'}, out"
    if not project.supply.is_mains:
        fused = names.of("dc-fuse") or "F1"
        yield "supply +", fused, power, "the fuse within a hand's breadth of a battery"
        yield fused, f"{names.of('main-switch') or 'S1'}, in", power, "watch the polarity marked on it"
        yield from guarding(project)
    choke = names.of("line-choke")
    if choke:
        yield feed, f"{choke}, one end", power, "its core to the earth screw; clear of the current sensor"
        feed = f"{choke}, other end"
    limiter, bypass = names.of("inrush-limiter"), names.of("inrush-bypass")
    if limiter:
        yield feed, f"{limiter}, one end", power, "it gets hot: clear of wires and capacitors"
        if bypass:
            yield f"{limiter}, one end", f"{bypass}, contact", power, f"back to {limiter}, other end"
        feed = f"{limiter}, other end"
    if project.supply.is_mains:
        br = names.of("bridge") or "BR1"
        yield feed, f"{br}, ~ (first)", power, ""
        yield "neutral rail", f"{br}, ~ (second)", power, ""
        yield f"{br}, +", "plus bus", power, "short and wide: the pulses are several times the mean"
        yield f"{br}, −", "minus bus", power, "never to earth: it is live in both half cycles"
    else:
        yield feed, "plus bus", power, ""
        yield "supply −", "minus bus", power, ""
        yield ("motor frame", "heatsink, metal box, each", power,
               "to the supply's protective earth where it has one, to neither pole")
    fused = names.of("dc-fuse") if project.supply.is_mains else ""
    for role, note in (("reservoir", "plus to plus: reversed it bursts"),
                       ("bleeder", "two strings, each from plus to minus by itself")):
        if names.of(role):
            yield "plus bus", f"{names.of(role)}, each, to the minus bus", power, note
    if fused:
        yield "plus bus", f"{fused}, then the chopper", power, "both ends live until measured dead"
    if names.of("bus-capacitor"):
        note = "at the switch and its diode, not at the reservoir"
        yield (f"{fused}, out" if fused else "plus bus", f"{names.of('bus-capacitor')}, each, to the minus bus", power,
               note + (f"; when {fused} has opened no bleeder empties it: measure here too" if fused else ""))


def _reasons(scene: Scene) -> Iterator[Reason]:
    """Harmonics that no line choke brings down; a bus that the load overwhelms."""
    yield from choke_choice.choose(scene).reasons
    for group in scene.groups["running"]:
        mean = group.stresses.get("bus_voltage_mean")
        if mean is not None and len(group.labels) and not np.all(np.isfinite(mean)):
            at = group.labels[int(np.flatnonzero(~np.isfinite(mean))[0])]
            yield Reason(
                code="bus-collapses", message=f"The load overwhelms the bus: it falls to zero within the half cycle "
                f"({at}).", figure=Quantity(drawn(scene), "A"),
                way_out="A larger reservoir ([parts.reservoir] capacitance), a stiffer supply, or less load.")
            return


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """What bridge, reservoir, bypass and bleeder do when they fail."""
    crest, project, link = crest_of(scene.project), scene.project, power.link if power else None
    own = power.sides["bus"] if power and "bus" in power.sides else None
    if scene.alternating:
        fault = project.supply.fault_current
        opens = {} if link is None else {
            "fuse opens, at the latest": Quantity(opening_time(link, current=fault)[1], "s")}
        yield FaultCase(
            fault="rectifier-shorted",
            name="A diode of the bridge shorted: the mains is short through the diode beside it every other half cycle",
            figures={"prospective current, r.m.s.": Quantity(fault, "A"), **opens}, ends_by="the line fuse")
        yield FaultCase(
            fault="reservoir-shorted",
            name="Reservoir shorted", figures={"prospective current, r.m.s.": Quantity(fault, "A"), **opens},
            ends_by="the line fuse, below the bridge's I²t")
        yield FaultCase(
            fault="reservoir-open",
            name="Reservoir open or dried out: the bus falls to zero twice a period",
            figures={"bus crest": Quantity(crest, "V"), "pulses at": Quantity(
                PULSATING * float(project.supply.frequency or 0.0), "Hz"),
                **({"ripple current left to the film capacitor": Quantity(
                    scene.worst("capacitor_current_switching_rms").value, "A")} if scene.kind.chops else {})},
            first="" if scene.kind.chops else "the load, by the pulses",
            ends_by="nothing in this design: the film capacitor takes the switching ripple and burns"
            if scene.kind.chops else "nothing in this design: the load gets pulses instead of a steady voltage")
    if own is not None and any(part.role == "inrush-bypass" for part in own.parts):
        yield from _bypass_faults(scene, own)
    if own is not None and "bus_discharge_time_one_open" in own.figures and crest > TOUCHABLE:
        yield FaultCase(
            fault="bleeder-open",
            name=f"A bleeder resistor open: {engineering(crest, 'V', 3)} fall to {bleeder.limit('bus').voltage:g} V "
                 "more slowly", figures={"time": own.figures["bus_discharge_time_one_open"]},
            ends_by="the other string; the voltage is measured before anything is touched")


def _bypass_faults(scene: Scene, own: SideParts) -> Iterator[FaultCase]:
    """The bypass of the charging resistor welded, or never closed."""
    project, crest = scene.project, crest_of(scene.project)
    resistor = next(part for part in own.parts if part.role == "inrush-limiter")
    assert resistor.value is not None
    ohms, high = resistor.value.value, voltages(project)[2]
    yield FaultCase(
        fault="charging",
        name="Bypass of the charging resistor welded: the next switch-on is not limited",
        figures={"peak": Quantity(crest / source_resistance(project), "A")},
        ends_by=f"the fuse{'; the bridge may fail short with it' if scene.alternating else ''}")
    yield FaultCase(
        fault="charging",
        name="Bypass does not close with the load on, or the bus is short behind the charging resistor",
        figures={"heat in the resistor, load on": Quantity(ohms * scene.worst("line_current_rms").value**2, "W"),
                 "heat in it, bus short": Quantity(high**2 / ohms, "W"), "current then": Quantity(high / ohms, "A")},
        ends_by="the thermal fuse on the resistor: the fuse may never open at that current")


SIDE = Side(parts=_parts, wires=_wires, reasons=_reasons, faults=_faults)
