"""The current limit of a chopper, a required part: shunt, comparator with latch, threshold, filter.

It turns the transistor off within the cycle in which the current passes its level. Whether it can hold
a stall is told by the march of a stalled cycle, whose numbers come in with the demand.
"""

from __future__ import annotations

import math

from designer.parts.limit_values import (
    DIVIDER_FOOT,
    FILTER_RESISTOR,
    REFERENCE,
    SHUNT_TOLERANCE,
    Demand,
    Limit,
    values,
)
from designer.parts.margins import share
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating

__all__ = ["Demand", "Limit", "choose", "values"]

_PRACTICE = "common practice, no source"
_WORKED = ("threshold", "nominal", "low", "trip", "blanking", "lag", "shortest", "high", "shorted")
_MEMORY = "generic class, from memory"


def choose(demand: Demand, *, limit: Limit | None = None) -> tuple[Part, ...]:
    """Give shunt, comparator, divider and filter for ``demand``; ``limit`` where ``values`` has run already.

    Raises ``InputError`` as ``values`` does.
    """
    found = values(demand) if limit is None else limit
    return _shunt(demand, found), _comparator(demand, found), *_divider(found), *_filter(found)


def _shunt(demand: Demand, found: Limit) -> Part:
    allowed, source = share("resistor_power", demand.margins)
    heat = found.steps["heat"]
    pulse = found.shunt * found.high**2
    return Part(
        role="current-sense-resistor", designator="R_s",
        description=f"Current-sense resistor, {found.power:g} W, low inductance, four terminals or short sense leads",
        value=Quantity(found.shunt, "ohm"), marking=iec60062(found.shunt, "ohm"), tolerance="±1 %",
        ratings=(Rating(
            name="power", limit=Quantity(found.power, "W"), stress=Quantity(heat.value, "W"), share=allowed,
            source=source, at="running or stall under the limit, the worse", remedy="The next larger resistor."),),
        worked=(*((found.steps["aim"],) if "aim" in found.steps else ()), found.steps["shunt"], heat),
        if_wrong="Open: the source lead is cut, and the motor stops. Shorted or too small: no limit, and the next "
                 "stall kills the transistor. With long leads: it trips on its own inductance.",
        notes=(
            "Rounded down; the threshold is set to it. In the source lead of the transistor: it sees what the switch "
            "carries, not what the freewheel diode does.",
            f"{engineering(found.shunt * found.nominal, 'V', 3)} at the limit; pulses of {engineering(pulse, 'W', 3)} "
            "within a cycle.",
            "Sense leads at the resistor's own body, as a pair; the gate driver's return goes to the transistor's "
            "source pin, ahead of the shunt.",
            f"Counted with ±{100 * SHUNT_TOLERANCE:g} % warm.",
        ),
        sources=(_MEMORY,))


def _comparator(demand: Demand, found: Limit) -> Part:
    steps = found.steps
    ratings = [
        Rating(name="limit above the running peak", limit=Quantity(found.low, "A"),
               stress=Quantity(demand.running_peak, "A"), source="the limit's lower end must not act in running",
               at=demand.at.get("running peak", ""), remedy="A higher current limit, or less load."),
    ]
    if math.isfinite(demand.stall_on_time):
        ratings.append(Rating(
            name="shortest on-time against a stall", limit=Quantity(demand.stall_on_time, "s"),
            stress=Quantity(found.shortest, "s"),
            source="derived: longer, the current climbs past the limit from cycle to cycle",
            at=demand.at.get("stall", "stall, highest bus, cold"),
            remedy="A lower switching frequency, a faster comparator and gate drive, or a higher limit."))
    return Part(
        role="current-limit-comparator", designator="U_lim",
        description=f"Comparator with reference {REFERENCE:g} V, blanking and latch, 0.2 µs or faster",
        value=Quantity(found.nominal, "A"), marking=engineering(found.nominal, "A", 3), ratings=tuple(ratings),
        worked=tuple(steps[name] for name in _WORKED),
        if_wrong="Missing: the first stall, or the first start at full duty, breaks the transistor, and it fails "
                 "short. Without the latch it chatters within the cycle.",
        notes=_notes(demand, found), sources=(_MEMORY,))


def _notes(demand: Demand, found: Limit) -> tuple[str, ...]:
    notes = [
        f"Acts between {engineering(found.low, 'A', 3)} and {engineering(found.high, 'A', 3)}, delays included; "
        "every rating is held against the upper end.",
        "The latch is set by the comparator and cleared by the clock at the start of the next cycle: it ends the "
        "on-time in hardware, ahead of any program.",
        f"Blanked for {engineering(found.blanking, 's', 3)} after the command to turn on: the turn-on edge and the "
        "recovery spike pass in it.",
        f"From the trip level to the transistor off: {engineering(found.reaction, 's', 3)}. No cycle under the limit "
        f"is shorter than {engineering(found.shortest, 's', 3)}.",
        f"With the motor leads shorted the current reaches {engineering(found.shorted, 'A', 3)} before the transistor "
        "is off; no limit of this kind is sure to save it from that.",
        "It limits current, not time: a stalled armature under the limit still burns, and needs its own cut-off.",
    ]
    if not math.isnan(demand.stall_peak):
        notes.append(f"At a stall {engineering(demand.stall_peak, 'A', 3)} stands under it.")
    return tuple(notes)


def _divider(found: Limit) -> tuple[Part, ...]:
    shared = "Divider of the threshold"
    return (
        Part(role="threshold-resistor", designator="R_a", description=f"{shared}, from the reference, 0.25 W film",
             value=Quantity(found.upper, "ohm"), marking=iec60062(found.upper, "ohm"), tolerance="±1 %",
             worked=(found.steps["divider"],),
             if_wrong="Too small or shorted: the limit lies too high, and nothing shows it until a stall.",
             notes=("Rounded up: the limit comes out lower.",), sources=(_PRACTICE,)),
        Part(role="threshold-resistor", designator="R_b", description=f"{shared}, to the source, 0.25 W film",
             value=Quantity(DIVIDER_FOOT, "ohm"), marking=iec60062(DIVIDER_FOOT, "ohm"), tolerance="±1 %",
             if_wrong="Open: the limit is gone; hold the threshold with a clamp or check it at start.",
             sources=(_PRACTICE,)),
    )


def _filter(found: Limit) -> tuple[Part, ...]:
    return (
        Part(role="current-sense-filter-resistor", designator="R_f", description="Filter of the sense voltage, 0.25 W",
             value=Quantity(FILTER_RESISTOR, "ohm"), marking=iec60062(FILTER_RESISTOR, "ohm"), tolerance="±5 %",
             if_wrong="Open: the comparator sees nothing, and there is no limit.", sources=(_PRACTICE,)),
        Part(role="current-sense-filter-capacitor", designator="C_f",
             description="Filter of the sense voltage, ceramic C0G, 50 V",
             value=Quantity(found.capacitor, "F"), marking=iec60062(found.capacitor, "F"), tolerance="±5 %",
             worked=(found.steps["filter"],),
             if_wrong="Too small: turn-on spikes trip the limit, and the motor has no torque. Too large: the limit "
                      "comes late and the shortest on-time grows.",
             notes=("Rounded up; at the comparator's pins.",), sources=(_PRACTICE,)),
    )
