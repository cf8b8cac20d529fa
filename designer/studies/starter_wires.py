"""The conductors of an armature behind its starter, the coil of its contactor, and the floor under its field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from designer.project.model import Project
from designer.studies.armature_leads import first_brush, second_brush, swap
from designer.studies.second_off import release_contacts
from designer.studies.sides import Names, Row
from designer.studies.sides.mains import thin


def wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """Give the conductors: plus bus, contactor, resistors with bypasses, armature, minus bus; coils; the floor."""
    del texts
    lead = f"{names.of('motor-wire')} {names.marked('motor-wire', 'for the armature current')}".strip()
    lead += ", insulation for the bus voltage"
    wire, main = thin(project), names.of("armature-contactor")
    fused = names.of("dc-fuse") if project.supply.is_mains else ""
    at = f"{main}, out"
    yield f"{fused}, out" if fused else "plus bus", f"{main}, in", lead, "watch the polarity marked on it"
    number = 0
    while names.of("starting-resistor", number):
        r, k, u = (names.of(role, number) for role in ("starting-resistor", "starter-bypass", "bypass-relay"))
        yield at, f"{r}, one end", lead, "it gets hot: screwed terminals, free air"
        yield f"{r}, one end", f"{k}, one contact", lead, f"its other contact to {r}, other end"
        yield f"{r}, one end", f"{u}, plus", wire, "its minus to the armature, first brush: it sees what is still in"
        yield f"{u}, contact", f"{k}, coil", wire, f"fed through {main}'s closing auxiliary contact"
        at, number = f"{r}, other end", number + 1
    trip = names.of("overcurrent-release")
    if trip:
        yield at, f"{trip}, one end", lead, "its coil in the armature's lead"
        at = f"{trip}, other end"
    yield at, first_brush(names), lead, swap(names, "the brushes' leads")
    yield second_brush(names), "minus bus", lead, ""
    yield from _coils(names, project, number)
    floor = names.of("field-floor-resistor")
    yield "field, second end, at the motor's terminal", f"{floor}, one end", wire, "by itself, not over the transistor"
    yield f"{floor}, other end", "minus bus", wire, "by itself, not over the shunt"


def _coils(names: Names, project: Project, number: int) -> Iterator[Row]:
    """The contactor's coil and all that stands in series with it."""
    wire, main = thin(project), names.of("armature-contactor")
    chain = [f"{names.of(role)}, contact" for role in (
        "field-relay", "zero-start-relay", "undervoltage-relay", "overcurrent-release", "start-timer")
        if names.of(role)]
    chain += release_contacts(project)
    own = names.of("zero-start-relay")
    if names.of("inrush-bypass"):
        chain.append(f"{names.of('inrush-bypass')}, closing auxiliary contact")
    chain += [f"{names.of('starter-bypass', at)}, opening auxiliary contact" for at in range(number)]
    bridged = f"{own}'s contact" if own else "the bypasses' contacts"
    yield "coil supply +" if own else "plus bus", f"{names.of('armature-stop')}, {', '.join(chain)}, in series", wire, (
        f"{bridged} bridged by the latch once it is in")
    start = names.of("armature-start")
    yield "end of that chain", f"{start}, then {main}, coil, to the {'coil supply −' if own else 'minus bus'}", wire, (
        f"{main}'s own closing auxiliary contact across {start}: the latch; a varistor, no diode, across the coil")
    if own:
        yield "plus bus", f"{own}, plus", wire, "its minus to the minus bus"
    if names.of("undervoltage-relay"):
        yield "plus bus", f"{names.of('undervoltage-relay')}, plus", wire, "its minus to the minus bus"
    if names.of("start-timer"):
        yield f"{main}, auxiliary contact", f"{names.of('start-timer')}, start", wire, "stopped by the last bypass"
