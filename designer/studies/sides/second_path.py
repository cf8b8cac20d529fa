"""The second switch-off path, where a trip or a speed loop asks for one: a contact that the switch cannot bridge.

Ahead of rectifier or switch it breaks both poles of the mains by its a.c. rating. On a bus it stands there only where
the reservoir's energy, all of it, leaves the rotor below its speed limit; else, and on a d.c. supply, it stands in the
motor's lead by its d.c. rating. An armature that has a contactor already (field behind the main switch, starter) is
switched off by that one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.run_up import NODES, run_up
from designer.equations.second_path import SPEED_FROM_THE_BUS
from designer.parts import second_path
from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Assumption, FaultCase, Part, Quantity, Reason, Step
from designer.studies import bus_parts
from designer.studies.contactor_coil import buttons, coil_rows
from designer.studies.groups import crest_of, voltages
from designer.studies.rows import FIELD_LOST, FIELD_LOST_LOADED
from designer.studies.second_off import asked
from designer.studies.sides import Names, Power, Row, Scene, Side, SideParts, armature_contactor, starter
from designer.studies.survey import Survey, Unloaded, speed_limit

NAME = "second-path"
FILM_UPPER = 1.1        # of a film capacitor's value, ±10 % as sold (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class Found:
    """What switches the motor off: the part (None: a contactor that another side chose), its time, why it is there."""

    part: Part | None
    opening: Step
    where: str


def with_second_path(kind: CircuitKind, project: Project) -> CircuitKind:
    """The circuit with this side where a trip or a speed loop asks for a second way off."""
    return replace(kind, sides=(*kind.sides, NAME)) if kind.drives_motor and asked(project) else kind


def found_of(scene: Scene) -> Found:
    """Give what switches the motor off; ``InputError`` where nothing of the tables does."""
    if "starter" in scene.kind.sides:
        demand = armature_contactor.demanded(scene, shorted=False)
        return Found(part=None, opening=second_path.direct_opening(starter.opening(scene), demand.decay),
                     where="the armature's contactor")
    own = armature_contactor.chosen(scene)
    demand = armature_contactor.demanded(scene, shorted=True)
    if own is not None:
        return Found(part=None, where="the armature's contactor", opening=second_path.direct_opening(
            own[1].opening, 0.0 if demand.wheel else demand.decay))
    if not scene.alternating:
        why = "In the motor's lead: on a d.c. supply every contact breaks direct current."
    else:
        left = None if scene.kind.line != "bus" else left_by_bus(scene)
        why = _why_not_ahead(scene, left)
        if not why:
            chosen = second_path.choose_line(_line(scene, left), margins=scene.margins)
            return Found(part=chosen.part, opening=chosen.opening, where="both poles of the mains")
    chosen = second_path.choose_direct(demand, margins=scene.margins, why=why,
                                       acts=scene.project.protection.trip_time)
    return Found(part=chosen.part, opening=chosen.opening, where="the motor's lead")


def _why_not_ahead(scene: Scene, left: Step | None) -> str:
    """Why the contact must not stand ahead of the reservoir; empty where it may."""
    if scene.kind.line != "bus":
        return ""
    limit = speed_limit(scene.project)
    if left is None or limit is None:
        return ("In the motor's lead: ahead of the reservoir it would leave the bus's energy to the motor, and without "
                "an overspeed trip, its time, the inertia and a speed limit nobody can say how fast that makes it.")
    if left.value <= limit:
        return ""
    return (f"In the motor's lead: ahead of the reservoir it would leave the bus's energy to the motor, enough for "
            f"{shown(left.value, 'rad/s')} where {shown(limit, 'rad/s')} are allowed.")


def _line(scene: Scene, left: Step | None) -> second_path.LineDemand:
    """What the contact in the mains line meets: the worst of every stall, and the reservoir's charging."""
    running, limit = scene.worst("line_current_rms"), speed_limit(scene.project)
    limiter = bus_parts.choose(scene).limiter if left is not None else None
    charging = 0.0
    if left is not None:
        charging = limiter.peak if limiter else crest_of(scene.project) / bus_parts.source_resistance(scene.project)
    return second_path.LineDemand(
        running=running.value, at=running.at, shorted=max(running.value, *(one.line for one in scene.stalled)),
        nominal=voltages(scene.project)[1], frequency=float(scene.project.supply.frequency or 0.0), charging=charging,
        acts=scene.project.protection.trip_time,
        left=None if left is None or limit is None else (left, limit))


def left_by_bus(scene: Scene) -> Step | None:
    """The step for the speed that the reservoir's energy can give once the mains is off; None where not to be told.

    From the speed to which a shorted switch drives the unloaded motor in the trip's time, high mains, cold.
    """
    found, project = scene.found, scene.project
    inertia = project.motor.inertia
    if found is None or inertia is None:
        return None
    speed = speed_at_opening(found, project)
    if speed is None:
        return None
    bus = bus_parts.choose(scene)
    farads = bus.bank.greatest + FILM_UPPER * sum(
        part.count * part.value.value for part in bus.parts if part.role == "bus-capacitor" and part.value is not None)
    return Step(formula=SPEED_FROM_THE_BUS, note="mains off after the trip's time, switch shorted, load lost", inputs={
        "omega_1": speed, "C_bus": farads, "V_bus": max(bus.crest, bus.surge), "J_mot": inertia})


def speed_at_opening(found: Survey, project: Project) -> float | None:
    """The greatest speed, rad/s, at which the trip's time has passed, the load lost in any way; None without a trip.

    A lost field counts only where no field-current relay answers it: with the switch shorted too it is a second fault.
    Each node's speed counts for the whole of its step: the safe side.
    """
    trip, acts, limit = project.protection.overspeed_trip, project.protection.trip_time, speed_limit(project)
    if trip is None or acts is None or limit is None or project.motor.inertia is None or trip >= limit:
        return None
    speeds, answered = [trip], project.protection.field_loss_trip_time is not None
    for case in found.unloaded:
        if case.speed > trip and not (answered and case.name in (*FIELD_LOST, *FIELD_LOST_LOADED)):
            end = min(case.speed * (1 - 1e-3), limit)
            speeds.append(_reached(found, case, (trip, max(end, trip * (1 + 1e-6))), acts, project.motor.inertia))
    return max(speeds)


def _reached(found: Survey, case: Unloaded, span: tuple[float, float], acts: float, inertia: float) -> float:
    """Speed, rad/s, that the run-up of a lost load has passed after ``acts`` s, at most the end of ``span``."""
    start, end = span
    run = run_up(found.circuit, case.fixed, case.points, start=start, end=end, inertia=inertia)
    if not math.isfinite(run.time):
        return end
    ends = 0.5 * (end - start) * np.polynomial.legendre.leggauss(NODES)[0] + 0.5 * (end + start)
    at = int(np.searchsorted(run.times, acts, side="right"))
    return float(ends[at + 1]) if at + 1 < NODES else end


def _parts(scene: Scene) -> SideParts:
    """The contact with its buttons, its time, and what the file states against it."""
    found = found_of(scene)
    own = () if found.part is None else (found.part, *buttons(
        scene.project, what="motor", back="the supply returns"))
    return SideParts(
        parts=own, figures={"second_path_opening": Quantity(found.opening.value, "s")},
        worked=() if own else (found.opening,), reasons=() if own else tuple(_too_slow(scene.project, found)),
        texts={} if found.part is None else {"second_path_order": _order(found)},
        assumptions=(Assumption(
            text="The overspeed trip is a device of its own, with its own pick-up and an opening contact in the coil's "
                 "circuit; no pulses while current flows count as a trip.", mark="condition of this design"),)
        if scene.project.protection.overspeed_trip is not None else ())


def _order(found: Found) -> str:
    return (f"On: the main switch, then the start button, which closes the contact in {found.where}; it holds itself "
            "and by its second auxiliary contact releases the gates; the setting starts at nothing. Off: the stop "
            "button blocks the gates and opens the contact. The trip opens it whatever the switch does. A lost supply "
            "opens it too; nothing comes back without the start button.")


def _too_slow(project: Project, found: Found) -> Iterator[Reason]:
    """A trip whose stated time is shorter than a contact takes that another side chose."""
    acts, takes = project.protection.trip_time, found.opening.value
    if project.protection.overspeed_trip is None or acts is None or acts >= takes:
        return
    yield Reason(
        code="trip-too-quick", message=f"What opens {found.where} takes {engineering(takes, 's', 2)} from its coil's "
        "release to the current being off, longer than the trip is said to act; the trip's own detection comes on top.",
        figure=Quantity(acts, "s"), limit=Quantity(takes, "s"),
        way_out=f"protection.trip_time of {engineering(takes, 's', 2)} and the time that the trip takes to see the "
        "speed; it is from passing the speed to current off.")


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """The coil's circuit; the main contacts stand among the mains' wires or the motor's leads."""
    if "second_path_order" not in texts:
        return
    line, mains = names.of("second-path-relay"), project.supply.is_mains
    coil = line or names.of("armature-contactor")
    if line:
        ends = f"{line}, pole 1, in", f"{line}, pole 2, in"
    elif mains:
        ends = "line rail", "neutral rail"
    else:
        ends = f"{names.of('main-switch') or 'S1'}, out", "supply −"
    yield from coil_rows(names, project, ends=ends, coil=coil, why="behind main switch and fuse, ahead of the contact")


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """The contact welded, and the start button stuck."""
    found, own = scene.found, power.sides.get(NAME) if power else None
    if found is None or own is None or "second_path_order" not in own.texts:
        return
    worst = max(found.unloaded, key=lambda case: case.speed)
    shorted = max(one.armature for one in scene.stalled)
    limit = speed_limit(scene.project)
    yield FaultCase(
        fault="second-path-welded",
        name="Contact of the second switch-off path welded: the trip acts on nothing, a shorted switch is stopped by "
             "the main switch alone",
        figures={f"speed, {worst.name}": Quantity(worst.speed, "rad/s"),
                 **({} if limit is None else {"speed limit": Quantity(limit, "rad/s")}),
                 **({} if worst.run is None else {"time to it": Quantity(worst.run.time, "s")})},
        ends_by="the main switch. Try it before each day's work: the stop button must drop it, and the motor must not "
                "start without the start button")
    yield FaultCase(
        fault="start-stuck",
        name="Start button stuck or bridged: the motor starts by itself when the supply or the trip comes back",
        figures={"armature current at rest, switch shorted": Quantity(shorted, "A")},
        ends_by="nothing in this design: try before each day: main switch off and on, and it must not start")


SIDE = Side(parts=_parts, wires=_wires, faults=_faults)
