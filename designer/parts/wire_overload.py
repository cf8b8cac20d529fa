"""What a wire bears for a time: the current of a stall that no fuse sees, against the insulation's temperature.

Safe side: the wire is as warm as running makes it when the stall begins, and must not pass its insulation's class.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations import conductor as eq
from designer.parts.margins import share
from designer.quantities import engineering
from designer.results import Quantity, Rating, Step

NAME = "stall current of the wire"


@dataclass(frozen=True, kw_only=True)
class Overload:
    """A current (A r.m.s.) for a time (s; infinite where nothing ends it)."""

    current: float
    time: float
    at: str


@dataclass(frozen=True, kw_only=True)
class Wire:
    """A wire: cross-section (m²), current as stated at 30 °C (A), factor for its air, running current (A)."""

    area: float
    stated: float
    factor: float
    running: float


def bears(wire: Wire, *, time: float) -> float:
    """Give the current (A r.m.s.) that ``wire`` bears for ``time`` (s), from running."""
    return _steps(wire, time=time)[-1].value if math.isfinite(time) else wire.factor * wire.stated


def _steps(wire: Wire, *, time: float) -> tuple[Step, ...]:
    tau = Step(formula=eq.WIRE_TIME, inputs={"S_wire": wire.area, "I_stated": wire.stated},
               note="how fast the wire warms")
    return tau, Step(formula=eq.WIRE_OVERLOAD, inputs={
        "I_stated": wire.stated, "f_wire": wire.factor, "u_run": min(wire.running / wire.stated, wire.factor),
        "t_over": time, "tau_wire": tau.value}, note="what it bears for as long as the stall lasts")


def worst(wire: Wire, overloads: tuple[Overload, ...]) -> Overload | None:
    """Give the overload that leaves the least; None where there is none."""
    return max(overloads, default=None, key=lambda one: one.current / bears(wire, time=one.time))


def steps(wire: Wire, overloads: tuple[Overload, ...]) -> tuple[Step, ...]:
    """Give the worked lines of the worst overload; nothing where none ends."""
    one = worst(wire, overloads)
    return () if one is None or math.isinf(one.time) else _steps(wire, time=one.time)


def ratings(wire: Wire, overloads: tuple[Overload, ...], *, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    """Give the check of the worst overload; nothing where there is none."""
    one = worst(wire, overloads)
    if one is None:
        return ()
    long = "for good" if math.isinf(one.time) else f"for {engineering(one.time, 's', 3)}"
    return (Rating(
        name=NAME, limit=Quantity(bears(wire, time=one.time), "A"), stress=Quantity(one.current, "A"),
        share=share("conductor_current", margins)[0], source=eq.WIRE_OVERLOAD.source, at=f"{one.at}, {long}",
        remedy="Thicker wire, a cooler box, or what ends a stall sooner."),)
