"""Bridge rectifier of four diodes: generic class or the user's own diodes against their stresses.

Safe side: the larger class. All figures are of ONE diode over a full period, except on the heatsink, where the
four stand together. The drop of the chosen class changes the waveform, so a study goes through ``candidates``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations.fuse import DEVICE_I2T, SURGE_FOR_TIME
from designer.equations.reservoir import DIODE_RMS_RATING, SURGE_LENGTH
from designer.equations.thermal import CASE_FOR_CURRENT, TWO_TERM_LOSS
from designer.errors import InputError
from designer.parts import coordination, heatsink
from designer.parts.bridge_classes import DIODES, HALF_CYCLE, Device, classes, completed
from designer.parts.coordination import Bears, Short
from designer.parts.heat_path import case_to_sink
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step

__all__ = ["Demand", "Device", "candidates", "choose", "loss", "on_sink", "part"]

#: s; below it a surge rating is no longer scaled up (the formula's range)
_SHORTEST = 1e-3
_WRONG = (
    "Too low a voltage or too small a surge: one diode fails short, the next half cycle shorts the mains through "
    "the one beside it; when more fail, the reservoir gets alternating current and vents. Too small a current: it "
    "burns on its own heat."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What ONE diode must withstand; SI. Each from its own worst corner, which ``at`` names by rating.

    ``crest``: of the highest mains, which is what a diode blocks with the reservoir full. ``mean_current``,
    ``rms_current``: worst continuous state, over a full period. ``peak_current``: of each half cycle.
    ``inrush_peak`` (A) and ``inrush_i2t`` (A²s): of switching on at the worst instant, the limiter hot; 0 where
    not computed yet. ``shorts``: what the fuse ahead of it lets through when the reservoir or the bus shorts.
    ``mains_fed``: surges of the mains reach it (False behind a transformer of its own).
    """

    crest: float
    mean_current: float
    rms_current: float
    peak_current: float
    inrush_peak: float = 0.0
    inrush_i2t: float = 0.0
    shorts: tuple[Short, ...] = ()
    mains_fed: bool = True
    at: Mapping[str, str] = field(default_factory=dict)


def candidates(demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float]) -> tuple[Device, ...]:
    """Give the devices worth solving with, smallest first: the user's alone, else the generic classes.

    ``given`` holds the numbers of ``[parts.rectifier]`` (one diode); what is missing there is filled from the
    nearest generic class and marked so. Raises ``InputError`` for ``supply.voltage`` where no class blocks it.
    """
    if not given:
        return _blocking(demand, margins=margins)
    base = _nearest(given, demand=demand, margins=margins)
    return (completed(base, given=given),)


def _nearest(given: Mapping[str, float], *, demand: Demand, margins: Mapping[str, float]) -> Device:
    """The class not larger than the user's current, else like its slope, else that carries the demand."""
    volts = given.get("voltage")
    fitting = _blocking(demand, margins=margins) if volts is None else tuple(
        d for d in classes() if d["voltage"] <= volts) or classes()
    top = max(d["voltage"] for d in fitting)
    every = [d for d in fitting if d["voltage"] == top]
    if "current" in given:
        return max((d for d in every if d["current"] <= given["current"]), key=_amperes, default=every[0])
    if given.get("slope_resistance"):
        return min(every, key=lambda d: abs(math.log(given["slope_resistance"] / d["slope_resistance"])))
    needed = demand.mean_current / share("diode_current", margins)[0]
    return min((d for d in every if d["current"] >= needed), key=_amperes, default=every[-1])


def _amperes(device: Device) -> float:
    return device["current"]


def _blocking(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Device, ...]:
    """The generic classes of the least voltage that holds, smallest current first."""
    allowed = share("diode_voltage", margins)[0]
    if demand.mains_fed:
        allowed = min(allowed, share("mains_peak", margins)[0])
    needed = demand.crest / allowed * (1 - 1e-9)
    volts = min((d["voltage"] for d in classes() if d["voltage"] >= needed), default=None)
    if volts is None:
        top = max(d["voltage"] for d in classes())
        raise InputError(
            "supply.voltage", f"a crest of {demand.crest:.0f} V, {needed:.0f} V class needed",
            f"classes up to {top:g} V", "Use a lower mains voltage, or give your own diodes in [parts.rectifier].")
    return tuple(d for d in classes() if d["voltage"] == volts)


def choose(demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float]) -> tuple[Part, Device]:
    """Give the smallest class that holds every rating with its margin; the user's own diodes as they are.

    The user's are returned even where a rating fails: the checks say so. Raises ``InputError`` for
    ``parts.rectifier.current`` where no generic class holds.
    """
    found = candidates(demand, given=given, margins=margins)
    for device in found:
        made = part(device, demand=demand, margins=margins)
        if given or all(map(holds, made.ratings)):
            return made, device
    short = next(r for r in made.ratings if not holds(r))
    raise InputError(
        "parts.rectifier.current", f"{short.name} {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} in the largest generic class",
        "Lower the load, limit the inrush further, use a smaller or faster fuse, or give the data of larger diodes "
        "in [parts.rectifier]." + coordination.hint(short))


def bears(device: Device, *, name: str = "a diode of BR1") -> Bears:
    """Give what ONE diode bears of a short."""
    return Bears(name=name, i2t=device["i2t"], surge=device["surge_current"],
                 current=float(DIODE_RMS_RATING(I_F=device["current"])))


def loss(device: Device, *, mean_current: float, rms_current: float) -> float:
    """Give the heat of ONE diode, W, from its mean and r.m.s. current over a full period."""
    return float(TWO_TERM_LOSS(
        V_T0=device["threshold_voltage"], r_T=device["slope_resistance"], I_abs=mean_current, I_rms=rms_current))


def on_sink(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> heatsink.Device:
    """Give the four diodes as one body on the heatsink: heat, limits and resistances of the whole.

    The case may be as warm as leaves the derated current; the base plate lies on compound unless
    ``case_to_sink`` is given.
    """
    limit = device["junction_temperature"]
    allowed = share("diode_current", margins)[0]
    rms = float(DIODE_RMS_RATING(I_F=device["current"]))
    current, rating = max(
        (demand.mean_current, device["current"]), (demand.rms_current, rms), key=lambda pair: pair[0] / pair[1])
    case = float(CASE_FOR_CURRENT(
        T_j=limit + heatsink.ZERO, T_c0=device["case_temperature"] + heatsink.ZERO,
        I_rms=min(current, allowed * rating), k_I=allowed, I_T=rating)) - heatsink.ZERO
    own = device.values.get("case_to_sink")
    to_sink = own / DIODES if own is not None else case_to_sink(
        "insulated package with compound", package="TO-247")[0]
    return heatsink.Device(
        name="bridge", loss=DIODES * loss(device, mean_current=demand.mean_current, rms_current=demand.rms_current),
        junction_limit=limit, junction_to_case=device["junction_to_case"] / DIODES, case_to_sink=to_sink,
        case_limit=case)


def part(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> Part:
    """Give ``device`` as a part with its ratings against ``demand``."""
    heat = Step(formula=TWO_TERM_LOSS, inputs={
        "V_T0": device["threshold_voltage"], "r_T": device["slope_resistance"], "I_abs": demand.mean_current,
        "I_rms": demand.rms_current}, note="heat of one diode of the four at the worst continuous point")
    whole = 2 * device["current"]
    assumed = sorted({mark for mark in device.marks.values() if mark != "your file"})
    return Part(
        role="bridge", designator="BR1",
        description="four diodes of your file as a bridge" if device.own else f"{device.name}, insulated base plate",
        value=Quantity(whole, "A"), marking=f"{whole:g} A {device['voltage']:g} V",
        ratings=_ratings(device, demand=demand, margins=margins), worked=(
            heat, *_surge_steps(device, demand), *coordination.steps(bears(device), met=demand.shorts)),
        if_wrong=_WRONG, notes=(*_notes(device, demand=demand), *(f"Values: {mark}." for mark in assumed)),
        sources=tuple(sorted(set(device.marks.values()))))


def _notes(device: Device, *, demand: Demand) -> tuple[str, ...]:
    heat = DIODES * loss(device, mean_current=demand.mean_current, rms_current=demand.rms_current)
    notes = [
        f"Two diodes stand in series at any time; all four make {heat:.3g} W.",
        f"Each pulse reaches {demand.peak_current:.3g} A: the mains sees pulses, not a sine.",
        "Both d.c. terminals are live against earth, each in its half cycle: no earth and no clip of an earthed "
        "instrument on them.",
    ]
    if demand.mains_fed and demand.crest > 0.5 * device["voltage"]:
        notes.append("The crest of the mains is above half of the voltage rating: only with a varistor "
                     "(common practice, no source).")
    return tuple(notes)


def _inrush_limit(device: Device, demand: Demand) -> float:
    """I²t that the diode bears for the length of the inrush, A²s: less than at 10 ms for a shorter one."""
    if not (demand.inrush_peak and demand.inrush_i2t):
        return device["i2t"]
    return min(device["i2t"], float(DEVICE_I2T(
        W_0=device["i2t"], t=_length(demand), t_0=HALF_CYCLE, p_scale=0.5)))


def _surge_limit(device: Device, demand: Demand) -> float:
    """Peak that the diode bears for the length of the inrush, A: more than at 10 ms for a shorter one."""
    if not (demand.inrush_peak and demand.inrush_i2t):
        return device["surge_current"]
    return float(SURGE_FOR_TIME(
        I_p=device["surge_current"], t_1=HALF_CYCLE, t_2=min(max(_length(demand), _SHORTEST), HALF_CYCLE)))


def _length(demand: Demand) -> float:
    return float(SURGE_LENGTH(W_surge=demand.inrush_i2t, I_surge=demand.inrush_peak))


def _surge_steps(device: Device, demand: Demand) -> tuple[Step, ...]:
    if not (demand.inrush_peak and demand.inrush_i2t):
        return ()
    length = Step(formula=SURGE_LENGTH, inputs={"W_surge": demand.inrush_i2t, "I_surge": demand.inrush_peak},
                  note="how long the inrush is, as half a sine")
    if length.value >= HALF_CYCLE:
        return (length,)
    return length, Step(formula=DEVICE_I2T, inputs={
        "W_0": device["i2t"], "t": length.value, "t_0": HALF_CYCLE, "p_scale": 0.5},
        note="I²t that one diode bears for that long"), Step(formula=SURGE_FOR_TIME, inputs={
            "I_p": device["surge_current"], "t_1": HALF_CYCLE, "t_2": max(length.value, _SHORTEST)},
        note="peak that one diode bears for that long")


def _ratings(device: Device, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    rms = float(DIODE_RMS_RATING(I_F=device["current"]))
    rows: list[tuple[str, float, str, float, str]] = [
        ("reverse voltage", device["voltage"], "V", demand.crest, "diode_voltage"),
        ("mean current of one diode", device["current"], "A", demand.mean_current, "diode_current"),
        ("r.m.s. current of one diode", rms, "A", demand.rms_current, "diode_current"),
        ("surge current at switch-on", _surge_limit(device, demand), "A", demand.inrush_peak, "diode_surge"),
        ("I²t of switch-on", _inrush_limit(device, demand), "A**2*s", demand.inrush_i2t, "diode_i2t"),
    ]
    made = []
    for name, limit, unit, stress, key in rows:
        allowed, source = share(key, margins)
        made.append(Rating(
            name=name, limit=Quantity(limit, unit), stress=Quantity(stress, unit), share=allowed, source=source,
            at=demand.at.get(name, "")))
    return *made, *coordination.ratings(
        bears(device), met=demand.shorts, margins=margins, key="diode_i2t", where=demand.at.get(coordination.I2T, ""))


