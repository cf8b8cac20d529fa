"""Bleeder: resistors that bring a capacitor below the limit in time, at its upper tolerance.

Safe side: the smaller resistance. Resistors stand in series for their voltage; with two strings side by
side one open resistor doubles the time, with one string nothing discharges any more.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations import capacitor as eq
from designer.errors import InputError
from designer.parts.margins import share
from designer.parts.preferred import at_most
from designer.parts.resistor_body import Class, classes
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: of the resistors (E24 as sold, IEC 60063 pairing)
RESISTOR_TOLERANCE = 0.05
_WRONG = (
    "Too large or open: the capacitor stays charged after switch-off and bites. Too small: it burns. "
    "Measure the voltage before touching anything; no bleeder is trusted."
)


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A discharge limit: to ``voltage`` (V) in ``time`` (s); capacitors below ``exempt_below`` (F) are free."""

    name: str
    voltage: float
    time: float
    exempt_below: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What is discharged: nominal capacitance (F) with its upper tolerance, from ``peak`` (V) to ``end`` (V).

    ``time`` in s; ``heating_voltage`` (V) is what heats the resistors in running, r.m.s. or direct.
    ``strings`` stand side by side, each of ``in_series`` equal resistors.
    """

    role: str
    designator: str
    capacitance: float
    tolerance: float
    peak: float
    heating_voltage: float
    end: float
    time: float
    source: str
    strings: int = 1
    in_series: int = 2


def limit(name: str) -> Limit:
    """Give the discharge limit ``"plug"`` (34 V in 1 s) or ``"bus"`` (60 V in 60 s, with a label)."""
    return next(row for row in read("discharge_limits", Limit) if row.name == name)


def bus_demand(
    capacitance: float, *, tolerance: float, peak: float, margins: Mapping[str, float],
) -> Demand:
    """Give the demand of a d.c. bus: to 60 V in the time of ``[margins] discharge_time`` (60 s), two strings."""
    row = limit("bus")
    return Demand(
        role="bleeder", designator="R10", capacitance=capacitance, tolerance=tolerance, peak=peak,
        heating_voltage=peak, end=row.voltage, time=share("discharge_time", margins)[0],
        source=marked(row.source, row.mark), strings=2)


def greatest(demand: Demand) -> Step:
    """Give the step for the greatest resistance in all that discharges in time."""
    upper = demand.capacitance * (1.0 + demand.tolerance)
    return Step(formula=eq.DISCHARGE_RESISTANCE, inputs={
        "t_dis": demand.time, "C_max": upper, "V_start": demand.peak, "V_end": demand.end},
        note=f"from {engineering(demand.peak, 'V', 3)} to {demand.end:g} V in {demand.time:g} s")


def choose(demand: Demand, *, margins: Mapping[str, float]) -> Part:
    """Give the bleeder: ``strings`` × ``in_series`` equal resistors of the next lower E12 value.

    More stand in series where the voltage asks for it. Raises ``InputError`` for
    ``margins.discharge_time`` where no listed resistor bears the heat.
    """
    most = greatest(demand).value / (1.0 + RESISTOR_TOLERANCE)
    for in_series in range(demand.in_series, 7):
        each = at_most(most * demand.strings / in_series, series="E12")
        stress = _stress(demand, each=each, in_series=in_series)
        body = _body(stress, margins=margins)
        if body is not None:
            return _part(demand, each=each, in_series=in_series, body=body, margins=margins)
    raise InputError(
        "margins.discharge_time", f"{demand.time:g} s for {engineering(demand.capacitance, 'F', 3)}",
        "a time for which resistors of 5 W bear the heat",
        "Allow a longer time with a label, or discharge actively through a relay contact.")


def _stress(demand: Demand, *, each: float, in_series: int) -> tuple[float, float]:
    """Heat (W) and greatest voltage (V) of one resistor, at the unkind end of the tolerances."""
    lowest = each * (1.0 - RESISTOR_TOLERANCE)
    power = float(eq.DISCHARGE_LOSS(V_one=demand.heating_voltage / in_series, R_one=lowest))
    return power, float(eq.SERIES_SHARE(V_start=demand.peak, tol_R=RESISTOR_TOLERANCE, n_ser=in_series))


def _body(stress: tuple[float, float], *, margins: Mapping[str, float]) -> Class | None:
    power, volts = stress
    return next((
        row for row in classes()
        if power <= share("resistor_power", margins)[0] * row.power
        and volts <= share("resistor_voltage", margins)[0] * row.voltage), None)


def time_with(demand: Demand, *, each: float, in_series: int, strings: int) -> Step:
    """Give the step for the longest discharge time with ``strings`` strings intact."""
    total = each * (1.0 + RESISTOR_TOLERANCE) * in_series / strings
    return Step(formula=eq.DISCHARGE_TIME, inputs={
        "R_dis": total, "C_max": demand.capacitance * (1.0 + demand.tolerance), "V_start": demand.peak,
        "V_end": demand.end}, note=f"{strings} of {demand.strings} strings intact")


def _part(
    demand: Demand, *, each: float, in_series: int, body: Class, margins: Mapping[str, float],
) -> Part:
    power, volts = _stress(demand, each=each, in_series=in_series)
    time = time_with(demand, each=each, in_series=in_series, strings=demand.strings)
    rows = (
        ("power", Quantity(body.power, "W"), power, *share("resistor_power", margins), ""),
        ("resistor voltage", Quantity(body.voltage, "V"), volts, *share("resistor_voltage", margins), ""),
        ("discharge time", Quantity(demand.time, "s"), time.value, 1.0, demand.source,
         "Take a smaller resistance."),
    )
    count = in_series * demand.strings
    return Part(
        role=demand.role, designator=demand.designator, count=count,
        description=f"{count} resistors {body.power:g} W, {body.construction}: {demand.strings} string(s) of "
        f"{in_series} in series",
        value=Quantity(each, "ohm"), marking=iec60062(each, "ohm"), tolerance="5 %",
        ratings=tuple(
            Rating(name=name, limit=high, stress=Quantity(stress, high.unit), share=part, source=source,
                   remedy=remedy, at="highest mains, upper tolerance of the capacitor")
            for name, high, stress, part, source, remedy in rows),
        worked=(greatest(demand), time), if_wrong=_WRONG,
        notes=_notes(demand, each=each, in_series=in_series),
        sources=(demand.source, marked(body.source, body.mark)))


def _notes(demand: Demand, *, each: float, in_series: int) -> tuple[str, ...]:
    upper = demand.capacitance * (1.0 + demand.tolerance)
    energy = float(eq.STORED_ENERGY(C_max=upper, V_start=demand.peak))
    heat = demand.heating_voltage**2 / (each * in_series / demand.strings)
    notes = [f"Stores up to {engineering(energy, 'J', 3)}; the bleeder takes {engineering(heat, 'W', 3)} while on."]
    if demand.strings > 1:
        time = time_with(demand, each=each, in_series=in_series, strings=demand.strings - 1).value
        notes.append(f"With one resistor open: below {demand.end:g} V after {math.ceil(time):d} s.")
    else:
        notes.append(
            "With one resistor open nothing discharges it: an X2 capacitor of 0.1 µF kept more than 90 % of "
            "310 V for over a minute (seen).")
    notes.append("Discharge is measured, not trusted.")
    return tuple(notes)
