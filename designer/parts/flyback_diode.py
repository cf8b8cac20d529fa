"""The freewheel (flyback) diode of a chopper: type and size by the least loss in diode and transistor together.

At low duty it carries nearly the whole armature current, and at a stall nearly the whole limit. Safe
side: the next voltage class up, the slow end of recovery, the higher drop.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations import switching as eq
from designer.equations.thermal import CASE_FOR_CURRENT, TWO_TERM_LOSS
from designer.errors import InputError
from designer.parts import heatsink
from designer.parts.diode_classes import GIVEN, UNITS, Device, classes, completed
from designer.parts.heat_path import case_to_sink
from designer.parts.margins import holds, share
from designer.parts.transistor import LAYOUT_OVERSHOOT
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step

#: s; slower than this counts as "fast", quicker as "ultrafast"
_ULTRAFAST = 100e-9
#: V, up to here a diode of no recovery is taken for a Schottky diode
_SCHOTTKY = 200.0
#: share of the least on-time that recovery may take
_OF_ON_TIME = (0.2, "a fifth of the least on-time, common practice, no source")
_INTERFACE = "silicone-fibre pad"
_WRONG = (
    "Missing, open or far away: the armature's inductance drives the voltage up until the transistor breaks through "
    "and fails short: full speed. Too slow (a mains diode): the transistor burns at each turn-on."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the diode must withstand; SI. ``at`` names the worst corner by rating.

    ``bus_crest``: highest bus. ``peak_reverse``: with overshoot (0 where not known: a layout's 20 %).
    ``mean_current``, ``rms_current``: worst continuous state. ``recovered_current``: what flows in it when the
    transistor takes over, ``didt`` (A/s) how fast. ``peak_current``: the current limit's upper end.
    ``stall_…``: under the limit, for ``stall_time`` (s). ``on_time``: the least (s).
    """

    bus_crest: float
    mean_current: float
    rms_current: float
    recovered_current: float
    didt: float
    frequency: float
    peak_current: float
    peak_reverse: float = 0.0
    stall_mean_current: float = 0.0
    stall_rms_current: float = 0.0
    stall_time: float = 0.0
    on_time: float = float("inf")
    at: Mapping[str, str] = field(default_factory=dict)


def steps(device: Device, *, demand: Demand) -> tuple[Step, ...]:
    """Give the steps of its losses: conduction (W); charge (C), energy in diode and in transistor (J) of recovery."""
    conduction = Step(formula=TWO_TERM_LOSS, note="conduction of the freewheel diode", inputs={
        "V_T0": device["threshold_voltage"], "r_T": device["slope_resistance"], "I_abs": demand.mean_current,
        "I_rms": demand.rms_current})
    charge = device.recovery.charge_at(demand.recovered_current)
    if not charge > 0:
        return (conduction,)
    stored = () if "recovery_charge" in device.values else (Step(formula=eq.RECOVERY_CHARGE, inputs={
        "I": demand.recovered_current, "t_rr": device["recovery_time"]}, note="charge to be swept out"),)
    return (
        conduction, *stored,
        Step(formula=eq.DIODE_ENERGY, inputs={"V": demand.bus_crest, "Q_rr": charge}, note="recovery, in the diode"),
        Step(formula=eq.RECOVERY_ENERGY, note="recovery, in the transistor", inputs={
            "V": demand.bus_crest, "Q_rr": charge, "I": demand.recovered_current, "didt": demand.didt}),
    )


def loss(device: Device, *, demand: Demand) -> float:
    """Give the heat in the diode itself, W, in the worst continuous state."""
    found = steps(device, demand=demand)
    return found[0].value + (demand.frequency * found[-2].value if len(found) > 1 else 0.0)


def both(device: Device, *, demand: Demand) -> float:
    """Give what ``device`` costs in diode and transistor together, W."""
    found = steps(device, demand=demand)
    return loss(device, demand=demand) + (demand.frequency * found[-1].value if len(found) > 1 else 0.0)


def candidates(
    demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float],
) -> tuple[Device, ...]:
    """Give the diodes worth solving with, least loss first: the user's alone, else the generic classes.

    ``given`` holds the numbers of ``[parts.freewheel]`` by the keys of ``GIVEN``. Raises ``InputError`` for
    ``supply.voltage`` where no class blocks the bus, for ``parts.freewheel.<key>`` on a key that is none.
    """
    if given:
        return (_own(demand, given=given, margins=margins),)
    found = [d for kind in dict.fromkeys(d.kind for d in classes()) for d in _blocking(demand, kind, margins)]
    if not found:
        top = max(d["voltage"] for d in classes())
        raise InputError(
            "supply.voltage", f"{_needed_voltage(demand, margins):.0f} V freewheel diode needed",
            f"classes up to {top:g} V", "Use a lower supply voltage, or give your own diode in [parts.freewheel].")
    return tuple(sorted(found, key=lambda device: both(device, demand=demand)))


def _needed_voltage(demand: Demand, margins: Mapping[str, float]) -> float:
    expected = max(demand.peak_reverse, (1.0 + LAYOUT_OVERSHOOT) * demand.bus_crest)
    return expected / share("diode_voltage", margins)[0] * (1 - 1e-9)


def _blocking(demand: Demand, kind: str, margins: Mapping[str, float]) -> tuple[Device, ...]:
    """The classes of ``kind`` of the least voltage that holds."""
    needed = _needed_voltage(demand, margins)
    rows = [d for d in classes() if d.kind == kind and d["voltage"] >= needed]
    least = min((d["voltage"] for d in rows), default=None)
    return tuple(d for d in rows if d["voltage"] == least)


def _own(demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float]) -> Device:
    unknown = sorted(set(given) - set(GIVEN))
    if unknown:
        raise InputError(f"parts.freewheel.{unknown[0]}", given[unknown[0]], ", ".join(sorted(GIVEN)))
    volts = given.get("voltage", _needed_voltage(demand, margins))
    rows = [d for d in classes() if d.kind == _kind(given, volts)]
    level = min({d["voltage"] for d in rows}, key=lambda v: (v < volts * (1 - 1e-9), abs(v - volts)))
    rows = [d for d in rows if d["voltage"] == level]
    slope = given.get("slope_resistance")
    if "current" in given:
        base = next((d for d in rows if d["current"] >= given["current"]), rows[-1])
    elif slope:
        base = min(rows, key=lambda d: abs(math.log(slope / d["slope_resistance"])))
    else:
        needed = demand.mean_current / share("diode_current", margins)[0]
        base = next((d for d in rows if d["current"] >= needed), rows[-1])
    return completed(base, given=given)


def _kind(given: Mapping[str, float], volts: float) -> str:
    """By recovery where given; else the slow kind, which is the safe side."""
    none = 0.0 in (given.get("recovery_time"), given.get("recovery_charge"))
    if none and volts <= _SCHOTTKY:
        return "schottky"
    return "ultrafast" if none or given.get("recovery_time", 1.0) <= _ULTRAFAST else "fast"


def choose(
    demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float],
) -> tuple[Part, Device]:
    """Give the diode of least loss that holds every rating with its margin, as a part and as its data.

    The user's own is returned even where a rating fails: the checks say so. Raises ``InputError`` for
    ``parts.freewheel.current`` where no generic class holds.
    """
    found = candidates(demand, given=given, margins=margins)
    short: Rating | None = None
    for device in found:
        made = part(device, demand=demand, margins=margins)
        missed = next((r for r in made.ratings if not holds(r)), None)
        if given or missed is None:
            return made, device
        short = short or missed
    assert short is not None
    raise InputError(
        "parts.freewheel.current", f"{short.name} {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} in the generic "
        "class of least loss",
        "Lower the load or the current limit, or give the data of a larger diode in [parts.freewheel].")


def on_sink(
    device: Device, *, name: str, demand: Demand, margins: Mapping[str, float],
) -> heatsink.Device:
    """Give ``device`` as it sits on the heatsink; a bare tab is isolated by a pad unless ``case_to_sink`` is given."""
    limit, allowed = device["junction_temperature"], share("diode_current", margins)[0]
    use = min(1.0, demand.mean_current / (allowed * device["current"]))
    case = float(CASE_FOR_CURRENT(
        T_j=limit + heatsink.ZERO, T_c0=device["case_temperature"] + heatsink.ZERO, I_rms=use, k_I=1.0, I_T=1.0))
    stalled = float(TWO_TERM_LOSS(
        V_T0=device["threshold_voltage"], r_T=device["slope_resistance"], I_abs=demand.stall_mean_current,
        I_rms=demand.stall_rms_current))
    switched = loss(device, demand=demand) - steps(device, demand=demand)[0].value
    grown = demand.peak_current / demand.recovered_current if demand.recovered_current > 0 else 0.0
    return heatsink.Device(
        name=name, junction_limit=limit, junction_to_case=device["junction_to_case"],
        case_to_sink=device.values.get("case_to_sink", case_to_sink(_INTERFACE, package=device.package)[0]),
        case_limit=case - heatsink.ZERO, loss=loss(device, demand=demand),
        stall_loss=stalled + switched * max(grown, 1.0), stall_time=demand.stall_time)


def part(
    device: Device, *, demand: Demand, margins: Mapping[str, float], designator: str = "D1",
) -> Part:
    """Give ``device`` as a part with its ratings against ``demand``."""
    assumed = sorted({mark for mark in device.marks.values() if mark != "your file"})
    return Part(
        role="flyback-diode", designator=designator, description=f"{device.name}, {device.package}",
        value=Quantity(device["current"], "A"), marking=f"{device['current']:g} A {device['voltage']:g} V",
        ratings=_ratings(device, demand=demand, margins=margins), worked=steps(device, demand=demand),
        if_wrong=_WRONG, notes=(
            *_notes(device, demand=demand), *_smaller(device, demand=demand, margins=margins),
            *(f"Values: {mark}." for mark in assumed)),
        sources=tuple(sorted(set(device.marks.values()))))


def _smaller(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> tuple[str, ...]:
    """Smaller classes of the same type and voltage that hold too, with what they cost in both devices."""
    if device.given:
        return ()
    rows = [d for d in classes() if (d.kind, d["voltage"]) == (device.kind, device["voltage"])
            and d["current"] < device["current"]]
    told = [f"{d['current']:g} A with {engineering(loss(d, demand=demand), 'W', 3)}" for d in rows
            if all(map(holds, _ratings(d, demand=demand, margins=margins)))]
    return (f"Smaller ones of the type would do, on a larger heatsink: {', '.join(told)}.",) if told else ()


def _ratings(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    rows: tuple[tuple[str, str, float, tuple[float, str], str], ...] = (
        ("reverse voltage", "voltage", max(demand.peak_reverse, demand.bus_crest), share("diode_voltage", margins),
         "Less stray inductance, or the next voltage class."),
        ("mean current", "current", demand.mean_current, share("diode_current", margins), "A larger diode."),
        ("mean current at stall", "current", demand.stall_mean_current, (1.0, "a stall is rare: the rating itself"),
         "A lower current limit or a larger diode."),
        ("peak current", "surge_current", demand.peak_current, share("diode_surge", margins),
         "A lower current limit or a larger diode."),
    )
    made = [Rating(
        name=name, limit=Quantity(device[key], UNITS[key]), stress=Quantity(stress, UNITS[key]), share=allowed[0],
        source=allowed[1], at=demand.at.get(name, ""), remedy=remedy) for name, key, stress, allowed, remedy in rows]
    if math.isfinite(demand.on_time):
        made.append(Rating(
            name="recovery time", limit=Quantity(demand.on_time, "s"), stress=Quantity(device["recovery_time"], "s"),
            share=_OF_ON_TIME[0], source=_OF_ON_TIME[1], at="least on-time", remedy="A faster diode."))
    return tuple(made)


def _notes(device: Device, *, demand: Demand) -> tuple[str, ...]:
    own, total = loss(device, demand=demand), both(device, demand=demand)
    notes = [
        f"Heat: {engineering(own, 'W', 3)} in the diode; its recovery costs {engineering(total - own, 'W', 3)} more "
        "in the transistor.",
        "Close to transistor and bus capacitor, not at the motor: the loop of these three is the one that must be "
        "small. Cathode to the bus plus.",
        "A soft recovery is wanted. Of silicon carbide there are 600 V diodes without recovery: they take its share "
        "off the transistor.",
    ]
    if device.kind == "schottky":
        notes.append("A hot Schottky diode leaks; above 125 °C the leakage can run away.")
    return tuple(notes)
