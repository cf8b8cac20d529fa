"""Interference filter in the mains: a choke with two windings on one ring, and two Y capacitors to earth.

Equal windings carry the line current there and back: the ring sees none of it, only what goes to earth. Their stray
inductance works with the X2 capacitor between line and neutral. Safe side: the next larger current of the choke; the
Y capacitor rounded down to a preferred value, by the leakage limit with the neutral open.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from designer.equations import mains_filter as eq
from designer.errors import InputError
from designer.parts import earth_leakage
from designer.parts.margins import share
from designer.parts.preferred import at_most
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: F, largest Y capacitor in common use in a filter (common practice, no source: 4.7 nF by standards' sum)
USUAL_Y = 4.7e-9
#: F, smallest worth its place (common practice, no source)
LEAST_Y = 0.47e-9
#: V r.m.s., Y2 capacitors as sold (common practice, no source)
Y_VOLTAGES = (250.0, 300.0)
#: Hz at which the filter's attenuation is told
FREQUENCIES = (150e3, 500e3, 1e6, 5e6, 30e6)
SOURCE = "start values of common practice, no source: what a motor and its supply send out is measured, not computed"


@dataclass(frozen=True, kw_only=True)
class Choke:
    """A choke as sold: A r.m.s., H of one winding, ohm of one winding, stray share, A saturating the stray, Hz."""

    current: float
    inductance: float
    resistance: float
    stray: float
    saturation: float
    resonance: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Emission:
    """Limits (dBµV) over a range (MHz) for a category, from its lower to its upper end along log f."""

    category: str
    from_mhz: float
    to_mhz: float
    quasi_peak_from: float
    quasi_peak_to: float
    average_from: float
    average_to: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Demand:
    """Line current r.m.s. and crest (A), leakage as of ``earth_leakage``, what stands as X2 (F), the user's choice.

    ``y_capacitance`` and ``inductance`` are None where the design chooses.
    """

    current: float
    crest: float
    leakage: earth_leakage.Demand
    x2: float
    y_capacitance: float | None = None
    inductance: float | None = None
    at: str = ""


def limits(frequency: float, category: str) -> tuple[float, float]:
    """Give quasi-peak and average limit, dBµV, at a frequency (Hz); the lower one where two ranges meet.

    Raises ``LookupError`` outside 0.15 to 30 MHz. Source: CISPR 14-1:2020.
    """
    mhz, found = frequency / 1e6, []
    for row in read("emission_limits", Emission):
        if row.category == category and row.from_mhz <= mhz <= row.to_mhz:
            along = math.log(mhz / row.from_mhz) / math.log(row.to_mhz / row.from_mhz)
            found.append((row.quasi_peak_from + along * (row.quasi_peak_to - row.quasi_peak_from),
                          row.average_from + along * (row.average_to - row.average_from)))
    if not found:
        raise LookupError(f"no limit for {category} at {mhz:g} MHz")
    return min(found)


def choke(demand: Demand, *, margins: Mapping[str, float]) -> Choke:
    """Give the smallest choke for the current; ``InputError`` for ``line_filter`` or ``load.torque`` where none is."""
    allowed = share("choke_current", margins)[0]
    rows = [row for row in read("common_mode_chokes", Choke) if demand.current <= allowed * row.current]
    if not rows:
        raise InputError("line_filter", f"{demand.current:.3g} A in the line", "chokes up to 25 A",
                         "Take a filter outside this table, or leave [line_filter] out.")
    fitting = [row for row in rows if demand.crest <= share("choke_saturation", margins)[0] * row.saturation]
    chosen = fitting[0] if fitting else rows[-1]      # none fits: its check fails and says so
    return chosen if demand.inductance is None else replace(chosen, inductance=demand.inductance)


def y_capacitance(demand: Demand) -> float:
    """Give one Y capacitor, F: the usual one or the largest that the leakage allows, rounded down.

    Raises ``InputError`` for ``line_filter.y_capacitance`` on class II, where metal that is touched is not earthed.
    """
    if demand.leakage.protection == "class-2":
        raise InputError(
            "line_filter.y_capacitance", "a motor of class II, whose metal is touched and has no protective earth",
            "no Y capacitor", "A Y capacitor would put its current through whoever touches it: leave [line_filter] "
            "out, or set motor.double_insulated to false and earth the frame.")
    if demand.y_capacitance is not None:
        return demand.y_capacitance
    most = min(USUAL_Y, earth_leakage.largest_y(demand.leakage))
    if most < LEAST_Y:
        raise InputError(
            "motor.frame_capacitance", engineering(demand.leakage.frame_capacitance, "F"),
            "leakage that leaves room for a Y capacitor", "Leave [line_filter] out: the windings use up the limit.")
    return at_most(most, "E6")


def choose(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Part, Part]:
    """Give the choke and the two Y capacitors; raises ``InputError`` as ``choke`` and ``y_capacitance`` do."""
    ring, value = choke(demand, margins=margins), y_capacitance(demand)
    return _choke_part(ring, demand, value, margins), _y_part(demand, value, margins)


def stray(ring: Choke) -> Step:
    """Give the step of the stray inductance, H."""
    return Step(formula=eq.STRAY_INDUCTANCE, inputs={"s_stray": ring.stray, "L_common": ring.inductance})


def insertion_loss(frequency: float, *, inductance: float, capacitance: float, resonance: float) -> float:
    """Give the insertion loss, dB, of choke and capacitor in a system of 50 ohm at a frequency (Hz)."""
    reactance = float(eq.CHOKE_REACTANCE(f_noise=frequency, L_filter=inductance, f_own=resonance))
    susceptance = float(eq.CAPACITOR_SUSCEPTANCE(f_noise=frequency, C_filter=capacitance))
    return 20 * math.log10(float(eq.INSERTION_LOSS(X_choke=reactance, B_filter=susceptance)))


def losses(ring: Choke, *, y_value: float, x2: float) -> tuple[tuple[float, float, float], ...]:
    """Give frequency (Hz), loss of common and of differential disturbance (dB), at ``FREQUENCIES``.

    Of the capacitances the nominal; the stray inductance resonates with the same winding capacitance, so higher.
    """
    line = stray(ring).value
    return tuple(
        (f, insertion_loss(f, inductance=ring.inductance, capacitance=2 * y_value, resonance=ring.resonance),
         insertion_loss(f, inductance=line, capacitance=x2, resonance=ring.resonance / math.sqrt(ring.stray)))
        for f in FREQUENCIES)


def _choke_part(ring: Choke, demand: Demand, y_value: float, margins: Mapping[str, float]) -> Part:
    allowed, why = share("choke_current", margins)
    source, line = marked(ring.source, ring.mark), stray(ring)
    return Part(
        role="emi-choke", designator="L9",
        description=f"interference choke, two windings on one ring, {engineering(ring.inductance, 'H')}, "
                    f"{ring.current:g} A",
        value=Quantity(ring.inductance, "H"), tolerance="-30/+50 %", marking=f"{ring.current:g} A",
        ratings=(
            Rating(name="r.m.s. current", limit=Quantity(ring.current, "A"), stress=Quantity(demand.current, "A"),
                   share=allowed, source=f"{source}; {why}", at=demand.at),
            Rating(name="crest of the line current against saturation of the stray inductance",
                   limit=Quantity(ring.saturation, "A"), stress=Quantity(demand.crest, "A"),
                   share=share("choke_saturation", margins)[0], source=source, at="running",
                   remedy="A choke of more current: beyond this the stray inductance is lost, not the common one.")),
        worked=(line, Step(formula=eq.CORNER, note="common mode, both Y capacitors", inputs={
            "L_filter": ring.inductance, "C_filter": 2 * y_value}), Step(
                formula=eq.CORNER, note="line to neutral, stray inductance and X2 capacitor", inputs={
                    "L_filter": line.value, "C_filter": demand.x2})),
        if_wrong="Windings the wrong way round: the ring saturates, hums and filters nothing. Too small: it overheats "
                 "inside before any fuse opens.",
        notes=("Between the main switch with its fuse and the rails; the X2 capacitor stands on the rails' side, the "
               "Y capacitors likewise, and their lead to the frame is short.", f"Value: {SOURCE}."),
        sources=(source,))


def _y_part(demand: Demand, value: float, margins: Mapping[str, float]) -> Part:
    allowed, why = share("x2_voltage", margins)
    high = demand.leakage.mains_high
    volts = next((v for v in Y_VOLTAGES if high <= allowed * v * (1 + 1e-9)), None)
    if volts is None:
        raise InputError("supply.voltage", f"up to {high:.0f} V", f"Y2 capacitors up to {Y_VOLTAGES[-1]:g} V",
                         "Use a lower mains voltage.")
    found = earth_leakage.leakage(_with_y(demand, value))
    return Part(
        role="y-capacitor", designator="C9", count=2,
        description=f"Y2 capacitor {engineering(value, 'F')}, {volts:g} V a.c., class Y2 (IEC 60384-14)",
        value=Quantity(value, "F"), marking=f"{iec60062(value, 'F')} Y2 {volts:g}V~", tolerance="±20 %",
        ratings=(
            Rating(name="a.c. voltage", limit=Quantity(volts, "V"), stress=Quantity(high, "V"), share=allowed,
                   source=why, at="high mains, neutral open"),
            earth_leakage.rating(found)),
        worked=found.steps,
        if_wrong="Any other capacitor than Y2 can fail short and put the mains on the frame. Too large: whoever "
                 "touches the frame with its earth lead off takes the current, and the residual-current device trips.",
        notes=("One from each rail to the earth screw of the frame. Never on metal that is touched and not earthed; "
               "never X2 in its place (IEC 60384-14, seen).",
               "With the earth lead off the frame floats to half the mains, and up to the whole where the neutral is "
               "off too, behind this capacitance."),
        sources=("IEC 60384-14: Y2 bridges basic insulation (seen)",))


def _with_y(demand: Demand, value: float) -> earth_leakage.Demand:
    """The leakage demand with the Y capacitor chosen."""
    return replace(demand.leakage, y_capacitance=value)
