"""What speaks against a table of pin readings: contradictions by name, and what is refused outright."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from designer.motor.pin_joint import Joint
from designer.motor.pin_lead import Lead, steady, triples
from designer.motor.pin_roles import movement
from designer.motor.pin_table import EARTH, FRAME_LEAK, LEAK, PinTable, Reading, named
from designer.quantities import engineering

_SURE = 3.0       # standard uncertainties beyond which two readings differ: common practice


@dataclass(frozen=True, kw_only=True)
class Contradiction:
    """Readings that cannot all be true of one motor: which, on which pins, what to do."""

    code: str
    message: str
    pins: tuple[str, ...]


def ohms(value: float) -> str:
    """A resistance in words, three digits."""
    return engineering(value, "ohm", 3) if math.isfinite(value) else "open"


def earths(table: PinTable, lead: Lead) -> tuple[str, ...]:
    """The pins that are nothing but the frame: next to no resistance to it, nor to any other pin of theirs."""
    found: list[str] = []
    for group in table.groups:
        to_frame = [r for pin in group if (r := table.between(pin, "frame"))]
        inside = table.across(group, group)
        limit = EARTH + lead.value
        if len(to_frame) == len(group) and all(r.value <= limit + table.spread for r in (*to_frame, *inside)):
            found += group
    return tuple(found)


def to_frame(table: PinTable, lead: Lead) -> Iterator[Contradiction]:
    """Windings that read to the frame, or to a pin that is the frame."""
    tags = earths(table, lead)
    for group in table.groups:
        if group[0] in tags:
            continue
        for reading in table.across(group, ("frame", *tags)):
            if reading.value < FRAME_LEAK:
                alone = "It is too much for an earth tag, and too little for an insulated winding." \
                    if len(group) == 1 else "A winding touches the frame."
                yield Contradiction(
                    code="winding-to-frame", pins=reading.pair,
                    message=f"{named(reading.pair)} reads {ohms(reading.value)}. {alone} The frame would be live. "
                    "Blow the carbon dust out, dry it, read again; if it stays, the motor is scrap.")


def star(table: PinTable, lead: Lead) -> Iterator[Contradiction]:
    """Three equal readings between three pins: a winding of three phases, in star or delta."""
    for group in table.groups:
        for a, b, c in triples(table, group):
            sigma = table.sigma(c.value)
            equal = c.value - a.value <= _SURE * math.sqrt(2) * sigma
            apart = a.value + b.value - c.value - lead.value > _SURE * math.sqrt(3) * sigma
            if equal and apart and a.value > EARTH / 2 and all(steady(table, r) for r in (a, b, c)):
                pins = tuple(sorted({*a.pair, *b.pair}))
                yield Contradiction(
                    code="three-phase", pins=pins,
                    message=f"Pins {', '.join(pins)} read {ohms(a.value)}, {ohms(b.value)} and {ohms(c.value)} between "
                    "each other: three equal windings in star or delta. That is a three-phase or an electronically "
                    "commutated motor. It needs an inverter, and nothing that is designed here runs it.")


def contradictions(table: PinTable, lead: Lead, found: Joint) -> tuple[Contradiction, ...]:
    """Everything in the table that disagrees with itself or with the likeliest motor."""
    return (*_twice(table), *_open(table), *_below_leads(table, lead), *_triangles(table, lead), *_leaks(table),
            *_loose(table), *_two_move(table, found))


def _twice(table: PinTable) -> Iterator[Contradiction]:
    for reading in table.readings.values():
        values = reading.still
        if len(values) < 2 or not steady(table, reading):
            continue
        low, high = min(values), max(values)
        sigma = math.sqrt(2) * table.sigma(reading.value)
        if (math.isinf(high) and math.isfinite(low)) or high - low > _SURE * sigma:
            yield Contradiction(
                code="read-twice", pins=reading.pair,
                message=f"{named(reading.pair)} was read more than once with the shaft at rest: {ohms(low)} and "
                f"{ohms(high)}. Clean the pin, press the probes, read again; a thermal switch may have opened "
                "meanwhile.")


def _open(table: PinTable) -> Iterator[Contradiction]:
    for group in table.groups:
        for place, a in enumerate(group):
            for b in group[place + 1:]:
                reading = table.between(a, b)
                if reading is not None and not math.isfinite(reading.value):
                    yield Contradiction(
                        code="open-and-joined", pins=(a, b),
                        message=f"{a}–{b} reads open, and yet both are joined through other pins of "
                        f"{', '.join(group)}. One of these readings is a bad contact, or a pin was miscounted: read "
                        "them again.")


def _below_leads(table: PinTable, lead: Lead) -> Iterator[Contradiction]:
    for reading in table.readings.values():
        low = min(reading.finite, default=math.inf)
        if low < lead.value - _SURE * math.hypot(table.spread, lead.uncertainty):
            yield Contradiction(
                code="below-leads", pins=reading.pair,
                message=f"{named(reading.pair)} reads {ohms(low)}, less than the leads alone, {ohms(lead.value)}: one "
                "of the two is wrong. Short the probes and read them again.")


def _triangles(table: PinTable, lead: Lead) -> Iterator[Contradiction]:
    for group in table.groups:
        for a, b, c in triples(table, group):
            if a.value >= LEAK or not all(steady(table, r) for r in (a, b, c)):
                continue
            sigma = math.hypot(math.sqrt(3) * table.sigma(c.value), lead.uncertainty)
            excess = c.value - (a.value + b.value - lead.value)
            pins = tuple(sorted({*a.pair, *b.pair}))
            if excess > _SURE * sigma:
                yield Contradiction(
                    code="triangle", pins=pins,
                    message=f"{named(c.pair)} reads {ohms(c.value)}, more than {named(a.pair)} and {named(b.pair)} "
                    f"together, {ohms(a.value + b.value)}. No windings do that: one of the three is misread.")
            elif -excess > _SURE * sigma and not _equal(table, a, c):
                yield Contradiction(
                    code="no-chain", pins=pins,
                    message=f"{named(a.pair)}, {named(b.pair)} and {named(c.pair)} read {ohms(a.value)}, "
                    f"{ohms(b.value)} and {ohms(c.value)}: with leads of {ohms(lead.value)} the two smaller do not add "
                    "up to the greatest, as the halves of one winding would. Three unlike windings meet inside, or "
                    "one is misread.")


def _equal(table: PinTable, a: Reading, c: Reading) -> bool:
    return c.value - a.value <= _SURE * math.sqrt(2) * table.sigma(c.value)


def _leaks(table: PinTable) -> Iterator[Contradiction]:
    for place, group in enumerate(table.groups):
        for other in table.groups[place + 1:]:
            for reading in table.across(group, other):
                if reading.value < FRAME_LEAK:
                    yield Contradiction(
                        code="leak", pins=reading.pair,
                        message=f"{named(reading.pair)} reads {ohms(reading.value)} between two windings: carbon dust "
                        "or damp, or a resistor across both. Clean and dry, then read again.")


def _loose(table: PinTable) -> Iterator[Contradiction]:
    for reading in table.readings.values():
        if movement(reading, table.sigma(reading.value)).loose:
            twice = ", ".join(f"{ohms(a)} and then {ohms(b)}" for a, b in reading.repeats)
            yield Contradiction(
                code="not-repeated", pins=reading.pair,
                message=f"{named(reading.pair)} does not read the same at the same position of the shaft: {twice}. A "
                "bad contact does that, brushes alone do not. Clean the pins, clamp the leads, read more positions, "
                "each of them twice.")


def _two_move(table: PinTable, found: Joint) -> Iterator[Contradiction]:
    """Two pairs that change with the shaft; a tacho may, since it makes a voltage."""
    tacho = {pin for role, pins in found.best.labels if role == "tacho" for pin in pins}
    moving = []
    for group in table.groups:
        inside = [r for r in table.across(group, group) if movement(r, table.sigma(r.value)).seen]
        moving += [r for r in inside[:1] if not tacho & set(r.pair)]
    if len(moving) > 1:
        pairs = " and ".join(named(r.pair) for r in moving)
        yield Contradiction(
            code="two-move", pins=tuple(pin for r in moving for pin in r.pair),
            message=f"{pairs} all change while the shaft turns, and a motor has one armature. A bad contact changes "
            "too: read each again with the shaft resting, at two positions, twice.")
