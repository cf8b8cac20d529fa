"""Values of a breakover-device (diac) firing network: end stop, capacitors, potentiometer, setting.

Rounding: the end stop down (the earliest angle is still reached at low mains), the potentiometer up (the
latest angle is still reached at high mains).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from designer.errors import InputError
from designer.parts.preferred import at_least, at_most, nearest
from designer.quantities import engineering
from designer.results import Array
from designer.waveforms.firing_network import Firing, Network, Supply, fire
from designer.waveforms.firing_range import PERIODS, Reach, reach, resistance_for

#: capacitors tried at the breakover device, F; the largest gives the strongest gate pulse (from memory)
CAPACITORS = (100e-9, 68e-9, 47e-9, 33e-9, 22e-9)
#: R2·C2 of the double R-C, s; C1 equals C2 (common practice, no source)
SECOND_TIME = 1.5e-3
#: smallest end stop, ohm: keeps the wiper's current small at the end of the track (common practice)
LEAST_END_STOP = 1e3
CAPACITOR_TOLERANCE, RESISTOR_TOLERANCE, TRACK_TOLERANCE = 0.10, 0.05, 0.20


@dataclass(frozen=True, kw_only=True)
class Device:
    """A breakover device: V, V, V, V, V, A peak, A. ``symmetry``: how far its two sides may differ."""

    lowest: float
    typical: float
    highest: float
    symmetry: float
    fold_back: float
    pulse_current: float
    sustain_current: float
    source: str


#: generic class of 32 V
GENERIC = Device(
    lowest=28.0, typical=32.0, highest=36.0, symmetry=3.0, fold_back=5.0, pulse_current=2.0,
    sustain_current=1e-3,
    source="generic class: 28/32/36 V read in public tables; symmetry, fold-back, pulse and sustaining "
           "current from memory",
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the network must reach and bear; angles in rad, SI.

    ``earliest_angle`` must be reached at low mains, ``latest_angle`` at high mains, ``target_angle``
    at nominal. ``firing_angles`` and ``extinctions`` are the motor's own at the target load (rad, see
    ``waveforms.firing_network.Supply``). ``gate_current`` (A) fires the coldest switch,
    ``latching_time`` (s) is how long the motor needs to reach the latching current from the latest angle;
    ``direct_resistance`` (Ω) is that of line and motor for direct current.
    """

    supply_rms_low: float
    supply_rms_nominal: float
    supply_rms_high: float
    frequency: float
    on_drop: float
    firing_angles: Array
    extinctions: Array
    earliest_angle: float
    target_angle: float
    latest_angle: float
    wiring: Literal["two-wire", "three-wire"]
    order: Literal["single", "double"]
    device: Device
    gate_current: float
    latching_time: float
    direct_resistance: float
    margins: Mapping[str, float] = field(default_factory=dict)

    def supply(self, rms: float | Array) -> Supply:
        """Give the supply at ``rms`` volts."""
        return Supply(
            rms=rms, frequency=self.frequency, on_drop=self.on_drop, firing_angles=self.firing_angles,
            extinctions=self.extinctions,
        )


@dataclass(frozen=True, kw_only=True)
class Values:
    """The chosen values (Ω, F) and what they do.

    ``setting``: part of the track (Ω) in circuit at the target. ``sweep``: the firing over the whole
    ``track`` at high mains.
    """

    end_stop: float
    potentiometer: float
    capacitance: float
    second_resistance: float | None
    setting: float
    sweep: Firing
    track: Array


@dataclass(frozen=True, kw_only=True)
class Behaviour:
    """What the network does at the target's setting.

    ``corners``: the angles at nominal, slowest and fastest corner. ``unequal``: with the device's two
    sides apart. ``reach``: latest angle held and snap-on at nominal.
    """

    corners: Firing
    unequal: Firing
    reach: Reach


def network(demand: Demand, *, capacitance: float, end_stop: float = 0.0) -> Network:
    """Give the network of nominal parts; ``capacitance`` (F) is that at the breakover device."""
    double = demand.order == "double"
    return Network(
        wiring=demand.wiring, end_stop=end_stop, capacitance=capacitance,
        first_capacitance=capacitance if double else None,
        second_resistance=second_resistance(capacitance) if double else 0.0,
        breakover_positive=demand.device.typical, breakover_negative=demand.device.typical,
        fold_back=demand.device.fold_back, sustain_current=demand.device.sustain_current,
    )


def second_resistance(capacitance: float) -> float:
    """Give the preferred resistance, Ω, between the capacitors of a double R-C (nearest: no safe side)."""
    return nearest(SECOND_TIME / capacitance)


def corner(nominal: Network, device: Device, *, slow: bool) -> Network:
    """Give the network at its slowest or fastest: breakover voltage and capacitors at their limits."""
    factor = 1 + CAPACITOR_TOLERANCE * (1 if slow else -1)
    volts = device.highest if slow else device.lowest
    first = nominal.first_capacitance
    return replace(
        nominal, capacitance=np.asarray(nominal.capacitance) * factor, breakover_positive=volts,
        breakover_negative=volts, first_capacitance=None if first is None else np.asarray(first) * factor,
    )


def candidates(demand: Demand) -> Iterator[Values]:
    """Give the networks that reach the demand, the largest capacitor first.

    Raises ``InputError`` for ``circuit.firing_angle`` where an angle is later than the network holds,
    with the latest that it does; gives nothing where the end stop would be too small.
    """
    for capacitance in CAPACITORS:
        values = _with(demand, capacitance)
        if values is not None:
            yield values


def more_gate(mean: float, time: float) -> str:
    """Say what to do where the charge of the network, ``mean`` A for ``time`` s, is spent before the motor latches."""
    return (
        f"The network gives {engineering(mean, 'A', 2)} for the {engineering(time, 's', 2)} that the motor takes to "
        "latch. Take a sensitive-gate triac that needs less than that in the cold; or a snubber whose discharge "
        "carries it over the latching current at once, tried at the latest angle in the cold; or gate pulses from a "
        "timer.")


def _with(demand: Demand, capacitance: float) -> Values | None:
    nominal = network(demand, capacitance=capacitance)
    slow, fast = (corner(nominal, demand.device, slow=slow) for slow in (True, False))
    early = _resistance(demand, slow, demand.supply_rms_low, demand.earliest_angle)
    late = _resistance(demand, fast, demand.supply_rms_high, demand.latest_angle)
    target = _resistance(demand, nominal, demand.supply_rms_nominal, demand.target_angle)
    end_stop = at_most(early / (1 + RESISTOR_TOLERANCE))
    if end_stop < LEAST_END_STOP:
        return None
    most = late - end_stop * (1 - RESISTOR_TOLERANCE)
    potentiometer = at_least(max(most, target - end_stop) / (1 - TRACK_TOLERANCE), series="E3")
    setting = target - end_stop
    built = replace(nominal, end_stop=end_stop)
    track = np.linspace(0.0, potentiometer * (1 + TRACK_TOLERANCE), 33)
    return Values(
        end_stop=end_stop, potentiometer=potentiometer, capacitance=capacitance,
        second_resistance=second_resistance(capacitance) if demand.order == "double" else None,
        setting=setting, track=track,
        sweep=fire(built, supply=demand.supply(demand.supply_rms_high), potentiometer=track, most=PERIODS),
    )


def behaviour(demand: Demand, values: Values) -> Behaviour:
    """Give what the chosen network does at the target's setting."""
    built = network(demand, capacitance=values.capacitance, end_stop=values.end_stop)
    return Behaviour(
        corners=_corners(demand, built, values.setting), unequal=_unequal(demand, built, values.setting),
        reach=reach(built, supply=demand.supply(demand.supply_rms_nominal)),
    )


def _resistance(demand: Demand, part: Network, rms: float, angle: float) -> float:
    found = resistance_for(part, supply=demand.supply(rms), angle=angle)
    if math.isnan(found):
        held = reach(part, supply=demand.supply(rms)).held_angle
        raise InputError(
            "circuit.firing_angle", f"{math.degrees(angle):.4g}°",
            f"up to {math.degrees(held):.4g}° at {rms:.4g} V",
            "A later angle is not held by this network: it goes out. Take the double R-C, or gate pulses "
            "from a timer.",
        )
    return found


def _corners(demand: Demand, built: Network, setting: float) -> Firing:
    """Firing at the setting: nominal, slowest (low mains, high breakover), fastest."""
    device = demand.device
    sign = np.array([0.0, 1.0, -1.0])
    volts = np.array([device.typical, device.highest, device.lowest])
    rms = np.array([demand.supply_rms_nominal, demand.supply_rms_low, demand.supply_rms_high])
    first = built.first_capacitance
    factor = 1 + CAPACITOR_TOLERANCE * sign
    part = replace(
        built, breakover_positive=volts, breakover_negative=volts,
        capacitance=np.asarray(built.capacitance) * factor,
        first_capacitance=None if first is None else np.asarray(first) * factor,
    )
    return fire(part, supply=demand.supply(rms), potentiometer=setting, most=PERIODS)


def _unequal(demand: Demand, built: Network, setting: float) -> Firing:
    apart = demand.device.symmetry / 2
    part = replace(
        built, breakover_positive=demand.device.typical + apart,
        breakover_negative=demand.device.typical - apart,
    )
    return fire(part, supply=demand.supply(demand.supply_rms_nominal), potentiometer=setting, most=PERIODS)
