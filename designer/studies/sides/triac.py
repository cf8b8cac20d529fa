"""The triac side: switch, snubber, and what fires it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from designer.circuits.balance import find_setting
from designer.circuits.case import Circuit, Drop, Fixed, Points
from designer.equations.snubber import RECOVERY_CURRENT
from designer.errors import InputError
from designer.parts import snubber, triac
from designer.parts.margins import holds
from designer.parts.snubber_values import CAPACITOR_TOLERANCE
from designer.parts.triac_classes import UNITS, Device
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Assumption, Part, Reason
from designer.studies import phase_cut
from designer.studies.armature_leads import first_brush, second_brush, swap
from designer.studies.groups import voltages
from designer.studies.sides import Control, Names, Row, Scene, Side, SideParts
from designer.studies.sides.mains import THIN
from designer.studies.stall import stall_ends
from designer.studies.triac_firing import Firing, guard_time, network, optocoupled
from designer.waveforms.march import conduct

LEAD_INDUCTANCE = 50e-6     # H, supply and leads without the motor: order of magnitude, common practice, no source
DEVICE_CAPACITANCE = 100e-12  # F, of a blocking triac: order of magnitude, from memory
ROUGH = 1e-3
HAIR = 1e-3                  # rad: past the angle at which the mains exceeds what opposes a current


def given_switch(project: Project) -> dict[str, float]:
    """The numbers of ``[parts.switch]`` by key, as far as they are given."""
    switch = project.parts.switch
    if switch is None:
        return {}
    return {key: value for key in UNITS if (value := getattr(switch, key, None)) is not None}


def prepared(circuit: Circuit, fixed: Fixed, project: Project) -> Fixed:
    """Complete what all points share: gate guard, and the drop of the class that a rough look asks for.

    So the survey seldom is done twice. Raises ``InputError`` where no class blocks the mains.
    """
    omega = 2 * math.pi * float(project.supply.frequency or 0.0)
    guard = max(fixed.gate.guard, omega * guard_time(project))
    fixed = replace(fixed, gate=replace(fixed.gate, guard=guard))
    high = voltages(project)[2]
    rough = replace(fixed, tolerance=ROUGH)
    speed = float(project.target.speed or 0.0) * fixed.load.ratio
    full = circuit.setting_range(fixed)[0]
    point = Points.of(rough, {"voltage": high, "frequency": project.supply.frequency, "setting": full, "speed": speed})
    setting = np.nan_to_num(find_setting(circuit, rough, point)[0], nan=full)
    states = Points.joined([point.at(setting=setting), point.at(speed=np.zeros(1))])
    seen = circuit.stresses(circuit.solve(rough, states))
    crest = math.sqrt(2) * high
    demand = triac.Demand(
        mains_peak=crest, peak_voltage=crest, mean_absolute_current=float(seen["switch_current_mean_absolute"][0]),
        rms_current=float(seen["switch_current_rms"][0]), surge_peak=float(seen["switch_current_peak"][1]),
        stall_peak=float(seen["switch_current_peak"][1]), turn_off_slope=float(seen["turn_off_current_slope"][0]),
        reapplied_voltage=0.0, reapplied_rise=0.0, rise_of_current=0.0)
    found = triac.candidates(demand, given=given_switch(project), margins=project.margins.values)
    holding = (d for d in found if all(
        holds(r) for r in triac.part(d, demand=demand, margins=project.margins.values).ratings))
    return replace(fixed, switch=drop(next(holding, found[-1])))


def drop(device: Device) -> Drop:
    """The conducting drop of a class."""
    return Drop(threshold=device["threshold_voltage"], slope=device["slope_resistance"])


def _parts(scene: Scene) -> SideParts:
    """The smallest class that holds with its snubber, and its firing; raises ``InputError`` where none does."""
    demand, device, quiet = _switch(scene)
    firing, lacking = _fired(scene, device)
    marks = sorted({mark for mark in device.marks.values() if mark != "your file"})
    return SideParts(
        parts=(*quiet, *(firing.parts if firing else ())),
        behind=lambda through: (triac.part(
            device, demand=replace(demand, shorts=through), margins=scene.margins),),
        on_sink=(triac.on_sink(device, name="Q1", demand=demand, margins=scene.margins),),
        bears=(triac.bears(device),), blocking=device["voltage"], drops={"switch": drop(device)},
        capacitance=(1 + CAPACITOR_TOLERANCE) * sum(
            part.value.value for part in quiet if part.role == "snubber-capacitor" and part.value),
        settings=firing.angles if firing else None, reasons=lacking, texts=_texts(scene, firing),
        assumptions=(
            Assumption(text=f"Leads and supply without the motor: {engineering(LEAD_INDUCTANCE, 'H')} where the source "
                       f"has less; blocking triac {engineering(DEVICE_CAPACITANCE, 'F')}.",
                       mark="common practice, no source"),
            Assumption(text="Control logic of 5 V ±5 % from a supply with reinforced isolation, not in this parts "
                       "list.", mark="assumed"),
            *(Assumption(text=f"Switch: {mark}.", mark="generic class") for mark in marks)))


def _fired(scene: Scene, device: Device) -> tuple[Firing | None, tuple[Reason, ...]]:
    assert scene.found is not None
    try:
        if scene.project.circuit.firing == "optocoupler":
            return optocoupled(scene.found, scene.project, device), ()
        return network(scene.circuit, scene.found, scene.project, device), ()
    except InputError as error:
        return None, (Reason(
            code="no-part", message=f"No part can be had ({error.key}): {error.found}; allowed {error.allowed}.",
            way_out=error.hint),)


def _texts(scene: Scene, firing: Firing | None) -> dict[str, str]:
    if firing is None:
        return {}
    if firing.network:
        return {"firing_network": firing.network}
    error = math.degrees(2 * math.pi * float(scene.project.supply.frequency or 0.0) * firing.error)
    return {"detector_error": f"The zero-cross detector's edge may be off by {error:.2g}°: measure both edges and "
            "take their middle."}


def _switch(scene: Scene) -> tuple[triac.Demand, Device, tuple[Part, ...]]:
    """The smallest class that holds with its snubber; the user's own device where it is given."""
    margins, given, found = scene.margins, given_switch(scene.project), scene.found
    assert found is not None
    high, stalled = math.sqrt(2) * voltages(scene.project)[2], scene.stalled
    rms, mean = scene.worst("switch_current_rms"), scene.worst("switch_current_mean_absolute")
    slope = scene.worst("turn_off_current_slope", "any")
    bare = triac.Demand(
        mains_peak=high, peak_voltage=high, mean_absolute_current=mean.value, rms_current=rms.value,
        surge_peak=_first_peak(scene), stall_peak=stalled[1].peak, turn_off_slope=slope.value,
        reapplied_voltage=scene.worst("reapplied_voltage", "any").value, reapplied_rise=0.0, rise_of_current=0.0,
        shorts=scene.shorts, stall_mean_absolute_current=stalled[0].mean_absolute,
        stall_rms_current=stalled[0].rms, stall_time=stall_ends(scene.project, stalled[0]),
        at={"r.m.s. current": rms.at, "commutating slope": slope.at})
    last: tuple[triac.Demand, Device, tuple[Part, ...]] | None = None
    for device in triac.candidates(bare, given=given, margins=margins):
        parts = snubber.choose(_snubber_demand(scene, bare, device))
        demand = _with_snubber(bare, parts)
        last = demand, device, parts
        made = triac.part(device, demand=demand, margins=margins)
        if given or all(holds(r) for r in made.ratings):
            return last
    triac.choose(last[0] if last else bare, given=given, margins=margins)   # raises, with what falls short
    raise AssertionError("the choice above does not return where no class holds")


def _first_peak(scene: Scene) -> float:
    """The first peak when switched on at rest as the mains passes the drops, high mains, cold: above the steady one."""
    assert scene.found is not None
    solved = scene.found.stall.solved
    path = solved.paths[0][[1]]
    early = np.arcsin(np.minimum(path.opposing / path.peak, 1.0)) + HAIR
    return float(conduct(path, solved.winding, early, tolerance=1e-4).crest[0])


def _snubber_demand(scene: Scene, bare: triac.Demand, device: Device) -> snubber.Demand:
    assert scene.found is not None
    solved, supply = scene.found.corners.solved, scene.project.supply
    motor = scene.found.fixed.motor
    return snubber.Demand(
        supply_rms_high=voltages(scene.project)[2], frequency=float(supply.frequency or 0.0),
        step_voltage=bare.reapplied_voltage, inductance=float(solved.winding.inductance(0.0)),
        resistance=float(np.min(solved.paths[0].resistance)),
        recovery_current=float(RECOVERY_CURRENT(slope_i=bare.turn_off_slope)), voltage_rating=device["voltage"],
        commutating_dvdt=None, critical_dvdt=device["critical_dvdt"], turn_off_slope=bare.turn_off_slope,
        turn_off_slope_limit=device["commutating_slope"], turn_on_slope_limit=device["rise_of_current"],
        device_capacitance=DEVICE_CAPACITANCE, lead_inductance=max(supply.source_inductance, LEAD_INDUCTANCE),
        flux_slope=motor.curve.initial_slope, friction_torque=motor.friction_torque, margins=scene.margins)


def _with_snubber(bare: triac.Demand, parts: tuple[Part, ...]) -> triac.Demand:
    stresses = {rating.name: rating.stress.value for part in parts for rating in part.ratings}
    rise = stresses.get("critical dv/dt", stresses.get("commutating dv/dt", 0.0))
    return replace(bare, peak_voltage=max(bare.peak_voltage, stresses["switch voltage at turn-off"]),
                   reapplied_rise=rise, rise_of_current=stresses.get("current rise at turn-on", 0.0))


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """Motor and triac between the rails, the snubber, and what fires it."""
    q, power = names.of("switch") or "Q1", f"{names.marked('wire', 'as the cord')}, mains insulation"
    yield "line rail", "field, first end", power, ""
    yield "field, second end", first_brush(names), power, swap(names, "the two field ends")
    yield second_brush(names), f"{q}, main terminal 2", power, ""
    yield f"{q}, main terminal 1", "neutral rail", power, ""
    if names.of("snubber-resistor"):
        yield (f"{q}, main terminal 2", f"{names.of('snubber-resistor')}, then {names.of('snubber-capacitor')}", THIN,
               f"to {q} main terminal 1, leads as short as they go")
    if "firing_network" in texts:
        yield from phase_cut.network_wires(names, texts["firing_network"])
    elif names.of("gate-driver"):
        yield from phase_cut.driver_wires(names)


def _reasons(scene: Scene) -> Iterator[Reason]:
    assert scene.found is not None
    return phase_cut.reasons(scene.found, scene.project)


def _faults(scene: Scene, power: Any) -> Iterator[Any]:
    assert scene.found is not None
    return phase_cut.halves(scene.found)


SIDE = Side(
    parts=_parts, wires=_wires, reasons=_reasons, faults=_faults,
    control=Control(
        prepared=prepared, first_power=phase_cut.first_power, rows=phase_cut.bench_rows, look=phase_cut.look,
        figures=phase_cut.figures, warnings=phase_cut.warnings, span=phase_cut.span, summary=phase_cut.summary,
        full_is_shorted=lambda _: True))
