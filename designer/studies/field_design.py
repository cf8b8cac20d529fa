"""The whole of a field winding's own chopper: states, parts, checks, first power and sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from designer.checks import check
from designer.circuits.case import Chopping, Drop, Feed
from designer.circuits.field_chopper import CIRCUIT, FieldPoints
from designer.circuits.field_path import FieldCell
from designer.parts import winding
from designer.parts.margins import share
from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Assumption, Check, Design, OperatingPoint, PowerStep, Quantity, Reason
from designer.studies import facts
from designer.studies.balances import balance
from designer.studies.bench import around, dead
from designer.studies.chopper_control import FREQUENCY, LIKELY_DIODE, LIKELY_HIGH, LIKELY_LOW, LOW_BUS
from designer.studies.earthing import earthing
from designer.studies.earthing_worked import earthing_steps
from designer.studies.fault_table import answered
from designer.studies.feeds import likely_feed
from designer.studies.field_only import cell_of, resistance_at
from designer.studies.fuse_coordination import coordination
from designer.studies.groups import Group, voltages
from designer.studies.line_harmonics import line_checks
from designer.studies.meter_waves import meter_points
from designer.studies.meters import supply_meters
from designer.studies.power import power
from designer.studies.refusals import failed, supply_reasons
from designer.studies.rows import FREQUENCY_SPREAD
from designer.studies.sides import Power, Scene, side
from designer.studies.wiring import wiring

MOST_ROUNDS, SETTLING = 6, 200
ACCURACY = 1e-6
BENCH = 12.0           # V d.c. of a bench supply


@dataclass(frozen=True, kw_only=True)
class _Round:
    """What is known on the way: what stands before the chopper, the chopper itself, the duty held."""

    feed: Feed
    cell: FieldCell
    duty: float
    limit: float = np.inf      # A, upper end of the current limit; infinite until it is chosen


def field_design(kind: CircuitKind, project: Project) -> Design:
    """Design it; what cannot be made safe comes back with its reasons, and nothing to build from."""
    now = _begun(project)
    for _ in range(MOST_ROUNDS):
        scene = _scene(kind, project, now)
        told = scene.groups["any"][0].stresses
        loss = sum(float(np.max(told[name])) for name in ("switch_loss", "freewheel_loss", "rectifier_loss")
                   if name in told)
        built, lacking = power(scene, loss=loss)
        after = now if built is None else _chosen(project, now, built)
        if after == now:
            break
        now = after
    parts = facts.numbered(built.parts) if built else ()
    sides = tuple(built.sides.values()) if built else ()
    held = line_checks(scene)
    checks: tuple[Check, ...] = (
        *(c for part in parts for c in check(part)), *held.checks,
        *(c for one in sides for c in one.checks))
    solved = CIRCUIT.solve(now.feed, now.cell, _points(project, now.duty), exact="all")
    point = CIRCUIT.operating_point(solved)
    stands = (*supply_reasons(project), *_reached(project, point), *_heat(project, scene),
              *(r for name in kind.sides for r in side(name).reasons(scene)),
              *(r for one in sides for r in one.reasons), *held.reasons, *lacking)
    texts = {"summary": _summary(point), "computed_from": "the project file"}
    for one in sides:
        texts |= one.texts
    return Design(
        project=project, circuit_title=CIRCUIT.title, operating_point=point, further_points=(), characteristic=None,
        parts=parts, checks=checks, reasons=(*stands, *failed(checks)),
        assumptions=(*project.assumptions(), *(a for one in sides for a in one.assumptions), *_open_loop()),
        warnings=(*point.warnings, *(w for one in sides for w in one.warnings)),
        worked=tuple(step for one in sides for step in one.worked), thermal=built.thermal if built else (),
        earthing=earthing(scene, built), earthing_worked=earthing_steps(scene, built),
        faults=answered(scene, built, (case for name in kind.sides for case in side(name).faults(scene, built))),
        first_power=_first_power(project, point), wiring=wiring(kind, parts, project, texts),
        sources=facts.sources(parts, checks, CIRCUIT.formulas), headline=_headline(project, point, built),
        texts=texts, tables=tuple(table for one in sides for table in one.tables),
        coordination=coordination(scene, built, parts),
        meters=supply_meters(meter_points(point, solved, frequency=project.supply.frequency or 0.0), project),
        balances=tuple(one for one in (balance(point, at="at the load, nominal supply"),) if one))


def _begun(project: Project) -> _Round:
    """Likely devices and bus where the file gives none; the duty of the file, or that of its field current."""
    crest = voltages(project)[2] * (np.sqrt(2.0) if project.supply.is_mains else 1.0)
    cell = cell_of(project, frequency=project.circuit.switching_frequency or FREQUENCY, tolerance=ACCURACY)
    if project.parts.switch is None:
        cell = replace(cell, switch=LIKELY_LOW if crest < LOW_BUS else LIKELY_HIGH)
    if project.parts.freewheel is None:
        cell = replace(cell, freewheel=LIKELY_DIODE)
    wanted = project.circuit.field_current or (project.circuit.duty or 0.5) * crest / resistance_at(project, None)
    power_share = 0.3 * wanted
    feed = likely_feed(project, current=power_share)
    return _Round(feed=feed, cell=cell, duty=_duty(project, feed, cell))


def _duty(project: Project, feed: Feed, cell: FieldCell) -> float:
    """The duty that is held."""
    if project.circuit.field_current is None:
        return float(project.circuit.duty or 0.0)
    found = CIRCUIT.holding(feed, cell, _points(project, 0.5), np.array([project.circuit.field_current]))
    return float(found.points.duty[0])


def _points(project: Project, duty: float) -> FieldPoints:
    supply = project.supply
    return FieldPoints(
        voltage=np.array([float(supply.voltage or 0.0)]), frequency=np.array([float(supply.frequency or 0.0)]),
        duty=np.array([duty]), resistance=np.array([resistance_at(project, project.motor.field_temperature)]))


def _chosen(project: Project, now: _Round, built: Power) -> _Round:
    feed, cell, limit = now.feed, now.cell, now.limit
    for made in built.sides.values():
        feed = replace(feed, rectifier=made.drops.get("rectifier", feed.rectifier),
                       reservoir=made.reservoir or feed.reservoir, choke=made.choke or feed.choke,
                       limiter=made.limiter or feed.limiter)
        cell = replace(cell, switch=_drop(made.drops, "switch", cell.switch),
                       freewheel=_drop(made.drops, "freewheel", cell.freewheel))
        limit = limit if made.chopping is None else made.chopping.current_limit
    return _Round(feed=feed, cell=cell, duty=_duty(project, feed, cell), limit=limit)


def _drop(drops: Mapping[str, Drop], name: str, other: Drop) -> Drop:
    return drops.get(name, other)


def _scene(kind: CircuitKind, project: Project, now: _Round) -> Scene:
    """The duty held at low, nominal and high supply, slow and fast, the winding cold and as told."""
    nominal = float(project.supply.frequency or 0.0)
    cold, warm = project.ambient.temperature_min, project.motor.field_temperature
    windings = (("winding cold", resistance_at(project, cold)), ("winding as told", resistance_at(project, warm)))
    rows = [(volts, nominal * (1 + spread * FREQUENCY_SPREAD), ohms, name) for volts, spread, (name, ohms) in product(
        voltages(project), (-1, 1) if nominal else (0,), windings)]
    volts, hertz, ohms = (np.array([row[k] for row in rows], float) for k in range(3))
    points = FieldPoints(voltage=volts, frequency=hertz, duty=np.full(len(rows), now.duty), resistance=ohms)
    labels = tuple(f"{engineering(row[0], 'V')}, {row[3]}" for row in rows)
    group = Group(labels=labels, points=points, solved=CIRCUIT.solve(now.feed, now.cell, points), circuit=CIRCUIT)
    ambient = project.ambient.counted_temperature
    chopping = Chopping(frequency=now.cell.frequency, current_limit=now.limit)
    return Scene(kind=kind, circuit=CIRCUIT, fixed=None, chopping=chopping, project=project, ambient=ambient,
                 box=ambient, groups={"running": (group,), "any": (group,), "stall": ()})


def _reached(project: Project, point: OperatingPoint) -> Iterator[Reason]:
    wanted = project.circuit.field_current
    if wanted is not None and point["field_current_mean"] < wanted * (1 - 1e-4):
        yield Reason(
            code="not-reachable", message="Fully on, the supply does not drive the field current asked for.",
            figure=Quantity(point["field_current_mean"], "A"), limit=Quantity(wanted, "A"),
            way_out="A higher supply voltage, or less field current.")


def _heat(project: Project, scene: Scene) -> Iterator[Reason]:
    """The winding's steady temperature at the highest supply, its duty held, at rest: no fan blows."""
    motor = project.motor
    ohms = motor.thermal_resistance_field
    limits = winding.limits(motor.thermal_class or "A")
    limit = limits.running * share("winding_temperature", scene.margins)[0]
    if ohms is None or motor.winding_temperature is None:
        yield Reason(
            code="field-heat", message="How hot the winding gets cannot be told.", limit=Quantity(limit, "degC"),
            way_out="motor.thermal_resistance_field (at standstill) and motor.winding_temperature.")
        return
    volts = float(np.max(scene.groups["running"][0].stresses["field_current_mean"] * scene.groups[
        "running"][0].points.resistance))      # mean across the winding, which the duty holds
    ambient = project.ambient.counted_temperature
    warm = ambient
    for _ in range(SETTLING):
        warm = ambient + ohms * volts**2 / resistance_at(project, warm)
    if warm > limit:
        yield Reason(
            code="field-heat", message=f"The field, left on with the shaft at rest, gets too hot for class "
            f"{limits.thermal_class}.", figure=Quantity(warm, "degC"), limit=Quantity(limit, "degC"),
            way_out="Less field current, forced air, or a duty that is lowered at rest.")


def _open_loop() -> tuple[Assumption, ...]:
    return (Assumption(text="The duty is held, not the current: a cold winding takes more, a hot one less, and the "
                       "field follows the supply.", mark="assumed"),)


def _summary(point: OperatingPoint) -> str:
    return (f"A chopper of {engineering(point['switching_frequency'], 'Hz')} feeds the field winding with a duty of "
            f"{100 * point['duty']:.1f} %: {engineering(point['field_current_mean'], 'A')} at "
            f"{engineering(point['bus_voltage_mean'], 'V')}, with {engineering(point['field_current_ripple'], 'A')} "
            "of ripple.")


def _first_power(project: Project, point: OperatingPoint) -> tuple[PowerStep, ...]:
    volts = float(project.supply.voltage or 0.0)
    cold = resistance_at(project, None)
    bench = min(BENCH, volts)
    return (
        *dead(project),
        PowerStep(
            title=f"The winding on {bench:g} V d.c.",
            action="Bench supply, limit at the current below. Current read with a d.c. ammeter; then the supply is "
            "switched off, never a lead pulled.",
            readings=(around("field current", bench / cold, "A"),),
            stop="No current, or one far off: a broken winding, a tap in the place of the end.",
            caution="A lead pulled off under current bites."),
        PowerStep(
            title=f"The power circuit on {bench:g} V d.c.",
            action="Bench supply on the bus, gate supply first, gate voltage on the oscilloscope, duty up from zero to "
            f"{100 * point['duty']:.0f} %.",
            readings=(around("field current", point["duty"] * bench / cold, "A"),),
            stop="Current without a gate signal: transistor or diode wired wrong or shorted."),
        PowerStep(
            title="Full supply", mains=project.supply.is_mains,
            action=f"Duty up from zero to {100 * point['duty']:.1f} %. The bands are for {engineering(volts, 'V')}.",
            readings=(around("field current, d.c. range", point["field_current_mean"], "A"),
                      around("bus voltage, d.c. range", point["bus_voltage_mean"], "V")),
            stop="Any reading outside its band: off, wait until the bus is measured below 60 V, back one step.",
            caution="The discharge of the bus is measured, not trusted."))


def _headline(project: Project, point: OperatingPoint, built: Power | None) -> dict[str, Quantity]:
    low, nominal, high = voltages(project)
    names = ("duty", "switching_frequency", "field_current_mean", "field_current_ripple", "bus_voltage_mean",
             "bus_voltage_valley", "bus_voltage_crest", "line_current_rms", "line_current_peak", "input_power",
             "capacitor_current_rms", "power_factor")
    named = {name: value for name in names if isinstance(value := point.quantities.get(name), Quantity)}
    named |= {"supply_voltage": Quantity(nominal, "V"), "supply_voltage_min": Quantity(low, "V"),
              "supply_voltage_max": Quantity(high, "V"),
              "prospective_current": Quantity(project.supply.fault_current, "A")}
    if project.supply.frequency is not None:
        named["supply_frequency"] = Quantity(project.supply.frequency, "Hz")
    if built is not None:
        named |= facts.discharge(project, built.parts)
        for made in built.sides.values():
            named |= made.figures
    return named
