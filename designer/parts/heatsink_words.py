"""What the parts list says of a heatsink: its size, notes, and what if it is wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING

from designer.equations import thermal as eq
from designer.parts import extrusion
from designer.quantities import engineering
from designer.results import Step

if TYPE_CHECKING:
    from designer.parts.heatsink import Demand

#: K/W, case to air of a bare TO-220 in still air; the upper end of 50 to 65 (from memory)
BARE_CASE = 65.0
WRONG = (
    "Too small a sink, fins lying flat, or a forgotten compound: the junction passes its limit, and the "
    "device fails short: a rectifier shorts the line, a switch gives all that stands before it."
)


def dimensions(demand: Demand, resistance: float) -> tuple[Step, ...]:
    """Give the steps for its size; ``resistance`` in K/W at sea level."""
    if demand.size is not None and demand.given is None:
        return (extrusion.at_loss(demand.size, loss=demand.loss, place=demand.place),)
    thin = (extrusion.thin_air(resistance, demand.altitude),) if demand.altitude else ()
    if resistance >= BARE_CASE:
        return thin
    return (*thin, Step(formula=eq.SINK_VOLUME, inputs={"R_sa": resistance}, note="outer volume of a finned sink"))


def notes(demand: Demand, *, resistance: float, needed: float) -> tuple[str, ...]:
    """Give the notes: what is needed (K/W), what equals it, how it stands and what is live."""
    aloft = extrusion.told_aloft(demand.aloft(1.0), demand.altitude)
    told = [f"Needed: at most {engineering(needed, 'K/W', 3)}{aloft}."]
    sink = demand.air + demand.loss * demand.aloft(resistance)
    if sink > demand.air + 1e-6 and (demand.given is not None or demand.size is None) and resistance < BARE_CASE:
        told += extrusion.equals(demand.loss, sink=sink, place=demand.place)
    if demand.size is not None and demand.given is None and sink > demand.air + 1e-6:
        told += extrusion.counted(demand.size, sink=sink, place=demand.place)
    told += [
        "Fins flat instead of upright lose 20 to 30 % (from memory).",
        "The sink is live where the tab or its insulation is; one pad or mica is basic insulation at best. "
        "Earth the sink, or use an insulated package.",
    ]
    if not demand.touchable:
        told.append("Out of reach of hands: it may burn.")
    return tuple(told)
