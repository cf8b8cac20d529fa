"""Conditions whose speeds a survey finds in one go: corners, load steps, small changes, bench steps."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from designer.circuits.case import Fixed, Points
from designer.circuits.triac_series import TriacSeries
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Array
from designer.studies.conditions import State, Thermal

#: lower and upper bound of the friction, as factors, where no fit gives its uncertainty; common practice, no source
FRICTION_BOUNDS = (0.7, 1.3)
FREQUENCY_SPREAD = 0.01
LOAD_STEPS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5)
UNLOADED = ("load lost at the setting", "load lost at full conduction")
SHORTED = "load on, full conduction"
UNLOADED_GUESS = 3.0        # of the loaded speed: where the search for an unloaded one begins
STEP_ANGLE = math.radians(0.5)      # of the small changes about the target
STEP_SHARE = 0.05
STEP_KELVIN = 10.0
PROBES = ("setting −", "setting +", "load −", "load +", "mains −", "mains +", "temperature −", "temperature +")
QUARTER = math.pi / 2
LOW_VOLTAGES = (24.0, 42.0, 48.0)   # V r.m.s., isolated


@dataclass(frozen=True, kw_only=True)
class Rows:
    """Conditions at which the speed is to be found, a label each."""

    labels: tuple[str, ...]
    points: Points


def corner_rows(fixed: Fixed, thermal: Thermal, project: Project, held: State) -> Rows:
    """Full factorial of mains, frequency, windings, friction and load, the setting held."""
    nominal = float(project.supply.frequency or 0.0)
    cold = fixed.motor.resistances(thermal.cold, thermal.cold)
    hot = held.points.armature_resistance, held.points.field_resistance
    rows, labels = [], []
    loads = (("no load", 0.0), ("full load", 1.0))
    for m, f, winding, friction, (name, load) in product((0, 2), (-1, 1), ("cold", "hot"), FRICTION_BOUNDS, loads):
        volts, hertz = float(held.points.voltage[m]), nominal * (1 + f * FREQUENCY_SPREAD)
        r_a, r_f = (float(r[m]) for r in hot) if winding == "hot" else (float(r) for r in cold)
        rows.append((volts, hertz, float(held.points.setting[m]), r_a, r_f, friction, load))
        labels.append(f"{engineering(volts, 'V')}, {engineering(hertz, 'Hz')}, windings {winding}, "
                      f"friction × {friction:g}, {name}")
    names = ("voltage", "frequency", "setting", "armature_resistance", "field_resistance", "friction", "load")
    columns = dict(zip(names, np.array(rows).T, strict=True))
    speed = float(np.nan_to_num(held.points.speed[1])) * np.where(columns["load"] > 0, 1.0, UNLOADED_GUESS)
    points = Points.of(fixed, {**columns, "speed": speed})
    return Rows(labels=tuple(labels), points=points)


def free_rows(
    circuit: TriacSeries, fixed: Fixed, held: State, *, cold: dict[str, float | Array], loads: tuple[float, ...]
) -> Rows:
    """The loads of ``LOAD_STEPS`` at nominal mains; then the worst corner for speed: each target's load on at
    full output (``loads``, shares of the one written), the load lost at the setting and at full output.
    """
    nominal = held.points[[1] * len(LOAD_STEPS)]
    stepped = replace(nominal, load=np.array(LOAD_STEPS))
    full = circuit.setting_range(fixed)[0]
    setting = float(held.points.setting[2])
    speed = float(np.nan_to_num(nominal.speed[0])) * UNLOADED_GUESS
    lost = Points.of(fixed, {**cold, "setting": np.array([*[full] * len(loads), setting, full]),
                             "load": np.array([*loads, 0.0, 0.0]), "speed": speed})
    labels = (*(f"load × {step:g}" for step in LOAD_STEPS), *[SHORTED] * len(loads), *UNLOADED)
    return Rows(labels=labels, points=Points.joined([stepped, lost]))


def probe_rows(fixed: Fixed, held: State) -> Rows:
    """The target with one thing changed at a time, down and up."""
    base = held.points[[1]]
    many = base[np.zeros(len(PROBES), int)]
    setting, load, voltage = many.setting.copy(), many.load.copy(), many.voltage.copy()
    setting[:2] += np.array((-STEP_ANGLE, STEP_ANGLE))
    load[2:4] *= np.array((1 - STEP_SHARE, 1 + STEP_SHARE))
    voltage[4:6] *= np.array((1 - STEP_SHARE, 1 + STEP_SHARE))
    armature, field = many.armature_resistance.copy(), many.field_resistance.copy()
    warm = np.array([held.taken.armature[1], held.taken.field[1]])
    for at, kelvin in ((6, -STEP_KELVIN), (7, STEP_KELVIN)):
        at_warm = np.nan_to_num(warm, posinf=400.0) + kelvin
        armature[at], field[at] = (float(r) for r in fixed.motor.resistances(at_warm[0], at_warm[1]))
    points = replace(many, setting=setting, load=load, voltage=voltage, armature_resistance=armature,
                     field_resistance=field)
    return Rows(labels=PROBES, points=points)


def bench_rows(
    circuit: TriacSeries, fixed: Fixed, project: Project, *, cold: dict[str, float | Array], held: State
) -> Rows:
    """Low isolated voltages, windings cold, least friction; the load is on where it is fixed."""
    full = circuit.setting_range(fixed)[0]
    load = 1.0 if project.load.coupling == "fixed" else 0.0
    rows = [(v, angle, k) for v in LOW_VOLTAGES for angle, k in ((full, 0.0), (QUARTER, load), (full, load))]
    labels = tuple(f"{v:g} V, {name}" for v in LOW_VOLTAGES for name in ("free", "at 90°", "at once"))
    voltage, setting, loads = np.array(rows).T
    return Rows(labels=labels, points=Points.of(fixed, {
        **cold, "frequency": project.supply.frequency, "voltage": voltage, "setting": setting, "load": loads,
        "speed": float(np.nan_to_num(held.points.speed[1]))}))
