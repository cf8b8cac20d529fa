"""Divider that a thyristor's gate compares with the motor's own voltage: resistors, potentiometer, diodes, gate parts.

From the line through two or more resistors, the potentiometer, a foot resistor and a diode to the neutral. The diode at
the foot lets the divider conduct in the positive half alone, keeps the current that flows on past the zero out of the
gate, and cancels the drop of the gate diode and its drift. Rounding: foot down and upper resistors down, so that the
range is reached with every part at its edge; the speed at the end of the track is what the study holds against limits.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations import residual as eq
from designer.equations.firing import GATE_CIRCUIT_CURRENT, GATE_CURRENT_COLD
from designer.errors import InputError
from designer.parts.breakover import TRACKS
from designer.parts.margins import share
from designer.parts.preferred import at_least, at_most
from designer.parts.resistor_body import Body, body, body_ratings
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step

#: V; gate that fires at 25 °C: typical, and the span from one thyristor to another (from memory)
GATE_TYPICAL, GATE_LEAST = 0.6, 0.4
#: of the largest gate current: what a typical sensitive gate takes (from memory)
TYPICAL_SHARE = 0.25
#: V; drop of a small diode at about 1 mA, and of one with the divider's current (from memory)
GATE_DIODE_DROP, FOOT_DIODE_DROP = 0.58, 0.70
#: V; what a reference loses before its divider is chosen: a typical gate, its current's part left out
BARE_OFFSET = GATE_TYPICAL + GATE_DIODE_DROP - FOOT_DIODE_DROP
#: V/K; fall of the gate's firing voltage (from memory)
GATE_FALL = 2e-3
#: ohm; from gate to cathode, the value at which the rise of voltage of a sensitive gate is stated (from memory)
GATE_RESISTOR = 1e3
#: of the voltage at the wiper, what the largest gate current may take from it (common practice, no source)
LOADED = 0.10
#: of the target's share: what the track reaches beyond it (common practice, no source)
BEYOND = 1.10
TRACK_TOLERANCE, RESISTOR_TOLERANCE, CAPACITOR_TOLERANCE = 0.20, 0.05, 0.10
#: resistors above the track: two, so that one short leaves the other (common practice, no source)
LEAST_IN_SERIES, MOST_IN_SERIES, LEAST_FOOT = 2, 6, 1.0
#: V; fall of the gate while the gate diode blocks; times that the latching lasts (common practice, no source)
GATE_SAG, HOLD_FACTOR = 0.2, 2.0
#: rad; delay of the gate by its capacitor that is let happen (common practice, no source)
MOST_LAG, WARM, ZERO = math.radians(10.0), 25.0, 273.15
#: V; small film capacitors. W: V; potentiometers, the largest wire-wound (from memory)
FILM_VOLTAGE, POTS = 63.0, {**TRACKS, 5.0: 500.0}


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the reference must reach; SI.

    ``lowest`` and ``highest``: crest at the wiper (V, at nominal mains) of the slowest and the fastest setting, before
    what the gate's current takes. ``gate_current``: the thyristor's largest (A, 25 °C); ``gate_voltage`` likewise.
    ``latching_current`` (A), ``inductance`` (H) at no current, ``firing_voltage`` (V) the least across it at a firing
    that must latch at once; ``cold`` °C.
    """

    supply_rms: float
    supply_rms_high: float
    frequency: float
    lowest: float
    highest: float
    gate_current: float
    gate_voltage: float
    latching_current: float
    inductance: float
    firing_voltage: float
    cold: float
    margins: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Divider:
    """The values chosen, ohm and F: ``upper`` each of ``count`` resistors, ``track``, ``foot``, gate's capacitor."""

    demand: Demand
    upper: float
    count: int
    track: float
    foot: float
    body: Body
    capacitor: Step
    latching: Step
    gate: Step

    @property
    def total(self) -> float:
        """The whole divider, ohm."""
        return self.count * self.upper + self.track + self.foot

    @property
    def reach(self) -> tuple[float, float]:
        """Share of the mains at the wiper at both ends of the track, nominal values."""
        return self.foot / self.total, (self.foot + self.track) / self.total

    def source(self, ratio: float) -> float:
        """Give the resistance, ohm, seen from the wiper at a share of the mains there."""
        return float(eq.SOURCE_RESISTANCE(R_x=ratio * self.total, R_t=self.total))

    def offset(self, ratio: float, *, gate: float = GATE_TYPICAL, current: float | None = None) -> Step:
        """Give the step for what the reference loses, V, with a gate of this voltage (V) and current (A, typical)."""
        taken = TYPICAL_SHARE * self.demand.gate_current if current is None else current
        drawn = float(GATE_CIRCUIT_CURRENT(I_Gc=taken, V_GT=gate, R_gk=GATE_RESISTOR))
        return Step(formula=eq.OFFSET, inputs={
            "V_GT": gate, "V_D": GATE_DIODE_DROP, "V_D1": FOOT_DIODE_DROP, "rho": ratio, "I_G": drawn,
            "R_s": self.source(ratio)})

    def turned(self, ratio: float) -> float:
        """Give the place of the wiper for a share of the mains, 0 at the foot, 1 at the fast end."""
        return (ratio * self.total - self.foot) / self.track

    @property
    def lag(self) -> float:
        """Delay of the gate by its capacitor, the wiper where it is softest, rad."""
        low, high = self.reach
        source = _share_of_source(low, high) * self.total
        return 2 * math.pi * self.demand.frequency * source * capacity(self.capacitor)


def capacity(step: Step) -> float:
    """The capacitor, F: the next larger preferred value at the low end of its tolerance."""
    return at_least(step.value / (1 - CAPACITOR_TOLERANCE), series="E6")


def design(demand: Demand) -> Divider:
    """Give the values of the divider.

    The whole is so small that neither the largest gate current pulls the wiper down by more than ``LOADED``, nor the
    gate's capacitor delays the firing by more than ``MOST_LAG``. Raises ``InputError`` for
    ``parts.switch.gate_current`` where such a divider gets too hot, for ``target.speed`` beyond the mains' crest.
    """
    crest = math.sqrt(2) * demand.supply_rms
    drawn, latching = _largest_gate_current(demand), Step(
        formula=eq.SENSE_LATCHING, note="from half of the target's speed on", inputs={
            "I_L": demand.latching_current, "L_0": demand.inductance, "V_f": demand.firing_voltage})
    hold = Step(formula=eq.GATE_HOLD, note=f"{HOLD_FACTOR:g} times the latching time", inputs={
        "I_G": drawn.value, "t_l": HOLD_FACTOR * latching.value, "DV_g": GATE_SAG})
    low = demand.lowest / crest
    high = BEYOND * (demand.highest / (1 - LOADED)) / crest
    if high >= 1.0:
        raise InputError(
            "target.speed", f"{engineering(demand.highest, 'V', 3)} at the wiper, {100 * (BEYOND - 1):g} % to turn on",
            f"less than the crest of the mains, {engineering(crest, 'V', 3)}", "A lower speed, or less field.")
    source = min(LOADED * demand.highest / drawn.value, MOST_LAG / (2 * math.pi * demand.frequency * capacity(hold)))
    track = at_most((high - low) * source / _share_of_source(low, high), series="E3")
    foot = at_most(max(low / (high - low) * track, LEAST_FOOT), series="E12")
    while True:
        shortest = foot * (1 - RESISTOR_TOLERANCE) + track * (1 - TRACK_TOLERANCE)
        count, upper, chosen = _upper(demand, shortest * (1 / high - 1) / (1 + RESISTOR_TOLERANCE), track + foot)
        most = (1 + RESISTOR_TOLERANCE) * foot
        if foot <= LEAST_FOOT or most <= low * (
                (1 - RESISTOR_TOLERANCE) * count * upper + (1 - TRACK_TOLERANCE) * track + most):
            return Divider(demand=demand, upper=upper, count=count, track=track, foot=foot, body=chosen, gate=drawn,
                           latching=latching, capacitor=hold)
        foot = at_most(0.99 * foot, series="E12")


def _share_of_source(low: float, high: float) -> float:
    """The greatest resistance seen from the wiper along the track, as a share of the whole divider."""
    at = min(max(0.5, low), high)
    return at * (1 - at)


def _largest_gate_current(demand: Demand) -> Step:
    """What the greediest gate and its resistor take, cold."""
    cold = float(GATE_CURRENT_COLD(I_GT=demand.gate_current, T_low=min(demand.cold, WARM) + ZERO))
    return Step(formula=GATE_CIRCUIT_CURRENT, note="greediest gate, cold", inputs={
        "I_Gc": cold, "V_GT": demand.gate_voltage, "R_gk": GATE_RESISTOR})


def _upper(demand: Demand, least: float, below: float) -> tuple[int, float, Body]:
    """Count, value and body of the resistors above the track, at most ``least`` ohm together."""
    for count in range(LEAST_IN_SERIES, MOST_IN_SERIES + 1):
        each = at_most(least / count, series="E12")
        power, volts = _stress(demand, count, each, below)
        try:
            return count, each, body(power, voltage=volts, most=1, margins=demand.margins, key="supply.voltage")
        except InputError:
            continue
    power, _ = _stress(demand, 1, least, below)
    raise InputError(
        "parts.switch.gate_current", f"{engineering(demand.gate_current, 'A', 2)}: the divider must lose "
        f"{engineering(power, 'W', 2)}", f"what {MOST_IN_SERIES} resistors of the listed bodies bear",
        "A thyristor with a sensitive gate, which fires at some tenths of a milliampere.")


def _stress(demand: Demand, count: int, each: float, below: float) -> tuple[float, float]:
    """Heat (W) and crest (V) of one of the upper resistors at high mains, itself low, the others high."""
    low, total = each * (1 - RESISTOR_TOLERANCE), count * each * (1 - RESISTOR_TOLERANCE) + below
    power = float(eq.DIVIDER_LOSS(V=demand.supply_rms_high, R_1=low, R_t=total))
    uneven = (1 + RESISTOR_TOLERANCE) / (count - 1 + (1 + RESISTOR_TOLERANCE)) if count > 1 else 1.0
    return power, math.sqrt(2) * demand.supply_rms_high * max(uneven, 1 / count)


def parts(divider: Divider, *, ratio: float) -> tuple[Part, ...]:
    """Give the parts of the divider with the wiper at a share of the mains; the gate diode is the caller's."""
    return (_upper_part(divider), _track_part(divider, ratio), _foot_part(divider), _gate_resistor(divider),
            _gate_capacitor(divider))


def _upper_part(one: Divider) -> Part:
    demand, (power, volts) = one.demand, _stress(one.demand, one.count, one.upper, one.track + one.foot)
    return Part(
        role="reference-resistor", designator="R_1", count=one.count, value=Quantity(one.upper, "ohm"),
        description=f"Upper resistors of the reference, {one.count} in series, each {one.body.text}",
        marking=iec60062(one.upper, "ohm"), tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        ratings=body_ratings(one.body, power=power, voltage=volts, at="high mains", margins=demand.margins),
        worked=(one.gate, Step(formula=eq.DIVIDER_LOSS, note="one of them, high mains", inputs={
            "V": demand.supply_rms_high, "R_1": one.upper, "R_t": one.total})),
        if_wrong="Too small: they burn, and the end of the track is faster. Too large: the target is not reached. One "
                 "shorted: the reference about doubles and the speed with it, and the other takes four times its power "
                 "until it burns open.",
        notes=(f"{one.count} in series for the voltage, and because a single one that shorts would put the mains on "
               "the gate.", "Stand them off the board, away from the thyristor and the two diodes: they stay warm.",
               "With the diode at the foot shorted each takes twice the power, which its rating still bears."),
        sources=(one.body.source, "loading of the wiper: common practice, no source"))


def _track_part(one: Divider, ratio: float) -> Part:
    demand = one.demand
    used, most = (share(f"resistor_{what}", demand.margins) for what in ("power", "voltage"))
    volts = math.sqrt(2) * demand.supply_rms_high * one.track / one.total
    power = float(eq.DIVIDER_LOSS(V=demand.supply_rms_high, R_1=one.track, R_t=one.total))
    rated = _track_power(power, volts, used=used[0])
    return Part(
        role="potentiometer", designator="R_p", value=Quantity(one.track, "ohm"), marking=iec60062(one.track, "ohm"),
        description=f"Potentiometer, linear, {rated:g} W, insulated shaft", tolerance=f"±{100 * TRACK_TOLERANCE:g} %",
        ratings=(
            Rating(name="power", limit=Quantity(rated, "W"), stress=Quantity(power, "W"), share=used[0],
                   source=used[1], at="high mains", remedy="A potentiometer of the next power."),
            Rating(name="track voltage", limit=Quantity(POTS[rated], "V"), stress=Quantity(volts, "V"),
                   share=most[0], source=most[1], at="high mains")),
        worked=(Step(formula=eq.SOURCE_RESISTANCE, note="at the target", inputs={
            "R_x": ratio * one.total, "R_t": one.total}), one.offset(ratio)),
        if_wrong="Too large: the gate's current pulls the wiper down, and the setting drifts with it. Its two ends "
                 "exchanged: slow and fast are exchanged. An open track below the wiper: full half-wave.",
        notes=(f"Set to {100 * one.turned(ratio):.0f} % of its way from the foot for the target, nominal parts.",
               "The wiper goes to the gate diode alone: open, nothing fires and the motor stops.",
               "Every part of the reference, track and shaft too, is at mains potential: insulated shaft, no metal "
               "knob, no grub screw that can be touched."),
        sources=("common practice, no source",))


def _track_power(power: float, volts: float, *, used: float) -> float:
    """The smallest potentiometer, W, that bears heat (W) and crest (V)."""
    fitting = [watts for watts, limit in POTS.items() if power <= used * watts and volts <= limit]
    if fitting:
        return fitting[0]
    raise InputError(
        "target.speed", f"{engineering(power, 'W', 2)} in the potentiometer", f"up to {used * max(POTS):g} W",
        "A lower speed or less field: the motor's own voltage is then lower, and so is the reference.")


def _foot_part(one: Divider) -> Part:
    demand = one.demand
    power = float(eq.DIVIDER_LOSS(V=demand.supply_rms_high, R_1=one.foot, R_t=one.total))
    volts = math.sqrt(2) * demand.supply_rms_high * one.foot / one.total
    chosen = body(power, voltage=volts, most=1, margins=demand.margins, key="supply.voltage")
    return Part(
        role="reference-foot", designator="R_2", value=Quantity(one.foot, "ohm"), marking=iec60062(one.foot, "ohm"),
        description=f"Foot resistor of the reference, {chosen.text}", tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        ratings=body_ratings(chosen, power=power, voltage=volts, at="high mains", margins=demand.margins),
        if_wrong="It sets the slow end of the track. Open: the whole mains half wave reaches the gate, full half-wave.",
        notes=("Rounded down: the slow end is reached with every part at its edge.",), sources=(chosen.source,))


def _gate_resistor(one: Divider) -> Part:
    crest, heat = one.demand.gate_voltage, one.demand.gate_voltage**2 / GATE_RESISTOR
    chosen = body(heat, voltage=crest, most=1, margins=one.demand.margins, key="supply.voltage")
    return Part(
        role="gate-resistor", designator="R_gk", value=Quantity(GATE_RESISTOR, "ohm"), marking=iec60062(
            GATE_RESISTOR, "ohm"), description=f"Resistor from gate to cathode, {chosen.text}", tolerance="±5 %",
        ratings=body_ratings(
            chosen, power=heat, voltage=crest, at="gate at its firing voltage", margins=one.demand.margins),
        worked=(one.gate,),
        if_wrong="Left out: a sensitive gate fires by itself when hot, or on a rise of voltage: full half-wave.",
        notes=("At the thyristor's pins. The value for which such a thyristor's rise of voltage is stated.",),
        sources=("from memory",))


def _gate_capacitor(one: Divider) -> Part:
    value = capacity(one.capacitor)
    return Part(
        role="gate-capacitor", designator="C_g", value=Quantity(value, "F"), marking=iec60062(value, "F"),
        description=f"Capacitor from gate to cathode, film, {FILM_VOLTAGE:g} V", tolerance="±10 %",
        ratings=(Rating(name="d.c. voltage", limit=Quantity(FILM_VOLTAGE, "V"),
                        stress=Quantity(one.demand.gate_voltage, "V"), source="its own rating, from memory",
                        at="gate at its firing voltage"),),
        worked=(one.latching, one.capacitor),
        if_wrong="Left out: once the thyristor fires its cathode lifts to the mains and the gate diode blocks; the "
                 "thyristor may let go before it has latched, and fires again and again. Too large: it fires late.",
        notes=(f"It delays the firing by {math.degrees(one.lag):.2g}° at most: a little less speed.",
               "At rest it fires so early that the current may not latch at once: it tries again until the mains has "
               "risen far enough, which harms nothing.",
               "Rounded up: it holds the gate until the current has latched, and keeps the brushes' noise out."),
        sources=("times and sag: common practice, no source",))
