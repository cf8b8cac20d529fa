"""The tacho's input as parts: resistor in each lead, clamp, filter, comparator with hysteresis, optocoupler.

The coil sits in one frame with a winding at mains potential: it, the comparator and their supply are live. Only the
optocoupler (and a supply of its own) stands between them and the logic. Values and rounding: ``parts.tacho_values``.
"""

from __future__ import annotations

import math

from designer.parts.insulation import clearance, creepage
from designer.parts.margins import share
from designer.parts.preferred import at_least
from designer.parts.resistor_body import Body, body_ratings, classes
from designer.parts.tacho_barrier import COARSE
from designer.parts.tacho_values import BIAS, FILTER, FINE, FOOT, OUTPUT, SHUNT, Demand, Input, design
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step

__all__ = ["Demand", "Input", "choose", "design"]

_PRACTICE = "common practice, no source"
_FASTEST = "highest speed that can come"
#: F across half of the bias divider (common practice, no source)
BIAS_CAPACITOR = 10e-6
#: rail clamp over the highest supply; W, its class (common practice, no source)
RAIL, RAIL_POWER = 1.1, 0.5


def choose(demand: Demand, *, found: Input | None = None) -> tuple[Part, ...]:
    """Give the parts from the coil's leads to the logic; ``found`` where ``design`` has run already.

    Raises ``InputError`` as ``design`` does.
    """
    made = design(demand) if found is None else found
    return (
        _series(made), _clamp(made), _rail(made), _plain(made, "shunt"), _plain(made, "filter"),
        _filter_capacitor(made), _plain(made, "bias"), _bias_capacitor(), _comparator(made), _plain(made, "foot"),
        _feedback(made), _plain(made, "output"), _led(made), _optocoupler(made), _pull_up(made),
        *((_supply(made),) if demand.own_supply else ()),
    )


def _series(made: Input) -> Part:
    demand, body, steps = made.demand, made.leads.body, made.steps
    power, voltage = body_ratings(body, power=steps["loss"].value, voltage=max(demand.bus_peak, demand.peak),
                                  at="coil broken down to the winding beside it", margins=demand.margins)
    return Part(
        role="tacho-series-resistor", designator="R_t", count=2 * body.count,
        description=f"Series resistor, flameproof, {body.count} in each lead of the tacho, {body.text}",
        value=Quantity(made.leads.each, "ohm"), marking=iec60062(made.leads.each, "ohm"),
        tolerance=f"±{100 * COARSE:g} %",
        ratings=(
            Rating(name=power.name, limit=power.limit, stress=power.stress, share=power.share, source=power.source,
                   at=_FASTEST, remedy=power.remedy),
            voltage,
            Rating(name="power with the coil broken down", limit=Quantity(body.power, "W"),
                   stress=Quantity(steps["fault_loss"].value / body.count, "W"), source="its own rating",
                   at="one lead at the highest bus", remedy="A larger resistor in each lead.")),
        worked=tuple(steps[name] for name in ("series", "loss", "fault", "fault_loss") if name in steps),
        if_wrong="Too small: clamp and comparator die at the first overspeed, and the speed signal with them. Too "
                 "large: the input hears brushes and mains instead of the tacho.",
        notes=("In both leads, so that a coil that breaks down to the winding beside it meets a resistor at either "
               "end. Rounded up.",
               f"The tacho makes up to {demand.peak:.3g} V peak ({2 * demand.peak:.3g} V peak to peak) at the highest "
               "speed that can come: never straight into a logic input."),
        sources=(body.source, "a resistor in each lead: common practice, no source"))


def _clamp(made: Input) -> Part:
    demand, steps, diode = made.demand, made.steps, made.demand.clamp
    high = demand.supply * (1 + demand.supply_tolerance) + diode.drop
    current, current_source = share("diode_current", demand.margins)
    voltage, voltage_source = share("diode_voltage", demand.margins)
    ratings = [
        Rating(name="reverse voltage", limit=Quantity(diode.voltage, "V"), stress=Quantity(high, "V"), share=voltage,
               source=voltage_source, at="the other diode conducting", remedy="A diode of a higher voltage."),
        Rating(name="current with the coil broken down", limit=Quantity(diode.current, "A"),
               stress=Quantity(steps["fault"].value, "A"), share=current, source=current_source,
               at="one lead at the highest bus", remedy="Larger series resistors.")]
    if "clamp" in steps:
        ratings.append(Rating(
            name="peak current", limit=Quantity(diode.current, "A"), stress=Quantity(steps["clamp"].value, "A"),
            share=current, source=current_source, at=_FASTEST, remedy="Larger series resistors."))
    return Part(
        role="tacho-clamp-diode", designator="D_t", count=4,
        description=f"Clamp diode, small signal, {diode.voltage:g} V, {engineering(diode.current, 'A', 3)}",
        ratings=tuple(ratings), worked=tuple(steps[name] for name in ("clamp", "clamp_loss") if name in steps),
        if_wrong="Open: the comparator's input meets the tacho's peak and dies, perhaps with its output stuck. "
                 "Shorted: no edges at all, which the program must take as a lost tacho.",
        notes=("Two at each input, to both rails of the comparator's supply. No Schottky diodes: their leakage in a "
               "warm box shifts the thresholds.",),
        sources=(diode.source,))


def _rail(made: Input) -> Part:
    demand = made.demand
    volts = at_least(RAIL * demand.supply * (1 + demand.supply_tolerance), series="E24")
    return Part(
        role="tacho-rail-clamp", designator="D_tz",
        description=f"Zener diode across the comparator's supply, {volts:g} V, {RAIL_POWER:g} W",
        value=Quantity(volts, "V"),
        ratings=(Rating(
            name="power with the coil broken down", limit=Quantity(RAIL_POWER, "W"),
            stress=Quantity(volts * made.steps["fault"].value, "W"), share=0.5, source=_PRACTICE,
            at="one lead at the highest bus", remedy="Larger series resistors."),),
        if_wrong="Missing: a coil that breaks down to the winding beside it pumps the comparator's supply up until it "
                 "dies.",
        notes=("Rounded up: it must not conduct at the highest supply.",), sources=(_PRACTICE,))


_SMALL = {
    "shunt": ("tacho-shunt-resistor", "R_tx", SHUNT, COARSE, "Resistor across the clamped input",
              "Missing: an open tacho lead leaves the input afloat, and hum reads as speed."),
    "filter": ("tacho-filter-resistor", "R_tf", FILTER, COARSE, "Filter resistor, clamp to comparator",
               "Shorted: the clamp's half volt beyond the rail goes into the comparator's input."),
    "bias": ("tacho-bias-resistor", "R_tb", BIAS, FINE, "Bias divider, two equal",
             "Unequal: both thresholds shift to one side, and low speeds are lost."),
    "foot": ("tacho-hysteresis-resistor", "R_th", FOOT, FINE, "Bias to the comparator's positive input",
             "Too small: less hysteresis, and noise makes edges. Too large: low speeds are lost."),
    "output": ("tacho-output-resistor", "R_to", OUTPUT, COARSE, "Pull-up of the comparator's output",
               "Missing: the output is not wholly high, and the upper threshold is not sure."),
}


def _plain(made: Input, name: str) -> Part:
    role, designator, ohms, tolerance, words, wrong = _SMALL[name]
    return Part(
        role=role, designator=designator, count=2 if name == "bias" else 1, description=f"{words}, 0.25 W film",
        value=Quantity(ohms, "ohm"), marking=iec60062(ohms, "ohm"), tolerance=f"±{100 * tolerance:g} %", if_wrong=wrong,
        worked=(made.steps["offset"],) if name == "shunt" else (), sources=(_PRACTICE,))


def _filter_capacitor(made: Input) -> Part:
    corner, lag = made.steps["corner"], made.steps["lag"]
    half = 1 / (2 * made.demand.frequency)
    return Part(
        role="tacho-filter-capacitor", designator="C_tf", description="Filter capacitor, ceramic C0G, 50 V",
        value=Quantity(made.capacitor, "F"), marking=iec60062(made.capacitor, "F"), tolerance="±5 %",
        worked=(corner, lag),
        if_wrong="Too small: spikes of brushes and switch make edges, and the speed reads too high: the motor is held "
                 "too slow, or hunts. Too large: at high speed edges vanish, and the loop sees too little speed.",
        notes=(f"Rounded down: corner {engineering(corner.value, 'Hz', 3)} against "
               f"{engineering(made.demand.frequency, 'Hz', 3)} of the tacho at the highest speed. It delays every edge "
               f"by {engineering(lag.value, 's', 3)}, of {engineering(half, 's', 3)} between two edges there.",
               "At the comparator's pins."),
        sources=("corner of twice the highest frequency: common practice, no source",))


def _bias_capacitor() -> Part:
    return Part(
        role="tacho-bias-capacitor", designator="C_tb", description="Across the lower half of the bias divider, 16 V",
        value=Quantity(BIAS_CAPACITOR, "F"), marking=iec60062(BIAS_CAPACITOR, "F"),
        if_wrong="Missing: ripple of the supply reaches the comparator.", sources=(_PRACTICE,))


def _comparator(made: Input) -> Part:
    demand, steps = made.demand, made.steps
    sink = made.led_current + demand.supply * (1 + demand.supply_tolerance) / (OUTPUT * (1 - COARSE))
    return Part(
        role="tacho-comparator", designator="U_t",
        description=f"Comparator, open output, inputs to both rails, on {demand.supply:g} V",
        ratings=(
            Rating(name="output current", limit=Quantity(demand.comparator.sink, "A"), stress=Quantity(sink, "A"),
                   share=0.8, source=_PRACTICE, at="output low, high supply", remedy="A larger diode resistor."),
            Rating(name="noise against half of the hysteresis", limit=Quantity(made.half_least, "V"),
                   stress=Quantity(demand.noise, "V"), share=0.5, source="factor of 2, common practice, no source",
                   at="all tolerances at their bad end", remedy="Quieter leads, or a smaller feedback resistor.")),
        worked=tuple(steps[name] for name in ("up", "down", "hysteresis", "threshold")),
        if_wrong="Without hysteresis each slow zero of the tacho makes a burst of edges: the speed reads too high.",
        notes=(
            f"It switches within {engineering(made.threshold, 'V', 3)} of zero at the tacho's leads, at the bad end of "
            f"all tolerances; half of its hysteresis is {engineering(made.half_least, 'V', 3)} or more.",
            f"Counted with noise of {engineering(demand.noise, 'V', 3)} peak at its input. Measure it with the motor "
            "running and the tacho's leads on a resistor in place of the coil, isolated: no earthed clip.",
            "Comparator, bias and clamp are live with the motor."),
        sources=(demand.comparator.source,))


def _feedback(made: Input) -> Part:
    return Part(
        role="tacho-feedback-resistor", designator="R_tr", description="Feedback of the comparator, 0.25 W film",
        value=Quantity(made.feedback, "ohm"), marking=iec60062(made.feedback, "ohm"), tolerance=f"±{100 * FINE:g} %",
        worked=(made.steps["feedback"],),
        if_wrong="Open: no hysteresis, and the speed reads too high. Too small: low speeds give no edges.",
        notes=("Rounded down: the hysteresis stays wider than the noise asks for.",), sources=(_PRACTICE,))


def _led(made: Input) -> Part:
    demand, ohms = made.demand, made.across.led
    high = demand.supply * (1 + demand.supply_tolerance)
    power = high**2 / (ohms * (1 - COARSE))
    allowed, _ = share("resistor_power", demand.margins)
    row = next(row for row in classes() if power <= allowed * row.power)
    chosen = Body(power=row.power, voltage=row.voltage, count=1, construction=row.construction, source=row.source)
    return Part(
        role="tacho-led-resistor", designator="R_tl", description=f"Resistor of the optocoupler's diode, {chosen.text}",
        value=Quantity(ohms, "ohm"), marking=iec60062(ohms, "ohm"), tolerance=f"±{100 * COARSE:g} %",
        ratings=body_ratings(chosen, power=power, voltage=high, at="output low all the time", margins=demand.margins),
        worked=(made.across.current, made.across.resistor),
        if_wrong="Too large: after some years edges are missed, the loop sees too little speed and drives up.",
        notes=("Rounded down, so that the diode still has its current when it has aged.",),
        sources=(made.across.coupler.source,))


def _optocoupler(made: Input) -> Part:
    demand, coupler = made.demand, made.across.coupler
    near = clearance(demand.mains, grade="reinforced", altitude=demand.altitude)
    along = max(near, creepage(max(demand.bus_peak / math.sqrt(2), demand.mains), grade="reinforced"))
    both = 360 * demand.frequency * coupler.delay
    return Part(
        role="tacho-optocoupler", designator="U_ti",
        description=f"Optocoupler, {coupler.kind}, {coupler.body}, reinforced insulation of "
                    f"{coupler.working_voltage:g} V peak",
        ratings=(
            Rating(name="diode current", limit=Quantity(coupler.diode_current, "A"),
                   stress=Quantity(made.led_current, "A"), share=0.8, source=_PRACTICE,
                   at="diode drop neglected (upper bound)", remedy="A larger diode resistor."),
            Rating(name="working voltage of the insulation", limit=Quantity(coupler.working_voltage, "V"),
                   stress=Quantity(demand.bus_peak, "V"), source="its own rating", at="highest bus",
                   remedy="An optocoupler of a wider body."),
            Rating(name="frequency", limit=Quantity(made.across.quickest.value, "Hz"),
                   stress=Quantity(demand.frequency, "Hz"), source="delay within half of a half period: " + _PRACTICE,
                   at=_FASTEST, remedy="An optocoupler with a logic output.")),
        worked=(made.across.quickest,),
        if_wrong="Too slow: at high speed edges vanish, the loop sees less speed and drives up: this is a runaway. "
                 "Without reinforced insulation the logic, and whoever touches it, is on the mains.",
        notes=(f"The only barrier between the tacho and the logic: {1e3 * near:.1f} mm through air and "
               f"{1e3 * along:.1f} mm along the board under it, at least (board kept clean).",
               f"Unlike delays of its edges shift one against the other by up to {both:.2g}° of a period at the "
               "highest speed: count edges of one direction, or average over whole periods."),
        sources=(f"{coupler.source} ({coupler.mark})", "half of the light at the end of life: " + _PRACTICE))


def _pull_up(made: Input) -> Part:
    coupler = made.across.coupler
    return Part(
        role="tacho-pull-up", designator="R_tp", description="Pull-up of the optocoupler's output, 0.25 W film",
        value=Quantity(coupler.pull_up, "ohm"), marking=iec60062(coupler.pull_up, "ohm"),
        tolerance=f"±{100 * COARSE:g} %",
        if_wrong="Too large: the optocoupler becomes slow, and edges vanish at high speed. Too small: when it has aged "
                 "it no longer pulls the logic down.",
        notes=("On the logic's side; into an input with hysteresis.",), sources=(coupler.source,))


def _supply(made: Input) -> Part:
    demand = made.demand
    return Part(
        role="tacho-supply", designator="G_t",
        description=f"Supply of the comparator, {demand.supply:g} V ± {100 * demand.supply_tolerance:g} %, at least "
                    f"{engineering(made.supply_current, 'A', 2)}, own winding or converter, reinforced insulation",
        value=Quantity(demand.supply, "V"),
        ratings=(Rating(
            name="working voltage of the insulation", limit=Quantity(made.across.coupler.working_voltage, "V"),
            stress=Quantity(demand.bus_peak, "V"), source="as the optocoupler's: both are one barrier",
            at="highest bus", remedy="A supply of a higher working voltage."),),
        if_wrong="Fed from the logic's supply instead, the barrier is bridged and the logic is live. Dead: no edges, "
                 "which the program must take as a lost tacho.",
        notes=("It feeds the live side alone.",), sources=(_PRACTICE,))


def worked(made: Input) -> tuple[Step, ...]:
    """Give every worked step of the input, in the order of the signal."""
    return (*made.steps.values(), made.across.current, made.across.resistor, made.across.quickest)
