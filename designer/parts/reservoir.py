"""Reservoir of the d.c. bus: electrolytics that hold the valley, bear the ripple current and live long enough.

Safe side: the larger capacitance at the lower end of its tolerance and the end of its life; the higher rated
voltage against the bus at high mains WITHOUT load. Inrush, stored energy and discharge count the upper end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations import reservoir as eq
from designer.equations.capacitor import STORED_ENERGY
from designer.errors import InputError
from designer.parts.margins import holds, share
from designer.parts.preferred import at_least
from designer.parts.reservoir_bank import (
    END_OF_LIFE,
    HOUR,
    LOSS_FREQUENCY,
    TOLERANCE,
    Bank,
    Class,
    cooler,
    equivalent_ripple,
    generic,
    life,
    rise,
    series_resistance,
)
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step
from designer.tables import read

__all__ = ["Bank", "Demand", "banks", "choose", "least", "part"]

#: peak-to-peak ripple over the crest of the lowest mains (common practice, no source: 5 to 15 %)
RIPPLE_SHARE = 0.10
#: h that it must live, some ten sets of brushes (common practice, no source)
WANTED_LIFE = 10_000.0
MOST_IN_PARALLEL = 6
#: of the rated voltage: what an electrolytic bears for seconds (IEC 60384-4 above 315 V, from memory)
SURGE = 1.10
SURGE_SOURCE = "IEC 60384-4, surge voltage of electrolytics above 315 V rated (from memory)"
_SMALL = ("Too small or dried out: the bus sags in the valley, the load hums at twice the mains frequency and the "
          "capacitor boils on its ripple current. ")
_SMALL_DIRECT = ("Too small or dried out: the supply leads ring with every pulse of the chopper, and the capacitor "
                 "boils on its ripple current. ")
_WRONG = ("Too low a voltage or reversed: it vents hot electrolyte. Measure the voltage before touching: it stays "
          "charged.")
#: V, above it a charged reservoir is taken to kill (IEC 60364-4-41: dry skin, from memory)
_HARMS = 60.0


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the reservoir must do; SI.

    ``crest``: bus voltage at high mains without load. ``frequency``: of the mains, 0 for a direct supply, which
    leaves it the ripple of the switching alone. ``load_current``: greatest mean current drawn from the bus.
    ``chopped_current``: greatest current that the switch chops. ``ripple``: V peak to peak allowed.
    ``line_ripple`` (A r.m.s., at twice the mains frequency and above) and ``switching_ripple`` (A r.m.s. at
    ``switching_frequency``, Hz; 0 where nothing switches): of the whole bank at the worst continuous point.
    ``ambient``: °C round it, in the box. ``hold_up``: s without mains to be bridged, from ``valley`` (V) down to
    ``least_voltage`` (V) at ``power`` (W). ``life``: h wanted.
    """

    crest: float
    frequency: float
    load_current: float
    ripple: float
    ambient: float
    line_ripple: float = 0.0
    switching_ripple: float = 0.0
    switching_frequency: float = 0.0
    hold_up: float = 0.0
    valley: float = 0.0
    least_voltage: float = 0.0
    chopped_current: float = 0.0
    power: float = 0.0
    life: float = WANTED_LIFE
    at: str = ""


def least(demand: Demand) -> tuple[Step, ...]:
    """Give the steps for the nominal capacitance: ripple or hold-up, whichever asks for more, then tolerances.

    Raises ``InputError`` for ``load.current`` where the valley leaves nothing for the hold-up.
    """
    ripple = _for_ripple(demand)
    first = ripple
    if demand.hold_up > 0:
        if not demand.valley > demand.least_voltage:
            raise InputError(
                "load.current", f"a valley of {demand.valley:.0f} V", f"above {demand.least_voltage:.0f} V",
                "The bus is already below what the load needs when the mains goes.")
        held = Step(formula=eq.HOLD_UP_CAPACITANCE, inputs={
            "P_bus": demand.power, "t_hold": demand.hold_up, "V_from": demand.valley,
            "V_to": demand.least_voltage}, note=f"bridges {1e3 * demand.hold_up:.0f} ms")
        first = max(ripple, held, key=lambda step: step.value)
    return first, Step(formula=eq.NOMINAL_CAPACITANCE, inputs={
        "C_need": first.value, "tol_C": TOLERANCE, "loss_C": END_OF_LIFE},
        note="nominal, so that it still is enough at the lower tolerance and the end of its life")


def _for_ripple(demand: Demand) -> Step:
    note = f"ripple of at most {engineering(demand.ripple, 'V', 3)} peak to peak"
    if demand.frequency > 0:
        return Step(formula=eq.RIPPLE_CAPACITANCE, inputs={
            "I_bus": demand.load_current, "f_ac": demand.frequency, "dV_bus": demand.ripple}, note=note)
    return Step(formula=eq.SWITCHING_CAPACITANCE, inputs={
        "I_chop": demand.chopped_current, "f_sw": demand.switching_frequency, "dV_bus": demand.ripple}, note=note)


def banks(demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float]) -> tuple[Bank, ...]:
    """Give the reservoirs worth solving with, least first: the user's alone, else preferred values (E6).

    ``given`` holds the numbers of ``[parts.reservoir]``. One can where one is sold that large, more side by side
    from there. Raises ``InputError`` for ``supply.voltage`` where no class stands the bus.
    """
    row = _class(demand, given=given, margins=margins)
    if "capacitance" in given:
        return (_own(given, row=row),)
    needed = least(demand)[-1].value
    made = []
    for count in range(1, MOST_IN_PARALLEL + 1):
        each = max(at_least(needed / count, "E6"), row.capacitance_low)
        while each <= row.capacitance_high * (1 + 1e-9):
            made.append(generic(each, count=count, row=row))
            each = at_least(each * 1.01, "E6")
    fitting = sorted(made, key=lambda bank: (bank.count, bank.capacitance))
    if not fitting:
        most = MOST_IN_PARALLEL * row.capacitance_high
        raise InputError(
            "load.current", f"{engineering(needed, 'F', 3)} needed at {row.voltage:g} V",
            f"at most {MOST_IN_PARALLEL} capacitors, {engineering(most, 'F', 3)} in all",
            "Lower the load, allow more ripple, or give your own in [parts.reservoir].")
    return tuple(fitting)


def _class(demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float]) -> Class:
    rows = sorted(read("electrolytics", Class), key=lambda row: row.voltage)
    if "voltage" in given:
        return max((row for row in rows if row.voltage <= given["voltage"]), key=lambda row: row.voltage,
                   default=rows[0])
    needed = demand.crest / share("capacitor_voltage", margins)[0]
    fitting = [row for row in rows if row.voltage >= needed * (1 - 1e-9)]
    if not fitting:
        raise InputError(
            "supply.voltage", f"{demand.crest:.0f} V on the bus without load, {needed:.0f} V class needed",
            f"classes up to {rows[-1].voltage:g} V", "Use a lower mains voltage.")
    return fitting[0]


def _own(given: Mapping[str, float], *, row: Class) -> Bank:
    each = given["capacitance"]
    base = generic(each, count=1, row=row)
    told = {key: f"not given; taken from the {row.voltage:g} V class: {mark}" for key, mark in base.marks.items()}
    voltage = given.get("voltage", row.voltage)
    if "voltage" not in given:
        told["voltage"] = f"not given; it must be rated {row.voltage:g} V or more"
    names = {"series_resistance": "each_resistance", "voltage": "voltage", "ripple_current": "ripple_current"}
    told |= {names[key]: "your file" for key in names if key in given}
    return Bank(
        each=each, count=1, each_resistance=given.get("series_resistance", series_resistance(each, row=row)),
        voltage=voltage, ripple_current=given.get("ripple_current", base.ripple_current), rise=base.rise,
        life=base.life, temperature=base.temperature, own=True, marks=told)


def choose(
    demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float],
) -> tuple[Part, Bank]:
    """Give the fewest, then smallest capacitors that hold every rating; the user's own as it is.

    Raises ``InputError`` for ``load.current`` where none does.
    """
    found = banks(demand, given=given, margins=margins)
    for bank in found:
        made = part(bank, demand=demand, margins=margins)
        if given.get("capacitance") or all(map(holds, made.ratings)):
            return made, bank
    short = next(r for r in made.ratings if not holds(r))
    raise InputError(
        "load.current", f"{short.name} {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} with "
        f"{MOST_IN_PARALLEL} capacitors",
        "Lower the load, cool the box, or give your own in [parts.reservoir].")


def _ripple_step(bank: Bank, demand: Demand) -> Step:
    return equivalent_ripple(
        bank, line=demand.line_ripple, line_frequency=2 * demand.frequency,
        fast=demand.switching_ripple, fast_frequency=demand.switching_frequency)


def part(bank: Bank, *, demand: Demand, margins: Mapping[str, float]) -> Part:
    """Give ``bank`` as a part with its ratings against ``demand``."""
    ripple = _ripple_step(bank, demand)
    steps = [] if bank.own else list(least(demand))
    steps += [_sag(bank, demand), ripple, rise(bank, ripple=ripple.value),
              life(bank, ripple=ripple.value, ambient=demand.ambient)]
    steps += [] if bank.count == 1 else [bank.share]
    kind = "mains-frequency ripple" if demand.frequency > 0 else "ripple of the switching"
    text = "your electrolytic" if bank.own else f"electrolytic, 105 °C, for {kind}"
    return Part(
        role="reservoir", designator="C1", count=bank.count,
        description=f"{text}, {bank.voltage:g} V" + (f", {bank.count} side by side" if bank.count > 1 else ""),
        value=Quantity(bank.each, "F"), marking=f"{iec60062(bank.each, 'F')} {bank.voltage:g} V",
        tolerance=f"{100 * bank.tolerance:g} %", ratings=_ratings(bank, demand=demand, margins=margins),
        worked=tuple(steps), if_wrong=(_SMALL if demand.frequency > 0 else _SMALL_DIRECT) + _WRONG,
        notes=_notes(bank, demand=demand, ripple=ripple.value),
        sources=tuple(sorted(set(bank.marks.values()))))


def _sag(bank: Bank, demand: Demand) -> Step:
    note = "ripple at the lower tolerance and the end of its life"
    if demand.frequency > 0:
        return Step(formula=eq.RIPPLE_VOLTAGE, inputs={
            "I_bus": demand.load_current, "f_ac": demand.frequency, "C_need": bank.least}, note=note)
    return Step(formula=eq.SWITCHING_RIPPLE, inputs={
        "I_chop": demand.chopped_current, "f_sw": demand.switching_frequency, "C_need": bank.least}, note=note)


def _ratings(bank: Bank, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    ripple = _ripple_step(bank, demand).value
    factor, cool = cooler(demand.ambient)
    volts, current = share("capacitor_voltage", margins), share("ripple_current", margins)
    return (
        Rating(name="working voltage", limit=Quantity(bank.voltage, "V"), stress=Quantity(demand.crest, "V"),
               share=volts[0], source=volts[1], at=f"high {'mains' if demand.frequency > 0 else 'supply'}, no load"),
        Rating(name="ripple of the bus", limit=Quantity(demand.ripple, "V"),
               stress=Quantity(_sag(bank, demand).value, "V"), source="the ripple that the design allows",
               at="greatest load, lower tolerance, end of life", remedy="Take a larger capacitance."),
        Rating(name="ripple current", limit=Quantity(factor * bank.ripple_current, "A"),
               stress=Quantity(ripple, "A"), share=current[0], source=f"{current[1]}; rated × {factor:g}, {cool}",
               at=f"{demand.ambient:.0f} °C in the box, {demand.at}",
               remedy="Take a larger can, or several side by side."),
        Rating(name="core temperature for the life wanted",
               limit=Quantity(bank.core_limit(demand.life * HOUR), "degC"),
               stress=Quantity(demand.ambient + rise(bank, ripple=ripple).value, "degC"), at=demand.at,
               source=f"{demand.life:g} h wanted (common practice, no source); life doubles per 10 K (seen)",
               remedy="Cool the box, take a larger can, or a type of longer life."),
    )


def _notes(bank: Bank, *, demand: Demand, ripple: float) -> tuple[str, ...]:
    energy = float(STORED_ENERGY(C_max=bank.greatest, V_start=demand.crest))
    heat = float(eq.CAPACITOR_LOSS(I_eq=ripple, ESR=bank.each_resistance))
    hours = life(bank, ripple=ripple, ambient=demand.ambient).value / HOUR
    notes = [
        f"Stores up to {engineering(energy, 'J', 3)} at {demand.crest:.0f} V: "
        f"{'it kills and it welds' if demand.crest > _HARMS else 'it welds and burns'}. It has a polarity; the vent "
        "needs air above it.",
        f"Series resistance up to {engineering(bank.each_resistance, 'ohm', 3)} at {LOSS_FREQUENCY:g} Hz: "
        f"{engineering(heat, 'W', 3)} of heat in the worst can; about {hours:,.0f} h of life.".replace(",", " "),
        "Keep it away from the heatsink and the resistors: 10 K more halve its life.",
    ]
    if bank.count > 1:
        notes.append("Equal types of one lot side by side, with leads of equal length.")
    return (*notes, *sorted(f"Values: {mark}." for mark in set(bank.marks.values()) if mark != "your file"))


