"""The thyristor side: one thyristor in the line, half-wave, with or without a freewheel diode across the motor."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from designer.project.model import Project
from designer.results import FaultCase
from designer.studies import rectified_control, rectified_faults
from designer.studies.rectified_bench import first_power
from designer.studies.rectified_side import rectified
from designer.studies.rectified_wires import choke_row, driver_rows, motor_rows, power_wire, snubber_rows
from designer.studies.sides import Control, Names, Power, Row, Scene, Side, SideParts


def _parts(scene: Scene) -> SideParts:
    """One thyristor and what belongs to it; raises ``InputError`` where a part cannot be had."""
    return rectified(scene, thyristors=1, diodes=0)


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """Line, thyristor, motor, neutral in one loop; the diode across the motor; what fires the thyristor."""
    q = names.of("switch") or "Q1"
    if names.of("flyback-diode"):
        yield from choke_row(names)
    yield "line rail", f"{q}, anode", power_wire(names), ""
    yield from motor_rows(names, project, plus=f"{q}, cathode", minus="neutral rail")
    yield from snubber_rows(names)
    if names.of("gate-driver"):
        yield from driver_rows(names)


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    return rectified_faults.faults(scene, power, diodes=0)


SIDE = Side(
    parts=_parts, wires=_wires, reasons=rectified_control.reasons, faults=_faults,
    control=Control(
        prepared=rectified_control.prepared, first_power=first_power, look=rectified_control.look,
        figures=rectified_control.figures, warnings=rectified_control.warnings, span=rectified_control.span,
        # shorted without a diode it passes the other half too
        summary=rectified_control.summary, full_is_shorted=lambda fixed: fixed.freewheeling))
