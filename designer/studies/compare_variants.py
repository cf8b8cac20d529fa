"""The same project on every circuit: what of the file goes with each, what is left out, what is taken instead."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from designer.circuits.case import Circuit, Fixed
from designer.errors import InputError
from designer.project.consistency import contradictions
from designer.project.drive import Circuit as CircuitTable
from designer.project.kinds import CIRCUIT_KINDS, CircuitKind
from designer.project.model import Project
from designer.project.requirements import lacking
from designer.studies import chopper_control
from designer.studies.chopper_control import FREQUENCY
from designer.studies.sides import control
from designer.studies.solve import fixed_of

FLOOR = 0.1      # of the last reading of the curve: a floor under the field current, where none is told
_OF_A_RECTIFIER = ("freewheel", "bridge")     # said of one kind of rectifier, they say nothing of another


@dataclass(frozen=True, kw_only=True)
class Variant:
    """A circuit with the project as it stands for it; ``taken`` says what the file leaves open and how it is filled."""

    circuit: Circuit
    kind: CircuitKind
    project: Project
    taken: tuple[str, ...] = ()


def variant(project: Project, circuit: Circuit) -> Variant:
    """Put ``circuit`` in place of the project's own: keys of other circuits and the setting go.

    The file's own switch is a part of its own circuit; another circuit gets a generic one. A half-wave rectifier has
    the freewheel diode unless the file says otherwise.
    """
    kind, own = CIRCUIT_KINDS[circuit.name], project.circuit
    alike = own.kind is not None and CIRCUIT_KINDS[own.kind].line == kind.line
    kept = {key: getattr(own, key) for key in type(own).model_fields
            if own.given(key) and key in kind.keys and key != kind.setting and (alike or key not in _OF_A_RECTIFIER)}
    taken = []
    if kind.chops and "switching_frequency" not in kept:
        kept["switching_frequency"] = FREQUENCY
        taken.append(f"switching frequency {FREQUENCY / 1e3:g} kHz")
    if kind.line == "half-wave" and "freewheel" not in kept:
        kept["freewheel"] = True
        taken.append("freewheel diode across the motor" if kind.winding == "series" else
                     "freewheel diode across the armature")
    if "starter" in kind.keys:
        taken += list(_field_speed(project, kept))
    parts = project.parts
    if parts.switch is not None and own.kind != kind.name:
        parts = parts.model_copy(update={"switch": None})
        taken.append("a generic switch")
    feeds = project.field_supply if kind.field_supply else None
    made = project.model_copy(update={
        "circuit": CircuitTable(kind=circuit.name, **kept), "parts": parts, "field_supply": feeds})
    return Variant(circuit=circuit, kind=kind, project=made, taken=tuple(taken))


def _field_speed(project: Project, kept: dict[str, Any]) -> Iterator[str]:
    """Starter and floor of a circuit that sets the speed by its field, where the file gives none."""
    if "starter" not in kept:
        kept["starter"] = "resistor"
        yield "a starter of resistor and bypass"
    curve = project.motor.flux_curve
    if "field_floor" not in kept and curve:
        kept["field_floor"] = float(f"{FLOOR * curve[-1][0]:.2g}")
        yield f"a floor of {kept['field_floor']:g} A under the field current"


def faults(one: Variant) -> tuple[InputError, ...]:
    """What of the file does not go with the circuit: its supply, and keys that it needs and the file lacks."""
    return (*contradictions(one.project), *lacking(one.project, "design"))


def prepared(one: Variant) -> Fixed:
    """What all points share, with the likely devices from which a design begins.

    Raises ``InputError`` where no device of its kind would do.
    """
    ready = chopper_control.prepared if one.kind.chops else control(one.kind).prepared
    fixed: Fixed = ready(one.circuit, fixed_of(one.project), one.project)
    return fixed
