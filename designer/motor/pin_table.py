"""The pin readings put in order: pairs, groups of pins that are joined, what reads to the frame."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import combinations
from statistics import median

from designer.errors import InputError
from designer.project.readings import PinPair, PinTest
from designer.tables import read

Pair = tuple[str, str]
#: ohm from which a reading between windings is leakage, not a winding; common practice, no source
LEAK = 100e3
#: ohm below which leakage or a winding to the frame is refused (safety.md: 2 MΩ for double-insulated motors)
FRAME_LEAK = 2e6
#: ohm up to which a pin that leads nowhere else is an earth tag, beyond the leads; common practice, no source
EARTH = 1.0
_PLACES = 30


@dataclass(frozen=True, kw_only=True)
class Prior:
    """One row of the table of priors: a probability, factor or figure of the meter."""

    name: str
    value: float
    meaning: str
    source: str
    mark: str


@cache
def priors() -> Mapping[str, float]:
    """Give the figures of pin_priors.csv by name."""
    return {row.name: row.value for row in read("pin_priors", Prior)}


@dataclass(frozen=True, kw_only=True)
class Reading:
    """All that was read between two pins, in ohm; infinity where the meter showed overload.

    ``still`` with the shaft at rest, ``turning`` position by position, ``repeats`` the two readings of
    each position that was read twice.
    """

    pair: Pair
    still: tuple[float, ...]
    turning: tuple[float, ...] = ()
    repeats: tuple[tuple[float, float], ...] = ()

    @cached_property
    def finite(self) -> tuple[float, ...]:
        """Every reading that was no overload."""
        return tuple(x for x in (*self.still, *self.turning, *(again for _, again in self.repeats)) if math.isfinite(x))

    @cached_property
    def value(self) -> float:
        """The middle of the readings; infinity where all were overload."""
        return median(sorted(self.finite)) if self.finite else math.inf

    @cached_property
    def least(self) -> float:
        """The least reading: nearest to the winding where brushes are in the path."""
        return min(self.finite, default=math.inf)


@dataclass(frozen=True, kw_only=True)
class PinTable:
    """The readings pair by pair, the pins, and the groups of pins that are joined."""

    readings: Mapping[Pair, Reading]
    pins: tuple[str, ...]
    groups: tuple[tuple[str, ...], ...]
    spread: float

    def between(self, a: str, b: str) -> Reading | None:
        """The reading between two pins; None where nobody took it."""
        return self.readings.get(ordered(a, b))

    def across(self, first: Iterable[str], second: Iterable[str]) -> list[Reading]:
        """Every reading between a pin of one group and one of another."""
        ends = tuple(second)
        found = (self.between(a, b) for a in first for b in ends)
        return [reading for reading in found if reading is not None]

    def sigma(self, value: float) -> float:
        """Standard uncertainty of one reading of ``value`` ohm."""
        return math.hypot(self.spread, priors()["reading-share"] * value)


def natural(pin: str) -> tuple[int, float, str]:
    """A sorting key: numbers by value, then names, the frame last."""
    if pin == "frame":
        return (2, 0.0, pin)
    return (0, float(pin), pin) if pin.isdecimal() and pin.isascii() else (1, 0.0, pin)


def ordered(a: str, b: str) -> Pair:
    """A pair in the order in which it is told."""
    return (a, b) if natural(a) <= natural(b) else (b, a)


def named(pair: Sequence[str]) -> str:
    """A pair or row of pins in words: ``3–4``."""
    return "–".join(pair)


def pin_table(rows: Sequence[PinPair], test: PinTest) -> PinTable:
    """Put the rows of ``[[pins]]`` in order.

    With ``[pin_test] others_open`` a pair that is not listed counts as read and open. Raises
    ``InputError`` where more than 30 pins are named, or none besides the frame.
    """
    met: dict[Pair, list[PinPair]] = {}
    for place, row in enumerate(rows):
        a, b = (_pin(name) for name in row.pair)
        if a == b:
            raise InputError(f"pins[{place}].pair", list(row.pair), "two different pins")
        met.setdefault(ordered(a, b), []).append(row)
    readings = {pair: _reading(pair, found) for pair, found in met.items()}
    pins = tuple(sorted({pin for pair in met for pin in pair} - {"frame"}, key=natural))
    if not 1 < len(pins) <= _PLACES:
        raise InputError("pins", f"{len(pins)} pins", f"2 to {_PLACES} pins besides the frame")
    if test.others_open:
        every = (*pins, "frame")
        for a, b in combinations(every, 2):
            readings.setdefault(ordered(a, b), Reading(pair=ordered(a, b), still=(math.inf,)))
    spread = test.uncertainty if test.uncertainty is not None else priors()["reading-spread"]
    return PinTable(readings=readings, pins=pins, groups=_groups(pins, readings), spread=spread)


def _pin(name: str) -> str:
    return "frame" if name.strip().casefold() == "frame" else name.strip()


def _reading(pair: Pair, rows: list[PinPair]) -> Reading:
    return Reading(
        pair=pair,
        still=tuple(row.resistance for row in rows if row.resistance is not None),
        turning=tuple(x for row in rows for x in row.turning or ()),
        repeats=tuple(twice for row in rows for twice in zip(row.turning or (), row.repeated or (), strict=False)),
    )


def _groups(pins: tuple[str, ...], readings: Mapping[Pair, Reading]) -> tuple[tuple[str, ...], ...]:
    """Pins joined by less than the leakage limit; then what is left alone, joined by more (sensors)."""
    place = {pin: pin for pin in pins}

    def root(pin: str) -> str:
        while place[pin] != pin:
            pin = place[pin]
        return pin

    inside = [reading for reading in readings.values() if "frame" not in reading.pair]
    for reading in inside:
        if reading.value < LEAK:
            place[root(reading.pair[0])] = root(reading.pair[1])
    roots = [root(pin) for pin in pins]
    alone = {pin for pin in pins if roots.count(root(pin)) == 1}
    for reading in inside:
        if math.isfinite(reading.value) and set(reading.pair) <= alone:
            place[root(reading.pair[0])] = root(reading.pair[1])
    found: dict[str, list[str]] = {}
    for pin in pins:
        found.setdefault(root(pin), []).append(pin)
    return tuple(tuple(group) for group in found.values())
