"""The power side of a triac circuit: switch, snubber, heatsink, fuse, varistor, X2 capacitor, wires."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.balance import find_setting
from designer.circuits.case import Fixed, Points
from designer.circuits.run_up import run_up
from designer.circuits.triac_series import TriacSeries
from designer.equations.motor import REFERRED_INERTIA
from designer.equations.snubber import RECOVERY_CURRENT
from designer.parts import conductors, fuse, heatsink, main_switch, snubber, triac, varistor, x2_capacitor
from designer.parts.fuse_gates import Link
from designer.parts.heat_path import box_rise
from designer.parts.margins import holds
from designer.parts.snubber_values import CAPACITOR_TOLERANCE
from designer.parts.triac_classes import UNITS, Device
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Part, ThermalNode
from designer.studies.stall import Stall
from designer.studies.survey import Group, Survey, Worst, voltages
from designer.waveforms.march import conduct

LEAD_INDUCTANCE = 50e-6     # H, supply and leads without the motor: order of magnitude, common practice, no source
DEVICE_CAPACITANCE = 100e-12  # F, of a blocking triac: order of magnitude, from memory
UNKNOWN_START = 0.5         # s: a start where no inertia is given; upper end of common practice, no source
ROUGH = 1e-3
SHORTEST_STALL, FOREVER = 1.0, 1e5   # s
BRUSH_LIFE = 1000.0         # h on a.c., upper end of 500 to 1000 h (seen)
LEAST_STARTS = 1e4
PARTS_OF_START = (4, 13, 23)   # of the nodes of a run-up
STARTED = 0.95              # of the running speed: there the start is over


@dataclass(frozen=True, kw_only=True)
class Power:
    """The chosen parts, the heat path, and what later steps need of them."""

    parts: tuple[Part, ...]
    thermal: tuple[tuple[ThermalNode, ...], ...]
    device: Device
    link: Link
    demand: triac.Demand
    box: float                   # °C in the box


def given_switch(project: Project) -> dict[str, float]:
    """The numbers of ``[parts.switch]`` by key, as far as they are given."""
    switch = project.parts.switch
    if switch is None:
        return {}
    return {key: value for key in UNITS if (value := getattr(switch, key, None)) is not None}


def likely_device(circuit: TriacSeries, fixed: Fixed, project: Project) -> Device:
    """The class that a rough look at target and stall asks for, so that the survey seldom is done twice.

    Raises ``InputError`` where no class blocks the mains.
    """
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
        rms_current=float(seen["switch_current_rms"][0]), surge_peak=float(seen["switch_current_peak"][1]), stall_peak=float(seen["switch_current_peak"][1]),
        turn_off_slope=float(seen["turn_off_current_slope"][0]), reapplied_voltage=0.0, reapplied_rise=0.0, rise_of_current=0.0)
    found = triac.candidates(demand, given=given_switch(project), margins=project.margins.values)
    holding = (d for d in found if all(
        holds(r) for r in triac.part(d, demand=demand, margins=project.margins.values).ratings))
    return next(holding, found[-1])


def stress(circuit: TriacSeries, groups: Sequence[Group], name: str) -> Worst:
    """The greatest of a stress over groups of states."""
    found = [group.worst(circuit.stresses(group.solved)[name]) for group in groups]
    return max(found, key=lambda worst: worst.value)


def loaded(group: Group) -> Group:
    """The states of a group that carry the load."""
    at = np.flatnonzero(group.points.load > 0)
    return Group(labels=tuple(group.labels[k] for k in at), points=group.points[at], solved=group.solved[at])


def start_pulses(circuit: TriacSeries, found: Survey, project: Project) -> tuple[fuse.Pulse, ...]:
    """A start from rest at the setting, high mains, cold, load as written: its first part, and longer and longer ones.

    The current is highest at rest, so a short beginning can open a fuse that would bear the whole.
    """
    stalled = float(found.stall.solved.rms[0])
    inertia = project.motor.inertia
    speed = float(found.held.points.speed[2])
    if inertia is None or not speed > 0:
        return (fuse.Pulse(name="a start", rms=stalled, time=UNKNOWN_START),)
    load = found.fixed.load
    referred = float(REFERRED_INERTIA(J_m=inertia, J_load=load.inertia, u=load.ratio))
    points = found.stall.points[[0]].at(setting=np.array([found.setting])).scaled(load=1.0)
    run = run_up(circuit, found.fixed, points, start=1e-3 * speed, end=STARTED * speed, inertia=referred)
    if not math.isfinite(run.time):
        return (fuse.Pulse(name="a start", rms=stalled, time=UNKNOWN_START),)
    return tuple(
        fuse.Pulse(name=f"a start, first {engineering(float(run.times[k]), 's', 2)}",
                   rms=math.sqrt(float(run.heatings[k] / run.times[k])), time=float(run.times[k]))
        for k in PARTS_OF_START)


def power_side(circuit: TriacSeries, found: Survey, project: Project, stalled: tuple[Stall, ...]) -> Power:
    """Choose the power side; raises ``InputError`` where a part cannot be had, with the figure."""
    margins = project.margins.values
    pulses = start_pulses(circuit, found, project)
    box = found.thermal.ambient + _rise(project, _loss_estimate(found))
    link_demand = _fuse_demand(circuit, found, project, stalled, pulses, box)
    links = fuse.options(link_demand, margins=margins)
    least = min((fuse.let_through(link, prospective=link_demand.prospective) for link in links), default=0.0)
    demand, device, quiet = _switch(circuit, found, project, stalled, least)
    on_sink = triac.on_sink(device, name="Q1", demand=demand, margins=margins)
    sink_given = project.parts.heatsink.thermal_resistance if project.parts.heatsink else None
    sink, nodes = heatsink.choose(heatsink.Demand(
        devices=(on_sink,), ambient=found.thermal.ambient, box_rise=box - found.thermal.ambient, given=sink_given,
        at=demand.at["r.m.s. current"]), margins=margins)
    link_demand = replace(link_demand, device_i2t=device["i2t"])
    fused, link = fuse.choose(link_demand, margins=margins, given=_given_fuse(project))
    demand = replace(demand, let_through=fuse.let_through(link, prospective=link_demand.prospective))
    switch = triac.part(device, demand=demand, margins=margins)
    surge = varistor.choose(varistor.Demand(
        nominal=voltages(project)[1], high=voltages(project)[2], device_voltage=device["voltage"]), margins=margins)
    main = main_switch.choose(main_switch.Demand(
        line_current=link_demand.line_current, stall_current=stalled[0].rms, nominal=voltages(project)[1],
        at=link_demand.at), margins=margins)
    x2 = _x2(found, project, quiet, margins)
    wires = _wires(found, link_demand, link, margins, box)
    return Power(parts=(main, fused, surge, *x2, switch, *quiet, sink, *wires), thermal=nodes, device=device, link=link,
                 demand=demand, box=box)


def _rise(project: Project, loss: float) -> float:
    enclosure = project.ambient.enclosure
    return box_rise(loss, ventilated=bool(enclosure and enclosure.ventilated),
                    volume=enclosure.volume if enclosure else None)


def _loss_estimate(found: Survey) -> float:
    """Heat inside the box: the switch's conduction loss at the worst loaded state, plus 2 W for the control side."""
    square, absolute = float(np.nanmax(found.held.square)), float(np.nanmax(found.held.absolute))
    return found.fixed.switch.threshold * absolute + found.fixed.switch.slope * square + 2.0


def _given_fuse(project: Project) -> fuse.Given | None:
    own = project.parts.fuse
    return None if own is None else fuse.Given(
        rating=own.rating, characteristic=own.characteristic, breaking_capacity=own.breaking_capacity,
        clearing=own.i2t, voltage=own.voltage, current_kind=own.current_kind)


def _fuse_demand(
    circuit: TriacSeries, found: Survey, project: Project, stalled: tuple[Stall, ...], pulses: tuple[fuse.Pulse, ...],
    box: float,
) -> fuse.Demand:
    line = stress(circuit, (loaded(found.corners), found.range), "line_current_rms")
    return fuse.Demand(
        line_current=line.value, pulses=pulses,
        stall_current=stalled[0].rms, prospective=project.supply.fault_current, voltage=voltages(project)[1],
        ambient=box, starts=_starts(project), at=line.at)


def _starts(project: Project) -> float:
    """Starts that the fuse must bear: those of the brushes' life; 1e4 where the file says none an hour."""
    hourly = project.duty.starts_per_hour
    return LEAST_STARTS if hourly is None else max(LEAST_STARTS, hourly * BRUSH_LIFE)


def _switch(
    circuit: TriacSeries, found: Survey, project: Project, stalled: tuple[Stall, ...], let_through: float
) -> tuple[triac.Demand, Device, tuple[Part, ...]]:
    """The smallest class that holds with its snubber; the user's own device where it is given."""
    margins, given = project.margins.values, given_switch(project)
    high = math.sqrt(2) * voltages(project)[2]
    running, everything = (loaded(found.corners), found.range), (found.corners, found.range, found.stall)
    names = ("switch_current_rms", "switch_current_mean_absolute", "switch_current_peak", "turn_off_current_slope",
             "reapplied_voltage")
    worst = {name: stress(circuit, running if name in names[:2] else everything, name) for name in names}
    rms, mean, slope = (worst[name] for name in (names[0], names[1], names[3]))
    bare = triac.Demand(
        mains_peak=high, peak_voltage=high, mean_absolute_current=mean.value,
        rms_current=rms.value, surge_peak=_first_peak(found), stall_peak=stalled[1].peak,
        turn_off_slope=slope.value, reapplied_voltage=worst["reapplied_voltage"].value,
        reapplied_rise=0.0, rise_of_current=0.0, let_through=let_through,
        stall_mean_absolute_current=stalled[0].mean_absolute, stall_rms_current=stalled[0].rms,
        stall_time=_stall_ends(project, stalled[0]),
        at={"r.m.s. current": rms.at, "current slope at turn-off": slope.at})
    last: tuple[triac.Demand, Device, tuple[Part, ...]] | None = None
    for device in triac.candidates(bare, given=given, margins=margins):
        parts = snubber.choose(_snubber_demand(circuit, found, project, worst, device))
        demand = _with_snubber(bare, parts)
        last = demand, device, parts
        made = triac.part(device, demand=demand, margins=margins)
        if given or all(holds(r) for r in made.ratings):
            return last
    triac.choose(last[0] if last else bare, given=given, margins=margins)   # raises, with what falls short
    raise AssertionError("the choice above does not return where no class holds")


def _first_peak(found: Survey) -> float:
    """The first peak when switched on at rest at the zero, full conduction, high mains, cold."""
    path, winding = found.stall.solved.paths[0][[1]], found.stall.solved.winding
    return float(conduct(path, winding, np.array([1e-3]), tolerance=1e-4).crest[0])


def _stall_ends(project: Project, stall: Stall) -> float:
    """Time, s, for which the switch must bear the stall: the winding's own; for ever where that stands it."""
    if not project.load.can_jam:
        return SHORTEST_STALL
    return FOREVER if stall.time is None else min(max(stall.time, SHORTEST_STALL), FOREVER)


def _snubber_demand(
    circuit: TriacSeries, found: Survey, project: Project, worst: Mapping[str, Worst], device: Device
) -> snubber.Demand:
    solved, supply = found.corners.solved, project.supply
    slope = worst["turn_off_current_slope"].value
    return snubber.Demand(
        supply_rms_high=voltages(project)[2], frequency=float(supply.frequency or 0.0),
        step_voltage=worst["reapplied_voltage"].value, inductance=float(solved.winding.inductance(0.0)),
        resistance=float(np.min(solved.paths[0].resistance)),
        recovery_current=float(RECOVERY_CURRENT(slope_i=slope)), voltage_rating=device["voltage"],
        commutating_dvdt=None, critical_dvdt=device["critical_dvdt"], turn_off_slope=slope,
        turn_off_slope_limit=device["commutating_slope"], turn_on_slope_limit=device["rise_of_current"],
        device_capacitance=DEVICE_CAPACITANCE, lead_inductance=max(supply.source_inductance, LEAD_INDUCTANCE),
        flux_slope=found.fixed.motor.curve.initial_slope, friction_torque=found.fixed.motor.friction_torque,
        margins=project.margins.values)


def _with_snubber(bare: triac.Demand, parts: tuple[Part, ...]) -> triac.Demand:
    stresses = {rating.name: rating.stress.value for part in parts for rating in part.ratings}
    rise = stresses.get("critical dv/dt", stresses.get("commutating dv/dt", 0.0))
    return replace(bare, peak_voltage=max(bare.peak_voltage, stresses["switch voltage at "
        "turn-off"]), reapplied_rise=rise,
                   rise_of_current=stresses.get("current rise at turn-on", 0.0))


def _x2(found: Survey, project: Project, quiet: tuple[Part, ...], margins: Mapping[str, float]) -> tuple[Part, ...]:
    power = float(np.max(found.range.solved.input_power))
    other = (1 + CAPACITOR_TOLERANCE) * sum(
        part.value.value for part in quiet if part.role == "snubber-capacitor" and part.value)
    capacitor, bleeder = x2_capacitor.choose(x2_capacitor.Demand(
        mains_high=voltages(project)[2], frequency=float(project.supply.frequency or 0.0), motor_power=power,
        other_capacitance=other), margins=margins)
    return (capacitor,) if bleeder is None else (capacitor, bleeder)


def _wires(
    found: Survey, demand: fuse.Demand, link: Link, margins: Mapping[str, float], box: float
) -> tuple[Part, ...]:
    let = fuse.let_through(link, prospective=demand.prospective)
    inside = conductors.Demand(current=demand.line_current, fuse_rating=link.rating, let_through=let, ambient=box)
    outside = replace(inside, ambient=found.thermal.ambient)
    return conductors.cord(outside), conductors.hook_up(inside, margins=margins)
