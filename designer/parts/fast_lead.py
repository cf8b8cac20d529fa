"""The motor's lead behind a fast chopper: its edge, ringing at the motor, current into the frame, what length is fine.

Safe side: the fastest edge that the gate resistors allow, whole reflection, all of the winding's capacitance.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.equations import fast_lead as eq
from designer.results import Step
from designer.tables import read

#: of the bus, crest above it at the motor that passes unseen (common practice, no source)
CALM = 0.2


@dataclass(frozen=True, kw_only=True)
class Lead:
    """A kind of lead with its effective relative permittivity."""

    name: str
    permittivity: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Demand:
    """Highest bus (V), edge (s), switching frequency (Hz), lead (m) and windings to frame (F), None: not known."""

    bus: float
    edge: float
    frequency: float
    length: float | None = None
    frame_capacitance: float | None = None


@dataclass(frozen=True, kw_only=True)
class Found:
    """For one kind of lead: velocity, critical length, the length that stays calm (m), crest where it is known."""

    lead: Lead
    velocity: Step
    critical: Step
    calm: float
    crest: Step | None


def leads(demand: Demand) -> tuple[Found, ...]:
    """Give what each kind of lead does with the edge; the slower its waves, the shorter it must be."""
    found = []
    for lead in read("lead_permittivities", Lead):
        velocity = Step(formula=eq.WAVE_VELOCITY, note=lead.name, inputs={"epsilon": lead.permittivity})
        critical = Step(formula=eq.CRITICAL_LENGTH, note=lead.name, inputs={
            "v_lead": velocity.value, "t_edge": demand.edge})
        crest = None if demand.length is None else Step(formula=eq.TERMINAL_CREST, note=lead.name, inputs={
            "V_bus": demand.bus, "l_lead": demand.length, "l_crit": critical.value})
        found.append(Found(lead=lead, velocity=velocity, critical=critical, calm=CALM * critical.value, crest=crest))
    return tuple(found)


def to_frame(demand: Demand) -> tuple[Step, Step] | None:
    """Give the steps of peak and r.m.s. current into the frame; None where the capacitance is not known."""
    if demand.frame_capacitance is None:
        return None
    return (
        Step(formula=eq.EDGE_CURRENT, inputs={
            "C_wf": demand.frame_capacitance, "V_bus": demand.bus, "t_edge": demand.edge}),
        Step(formula=eq.EDGE_CURRENT_RMS, inputs={
            "C_wf": demand.frame_capacitance, "V_bus": demand.bus, "f_sw": demand.frequency, "t_edge": demand.edge}))
