"""The field-chopper side: transistor, diode, gate drive and current limit of a field winding on the bus."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from designer.equations.varistor import COIL_ENERGY
from designer.parts import conductors, field_relay, flyback_diode, transistor
from designer.parts.commutation import State
from designer.project.device import Parts
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Assumption, FaultCase, Part, Quantity
from designer.studies.chopper_control import FREQUENCY, chopping_of, drops
from designer.studies.chopper_parts import Chosen, Seen, choose
from designer.studies.field_only import resistance_at, winding_of
from designer.studies.groups import Worst, crest_of
from designer.studies.rows import UNLOADED
from designer.studies.sides import Names, Power, Row, Scene, Side, SideParts, starter
from designer.studies.sides.chopper import cell_wires
from designer.studies.sides.field import allowed_time, unsafe_current
from designer.studies.sides.mains import thin

HOLDS = 0.05      # of the field current, both ways, that its regulator holds (common practice, no source)
#: roles whose name tells the field already
OWN = {"flyback-diode": "field-diode"}
PLAIN = {own: plain for plain, own in OWN.items()}
#: what the cell's parts say of a motor -> of the field winding in its place
WORDS = (
    ("the armature's inductance", "the winding's inductance"), (" and fails short: full speed", " and fails short"),
    ("a turning motor without current holds the node up", "a winding without current leaves the node where it is"),
    ("the motor starts by itself", "the winding gets the bus by itself"), ("the motor stops", "the field goes"),
    ("the motor has no torque", "there is no field"), ("the motor leads", "the field leads"),
    ("the motor's current", "the field's current"), ("not at the motor", "not at the winding"),
    ("the next stall", "the next short of the winding"))


def seen_of(scene: Scene) -> Seen:
    """What the field's chopper sees: the worst of each stress, each in its own state."""
    crest = max(crest_of(scene.project), scene.worst("bus_voltage_crest", "any").value)
    rms, mean, peak = (_strongest(scene, name) for name in (
        "switch_current_rms", "freewheel_current_mean", "current_peak"))
    state = State(
        bus=crest, mean_current=_strongest(scene, "switch_current_mean").value, rms_current=rms.value,
        turn_on_current=max(peak.value - scene.worst("field_current_ripple").value, 0.0), turn_off_current=peak.value)
    return Seen(
        crest=crest, state=state, peak=peak.value,
        diode=(mean.value, scene.worst("field_freewheel_current_rms").value),
        on_time=scene.least("field_on_time").value,
        frequency=scene.project.circuit.switching_frequency or FREQUENCY,
        inductance=float(winding_of(scene.project).inductance(peak.value)),
        resistance=resistance_at(scene.project, scene.project.ambient.temperature_min), opposing=0.0,
        at={"r.m.s. current": rms.at, "mean current": mean.at, "running peak": peak.at})


def _strongest(scene: Scene, name: str) -> Worst:
    """The worst of a stress; where the armature has a starter, a start at full field is among the states.

    That field may take a duty up to 1, so its whole current counts as the transistor's.
    """
    found, own = scene.found, scene.worst(f"field_{name}")
    if "starter" not in scene.kind.sides or found is None:
        return own
    full = next(case for case in found.unloaded if case.name == UNLOADED[1])
    seen = found.circuit.stresses(found.circuit.solve(found.fixed, full.points))
    value = float(np.max(seen["field_current_peak" if name.startswith("switch") else f"field_{name}"]))
    return own if own.value >= value else Worst(value=value, at="a start, at full field")


def _parts(scene: Scene) -> SideParts:
    """All that switches the field; raises ``InputError`` where a part cannot be had."""
    seen, alone = seen_of(scene), "chopper" not in scene.kind.sides
    # beside another chopper the file's transistor and limit are those of the armature
    # behind a starter the limit of the file is that of a start
    control = scene.project.control.model_copy(update={"current_limit": None})
    project = scene.project if scene.found is None else scene.project.model_copy(update={
        "control": control, **({} if alone else {"parts": Parts()})})
    chosen = choose(seen, project)
    seated = (
        transistor.on_sink(chosen.device, name="Q1", demand=chosen.demand, margins=scene.margins),
        flyback_diode.on_sink(chosen.diode, name="D1", demand=chosen.diode_demand, margins=scene.margins))
    worst = _strongest(scene, "current_rms")
    wire = conductors.leads(worst.value, role="field-wire", what="field", ambient=scene.box, margins=scene.margins,
                            at=worst.at)
    found = drops(chosen)
    return SideParts(
        parts=(*(_named(part) for part in chosen.parts()), *_relay(scene), wire), on_sink=seated,
        drops={f"field_{name}": drop for name, drop in found.items()} if not alone else found,
        chopping=chopping_of(chosen, seen.frequency) if alone else None, assumptions=_assumptions(chosen),
        figures={"field_current_limit": Quantity(chosen.limit.nominal, "A"),
                 "field_current_ripple": Quantity(scene.worst("field_current_ripple").value, "A"),
                 "field_energy": Quantity(float(COIL_ENERGY(L_coil=seen.inductance, i_coil=seen.peak)), "J")})


def _relay(scene: Scene) -> tuple[Part, ...]:
    """The field-current relay that takes the armature off; a winding without motor needs none."""
    if scene.found is None:
        return ()
    found, straight = scene.found, "starter" in scene.kind.sides
    held = float(found.held.points.field_current[1])
    most = found.circuit.setting_range(found.fixed)[1] if straight else held     # a start is made at full field
    return (field_relay.choose(field_relay.Demand(
        least=(1 - HOLDS) * held, greatest=(1 + HOLDS) * most,
        unsafe=found.look.unsafe if straight else unsafe_current(scene, found),
        opening=starter.opening(scene) if straight else 0.0, allowed_time=allowed_time(scene, found)),
        margins=scene.margins)[0],)


def _named(part: Part) -> Part:
    """The part under the field's own role, what goes wrong told of a winding that does not turn."""
    return replace(
        part, role=OWN.get(part.role, f"field-{part.role}"), description=f"field: {part.description}",
        if_wrong=_of_field(part.if_wrong), notes=tuple(_of_field(note) for note in part.notes))


def _of_field(text: str) -> str:
    for said, instead in WORDS:
        text = text.replace(said, instead)
    return text


def _assumptions(chosen: Chosen) -> tuple[Assumption, ...]:
    marks = {mark for one in (chosen.device, chosen.diode) for mark in one.marks.values() if mark != "your file"}
    return tuple(Assumption(text=f"Transistor and diode of the field: {mark}.", mark="generic class")
                 for mark in sorted(marks))


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """The loop of bus, diode and transistor; the winding; gate drive; current limit."""
    del texts
    q, d, shunt = (names.of(role) for role in ("field-switch", "field-diode", "field-current-sense-resistor"))
    lead = f"{names.of('field-wire')} {names.marked('field-wire', 'for the field current')}".strip()
    lead += ", insulation for the bus voltage"
    fused = names.of("dc-fuse") if project.supply.is_mains else ""
    top = f"{fused}, out" if fused else "plus bus"      # where the film capacitor stands
    yield top, f"{d}, cathode", "copper area or wide strap", "this loop is the shortest of all"
    yield f"{d}, anode", f"{q}, drain or collector", "copper area or wide strap", ""
    yield top, "field, first end", lead, "no contact, fuse or plug in this lead"
    yield "field, second end", f"{q}, drain or collector", lead, "as a pair with the lead before"
    yield f"{q}, source or emitter", f"{shunt}, first end", "copper area or wide strap", ""
    yield f"{shunt}, second end", "minus bus", "copper area or wide strap", "never to earth"
    if names.of("field-relay"):
        yield (f"{names.of('field-relay')}, sensing", "in the field's first lead", lead, "senses the current, not the "
               "voltage")
        if not names.of("armature-contactor"):
            yield (f"{names.of('field-relay')}, contact", "release of the armature's driver and contactor",
                   thin(project), "drops out: the armature goes off, whatever its control does")
    own = Names(parts=tuple(replace(part, role=_plain(part.role)) for part in names.parts
                            if part.role.startswith("field-")))
    for start, end, what, note in cell_wires(own, q=q, shunt=shunt, top=top, project=project):
        yield start.replace("logic, duty", "logic, field duty"), end, what, note


def _plain(role: str) -> str:
    """The role as an armature's chopper would call it."""
    return PLAIN.get(role, role.removeprefix("field-"))


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """What the field does when its chopper fails."""
    del power
    crest, cold = crest_of(scene.project), resistance_at(scene.project, scene.project.ambient.temperature_min)
    yield FaultCase(
        fault="field-switch",
        name="Field transistor shorted: the whole bus on the winding",
        figures={"field current, cold": Quantity(crest / cold, "A"), "heat": Quantity(crest**2 / cold, "W")},
        ends_by="nothing in this design: the winding must bear it, or a thermal switch takes the supply off")
    yield FaultCase(
        fault="field-open",
        name="Field transistor or a field lead open",
        figures={"field current": Quantity(scene.worst("field_current_peak").value, "A")},
        ends_by="the diode where the winding is still on it; a pulled lead arcs until the energy is gone")
    yield FaultCase(
        fault="field-switch",
        name=f"Field diode open: {engineering(crest, 'V')} and all of the winding's energy into the transistor",
        figures={"energy": Quantity(float(COIL_ENERGY(
            L_coil=float(winding_of(scene.project).inductance(0.0)),
            i_coil=scene.worst("field_current_peak").value)), "J")},
        ends_by="the transistor's avalanche, until it fails short")


SIDE = Side(parts=_parts, wires=_wires, faults=_faults)
