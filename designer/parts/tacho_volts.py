"""Frequency to voltage for an analogue loop: a charge pump into an amplifier with resistor and capacitor across it.

A buffer swings the pump's capacitor by its supply once a pulse; one diode fills it from ground, the other takes the
charge out of the amplifier's virtual earth, so that the output rises with the frequency.
Rounding: pump capacitor down (the resistor makes up for it), resistor down (no more than its share of full scale),
output capacitor up (less ripple, more lag; the table shows both).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations import tacho_volts as eq
from designer.errors import InputError
from designer.parts.margins import share
from designer.parts.preferred import at_least, at_most
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step, Table

#: share of full scale at the highest speed; ohm, resistor aimed at (common practice, no source)
SCALE, OUTPUT_AIM = 0.8, 100e3
#: V, drop of a pump's diode at its mean current, and by how much it falls per kelvin (from memory)
DROP, DROP_DRIFT = 0.5, 2e-3
THOUSAND_RPM = 1000 * math.pi / 30      # rad/s
#: V, class of the pump's diodes (from memory)
DIODE = 75.0
#: V below its supply that the amplifier's output reaches (from memory); V, A: its offset and input current
HEADROOM, OFFSET, INPUT_CURRENT = 0.5, 5e-3, 1e-9
#: ohm ahead of the pump; share of the charge that it may miss (common practice, no source)
BUFFER, MISSED = 1e3, 1e-3
#: F, least of the pump: below it strays of board and diodes count (common practice, no source)
LEAST_PUMP = 220e-12
#: ripple peak to peak over the highest output, aimed at (common practice, no source); values shown on either side
RIPPLE, AROUND = 0.05, 2
#: tolerances of C0G or film capacitor, of 1 % resistor, of the supply (as sold)
CAPACITOR_TOLERANCE, RESISTOR_TOLERANCE, SUPPLY_TOLERANCE = 0.05, 0.01, 0.05


@dataclass(frozen=True, kw_only=True)
class Demand:
    """Pulses a second at the highest speed to be held (Hz), that speed (rad/s), ripple allowed as a share of the top.

    ``supply`` (V) feeds buffer and amplifier.
    """

    frequency: float
    speed: float
    ripple: float = RIPPLE
    supply: float = 5.0
    drop: float = DROP
    margins: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Converter:
    """The values chosen: pump and output capacitor (F), resistor (ohm), with the steps that led there."""

    demand: Demand
    pump: float
    resistor: float
    output: float
    steps: Mapping[str, Step]

    @property
    def scale(self) -> float:
        """Output volts per rad/s of the motor, V*s."""
        return self.steps["volts"].value / self.demand.speed

    @property
    def spread(self) -> float:
        """By what share the scale may be off before it is trimmed: all tolerances of one sign."""
        swing = self.demand.supply - 2 * self.demand.drop
        return CAPACITOR_TOLERANCE + RESISTOR_TOLERANCE + SUPPLY_TOLERANCE * self.demand.supply / swing

    @property
    def drift(self) -> float:
        """By what share the scale rises per kelvin, 1/K: the diodes' drops fall."""
        return 2 * DROP_DRIFT / (self.demand.supply - 2 * self.demand.drop)


def design(demand: Demand) -> Converter:
    """Choose pump, resistor and output capacitor.

    Raises ``InputError`` for ``control.feedback`` where the pulses are too quick for a pump of usual size, or the
    supply is used up by the pump's diodes.
    """
    if demand.supply - 2 * demand.drop < demand.supply / 2:
        raise InputError(
            "control.feedback", f"a charge pump fed from {demand.supply:g} V", f"at least {4 * demand.drop:g} V",
            "Feed buffer and amplifier from a higher voltage: the two diodes take their drops.")
    full = {"q_fs": SCALE, "V_fs": demand.supply - HEADROOM, "f_max": demand.frequency, "V_q": demand.supply,
            "V_D": demand.drop}
    wanted = Step(formula=eq.PUMP_CAPACITOR, inputs={**full, "R_o": OUTPUT_AIM})
    pump = max(at_most(wanted.value, series="E6"), LEAST_PUMP)
    matched = Step(formula=eq.PUMP_RESISTOR, inputs={**full, "C_p": pump})
    resistor = at_most(matched.value, series="E96")
    missed = Step(formula=eq.PUMP_MISSED, inputs={"f_max": demand.frequency, "R_b": BUFFER, "C_p": pump})
    if missed.value > MISSED:
        raise InputError(
            "control.feedback", f"{engineering(demand.frequency, 'Hz', 3)} of pulses into a charge pump of "
            f"{engineering(pump, 'F', 3)}", f"a pump that misses at most {100 * MISSED:g} % of its charge",
            "Divide the pulses by two or more ahead of the pump.")
    output = at_least(resistor_lag(demand) / resistor, series="E6")
    return Converter(demand=demand, pump=pump, resistor=resistor, output=output, steps={
        "pump": wanted, "resistor": matched, "missed": missed,
        **_output(demand, pump=pump, resistor=resistor, output=output),
        "error": Step(formula=eq.PUMP_ERROR, inputs={"V_i": OFFSET, "I_i": INPUT_CURRENT, "R_o": resistor})})


def resistor_lag(demand: Demand) -> float:
    """Give the least lag, s, with which the ripple stays within what is allowed: ripple times lag is fixed."""
    return 1 / (demand.frequency * demand.ripple)


def _output(demand: Demand, *, pump: float, resistor: float, output: float) -> dict[str, Step]:
    """Volts at the highest speed, ripple, lag and settling of one output capacitor."""
    charge = {"C_p": pump, "V_q": demand.supply, "V_D": demand.drop}
    lag = Step(formula=eq.PUMP_LAG, inputs={"R_o": resistor, "C_o": output})
    return {
        "volts": Step(formula=eq.PUMP_VOLTS, inputs={**charge, "f_t": demand.frequency, "R_o": resistor}),
        "ripple": Step(formula=eq.PUMP_RIPPLE, inputs={**charge, "C_o": output}),
        "lag": lag,
        "settling": Step(formula=eq.PUMP_SETTLING, inputs={"tau_o": lag.value}),
        "against": Step(formula=eq.RIPPLE_AGAINST_LAG, inputs={"f_max": demand.frequency, "tau_o": lag.value}),
    }


def trade(found: Converter) -> Table:
    """Give ripple against lag for output capacitors on either side of the one chosen."""
    values = [found.output]
    for _ in range(AROUND):
        values = [at_most(0.98 * values[0], series="E6"), *values, at_least(1.02 * values[-1], series="E6")]
    rows = []
    for value in values:
        steps = _output(found.demand, pump=found.pump, resistor=found.resistor, output=value)
        rows.append((
            iec60062(value, "F"), Quantity(steps["ripple"].value, "V"),
            Quantity(steps["ripple"].value / found.scale, "rad/s"), Quantity(steps["lag"].value, "s"),
            Quantity(steps["settling"].value, "s")))
    return Table(
        name="tacho-volts", title="Speed as a voltage: ripple against lag",
        columns=("output capacitor", "ripple, peak to peak", "as speed", "lag", "settled to 1 %"), rows=tuple(rows),
        note="The ripple is the same at every speed, so it weighs most at the lowest. Ripple times lag is fixed by the "
             "pulses: only a tacho with more pulses, or both edges, gives less of both.",
        chosen=AROUND)


def choose(demand: Demand, *, found: Converter | None = None) -> tuple[Part, ...]:
    """Give buffer, pump, amplifier and output network; raises ``InputError`` as ``design`` does."""
    made = design(demand) if found is None else found
    return _buffer(made), _pump(made), _diodes(made), _amplifier(made), *_network(made)


def _buffer(made: Converter) -> Part:
    return Part(
        role="tacho-pump-resistor", designator="R_vb", description="From the pulses' buffer to the pump, 0.25 W film",
        value=Quantity(BUFFER, "ohm"), marking=iec60062(BUFFER, "ohm"), tolerance="±5 %",
        worked=(made.steps["missed"],),
        if_wrong="Too large: at high speed the pump is not filled, the loop sees too little speed and drives up.",
        notes=("From an inverter with hysteresis, output to both rails, whose input is the optocoupler's pull-up.",),
        sources=("common practice, no source",))


def _pump(made: Converter) -> Part:
    return Part(
        role="tacho-pump-capacitor", designator="C_vp", description="Pump capacitor, ceramic C0G or film, 50 V",
        value=Quantity(made.pump, "F"), marking=iec60062(made.pump, "F"),
        tolerance=f"±{100 * CAPACITOR_TOLERANCE:g} %", worked=(made.steps["pump"],),
        if_wrong="Another dielectric moves with temperature and voltage, and the speed with it. Open: the loop sees no "
                 "speed and drives up to the limit: the overspeed trip must not read this voltage.",
        notes=("Rounded down; the resistor makes up for it.",), sources=("charge pump, derived",))


def _diodes(made: Converter) -> Part:
    allowed, source = share("diode_voltage", made.demand.margins)
    return Part(
        role="tacho-pump-diode", designator="D_vp", count=2, description=f"Small-signal diode, {DIODE:g} V, 100 mA",
        ratings=(Rating(
            name="reverse voltage", limit=Quantity(DIODE, "V"), stress=Quantity(made.demand.supply, "V"), share=allowed,
            source=source, at="the other diode conducting", remedy="A diode of a higher voltage."),),
        if_wrong="Reversed: the output stays at zero, the loop sees no speed and drives up.",
        notes=("One to ground, one to the amplifier's input; of one kind and side by side, so that they warm alike.",),
        sources=(f"drop of {DROP:g} V, {1e3 * DROP_DRIFT:g} mV less per kelvin: from memory",))


def _amplifier(made: Converter) -> Part:
    top = made.steps["volts"].value
    return Part(
        role="tacho-volts-amplifier", designator="U_v",
        description=f"Amplifier, input and output to both rails, on {made.demand.supply:g} V",
        ratings=(Rating(
            name="output voltage", limit=Quantity(made.demand.supply - HEADROOM, "V"), stress=Quantity(top, "V"),
            share=SCALE, source="common practice, no source", at="highest speed to be held",
            remedy="A smaller resistor across the amplifier."),),
        worked=(made.steps["volts"], made.steps["error"]),
        if_wrong="Its output stuck low: the loop sees no speed and drives up to the limit.",
        notes=(
            f"{engineering(made.scale * THOUSAND_RPM, 'V', 3)} at 1000 rpm of the motor; full scale is reached at "
            f"{100 / SCALE:.0f} % of the highest speed, and beyond it the voltage tells nothing.",
            f"It may be off by {100 * made.spread:.2g} % before it is trimmed at a known speed, and rises by "
            f"{100 * made.drift:.1g} % per kelvin as the diodes warm: feed buffer and reference from one supply, "
            "so that its tolerance drops out.",
            f"Errors that do not depend on speed: {engineering(made.steps['error'].value, 'V', 2)}, or "
            f"{made.steps['error'].value / top:.1%} of the highest speed."),
        sources=("generic amplifier, from memory",))


def _network(made: Converter) -> tuple[Part, Part]:
    steps = made.steps
    return (
        Part(
            role="tacho-volts-resistor", designator="R_v", description="Across the amplifier, 0.25 W film",
            value=Quantity(made.resistor, "ohm"), marking=iec60062(made.resistor, "ohm", 4),
            tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %", worked=(steps["resistor"],),
            if_wrong="Too large: the voltage ends below the highest speed, and the loop drives up beyond. Open: full "
                     "voltage, the motor stops.",
            notes=("Rounded down: at the highest speed no more than its share of full scale. A trimmer beside the "
                   "command sets the speed against a reading.",),
            sources=("80 % of full scale: common practice, no source",)),
        Part(
            role="tacho-volts-capacitor", designator="C_v", description="Across the amplifier, film, 50 V",
            value=Quantity(made.output, "F"), marking=iec60062(made.output, "F"), tolerance="±10 %",
            worked=(steps["ripple"], steps["lag"], steps["settling"], steps["against"]),
            if_wrong="Too small: the ripple goes through the regulator into the firing, and the motor growls. Too "
                     "large: the loop hunts.",
            notes=(f"Rounded up: ripple {engineering(steps['ripple'].value, 'V', 2)} peak to peak, lag "
                   f"{engineering(steps['lag'].value, 's', 2)}. The loop must be tuned with that lag.",),
            sources=("ripple of 5 % at the top: common practice, no source",)),
    )
