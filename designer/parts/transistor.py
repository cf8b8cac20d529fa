"""The transistor of a chopper: generic class or the user's own device against its stresses.

Field-effect and bipolar classes are both tried; of those that hold every rating the one with the least
loss is taken. Safe side: the next voltage class up, junction hot, the slowest edges for heat and the
fastest for spikes. The drop of the chosen class changes the waveform, so a study goes through
``candidates`` and solves again until its ``choose`` holds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations.switching import CASE_FOR_CHANNEL_CURRENT, RECOVERY_PEAK
from designer.equations.thermal import CASE_FOR_CURRENT
from designer.errors import InputError
from designer.parts import heatsink
from designer.parts.commutation import NO_RECOVERY, Losses, Recovery, State, losses, recovery_peak, rise_of_current
from designer.parts.gate_values import GENERIC, WANTED_EDGE, Driver, gate
from designer.parts.heat_path import case_to_sink
from designer.parts.margins import holds, share
from designer.parts.transistor_classes import GIVEN, KINDS, NAMES, UNITS, Device, Kind, classes, completed
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step

#: overshoot that a tight layout makes, share of the bus (common practice, no source)
LAYOUT_OVERSHOOT = 0.20
#: V; a threshold above this belongs to a bipolar transistor
_CHANNEL = 0.3
#: V; own devices above this without a drop in the file count as bipolar
_CHANNEL_VOLTAGE = 650.0
#: a bare tab is isolated by a pad
_INTERFACE = "silicone-fibre pad"
_WRONG = (
    "It fails short, and what hangs on it gets the whole bus for good. What kills it: too low a voltage class, stray "
    "inductance without a clamp, a slow freewheel diode, a gate driven half, no current limit."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the transistor must withstand; SI. ``at`` names the worst corner by rating.

    ``bus_crest``: highest bus voltage. ``peak_voltage``: across the switch, with the overshoot that the
    clamp leaves (0 where not known yet: a layout's 20 % is taken). ``running``: the worst continuous
    state, ``stall`` that under the current limit for ``stall_time`` (s). ``peak_current``: the greatest
    that can flow, the limit's upper end with its reaction. ``recovery``: of the freewheel diode.
    ``edge`` (s): the fall of voltage that the gate resistors aim at.
    """

    bus_crest: float
    running: State
    frequency: float
    peak_current: float
    peak_voltage: float = 0.0
    recovery: Recovery = NO_RECOVERY
    stall: State | None = None
    stall_time: float = 0.0
    driver: Driver = GENERIC
    edge: float = WANTED_EDGE
    at: Mapping[str, str] = field(default_factory=dict)


def losses_of(device: Device, *, demand: Demand, state: State) -> Losses:
    """Give the losses of ``device`` in ``state``, with the gate resistors that it gets."""
    return losses(device, gate=gate(device, driver=demand.driver, edge=demand.edge), state=state,
                  recovery=demand.recovery, frequency=demand.frequency)


def loss(device: Device, *, demand: Demand) -> float:
    """Give the heat of ``device`` in the worst continuous state, W: conduction and switching."""
    return losses_of(device, demand=demand, state=demand.running).total


def candidates(
    demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float],
) -> tuple[Device, ...]:
    """Give the devices worth solving with, least loss first: the user's alone, else the generic classes.

    ``given`` holds the numbers of ``[parts.switch]`` by the keys of ``GIVEN``; the rest comes from the
    nearest generic class, marked so. Raises ``InputError`` for ``supply.voltage`` where no class blocks
    the bus, for ``parts.switch.<key>`` on a key that a transistor has not.
    """
    if given:
        return (_own(demand, given=given, margins=margins),)
    found = [device for kind in KINDS for device in _blocking(demand, kind=kind, margins=margins)]
    if not found:
        top = max(d["voltage"] for kind in KINDS for d in classes(kind))
        raise InputError(
            "supply.voltage", f"{_needed_voltage(demand, margins):.0f} V class needed on a bus of "
            f"{demand.bus_crest:.0f} V", f"classes up to {top:g} V", "Use a lower supply voltage.")
    return tuple(sorted(found, key=lambda device: loss(device, demand=demand)))


def _needed_voltage(demand: Demand, margins: Mapping[str, float]) -> float:
    expected = max(demand.peak_voltage, (1.0 + LAYOUT_OVERSHOOT) * demand.bus_crest)
    return expected / share("switch_voltage", margins)[0] * (1 - 1e-9)


def _blocking(demand: Demand, *, kind: Kind, margins: Mapping[str, float]) -> tuple[Device, ...]:
    """The classes of ``kind`` of the least voltage that holds."""
    needed = _needed_voltage(demand, margins)
    volts = min((d["voltage"] for d in classes(kind) if d["voltage"] >= needed), default=None)
    return tuple(d for d in classes(kind) if d["voltage"] == volts)


def kind_of(given: Mapping[str, float]) -> Kind:
    """Tell by its data which kind a user's transistor is: a threshold makes it bipolar.

    Without drop in the data, up to 650 V counts as a MOSFET.
    """
    if given.get("threshold_voltage", 0.0) > _CHANNEL:
        return "igbt"
    if any(key in given for key in ("on_resistance", "slope_resistance", "threshold_voltage")):
        return "mosfet"
    return "mosfet" if given.get("voltage", 0.0) <= _CHANNEL_VOLTAGE else "igbt"


def _own(demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float]) -> Device:
    unknown = sorted(set(given) - set(GIVEN))
    if unknown:
        raise InputError(f"parts.switch.{unknown[0]}", given[unknown[0]], ", ".join(sorted(GIVEN)),
                         "A transistor is described by these.")
    kind = kind_of(given)
    volts = given.get("voltage", _needed_voltage(demand, margins))
    every = classes(kind)
    level = min({d["voltage"] for d in every}, key=lambda v: (v < volts * (1 - 1e-9), abs(v - volts)))
    return completed(_nearest([d for d in every if d["voltage"] == level], given=given, demand=demand), given=given)


def _nearest(rows: list[Device], *, given: Mapping[str, float], demand: Demand) -> Device:
    """By current where given (the next class not smaller), else by slope, else what the demand asks for."""
    slope = given.get("slope_resistance", given.get("on_resistance"))
    if "current" in given:
        return next((d for d in rows if d["current"] >= given["current"]), rows[-1])
    if slope:
        return min(rows, key=lambda d: abs(math.log(slope / d["slope_resistance"])))
    return next((d for d in rows if d["current"] >= demand.peak_current), rows[-1])


def choose(
    demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float],
) -> tuple[Part, Device]:
    """Give the class of least loss that holds every rating with its margin, as a part and as its data.

    The user's own device is returned even where a rating fails: the checks say so. Raises
    ``InputError`` for ``parts.switch.current`` where no generic class holds.
    """
    found = candidates(demand, given=given, margins=margins)
    if given:
        return part(found[0], demand=demand, margins=margins), found[0]
    short: Rating | None = None
    for device in found:
        made = part(device, demand=demand, margins=margins)
        missed = next((r for r in made.ratings if not holds(r)), None)
        if missed is None:
            return made, device
        short = short or missed
    assert short is not None
    raise InputError(
        "parts.switch.current", f"{short.name} {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} in the generic "
        "class of least loss",
        "Lower the load or the current limit, gear down, or give the data of a larger transistor in [parts.switch].")


def on_sink(
    device: Device, *, name: str, demand: Demand, margins: Mapping[str, float],
) -> heatsink.Device:
    """Give ``device`` as it sits on the heatsink: heat, limits and resistances.

    A bare tab is isolated by a pad unless ``case_to_sink`` is given.
    """
    pad = case_to_sink(_INTERFACE, package=device.package)[0]
    at_stall = losses_of(device, demand=demand, state=demand.stall).total if demand.stall else 0.0
    return heatsink.Device(
        name=name, junction_limit=device["junction_temperature"], junction_to_case=device["junction_to_case"],
        case_to_sink=device.values.get("case_to_sink", pad),
        case_limit=_case_limit(device, demand=demand, margins=margins), loss=loss(device, demand=demand),
        stall_loss=at_stall, stall_time=demand.stall_time if demand.stall else 0.0)


def _case_limit(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> float:
    """The case temperature, °C, up to which the derated current with its margin does."""
    limit, rated = device["junction_temperature"], device["case_temperature"]
    use = min(1.0, demand.running.rms_current / (share("transistor_current", margins)[0] * device["current"]))
    kelvin = {"T_j": limit + heatsink.ZERO, "T_c0": rated + heatsink.ZERO}
    if device.kind == "mosfet":
        return float(CASE_FOR_CHANNEL_CURRENT(**kelvin, k_use=use)) - heatsink.ZERO
    return float(CASE_FOR_CURRENT(**kelvin, I_rms=use, k_I=1.0, I_T=1.0)) - heatsink.ZERO


def part(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> Part:
    """Give ``device`` as a part with its ratings against ``demand``."""
    found = losses_of(device, demand=demand, state=demand.running)
    assumed = sorted({mark for mark in device.marks.values() if mark != "your file"})
    return Part(
        role="switch", designator="Q1", description=f"{device.name}, {device.package}",
        value=Quantity(device["current"], "A"), marking=f"{device['current']:g} A {device['voltage']:g} V",
        ratings=_ratings(device, demand=demand, margins=margins),
        worked=(*found.steps, *_recovery_steps(device, demand=demand)), if_wrong=_WRONG,
        notes=(*_notes(device, demand=demand, found=found, margins=margins),
               *(f"Values: {mark}." for mark in assumed)),
        sources=tuple(sorted(set(device.marks.values()))))


def _recovery_steps(device: Device, *, demand: Demand) -> tuple[Step, ...]:
    current = demand.running.turn_on_current
    charge = demand.recovery.charge_at(current)
    if not charge > 0:
        return ()
    slope = rise_of_current(device, gate=gate(device, driver=demand.driver, edge=demand.edge), current=current)
    return (Step(formula=RECOVERY_PEAK, inputs={"Q_rr": charge, "didt": slope},
                 note="reverse peak of the freewheel diode; it flows through the transistor too"),)


def _ratings(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    peak = max(demand.peak_voltage, demand.bus_crest)
    back = recovery_peak(
        device, gate=gate(device, driver=demand.driver, edge=demand.edge), recovery=demand.recovery,
        current=demand.peak_current)
    rows: tuple[tuple[str, str, float, str], ...] = (
        ("repetitive peak voltage", "voltage", peak, "switch_voltage"),
        ("r.m.s. current", "current", demand.running.rms_current, "transistor_current"),
        ("pulse current", "surge_current", demand.peak_current + back, "pulse_current"),
        ("gate voltage", "gate_limit", device["drive_voltage"], "gate_voltage"),
    )
    remedies = {
        "repetitive peak voltage": "Less stray inductance, a larger clamp, or the next voltage class.",
        "pulse current": "A lower current limit, a faster freewheel diode, or a larger transistor.",
        "gate voltage": "A lower gate supply.",
    }
    made = []
    for name, key, stress, margin in rows:
        allowed, source = share(margin, margins)
        unit = UNITS[key]
        made.append(Rating(
            name=name, limit=Quantity(device[key], unit), stress=Quantity(stress, unit), share=allowed, source=source,
            at=demand.at.get(name, ""), remedy=remedies.get(name, "")))
    return tuple(made)


def _notes(
    device: Device, *, demand: Demand, found: Losses, margins: Mapping[str, float],
) -> tuple[str, ...]:
    share_switching = found.switching / found.total if found.total > 0 else 0.0
    notes = [
        f"Heat: {engineering(found.conduction, 'W', 3)} conducting, {engineering(found.switching, 'W', 3)} "
        f"switching at {engineering(demand.frequency, 'Hz', 3)} ({100 * share_switching:.0f} %).",
        "The drop is that of a hot junction; the gate must have its full drive voltage before the first pulse: "
        "half driven it burns within milliseconds.",
        "The tab is the drain or collector: it carries the switched voltage, so the pad under it is live side and "
        "basic insulation at best.",
    ]
    if demand.stall:
        stalled = losses_of(device, demand=demand, state=demand.stall).total
        notes.append(f"At a stall under the current limit: {engineering(stalled, 'W', 3)}.")
    if device.kind == "mosfet":
        notes.append("Its body diode is slow: it must never carry the motor's current.")
    return (*notes, *_rival(device, demand=demand, margins=margins), *_smaller(device, demand=demand, margins=margins))


def _rival(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> tuple[str, ...]:
    """What the other kind would lose."""
    if device.given:
        return ()
    other: Kind = "igbt" if device.kind == "mosfet" else "mosfet"
    rows = _blocking(demand, kind=other, margins=margins)
    if not rows:
        return (f"No generic {NAMES[other]} blocks this bus with its margin.",)
    best = min(rows, key=lambda d: loss(d, demand=demand))
    return (f"The best {NAMES[other]} ({best['current']:g} A {best['voltage']:g} V) would lose "
            f"{engineering(loss(best, demand=demand), 'W', 3)} here.",)


def _smaller(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> tuple[str, ...]:
    """Smaller classes of the same kind and voltage that hold too, with their heat."""
    if device.given:
        return ()
    rows = [d for d in classes(device.kind) if d["voltage"] == device["voltage"] and d["current"] < device["current"]]
    told = [f"{d['current']:g} A with {engineering(loss(d, demand=demand), 'W', 3)}" for d in rows
            if all(map(holds, _ratings(d, demand=demand, margins=margins)))]
    return (f"Smaller ones of the kind would do, on a larger heatsink: {', '.join(told)}.",) if told else ()
