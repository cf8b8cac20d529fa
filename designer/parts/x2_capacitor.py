"""X2 capacitor across the plug against brush noise, and its bleeder.

Safe side: the larger capacitance for noise; the exemption from a bleeder counts at the upper tolerance
and with every other capacitor across the plug.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations import capacitor as eq
from designer.errors import InputError
from designer.parts import bleeder
from designer.parts.margins import share
from designer.parts.preferred import at_least
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: F per W of motor input: 100 nF for each 100 to 200 W, the start value (common practice, no source)
PER_WATT = 100e-9 / 200.0
#: F, usual range (common practice, no source)
LEAST, MOST = 47e-9, 470e-9
#: upper tolerance of X2 film capacitors as sold (from memory)
TOLERANCE = 0.20
#: V r.m.s., rated voltages as sold (common practice, no source)
VOLTAGES = (275.0, 305.0, 310.0)
_WRONG = (
    "Any other capacitor than X2 burns when a surge breaks it. Too large: shock from the pins of the pulled "
    "plug, and more current through the filter."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What it stands and filters: highest mains (V r.m.s.), frequency (Hz), motor input (W).

    ``other_capacitance`` (F, upper end): all else that stays across the pulled plug, for instance the
    snubber through a motor. ``without_bleeder``: keep the value so small that none is needed.
    """

    mains_high: float
    frequency: float
    motor_power: float
    other_capacitance: float = 0.0
    without_bleeder: bool = False


@dataclass(frozen=True, kw_only=True)
class SafetyClass:
    """A class of IEC 60384-14: impulse (V) before endurance, and where it may stand."""

    name: str
    impulse: float
    position: str
    source: str
    mark: str


def choose(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Part, Part | None]:
    """Give the X2 capacitor and its bleeder; none only where the demand says so and all stays below 0.1 µF.

    A standard exempts small capacitors; a hand on the plug's pins feels 0.1 µF all the same.

    Raises ``InputError`` for ``supply.voltage`` above the X2 ratings, and for ``motor`` power where
    ``without_bleeder`` leaves too little capacitance.
    """
    value = _value(demand)
    rated = _rated(demand, margins=margins)
    upper = Step(formula=eq.UPPER_CAPACITANCE, inputs={"C": value, "tol": TOLERANCE})
    current = Step(formula=eq.CAPACITOR_CURRENT, inputs={
        "f": demand.frequency, "C_max": upper.value, "V_ac": demand.mains_high},
        note="current through it at the highest mains")
    allowed, source = share("x2_voltage", margins)
    row = next(c for c in read("safety_capacitors", SafetyClass) if c.name == "X2")
    resistor = _bleeder(demand, value=value, margins=margins)
    part = Part(
        role="x2-capacitor", designator="C1",
        description=f"class X2 film capacitor, {rated:g} V a.c., {row.position}",
        value=Quantity(value, "F"), marking=f"{iec60062(value, 'F')} X2 {rated:g} V~",
        tolerance=f"{100 * TOLERANCE:g} %",
        ratings=(Rating(
            name="a.c. voltage", limit=Quantity(rated, "V"), stress=Quantity(demand.mains_high, "V"),
            share=allowed, source=source, at="highest mains"),),
        worked=(upper, current), if_wrong=_WRONG,
        notes=_notes(demand, current=current.value, bled=resistor is not None),
        sources=(marked(row.source, row.mark), "100 nF per 100 to 200 W (common practice, no source)"))
    return part, resistor


def _value(demand: Demand) -> float:
    if demand.without_bleeder:
        return _small(demand)
    return min(at_least(max(PER_WATT * demand.motor_power, LEAST), series="E6"), MOST)


def _small(demand: Demand) -> float:
    free = bleeder.limit("plug").exempt_below - demand.other_capacitance
    fitting = [c for c in (47e-9, 68e-9) if c * (1.0 + TOLERANCE) < free]
    if not fitting:
        raise InputError(
            "parts.x2_capacitor", f"{engineering(demand.other_capacitance, 'F', 3)} already across the plug",
            "less than 0.1 µF in all without a bleeder", "Fit the bleeder.")
    return max(fitting)


def _rated(demand: Demand, *, margins: Mapping[str, float]) -> float:
    allowed = share("x2_voltage", margins)[0]
    fitting = [volts for volts in VOLTAGES if demand.mains_high <= allowed * volts * (1 + 1e-9)]
    if not fitting:
        raise InputError(
            "supply.voltage", f"up to {demand.mains_high:.0f} V", f"X2 capacitors up to {VOLTAGES[-1]:g} V",
            "Use a lower mains voltage.")
    return min(fitting)


def bleeder_demand(
    capacitance: float, *, tolerance: float, mains_high: float, margins: Mapping[str, float],
) -> bleeder.Demand:
    """Give the demand of a plug's bleeder: from the crest of ``mains_high`` to 34 V within 1 s."""
    row = bleeder.limit("plug")
    return bleeder.Demand(
        role="x2-bleeder", designator="R1", capacitance=capacitance, tolerance=tolerance,
        peak=math.sqrt(2.0) * mains_high, heating_voltage=mains_high, end=row.voltage,
        time=share("plug_discharge_time", margins)[0], source=marked(row.source, row.mark))


def _bleeder(demand: Demand, *, value: float, margins: Mapping[str, float]) -> Part | None:
    total = value * (1.0 + TOLERANCE) + demand.other_capacitance
    if demand.without_bleeder and total < bleeder.limit("plug").exempt_below:
        return None
    return bleeder.choose(bleeder_demand(
        total, tolerance=0.0, mains_high=demand.mains_high, margins=margins), margins=margins)


def _notes(demand: Demand, *, current: float, bled: bool) -> tuple[str, ...]:
    notes = [
        "Start value for brush noise; near the brushes it does most. The filter is not an approval of radio "
        "disturbance.",
        f"Passes {engineering(current, 'A', 3)} at {demand.frequency:g} Hz, from line to neutral only: none of "
        "it to earth.",
        "Never in place of a Y capacitor from line to earth.",
    ]
    if PER_WATT * demand.motor_power > MOST:
        notes.append(
            f"The rule asks for {engineering(PER_WATT * demand.motor_power, 'F', 3)}; the usual range ends at "
            f"{engineering(MOST, 'F')}: add a choke.")
    if not bled:
        notes.append("Below 0.1 µF across the plug in all: no bleeder asked for; the pins bite all the same.")
    return tuple(notes)
