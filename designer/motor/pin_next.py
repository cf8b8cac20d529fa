"""The one reading that would settle most: each that could be taken is weighed by what it would tell.

For each whole that the readings leave possible a reading has a known chance to come out one way or the
other. What it would tell is the mutual information between outcome and whole, in bits: entropy of the
outcome less its mean entropy with the whole known. A reading that nobody doubts tells nothing.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import combinations

from designer.motor.pin_chains import Chain
from designer.motor.pin_joint import Joint, Whole
from designer.motor.pin_roles import movement
from designer.motor.pin_table import PinTable, named, priors

#: chance that a test shows what it should, and that it shows it without cause; common practice, no source
_RIGHT, _WRONG = 0.95, 0.04
_KINDS = ("frame", "read", "again", "turn", "repeat", "spin", "warm", "capacitor", "leads")


@dataclass(frozen=True, kw_only=True)
class NextReading:
    """A reading worth taking: of which kind, on which pins, how, what it would show, what to write; ``bits`` told."""

    kind: str
    pins: tuple[str, ...]
    action: str
    meaning: str
    key: str
    bits: float


def next_reading(table: PinTable, found: Joint, *, capacitor: bool | None, given_lead: bool) -> NextReading:
    """Give the reading that would tell most."""
    offered = [*_unread(table, found), *_per_pair(table, found), *_asked(found, capacitor)]
    if not given_lead:
        offered.append(NextReading(
            kind="leads", pins=(), action="Short the two probes and read them.", key="[pin_test] lead_resistance",
            meaning="It is taken off every reading; thermal switches and earth tags rest on it most.", bits=0.001))
    return min(offered, key=lambda r: (-round(r.bits, 6), _KINDS.index(r.kind), _size(table, r), r.pins))


def _size(table: PinTable, reading: NextReading) -> float:
    known = table.between(*reading.pins) if len(reading.pins) == 2 else None
    return known.value if known else math.inf


def _entropy(chance: float) -> float:
    if not 0 < chance < 1:
        return 0.0
    return -chance * math.log2(chance) - (1 - chance) * math.log2(1 - chance)


def _told(found: Joint, chance: Callable[[Whole], float]) -> float:
    """Bits that a yes-or-no outcome tells, with its chance in each whole."""
    each = [(whole.share, chance(whole)) for whole in found.wholes]
    mean = math.fsum(share * p for share, p in each)
    return max(0.0, _entropy(mean) - math.fsum(share * _entropy(p) for share, p in each))


def _chain(whole: Whole, pin: str) -> Chain | None:
    return next((chain for chain in whole.chains if pin in chain.pins), None)


def _roles_between(whole: Whole, a: str, b: str) -> tuple[str, ...]:
    """The roles of the windings that a reading between two pins goes through."""
    chain = _chain(whole, a)
    if chain is None or b not in chain.pins or chain.roles == ("tacho-hall",):
        return ()
    first, last = sorted((chain.pins.index(a), chain.pins.index(b)))
    return chain.roles[first:last]


def _unread(table: PinTable, found: Joint) -> Iterator[NextReading]:
    """Groups that nobody read against the frame or against each other, and pairs left out within a group."""
    surprise = _entropy(priors()["joined-unread"])
    for group in table.groups:
        if not table.across(group, ("frame",)):
            yield NextReading(
                kind="frame", pins=(group[0], "frame"), action=f"Read pin {group[0]} against bare metal of the frame.",
                meaning="Open is right for a winding, next to nothing is an earth tag, anything between is a fault.",
                key=_row(group[0], "frame"), bits=surprise)
    for first, second in combinations(table.groups, 2):
        if not table.across(first, second):
            yield NextReading(
                kind="read", pins=(first[0], second[0]), action=f"Read {first[0]}–{second[0]}.",
                meaning="Open keeps them two windings; anything else joins them inside the motor.",
                key=_row(first[0], second[0]), bits=surprise)
    for group in table.groups:
        for a, b in combinations(group, 2):
            if table.between(a, b) is None:
                yield NextReading(
                    kind="read", pins=(a, b), action=f"Read {a}–{b}.", key=_row(a, b),
                    bits=_spread(table, found, (a, b)),
                    meaning="It tells in which order these pins lie on their winding.")


def _spread(table: PinTable, found: Joint, pair: tuple[str, str]) -> float:
    """Bits that the value of an unread pair tells: entropy of the value in steps of three meter errors."""
    seen: Counter[int] = Counter()
    for whole in found.wholes:
        chain = _chain(whole, pair[0])
        value = chain.ohms_between(*pair)[0] if chain and chain.roles != ("tacho-hall",) else 0.0
        seen[round(value / (3 * table.sigma(value)))] += round(whole.share * 1e9)
    total = sum(seen.values())
    return -math.fsum(n / total * math.log2(n / total) for n in seen.values() if n)


def _per_pair(table: PinTable, found: Joint) -> Iterator[NextReading]:
    """Turning, turning twice, spinning and warming of each pair that was read and is not open."""
    for pair, reading in sorted(table.readings.items()):
        if "frame" in pair or not math.isfinite(reading.value):
            continue
        through = {whole: _roles_between(whole, *pair) for whole in found.wholes}
        among = partial(_among, through)
        name, moved = named(pair), movement(reading, table.sigma(reading.value))
        if not reading.turning:
            yield NextReading(
                kind="turn", pins=pair, action=f"Read {name} at five or more positions of the shaft, each at rest.",
                meaning="Brushes and commutator change from position to position; a field or a switch does not.",
                key=f"turning = […] for {name}", bits=_told(found, among("armature")))
        elif moved.seen and not reading.repeats:
            yield NextReading(
                kind="repeat", pins=pair,
                action=f"Turn back to the first two positions of {name}, marked on the shaft, and read both again.",
                meaning="Brushes show about the same at the same position; a bad contact does not.",
                key=f"repeated = […] for {name}", bits=_told(found, among("armature")))
        elif moved.loose:
            yield NextReading(
                kind="again", pins=pair, key=f"turning = […] and repeated = […] for {name}",
                action=f"Clean the pins of {name}, clamp the leads, read five positions of the shaft, each twice.",
                meaning="Brushes show about the same at the same position; a bad contact does not.",
                bits=_told(found, among("armature")))
        yield NextReading(
            kind="spin", pins=pair, action=f"Meter on its a.c. millivolt range at {name}; spin the shaft by hand.",
            meaning="A tacho shows tens of millivolts or more, and more the faster it turns.",
            key="", bits=_told(found, among("tacho")))
        yield NextReading(
            kind="warm", pins=pair, action=f"Warm the windings with a hot-air blower, the meter on {name}.",
            meaning="A thermal switch opens at once and closes when it cools; a winding rises slowly by a third.",
            key="", bits=_told(found, among("thermal-switch")))


def _among(through: dict[Whole, tuple[str, ...]], role: str) -> Callable[[Whole], float]:
    """Chance that a test for ``role`` shows it, by whether the reading goes through one in a whole."""
    return lambda whole: _RIGHT if role in through[whole] else _WRONG


def _asked(found: Joint, capacitor: bool | None) -> Iterator[NextReading]:
    if capacitor is None:
        other = {whole: any("winding" in chain.roles for chain in whole.chains) for whole in found.wholes}
        yield NextReading(
            kind="capacitor", pins=(),
            action="Look for a capacitor of 1 µF or more on the machine or in its appliance.",
            meaning="A machine with one has a start or run winding: an induction motor, whatever the ohms say.",
            key="[pin_test] capacitor = true or false", bits=_told(found, lambda w: 0.8 if other[w] else _WRONG))


def _row(a: str, b: str) -> str:
    return f'[[pins]] pair = ["{a}", "{b}"]'
