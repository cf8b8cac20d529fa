"""What a finished survey tells in words and named figures: headline, faults, assumptions, wiring."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from designer.circuits.run_up import run_down
from designer.equations.formula import Formula
from designer.equations.motor import COPPER_RESISTANCE, FRICTION, REFERRED_INERTIA
from designer.motor.model import KELVIN
from designer.parts import bleeder
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Assumption, Check, OperatingPoint, Part, Quantity, Step, Warning_
from designer.studies import nature
from designer.studies.rows import FIELD_LOST, FRICTION_BOUNDS, LOAD_STEPS
from designer.studies.sides import Power, control
from designer.studies.sides.mains import UNKNOWN_START
from designer.studies.stall import Stall
from designer.studies.survey import Survey, speed_limit, voltages


def numbered(parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """Give every part that is bought a designator of its own: the letters it came with, then 1, 2, 3 …"""
    used: Counter[str] = Counter()
    made = []
    for part in parts:
        letters = (re.match(r"[A-Z]+", part.designator) or [""])[0]
        if not letters or part.count == 0:
            made.append(part)
            continue
        names = []
        for _ in range(part.count):
            used[letters] += 1
            names.append(f"{letters}{used[letters]}")
        made.append(replace(part, designator=", ".join(names)))
    return tuple(made)


def headline(
    found: Survey, project: Project, point: OperatingPoint, power: Power | None
) -> dict[str, Quantity]:
    """The figures at the top of the sheet and behind its cautions."""
    ratio = found.fixed.load.ratio
    low, nominal, high = voltages(project)
    named = {name: quantity for name in (
        "output_speed", "output_torque", "speed", found.circuit.setting, "switching_frequency", "field_current_mean",
        "line_current_rms", "line_current_peak", "armature_current_mean", "armature_current_rms", "bus_voltage_mean",
        "input_power", "efficiency") if isinstance(quantity := point.quantities.get(name), Quantity)}
    limit = speed_limit(project)
    named |= {
        "no_load_speed": Quantity(float(found.free.points.speed[0]) / ratio, "rad/s"),
        "field_energy": Quantity(0.5 * found.fixed.motor.field_inductance * point["field_current_peak"]**2, "J"),
        "unloaded_speed": Quantity(found.unloaded[0].speed, "rad/s"),
        "unloaded_speed_full_conduction": Quantity(found.unloaded[1].speed, "rad/s"),
        "loaded_speed_switch_shorted": Quantity(found.shorted_loaded / ratio, "rad/s"),
        "speed_limit": Quantity(math.inf if limit is None else limit, "rad/s"),
        **_field_lost(found), **nature.figures(found, project),
        "stall_torque": Quantity(float(found.stall.solved.torque[0]) * ratio * found.fixed.load.efficiency, "N*m"),
        "stall_current_rms": Quantity(math.sqrt(float(found.stall.solved.line_square[0])), "A"),
        "stall_current_armature": Quantity(math.sqrt(float(found.stall.solved.armature_square[0])), "A"),
        "winding_temperature_armature": Quantity(float(found.held.warm.armature[1]), "degC"),
        "winding_temperature_field": Quantity(float(found.held.warm.field[1]), "degC"),
        "supply_voltage": Quantity(nominal, "V"), "supply_voltage_min": Quantity(low, "V"),
        "supply_voltage_max": Quantity(high, "V"),
        **({} if project.supply.frequency is None else {"supply_frequency": Quantity(project.supply.frequency, "Hz")}),
        "prospective_current": Quantity(project.supply.fault_current, "A"),
    }
    named |= _run_down(found, project)
    if power is not None:
        named |= discharge(project, power.parts)
        for made in power.sides.values():
            named |= made.figures
    return named


def _field_lost(found: Survey) -> dict[str, Quantity]:
    """The field lost, the setting held: the speed without load, and the current at which a load holds the shaft."""
    lost = [case for case in found.unloaded if case.name == FIELD_LOST[0]]
    if not lost:
        return {}
    current = math.sqrt(float(found.stall.solved.armature_square[0]))
    return {"unloaded_speed_field_lost": Quantity(max(case.speed for case in lost), "rad/s"),
            "stall_current_field_lost": Quantity(current, "A")}


def _run_down(found: Survey, project: Project) -> dict[str, Quantity]:
    """The longest a stop may take: from the highest loaded speed by least friction alone, the load off."""
    if project.motor.inertia is None:
        return {}
    start = max(float(np.nanmax(state.points.speed)) for state in (found.held, *found.targets))
    load = found.fixed.load
    referred = float(REFERRED_INERTIA(J_m=project.motor.inertia, J_load=load.inertia, u=load.ratio))
    time = run_down(found.fixed, start=start, inertia=referred, friction=FRICTION_BOUNDS[0])
    return {"run_down_time": Quantity(time, "s")} if math.isfinite(time) else {}


def discharge(project: Project, parts: tuple[Part, ...]) -> dict[str, Quantity]:
    """Discharge of the capacitor across the plug: as built, and with one bleeder resistor open."""
    capacitor = next((p for p in parts if p.role == "x2-capacitor" and p.value), None)
    if capacitor is None or capacitor.value is None:
        return {}
    peak = math.sqrt(2) * voltages(project)[2]
    limit = bleeder.limit("plug")
    time = next((r.stress for p in parts if p.role == "x2-bleeder" for r in p.ratings if r.name == "discharge time"),
        None)
    return {
        "discharge_time": time or Quantity(math.inf, "s"), "discharge_time_bleeder_open": Quantity(math.inf, "s"),
        "discharge_voltage": Quantity(limit.voltage, "V"),
        "stored_energy": Quantity(0.5 * 1.2 * capacitor.value.value * peak**2, "J"),
    }


def assumptions(project: Project, found: Survey, power: Power | None) -> tuple[Assumption, ...]:
    """What the file leaves unsaid, and what the survey takes as given."""
    own = [
        Assumption(text=f"Friction between {FRICTION_BOUNDS[0]:g} and {FRICTION_BOUNDS[1]:g} times the file's "
            "figures, for want of a "
                   "fit with its uncertainty.", mark="common practice, no source"),
        Assumption(text=f"Cold windings at {engineering(found.thermal.cold, 'degC')}.", mark="assumed"),
    ]
    if project.motor.inertia is None:
        own.append(Assumption(text=f"A start takes {UNKNOWN_START:g} s at the stall current, for want of an inertia.",
                              mark="common practice, no source"))
    if power is not None:
        own += [told for made in power.sides.values() for told in made.assumptions]
    return (*project.assumptions(), *own)


def warnings(found: Survey, point: OperatingPoint, power: Power | None, note: str) -> tuple[Warning_, ...]:
    """The operating point's warnings, those of the control and of the sides."""
    told = [*point.warnings, *control(CIRCUIT_KINDS[found.circuit.name]).warnings(found)]
    if power is not None:
        told += [warning for made in power.sides.values() for warning in made.warnings]
    if note:
        told.append(Warning_(code="harmonics", message=note))
    return tuple(told)


def worked(found: Survey, stalled: tuple[Stall, ...], project: Project) -> tuple[Step, ...]:
    """The motor's own lines of the worked calculations."""
    model = found.fixed.motor
    reference = model.winding_temperature + KELVIN
    warm = found.held.taken
    steps = [
        Step(formula=COPPER_RESISTANCE, note=f"{name} winding at the target",
             inputs={"R_ref": resistance, "T": float(temperature[1]) + KELVIN, "T_ref": reference})
        for name, resistance, temperature in (
            ("armature", model.armature_resistance, warm.armature), ("field", model.field_resistance, warm.field))
        if math.isfinite(float(temperature[1]))
    ]
    steps.append(Step(formula=FRICTION, note="friction at the target", inputs={
        "T_0": model.friction_torque, "b": model.viscous_friction, "omega": float(found.held.points.speed[1]),
        "c_w": model.windage}))
    steps += nature.worked(found, project)
    stall_steps = (replace(stall.step, note=f"{stall.name}: {stall.step.note}") for stall in stalled if stall.step)
    return (*steps, *stall_steps)


def sag(found: Survey) -> tuple[tuple[Quantity, Quantity, Quantity], ...]:
    """The output speed with the setting held at nominal mains, for shares of the load: share, torque, speed."""
    ratio, load = found.fixed.load.ratio, found.fixed.load
    rows = []
    for step, speed in zip(LOAD_STEPS, found.free.points.speed[: len(LOAD_STEPS)].tolist(), strict=True):
        turns = max(speed, 0.0) / ratio if math.isfinite(speed) else math.nan
        torque = step * float(load.at_output(turns)) if math.isfinite(turns) else math.nan
        rows.append((Quantity(step, "1"), Quantity(torque, "N*m"), Quantity(turns, "rad/s")))
    return tuple(rows)


def sources(parts: tuple[Part, ...], checks: tuple[Check, ...], formulas: tuple[Formula, ...]) -> tuple[str, ...]:
    """Every source that stands behind a value, a margin or a formula, once."""
    found = [source for part in parts for source in part.sources]
    found += [step.formula.source for part in parts for step in part.worked]
    found += [check.source for check in checks] + [formula.source for formula in formulas]
    # "as for …" and "its own rating" refer to another row; they are told there
    return tuple(sorted({source for source in found if source and not source.startswith(("as for", "its own"))}))


def texts(found: Survey, project: Project, power: Power | None) -> dict[str, str]:
    """Summary, what it was computed from, and remarks."""
    told = {
        **control(CIRCUIT_KINDS[found.circuit.name]).summary(found, project),
        "computed_from": "the project file's constants and flux curve", "saturation": _saturation(found),
        **nature.texts(found, project),
    }
    for made in power.sides.values() if power else ():
        told |= made.texts
    return told


def _saturation(found: Survey) -> str:
    """What the saturating inductance takes off at the target."""
    motor = found.fixed.motor
    if not motor.saturating:
        return "The field inductance is taken as constant."
    if found.fixed.field is not None:
        return "The field current stands still: its inductance delays a change and shapes nothing else."
    current = float(np.sqrt(found.held.square[1]))
    inductance = float(found.fixed.motor.series_winding().inductance(current))
    start = float(found.fixed.motor.series_winding().inductance(0.0))
    return (f"At {engineering(current, 'A')} saturation takes the inductance of both windings from "
        f"{engineering(start, 'H')} to "
            f"{engineering(inductance, 'H')}; with a constant inductance the angle would come out smaller and the "
            "peak lower.")


def constants(found: Survey, project: Project) -> Mapping[str, Quantity]:
    """The motor as used, by the names of the project file."""
    motor = found.fixed.motor
    named = {
        "armature_resistance": Quantity(motor.armature_resistance, "ohm"),
        "field_resistance": Quantity(motor.field_resistance, "ohm"),
        "winding_temperature": Quantity(motor.winding_temperature, "degC"),
        "armature_inductance": Quantity(motor.armature_inductance, "H"),
        "field_inductance": Quantity(motor.field_inductance, "H"),
        "brush_drop": Quantity(motor.brush_drop, "V"), "friction_torque": Quantity(motor.friction_torque, "N*m"),
        "viscous_friction": Quantity(motor.viscous_friction, "N*m*s"), "windage": Quantity(motor.windage, "N*m*s**2"),
    }
    if project.motor.insulation_resistance is not None:
        named["insulation_resistance"] = Quantity(project.motor.insulation_resistance, "ohm")
    if motor.inertia is not None:
        named["inertia"] = Quantity(motor.inertia, "kg*m**2")
    current = float(np.sqrt(np.nan_to_num(found.held.field_square[1])))
    named[f"speed constant at {engineering(current, 'A')}"] = Quantity(float(motor.curve.at(current)), "V*s")
    return named
