"""Results as plain dictionaries for JSON: coherent SI units, full precision, names of the contract."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from designer.results import Check, Design, OperatingPoint, Part, Quantity, Rating, Reason, Step, Table, ThermalNode
from designer.studies.own_parts import OwnParts

FORMAT = 1


def quantity(value: Quantity) -> dict[str, Any]:
    """One number with its unit; infinity and nan, which JSON does not know, become null."""
    return {"value": float(value.value) if math.isfinite(value.value) else None, "unit": value.unit}


def _named(values: Mapping[str, Quantity | tuple[Quantity, ...]]) -> dict[str, Any]:
    return {name: [quantity(v) for v in value] if isinstance(value, tuple) else quantity(value)
            for name, value in values.items()}


def point_json(point: OperatingPoint) -> dict[str, Any]:
    """One operating point: quantities, waveform, warnings."""
    return {
        "circuit": point.circuit,
        "quantities": _named(point.quantities),
        "waveform": {name: [float(x) for x in values] for name, values in point.waveform.items()},
        "warnings": [{"code": w.code, "message": w.message} for w in point.warnings],
        "reached": point.reached,
        "format": FORMAT,
    }


def _step(step: Step) -> dict[str, Any]:
    formula = step.formula
    units = {v.name: v.unit for v in formula.inputs}
    return {
        "formula": formula.name, "equation": str(formula.equation),
        "inputs": {name: quantity(Quantity(float(value), units[name])) for name, value in step.inputs.items()},
        "result": quantity(Quantity(step.value, formula.result.unit)), "note": step.note, "source": formula.source,
    }


def _rating(rating: Rating) -> dict[str, Any]:
    return {"name": rating.name, **quantity(rating.limit), "share": rating.share, "source": rating.source}


def _stress(rating: Rating) -> dict[str, Any]:
    return {"name": rating.name, **quantity(rating.stress), "at": rating.at}


def _part(part: Part) -> dict[str, Any]:
    return {
        "role": part.role, "designator": part.designator, "description": part.description, "marking": part.marking,
        "count": part.count, "tolerance": part.tolerance, "value": None if part.value is None else quantity(part.value),
        "ratings": [_rating(r) for r in part.ratings], "stresses": [_stress(r) for r in part.ratings],
        "worked": [_step(s) for s in part.worked], "if_wrong": part.if_wrong, "notes": list(part.notes),
        "sources": list(part.sources),
    }


def _check(check: Check) -> dict[str, Any]:
    return {
        "part": check.part, "rating": check.rating, "stress": quantity(check.stress), "limit": quantity(check.limit),
        "margin": check.margin, "verdict": check.verdict, "source": check.source, "at": check.at,
        "remedy": check.remedy,
    }


def reason_json(reason: Reason) -> dict[str, Any]:
    """One reason with its figures."""
    return {
        "code": reason.code, "message": reason.message,
        "figure": None if reason.figure is None else quantity(reason.figure),
        "limit": None if reason.limit is None else quantity(reason.limit), "way_out": reason.way_out,
        "nearest": _named(reason.nearest),
    }


def _characteristic(design: Design) -> dict[str, Any] | None:
    given = design.characteristic
    if given is None:
        return None

    def curves(lines: Any, x: str, y: str) -> list[dict[str, Any]]:
        return [{"name": line.name, "x": [float(v) for v in line.x], "x_unit": x, "y": [float(v) for v in line.y],
                 "y_unit": y} for line in lines]

    return {
        "setting": given.setting_name, "curves": curves(given.curves, given.setting_unit, "rad/s"),
        "load_curves": curves(given.load_curves, "rad/s", "N*m"), "figures": _named(given.figures),
    }


def _cell(cell: Quantity | str) -> dict[str, Any] | str:
    return cell if isinstance(cell, str) else quantity(cell)


def _table(table: Table) -> dict[str, Any]:
    return {
        "name": table.name, "title": table.title, "columns": list(table.columns),
        "rows": [[_cell(cell) for cell in row] for row in table.rows], "chosen": table.chosen, "note": table.note,
    }


def _node(node: ThermalNode) -> dict[str, Any]:
    told = {"name": node.name, "temperature": quantity(Quantity(node.temperature, "degC"))}
    below = {"resistance": (node.resistance, "K/W"), "loss": (node.loss, "W")}
    return told | {name: quantity(Quantity(value, unit)) for name, (value, unit) in below.items() if value is not None}


def _coordination(one: Any) -> dict[str, Any]:
    """A fuse's time-current lines and what it does."""
    return {
        "fuse": one.fuse, "conclusion": one.conclusion,
        "lines": [{"name": line.name, "kind": line.kind, "current": [float(x) for x in line.x], "current_unit": "A",
                   "time": [float(y) for y in line.y], "time_unit": "s"} for line in one.lines],
        "answers": [{"question": question, "figures": told, "answer": verdict or None}
                    for question, told, verdict in one.answers],
    }


def _heat(design: Design) -> dict[str, Any]:
    """Heat paths of the motor, junctions through a stall, losses, and what else goes with them."""
    return {
        "winding_heat": [[_node(n) for n in stack] for stack in design.winding_heat],
        "junctions": [{"name": c.name, "time": [float(t) for t in c.time], "time_unit": "s",
                       "temperature": [float(t) for t in c.temperature], "temperature_unit": "degC",
                       "limit": quantity(Quantity(c.limit, "degC"))} for c in design.junctions],
        "balances": [{"at": b.at, "input": quantity(Quantity(b.input, "W")),
                      "losses": {name: quantity(Quantity(watts, "W")) for name, watts in b.losses},
                      "useful": {b.useful[0]: quantity(Quantity(b.useful[1], "W"))}} for b in design.balances],
        "coordination": [_coordination(one) for one in design.coordination],
    }


def design_json(design: Design) -> dict[str, Any]:
    """A whole design; one that is not ready carries its stresses but nothing to build from."""
    building: dict[str, Any] = {
        "parts": [_part(part) for part in design.parts],
        "wiring": [vars(wire) for wire in design.wiring],
        "first_power": [_power_step(step) for step in design.first_power],
    } if design.ready else {"parts": [], "wiring": [], "first_power": []}
    return {
        "circuit": design.operating_point.circuit,
        "title": design.project.title,
        "date": design.project.date,
        "verdict": {"verdict": "ready" if design.ready else "not ready",
            "reasons": [reason_json(r) for r in design.reasons]},
        "operating_point": point_json(design.operating_point),
        "further_points": [point_json(point) for point in design.further_points],
        "characteristic": _characteristic(design),
        "headline": _named(design.headline),
        "constants": _named(design.constants),
        "speed_against_load": [
            {"share": quantity(part), "output_torque": quantity(torque), "output_speed": quantity(speed)}
            for part, torque, speed in design.sag],
        "tables": [_table(table) for table in (*design.tables, *design.loop_tables)],
        "motor_checks": [_table(table) for table in design.motor_checks],
        "meters": [_table(table) for table in design.told_meters],
        "earthing": [_table(table) for table in design.earthing] if design.ready else [],
        "checks": [_check(check) for check in design.checks],
        "assumptions": [{"text": a.text, "mark": a.mark} for a in design.assumptions],
        "warnings": [{"code": w.code, "message": w.message} for w in design.warnings],
        "faults": [{"fault": f.fault, "group": f.group, "name": f.name, "figures": _named(f.figures),
                    "first": f.first, "ends_by": f.ends_by, "notice": f.notice} for f in design.faults],
        "thermal": [[_node(n) for n in stack] for stack in design.thermal] if design.ready else [],
        **_tolerance(design),
        **_heat(design),
        "sources": list(design.sources),
        **({} if design.own is None else {"own_parts": own_rows(design.own)}),
        **_loop(design),
        **building,
        "format": FORMAT,
    }


def _loop(design: Design) -> dict[str, Any]:
    """The speed loop and its program, where one holds the speed."""
    if design.holding is None:
        return {}
    from designer.studies.holding_json import loop_json

    return loop_json(design)


def own_rows(own: OwnParts) -> list[dict[str, Any]]:
    """The user's own parts, a row a key and rating; what is not known is null."""
    def plain(value: Any) -> Any:
        if isinstance(value, Quantity):
            return quantity(value)
        return None if isinstance(value, float) and not math.isfinite(value) else value

    return [{name: plain(value) for name, value in vars(row).items()} | {"used": plain(row.used)} for row in own.rows]


def _tolerance(design: Design) -> dict[str, Any]:
    """The corners, and Monte Carlo where it was run."""
    from designer.studies.spread_json import corners_json, spread_json

    return {"corners": corners_json(design.corners), "tolerance": spread_json(design.spread) if design.spread else None}


def _power_step(step: Any) -> dict[str, Any]:
    return {
        "title": step.title, "action": step.action, "stop": step.stop, "caution": step.caution,
        "readings": [{"reading": name, "low": quantity(low), "high": quantity(high)} for name, low,
            high in step.readings],
        "unloaded_speed": None if step.unloaded_speed is None else quantity(step.unloaded_speed),
    }
