"""Snubber R and C across a triac or thyristor, by the exact damped response; or none, with figures.

Rounding: the smallest capacitance that holds both limits (least leakage and loss); among the resistors
that do, the one that keeps most distance from every limit, mains steps past the motor's winding
capacitance (or with a lamp in its place) counted as a wish. Both sides of the resistance bind: too little
gives turn-on current and ringing, too much gives an initial slope of R_s·E/L.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from designer.equations import snubber as formulas
from designer.errors import InputError
from designer.parts.margins import share
from designer.parts.preferred import at_least, at_most, series_values
from designer.parts.resistor_body import body, body_ratings
from designer.quantities import iec60062
from designer.results import Part, Quantity, Rating, Step
from designer.waveforms.step_response import Loop

#: tolerance of the parts: X2 film capacitor 10 %, resistor 5 % (usual pairing, IEC 60063 practice)
CAPACITOR_TOLERANCE, RESISTOR_TOLERANCE = 0.10, 0.05
#: smallest and largest capacitor looked at, F (usual X2 range, from memory)
SMALLEST, LARGEST = 10e-9, 1e-6
#: r.m.s. working voltages of X2 capacitors, V (standards of IEC 60384-14 parts, practice)
X2_VOLTAGES = (275.0, 305.0, 310.0, 480.0)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the switch meets at turn-off and turn-on, and what it withstands.

    ``step_voltage`` (V) is the source less back-EMF when the current ends, worst corner;
    ``inductance`` (H) and ``resistance`` (Ω) of the whole loop, the inductance at its least and at
    zero current; ``recovery_current`` (A) what still flows when the switch lets go (RECOVERY_CURRENT).
    ``commutating_dvdt`` (V/s) is the limit of a four-quadrant device, None for a three-quadrant one,
    which is held to ``critical_dvdt`` (V/s) instead. ``turn_off_slope`` and its ``…_limit`` in A/s.
    ``device_capacitance`` (F) is the switch's own, ``lead_inductance`` (H) that of supply
    and leads without the motor. ``flux_slope`` (V·s/A) is k'(0) of the motor.
    """

    supply_rms_high: float
    frequency: float
    step_voltage: float
    inductance: float
    resistance: float
    recovery_current: float
    voltage_rating: float
    commutating_dvdt: float | None
    critical_dvdt: float
    turn_off_slope: float
    turn_off_slope_limit: float
    turn_on_slope_limit: float
    device_capacitance: float
    earliest_angle: float
    latest_angle: float
    lead_inductance: float
    flux_slope: float
    friction_torque: float
    margins: Mapping[str, float] = field(default_factory=dict)

    @property
    def turn_on_voltage(self) -> float:
        """Greatest switch voltage at firing, V: the crest where the range holds it."""
        angle = min(max(self.earliest_angle, math.pi / 2), self.latest_angle)
        return math.sqrt(2) * self.supply_rms_high * math.sin(angle)

    @property
    def slope_limit(self) -> float:
        """The dv/dt rating that holds, V/s."""
        return self.critical_dvdt if self.commutating_dvdt is None else self.commutating_dvdt


def choose(demand: Demand) -> tuple[Part, ...]:
    """Give snubber resistor and capacitor, or one part of count 0 that tells why none is needed.

    Raises ``InputError`` for ``parts.switch.commutating_dvdt`` (``critical_dvdt`` of a three-quadrant
    switch) where no pair of preferred values holds all limits.
    """
    if demand.commutating_dvdt is None and all(_holds(rating) for rating in bare_ratings(demand)):
        return (_none_needed(demand),)
    resistance, capacitance = _pair(demand)
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


def worst(demand: Demand, resistance: float, capacitance: float) -> tuple[float, float]:
    """Give peak voltage (V) and greatest dv/dt (V/s) at the worst corner of the parts' tolerances."""
    loops = _loops(demand, np.array([resistance]), capacitance)
    return float(loops.peak().max()), float(loops.greatest_slope().max())


def _loops(demand: Demand, resistances: np.ndarray, capacitance: float) -> Loop:
    corners = np.array(list(product((-1.0, 1.0), repeat=2)))
    return Loop(
        step=demand.step_voltage, inductance=demand.inductance, load_resistance=demand.resistance,
        resistance=resistances[:, None] * (1 + RESISTOR_TOLERANCE * corners[:, 0]),
        capacitance=capacitance * (1 + CAPACITOR_TOLERANCE * corners[:, 1]),
        recovery_current=demand.recovery_current,
    )


def _pair(demand: Demand) -> tuple[float, float]:
    """The smallest capacitance with a resistance that holds all limits, and the best such resistance."""
    peak_limit = share("switch_voltage", demand.margins)[0] * demand.voltage_rating
    slope_limit = share("dvdt", demand.margins)[0] * demand.slope_limit
    rise_limit = share("rise_of_current", demand.margins)[0] * demand.turn_on_slope_limit
    low = float(formulas.DISCHARGE_RESISTOR(V_sw=demand.turn_on_voltage, didt=rise_limit))
    high = float(formulas.RESISTOR_FOR_SLOPE(L=demand.inductance, slope=slope_limit, E=demand.step_voltage))
    resistances = _between(low / (1 - RESISTOR_TOLERANCE), high / (1 + RESISTOR_TOLERANCE), "E12")
    for capacitance in _between(SMALLEST, LARGEST, "E6"):
        if not resistances.size:
            break
        loops = _loops(demand, resistances, capacitance)
        used = np.max(
            [loops.peak().max(axis=1) / peak_limit, loops.greatest_slope().max(axis=1) / slope_limit,
             low / (resistances * (1 - RESISTOR_TOLERANCE))], axis=0,
        )
        if used.min() <= 1:
            wish = np.where(used <= 1, np.maximum(used, _spike_share(demand, resistances)), np.inf)
            return float(resistances[int(np.argmin(wish))]), float(capacitance)
    key = "critical_dvdt" if demand.commutating_dvdt is None else "commutating_dvdt"
    raise InputError(
        f"parts.switch.{key}", f"{demand.slope_limit / 1e6:.3g} V/µs and {demand.voltage_rating:g} V",
        f"a switch whose limits an R-C can hold ({low:.3g} to {high:.3g} Ω looked at)",
        "Take a three-quadrant switch with a high commutating slope, or one of a higher voltage.",
    )


def _spike_share(demand: Demand, resistances: np.ndarray) -> np.ndarray:
    """Static dv/dt of a mains step past the motor, over its limit: a wish, not a limit, against large R."""
    limit = share("dvdt", demand.margins)[0] * demand.critical_dvdt
    rise = formulas.REACTOR_SLOPE(V_sw=math.sqrt(2) * demand.supply_rms_high, L_s=demand.lead_inductance)
    slope: np.ndarray = formulas.STATIC_SLOPE(R_s=resistances, didt=float(rise)) / limit
    return slope


def _between(low: float, high: float, series: str) -> np.ndarray:
    if high < low * (1 - 1e-9):
        return np.array([])
    first, last = at_least(low, series=series), at_most(high, series=series)
    decades = range(math.floor(math.log10(first)) - 2, math.floor(math.log10(last)) + 1)
    values = [float(f"{n}e{d}") for d in decades for n in series_values(series)]
    return np.array([v for v in values if first * (1 - 1e-9) <= v <= last * (1 + 1e-9)])


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
        sources=("three-quadrant types mostly run without a snubber (seen in makers' notes)",),
    )


def _resistor(demand: Demand, resistance: float, capacitance: float) -> Part:
    voltage = demand.turn_on_voltage
    loss = {"f": demand.frequency, "C_s": capacitance * (1 + CAPACITOR_TOLERANCE), "V_sw": voltage}
    power = float(formulas.LOSS_BOUND(**loss))
    chosen = body(power, voltage=voltage, most=1, margins=demand.margins, key="parts.snubber")
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
