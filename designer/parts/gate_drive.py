"""Gate drive of a chopper's transistor: driver and its supply, resistors on and off, pull-down, clamp.

Rounding: gate resistors up (``gate_values``), the pull-down down (against the Miller charge when the
driver is dead), the supply's capacitor up.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations import gate as eq
from designer.equations import switching
from designer.errors import InputError
from designer.parts.gate_values import GENERIC, LOOP_LENGTH, WANTED_EDGE, Driver, Values, values
from designer.parts.preferred import at_least, at_most
from designer.parts.resistor_body import body, body_ratings
from designer.parts.transistor_classes import Device
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step

RESISTOR_TOLERANCE = 0.05
#: pull-down gate to source: 10 kΩ of 10 to 47 kΩ (common practice, no source), less where the bus jumps
PULL_DOWNS = (10e3, 4.7e3, 2.2e3, 1e3)
#: V, usual gate clamp (common practice, no source); share, of zener diodes and gate supply
CLAMP, CLAMP_TOLERANCE, SUPPLY_TOLERANCE = 15.0, 0.05, 0.05
#: V, dip of the gate supply that is allowed in one charge; F, least capacitor (common practice, no source)
DIP, LEAST_CAPACITOR = 0.1, 1e-6
_PRACTICE = "common practice, no source"
_TOLERANCE = f"±{100 * RESISTOR_TOLERANCE:g} %"


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the gate drive must do; SI.

    ``on_time``: the shortest that the control range commands (infinite where not known). ``bus_rise``: time
    in which the bus comes up. ``live``: what the logic must be isolated from ("mains", or "bus" where a direct
    supply shocks), empty where nothing of it does. ``frequency``, ``edge`` (s) as for the transistor.
    """

    frequency: float
    bus_rise: float
    on_time: float = float("inf")
    live: str = "mains"
    driver: Driver = GENERIC
    edge: float = WANTED_EDGE
    margins: Mapping[str, float] = field(default_factory=dict)


def shortest_on_time(device: Device, *, demand: Demand) -> Step:
    """Give the step of the shortest on-time, s, that still switches ``device`` wholly."""
    found = values(device, driver=demand.driver, edge=demand.edge)
    return Step(formula=eq.SHORTEST_ON_TIME, note="shortest pulse that the gate drive passes whole", inputs={
        "t_pulse": demand.driver.shortest_pulse, "Q_g": device["gate_charge"], "R_gon": found.total.on,
        "V_dr": device["drive_voltage"], "V_pl": device["plateau_voltage"], "R_goff": found.total.off,
        "V_th": device["gate_threshold"]})


def choose(device: Device, *, demand: Demand) -> tuple[Part, ...]:
    """Give driver, its supply and capacitor, gate resistors, pull-down and clamp of ``device``.

    Raises ``InputError`` for ``parts.switch.drive_voltage`` where no clamp fits between drive voltage and
    the gate's limit.
    """
    found = values(device, driver=demand.driver, edge=demand.edge)
    return (
        _driver(device, demand=demand, found=found), _supply(device, demand=demand),
        _capacitor(device, demand=demand), *_resistors(device, demand=demand, found=found),
        _pull_down(device, demand=demand), _clamp(device, demand=demand))


def _driver(device: Device, *, demand: Demand, found: Values) -> Part:
    least = shortest_on_time(device, demand=demand)
    floor = 1 - RESISTOR_TOLERANCE
    outside = found.total.off - found.driver
    peak = device["drive_voltage"] * (1 + SUPPLY_TOLERANCE) / (min(found.on, outside) * floor + found.driver)
    notes = [
        f"Driver to gate and back within {engineering(LOOP_LENGTH, 'm', 2)}, as a twisted pair or over a plane; its "
        "return goes to the source pin itself, not through the power path.",
        "With the switch in the low side (source at the bus minus) no bootstrap is needed. A bootstrapped high side "
        "goes dead here: its capacitor is recharged only while the freewheel diode conducts, and a turning motor "
        "without current holds the node up.",
        "It must have an undervoltage lock-out above the plateau: a gate driven half burns the transistor.",
        f"Supply current of its own {engineering(demand.driver.own_current, 'A', 2)}, delay "
        f"{engineering(demand.driver.delay, 's', 2)}.",
    ]
    if demand.live:
        notes.insert(0, "The bus is live: logic that anybody or any computer touches stands behind this driver's "
                        f"isolation, reinforced and rated for the {demand.live}, and behind a gate supply of the same "
                        "rank.")
    return Part(
        role="gate-driver", designator="U_g",
        description=f"Gate driver, {demand.driver.peak_current:g} A peak, "
                    f"{'isolated input, ' if demand.live else ''}non-inverting, undervoltage lock-out",
        ratings=(
            Rating(name="peak current", limit=Quantity(demand.driver.peak_current, "A"), stress=Quantity(peak, "A"),
                   source="its own rating", at="turn-off, resistors at their lower end",
                   remedy="A larger gate resistor or a stronger driver."),
            Rating(name="shortest on-time", limit=Quantity(demand.on_time, "s"), stress=Quantity(least.value, "s"),
                   source="a shorter pulse switches half; the control's least on-time is the limit",
                   at="least duty of the control range",
                   remedy="A lower switching frequency, or a gate drive with less resistance."),
        ),
        worked=(*found.steps[:1], Step(formula=eq.GATE_CURRENT, inputs={
            "Q_g": device["gate_charge"], "t_sw": _on_edge(device, found)},
            note="mean gate current in the turn-on edge, upper bound"), least),
        if_wrong=f"Too weak or without isolation: it burns the transistor, or puts the {demand.live} on the logic."
        if demand.live else "Too weak: it burns the transistor, and a burnt one puts the bus on the logic.",
        notes=tuple(notes), sources=(demand.driver.source,))


def _on_edge(device: Device, found: Values) -> float:
    return float(switching.TURN_ON_TIME(
        Q_g=device["gate_charge"], R_gon=found.total.on, V_dr=device["drive_voltage"],
        V_pl=device["plateau_voltage"]))


def _supply(device: Device, *, demand: Demand) -> Part:
    step = Step(formula=eq.GATE_POWER, note="all that the gate supply gives", inputs={
        "Q_g": device["gate_charge"], "V_dr": device["drive_voltage"], "f": demand.frequency,
        "I_own": demand.driver.own_current})
    isolated = f" with reinforced isolation from {demand.live} and logic" if demand.live else ""
    return Part(
        role="gate-supply", designator="PS_g",
        description=f"Gate supply{isolated}, ±{100 * SUPPLY_TOLERANCE:g} %, at least {engineering(step.value, 'W', 2)}",
        value=Quantity(device["drive_voltage"], "V"), marking=f"{device['drive_voltage']:g} V",
        tolerance=f"±{100 * SUPPLY_TOLERANCE:g} %", worked=(step,),
        if_wrong="Too low: the channel does not open, and the transistor burns. Too high: the gate breaks through.",
        notes=("Up before the bus and down after it. Its minus is the source, at the bus minus: live.",) if demand.live
        else ("Up before the bus and down after it.",),
        sources=(device.marks["drive_voltage"],))


def _capacitor(device: Device, *, demand: Demand) -> Part:
    step = Step(formula=eq.SUPPLY_CAPACITOR, inputs={"Q_g": device["gate_charge"], "dV_s": DIP})
    value = at_least(max(step.value, LEAST_CAPACITOR), series="E6")
    return Part(
        role="gate-supply-capacitor", designator="C_g", description="Ceramic capacitor at the driver's supply pins, "
        f"{_above(device['drive_voltage'])} V or more", value=Quantity(value, "F"), marking=iec60062(value, "F"),
        tolerance="±20 %", worked=(step,), if_wrong="Too small or too far away: the gate voltage dips in every edge.",
        notes=("Rounded up; ceramic capacitors lose half of their value at their rated voltage.",),
        sources=("0.1 V dip, at least 1 µF: common practice, no source",))


def _above(drive: float) -> int:
    return next(volts for volts in (25, 35, 50, 100) if volts >= 1.5 * drive)


def _resistors(device: Device, *, demand: Demand, found: Values) -> tuple[Part, ...]:
    power = Step(formula=eq.RESISTOR_POWER, inputs={
        "Q_g": device["gate_charge"], "V_dr": device["drive_voltage"], "f": demand.frequency})
    chosen = body(power.value, voltage=2 * device["drive_voltage"], most=1, margins=demand.margins,
                  key="parts.switch.gate_charge")
    ratings = body_ratings(chosen, power=power.value, voltage=device["drive_voltage"], at="every period",
                           margins=demand.margins)
    on = Part(
        role="gate-resistor", designator="R_on", description=f"Gate resistor, turn-on, {chosen.text}",
        value=Quantity(found.on, "ohm"), marking=iec60062(found.on, "ohm"), tolerance=_TOLERANCE, ratings=ratings,
        worked=(*found.steps[1:], power),
        if_wrong="Too small: the edge rings, the freewheel diode's recovery peaks higher, radio is disturbed. Too "
                 "large: the transistor burns in its edges.",
        notes=("Rounded up: a larger one slows and quietens the edge, and what that costs is counted in the losses.",
               f"Aimed at: the voltage falls in about {engineering(demand.edge, 's', 2)}."),
        sources=(chosen.source, _PRACTICE))
    if found.off is None:
        return (on,)
    off = Part(
        role="gate-resistor-off", designator="R_off",
        description=f"Gate resistor, turn-off, in series with the bypass diode, {chosen.text}",
        value=Quantity(found.off, "ohm"), marking=iec60062(found.off, "ohm"), tolerance=_TOLERANCE, ratings=ratings,
        worked=(power,),
        if_wrong="Too small: turn-off overshoots into the voltage limit. Too large: it burns in turn-off.",
        notes=("Beside the turn-on resistor: both together are 0.3 to 0.5 of that one, but never less than damps the "
               "gate loop.",),
        sources=(chosen.source, _PRACTICE))
    bypass = Part(
        role="gate-bypass-diode", designator="D_g", description="Schottky diode, 40 V, 1 A",
        if_wrong="The wrong way round: turn-on is fast and turn-off slow.",
        notes=("Cathode to the driver: it conducts at turn-off only.",), sources=(_PRACTICE,))
    return on, off, bypass


def _pull_down(device: Device, *, demand: Demand) -> Part:
    """10 kΩ, or the largest below that keeps the gate of a dead driver within half of its threshold."""
    limit, share_used = device["gate_threshold"], 0.5
    quiet = (r for r in PULL_DOWNS if _dead(device, demand=demand, resistance=r).value <= share_used * limit)
    value = next(quiet, PULL_DOWNS[-1])
    step = _dead(device, demand=demand, resistance=value)
    current = device["drive_voltage"] / value
    chosen = body(device["drive_voltage"] * current, voltage=2 * device["drive_voltage"], most=1,
                  margins=demand.margins, key="parts.switch.drive_voltage")
    return Part(
        role="gate-pull-down", designator="R_pd", description=f"Pull-down, gate to source, {chosen.text}",
        value=Quantity(value, "ohm"), marking=iec60062(value, "ohm"), tolerance=_TOLERANCE,
        ratings=(Rating(
            name="gate voltage, driver dead", limit=Quantity(limit, "V"), stress=Quantity(step.value, "V"),
            share=share_used, source=f"half of the least threshold, {_PRACTICE}", at="bus switched on",
            remedy="Let the bus rise slowly (a limiter at its input), or bring the gate supply up first."),),
        worked=(step,),
        if_wrong="Missing: the gate floats when the driver has no supply, the rising bus turns the transistor on, and "
                 "the motor starts by itself.",
        notes=("At the transistor's own pins, so that a broken gate lead means off.",
               f"Counted with the bus rising in {engineering(demand.bus_rise, 's', 2)}."),
        sources=(f"10 to 47 kΩ, {_PRACTICE}",))


def _dead(device: Device, *, demand: Demand, resistance: float) -> Step:
    return Step(formula=eq.DEAD_GATE, inputs={
        "R_pd": resistance * (1 + RESISTOR_TOLERANCE), "Q_g": device["gate_charge"], "t_bus": demand.bus_rise,
        "C_iss": device["input_capacitance"]})


def _clamp(device: Device, *, demand: Demand) -> Part:
    drive, limit = device["drive_voltage"] * (1 + SUPPLY_TOLERANCE), device["gate_limit"]
    volts = at_least(max(drive / (1 - CLAMP_TOLERANCE), CLAMP), series="E24")
    if volts * (1 + CLAMP_TOLERANCE) > limit * (1 + 1e-9):
        raise InputError(
            "parts.switch.drive_voltage", f"{device['drive_voltage']:g} V",
            f"at most {at_most_drive(limit):.3g} V, so that a clamp fits below the gate's {limit:g} V",
            "Use a lower gate supply.")
    return Part(
        role="gate-clamp", designator="D_z", description="Zener diode, gate to source, 0.5 W",
        value=Quantity(volts, "V"), marking=f"{volts:g} V", tolerance=f"±{100 * CLAMP_TOLERANCE:g} %",
        ratings=(
            Rating(name="gate voltage at the clamp", limit=Quantity(limit, "V"),
                   stress=Quantity(volts * (1 + CLAMP_TOLERANCE), "V"), source="the gate's own limit; spikes only",
                   at="upper end of its tolerance"),
            Rating(name="drive voltage below the clamp", limit=Quantity(volts * (1 - CLAMP_TOLERANCE), "V"),
                   stress=Quantity(drive, "V"), source="it must not conduct in normal drive",
                   at="gate supply at its upper end"),
        ),
        if_wrong="Missing: one spike through the Miller capacitance breaks the gate, and the transistor conducts.",
        notes=("At the transistor's pins, cathode to the gate.",), sources=(f"15 V, {_PRACTICE}",))


def at_most_drive(limit: float) -> float:
    """Give the highest drive voltage, V, below which a clamp still fits under a gate's ``limit`` (V)."""
    highest = at_most(limit / (1 + CLAMP_TOLERANCE), series="E24")
    return highest * (1 - CLAMP_TOLERANCE) / (1 + SUPPLY_TOLERANCE)
