"""What kind of motor a connection makes, in numbers of this one: runaway, stiffness, no field, a field in shunt."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from designer.equations import nature as eq
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Quantity, Step
from designer.studies.field_effect import effect
from designer.studies.groups import voltages
from designer.studies.rows import FIELD_LOST, LOAD_STEPS
from designer.studies.survey import LEAST_REMANENCE, Survey, speed_limit

MEAN = 2 * math.sqrt(2) / math.pi     # of a sine's r.m.s.: the mean of its magnitude
BRIDGED = {"half-wave": 0.5 * MEAN, "bridge": MEAN}


def texts(found: Survey, project: Project) -> dict[str, str]:
    """The rows of remarks, by key; those of a series motor, or of a separate field."""
    own = _series(found, project) if found.fixed.field is None else _separate(found, project)
    return {**own, "nature_shunt": _shunt_text(found, project)}


def figures(found: Survey, project: Project) -> Mapping[str, Quantity]:
    """The named figures of the same."""
    current, power = shunt(found, project)
    told = {"field_in_shunt_current": Quantity(current.value, "A"), "field_in_shunt_power": Quantity(power.value, "W")}
    if found.fixed.field is not None:
        told |= {"speed_droop": Quantity(droop(found).value, "rad/(s*N*m)"),
                 "torque_without_field": Quantity(remanent_torque(found).value, "N*m")}
    return told


def worked(found: Survey, project: Project) -> tuple[Step, ...]:
    """The worked lines behind them."""
    own = () if found.fixed.field is None else (droop(found), remanent_torque(found))
    return (*own, *shunt(found, project))


def droop(found: Survey) -> Step:
    """The step for the fall of the speed per N·m at the target, nominal supply, flux and mean voltage held."""
    at, motor = found.held.points, found.fixed.motor
    return Step(formula=eq.SPEED_DROOP, note="at the target, devices and source left out", inputs={
        "R_m": float(at.armature_resistance[1]),
        "k_f": float(motor.curve.at(float(at.field_current[1]), motor.remanence))})


def remanent_torque(found: Survey) -> Step:
    """The step for the torque at rest without field, at the stall current of the setting."""
    motor = found.fixed.motor
    left = motor.curve.remanence or LEAST_REMANENCE * float(motor.curve.at(float(found.held.points.field_current[1])))
    return Step(formula=eq.REMANENT_TORQUE, note="no field current, at rest", inputs={
        "k_r": left, "I_st": math.sqrt(float(found.stall.solved.armature_square[0]))})


def shunt(found: Survey, project: Project) -> tuple[Step, Step]:
    """The steps for the field winding across the armature's supply at full output, high supply: A and W."""
    field = float(found.fixed.motor.resistances(found.thermal.cold, found.thermal.cold)[1])
    told = {"V_sh": _driving(found, project), "R_f": field}
    return (Step(formula=eq.SHUNT_CURRENT, inputs=told, note="field winding across the armature's supply, cold"),
            Step(formula=eq.SHUNT_POWER, inputs=told, note="field winding across the armature's supply, cold"))


def _driving(found: Survey, project: Project) -> float:
    """The direct voltage that the armature's supply can give at high supply, V: bus, or mean of its rectifier.

    Across an alternating supply the winding's reactance would help; the mean of the magnitude is told.
    """
    high, line = voltages(project)[2], CIRCUIT_KINDS[found.circuit.name].line
    if line == "bus":
        return high * (math.sqrt(2) if project.supply.is_mains else 1.0)
    return high * BRIDGED.get(line, MEAN)


def _shunt_text(found: Survey, project: Project) -> str:
    current, power = shunt(found, project)
    runs = math.sqrt(float(np.nan_to_num(found.held.field_square[1])))
    return ("Refused: this field winding in shunt, across the armature's supply. Its few ohms would draw "
            f"{engineering(current.value, 'A', 3)} and burn {engineering(power.value, 'W', 3)} at full output; here "
            f"it carries {engineering(runs, 'A', 3)}. A shunt field needs a winding made for it.")


def _against(limit: float | None, speed: float) -> str:
    """A speed beside the limit."""
    if limit is None:
        return f"{shown(speed, 'rad/s')} (no speed limit known)"
    side = "above" if speed > limit else "within"
    return f"{shown(speed, 'rad/s')}, {side} the limit of {shown(limit, 'rad/s')}"


def _series(found: Survey, project: Project) -> dict[str, str]:
    limit, loaded = speed_limit(project), float(np.nan_to_num(found.held.points.speed[1]))
    setting, full = (found.unloaded[at].speed for at in (0, 1))
    times = f", {setting / loaded:.1f} times its loaded speed" if loaded > 0 else ""
    return {"nature_runaway": (
        "A series motor weakens its own field as its load comes off, and runs away: the motor's shaft unloaded "
        f"at this setting {_against(limit, setting)}{times}; at full output {_against(limit, full)}. Half the voltage "
        "does not make it safe."), "nature_stiffness": _sag(found, "A series motor's speed gives way to its load")}


def _separate(found: Survey, project: Project) -> dict[str, str]:
    limit, falls = speed_limit(project), droop(found)
    lost = max((case.speed for case in found.unloaded if case.name in FIELD_LOST), default=math.nan)
    torque = remanent_torque(found)
    turns = (_against(limit, lost) if math.isfinite(lost) and lost > 0 else "it stands on friction")
    return {
        "nature_stiffness": _sag(
            found, "With its field fed apart the motor's speed falls with the load in a straight line and does not run "
            f"away: {shown(falls.value, 'rad/s')} for each N·m at its shaft by the armature's resistance alone"),
        "nature_turning_point": effect(found)[0],
        "nature_without_field": (
            f"Without field it has {engineering(torque.value, 'N*m', 2)} at rest, next to nothing, at a stall current "
            f"of {engineering(torque.inputs['I_st'], 'A', 3)}; unloaded on its remanence: {turns}."),
    }


def _sag(found: Survey, words: str) -> str:
    """The speeds from no load to the load as written, setting held."""
    ratio = found.fixed.load.ratio
    none, full = (float(found.free.points.speed[at]) / ratio for at in (0, LOAD_STEPS.index(1.0)))
    lost = f", {100 * (none - full) / none:.0f} % less" if none > 0 and math.isfinite(none) else ""
    return f"{words}. From no load to the load as written: {shown(none, 'rad/s')} to {shown(full, 'rad/s')}{lost}."
