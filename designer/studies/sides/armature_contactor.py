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
from designer.studies.contactor_coil import buttons, coil_rows
from designer.studies.groups import crest_of, voltages
from designer.studies.second_off import asked
from designer.studies.sides import Names, Power, Row, Scene, Side, SideParts

NAME = "armature-contactor"


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
    demand = demanded(scene, shorted=asked(scene.project))
    return contactor.choose_armature(demand, margins=scene.margins)


def demanded(scene: Scene, *, shorted: bool) -> contactor.ArmatureDemand:
    """What a contactor in the motor's lead carries, makes and breaks.

    ``shorted``: at a stall with the switch shorted too, which no gate can block; else at the setting.
    """
    assert scene.found is not None
    motor, cold = scene.found.fixed.motor, scene.found.thermal.cold
    armature, field = (float(one) for one in motor.resistances(cold, cold))
    decay = motor.armature_inductance / armature
    if scene.kind.winding == "series":      # unsaturated: the most that it can hold
        decay = float(motor.series_winding().inductance(0.0)) / (armature + field)
    stalled = [one.armature for one in (scene.stalled if shorted else scene.stalled[:1])]
    peaks = [one.peak for one in scene.stalled] if shorted else [0.0]
    running = max(scene.worst("armature_current_rms"), scene.worst("switch_current_rms"), key=lambda one: one.value)
    return contactor.ArmatureDemand(
        running=running.value, stalled=max(running.value, *stalled), made=max(peaks), shorted=shorted,
        voltage=gap(scene), at=running.at, coil=voltages(scene.project)[1], mains=scene.alternating,
        decay=decay,
        wheel=scene.kind.line != "bus" and scene.found.fixed.freewheeling)


def gap(scene: Scene) -> float:
    """The highest voltage across the open contact, V: the bus's crest, or that of the mains on phase angle."""
    return max(crest_of(scene.project), scene.worst("bus_voltage_crest", "any").value)


def _parts(scene: Scene) -> SideParts:
    """Contactor, stop and start button; raises ``InputError`` where no contactor bears it."""
    found = chosen(scene)
    if found is None:
        return SideParts()
    part, row = found
    return SideParts(
        parts=(part, *buttons(scene.project, what="armature", back="supply or field return")),
        figures={"armature_contactor_opening": Quantity(row.opening, "s")}, texts={"armature_order": order()})


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
    k, mains = names.of("armature-contactor"), project.supply.is_mains
    if k:
        ends = "line rail" if mains else f"{names.of('main-switch') or 'S1'}, out", (
            "neutral rail" if mains else "supply −")
        yield from coil_rows(names, project, ends=ends, coil=k, why="the coil hangs on the supply that the field hangs "
                             "on: both drop out together")


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
