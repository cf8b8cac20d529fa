"""Conductors of a separate field: from the line or a direct supply through its stage to the winding and back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from designer.project.model import Project
from designer.studies.phase_cut import LOGIC
from designer.studies.rectified_wires import detector_rows, driver_rows, snubber_rows
from designer.studies.sides import Names, Row
from designer.studies.sides.chopper import cell_wires
from designer.studies.sides.mains import thin

#: roles whose name tells the field already
PLAIN = {"field-diode": "flyback-diode", "field-thyristor": "switch"}


def own_names(names: Names) -> Names:
    """The field's parts under the roles of an armature's."""
    return Names(parts=tuple(
        replace(part, role=PLAIN.get(part.role, part.role.removeprefix("field-"))) for part in names.parts
        if part.role.startswith("field-")))


def wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """From the field supply through relay and resistor to the field and back; the diode at the motor."""
    del texts
    thick = f"{names.of('field-wire')} {names.marked('field-wire', 'for the field current')}".strip()
    wire = f"{thick}, insulation as for the bus: the leads count as live"
    bridge = names.of("field-bridge")
    yield from _ahead(names, project)
    at, minus = (f"{bridge} +", f"{bridge} −") if bridge else ("field supply +", "field supply −")
    if names.of("field-thyristor"):
        yield at, f"{names.of('field-thyristor')}, anode", wire, "no capacitor here: it turns off at the zeros only"
        at = f"{names.of('field-thyristor')}, cathode"
    if names.of("field-switch"):
        yield from _cell(names, project, wire)
        at, minus = f"{names.of('field-input-capacitor')}, plus", f"{names.of('field-switch')}, drain or collector"
    for role, note in (("field-relay", "its current coil or shunt; its contact goes to the armature's release"),
                       ("field-resistor", "it gets hot: screwed terminals, free air")):
        if names.of(role):
            yield at, f"{names.of(role)}, one end", wire, note
            at = f"{names.of(role)}, other end"
    yield at, "field, first end", wire, "no switch, fuse or plug on this side of the diode"
    diode = names.of("field-diode")
    if diode and not names.of("field-switch"):
        yield "field, first end", f"{diode}, cathode", wire, "at the motor's terminals"
        yield f"{diode}, anode", "field, second end", wire, ""
    yield "field, second end", minus, wire, "never swapped behind its diode, which would short the supply"
    if names.of("field-relay") and not (names.of("armature-contactor") or names.of("second-path-relay")):
        yield (f"{names.of('field-relay')}, contact", "release of the armature (gate enable, and the coil of the main "
               "switch)", thin(project), "open: no armature voltage")
    if names.of("field-thyristor"):
        yield from _fired(names)


def _ahead(names: Names, project: Project) -> Iterator[Row]:
    """From the mains through fuse and transformer to the field's bridge."""
    bridge, fuse, transformer = (names.of(f"field-{role}") for role in ("bridge", "fuse", "transformer"))
    if not bridge:
        return
    live, main = thin(project), names.of("fuse")
    if fuse:
        yield (f"{main}, out" if main else "line, after the main switch", f"{fuse}, one end", live,
               "ahead of everything that the armature's stop opens; the main fuse carries both")
    ends = ("one end", "the other end")
    if transformer:
        yield f"{fuse}, other end", f"{transformer}, primary, one end", live, ""
        yield f"{transformer}, primary, other end", "neutral, after the main switch", live, ""
        for end, mark in zip(ends, ("first", "second"), strict=True):
            yield f"{transformer}, secondary, {end}", f"{bridge}, {mark} ~", "as for the field", "counts as live"
        return
    choke = names.of("field-turn-on-choke")
    if choke:
        yield f"{fuse}, other end", f"{choke}, one end", live, "it holds the rise of current at each firing"
    yield f"{choke or fuse}, other end", f"{bridge}, first ~", live, ""
    yield "neutral, after the main switch", f"{bridge}, second ~", live, ""


def _fired(names: Names) -> Iterator[Row]:
    """Snubber, driver and detector of the field's thyristor."""
    own = own_names(names)
    yield from snubber_rows(own)
    yield from driver_rows(own, detects=False)
    if own.of("zero-cross-detector"):
        yield from detector_rows(own)
    else:
        yield (f"{names.of('zero-cross-detector')} output", "logic of the field's stage", LOGIC,
               "the armature's detector serves both")


def _cell(names: Names, project: Project, wire: str) -> Iterator[Row]:
    """The field's chopper between its input capacitor and the winding."""
    q, d, shunt, c = (names.of(f"field-{role}") for role in (
        "switch", "diode", "current-sense-resistor", "input-capacitor"))
    strap = "copper area or wide strap"
    yield "field supply +", f"{c}, plus", wire, "as a pair with the next"
    yield "field supply −", f"{c}, minus", wire, ""
    yield f"{c}, plus", f"{d}, cathode", strap, "this loop is the shortest of all"
    yield f"{d}, anode", f"{q}, drain or collector", strap, ""
    yield f"{q}, source or emitter", f"{shunt}, first end", strap, ""
    yield f"{shunt}, second end", f"{c}, minus", strap, "never to earth"
    for start, end, what, note in cell_wires(own_names(names), q=q, shunt=shunt, top=f"{c}, plus", project=project):
        yield start.replace("logic, duty", "logic, field duty"), end, what, note
