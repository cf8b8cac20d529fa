"""Faults of line and bus: a diode open, bleeders open, a snubber's or clamp's capacitor shorted."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from designer.equations.capacitor import DISCHARGE_LOSS, STORED_ENERGY
from designer.parts.fuse_gates import opening_time
from designer.parts.snubber_values import RESISTOR_TOLERANCE
from designer.results import FaultCase, Part, Quantity
from designer.studies.bus_parts import drawn
from designer.studies.groups import crest_of, voltages
from designer.studies.sides import Power, Scene
from designer.waveforms.half_wave_bus import half_wave
from designer.waveforms.reservoir import Bridge

#: of the elements of an X2 capacitor: least insulation time constant, s (IEC 60384-14, from memory)
INSULATION_TIME = 5000.0
AT_ONCE = 1.0       # s: a fuse that opens sooner is quicker than a resistor burns (common practice, no source)
UPPER = 0.2         # of an X2 capacitor's value (IEC 60384-14 as sold)


def faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """Give what diodes, reservoir, bleeders and snubbers do when they fail, as far as the circuit has them."""
    if power is None:
        return
    if "bus" in scene.kind.sides and scene.alternating:
        yield _one_way(scene, power)
    yield from _bleeders(scene, power)
    yield from _snubber(scene, power)
    yield from _clamp(scene, power)


def _part(power: Power, role: str) -> Part | None:
    return next((p for p in power.parts if p.role == role and p.count and p.value is not None), None)


def _limit(part: Part | None, name: str) -> dict[str, Quantity]:
    """The limit of a part's rating by name, to stand beside what passes it."""
    if part is None:
        return {}
    return {f"its rating, {name}": r.limit for r in part.ratings if r.name == name}


def one_way(scene: Scene, *, volts: float, current: float) -> Bridge:
    """The bridge of a scene's feed at ``volts`` r.m.s. with ``current`` (A) drawn from its bus."""
    feed = scene.feed
    assert feed.reservoir is not None

    def row(value: float) -> Any:
        return np.array([value])

    return Bridge(
        peak=row(math.sqrt(2.0) * volts), omega=row(2 * math.pi * float(scene.project.supply.frequency or 0.0)),
        resistance=row(feed.line_resistance + 2 * feed.rectifier.slope), inductance=row(feed.line_inductance),
        drop=row(2 * feed.rectifier.threshold), capacitance=row(feed.reservoir.capacitance),
        series_resistance=row(feed.reservoir.series_resistance), load_current=row(current))


def _one_way(scene: Scene, power: Power) -> FaultCase:
    """A diode of the bridge open: one half cycle charges the reservoir for a whole period."""
    low, current = voltages(scene.project)[0], drawn(scene)
    found = half_wave(one_way(scene, volts=low, current=current))
    before = scene.least("bus_voltage_valley").value
    told = {"direct current in the line": Quantity(current, "A"), "valley before": Quantity(before, "V")}
    if math.isfinite(found.valley):
        told |= {"bus, valley": Quantity(found.valley, "V"), "bus, mean": Quantity(found.mean, "V"),
                 "line current, peak": Quantity(found.line_peak, "A"),
                 "line current, r.m.s.": Quantity(found.line_rms, "A"),
                 "ripple current of the reservoir": Quantity(found.ripple_current, "A"),
                 **_limit(_part(power, "reservoir"), "ripple current")}
    else:
        told["bus, valley"] = Quantity(0.0, "V")
    return FaultCase(
        fault="rectifier-open", name="A diode of the bridge open: half-wave, the reservoir bridges a whole period",
        figures=told, ends_by="nothing in this design: it hums, and a transformer ahead warms")


def _bleeders(scene: Scene, power: Power) -> Iterator[FaultCase]:
    """No bleeder left: the charge stays, on bus and on the X2 capacitor."""
    crest, reservoir = crest_of(scene.project), scene.feed.reservoir
    if _part(power, "bleeder") is not None and reservoir is not None:
        bank = next(p for p in power.parts if p.role == "reservoir")
        most = max(reservoir.capacitance, bank.count * (bank.value.value if bank.value else 0.0))
        yield FaultCase(
            fault="bleeder-open", name="Both strings of the bus's bleeder open: it stays charged",
            figures={"energy left": Quantity(float(STORED_ENERGY(C_max=1.2 * most, V_start=crest)), "J"),
                     "voltage left": Quantity(crest, "V")},
            ends_by="nothing in this design: measure before you touch, each time")
    x2, own = _part(power, "x2-capacitor"), _part(power, "x2-bleeder")
    if x2 is not None and own is not None and x2.value is not None:
        most = (1 + UPPER) * x2.value.value
        yield FaultCase(
            fault="bleeder-open", name="Bleeder of the X2 capacitor open: the plug's pins bite",
            figures={"energy left": Quantity(float(STORED_ENERGY(C_max=most, V_start=crest)), "J"),
                     "voltage after 60 s, pulled at the crest": Quantity(crest * math.exp(-60 / INSULATION_TIME), "V")},
            ends_by="the motor, where the switch behind it is on; else nothing: do not touch the pins")


def _snubber(scene: Scene, power: Power) -> Iterator[FaultCase]:
    """The snubber's capacitor shorted: its resistor stands across the switch."""
    resistor, found = _part(power, "snubber-resistor"), scene.found
    if resistor is None or resistor.value is None or found is None or scene.fixed is None:
        return
    ohms = (1 - RESISTOR_TOLERANCE) * resistor.value.value
    volts = voltages(scene.project)[2]
    wheel = hasattr(scene.circuit, "form") and scene.fixed.freewheeling
    if wheel or scene.kind.line == "bridge":
        current, torque = volts / ohms, None
    else:
        current, torque = through(scene, ohms)
    heat = float(current**2 * ohms)
    told = {"current through its resistor, r.m.s.": Quantity(current, "A"),
            "heat in the resistor": Quantity(heat, "W"), **_limit(resistor, "power")}
    if torque is not None:
        friction = found.fixed.motor.friction_torque + float(found.fixed.load.at_motor(0.0))
        told |= {"torque at rest, switch off": Quantity(torque, "N*m"),
                 "load and friction hold": Quantity(friction, "N*m")}
    bears = next((r.limit.value for r in resistor.ratings if r.name == "power"), 0.0)
    opens = None if power.link is None else opening_time(power.link, current=current)[1]
    if opens is not None:
        told["fuse opens, at the latest"] = Quantity(opens, "s")
    yield FaultCase(
        fault="snubber-shorted",
        name="Snubber capacitor shorted: its resistor stands across the switch, and off is no longer off"
        + (" (bound: the whole line on the resistor)" if torque is None else ""),
        figures=told, ends_by="nothing: the resistor bears it" if heat <= bears else
        "the line fuse" if opens is not None and opens < AT_ONCE else
        "its resistor, which must be flameproof and burns open first; till then nothing but the plug")


def through(scene: Scene, ohms: float) -> tuple[float, float]:
    """R.m.s. current (A) and torque (N·m) at rest, the switch off, ``ohms`` across it; high mains, cold."""
    assert scene.found is not None
    assert scene.fixed is not None
    short, full = scene.circuit.shorted(scene.fixed)
    last = scene.found.stall.points[[-1]].at(setting=np.array([full]))
    feed = replace(short.feed, resistance=short.feed.resistance + ohms)
    solved = scene.circuit.solve(replace(short, feed=feed), last)
    return math.sqrt(float(solved.line_square[0])), float(solved.torque[0])


def _clamp(scene: Scene, power: Power) -> Iterator[FaultCase]:
    """The clamp's capacitor shorted: its diode bypasses the transistor, its resistor stands across the bus."""
    resistor, found = _part(power, "clamp-resistor"), scene.found
    if resistor is None or resistor.value is None or found is None or _part(power, "clamp-capacitor") is None:
        return
    crest, motor = crest_of(scene.project), found.fixed.motor
    cold = motor.resistances(found.thermal.cold, found.thermal.cold)
    ohms = float(cold[0] + (cold[1] if found.fixed.field is None and scene.kind.winding == "series" else 0.0))
    heat = float(DISCHARGE_LOSS(V_one=crest, R_one=resistor.value.value))
    yield FaultCase(
        fault="snubber-shorted",
        name="Clamp capacitor shorted: the clamp's diode bypasses the transistor, and the motor is on the bus",
        figures={"current at rest through the clamp's diode": Quantity(max(crest - motor.brush_drop, 0.0) / ohms, "A"),
                 "heat in the clamp's resistor": Quantity(heat, "W"), **_limit(resistor, "power")},
        ends_by="the clamp's diode burning open, or the d.c. fuse; the current limit has no say",
        first="the clamp's diode", notice="it starts by itself at full speed, a smell")
