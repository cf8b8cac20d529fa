"""The bridge side: thyristors and diodes that rectify both half cycles, in one of three forms; motor and diode across.

Common-cathode: two thyristors on the plus side, two diodes on the minus side. One-leg: both thyristors in the line's
leg, both diodes in the neutral's. Diodes-thyristor: four diodes, one thyristor on their plus side.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from designer.parts.bridge_classes import DIODES
from designer.project.model import Project
from designer.results import FaultCase
from designer.studies import phase_cut, rectified_control, rectified_faults
from designer.studies.rectified_bench import first_power
from designer.studies.rectified_side import rectified
from designer.studies.rectified_wires import choke_row, driver_rows, each, motor_rows, power_wire, snubber_rows
from designer.studies.sides import Control, Names, Power, Row, Scene, Side, SideParts

#: thyristors and diodes of each form
COUNTS: Mapping[str, tuple[int, int]] = {"common-cathode": (2, 2), "one-leg": (2, 2), "diodes-thyristor": (1, DIODES)}


def _counts(scene: Scene) -> tuple[int, int]:
    assert scene.fixed is not None
    return COUNTS[scene.fixed.bridge]


def _parts(scene: Scene) -> SideParts:
    """Thyristors and diodes of the form; raises ``InputError`` where a part cannot be had."""
    thyristors, diodes = _counts(scene)
    made = rectified(scene, thyristors=thyristors, diodes=diodes)
    assert scene.fixed is not None
    # the form goes along, for wiring and diagram
    return replace(made, texts={**made.texts, "bridge_form": scene.fixed.bridge})


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """Rails to bridge, bridge to motor, and what fires the thyristors."""
    wire, form = power_wire(names), texts.get("bridge_form", "")
    yield from choke_row(names)
    if form == "diodes-thyristor":
        module, q = names.of("bridge") or "BR1", names.of("switch") or "Q1"
        yield "line rail", f"{module}, one ~", wire, ""
        yield "neutral rail", f"{module}, other ~", wire, ""
        yield f"{module}, +", f"{q}, anode", wire, "no capacitor here: the thyristor turns off at the zeros only"
        yield from motor_rows(names, project, plus=f"{q}, cathode", minus=f"{module}, −")
    else:
        yield from _legs(names, form, wire)
        yield from motor_rows(names, project, plus="plus of the bridge", minus="minus of the bridge")
    yield from snubber_rows(names)
    if names.of("gate-driver"):
        yield from driver_rows(names)


def _legs(names: Names, form: str, wire: str) -> Iterator[Row]:
    """The four devices of a half-controlled bridge, each by both its ends."""
    first, second = (*each(names, "switch"), "Q1", "Q2")[:2]
    one, other = (*each(names, "rectifier-diode"), "D1", "D2")[:2]
    plus, minus = "plus of the bridge", "minus of the bridge"
    ends = (
        (first, "line rail", plus), (second, "neutral rail", plus), (one, minus, "line rail"),
        (other, minus, "neutral rail"),
    ) if form == "common-cathode" else (
        (first, "line rail", plus), (second, minus, "line rail"), (one, "neutral rail", plus),
        (other, minus, "neutral rail"))
    for name, anode, cathode in ends:
        yield anode, f"{name}, anode", wire, ""
        yield f"{name}, cathode", cathode, wire, ""


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    return rectified_faults.faults(scene, power, diodes=_counts(scene)[1])


SIDE = Side(
    parts=_parts, wires=_wires, reasons=rectified_control.reasons, faults=_faults,
    control=Control(
        prepared=rectified_control.prepared, first_power=first_power, rows=phase_cut.bench_rows,
        look=rectified_control.look, figures=rectified_control.figures, warnings=rectified_control.warnings,
        span=rectified_control.span, summary=rectified_control.summary, full_is_shorted=lambda _: True))
