"""Conditions whose speeds a survey finds in one go: corners, load steps, small changes, the load lost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

import numpy as np

from designer.circuits import circuit
from designer.circuits.case import Circuit, Fixed, Points
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Array
from designer.studies.conditions import State, Thermal
from designer.studies.control_error import parts_that_move, setting_error

#: lower and upper bound of the friction, as factors, where no fit gives its uncertainty; common practice, no source
FRICTION_BOUNDS = (0.7, 1.3)
FREQUENCY_SPREAD = 0.01
LOAD_STEPS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5)
UNLOADED = ("load lost at the setting", "load lost, switch shorted")
FIELD_LOST = ("field and load lost at the setting", "field and load lost, switch shorted")
FIELD_LOST_LOADED = ("field lost, load on, at the setting", "field lost, load on, switch shorted")
SHORTED = "load on, switch shorted"
UNLOADED_GUESS = 3.0        # of the loaded speed: where the search for an unloaded one begins
STEP_PART = 1 / 360         # of the setting's range (half a degree of firing angle): small changes about the target
STEP_SHARE = 0.05
STEP_KELVIN = 10.0
PROBES = ("setting −", "setting +", "load −", "load +", "supply −", "supply +", "temperature −", "temperature +")


@dataclass(frozen=True, kw_only=True)
class Rows:
    """Conditions at which the speed is to be found, a label each."""

    labels: tuple[str, ...]
    points: Points


def setting_step(circuit: Circuit, fixed: Fixed) -> float:
    """The small change of the setting about the target: a part of its range (rad or share)."""
    most, least = circuit.setting_range(fixed)
    return abs(least - most) * STEP_PART


def corner_rows(fixed: Fixed, thermal: Thermal, project: Project, held: State) -> Rows:
    """Full factorial of supply, frequency, windings, friction and load, the setting held.

    The control's parts are with the supply: they take output away at low supply and add some at high supply.
    """
    nominal = float(project.supply.frequency or 0.0)
    cold = fixed.motor.resistances(thermal.cold, thermal.cold)
    hot = held.points.armature_resistance, held.points.field_resistance
    rows, labels = [], []
    loads = (("no load", 0.0), ("full load", 1.0))
    spread = (-1, 1) if nominal else (0,)
    told, settings = _held_by_parts(project, fixed, held)
    for m, f, winding, friction, (name, load) in product((0, 2), spread, ("cold", "hot"), FRICTION_BOUNDS, loads):
        volts, hertz = float(held.points.voltage[m]), nominal * (1 + f * FREQUENCY_SPREAD)
        r_a, r_f = (float(r[m]) for r in hot) if winding == "hot" else (float(r) for r in cold)
        rows.append((volts, hertz, settings[m], r_a, r_f, friction, load))
        mains = f"{engineering(hertz, 'Hz')}, " if nominal else ""
        labels.append(f"{engineering(volts, 'V')}, {mains}{told[m]}"
                      f"windings {winding}, friction × {friction:g}, {name}")
    names = ("voltage", "frequency", "setting", "armature_resistance", "field_resistance", "friction", "load")
    columns = dict(zip(names, np.array(rows).T, strict=True))
    guess = np.where(columns["load"] > 0, 1.0, UNLOADED_GUESS if fixed.field is None else 1.0)
    speed = float(np.nan_to_num(held.points.speed[1])) * guess
    return Rows(labels=tuple(labels), points=Points.of(fixed, {**columns, "speed": speed}))


def _held_by_parts(project: Project, fixed: Fixed, held: State) -> tuple[tuple[str, str, str], Array]:
    """Words and settings at low, nominal and high supply, off by what the control's parts are off."""
    off, name = setting_error(project, fixed), parts_that_move(project)
    low, high = sorted(circuit(str(project.circuit.kind)).setting_range(fixed))
    up = -1.0 if name == "detector" else 1.0
    settings = np.asarray(held.points.setting) + up * off * np.array([-1.0, 0.0, 1.0])
    words = (f"{name} slow, ", "", f"{name} fast, ") if name else ("", "", "")
    return words, np.where(off > 0, np.clip(settings, low, high), held.points.setting)


def free_rows(held: State) -> Rows:
    """The loads of ``LOAD_STEPS`` at nominal mains, the setting held."""
    nominal = held.points[[1] * len(LOAD_STEPS)]
    return Rows(labels=tuple(f"load × {step:g}" for step in LOAD_STEPS),
                points=replace(nominal, load=np.array(LOAD_STEPS)))


def lost_rows(fixed: Fixed, held: State, cold: Mapping[str, Any]) -> Rows:
    """The load lost with the setting held, at the worst corner for speed."""
    speed = float(np.nan_to_num(held.points.speed[1])) * UNLOADED_GUESS
    return Rows(labels=(UNLOADED[0],), points=Points.of(fixed, {**cold, "load": 0.0, "speed": speed}))


def shorted_rows(
    fixed: Fixed, held: State, cold: Mapping[str, Any], *, setting: float, loads: tuple[float, ...]
) -> Rows:
    """The switch shorted at the worst corner for speed: each target's load on (``loads``, shares of the one
    written), then the load lost. ``setting`` is the one that stands for a shorted switch.
    """
    speed = float(np.nan_to_num(held.points.speed[1])) * UNLOADED_GUESS
    points = Points.of(fixed, {**cold, "setting": setting, "load": np.array([*loads, 0.0]), "speed": speed})
    return Rows(labels=(*[SHORTED] * len(loads), UNLOADED[1]), points=points)


def probe_rows(circuit: Circuit, fixed: Fixed, held: State) -> Rows:
    """The target with one thing changed at a time, down and up."""
    many, step = held.points[np.ones(len(PROBES), int)], setting_step(circuit, fixed)
    setting, load, voltage = many.setting.copy(), many.load.copy(), many.voltage.copy()
    most, least = sorted(circuit.setting_range(fixed))
    setting[:2] = np.clip(setting[:2] + np.array((-step, step)), most, least)
    load[2:4] *= np.array((1 - STEP_SHARE, 1 + STEP_SHARE))
    voltage[4:6] *= np.array((1 - STEP_SHARE, 1 + STEP_SHARE))
    armature, field = many.armature_resistance.copy(), many.field_resistance.copy()
    warm = np.array([held.taken.armature[1], held.taken.field[1]])
    for at, kelvin in ((6, -STEP_KELVIN), (7, STEP_KELVIN)):
        at_warm = np.nan_to_num(warm, posinf=400.0) + kelvin
        armature[at], field[at] = (float(r) for r in fixed.motor.resistances(at_warm[0], at_warm[1]))
    points = replace(many, setting=setting, load=load, voltage=voltage, armature_resistance=armature,
                     field_resistance=field)
    return Rows(labels=PROBES, points=points.fed(fixed))
