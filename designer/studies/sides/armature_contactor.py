"""The armature's own contactor, where the field hangs behind the main switch and so comes on with it.

A field that is tapped there cannot be proved before the main switch closes: the armature waits for a contactor of its
own, whose coil runs over the field-current relay. A field with a d.c. supply of its own is on before, and the relay
holds the main switch.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from designer.parts import contactor
from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.results import FaultCase, Part, Quantity
from designer.studies.groups import crest_of, voltages
from designer.studies.sides import Names, Power, Row, Scene, Side, SideParts
from designer.studies.sides.mains import thin

NAME = "armature-contactor"
LOGIC = "thin wire, apart from every power wire"


def behind_main_switch(kind: CircuitKind, project: Project) -> bool:
    """True where the field goes off with the main switch."""
    supply = project.field_supply
    return "field-chopper" in kind.sides or (supply is not None and supply.kind != "dc")


def tapped(kind: CircuitKind, project: Project) -> bool:
    """True where a separate field is taken behind the main switch of an armature that a gate controls."""
    return kind.winding == "separate" and "starter" not in kind.sides and behind_main_switch(kind, project)


def with_contactor(kind: CircuitKind, project: Project) -> CircuitKind:
    """The circuit with this side where its field is tapped behind the main switch."""
    return replace(kind, sides=(*kind.sides, NAME)) if tapped(kind, project) else kind


def chosen(scene: Scene) -> tuple[Part, contactor.Row] | None:
    """The contactor of a scene and its row; None where the field does not ask for one.

    Raises ``InputError`` where none of the table makes and breaks the stall.
    """
    found = scene.found
    if found is None or not tapped(scene.kind, scene.project):
        return None
    running, motor = scene.worst("armature_current_rms"), found.fixed.motor
    stalled = math.sqrt(float(found.stall.solved.armature_square[0]))
    cold = float(motor.resistances(found.thermal.cold, found.thermal.cold)[0])
    return contactor.choose_armature(contactor.ArmatureDemand(
        running=running.value, stalled=max(stalled, running.value), voltage=_gap(scene), at=running.at,
        coil=voltages(scene.project)[1], mains=scene.alternating, decay=motor.armature_inductance / cold,
        wheel=scene.kind.line != "bus" and found.fixed.freewheeling), margins=scene.margins)


def _gap(scene: Scene) -> float:
    """The highest voltage across the open contact, V: the bus's crest, or that of the mains on phase angle."""
    return max(crest_of(scene.project), scene.worst("bus_voltage_crest", "any").value)


def _parts(scene: Scene) -> SideParts:
    """Contactor, stop and start button; raises ``InputError`` where no contactor bears it."""
    found = chosen(scene)
    if found is None:
        return SideParts()
    part, row = found
    coil = f"{voltages(scene.project)[1]:g} V{'~' if scene.alternating else ' d.c.'}"
    duty = "AC-15" if scene.alternating else "DC-13"
    stop = Part(
        role="armature-stop", designator="S2", marking=f"two opening contacts, {duty}, {coil}",
        description="stop button of the armature: opens by force, latches, stands in reach and not past the rotor",
        if_wrong="A contact that only springs open stays shut when it welds.",
        notes=("Rated for a contactor's coil, not for the motor: the armature's current never runs through it.",))
    start = Part(
        role="armature-start", designator="S3", marking=f"one closing contact, {duty}, {coil}",
        description="start button of the armature",
        if_wrong="A switch that stays closed in its place: the motor starts by itself when supply or field return.")
    return SideParts(
        parts=(part, stop, start), figures={"armature_contactor_opening": Quantity(row.opening, "s")},
        texts={"armature_order": order()})


def order() -> str:
    """On and off, in words: the parts' designators stand in the wiring table."""
    return ("On: the main switch closes, and with it the field comes on by itself; the armature stays open at its "
            "contactor. When the field's current is there the field-current relay picks up. Only then does the start "
            "button close the contactor, which holds itself and, by its auxiliary contact, releases the gates; the "
            "setting starts at nothing. Off: the stop button blocks the gates and opens the contactor; the field stays "
            "on until the shaft stands, then the main switch. A lost field: the relay blocks the gates, which is what "
            "its time to act counts, and opens the contactor, the slower second way for a switch that fails on. A lost "
            "supply opens it too; nothing comes back without the start button.")


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """The coil's circuit: stop, field-current relay, start with its holding contact; and what releases the gates."""
    del texts
    k, relay, stop, start = (names.of(role) for role in (
        "armature-contactor", "field-relay", "armature-stop", "armature-start"))
    if not k:
        return
    mains, wire = project.supply.is_mains, thin(project)
    yield ("line rail" if mains else f"{names.of('main-switch') or 'S1'}, out", f"{stop}, first contact", wire,
           "the coil hangs on the supply that the field hangs on: both drop out together")
    yield f"{stop}, first contact, other end", f"{relay}, first contact", wire, "closed only while the field flows"
    yield f"{relay}, first contact, other end", f"{start}, one end", wire, ""
    yield (f"{start}, one end", f"{k}, first auxiliary contact", wire,
           f"its other end to {start}, other end: it holds itself, and lets go for good when field or supply go")
    yield f"{start}, other end", f"{k}, coil", wire, "the coil's suppressor at its terminals"
    yield f"{k}, coil, other end", "neutral rail" if mains else "supply −", wire, ""
    yield ("logic, gate enable", f"{stop}, second contact, then {relay}, second contact, then {k}, second auxiliary "
           "contact, back to the enable input", LOGIC,
           "insulation as for the mains between the contacts; any of them open: no gate, and the setting back to "
           "nothing" if mains else "any of them open: no gate, and the setting back to nothing")


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """The contactor welded, and the start button stuck."""
    del power
    found = scene.found
    assert found is not None
    stalled = math.sqrt(float(found.stall.solved.armature_square[0]))
    yield FaultCase(
        fault="second-path-welded",
        name="Armature contactor welded: a lost field is caught by the blocked gates alone, and at the next start the "
             "armature does not wait for its field",
        figures={"armature current at rest, setting held": Quantity(stalled, "A")},
        ends_by="the gates, which the field-current relay holds, and the main switch. Try it before each day's work: "
                "the stop button must drop it")
    yield FaultCase(
        fault="start-stuck",
        name="Start button stuck or bridged: the armature starts by itself when the field comes back",
        figures={"armature current at rest, setting held": Quantity(stalled, "A")},
        ends_by="nothing in this design: try before each day: main switch off and on, and it must not start")


SIDE = Side(parts=_parts, wires=_wires, faults=_faults)
