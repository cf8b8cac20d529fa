"""The mains side: main switch, line fuse, varistor, X2 capacitor with its bleeder, cord, hook-up wire, earth.

On a d.c. supply only main switch and wires remain; the d.c. fuse belongs to the bus.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from designer.circuits.run_up import run_up
from designer.equations.fuse import FAULT_INDUCTANCE, FAULT_STEEPNESS
from designer.equations.motor import REFERRED_INERTIA
from designer.parts import conductors, fuse, main_switch, varistor, x2_capacitor
from designer.parts.coordination import Short
from designer.parts.fuse_gates import Link
from designer.project.model import Project
from designer.project.supply import REFERENCE_REACTANCE, REFERENCE_RESISTANCE
from designer.quantities import engineering
from designer.results import Part
from designer.studies.groups import voltages
from designer.studies.second_off import asked, coil_thermal
from designer.studies.sides import Names, Row, Scene, Side, SideParts
from designer.studies.stall_leads import on_line
from designer.studies.survey import Survey

UNKNOWN_START = 0.5         # s: a start where no inertia is given; upper end of common practice, no source
BRUSH_LIFE = 1000.0         # h on a.c., upper end of 500 to 1000 h (seen)
LEAST_STARTS = 1e4
PARTS_OF_START = (4, 13, 23)   # of the nodes of a run-up
LEADS = 50e-6               # H of a fault loop at the least: order of magnitude, common practice, no source
STARTED = 0.95              # of the running speed: there the start is over
THIN = "0.25 mm² or more, mains insulation"
THIN_DIRECT = "0.25 mm² or more, insulation for the bus voltage"


def line_demand(scene: Scene) -> fuse.Demand:
    """What the line fuse carries, bears and breaks, as far as the survey tells it."""
    project, line = scene.project, scene.worst("line_current_rms")
    hourly = project.duty.starts_per_hour
    return fuse.Demand(
        line_current=line.value, pulses=() if scene.found is None else start_pulses(scene.found, project),
        stall_current=scene.stalled[0].line if scene.stalled else line.value, prospective=project.supply.fault_current,
        steepness=steepness(project), voltage=voltages(project)[1], ambient=scene.box,
        starts=LEAST_STARTS if hourly is None else max(LEAST_STARTS, hourly * BRUSH_LIFE), at=line.at)


def beside(demand: fuse.Demand, current: float) -> fuse.Demand:
    """Give the demand with a current (A r.m.s.) that the mains feeds beside the armature's, always on.

    Safe side: r.m.s. currents are added, which no phase between them can pass.
    """
    return replace(
        demand, line_current=demand.line_current + current, stall_current=demand.stall_current + current,
        pulses=tuple(replace(pulse, rms=pulse.rms + current) for pulse in demand.pulses))


def steepness(project: Project) -> float:
    """Steepest rise of a short per ampere of prospective current, 1/s: fired at the crest of the highest mains.

    The loop's impedance has the angle of the running supply, that of IEC 60725's reference where the file takes an
    ideal one; its inductance is no less than that of the leads.
    """
    supply, high, frequency = project.supply, voltages(project)[2], float(project.supply.frequency or 0.0)
    ohms, henry, inductance = supply.source_resistance, supply.source_inductance, LEADS
    if ohms == 0 and henry == 0:
        ohms, henry = REFERENCE_RESISTANCE, REFERENCE_REACTANCE / (2 * math.pi * frequency)
    if henry > 0:
        inductance = max(inductance, float(FAULT_INDUCTANCE(
            V_rms=high, I_k=supply.fault_current, L_run=henry, R_run=ohms, f=frequency)))
    return float(FAULT_STEEPNESS(V_rms=high, L_loop=inductance, I_k=supply.fault_current))


def start_pulses(found: Survey, project: Project) -> tuple[fuse.Pulse, ...]:
    """A start from rest at the setting, high mains, cold, load as written: its first part, and longer and longer ones.

    The current is highest at rest, so a short beginning can open a fuse that would bear the whole. Behind a starter's
    resistor the start is that of its stages.
    """
    if project.circuit.starter == "resistor":
        from designer.studies.start_run import line_pulses

        return line_pulses(found, project)
    stalled = math.sqrt(float(found.stall.solved.line_square[0]))
    inertia, speed = project.motor.inertia, float(found.held.points.speed[2])
    if inertia is None or not speed > 0:
        return (fuse.Pulse(name="a start", rms=stalled, time=UNKNOWN_START),)
    load = found.fixed.load
    referred = float(REFERRED_INERTIA(J_m=inertia, J_load=load.inertia, u=load.ratio))
    points = found.stall.points[[0]].scaled(load=1.0)
    if project.control.feedback != "residual-voltage":      # which fires at once until the speed is there
        points = points.at(setting=np.array([found.setting]))
    run = run_up(found.circuit, found.fixed, points, start=1e-3 * speed, end=STARTED * speed, inertia=referred)
    if not math.isfinite(run.time):
        return (fuse.Pulse(name="a start", rms=stalled, time=UNKNOWN_START),)
    return tuple(
        fuse.Pulse(name=f"a start, first {engineering(float(run.times[k]), 's', 2)}",
                   rms=math.sqrt(float(run.heatings[k] / run.times[k])), time=float(run.times[k]))
        for k in PARTS_OF_START)


def front(
    scene: Scene, demand: fuse.Demand | None, others: tuple[SideParts, ...]
) -> tuple[tuple[Part, ...], Link | None, tuple[Short, ...]]:
    """Give the parts ahead of all others, the line fuse, and the shorts that it lets through.

    Raises ``InputError`` where a part cannot be had. ``demand`` is None on a d.c. supply.
    """
    if demand is None:
        return (), None, ()
    margins, project = scene.margins, scene.project
    demand = replace(demand, devices=tuple(one for made in others for one in made.bears),
                     pulses=(*demand.pulses, *(pulse for made in others for pulse in made.pulses)))
    fused, link = fuse.choose(demand, margins=margins, given=given_fuse(project))
    through = fuse.passed(link, demand=demand)
    surge = varistor.choose(varistor.Demand(
        nominal=voltages(project)[1], high=voltages(project)[2],
        device_voltage=min((made.blocking for made in others), default=math.inf)), margins=margins)
    main = main_switch.choose(main_switch.Demand(
        line_current=demand.line_current, stall_current=demand.stall_current, nominal=voltages(project)[1],
        at=demand.at), margins=margins)
    inside = conductors.Demand(
        current=demand.line_current, fuse_rating=link.rating, ambient=scene.box,
        let_through=fuse.let_through(link, prospective=demand.prospective), overloads=on_line(scene, link))
    wires = (conductors.cord(replace(inside, ambient=scene.ambient)), conductors.hook_up(inside, margins=margins))
    across = _x2(scene, others)
    return (main, fused, surge, *across, *_filter(scene, across[0]), *wires), link, through


def given_fuse(project: Project) -> fuse.Given | None:
    """The fuse of ``[parts.fuse]``; None where there is none."""
    own = project.parts.fuse
    return None if own is None else fuse.Given(
        rating=own.rating, characteristic=own.characteristic, breaking_capacity=own.breaking_capacity,
        clearing=own.i2t, voltage=own.voltage, current_kind=own.current_kind)


def _x2(scene: Scene, others: tuple[SideParts, ...]) -> tuple[Part, ...]:
    project = scene.project
    power = float(np.max(scene.groups["running"][-1].solved.input_power))
    capacitor, bleeder = x2_capacitor.choose(x2_capacitor.Demand(
        mains_high=voltages(project)[2], frequency=float(project.supply.frequency or 0.0), motor_power=power,
        other_capacitance=sum(made.capacitance for made in others)), margins=scene.margins)
    return (capacitor,) if bleeder is None else (capacitor, bleeder)


def _filter(scene: Scene, x2: Part) -> tuple[Part, ...]:
    """Choke and Y capacitors, where the file asks for a filter."""
    if scene.project.line_filter is None:
        return ()
    from designer.parts import emi_filter
    from designer.studies.earthing import filter_demand

    assert x2.value is not None
    return emi_filter.choose(filter_demand(scene, x2.value.value), margins=scene.margins)


def _parts(scene: Scene) -> SideParts:
    """Nothing by itself: ``front`` chooses this side when all others are known."""
    return SideParts()


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """Plug, main switch, fuse and earth, and what stands across the mains: up to the line and neutral rails."""
    if not project.supply.is_mains:
        return
    fused, wire = names.of("fuse") or "F1", names.marked("wire", "as the cord")
    power = f"{wire}, mains insulation"
    w = names.of("supply-cord")
    cord = f"supply cord {w}, {names.marked('supply-cord', '')}".strip(", ") if w else "supply cord"
    yield "plug, line", "S1 (both poles), first pole", f"{cord}, brown or black", "S1 opens both poles"
    yield "plug, neutral", "S1, second pole", f"{cord}, blue or white", ""
    yield ("plug, protective earth", "earth screw of the frame", f"{cord}, green-yellow (or green)",
           "first to make, last to break; longer than the others")
    yield "S1, first pole", fused, power, "the fuse stands in the line where the plug can go in only one way round"
    choke, relay, switch = names.of("emi-choke"), names.of("second-path-relay"), project.protection.thermal_switch
    behind = tuple(f"{choke}, {pole}'s winding" if choke else f"{pole} rail" for pole in ("line", "neutral"))
    line, neutral = (f"{relay}, pole {pole}, in" for pole in (1, 2)) if relay else behind
    if switch is not None and switch.breaks == "mains":
        yield fused, "thermal switch in the motor", power, "its leads are live"
        yield "thermal switch in the motor", line, power, "with a latching release: it closes when it cools"
    else:
        yield fused, line, power, ""
    if relay:
        for pole, end in enumerate(behind, 1):
            yield f"{relay}, pole {pole}, out", end, power, "the second switch-off path: nothing goes round it"
    yield from _filtered(names, power)
    yield from guarding(project)
    across = ", ".join(filter(None, (names.of(role) for role in ("varistor", "x2-capacitor"))))
    if across:
        yield "line rail", f"{across}, each", power, "their other ends to the neutral rail"
    if names.of("x2-bleeder"):
        yield "line rail", f"{names.of('x2-bleeder')}, in series", THIN, "the other end to the neutral rail"
    yield "S1, second pole", neutral, power, ""
    yield ("earth screw of the frame", "motor frame, heatsink, metal box, each",
           f"{wire} or more, green-yellow", "a heatsink that is not earthed counts as live")


def _filtered(names: Names, power: str) -> Iterator[Row]:
    """The filter: from the choke's windings to the rails, and a Y capacitor from each rail to earth."""
    choke, earth = names.of("emi-choke"), names.of("y-capacitor")
    if not choke:
        return
    for rail in ("line", "neutral"):
        yield f"{choke}, {rail}'s winding, other end", f"{rail} rail", power, "both windings start towards the mains"
        yield f"{rail} rail", f"{earth}, one of the two", THIN, "Y2; its other end to the earth screw of the frame"


def thin(project: Project) -> str:
    """The wire of what carries little, as it is for this supply."""
    return THIN if project.supply.is_mains else THIN_DIRECT


def guarding(project: Project) -> Iterator[Row]:
    """A thermal switch that opens the main switch by its coil, where no other contactor's coil is there for it."""
    if coil_thermal(project) and not asked(project):
        yield ("thermal switch in the motor", "coil of S1, in series", thin(project),
               "its leads are live; the release latches: the switch closes when it cools")


SIDE = Side(parts=_parts, wires=_wires)
