"""Junction temperatures through a stall, and at the end of a start: each device's chain on the warm heatsink."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from designer.checks import check
from designer.equations.fuse import I2T_RECTANGLE
from designer.parts import heatsink
from designer.quantities import engineering
from designer.results import Array, Check, Part, Quantity, Rating
from designer.studies.sides import Power

_FIRST = 1e-3          # s, where the curves of what switches fast begin
_POINTS = 13


@dataclass(frozen=True, kw_only=True)
class JunctionCurve:
    """A device's highest junction temperature (°C) about each of ``time`` (s) after a stall begins; its limit (°C)."""

    name: str
    time: Array
    temperature: Array
    limit: float


def curves(power: Power | None, parts: tuple[Part, ...]) -> tuple[JunctionCurve, ...]:
    """Give the curve of every device on the heatsink that sees a stall."""
    return tuple(JunctionCurve(
        name=device.name, time=times, limit=device.junction_limit,
        temperature=heatsink.junctions(demand, device=device, resistance=resistance, times=times))
        for demand, device, resistance in _stalled(power, parts)
        for times in [np.geomspace(min(_first(demand, device), device.stall_time), device.stall_time, _POINTS)])


def start_checks(power: Power | None, parts: tuple[Part, ...]) -> tuple[Check, ...]:
    """Give the check of each junction at the end of a start, with the current that flows at rest all the time.

    How long a start lasts is what the fuse was chosen for; nothing where it tells of none, or of one longer than the
    stall that is checked already.
    """
    lasts = max((float(step.inputs["t"]) for part in parts if part.role == "fuse" for step in part.worked
                 if step.formula is I2T_RECTANGLE and step.note.startswith("a start")), default=0.0)
    made = []
    for demand, device, resistance in _stalled(power, parts) if lasts > 0 else ():
        hot = heatsink.junctions(demand, device=device, resistance=resistance, times=np.array([lasts]))
        made.append(Rating(
            name="junction temperature at start", limit=Quantity(device.junction_limit, "degC"),
            stress=Quantity(float(hot[0]), "degC"), source="a start is short: the limit itself",
            at=f"{device.name}, {engineering(lasts, 's', 2)} at the current of rest",
            remedy="A larger heatsink, or a softer start."))
    sink = next((part for part in parts if part.role == "heatsink"), None)
    return () if sink is None or not made else check(replace(sink, ratings=tuple(made)))




def _first(demand: heatsink.Demand, device: heatsink.Device) -> float:
    """The first pulse, or the shortest time shown."""
    return demand.train(device, device.stall_loss).period or _FIRST


def _stalled(
    power: Power | None, parts: tuple[Part, ...]
) -> Iterator[tuple[heatsink.Demand, heatsink.Device, float]]:
    """Every device that sees a stall, with what hangs on the sink and the sink's resistance (K/W)."""
    sink = next((part.value for part in parts if part.role == "heatsink" and part.value), None)
    if power is None or power.sink is None or sink is None:
        return
    for device in power.sink.devices:
        if device.stall_time > 0 and device.stall_loss > 0:
            yield power.sink, device, sink.value
