"""The motor's lead behind a chopper: edge of its gate drive, crest at the motor, current into the frame."""

from __future__ import annotations

import math

from designer.equations.fast_lead import TURN_OFF_RISE
from designer.parts import fast_lead
from designer.parts.gate_values import GENERIC, WANTED_EDGE
from designer.quantities import engineering
from designer.results import Quantity, Step, Table
from designer.studies.groups import voltages
from designer.studies.sides import Power, Scene
from designer.tables import marked

#: F between windings and frame of a small motor: order of magnitude, from memory
USUAL_FRAME = 1e-9


def edges_of(built: Power | None) -> tuple[Step, ...]:
    """Give the steps of the voltage's rise at turn-off, s, one a gate drive; none where no transistor was chosen.

    At turn-on the voltage falls no faster than what the gate resistor aims at.
    """
    parts = built.parts if built else ()
    found = []
    for on, off in (("gate-resistor", "gate-resistor-off"), ("field-gate-resistor", "field-gate-resistor-off")):
        aimed = next((step.inputs for part in parts if part.role == on for step in part.worked
                      if step.formula.name == "gate-resistance-for-an-edge"), None)
        if aimed is None:
            continue
        ohms = [part.value.value for part in parts if part.role in (on, off) and part.value]
        loop = 1 / sum(1 / one for one in ohms) + aimed["V_dr"] / GENERIC.peak_current
        found.append(Step(formula=TURN_OFF_RISE, inputs={
            "Q_gate": aimed["Q_g"], "R_out": loop, "V_plateau": aimed["V_pl"]}))
    return tuple(found)


def edge_of(built: Power | None) -> float:
    """Give the fastest edge, s: at turn-on as aimed at, at turn-off as the resistors give it."""
    return min([WANTED_EDGE, *(step.value for step in edges_of(built))])


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
        ("fastest edge of the gate drive", Quantity(asked.edge, "s"), f"{asked.bus / asked.edge / 1e9:.1f} V/ns")]
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
            ("the same, r.m.s.", Quantity(rms.value, "A"),
             "adds to the earth leakage; a residual-current device may trip"))


def _note(asked: fast_lead.Demand) -> str:
    known = "" if asked.length is not None else " The lead's length is not in the file (motor.lead_length)."
    return ("Both wires of a lead twisted or side by side, never apart; a screen is earthed at both ends and takes the "
            "edges' current back to the circuit instead of through the frame's bonds. A longer lead: slower edges by "
            f"larger gate resistors, or a choke at the circuit.{known} What the edges do to bearings, brushes and the "
            "windings' turn insulation is not computed: no source at hand.")
