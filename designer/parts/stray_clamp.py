"""Clamp R-C-D across the transistor for the stray inductance of the commutation loop; or none, with figures.

The capacitor sits at the bus voltage, takes ½·L·I² at each turn-off and gives it back through the
resistor to the bus plus. Rounding: capacitor up, resistor down (both: less overshoot).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations import clamp as eq
from designer.errors import InputError
from designer.parts.margins import holds, share
from designer.parts.preferred import at_least, at_most
from designer.parts.resistor_body import body, body_ratings
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step

#: H, of a loop of about 10 cm at 10 nH/cm (common practice, no source)
STRAY_INDUCTANCE = 100e-9
CAPACITOR_TOLERANCE = 0.10
#: V, d.c. ratings of small film and ceramic pulse capacitors (common practice, no source)
VOLTAGES = (100.0, 250.0, 400.0, 630.0, 1000.0, 1600.0, 2000.0)
#: F, least that a clamp is built with: below, its leads count more than its value
LEAST = 1e-9
#: V/s, of pulse film capacitors; rated current and pulse of diodes, A; their voltage classes, V (from memory)
_RISE = 10e9
_PULSES = ((1.0, 30.0), (3.0, 100.0), (8.0, 150.0), (30.0, 300.0))
_DIODES = (100.0, 200.0, 400.0, 600.0, 800.0, 1000.0, 1200.0)
_PRACTICE = "common practice, no source"
_AT = "turn-off at the limit's upper end, highest bus"


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the clamp must catch; SI.

    ``current``: the greatest that is turned off, the limit's upper end; ``running_current``: in the worst
    continuous state. ``fall_time``: shortest, of the transistor with its gate resistor.
    ``voltage_rating``, ``output_capacitance``: of the transistor. ``stray``: inductance of the loop.
    """

    bus_crest: float
    current: float
    running_current: float
    frequency: float
    fall_time: float
    voltage_rating: float
    output_capacitance: float
    stray: float = STRAY_INDUCTANCE
    margins: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Clamp:
    """What was chosen: the parts, and the peak voltage (V) that the transistor sees with them."""

    parts: tuple[Part, ...]
    peak_voltage: float


def overshoot(demand: Demand) -> Step:
    """Give the step of the overshoot without a clamp, V above the bus."""
    return Step(formula=eq.BARE_OVERSHOOT, note="without a clamp", inputs={
        "L_st": demand.stray, "I_off": demand.current, "t_fi": demand.fall_time,
        "C_oss": demand.output_capacitance})


def choose(demand: Demand) -> Clamp:
    """Give the clamp, or one part of count 0 that tells why none is needed.

    Raises ``InputError`` for ``parts.switch.voltage`` where the bus with the clamp's own leads already
    passes the share of the transistor's voltage.
    """
    bare = overshoot(demand)
    allowed = share("switch_voltage", demand.margins)[0] * demand.voltage_rating
    if demand.bus_crest + bare.value <= allowed * (1 + 1e-9):
        return without(demand)
    more = Step(formula=eq.CLAMP_MORE, inputs={"I_off": demand.current, "t_fi": demand.fall_time})
    room = allowed - demand.bus_crest - more.value
    if room <= 0:
        raise InputError(
            "parts.switch.voltage", f"{demand.voltage_rating:g} V on a bus of {demand.bus_crest:.0f} V with "
            f"{more.value:.0f} V from the clamp's own leads",
            f"at least {(demand.bus_crest + more.value) * demand.voltage_rating / allowed:.0f} V",
            "Use a transistor of a higher voltage, a slower turn-off (larger gate resistor), or a lower limit.")
    capacitor = Step(formula=eq.CLAMP_CAPACITOR, inputs={
        "L_st": demand.stray, "I_off": demand.current, "dV_cl": room})
    value = at_least(max(capacitor.value / (1 - CAPACITOR_TOLERANCE), LEAST), series="E6")
    return _clamp(demand, capacitance=value, steps=(bare, more, capacitor))


def without(demand: Demand) -> Clamp:
    """Give the transistor without a clamp: a part of count 0 whose rating tells whether that does."""
    bare = overshoot(demand)
    return Clamp(parts=(_none(demand, bare),), peak_voltage=demand.bus_crest + bare.value)


def _clamp(demand: Demand, *, capacitance: float, steps: tuple[Step, ...]) -> Clamp:
    upper = capacitance * (1 + CAPACITOR_TOLERANCE)
    resistor = Step(formula=eq.CLAMP_RESISTOR, inputs={"f": demand.frequency, "C_cl": upper})
    resistance = at_most(resistor.value, series="E12")
    # the lesser capacitor rises more, the greater one keeps more of it: each end is tried
    rises = []
    for value in (capacitance * (1 - CAPACITOR_TOLERANCE), upper):
        left = Step(formula=eq.RESIDUE, inputs={"f": demand.frequency, "R_cl": resistance, "C_cl": value})
        rises.append((left, Step(formula=eq.CLAMP_RISE, note="with the values chosen", inputs={
            "I_off": demand.current, "L_st": demand.stray, "C_cl": value, "x": left.value})))
    left, rise = max(rises, key=lambda pair: pair[1].value)
    peak = demand.bus_crest + rise.value + steps[1].value
    return Clamp(peak_voltage=peak, parts=(
        _capacitor(demand, capacitance, peak, (*steps, left, rise)),
        _resistor(demand, resistance, rise.value, resistor), _diode(demand, peak)))


def _voltage_rating(demand: Demand, peak: float) -> Rating:
    allowed, source = share("switch_voltage", demand.margins)
    return Rating(
        name="switch voltage at turn-off", limit=Quantity(demand.voltage_rating, "V"), stress=Quantity(peak, "V"),
        share=allowed, source=source, at=_AT,
        remedy="A shorter loop, a slower turn-off, a larger clamp, or a transistor of a higher voltage.")


def _capacitor(demand: Demand, capacitance: float, peak: float, worked: tuple[Step, ...]) -> Part:
    allowed, source = share("film_voltage", demand.margins)
    volts = next((v for v in VOLTAGES if peak <= allowed * v), VOLTAGES[-1])
    return Part(
        role="clamp-capacitor", designator="C_cl",
        description=f"Clamp capacitor, film or C0G ceramic, pulse type, {volts:g} V d.c.",
        value=Quantity(capacitance, "F"), marking=iec60062(capacitance, "F"),
        tolerance=f"±{100 * CAPACITOR_TOLERANCE:g} %",
        ratings=(
            _voltage_rating(demand, peak),
            Rating(name="voltage", limit=Quantity(volts, "V"), stress=Quantity(peak, "V"), share=allowed,
                   source=source, at=_AT, remedy="The next voltage rating."),
            Rating(name="rise of voltage", limit=Quantity(_RISE, "V/s"),
                   stress=Quantity(demand.current / (capacitance * (1 - CAPACITOR_TOLERANCE)), "V/s"),
                   source=f"10 kV/µs of pulse film types, from memory; {_PRACTICE}", at=_AT,
                   remedy="A ceramic C0G capacitor."),
        ),
        worked=worked, if_wrong="Too small, or on long leads: the overshoot breaks the transistor at the first stall.",
        notes=(
            "Rounded up. Diode and capacitor within a centimetre of the transistor's own pins; the resistor may be "
            "further away.",
            f"Loop inductance counted: {engineering(demand.stray, 'H', 3)}; measure the ring at reduced bus and "
            "correct it.",
            "It stays charged with the bus.", _ring(demand)),
        sources=(_PRACTICE,))


def _ring(demand: Demand) -> str:
    damp = float(eq.DAMPING_RESISTOR(L_st=demand.stray, C_oss=demand.output_capacitance))
    return (f"If it still rings: {engineering(damp, 'ohm', 2)} in series with "
            f"{engineering(3.5 * demand.output_capacitance, 'F', 2)} across the transistor ({_PRACTICE}).")


def _resistor(demand: Demand, resistance: float, rise: float, step: Step) -> Part:
    """The resistor, by its heat in the worse of running for good and a stall under the limit."""
    heat = Step(formula=eq.CLAMP_LOSS, note="the limit at every turn-off: a stall", inputs={
        "L_st": demand.stray, "I_off": max(demand.current, demand.running_current), "f": demand.frequency})
    try:
        chosen = body(heat.value, voltage=rise, most=2, margins=demand.margins, key="control.current_limit")
    except InputError as error:
        raise InputError(
            error.key, f"{demand.current:.3g} A at its upper end, turned off {demand.frequency:.5g} times a second: "
            f"{heat.value:.3g} W in the clamp resistor", error.allowed,
            "A lower current limit or switching frequency, or a shorter commutation loop.") from error
    each = resistance if chosen.count == 1 else at_most(resistance / chosen.count, series="E12")
    return Part(
        role="clamp-resistor", designator="R_cl", count=chosen.count,
        description=f"Clamp resistor, {chosen.text}", value=Quantity(each, "ohm"), marking=iec60062(each, "ohm"),
        tolerance="±5 %",
        ratings=body_ratings(chosen, power=heat.value, voltage=rise, at=_AT, margins=demand.margins),
        worked=(step, heat),
        if_wrong="Open: the capacitor creeps up cycle by cycle until the transistor breaks. Too small: it spoils the "
                 "capacitor's work and burns.",
        notes=("Rounded down. From the clamp capacitor to the bus plus; it is live.",
               *(("In series.",) if chosen.count > 1 else ())),
        sources=(chosen.source,))


def _diode(demand: Demand, peak: float) -> Part:
    allowed, source = share("diode_voltage", demand.margins)
    volts = next((v for v in _DIODES if peak <= allowed * v), _DIODES[-1])
    rated, pulse = next((row for row in _PULSES if demand.current <= row[1]), _PULSES[-1])
    return Part(
        role="clamp-diode", designator="D_cl", description=f"Clamp diode, ultrafast, {rated:g} A, {volts:g} V",
        value=Quantity(rated, "A"), marking=f"{rated:g} A {volts:g} V",
        ratings=(
            Rating(name="reverse voltage", limit=Quantity(volts, "V"), stress=Quantity(peak, "V"), share=allowed,
                   source=source, at=_AT),
            Rating(name="peak current", limit=Quantity(pulse, "A"), stress=Quantity(demand.current, "A"),
                   source="pulse of a single half wave; here it lasts tens of nanoseconds (from memory)", at=_AT,
                   remedy="A lower current limit."),
        ),
        if_wrong="Slow or on long leads: it opens too late, and the overshoot passes it.",
        notes=("Anode to the transistor's drain or collector.",), sources=("generic class, from memory",))


def _none(demand: Demand, bare: Step) -> Part:
    peak = demand.bus_crest + bare.value
    rating = _voltage_rating(demand, peak)
    return Part(
        role="clamp-capacitor", designator="C_cl", count=0,
        description="Clamp: none needed" if holds(rating) else "Clamp: none has room below the transistor's rating",
        ratings=(rating,), worked=(bare,),
        if_wrong="With a loop twice as long the overshoot is twice as high: measure it at reduced bus first.",
        notes=(f"{engineering(demand.stray, 'H', 3)} of loop leave {engineering(peak, 'V', 3)} at the transistor when "
               f"{engineering(demand.current, 'A', 3)} turn off.", _ring(demand)),
        sources=(_PRACTICE,))
