"""The motor's lead behind a chopper: edge of its gate drive, crest at the motor, current into the frame."""

from __future__ import annotations

import math

from designer.parts import fast_lead
from designer.parts.gate_values import WANTED_EDGE
from designer.quantities import engineering
from designer.results import Quantity, Table
from designer.studies.groups import voltages
from designer.studies.sides import Power, Scene
from designer.tables import marked

#: F between windings and frame of a small motor: order of magnitude, from memory
USUAL_FRAME = 1e-9


def edge_of(built: Power | None) -> float:
    """Give the shorter edge, s, of the gate drives chosen: what the gate resistors aim at, rounded down by nothing."""
    steps = [step for part in (built.parts if built else ()) for step in part.worked
             if step.formula.name == "gate-resistance-for-an-edge"]
    return min((float(step.inputs["t_edge"]) for step in steps), default=WANTED_EDGE)


def demand(scene: Scene, built: Power | None) -> fast_lead.Demand:
    """Give what the lead is worked out from."""
    bus = scene.worst("bus_voltage_crest", "any").value or voltages(scene.project)[2] * (
        math.sqrt(2.0) if scene.alternating else 1.0)
    chopping = scene.chopping or (scene.fixed.chopping if scene.fixed is not None else None)
    motor = scene.project.motor
    return fast_lead.Demand(
        bus=bus, edge=edge_of(built), frequency=chopping.frequency if chopping is not None else math.nan,
        length=motor.lead_length, frame_capacitance=motor.frame_capacitance)


def lead(scene: Scene, built: Power | None) -> tuple[Table, ...]:
    """Give the table of a circuit that chops; none of any other."""
    if not scene.kind.chops:
        return ()
    asked = demand(scene, built)
    rows: list[tuple[Quantity | str, ...]] = [
        ("edge that the gate drive aims at", Quantity(asked.edge, "s"), f"{asked.bus / asked.edge / 1e9:.1f} V/ns")]
    for found in fast_lead.leads(asked):
        rows.append((f"{found.lead.name}: length at which the crest doubles", Quantity(found.critical.value, "m"),
                     marked(found.lead.source, found.lead.mark)))
        rows.append((f"{found.lead.name}: at most, for a crest 20 % above the bus", Quantity(found.calm, "m"), ""))
        if found.crest is not None:
            rows.append((f"{found.lead.name}: crest at the motor, lead of {asked.length:g} m",
                         Quantity(found.crest.value, "V"), "bus and reflection"))
    return (Table(name="motor-lead", title="The motor's lead behind the chopper", columns=("what", "figure", "remark"),
                  rows=(*rows, *_frame(asked)), note=_note(asked)),)


def _frame(asked: fast_lead.Demand) -> tuple[tuple[Quantity | str, ...], ...]:
    steps = fast_lead.to_frame(asked)
    if steps is None:
        usual = USUAL_FRAME * asked.bus / asked.edge
        return (("current into the frame in each edge", "not known", f"windings to frame not read: 1 nF (from memory) "
                 f"would give {engineering(usual, 'A', 2)}; give motor.frame_capacitance"),)
    peak, rms = steps
    return (("current into the frame in each edge, at most", Quantity(peak.value, "A"), "C·dv/dt, all of the winding"),
            ("the same, r.m.s.", Quantity(rms.value, "A"), "adds to the earth leakage; a residual-current device may trip"))


def _note(asked: fast_lead.Demand) -> str:
    known = "" if asked.length is not None else " The lead's length is not in the file (motor.lead_length)."
    return ("Both wires of a lead twisted or side by side, never apart; a screen is earthed at both ends and takes the "
            "edges' current back to the circuit instead of through the frame's bonds. A longer lead: slower edges by "
            f"larger gate resistors, or a choke at the circuit.{known} What the edges do to bearings, brushes and the "
            "windings' turn insulation is not computed: no source at hand.")
