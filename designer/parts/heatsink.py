"""Heatsink: the whole stack from junction to outside air, for one or several devices on one sink.

Safe side: the sink of the next lower thermal resistance (the larger one).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from designer.equations import thermal as eq
from designer.errors import InputError
from designer.parts import extrusion
from designer.parts.heat_path import SizeClass, surface_limit
from designer.parts.heatsink_words import BARE_CASE, WRONG, dimensions, notes
from designer.parts.margins import holds, junction_share, share
from designer.parts.transient_junction import Train, chain, rises
from designer.parts.transient_junction import source as chain_source
from designer.quantities import engineering
from designer.results import Array, Part, Quantity, Rating, Step, ThermalNode
from designer.tables import marked, read

#: K between °C and kelvin
ZERO = 273.15

#: J/(m³·K), heat capacity of aluminium by volume (material tables, from memory); share of a sink that is metal
_ALUMINIUM, _FILLED = 2.4e6, 1.0 / 6.0
_CHAIN = "chain of your file"


@dataclass(frozen=True, kw_only=True)
class Device:
    """One device on the sink: heat (W), limits (°C), resistances (K/W).

    ``case_limit`` is the case temperature up to which its current rating does; None where unknown.
    ``count`` equal devices. ``stall_loss`` (W) for ``stall_time`` (s) comes on top of a warm sink. ``pulses``: how
    often it conducts in a period of the mains, for ``pulse_share`` of the time between; 0 where it switches fast.
    ``foster``: its own chain (K/W, s), generic where empty.
    """

    name: str
    loss: float
    junction_limit: float
    junction_to_case: float
    case_to_sink: float
    case_limit: float | None = None
    count: int = 1
    stall_loss: float = 0.0
    stall_time: float = 0.0
    pulses: int = 0
    pulse_share: float = 1.0
    foster: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What hangs on the sink and in which air.

    ``ambient`` (°C) is outside the box; ``box_rise`` (K) the air's rise inside (``box_rise()``).
    ``touchable``: the sink can be reached by a hand. ``given`` is the user's own sink, K/W, ``size`` the same by its
    dimensions. ``frequency``: of the mains (Hz), 0 on a d.c. supply. ``altitude`` in m.
    """

    devices: tuple[Device, ...]
    ambient: float
    box_rise: float
    touchable: bool = False
    given: float | None = None
    at: str = ""
    frequency: float = 0.0
    size: extrusion.Size | None = None
    altitude: float = 0.0

    def train(self, device: Device, power: float) -> Train:
        """Give ``power`` (W) of a device as it comes: half sines at the pace of the mains, or constant."""
        period = 1.0 / (device.pulses * self.frequency) if device.pulses * self.frequency > 0 else 0.0
        return Train(mean=power, period=period, width=device.pulse_share * period)

    @property
    def loss(self) -> float:
        """Heat of all devices, W."""
        return sum(d.loss * d.count for d in self.devices)

    @property
    def air(self) -> float:
        """Temperature of the air round the sink, °C."""
        return self.ambient + self.box_rise

    def aloft(self, resistance: float) -> float:
        """Give what a sink of so many K/W at sea level has at this height; one by its dimensions is told there."""
        own = self.size is not None and self.given is None
        return resistance if own else extrusion.thin_air(resistance, self.altitude).value

    @property
    def place(self) -> extrusion.Place:
        """Where the sink stands: the air round it, and how high."""
        return extrusion.Place(air=self.air, altitude=self.altitude)


def needed(demand: Demand, *, margins: Mapping[str, float]) -> Step:
    """Give the step that asks for the lowest sink resistance: junction, case or surface, whichever binds.

    Raises ``InputError`` for ``ambient.temperature`` where even an infinite sink would not do.
    """
    steps: list[Step] = []
    total = demand.loss
    for device in demand.devices:
        stack = {"T_a": demand.air + ZERO, "P": device.loss, "R_cs": device.case_to_sink, "P_sum": total}
        allowed = junction_share(device.junction_limit, margins)[0] * device.junction_limit
        steps.append(Step(formula=eq.NEEDED_SINK, inputs={
            **stack, "T_j": allowed + ZERO, "R_jc": device.junction_to_case},
            note=f"{device.name}: junction at {allowed:.0f} °C"))
        if device.case_limit is not None:
            steps.append(Step(
                formula=eq.NEEDED_SINK_FOR_CASE, inputs={**stack, "T_c": device.case_limit + ZERO},
                note=f"{device.name}: case at {device.case_limit:.0f} °C, where its rating still does"))
    surface = surface_limit(demand.touchable)
    allowed = surface.temperature * share("sink_temperature", margins)[0]
    steps.append(Step(
        formula=eq.NEEDED_SINK_FOR_SURFACE,
        inputs={"T_s": allowed + ZERO, "T_a": demand.air + ZERO, "P_sum": total},
        note=f"sink at {allowed:.0f} °C: {surface.meaning}"))
    least = min(steps, key=lambda step: step.value)
    if least.value <= 0:
        raise InputError(
            "ambient.temperature", f"{demand.air:.0f} °C round the sink with {total:.3g} W ({least.note})",
            "air cool enough for a sink above 0 K/W",
            "Lower the ambient, ventilate the box, or take a device with less loss or junction-to-case "
            "resistance.")
    return least


def choose(
    demand: Demand, *, margins: Mapping[str, float],
) -> tuple[Part, tuple[tuple[ThermalNode, ...], ...]]:
    """Give the heatsink and, one a device, the temperatures from junction down to outside air.

    The smallest size that holds every rating, a stall's included; where none bears the stall, the one
    for continuous running, whose check then fails. A user's own sink is taken as it is.

    Raises ``InputError`` for ``parts.heatsink.thermal_resistance``
    where no size class is large enough.
    """
    step = needed(demand, margins=margins)
    resistance, construction, source = _size(demand, needed=step.value, margins=margins)
    part = Part(
        role="heatsink", designator="HS1",
        description=f"{construction}, fins upright: at most {engineering(resistance, 'K/W')} at sea level",
        value=Quantity(resistance, "K/W"), marking=f"{resistance:.3g} K/W",
        ratings=_remedied(demand, resistance=resistance, margins=margins),
        worked=(step, Step(formula=eq.SINK_TEMPERATURE, inputs={
            "T_a": demand.air + ZERO, "P_sum": demand.loss, "R_sa": demand.aloft(resistance)},
            note="sink with the size chosen"), *dimensions(demand, resistance)),
        if_wrong=WRONG, notes=notes(demand, resistance=resistance, needed=step.value), sources=(source,))
    return part, tuple(stack(demand, device=device, resistance=resistance) for device in demand.devices)


def _remedied(demand: Demand, *, resistance: float, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    """The ratings; those that do not hold name the largest size class with which all would."""
    made = _ratings(demand, resistance=resistance, margins=margins)
    if all(map(holds, made)):
        return made
    rows = sorted((row.resistance for row in read("heatsinks", SizeClass) if row.resistance < resistance), reverse=True)
    fits = next((r for r in rows if all(map(holds, _ratings(demand, resistance=r, margins=margins)))), None)
    way = ("No heatsink listed is large enough: a fan, a device with less loss, or a shorter stall." if fits is None
           else f"Take one of at most {engineering(fits, 'K/W')} at sea level.")
    return tuple(rating if holds(rating) else replace(rating, remedy=way) for rating in made)


def _size(demand: Demand, *, needed: float, margins: Mapping[str, float]) -> tuple[float, str, str]:
    if demand.given is not None:
        return demand.given, "your heatsink", "your file"
    if demand.size is not None:
        found = extrusion.at_loss(demand.size, loss=demand.loss, place=demand.place).value
        return found, f"your heatsink, {demand.size.words}", "your file, its dimensions"
    alone = len(demand.devices) == 1 and demand.devices[0].count == 1
    rows = read("heatsinks", SizeClass)
    if alone:
        rows = (SizeClass(resistance=BARE_CASE, construction="no heatsink, the bare package in free air",
                          source="50 to 65 K/W", mark="memory"), *rows)
    fitting = sorted((row for row in rows if demand.aloft(row.resistance) <= needed * (1 + 1e-9)),
                     key=lambda row: row.resistance, reverse=True)
    if not fitting:
        least = demand.aloft(min(row.resistance for row in rows))
        raise InputError(
            "parts.heatsink.thermal_resistance", f"{needed:.3g} K/W needed for {demand.loss:.3g} W",
            f"{least:.3g} K/W or more", "Use a fan, two sinks, a device with less loss, or gear down.")
    best = next((row for row in fitting if all(
        holds(r) for r in _ratings(demand, resistance=row.resistance, margins=margins))), fitting[0])
    return best.resistance, best.construction, marked(best.source, best.mark)


def stack(demand: Demand, *, device: Device, resistance: float) -> tuple[ThermalNode, ...]:
    """Give temperatures from the junction of ``device`` down to the outside air, junction first.

    ``resistance`` here and below: K/W of the sink at sea level, the thin air of a high place comes on top.

    Each node carries the resistance below it and the heat through that; a box without rise is left out.
    """
    aloft = demand.aloft(resistance)
    sink = float(eq.SINK_TEMPERATURE(T_a=demand.air + ZERO, P_sum=demand.loss, R_sa=aloft)) - ZERO
    case = float(eq.CASE_TEMPERATURE(T_s=sink + ZERO, P=device.loss, R_cs=device.case_to_sink)) - ZERO
    junction = float(eq.JUNCTION_TEMPERATURE(
        T_s=sink + ZERO, P=device.loss, R_jc=device.junction_to_case, R_cs=device.case_to_sink)) - ZERO
    total = demand.loss
    box = (ThermalNode(
        name="air in the box", temperature=demand.air, resistance=demand.box_rise / total, loss=total,
    ),) if demand.box_rise > 0 and total > 0 else ()
    return (
        ThermalNode(
            name=f"junction, {device.name}", temperature=junction, resistance=device.junction_to_case,
            loss=device.loss),
        ThermalNode(
            name=f"case, {device.name}", temperature=case, resistance=device.case_to_sink, loss=device.loss),
        ThermalNode(name="heatsink", temperature=sink, resistance=aloft, loss=total),
        *box,
        ThermalNode(name="air outside", temperature=demand.ambient),
    )


def stall_junction(demand: Demand, *, device: Device, resistance: float) -> float:
    """Give the highest junction temperature, °C, of a stall that begins on the warm sink.

    The junction by its transient resistance and the pulses of its loss, the case at once, the sink by its heat
    capacity. Of that the least is taken: finned aluminium filling a sixth of the volume (common practice, no source).
    """
    return float(junctions(demand, device=device, resistance=resistance, times=np.array([device.stall_time]))[0])


def junctions(demand: Demand, *, device: Device, resistance: float, times: Array) -> Array:
    """Give the highest junction temperature, °C, about each of ``times`` (s) after a stall begins on the warm sink."""
    aloft = demand.aloft(resistance)
    sink = float(eq.SINK_TEMPERATURE(T_a=demand.air + ZERO, P_sum=demand.loss, R_sa=aloft))
    total = demand.loss - device.loss * device.count + device.stall_loss * device.count
    warm = np.array([float(eq.SINK_WARMING(
        T_a=demand.air + ZERO, P_sum=total, R_sa=aloft, T_s0=sink, t_stall=float(time),
        C_sink=heat_capacity(resistance, size=demand.size))) for time in times])
    chip = rises(chain(device.junction_to_case, given=device.foster), before=demand.train(device, device.loss),
                 during=demand.train(device, device.stall_loss), times=times)
    found: Array = warm - ZERO + device.stall_loss * device.case_to_sink + chip
    return found


def heat_capacity(resistance: float, *, size: extrusion.Size | None = None) -> float:
    """Give the least heat capacity, J/K, of a finned sink of that thermal resistance (K/W), or of that ``size``."""
    if size is not None:
        return extrusion.heat_capacity(size)
    return _ALUMINIUM * _FILLED * float(eq.SINK_VOLUME(R_sa=resistance))


def _ratings(demand: Demand, *, resistance: float, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    made: list[Rating] = []
    sink = demand.air
    for device in demand.devices:
        junction, case, sink_node, *_ = stack(demand, device=device, resistance=resistance)
        sink = sink_node.temperature
        allowed, source = junction_share(device.junction_limit, margins)
        made.append(Rating(
            name="junction temperature", limit=Quantity(device.junction_limit, "degC"), share=allowed,
            stress=Quantity(junction.temperature, "degC"), source=source, at=f"{device.name}, {demand.at}"))
        if device.case_limit is not None:
            made.append(Rating(
                name="case temperature", limit=Quantity(device.case_limit, "degC"),
                stress=Quantity(case.temperature, "degC"), at=f"{device.name}, {demand.at}",
                source="up to this case temperature the derated current, with its margin, does"))
        if device.stall_time > 0:
            made.append(Rating(
                name="junction temperature at stall", limit=Quantity(device.junction_limit, "degC"),
                stress=Quantity(stall_junction(demand, device=device, resistance=resistance), "degC"),
                source=f"a stall is rare: the limit itself; {_CHAIN if device.foster else chain_source()}",
                at=f"{device.name}, stall of {device.stall_time:g} s"))
    surface = surface_limit(demand.touchable)
    allowed, source = share("sink_temperature", margins)
    made.append(Rating(
        name="sink temperature", limit=Quantity(surface.temperature, "degC"), share=allowed,
        stress=Quantity(sink, "degC"), source=f"{marked(surface.source, surface.mark)}; {source}",
        at=demand.at))
    return tuple(made)
