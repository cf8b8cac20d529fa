"""From pin readings to labelled windings: what hangs on each pin, how sure that is, and what to read next.

The readings are put in pairs and groups (``pin_table``), the leads found (``pin_lead``), every group
read as a chain of windings (``pin_chains``), the groups weighed together (``pin_joint``). A label's
confidence is a probability: of a hundred labels printed with 0.95, five are expected to be wrong,
given the meter's error and the ranges and priors of pin_roles.csv and pin_priors.csv. It does not cover what
ohms cannot see: a shorted turn, insulation that fails at 500 V, a thermal switch hidden in a winding.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from designer.motor.pin_chains import Chain, Label, chains
from designer.motor.pin_faults import Contradiction, contradictions, earths, ohms, star, to_frame
from designer.motor.pin_joint import Joint, joint, told
from designer.motor.pin_lead import Lead, lead_resistance
from designer.motor.pin_next import NextReading, next_reading
from designer.motor.pin_roles import movement
from designer.motor.pin_table import FRAME_LEAK, PinTable, named, natural, pin_table, priors
from designer.project.readings import PinPair, PinTest

#: confidence from which a label may be wired, and of labels that a contradiction touches; common practice, no source
SURE, SPOILT = 0.9, 0.5
_EARTH, _UNREAD_EARTH, _OPEN, _UNREAD = 0.98, 0.8, 0.9, 0.6
_START = (" Three pins that read like a tapped field may be the start and run winding of a capacitor motor: is there a "
          "capacitor?")
_ORDER = ("armature", "field", "field-tap", "tacho", "tacho-hall", "thermal-switch", "earth", "suppressor", "winding",
          "winding-tap", "unknown", "unconnected")


@dataclass(frozen=True, kw_only=True)
class Winding:
    """One label: role, pins, confidence from 0 to 1, resistance in ohm less the leads with its uncertainty.

    ``parts`` are the pieces between neighbouring pins of a tapped winding: pins and ohms.
    """

    role: str
    pins: tuple[str, ...]
    confidence: float
    resistance: float | None = None
    uncertainty: float | None = None
    parts: tuple[tuple[tuple[str, str], float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Pinout:
    """What the readings tell: windings, leads, what contradicts, what to read next, why it is refused if it is."""

    windings: tuple[Winding, ...]
    lead: Lead
    contradictions: tuple[Contradiction, ...]
    questions: tuple[str, ...]
    next_reading: NextReading
    refused: str | None
    table: PinTable

    @property
    def pins(self) -> tuple[str, ...]:
        """Every pin of the connector, in the order in which they are told."""
        return self.table.pins

    def having(self, role: str) -> tuple[Winding, ...]:
        """The windings of a role."""
        return tuple(winding for winding in self.windings if winding.role == role)

    @property
    def doubtful(self) -> tuple[Winding, ...]:
        """The labels of armature and field that are not sure enough to be wired."""
        return tuple(w for w in self.windings if w.role in ("armature", "field", "field-tap") and w.confidence < SURE)

    @property
    def wireable(self) -> bool:
        """True where armature and field are known well enough to be wired."""
        return self.refused is None and bool(self.having("armature") and self.having("field")) and not self.doubtful


def pinout(rows: tuple[PinPair, ...], test: PinTest) -> Pinout:
    """Label the pins of ``[[pins]]`` and ``[pin_test]``.

    Any permutation of the pins gives the same motor. Raises ``InputError`` on fewer than two pins.
    """
    table = pin_table(rows, test)
    lead = lead_resistance(table, test.lead_resistance)
    tags = earths(table, lead)
    stars = tuple(star(table, lead))
    phases = {pin for fault in stars for pin in fault.pins}
    groups = [group for group in table.groups if group[0] not in tags and not phases & set(group)]
    found = joint([chains(table, group, lead) for group in groups], other=_other(table, groups, test.capacitor))
    against = contradictions(table, lead, found)
    refused = next((fault.message for fault in (*to_frame(table, lead), *stars)), None) or _refused(table, found, test)
    spoilt = {pin for fault in against for pin in fault.pins}
    windings = [*_earths(table, tags), *_labels(table, found)]
    windings += [Winding(role="winding", pins=fault.pins, confidence=SURE) for fault in stars]
    return Pinout(
        windings=tuple(sorted((_capped(w, spoilt) for w in windings), key=_place)), lead=lead, contradictions=against,
        questions=tuple(_questions(table, found, test)), refused=refused, table=table,
        next_reading=next_reading(table, found, capacitor=test.capacitor, given_lead=test.lead_resistance is not None))


def _place(winding: Winding) -> tuple[int, list[tuple[int, float, str]]]:
    return _ORDER.index(winding.role), [natural(pin) for pin in winding.pins]


def _capped(winding: Winding, spoilt: set[str]) -> Winding:
    """A label that a contradiction touches is never sure, and its resistance is not told."""
    if not spoilt & set(winding.pins):
        return winding
    return Winding(role=winding.role, pins=winding.pins, confidence=min(winding.confidence, SPOILT))


def _other(table: PinTable, groups: list[tuple[str, ...]], capacitor: bool | None) -> float:
    """Prior probability of a machine without commutator: more where three pins could be start and run winding."""
    if capacitor:
        return 0.99
    three = any(len(group) == 3 for group in groups) and capacitor is None
    return priors()["other-machine-three-pins" if three else "other-machine"]


def _moves(table: PinTable) -> bool:
    return any(movement(r, table.sigma(r.value)).seen for r in table.readings.values() if "frame" not in r.pair)


def _refused(table: PinTable, found: Joint, test: PinTest) -> str | None:
    """Why nothing may be built on this machine: a capacitor, or no commutator; None where nothing says so."""
    if test.capacitor:
        return ("A capacitor is wired to the machine: start or run winding of an induction motor, which reads like a "
                "tapped field. Nothing that is designed here runs it.")
    start = _START if test.capacitor is None and any(len(group) == 3 for group in table.groups) else ""
    if not any(reading.turning for reading in table.readings.values()):
        return ("No pair was read while the shaft was turned, so nothing shows a commutator yet. Turn the shaft by "
                f"hand and write the readings of each pair as turning = […].{start}")
    if not _moves(table):
        return ("No pair changes while the shaft is turned: no commutator was found. An induction or an electronically "
                "commutated motor reads like this, and so does a motor whose brushes are worn off or taken out: look."
                f"{start}")
    if not any("armature" in chain.roles for chain in found.best.chains):
        return ("The pair that changes does not show the same at the same position: a bad contact, not a commutator. "
                "Clean pins and probes, and read it again.")
    return None


def _questions(table: PinTable, found: Joint, test: PinTest) -> Iterator[str]:
    if test.capacitor is None:
        yield ("Is a capacitor of 1 µF or more wired to the machine? A start and a run winding read like a tapped "
               "field, and ohms do not tell them apart. Write [pin_test] capacitor = false, or true.")
    if not any("frame" in pair for pair in table.readings):
        yield "No pin was read against the frame: read each before any voltage is put on any of them."
    for reading in table.readings.values():
        if "frame" in reading.pair and FRAME_LEAK <= reading.value < math.inf:
            yield (f"{named(reading.pair)} reads {ohms(reading.value)}: a meter should show overload. Damp or carbon "
                   "dust? The test with 500 V decides.")
    for chain in found.best.chains:
        if "thermal-switch" in chain.roles and "field" in chain.roles:
            yield (f"The thermal switch lies in the field's path ({named(chain.pins)}): hot, it opens and takes the "
                   "field away. Feed the field past it, and let the switch break the supply instead.")
    if any("thermal-switch" not in chain.roles and "field" in chain.roles for chain in found.best.chains):
        yield ("Is a thermal switch hidden inside the field winding? Cold it reads as part of the field. Hot it opens "
               "and takes the field away. Look under the lacing, or warm the field with the meter on it.")


def _earths(table: PinTable, tags: tuple[str, ...]) -> Iterator[Winding]:
    for pin in tags:
        others = [r for r in table.across((pin,), table.pins) if r.pair[0] not in tags or r.pair[1] not in tags]
        reading = table.between(pin, "frame")
        yield Winding(role="earth", pins=(pin,), confidence=_EARTH if others else _UNREAD_EARTH,
                      resistance=max(0.0, reading.value) if reading else None, uncertainty=table.spread)


def _labels(table: PinTable, found: Joint) -> Iterator[Winding]:
    for chain in found.best.chains:
        if not chain.roles:
            read = table.across(chain.pins, (*table.pins, "frame"))
            yield Winding(role="unconnected", pins=chain.pins, confidence=_OPEN if len(read) > 1 else _UNREAD)
        for label in chain.labels:
            yield _winding(chain, label, found.confidence(told(label)))


def _winding(chain: Chain, label: Label, confidence: float) -> Winding:
    role, pins = told(label)
    if role == "tacho-hall" or len(pins) == 1:
        return Winding(role=role, pins=pins, confidence=confidence)
    first, last = sorted(chain.pins.index(pin) for pin in pins)
    value, uncertainty = chain.ohms_between(*pins)
    pieces = tuple(((chain.pins[n], chain.pins[n + 1]), chain.ohms[n]) for n in range(first, last))
    return Winding(role=role, pins=pins, confidence=confidence, resistance=max(value, 0.0), uncertainty=uncertainty,
                   parts=pieces if len(pieces) > 1 else ())
