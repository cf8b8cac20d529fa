"""The switch on mains, triac or thyristor: generic class or the user's own device against its stresses.

Safe side: the larger class. The drop of the chosen class changes the waveform, so a study goes
through ``candidates`` and solves again with each until its ``choose`` holds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations.thermal import CASE_FOR_CURRENT, TWO_TERM_LOSS
from designer.errors import InputError
from designer.parts import coordination, heatsink
from designer.parts.coordination import Bears, Short
from designer.parts.heat_path import case_to_sink
from designer.parts.margins import holds, share
from designer.parts.transient_junction import conducting
from designer.parts.triac_classes import UNITS, Device, Kind, classes, completed
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step

_WRONG = (
    "Too small a class: it loses control of the motor at a stall or fails short, and the motor runs at full "
    "speed. Too low a voltage: it turns on by itself on mains surges."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the switch must withstand; SI. Each from its own worst corner, which ``at`` names by rating.

    ``mains_peak``: crest of the highest mains. ``peak_voltage``: greatest voltage across the switch with
    the snubber's overshoot. ``mean_absolute_current``, ``rms_current``: worst continuous state of one
    device. ``surge_peak``: greatest peak of a start. ``stall_peak``: greatest peak at stall.
    ``shorts``: what the fuse lets through (nothing where no fuse is chosen yet). ``turn_off_slope``,
    ``reapplied_voltage``, ``reapplied_rise``: at extinction, with the snubber. ``rise_of_current``: at
    turn-on, snubber discharge included. ``current_at_gate_end``: least current reached when the gate
    signal ends, infinite for a gate held through the window. ``stall_…``: currents (A) of a stall at its worst
    setting and how long (s) it lasts until something ends it.
    """

    mains_peak: float
    peak_voltage: float
    mean_absolute_current: float
    rms_current: float
    surge_peak: float
    stall_peak: float
    turn_off_slope: float
    reapplied_voltage: float
    reapplied_rise: float
    rise_of_current: float
    shorts: tuple[Short, ...] = ()
    stall_mean_absolute_current: float = 0.0
    stall_rms_current: float = 0.0
    stall_time: float = 0.0
    current_at_gate_end: float = float("inf")
    at: Mapping[str, str] = field(default_factory=dict)
    sensitive: bool = False            # a thyristor that fires at some tenths of a milliampere


def candidates(
    demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float], kind: Kind = "triac",
) -> tuple[Device, ...]:
    """Give the devices worth solving with, smallest first: the user's alone, else the generic classes.

    ``given`` holds the numbers of ``[parts.switch]``; what is missing there is filled from the nearest
    generic class and marked so; a device smaller than every class gets values that shrink with it.
    Raises ``InputError`` for ``supply.voltage`` where no class blocks it.
    """
    fitting = _blocking(demand, margins=margins, kind=kind)
    if not given:
        return fitting
    near = _nearest(given, needed=demand.rms_current / share("switch_current", margins)[0], kind=kind)
    volts = given.get("voltage", fitting[0]["voltage"])
    base = next((d for d in near if d["voltage"] >= volts), near[-1])
    return (_completed(base, given=given),)


def _nearest(given: Mapping[str, float], *, needed: float, kind: Kind) -> list[Device]:
    """The generic class most like the user's device, in every voltage.

    By its current where given (the next class not larger), else by its slope resistance, else the
    smallest that carries ``needed`` A.
    """
    every = classes(kind)
    if "current" in given:
        best = max((d for d in every if d["current"] <= given["current"]), key=_amperes, default=every[0])
    elif "slope_resistance" in given:
        best = min(every, key=lambda d: abs(math.log(given["slope_resistance"] / d["slope_resistance"])))
    else:
        best = min((d for d in every if d["current"] >= needed), key=_amperes, default=every[-1])
    return [d for d in every if d["current"] == best["current"]]


def _amperes(device: Device) -> float:
    return device["current"]


def _blocking(demand: Demand, *, margins: Mapping[str, float], kind: Kind) -> tuple[Device, ...]:
    """The generic classes of the least voltage that holds, smallest current first."""
    by_mains = demand.mains_peak / share("mains_peak", margins)[0]
    by_peak = demand.peak_voltage / share("switch_voltage", margins)[0]
    needed = max(by_mains, by_peak) * (1 - 1e-9)
    volts = min((d["voltage"] for d in classes(kind) if d["voltage"] >= needed), default=None)
    if volts is None:
        top = max(d["voltage"] for d in classes(kind))
        raise InputError(
            "supply.voltage", f"{demand.peak_voltage:.0f} V across the switch, {needed:.0f} V class needed",
            f"classes up to {top:g} V", "Use a lower mains voltage, or a snubber with less overshoot.")
    return tuple(d for d in classes(kind) if d["voltage"] == volts)


def _completed(base: Device, *, given: Mapping[str, float]) -> Device:
    unknown = sorted(set(given) - set(UNITS))
    if unknown:
        raise InputError(f"parts.switch.{unknown[0]}", given[unknown[0]], ", ".join(sorted(UNITS)))
    return completed(base, given=given)


def choose(
    demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float], kind: Kind = "triac",
) -> Part:
    """Give the smallest class that holds every rating with its margin; the user's own device as it is.

    A user's device is returned even where a rating fails: the checks say so. Raises ``InputError`` for
    ``parts.switch.current`` where no generic class holds.
    """
    found = candidates(demand, given=given, margins=margins, kind=kind)
    if given:
        return part(found[0], demand=demand, margins=margins)
    for device in found:
        made = part(device, demand=demand, margins=margins)
        if all(map(holds, made.ratings)):
            return made
    short = next(r for r in made.ratings if not holds(r))
    raise InputError(
        "parts.switch.current", f"{short.name} {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} in the largest generic class",
        "Lower the load, gear down, limit the current, or give the data of a larger device in [parts.switch]."
        + coordination.hint(short))


def bears(device: Device, *, name: str = "Q1") -> Bears:
    """Give what ``device`` bears of a short."""
    return Bears(name=name, i2t=device["i2t"], surge=device["surge_current"], current=device["current"])


def loss(device: Device, *, mean_absolute_current: float, rms_current: float) -> float:
    """Give the conduction loss of one device, W."""
    return float(TWO_TERM_LOSS(
        V_T0=device["threshold_voltage"], r_T=device["slope_resistance"], I_abs=mean_absolute_current,
        I_rms=rms_current))


def on_sink(
    device: Device, *, name: str, demand: Demand, margins: Mapping[str, float],
) -> heatsink.Device:
    """Give ``device`` as it sits on the heatsink: heat, limits and resistances.

    The case may be as warm as leaves its derated current, with the margin, at what flows; never less
    than the temperature at which it is rated. An insulated package lies on compound unless
    ``case_to_sink`` is given.
    """
    limit = device["junction_temperature"]
    use = min(1.0, demand.rms_current / (share("switch_current", margins)[0] * device["current"]))
    case = float(CASE_FOR_CURRENT(
        T_j=limit + heatsink.ZERO, T_c0=device["case_temperature"] + heatsink.ZERO, I_rms=use, k_I=1.0, I_T=1.0))
    interface = case_to_sink("insulated package with compound", package=device.package)[0]
    return heatsink.Device(
        name=name, junction_limit=limit, junction_to_case=device["junction_to_case"],
        case_to_sink=device.values.get("case_to_sink", interface), case_limit=case - heatsink.ZERO,
        loss=loss(device, mean_absolute_current=demand.mean_absolute_current, rms_current=demand.rms_current),
        stall_loss=loss(
            device, mean_absolute_current=demand.stall_mean_absolute_current,
            rms_current=demand.stall_rms_current),
        stall_time=demand.stall_time, pulses=2,
        pulse_share=conducting(demand.stall_mean_absolute_current, rms=demand.stall_rms_current))


def part(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> Part:
    """Give ``device`` as a part with its ratings against ``demand``."""
    step = Step(formula=TWO_TERM_LOSS, inputs={
        "V_T0": device["threshold_voltage"], "r_T": device["slope_resistance"],
        "I_abs": demand.mean_absolute_current, "I_rms": demand.rms_current},
        note="heat in the switch at the worst continuous point")
    assumed = sorted({mark for key, mark in device.marks.items() if mark != "your file"})
    return Part(
        role="switch", designator="Q1", description=f"{device.name}, {device.package}",
        value=Quantity(device["current"], "A"), marking=f"{device['current']:g} A {device['voltage']:g} V",
        ratings=_ratings(device, demand=demand, margins=margins),
        worked=(step, *coordination.steps(bears(device), met=demand.shorts)), if_wrong=_WRONG,
        notes=(*_notes(device, demand=demand), *(f"Values: {mark}." for mark in assumed)),
        sources=tuple(sorted(set(device.marks.values()))))


def _notes(device: Device, *, demand: Demand) -> tuple[str, ...]:
    notes = [
        f"{demand.reapplied_voltage:.0f} V come back across it when it turns off.",
        f"The r.m.s. rating holds up to {device['case_temperature']:.0f} °C at the case and falls to zero at "
        f"{device['junction_temperature']:.0f} °C; the heatsink keeps the case cool enough for what flows.",
        f"Gate: up to {1e3 * device['gate_current']:.3g} mA and {device['gate_voltage']:.1f} V at 25 °C, up to "
        "twice the current in the cold (from memory).",
    ]
    if device.kind == "triac":
        notes.append("Fire in quadrants 1 and 3 or 2 and 3; three-quadrant types do not take the fourth.")
    if demand.mains_peak > 0.5 * device["voltage"]:
        notes.append(
            "The crest of the mains is above half of the voltage rating: only with varistor and snubber "
            "(common practice, no source).")
    return tuple(notes)


def _ratings(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    rows: list[tuple[str, str, float, str]] = [
        ("repetitive peak voltage", "voltage", demand.peak_voltage, "switch_voltage"),
        ("r.m.s. current", "current", demand.rms_current, "switch_current"),
        ("surge current at start", "surge_current", demand.surge_peak, "switch_surge"),
        ("surge current at stall", "surge_current", demand.stall_peak, "switch_surge"),
        ("commutating slope", "commutating_slope", demand.turn_off_slope, "commutating_slope"),
        ("rise of reapplied voltage", "critical_dvdt", demand.reapplied_rise, "dvdt"),
        ("rise of current", "rise_of_current", demand.rise_of_current, "rise_of_current"),
    ]
    made = [
        _rating(
            name, limit=Quantity(device[key], UNITS[key]), stress=stress, allowed=share(margin, margins),
            at=demand.at)
        for name, key, stress, margin in rows
    ]
    made[4:4] = coordination.ratings(bears(device), met=demand.shorts, margins=margins)
    latching = device["latching_current"]
    made.append(_rating(
        "latching current", limit=Quantity(demand.current_at_gate_end, "A"), stress=latching,
        allowed=(1.0, "the current must pass the latching level before the gate signal ends"), at=demand.at))
    return tuple(made)


def _rating(
    name: str, *, limit: Quantity, stress: float, allowed: tuple[float, str], at: Mapping[str, str],
) -> Rating:
    return Rating(
        name=name, limit=limit, stress=Quantity(stress, limit.unit), share=allowed[0], source=allowed[1],
        at=at.get(name, ""))
