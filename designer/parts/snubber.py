"""Snubber R and C across a triac or thyristor, by the exact damped response; or none, with figures.

The values and their safe sides are those of ``snubber_values``.
"""

from __future__ import annotations

from designer.equations import snubber as formulas
from designer.errors import InputError
from designer.parts.margins import share
from designer.parts.resistor_body import body, body_ratings
from designer.parts.snubber_values import CAPACITOR_TOLERANCE, RESISTOR_TOLERANCE, Demand, pair, worst
from designer.quantities import iec60062
from designer.results import Part, Quantity, Rating, Step

__all__ = ["Demand", "bare_ratings", "choose", "worst"]

#: r.m.s. working voltages of X2 capacitors, V (common practice, no source)
X2_VOLTAGES = (275.0, 305.0, 310.0, 480.0)


def choose(demand: Demand) -> tuple[Part, ...]:
    """Give snubber resistor and capacitor, or one part of count 0 that tells why none is needed.

    Raises ``InputError`` for ``parts.switch.commutating_dvdt`` (``critical_dvdt`` of a three-quadrant
    switch) where no pair of preferred values holds all limits, or no resistor bears the loss.
    """
    if demand.commutating_dvdt is None and all(_holds(rating) for rating in bare_ratings(demand)):
        return (_none_needed(demand),)
    resistance, capacitance = pair(demand)
    return _resistor(demand, resistance, capacitance), _capacitor(demand, resistance, capacitance)


def bare_ratings(demand: Demand) -> tuple[Rating, ...]:
    """Give the ratings without a snubber: the loop rings undamped with the switch's own capacitance.

    The recovery current is left out here: it dies over tens of microseconds, slower than this ring
    (common practice, no source), so it adds to the snubber's response only.
    """
    bare = {"E": demand.step_voltage, "L": demand.inductance, "C_s": demand.device_capacitance}
    slope = float(formulas.BARE_SLOPE(**bare))
    return (
        _turn_off_rating(demand),
        _voltage_rating(demand, 2 * demand.step_voltage, "undamped ringing, high mains"),
        _slope_rating(demand, slope, "undamped ringing, high mains"),
    )


def _holds(rating: Rating) -> bool:
    return rating.stress.value <= rating.share * rating.limit.value


def _voltage_rating(demand: Demand, peak: float, at: str) -> Rating:
    used, source = share("switch_voltage", demand.margins)
    return Rating(
        name="switch voltage at turn-off", limit=Quantity(demand.voltage_rating, "V"),
        stress=Quantity(peak, "V"), share=used, source=source, at=at,
        remedy="A switch of a higher voltage, or a larger snubber capacitor.",
    )


def _slope_rating(demand: Demand, slope: float, at: str) -> Rating:
    used, source = share("dvdt", demand.margins)
    name = "critical dv/dt" if demand.commutating_dvdt is None else "commutating dv/dt"
    return Rating(
        name=name, limit=Quantity(demand.slope_limit, "V/s"), stress=Quantity(slope, "V/s"), share=used,
        source=source, at=at, remedy="A three-quadrant switch, or a larger snubber capacitor.",
    )


def _turn_off_rating(demand: Demand) -> Rating:
    used, source = share("commutating_slope", demand.margins)
    return Rating(
        name="current slope at turn-off", limit=Quantity(demand.turn_off_slope_limit, "A/s"),
        stress=Quantity(demand.turn_off_slope, "A/s"), share=used, source=source, at="worst corner",
        remedy="A switch of a higher commutating slope; a snubber does not lower it.",
    )


def _none_needed(demand: Demand) -> Part:
    bare = {"E": demand.step_voltage, "L": demand.inductance, "C_s": demand.device_capacitance}
    return Part(
        role="snubber", designator="", count=0, description="Snubber: none needed",
        ratings=bare_ratings(demand), worked=(Step(formula=formulas.BARE_SLOPE, inputs=bare),),
        if_wrong="The switch fires by itself after the current ends: full speed at any setting.",
        notes=(
            "A three-quadrant switch is held by its current slope at turn-off, and bears even the undamped "
            "ringing of the motor's inductance with its own capacitance. Nothing leaks when it is off.",
            "Leave room for one: mains spikes are not in this calculation (common practice, no source).",
        ),
        sources=("three-quadrant types mostly run without (seen in makers' notes)",),
    )


def _resistor(demand: Demand, resistance: float, capacitance: float) -> Part:
    voltage = demand.turn_on_voltage
    loss = {"f": demand.frequency, "C_s": capacitance * (1 + CAPACITOR_TOLERANCE), "V_sw": voltage}
    power = float(formulas.LOSS_BOUND(**loss))
    chosen = body(power, voltage=voltage, most=1, margins=demand.margins, key=demand.slope_key)
    turn_on = {"V_sw": voltage, "R_s": resistance * (1 - RESISTOR_TOLERANCE)}
    used, source = share("rise_of_current", demand.margins)
    rise = Rating(
        name="current rise at turn-on", limit=Quantity(demand.turn_on_slope_limit, "A/s"),
        stress=Quantity(float(formulas.DISCHARGE_SLOPE(**turn_on)), "A/s"), share=used, source=source,
        at="fired at the greatest switch voltage", remedy="A larger snubber resistor.",
    )
    at = "high mains, fired at the greatest switch voltage"
    return Part(
        role="snubber-resistor", designator="R_s",
        description=f"Snubber resistor, flameproof pulse type, {chosen.text}",
        value=Quantity(resistance, "ohm"), marking=iec60062(resistance, "ohm"),
        tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        ratings=(*body_ratings(chosen, power=power, voltage=voltage, at=at, margins=demand.margins), rise),
        worked=(
            Step(formula=formulas.INITIAL_SLOPE, inputs={
                "R_s": resistance, "E": demand.step_voltage, "L": demand.inductance}),
            Step(formula=formulas.DAMPING, inputs={
                "R_s": resistance, "R_l": demand.resistance, "C_s": capacitance, "L": demand.inductance}),
            Step(formula=formulas.DISCHARGE_PEAK, inputs=turn_on),
            Step(formula=formulas.DISCHARGE_SLOPE, inputs=turn_on),
            Step(formula=formulas.LOSS_BOUND, inputs=loss),
        ),
        if_wrong="Too small: the capacitor's discharge burns the switch at each firing. Too large: the "
                 "voltage jumps by R_s times the current, and the switch fires by itself.",
        notes=("Flameproof and made for pulses: the whole switch voltage stands on it at each firing.",),
        sources=(chosen.source, "closed-form response of the R-L-C loop (derived)"),
    )


def _capacitor(demand: Demand, resistance: float, capacitance: float) -> Part:
    peak, slope = worst(demand, resistance, capacitance)
    off = {
        "V_rms": demand.supply_rms_high, "f": demand.frequency, "R_s": resistance,
        "R_l": demand.resistance, "L": demand.inductance, "C_s": capacitance * (1 + CAPACITOR_TOLERANCE),
    }
    current = float(formulas.OFF_CURRENT(**off))
    torque = {"k_slope": demand.flux_slope, "I_off": current}
    return Part(
        role="snubber-capacitor", designator="C_s", description="Snubber capacitor, class X2 (IEC 60384-14)",
        value=Quantity(capacitance, "F"), marking=iec60062(capacitance, "F"),
        tolerance=f"±{100 * CAPACITOR_TOLERANCE:g} %",
        ratings=(
            _voltage_rating(demand, peak, "high mains, worst part tolerances"),
            _slope_rating(demand, slope, "high mains, worst part tolerances"),
            _turn_off_rating(demand), _x2_rating(demand),
            Rating(
                name="torque with the switch off", limit=Quantity(demand.friction_torque, "N*m"),
                stress=Quantity(float(formulas.OFF_TORQUE(**torque)), "N*m"),
                source="derived: it must not turn", at="high mains",
                remedy="A smaller capacitor, or a switch that needs none.",
            ),
        ),
        worked=(
            Step(formula=formulas.OFF_CURRENT, inputs=off),
            Step(formula=formulas.OFF_LOSS, inputs={"I_off": current, "R_s": resistance}),
            Step(formula=formulas.OFF_TORQUE, inputs=torque),
        ),
        if_wrong="Too small: the switch fires by itself and the motor runs at full speed. A capacitor with "
                 "only a d.c. rating, or of no safety class, fails short and the motor runs at full speed.",
        notes=(
            f"Off does not mean dead: {1000 * current:.2g} mA flows through the motor while the switch is "
            "off. Only a switch in both poles makes the motor safe to touch.",
            "The usual design formula does not hold the slope: with resistance in the snubber the greatest "
            "slope is the initial one, 2·ζ·E·ω₀, once ζ passes 0.5.",
        ),
        sources=("IEC 60384-14", "closed-form response of the R-L-C loop (derived)"),
    )


def _x2_rating(demand: Demand) -> Rating:
    used, source = share("x2_voltage", demand.margins)
    fitting = [v for v in X2_VOLTAGES if demand.supply_rms_high <= used * v]
    if not fitting:
        raise InputError(
            "supply.voltage", f"{demand.supply_rms_high:.4g} V", f"up to {X2_VOLTAGES[-1]:g} V r.m.s.",
            "No X2 capacitor is made for this voltage.",
        )
    return Rating(
        name="a.c. voltage", limit=Quantity(fitting[0], "V"), stress=Quantity(demand.supply_rms_high, "V"),
        share=used, source=source, at="high mains", remedy="The next class of X2 voltage.",
    )
