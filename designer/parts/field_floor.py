"""Floor under a chopped field's current: a resistor across the transistor, which no control can open.

Safe side: the next smaller resistance (a stronger floor), for the lowest supply and the hot winding; the heat for the
highest supply as if the transistor were always off.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations.starter import FLOOR_HEAT, FLOOR_RESISTOR
from designer.errors import InputError
from designer.parts.margins import holds, share
from designer.parts.preferred import at_most
from designer.parts.starting_resistor import bodies
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step

TOLERANCE = 0.05        # of the resistor (E24 as sold)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """A that must stay; V of the lowest and of the highest bus, V across the open transistor; ohm of the hot winding;
    °C class limit at which it is so hot.
    """

    floor: float
    lowest: float
    highest: float
    peak: float
    hot: float


def choose(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Part, float]:
    """Give the resistor and its value, ohm.

    Raises ``InputError`` for ``circuit.field_floor`` where the lowest bus does not drive the floor through the hot
    winding, or no listed body bears the heat.
    """
    needed = Step(formula=FLOOR_RESISTOR, note="lowest supply, winding at its class limit", inputs={
        "V_bus": demand.lowest, "I_floor": demand.floor, "R_f": demand.hot})
    if needed.value <= 0:
        raise InputError(
            "circuit.field_floor", engineering(demand.floor, "A"),
            f"less than {engineering(0.995 * demand.lowest / demand.hot, 'A', 3)}",
            "The lowest bus does not drive it through the hot winding, even without a resistor.")
    ohms = at_most(needed.value / (1.0 + TOLERANCE), "E24")
    heat = Step(formula=FLOOR_HEAT, note="highest supply, duty next to none, lower tolerance", inputs={
        "V_bus": demand.highest, "R_floor": ohms * (1.0 - TOLERANCE)})
    power, volts = share("resistor_power", margins), share("resistor_voltage", margins)
    left = demand.lowest / (demand.hot + ohms * (1.0 + TOLERANCE))
    for body in bodies():
        ratings = (
            Rating(name="power", limit=Quantity(body.power, "W"), stress=Quantity(heat.value, "W"), share=power[0],
                   source=power[1], at="highest supply, the transistor off nearly always"),
            Rating(name="peak voltage", limit=Quantity(body.voltage, "V"), stress=Quantity(demand.peak, "V"),
                   share=volts[0], source=volts[1], at="transistor off, its overshoot on top"),
            Rating(name="floor kept", limit=Quantity(left, "A"), stress=Quantity(demand.floor, "A"),
                   source="derived: Ohm's law", at="lowest supply, winding at its class limit, upper tolerance"))
        if all(map(holds, ratings)):
            return Part(
                role="field-floor-resistor", designator="R21", description=f"field floor, {body.text}",
                value=Quantity(ohms, "ohm"), marking=f"{iec60062(ohms, 'ohm')} {body.power:g} W",
                tolerance=f"{100 * TOLERANCE:g} %", ratings=ratings, worked=(needed, heat),
                if_wrong="Open or too large: a chopper that stops takes the field away, and the motor runs up past its "
                         "limit. Too small: it burns, and the field cannot be weakened to the target.",
                notes=("Its leads go to the motor's field terminal and to the minus bus by themselves, not over the "
                       "transistor's or the shunt's joints: nothing of the chopper may open it.",
                       f"It gets hot, up to {engineering(heat.value, 'W', 3)}: on metal, outside the box, clear of "
                       "wires.",
                       "Try it with the driver unplugged and the armature off: the field current must settle at "
                       f"{engineering(left, 'A', 3)} or more."),
                sources=(body.told,)), ohms
    raise InputError(
        "circuit.field_floor", f"{heat.value:.3g} W in the floor's resistor at {demand.peak:.3g} V",
        f"at most {power[0] * bodies()[-1].power:g} W in the largest listed",
        "A lower floor where the speed limit allows, or a lower supply.")
