"""Film capacitor close to the switch: takes over from the reservoir while its leads' inductance holds back.

Safe side: the larger capacitance for the overshoot, the greater current of both ringing and ripple for its heat.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations import bus_film as eq
from designer.errors import InputError
from designer.parts.margins import holds, share
from designer.parts.preferred import at_least, tolerance
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: H: 20 cm of loop at 10 nH/cm, the reservoir's own included (common practice, no source)
LEADS = 200e-9
#: overshoot allowed over the bus voltage, and the least worth asking for, V: a low bus leaves its transistor more
#: room than that (common practice, no source)
OVERSHOOT, LEAST_OVERSHOOT = 0.05, 2.0
MOST_IN_PARALLEL = 4
_WRONG = (
    "Left out or on long leads: each edge rings on the wiring, the switch sees hundreds of volts more and fails. An X2 "
    "or polyester type: it heats on the ripple."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What it must take; SI.

    ``crest``: highest bus voltage. ``edge_current``: greatest current switched (the current limit). ``frequency``: of
    switching. ``ripple``: A r.m.s. of the switching ripple in the bus. ``resistance``: Ω of the reservoir, at its
    least. ``leads``: H between it and the switch. ``overshoot``: V allowed.
    """

    crest: float
    edge_current: float
    frequency: float
    ripple: float
    resistance: float
    overshoot: float
    leads: float = LEADS
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class Row:
    """Film capacitors of one d.c. voltage (V): sold from … to (F), rise (V/s), r.m.s. current a farad (A/F)."""

    voltage: float
    capacitance_low: float
    capacitance_high: float
    rise: float
    current: float
    source: str
    mark: str


def overshoot(crest: float) -> float:
    """Give the overshoot allowed on a bus of ``crest`` (V), V."""
    return max(OVERSHOOT * crest, LEAST_OVERSHOOT)


def least(demand: Demand) -> Step:
    """Give the step for the least capacitance, F."""
    return Step(formula=eq.FILM_CAPACITANCE, inputs={
        "L_lead": demand.leads, "I_edge": demand.edge_current, "dV_edge": demand.overshoot},
        note=f"{engineering(demand.leads, 'H')} of leads, {engineering(demand.overshoot, 'V', 3)} allowed")


def choose(demand: Demand, *, margins: Mapping[str, float]) -> Part:
    """Give the least film capacitor, or several side by side, that holds every rating (E6).

    Raises ``InputError``: ``supply.voltage`` where no class stands the bus, ``circuit.switching_frequency`` where
    none takes the overshoot and the current.
    """
    rows = sorted(read("film_capacitors", Row), key=lambda row: row.voltage)
    volts = (demand.crest + demand.overshoot) / share("film_voltage", margins)[0]
    fitting = [row for row in rows if row.voltage >= volts]
    if not fitting:
        raise InputError(
            "supply.voltage", f"{demand.crest:.0f} V on the bus", f"film capacitors up to {rows[-1].voltage:g} V d.c.",
            "Use a lower voltage.")
    row = fitting[0]
    for count in range(1, MOST_IN_PARALLEL + 1):
        each = at_least(max(least(demand).value / (1.0 - tolerance("E12")) / count, row.capacitance_low), "E6")
        while each <= row.capacitance_high * (1 + 1e-9):
            made = _part(row, each=each, count=count, demand=demand, margins=margins)
            if all(map(holds, made.ratings)):
                return made
            each = at_least(each * 1.01, "E6")
    raise InputError(
        "circuit.switching_frequency", f"{demand.frequency:.4g} Hz with {demand.edge_current:.3g} A",
        f"what {MOST_IN_PARALLEL} film capacitors of {engineering(row.capacitance_high, 'F')} bear",
        "Bring the reservoir closer to the switch, lower the current limit or the switching frequency.")


def _part(row: Row, *, each: float, count: int, demand: Demand, margins: Mapping[str, float]) -> Part:
    least_each = each * (1.0 - tolerance("E12"))
    bank = least_each * count
    steps = (
        least(demand),
        Step(formula=eq.FILM_OVERSHOOT, inputs={
            "I_edge": demand.edge_current, "L_lead": demand.leads, "C_film": bank}, note="lower tolerance"),
        Step(formula=eq.FILM_RISE, inputs={"I_edge": demand.edge_current, "C_film": bank}),
        Step(formula=eq.FILM_CURRENT, inputs={
            "I_edge": demand.edge_current, "f_sw": demand.frequency, "L_lead": demand.leads,
            "R_damp": demand.resistance}, note="ringing of both edges"),
        Step(formula=eq.FILM_SHARE, inputs={
            "I_ripple": demand.ripple, "f_sw": demand.frequency, "C_film": each * count, "R_damp": demand.resistance,
            "L_lead": demand.leads}, note="its part of the ripple"),
    )
    _, overshoot, rise, ringing, ripple = (step.value for step in steps)
    # of several, by their capacitance the worst takes this much (tolerance both ways)
    worst = (1.0 + tolerance("E12")) / (1.0 + tolerance("E12") + (count - 1) * (1.0 - tolerance("E12")))
    heat = math.hypot(ringing, ripple) * worst
    told = marked(row.source, row.mark)
    rows = (
        ("d.c. voltage", Quantity(row.voltage, "V"), demand.crest + overshoot, "film_voltage"),
        ("rise of voltage", Quantity(row.rise, "V/s"), rise, "film_rise"),
        ("r.m.s. current", Quantity(row.current * each, "A"), heat, "ripple_current"),
    )
    return Part(
        role="bus-capacitor", designator="C2", count=count, value=Quantity(each, "F"),
        description="film capacitor, metallised polypropylene" + (f", {count} side by side" if count > 1 else ""),
        marking=f"{iec60062(each, 'F')} {row.voltage:g} V d.c.", tolerance=f"{100 * tolerance('E12'):g} %",
        ratings=tuple(
            Rating(name=name, limit=limit, stress=Quantity(stress, limit.unit), share=share(key, margins)[0],
                   source=share(key, margins)[1], at=demand.at) for name, limit, stress, key in rows),
        worked=steps, if_wrong=_WRONG,
        notes=("Straight across switch and freewheel diode, its leads as short as they go: each centimetre of loop is "
               "10 nH.", "Its d.c. rating is no a.c. rating, and it is charged as the bus is."),
        sources=(told,))
