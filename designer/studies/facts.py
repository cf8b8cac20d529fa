"""What a finished survey tells in words and named figures: headline, faults, assumptions, wiring."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from designer.circuits.run_up import run_down
from designer.circuits.triac_series import TriacSeries
from designer.equations.motor import COPPER_RESISTANCE, FRICTION, REFERRED_INERTIA
from designer.motor.model import KELVIN
from designer.parts import bleeder
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Assumption, Check, OperatingPoint, Part, Quantity, Step, Warning_
from designer.studies.rows import FRICTION_BOUNDS, LOAD_STEPS
from designer.studies.stall import Stall
from designer.studies.survey import Survey, speed_limit, voltages
from designer.studies.triac_firing import Firing
from designer.studies.triac_power import DEVICE_CAPACITANCE, LEAD_INDUCTANCE, UNKNOWN_START, Power


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
    found: Survey, project: Project, point: OperatingPoint, parts: tuple[Part, ...]
) -> dict[str, Quantity]:
    """The figures at the top of the sheet and behind its cautions."""
    ratio = found.fixed.load.ratio
    low, nominal, high = voltages(project)
    named = {name: Quantity(point[name], point.quantities[name].unit) for name in (  # type: ignore[union-attr]
        "output_speed", "output_torque", "speed", "firing_angle", "line_current_rms", "line_current_peak",
        "input_power",
        "efficiency")}
    limit = speed_limit(project)
    named |= {
        "no_load_speed": Quantity(float(found.free.points.speed[0]) / ratio, "rad/s"),
        "field_energy": Quantity(0.5 * found.fixed.motor.field_inductance * point["line_current_peak"]**2, "J"),
        "unloaded_speed": Quantity(found.unloaded[0].speed, "rad/s"),
        "unloaded_speed_full_conduction": Quantity(found.unloaded[1].speed, "rad/s"),
        "loaded_speed_switch_shorted": Quantity(found.shorted_loaded / ratio, "rad/s"),
        "speed_limit": Quantity(math.inf if limit is None else limit, "rad/s"),
        "stall_torque": Quantity(float(found.stall.solved.torque[0]) * ratio * found.fixed.load.efficiency, "N*m"),
        "stall_current_rms": Quantity(float(found.stall.solved.rms[0]), "A"),
        "winding_temperature_armature": Quantity(float(found.held.warm.armature[1]), "degC"),
        "winding_temperature_field": Quantity(float(found.held.warm.field[1]), "degC"),
        "supply_voltage": Quantity(nominal, "V"), "supply_voltage_min": Quantity(low, "V"),
        "supply_voltage_max": Quantity(high, "V"),
        "supply_frequency": Quantity(float(project.supply.frequency or 0.0), "Hz"),
        "prospective_current": Quantity(project.supply.fault_current, "A"),
    }
    return named | _run_down(found, project) | _discharge(project, parts)


def _run_down(found: Survey, project: Project) -> dict[str, Quantity]:
    """The longest a stop may take: from the highest loaded speed by least friction alone, the load off."""
    if project.motor.inertia is None:
        return {}
    start = float(np.nanmax(found.held.points.speed))
    load = found.fixed.load
    referred = float(REFERRED_INERTIA(J_m=project.motor.inertia, J_load=load.inertia, u=load.ratio))
    time = run_down(found.fixed, start=start, inertia=referred, friction=FRICTION_BOUNDS[0])
    return {"run_down_time": Quantity(time, "s")} if math.isfinite(time) else {}


def _discharge(project: Project, parts: tuple[Part, ...]) -> dict[str, Quantity]:
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
        Assumption(text=f"Leads and supply without the motor: {engineering(LEAD_INDUCTANCE, 'H')} where the source "
            "has less; blocking "
                   f"triac {engineering(DEVICE_CAPACITANCE, 'F')}.", mark="common practice, no source"),
        Assumption(text="Control logic of 5 V ±5 % from a supply with reinforced isolation, not in this parts "
            "list.", mark="assumed"),
    ]
    if project.motor.inertia is None:
        own.append(Assumption(text=f"A start takes {UNKNOWN_START:g} s at the stall current, for want of an inertia.",
                              mark="common practice, no source"))
    if power is not None:
        marks = sorted({mark for mark in power.device.marks.values() if mark != "your file"})
        own += [Assumption(text=f"Switch: {mark}.", mark="generic class") for mark in marks]
    return (*project.assumptions(), *own)


def warnings(found: Survey, point: OperatingPoint, note: str) -> tuple[Warning_, ...]:
    """The operating point's warnings, and those of the range and the start."""
    told = [*point.warnings]
    if found.setting < found.lost_below[0]:
        told.append(Warning_(
            code="loss-of-control-at-start", message="At standstill control is lost below "
            f"{engineering(found.lost_below[0], 'rad')}, later than the setting: switched on there, the motor starts "
            "at full "
            "conduction. Start at a later angle, and never ramp from below it."))
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


def sources(parts: tuple[Part, ...], checks: tuple[Check, ...], kind: TriacSeries) -> tuple[str, ...]:
    """Every source that stands behind a value, a margin or a formula, once."""
    found = [source for part in parts for source in part.sources]
    found += [step.formula.source for part in parts for step in part.worked]
    found += [check.source for check in checks] + [formula.source for formula in kind.formulas]
    # "as for …" and "its own rating" refer to another row; they are told there
    return tuple(sorted({source for source in found if source and not source.startswith(("as for", "its own"))}))


def texts(found: Survey, project: Project, firing: Firing | None) -> dict[str, str]:
    """Summary, what it was computed from, and remarks."""
    ratio = found.fixed.load.ratio
    low, nominal, high = (float(speed) / ratio for speed in found.held.points.speed)
    free = float(found.free.points.speed[0]) / ratio
    told = {
        "summary": f"A triac in series with the motor, fired {engineering(found.setting, 'rad')} after each mains "
            "zero, holds "
        f"{shown(nominal, 'rad/s')} with the load as written: {shown(low, 'rad/s')} at low and {shown(high, 'rad/s')} "
        "at high mains, "
        f"{shown(free, 'rad/s')} with the load off.",
        "computed_from": "the project file's constants and flux curve",
        "saturation": _saturation(found),
    }
    if firing is not None and firing.network:
        told["firing_network"] = firing.network
    elif firing is not None:
        error = math.degrees(2 * math.pi * float(project.supply.frequency or 0.0) * firing.error)
        told["detector_error"] = (f"The zero-cross detector's edge may be off by {error:.2g}°: measure both edges and "
                                  "take their middle.")
    return told


def _saturation(found: Survey) -> str:
    """What the saturating inductance takes off at the target."""
    motor = found.fixed.motor
    if not motor.saturating:
        return "The field inductance is taken as constant."
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
    current = float(np.sqrt(np.nan_to_num(found.held.square[1])))
    named[f"speed constant at {engineering(current, 'A')}"] = Quantity(float(motor.curve.at(current)), "V*s")
    return named
