"""Thyristors of a rectifier on phase angle: the switch's ratings, and what only a thyristor has: its mean current.

``[parts.switch] current`` of a thyristor is the mean of half sines, as its makers state it; the generic classes are
told by their r.m.s. current. Safe side: the larger class.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from designer.equations.reservoir import DIODE_RMS_RATING
from designer.errors import InputError
from designer.parts import coordination, heatsink, triac
from designer.parts.margins import holds, share
from designer.parts.triac import Demand
from designer.parts.triac_classes import Device
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step

__all__ = ["Demand", "Device", "candidates", "choose", "on_sink", "part"]

_WRONG = (
    "Too small a class: it fails short. Then the line is short through the device beside it, or the motor runs at full "
    "speed. Too low a voltage: it turns on by itself on mains surges."
)
_FORM = math.pi / 2      # r.m.s. over mean of half sines, as DIODE_RMS_RATING has it


def _as_rms(given: Mapping[str, float]) -> dict[str, float]:
    """The user's numbers with the current as r.m.s."""
    own = dict(given)
    if "current" in own:
        own["current"] = float(DIODE_RMS_RATING(I_F=own["current"]))
    return own


def candidates(
    demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float]
) -> tuple[Device, ...]:
    """Give the thyristors worth solving with, smallest first: the user's alone, else the generic classes.

    ``given`` holds the numbers of ``[parts.switch]``. Raises ``InputError`` for ``supply.voltage`` where no class
    blocks it.
    """
    return triac.candidates(demand, given=_as_rms(given), margins=margins,
                            kind="sensitive thyristor" if demand.sensitive else "thyristor")


def choose(
    demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float], mean_current: float, count: int
) -> tuple[Part, Device]:
    """Give the smallest class that holds every rating with its margin; the user's own as it is.

    ``mean_current`` (A) of one thyristor over a full period, ``count`` of them. Raises ``InputError`` for
    ``parts.switch.current`` where no generic class holds.
    """
    for device in candidates(demand, given=given, margins=margins):
        made = part(device, demand=demand, margins=margins, mean_current=mean_current, count=count)
        if given or all(map(holds, made.ratings)):
            return made, device
    short = next(r for r in made.ratings if not holds(r))
    raise InputError(
        "parts.switch.current", f"{short.name} {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} in the largest generic class",
        "Lower the load, gear down, use a smaller or quicker fuse, or give the data of a larger device in "
        "[parts.switch]." + coordination.hint(short))


def part(
    device: Device, *, demand: Demand, margins: Mapping[str, float], mean_current: float, count: int
) -> Part:
    """Give ``device`` as a part, ``count`` of them, with the ratings of ONE against ``demand``."""
    made = triac.part(device, demand=demand, margins=margins)
    ratings = [rating for rating in made.ratings if math.isfinite(rating.limit.value)]
    latching = device["latching_current"]
    return replace(
        made, count=count, ratings=(ratings[0], _mean(device, demand, margins, mean_current), *ratings[1:]),
        worked=(*made.worked, Step(formula=DIODE_RMS_RATING, inputs={"I_F": device["current"] / _FORM},
                                   note="r.m.s. rating that belongs to its mean rating")),
        if_wrong=_WRONG, notes=(
            *made.notes, f"It latches at {engineering(latching, 'A', 2)} and holds down to "
            f"{engineering(device['holding_current'], 'A', 2)}; the gate is held until it surely has."))


def _mean(device: Device, demand: Demand, margins: Mapping[str, float], mean_current: float) -> Rating:
    allowed, source = share("switch_current", margins)
    return Rating(
        name="mean current", limit=Quantity(device["current"] / _FORM, "A"), stress=Quantity(mean_current, "A"),
        share=allowed, source=source, at=demand.at.get("mean current", ""), remedy="A larger thyristor.")


def on_sink(
    device: Device, *, name: str, demand: Demand, margins: Mapping[str, float], count: int
) -> heatsink.Device:
    """Give ``count`` equal thyristors as they sit on the heatsink."""
    return replace(triac.on_sink(device, name=name, demand=demand, margins=margins), count=count, pulses=1)
