"""How a phase-controlled rectifier is made up: which devices stand in which path, and what one of each carries.

The currents of a device are sums of three: that of the source's path, that of the freewheel path, the motor's (which
is the sum of both). Where a device carries the motor's current whatever conducts, its drop counts as the motor's.

Common-cathode: two thyristors on one bus, two diodes on the other. One-leg: both thyristors in one leg; the two
diodes of the other leg free-wheel, one of them always carrying the motor's current. Diodes-thyristor: four diodes, one
thyristor on their d.c. side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from designer.circuits.case import Drop, Fixed
from designer.errors import InputError

#: share of charge (or of square) that comes from the source's path, the freewheel path, the motor
Shares = tuple[float, float, float]
NONE: Shares = (0.0, 0.0, 0.0)


@dataclass(frozen=True, kw_only=True)
class Devices:
    """How many thresholds and slopes of switch, rectifier diode and freewheel diode stand in a path."""

    switch: tuple[float, float] = (0.0, 0.0)
    rectifier: tuple[float, float] = (0.0, 0.0)
    freewheel: tuple[float, float] = (0.0, 0.0)

    def drop(self, fixed: Fixed) -> Drop:
        """Give the drop of all together."""
        rows = ((self.switch, fixed.switch), (self.rectifier, fixed.feed.rectifier), (self.freewheel, fixed.freewheel))
        return Drop(threshold=sum(count[0] * one.threshold for count, one in rows),
                    slope=sum(count[1] * one.slope for count, one in rows))


@dataclass(frozen=True, kw_only=True)
class Form:
    """One way to make up the rectifier.

    ``source``, ``freewheel`` (None: no such path), ``motor``: the devices in the source's path, in the freewheel
    path, and in series with the motor. ``carries``: of one device by its role, the shares of charge and of square.
    ``held``: the freewheel path leads through the thyristor. ``keeps_gate``: with its gates off the thyristor that
    conducts goes on, half cycle after half cycle. ``line_short``: the device through which a shorted
    thyristor shorts the line, empty where it does not.
    """

    pulses: Literal[1, 2]
    source: Devices
    freewheel: Devices | None
    motor: Devices = Devices()
    carries: Mapping[str, tuple[Shares, Shares]]
    held: bool = False
    keeps_gate: bool = False
    line_short: Literal["", "freewheel", "rectifier", "switch"] = ""


def _same(shares: Shares) -> tuple[Shares, Shares]:
    return shares, shares


_ONE, _HALF = _same((1.0, 0.0, 0.0)), _same((0.5, 0.0, 0.0))
_DIODE = Devices(freewheel=(1.0, 1.0))
_WHEEL = _same((0.0, 1.0, 0.0))
_LEG = Devices(switch=(1.0, 1.0), rectifier=(1.0, 1.0))
_THREE = Devices(switch=(1.0, 1.0), rectifier=(2.0, 2.0))

HALF_WAVE = {
    True: Form(pulses=1, source=Devices(switch=(1.0, 1.0)), freewheel=_DIODE,
               carries={"switch": _ONE, "freewheel": _WHEEL}, line_short="freewheel"),
    False: Form(pulses=1, source=Devices(switch=(1.0, 1.0)), freewheel=None, carries={"switch": _ONE}),
}

#: a common-cathode bridge whose one thyristor never lets go; the diode is that which conducts with the source
HALF_WAVED = Form(
    pulses=1, source=Devices(rectifier=(1.0, 1.0)), freewheel=Devices(rectifier=(1.0, 1.0)),
    motor=Devices(switch=(1.0, 1.0)), carries={"switch": _same((0.0, 0.0, 1.0)), "rectifier": _ONE})

BRIDGES: Mapping[tuple[str, bool], Form] = {
    ("common-cathode", True): Form(
        pulses=2, source=_LEG, freewheel=_DIODE, line_short="switch",
        carries={"switch": _HALF, "rectifier": _HALF, "freewheel": _WHEEL}),
    # thyristor and diode of one leg free-wheel; where two devices hand over, the sum of their squares is less
    ("common-cathode", False): Form(
        pulses=2, source=_LEG, freewheel=_LEG, keeps_gate=True, line_short="switch",
        carries={"switch": _same((0.0, 0.0, 0.5)), "rectifier": _same((0.0, 0.0, 0.5))}),
    ("one-leg", True): Form(
        pulses=2, source=_LEG, freewheel=_DIODE, line_short="rectifier",
        carries={"switch": _HALF, "rectifier": _HALF, "freewheel": _WHEEL}),
    ("one-leg", False): Form(
        pulses=2, source=Devices(switch=(1.0, 1.0)), freewheel=Devices(rectifier=(1.0, 1.0)),
        motor=Devices(rectifier=(1.0, 1.0)), line_short="rectifier",
        carries={"switch": _HALF, "rectifier": _same((0.0, 0.5, 0.5))}),
    ("diodes-thyristor", True): Form(
        pulses=2, source=_THREE, freewheel=_DIODE,
        carries={"switch": _ONE, "rectifier": _HALF, "freewheel": _WHEEL}),
    # all four diodes free-wheel, two and two side by side: the line's current shifts by how much they share
    ("diodes-thyristor", False): Form(
        pulses=2, source=Devices(rectifier=(2.0, 1.0)), freewheel=Devices(rectifier=(2.0, 0.0)),
        motor=Devices(switch=(1.0, 1.0), rectifier=(0.0, 1.0)), held=True,
        carries={"switch": _same((0.0, 0.0, 1.0)), "rectifier": ((0.0, 0.0, 0.5), (0.25, 0.0, 0.25))}),
}


def bridge(name: str, *, freewheel: bool) -> Form:
    """Give the form of a bridge, with a freewheel diode across the motor or without.

    Raises ``InputError`` for a bridge that is none of the three.
    """
    form = BRIDGES.get((name, freewheel))
    if form is None:
        known = tuple(dict.fromkeys(key for key, _ in BRIDGES))
        raise InputError("circuit.bridge", name, ", ".join(known), "Half-controlled bridges only.")
    return form
