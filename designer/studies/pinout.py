"""The verb `pinout`: what hangs on each pin, how to wire it, and the same as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from designer.equations.pinout import TAP_SHARE, WINDING_FROM_READING
from designer.motor.pinout import Pinout, Winding
from designer.motor.pinout import pinout as read_pins
from designer.project.model import Project
from designer.results import Step, Wire

Ends = tuple[str, str]
_LEAD = "bench lead"


@dataclass(frozen=True, kw_only=True)
class Connection:
    """One way to wire the motor: its conductors, and at which pin the current enters and leaves each winding."""

    name: str
    title: str
    wires: tuple[Wire, ...]
    armature: Ends
    field: Ends
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class FieldChoice:
    """One way to use a field that has a tap or comes in halves: pins, share of its resistance, what it does."""

    pins: Ends
    share: float | None
    join: str
    effect: str


@dataclass(frozen=True, kw_only=True)
class PinReport:
    """The labelled pins and what may be done with them; no wiring where the labels are not sure enough."""

    project: Project
    pinout: Pinout
    connections: tuple[Connection, ...]
    field_choices: tuple[FieldChoice, ...]
    worked: tuple[Step, ...]


def pinout(project: Project) -> PinReport:
    """Label the pins of a project's ``[[pins]]`` and tell how to wire them.

    Raises ``InputError`` on fewer than two pins.
    """
    found = read_pins(project.pins, project.pin_test)
    return PinReport(
        project=project, pinout=found, worked=tuple(_worked(found)),
        connections=tuple(_connections(found)) if found.wireable else (),
        field_choices=tuple(_choices(found)) if found.wireable else ())


def _connections(found: Pinout) -> Iterator[Connection]:
    """Series and separate excitation, each forward and reversed; the reversed one swaps the armature alone."""
    armature = _ends(found.having("armature")[0])
    field, joins = _whole_field(found)
    shared = set(armature) & set(field)
    if shared:
        yield _joined(armature, field, shared.pop())
        return
    ways = (("forward", armature, "Which way is forward, only a first turn at low voltage tells."),
            ("reversed", (armature[1], armature[0]),
             "Only the armature's two leads are swapped, with the shaft standing and everything off."))
    for way, brush, note in ways:
        yield Connection(
            name=f"series-{way}", title=f"Series, {way}", armature=brush, field=field, note=note,
            wires=(*joins, _wire("supply +", brush[0]), _wire(brush[1], field[0]), _wire(field[1], "supply −")))
    for way, brush, note in ways:
        yield Connection(
            name=f"separate-{way}", title=f"Separate excitation, {way}", armature=brush, field=field,
            note=f"Field on first, off last. {note}",
            wires=(*joins, _wire("field supply +", field[0]), _wire(field[1], "field supply −"),
                   _wire("armature supply +", brush[0]), _wire(brush[1], "armature supply −")))


def _joined(armature: Ends, field: Ends, joint: str) -> Connection:
    """Armature and field that meet inside the motor: series alone, and one direction."""
    brush = (_other(armature, joint), joint)
    ends = (joint, _other(field, joint))
    return Connection(
        name="series-forward", title="Series, as it is joined inside", armature=brush, field=ends,
        wires=(_wire("supply +", brush[0]), _wire(ends[1], "supply −")),
        note=f"Armature and field meet at pin {joint} inside the motor, which stays free. To reverse it, or to feed "
        "the field apart, the joint must be opened in the motor.")


def _other(ends: Ends, pin: str) -> str:
    return ends[1] if ends[0] == pin else ends[0]


def _ends(winding: Winding) -> Ends:
    return winding.pins[0], winding.pins[1]


def _wire(start: str, end: str, note: str = "") -> Wire:
    def named(place: str) -> str:
        return place if "supply" in place else f"pin {place}"

    return Wire(start=named(start), end=named(end), conductor=_LEAD, note=note)


def _whole_field(found: Pinout) -> tuple[Ends, tuple[Wire, ...]]:
    """Both ends of the whole field, and what joins its halves where they come out one by one."""
    fields = [_ends(winding) for winding in found.having("field")]
    joins = tuple(_wire(a[1], b[0], "joins the halves; see which way they aid each other")
                  for a, b in pairwise(fields) if a[1] != b[0])
    return (fields[0][0], fields[-1][1]), joins


def _choices(found: Pinout) -> Iterator[FieldChoice]:
    """Whole field, each piece up to a tap, and halves joined either way."""
    for winding in found.having("field"):
        if not winding.parts or winding.resistance is None:
            continue
        yield FieldChoice(pins=_ends(winding), share=1.0, join="taps stay free, each insulated",
                          effect="most torque an ampere, lowest speed")
        for pins, ohms in winding.parts:
            yield FieldChoice(pins=pins, share=ohms / winding.resistance, join="the rest stays free, insulated",
                              effect="less flux an ampere: faster, more current for the same torque")
    fields = [_ends(winding) for winding in found.having("field")]
    if len(fields) == 2:
        (a, b), (c, d) = fields
        for joined, ends in (((b, c), (a, d)), ((b, d), (a, c))):
            yield FieldChoice(
                pins=ends, share=None, join=f"pin {joined[0]} to pin {joined[1]}",
                effect="the right one of the two takes the smaller alternating current at 12 V through a lamp, rotor "
                "held: aiding halves have up to four times the inductance of one, opposing halves next to none")


def _worked(found: Pinout) -> Iterator[Step]:
    """The formulas with the numbers of this motor."""
    if found.lead.step is not None:
        yield found.lead.step
    for role in ("armature", "field"):
        for winding in found.having(role):
            reading = found.table.between(*winding.pins)
            if reading is not None and winding.resistance is not None and reading.finite:
                value = reading.least if role == "armature" else reading.value
                yield Step(formula=WINDING_FROM_READING, inputs={"R_read": value, "R_lead": found.lead.value},
                           note=f"{role} {winding.pins[0]}–{winding.pins[1]}")
            yield from _tap(found, winding)


def _tap(found: Pinout, winding: Winding) -> Iterator[Step]:
    if not winding.parts:
        return
    first, whole = found.table.between(*winding.parts[0][0]), found.table.between(*winding.pins)
    if first is not None and whole is not None and whole.value > found.lead.value:
        yield Step(formula=TAP_SHARE, inputs={"R_1": first.value, "R_12": whole.value, "R_lead": found.lead.value},
                   note=f"piece {winding.parts[0][0][0]}–{winding.parts[0][0][1]}")


def pinout_json(report: PinReport) -> dict[str, Any]:
    """The whole result as JSON: windings, leads, next reading, refusal, contradictions, questions, connections."""
    found = report.pinout
    return {
        "windings": [_winding_json(winding) for winding in found.windings],
        "lead_resistance": {"value": found.lead.value, "unit": "ohm", "source": found.lead.source,
                            "standard_uncertainty": found.lead.uncertainty},
        "next_reading": {name: getattr(found.next_reading, name) if name != "pins" else list(found.next_reading.pins)
                         for name in ("kind", "pins", "action", "meaning", "key", "bits")},
        "refused": found.refused,
        "contradictions": [{"code": c.code, "message": c.message, "pins": list(c.pins)} for c in found.contradictions],
        "questions": list(found.questions),
        "connections": [
            {"name": c.name, "armature": list(c.armature), "field": list(c.field), "note": c.note,
             "wires": [{"from": w.start, "to": w.end, "note": w.note} for w in c.wires]} for c in report.connections],
        "field_choices": [{"pins": list(c.pins), "share": c.share, "join": c.join, "effect": c.effect}
                          for c in report.field_choices],
        "format": 1,
    }


def _winding_json(winding: Winding) -> dict[str, Any]:
    told: dict[str, Any] = {"role": winding.role, "pins": list(winding.pins), "confidence": winding.confidence}
    if winding.resistance is not None:
        told["resistance"] = {"value": winding.resistance, "unit": "ohm", "standard_uncertainty": winding.uncertainty}
    if winding.parts:
        told["parts"] = [{"pins": list(pins), "resistance": {"value": ohms, "unit": "ohm"}}
                         for pins, ohms in winding.parts]
    return told
