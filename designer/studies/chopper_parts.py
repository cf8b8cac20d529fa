"""The parts of a chopper from what was seen of it: transistor, freewheel diode, limit, clamp, gate drive.

They hang on each other: the diode's recovery heats the transistor, its edges set what recovers, both set how
soon the limit acts, and the limit what diode, transistor and clamp must bear. So they are chosen in turn until
nothing changes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from designer.errors import InputError
from designer.parts import current_limit, flyback_diode, gate_drive, limit_values, stray_clamp, transistor
from designer.parts.commutation import State, edges, fall_time, recovery_peak, rise_of_current
from designer.parts.diode_classes import GIVEN as DIODE_KEYS
from designer.parts.diode_classes import Device as Diode
from designer.parts.gate_values import GENERIC, WANTED_EDGE, gate, values
from designer.parts.limit_values import Limit
from designer.parts.margins import holds, share
from designer.parts.stray_clamp import Clamp
from designer.parts.transistor_classes import GIVEN as SWITCH_KEYS
from designer.parts.transistor_classes import KINDS, Device, classes
from designer.project.model import Project
from designer.results import OperatingPoint, Part
from designer.studies.bus_parts import TOUCHABLE
from designer.studies.groups import given_of
from designer.waveforms.chopper import Loop
from designer.waveforms.cycle_limit import longest_on_time

MOST_TURNS = 6
#: s, falls of voltage that are aimed at, quickest first; beyond the first only where a spike asks for it
EDGES = (WANTED_EDGE, 2 * WANTED_EDGE, 4 * WANTED_EDGE)
#: of the bus: voltage expected at the transistor where slower edges do not do, so that the next class is tried
HIGHER = 1.6
#: the first guess of the limit over the running peak, before its tolerances are known
GUESSED = 1.8
#: s, rise of a bus that is switched onto a stiff d.c. supply (common practice, no source)
DIRECT_RISE = 100e-6


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What was seen of a chopper; SI. From a survey, or from a rough look before it.

    ``crest``: highest bus. ``state``: worst continuous state of the switch, ``stall`` that under the limit, for
    ``stall_time`` (s). ``peak``: greatest current in running. ``diode``, ``stalled_diode``: mean and r.m.s. current
    (A) of the freewheel diode. ``on_time``: the least in running (s). ``inductance`` (H) and ``resistance`` (ohm,
    cold) of what is chopped, ``opposing`` (V) the brushes. ``at``: worst corners by rating.
    """

    crest: float
    state: State
    peak: float
    diode: tuple[float, float]
    on_time: float
    frequency: float
    inductance: float
    resistance: float
    opposing: float
    stall: State | None = None
    stall_time: float = 0.0
    stalled_diode: tuple[float, float] = (0.0, 0.0)
    at: Mapping[str, str] | None = None


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """What was chosen, with the demands it was held to."""

    device: Device
    diode: Diode
    limit: Limit
    clamp: Clamp
    demand: transistor.Demand
    diode_demand: flyback_diode.Demand
    limit_demand: limit_values.Demand
    gate_demand: gate_drive.Demand
    margins: Mapping[str, float]

    @property
    def shortest(self) -> float:
        """The shortest on-time that the gate drive passes whole, s."""
        return gate_drive.shortest_on_time(self.device, demand=self.gate_demand).value

    @property
    def switching_energy(self) -> float:
        """Energy lost in the transistor by one cycle of the worst continuous state, J."""
        found = transistor.losses_of(self.device, demand=self.demand, state=self.demand.running)
        return found.switching / self.demand.frequency

    def switched(self, point: OperatingPoint) -> float:
        """Switching loss (W) of transistor and diode together at an operating point."""
        state = State(
            bus=point["bus_voltage_mean"], mean_current=point["switch_current_mean"],
            rms_current=point["switch_current_rms"], turn_on_current=point["armature_current_min"],
            turn_off_current=point["armature_current_peak"])
        own = replace(self.diode_demand, bus_crest=state.bus, recovered_current=state.turn_on_current,
                      mean_current=0.0, rms_current=0.0)
        return (transistor.losses_of(self.device, demand=self.demand, state=state).switching
                + flyback_diode.loss(self.diode, demand=own))

    def parts(self) -> tuple[Part, ...]:
        """All parts, each with its ratings."""
        return (
            transistor.part(self.device, demand=self.demand, margins=self.margins),
            flyback_diode.part(self.diode, demand=self.diode_demand, margins=self.margins),
            *self.clamp.parts, *gate_drive.choose(self.device, demand=self.gate_demand),
            *current_limit.choose(self.limit_demand, limit=self.limit))


def choose(seen: Seen, project: Project) -> Chosen:
    """Choose all that hangs together; the user's own devices are taken as they are.

    Raises ``InputError`` where a part cannot be had, with the figure; for ``target.speed`` where no current was seen
    in any running state.
    """
    if not (seen.peak > 0 and 0 < seen.on_time < math.inf):
        raise InputError(
            "target.speed", f"a greatest current of {seen.peak:.3g} A and a least on-time of {seen.on_time:.3g} s",
            "a point at which the chopper drives its load", "The bus collapses or the load needs no current.")
    own = given_of(project.parts.freewheel, DIODE_KEYS)
    margins, high = project.margins.values, GUESSED * seen.peak
    device = _likely(seen, project, high)
    last: tuple[str, str] | None = None
    for _ in range(MOST_TURNS):
        diode_demand = _diode_demand(seen, device, high)
        _, diode = flyback_diode.choose(diode_demand, given=own, margins=margins)
        chosen = _switch(seen, project, diode, diode_demand)
        names = chosen.device.name, diode.name
        if names == last:
            return chosen
        last, device, high = names, chosen.device, chosen.limit.high
    return chosen


def _likely(seen: Seen, project: Project, high: float) -> Device:
    """The transistor of least loss behind a diode without recovery: where the search begins."""
    demand = transistor.Demand(bus_crest=seen.crest, running=seen.state, frequency=seen.frequency, peak_current=high)
    return transistor.candidates(
        demand, given=given_of(project.parts.switch, SWITCH_KEYS), margins=project.margins.values)[0]


def _diode_demand(seen: Seen, device: Device, high: float) -> flyback_diode.Demand:
    slope = rise_of_current(device, gate=gate(device), current=seen.state.turn_on_current)
    return flyback_diode.Demand(
        bus_crest=seen.crest, mean_current=seen.diode[0], rms_current=seen.diode[1],
        recovered_current=seen.state.turn_on_current, didt=max(slope, 1.0), frequency=seen.frequency,
        peak_current=high, peak_reverse=(1.0 + transistor.LAYOUT_OVERSHOOT) * seen.crest,
        stall_mean_current=seen.stalled_diode[0],
        stall_rms_current=seen.stalled_diode[1], stall_time=seen.stall_time, on_time=seen.on_time, at=seen.at or {})


def _switch(seen: Seen, project: Project, diode: Diode, diode_demand: flyback_diode.Demand) -> Chosen:
    """The transistor of least loss that holds with its own limit and clamp; raises where none does.

    Where stray inductance leaves no room for a clamp, slower edges and the next voltage class are tried too.
    """
    given, margins = given_of(project.parts.switch, SWITCH_KEYS), project.margins.values
    bare = transistor.Demand(
        bus_crest=seen.crest, running=seen.state, stall=seen.stall, stall_time=seen.stall_time,
        frequency=seen.frequency, peak_current=seen.peak, recovery=diode.recovery, at=seen.at or {})
    holding: list[Chosen] = []
    short: list[Chosen] = []
    lacking: list[InputError] = []
    for asked, device in _tries(seen, bare, given, margins):
        try:
            chosen = _with(seen, project, device, diode, (asked, diode_demand))
        except InputError as error:
            if error.key != "parts.switch.voltage":
                raise
            lacking.append(error)
            continue
        made = (transistor.part(device, demand=chosen.demand, margins=margins), *chosen.clamp.parts)
        (holding if all(holds(rating) for part in made for rating in part.ratings) else short).append(chosen)
    if holding:
        return min(holding, key=lambda chosen: transistor.loss(chosen.device, demand=chosen.demand))
    if not short:
        raise lacking[0]
    if not given:
        transistor.choose(short[0].demand, given=given, margins=margins)   # raises, with what falls short
    return short[0]


def _tries(
    seen: Seen, bare: transistor.Demand, given: Mapping[str, float], margins: Mapping[str, float],
) -> Iterator[tuple[transistor.Demand, Device]]:
    """Every transistor with each edge, then those of the next voltage class where there is one."""
    for edge in EDGES:
        asked = replace(bare, edge=edge)
        for device in transistor.candidates(asked, given=given, margins=margins):
            yield asked, device
    top = max(device["voltage"] for kind in KINDS for device in classes(kind))
    asked = replace(bare, peak_voltage=HIGHER * seen.crest)
    if not given and asked.peak_voltage <= share("switch_voltage", margins)[0] * top:
        for device in transistor.candidates(asked, given=given, margins=margins):
            yield asked, device


def _with(
    seen: Seen, project: Project, device: Device, diode: Diode,
    demands: tuple[transistor.Demand, flyback_diode.Demand],
) -> Chosen:
    """``device`` with the limit and the clamp that go with it."""
    asked, diode_demand = demands
    margins = project.margins.values
    limit_demand = _limit_demand(seen, project, device, diode, asked.edge)
    limit = current_limit.values(limit_demand)
    clamp = _clamp(device, stray_clamp.Demand(
        bus_crest=seen.crest, current=limit.high, running_current=seen.state.turn_off_current,
        frequency=seen.frequency, fall_time=fall_time(device, gate=gate(device, edge=asked.edge)),
        voltage_rating=device["voltage"], output_capacitance=device["output_capacitance"], margins=margins))
    return Chosen(
        device=device, diode=diode, limit=limit, clamp=clamp, margins=margins,
        demand=replace(asked, peak_current=limit.high, peak_voltage=clamp.peak_voltage),
        diode_demand=replace(diode_demand, peak_current=limit.high),
        limit_demand=_held(seen, limit_demand, limit, device, diode),
        gate_demand=_gate_demand(seen, project, asked.edge))


def _clamp(device: Device, demand: stray_clamp.Demand) -> Clamp:
    """The clamp; the user's own transistor goes without where its rating leaves no room, and its check fails."""
    try:
        return stray_clamp.choose(demand)
    except InputError:
        if device.given:
            return stray_clamp.without(demand)
        raise


def _limit_demand(
    seen: Seen, project: Project, device: Device, diode: Diode, edge: float,
) -> limit_values.Demand:
    found = values(device, edge=edge)
    on, off = (step.value for step in edges(device, gate=found.total))
    discharge = found.total.off * device["input_capacitance"] * math.log(
        device["drive_voltage"] / device["gate_threshold"])
    spike = recovery_peak(device, gate=found.total, recovery=diode.recovery, current=seen.state.turn_on_current)
    slope = rise_of_current(device, gate=found.total, current=seen.state.turn_on_current)
    return limit_values.Demand(
        running_peak=seen.peak, bus_crest=seen.crest, inductance=seen.inductance, turn_on_time=on,
        turn_off_time=off + discharge, rms_current=seen.state.rms_current, spike=spike,
        spike_time=spike / slope if slope > 0 else 0.0, given=project.control.current_limit,
        stall_rms_current=seen.stall.rms_current if seen.stall else 0.0, frequency=seen.frequency,
        resistance=seen.resistance, opposing=seen.opposing, margins=project.margins.values, at=seen.at or {})


def _held(seen: Seen, demand: limit_values.Demand, limit: Limit, device: Device, diode: Diode) -> limit_values.Demand:
    """The limit's demand with what a stalled cycle under it gives: highest bus, cold, no speed voltage."""
    one = np.ones(1)
    loop = Loop(
        on_voltage=one * (seen.crest - device["threshold_voltage"] - seen.opposing),
        off_voltage=-one * (diode["threshold_voltage"] + seen.opposing),
        on_resistance=one * (seen.resistance + device["slope_resistance"] + limit.shunt),
        off_resistance=one * (seen.resistance + diode["slope_resistance"]), inductance=one * seen.inductance,
        period=one / seen.frequency, on_time=one / seen.frequency)
    longest = float(longest_on_time(loop, limit=one * limit.high)[0])
    if longest >= 1.0 / seen.frequency:     # the winding's own resistance stays below the limit
        return demand
    return replace(demand, stall_on_time=longest, stall_peak=limit.high if limit.shortest <= longest else math.nan)


def _gate_demand(seen: Seen, project: Project, edge: float) -> gate_drive.Demand:
    hertz = project.supply.frequency or 0.0
    return gate_drive.Demand(
        frequency=seen.frequency, bus_rise=0.25 / hertz if hertz else DIRECT_RISE, on_time=seen.on_time,
        live="mains" if project.supply.is_mains else "bus" if seen.crest > TOUCHABLE else "",
        driver=GENERIC, edge=edge, margins=project.margins.values)
