"""A supply without a motor: one point for ``solve``, and parts, checks and sheet for ``design``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import product

import numpy as np

from designer.checks import HarmonicResult, check
from designer.circuits.case import Feed
from designer.circuits.rectifier import CIRCUIT, SupplyPoints
from designer.errors import InputError
from designer.project.kinds import CIRCUIT_KINDS, CircuitKind
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Assumption, Design, OperatingPoint, Quantity, Reason
from designer.studies import choke_choice, facts
from designer.studies.balances import balance
from designer.studies.earthing import earthing
from designer.studies.earthing_worked import earthing_steps
from designer.studies.fault_table import answered
from designer.studies.feeds import feed_of, likely_feed
from designer.studies.field_design import field_design
from designer.studies.field_only import solve_field
from designer.studies.fuse_coordination import coordination
from designer.studies.groups import Group, voltages
from designer.studies.line_harmonics import line_checks
from designer.studies.meter_waves import meter_points
from designer.studies.meters import supply_meters
from designer.studies.power import power
from designer.studies.refusals import failed, supply_reasons
from designer.studies.rows import FREQUENCY_SPREAD
from designer.studies.sides import Power, Scene, side
from designer.studies.supply_bench import first_power
from designer.studies.wiring import wiring

MOST_ROUNDS = 4


def solve_supply(project: Project) -> OperatingPoint:
    """Solve the supply at its load current, or the field winding on its chopper; warns where the load overwhelms it."""
    if CIRCUIT_KINDS[str(project.circuit.kind)].winding == "field-only":
        return solve_field(project)
    feed = feed_of(project)
    if feed.reservoir is None:
        raise InputError("parts.reservoir.capacitance", None, "a value", "The bus needs a reservoir.")
    point = _point(project, feed)
    if np.isfinite(point["bus_voltage_mean"]):
        return point
    # no steady state: what is left to tell is the source
    told = {name: value for name, value in point.quantities.items()
            if isinstance(value, Quantity) and name in ("load_current",)}
    wave = {name: point.waveform[name] for name in ("angle", "source_voltage")}
    return replace(point, reached=False, quantities=told, waveform=wave)


def _point(project: Project, feed: Feed) -> OperatingPoint:
    supply = project.supply
    return CIRCUIT.operating_point(CIRCUIT.solve(feed, SupplyPoints(
        voltage=np.array([supply.voltage]), frequency=np.array([supply.frequency]),
        current=np.array([project.load.current]))))


def supply_only(kind: CircuitKind, project: Project) -> Design:
    """Design the supply; what cannot be made safe comes back with its reasons, and nothing to build from."""
    if kind.winding == "field-only":
        return field_design(kind, project)
    feed = first_feed(project)
    for _ in range(MOST_ROUNDS):
        scene = _scene(kind, project, feed)
        told = scene.groups["any"][0].stresses
        built, lacking = power(scene, loss=float(np.max(told["rectifier_loss"] + told["choke_loss"])))
        after = feed if built else replace(feed, choke=choke_choice.choose(scene).choke)
        for made in built.sides.values() if built else ():
            after = replace(after, rectifier=made.drops.get("rectifier", after.rectifier),
                            reservoir=made.reservoir or after.reservoir, choke=made.choke, limiter=made.limiter)
        if after == feed:
            break
        feed = after
    parts = facts.numbered(built.parts) if built else ()
    sides = tuple(built.sides.values()) if built else ()
    held = line_checks(scene)
    checks = (*(c for part in parts for c in check(part)), *held.checks, *(c for one in sides for c in one.checks))
    stands = (*supply_reasons(project), *(r for name in kind.sides for r in side(name).reasons(scene)),
              *(r for one in sides for r in one.reasons), *held.reasons, *lacking, *_overwhelmed(scene))
    point = _point(project, feed)
    texts = _texts(scene, point, sides)
    notes = (*point.warnings, *(w for one in sides for w in one.warnings))
    return Design(
        project=project, circuit_title=CIRCUIT.title, operating_point=point, further_points=(), characteristic=None,
        parts=parts, checks=checks, reasons=(*stands, *failed(checks)),
        assumptions=(*project.assumptions(), *(a for one in sides for a in one.assumptions), *_assumed(held)),
        warnings=notes, worked=tuple(step for one in sides for step in one.worked),
        thermal=built.thermal if built else (),
        earthing=earthing(scene, built), earthing_worked=earthing_steps(scene, built),
        faults=answered(scene, built, (case for name in kind.sides for case in side(name).faults(scene, built))),
        meters=supply_meters(meter_points(point, None, frequency=project.supply.frequency or 0.0), project),
        first_power=first_power(project, point), wiring=wiring(kind, parts, project, texts),
        sources=facts.sources(parts, checks, CIRCUIT.formulas), headline=_headline(project, point, built),
        texts=texts, tables=tuple(table for one in sides for table in one.tables),
        coordination=coordination(scene, built, parts),
        balances=tuple(one for one in (balance(point, at="at the load, nominal supply"),) if one))


def first_feed(project: Project) -> Feed:
    """The feed of the file; where it gives no reservoir or rectifier, a likely one to begin the survey with."""
    return likely_feed(project, current=float(project.load.current or 0.0))


def _scene(kind: CircuitKind, project: Project, feed: Feed) -> Scene:
    """Load at low, nominal and high mains, slow and fast; and no load at high mains."""
    nominal = float(project.supply.frequency or 0.0)
    rows = [(volts, nominal * (1 + side_ * FREQUENCY_SPREAD), load) for volts, side_, load in product(
        voltages(project), (-1, 0, 1), (float(project.load.current or 0.0), 0.0))]
    volts, hertz, current = (np.array(column) for column in zip(*rows, strict=True))
    points = SupplyPoints(voltage=volts, frequency=hertz, current=current)
    labels = tuple(f"{engineering(v, 'V')}, {engineering(f, 'Hz')}, {'full load' if i else 'no load'}"
                   for v, f, i in rows)
    group = Group(labels=labels, points=points, solved=CIRCUIT.solve(feed, points), circuit=CIRCUIT)
    ambient = project.ambient.counted_temperature
    return Scene(kind=kind, circuit=CIRCUIT, fixed=None, project=project, ambient=ambient, box=ambient,
                 groups={"running": (group,), "any": (group,), "stall": ()})


def _assumed(held: HarmonicResult) -> tuple[Assumption, ...]:
    return (Assumption(text=held.note, mark="IEC 61000-3-2"),) if held.note else ()


def _overwhelmed(scene: Scene) -> tuple[Reason, ...]:
    stood = scene.groups["running"][0].solved.bus
    lost = np.flatnonzero(~np.isfinite(stood.mean))
    if not lost.size:
        return ()
    group = scene.groups["running"][0]
    return (Reason(
        code="overloaded", message=f"The load overwhelms the source at {group.labels[int(lost[0])]}: the bus falls to "
        "zero in every half cycle.", figure=Quantity(float(scene.project.load.current or 0.0), "A"),
        way_out="Less current, a larger reservoir, or a stiffer supply."),)


def _texts(scene: Scene, point: OperatingPoint, sides: tuple[object, ...]) -> dict[str, str]:
    told = {
        "summary": f"A bridge charges a reservoir, which gives {engineering(point['load_current'], 'A')} at "
        f"{engineering(point['bus_voltage_mean'], 'V')}: between {engineering(point['bus_voltage_valley'], 'V')} and "
        f"{engineering(point['bus_voltage_crest'], 'V')} twice in every cycle of the mains.",
        "computed_from": "the project file",
    }
    for one in sides:
        told |= getattr(one, "texts", {})
    return told


def _headline(project: Project, point: OperatingPoint, built: Power | None) -> Mapping[str, Quantity]:
    low, nominal, high = voltages(project)
    names = ("load_current", "bus_voltage_mean", "bus_voltage_valley", "bus_voltage_crest", "line_current_rms",
             "line_current_peak", "capacitor_current_rms", "input_power", "load_power", "efficiency", "power_factor")
    named = {name: value for name in names if isinstance(value := point.quantities.get(name), Quantity)}
    named |= {
        "supply_voltage": Quantity(nominal, "V"), "supply_voltage_min": Quantity(low, "V"),
        "supply_voltage_max": Quantity(high, "V"),
        "supply_frequency": Quantity(float(project.supply.frequency or 0.0), "Hz"),
        "prospective_current": Quantity(project.supply.fault_current, "A"),
    }
    if built is not None:
        named |= facts.discharge(project, built.parts)
        for made in built.sides.values():
            named |= made.figures
    return named
