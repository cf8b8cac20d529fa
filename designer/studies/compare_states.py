"""The handful of states of one circuit that a comparison rests on: by the same solvers as ``solve`` and ``design``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from scipy.optimize import brentq

from designer.circuits import circuit as circuit_of
from designer.circuits.balance import find_setting, find_speed, surplus
from designer.circuits.case import Circuit, Fixed, Points
from designer.circuits.fan import fan_root, tried
from designer.motor.model import Load
from designer.project.model import Project
from designer.results import Array, Indices, OperatingPoint
from designer.studies.compare_variants import Variant
from designer.studies.conditions import State, Thermal, thermal_of
from designer.studies.groups import voltages
from designer.studies.rows import FRICTION_BOUNDS, UNLOADED_GUESS
from designer.studies.solve import TOLERANCE
from designer.studies.survey import REMANENCE_SPREAD, target_state, with_remanence
from designer.studies.wanted import wanted_points

LOW, NOMINAL, HIGH = 0, 1, 2
CLOSE = 3e-4          # of torque and current at the target
ROUGH = 1e-3          # where only a speed is asked for
#: speeds tried first, of the guess: none near a standstill, which takes long to solve
SPEEDS = np.array([0.3, 0.6, 0.8, 0.92, 0.98, 1.02, 1.1, 1.3, 1.7, 2.4, 4.0, 8.0, 20.0])
FIELD_PARTS = np.linspace(0.98, 0.1, 45)    # of the field current of least loss, where that is too much to reach
SPARE = 0.97                                # of the field current that just reaches: windings get warmer yet


@dataclass(frozen=True, kw_only=True)
class Runaway:
    """Motor speeds (rad/s; infinite: no end) at high supply, cold windings, least friction.

    ``at_setting`` and ``shorted``: the load lost; ``shorted_loaded``: the load on; ``field_lost``: no field current at
    the setting, the load lost too unless it is fixed, the fastest over the spread of the remanence (None for a series
    field).
    """

    at_setting: float
    shorted: float
    shorted_loaded: float
    field_lost: float | None


@dataclass(frozen=True, kw_only=True)
class States:
    """One circuit at the target: at low, nominal and high supply with the setting found; speeds are the motor's.

    ``lacking``: for the target and each further one, the torque missing (N·m at the motor, negative: too little) at
    the three supplies, 0 where it is held. ``held``: speeds with the nominal setting at the three supplies, None where
    the target is not reached at nominal supply; ``free``: its speed without load; ``full``: speeds
    with the switch on for good, nominal supply, with the load and without; windings as warm as at the target.
    ``eased``: the field current of least loss (A), where less had to do.
    """

    circuit: Circuit
    fixed: Fixed
    thermal: Thermal
    target: State
    wanted: tuple[tuple[float, Load], ...]
    lacking: tuple[Array, ...]
    held: tuple[float, float, float] | None = None
    free: float = np.nan
    full: tuple[float, float] | None = None
    runaway: Runaway | None = None
    eased: float | None = None

    @property
    def reached(self) -> bool:
        """True where the target is held at every supply, and every further one."""
        return all(not np.any(row) for row in self.lacking)

    @cached_property
    def solved(self) -> Any:
        """The target at the supplies where it is held."""
        return self.circuit.solve(self.fixed, self.target.points[np.flatnonzero(np.isfinite(self.target.lacking)
                                                                               & (self.target.lacking == 0))])

    @cached_property
    def stresses(self) -> Mapping[str, Array]:
        """What line and devices see there."""
        found: Mapping[str, Array] = self.circuit.stresses(self.solved)
        return found

    @cached_property
    def harmonics(self) -> Array:
        """R.m.s. line current of orders 1 to 40, A, each at the worst of those supplies."""
        kind: Any = self.circuit
        return np.asarray(np.max(kind.harmonics(self.solved), axis=0))

    @cached_property
    def point(self) -> OperatingPoint:
        """The target at nominal supply, as ``solve`` tells it."""
        exact = replace(self.fixed, tolerance=TOLERANCE)
        return self.circuit.operating_point(self.circuit.solve(exact, self.target.points[[NOMINAL]]))


def states(one: Variant, fixed: Fixed) -> States:
    """Solve what the comparison needs of one circuit; ``fixed`` as its control prepared it."""
    circuit, project = by_fans(one.circuit), one.project
    fixed, thermal = _unlimited(replace(fixed, tolerance=CLOSE), project), thermal_of(project)
    wanted = wanted_points(project, fixed)
    target = target_state(circuit, fixed, thermal, project, speed=wanted[0][0])
    lacking = _lacking(circuit, fixed, target, wanted)
    eased = None
    if _may_ease(one, fixed) and any(np.any(row < 0) for row in lacking):
        less = _less_field(circuit, fixed, target, wanted)
        if less is not None:
            assert fixed.field is not None
            eased, fixed = fixed.field.held, replace(fixed, field=replace(fixed.field, held=less))
            target = target_state(circuit, fixed, thermal, project, speed=wanted[0][0])
            lacking = _lacking(circuit, fixed, target, wanted)
    made = States(circuit=circuit, fixed=fixed, thermal=thermal, target=target, wanted=wanted, lacking=lacking,
                  eased=eased)
    return made if target.lacking[NOMINAL] else _with_speeds(made, one)


def _unlimited(fixed: Fixed, project: Project) -> Fixed:
    """Without the current limit that a design would choose: the target passes below it, no stall is asked for."""
    if fixed.chopping is None or project.control.current_limit is not None:
        return fixed
    return replace(fixed, chopping=replace(fixed.chopping, current_limit=np.inf))


def by_fans(circuit: Any) -> Circuit:
    """The same circuit, told to try many values at once in every search.

    A call costs about the same for a hundred points as for three, and a comparison has few points a circuit.
    """
    made: Circuit = replace(circuit, closed_form=True)
    return made


def _lacking(
    circuit: Circuit, fixed: Fixed, target: State, wanted: tuple[tuple[float, Load], ...]
) -> tuple[Array, ...]:
    """Torque missing at the target and, the windings as warm as there, at every further one."""
    rows = [target.lacking]
    for speed, load in wanted[1:]:
        points = target.points.at(speed=np.full(3, speed), setting=np.zeros(3))
        rows.append(find_setting(circuit, replace(fixed, load=load), points)[1])
    return tuple(rows)


def _may_ease(one: Variant, fixed: Fixed) -> bool:
    """True where the field's current is the comparison's own choice."""
    given = one.project.circuit.field_current is not None or one.project.field_supply is not None
    return fixed.field is not None and fixed.field.held is not None and not given and (
        one.kind.setting != "field_current")


def _less_field(
    circuit: Circuit, fixed: Fixed, target: State, wanted: tuple[tuple[float, Load], ...]
) -> float | None:
    """The greatest field current (A) with which every target is within reach at low supply; None where none is.

    Too much field at a given supply holds the speed down; least loss alone does not ask for the voltage.
    """
    assert fixed.field is not None
    assert fixed.field.held is not None
    most = circuit.setting_range(fixed)[0]
    currents, one = fixed.field.held * FIELD_PARTS, np.ones(FIELD_PARTS.size)
    can = np.ones(FIELD_PARTS.size, bool)
    for speed, load in wanted:
        many = target.points[np.full(FIELD_PARTS.size, LOW)].at(setting=most * one, speed=speed * one)
        can &= surplus(circuit, replace(fixed, load=load), replace(many, field_current=currents)) >= 0
    return SPARE * float(currents[can][0]) if can.any() else None


def _with_speeds(made: States, one: Variant) -> States:
    """The nominal setting held over the supply's band, without load, with switch or field failed.

    The windings of what is held are as warm as at the target; what runs away is cold.
    """
    fixed, project, base = replace(made.fixed, tolerance=ROUGH), one.project, made.target.points[[NOMINAL]]
    low, _, high = voltages(project)
    armature, field = fixed.motor.resistances(made.thermal.cold, made.thermal.cold)
    cold = replace(
        base, voltage=np.array([high]), armature_resistance=armature[None], friction=np.array([FRICTION_BOUNDS[0]]),
        field_resistance=field[None] if fixed.field is None else base.field_resistance,
        load=np.zeros(1)).at(speed=UNLOADED_GUESS * base.speed)
    rows = [replace(base, voltage=np.array([volts])).fed(fixed) for volts in (low, high)]
    rows += [base.scaled(load=0.0), cold.fed(fixed)]
    loaded = 1.0 if project.load.coupling == "fixed" else 0.0
    if one.kind.setting == "field_current":     # its chopper cannot open the field below the floor
        rows.append(cold.at(setting=np.array([min(one.circuit.setting_range(fixed))])).scaled(load=loaded))
    elif fixed.field is not None:
        rows.append(_field_lost(fixed, cold, float(base.field_current[0])).scaled(load=loaded))
    found = _speeds(made.circuit, fixed, Points.joined(rows))
    failed = _shorted(one, fixed)
    full = [cold, cold.scaled(load=1.0), base, base.scaled(load=0.0)]
    shorted = _speeds(failed.circuit, failed.fixed, Points.joined(full).at(setting=np.full(4, failed.setting)))
    held = float(found[0]), float(base.speed[0]), float(found[1])
    return replace(made, held=held, free=float(found[2]), full=(float(shorted[2]), float(shorted[3])), runaway=Runaway(
        at_setting=float(found[3]), shorted=float(shorted[0]), shorted_loaded=float(shorted[1]),
        field_lost=float(np.max(found[4:])) if len(found) > 4 else None))


@dataclass(frozen=True, kw_only=True)
class _Failed:
    """What a shorted switch leaves of the circuit."""

    circuit: Circuit
    fixed: Fixed
    setting: float


def _shorted(one: Variant, fixed: Fixed) -> _Failed:
    """The circuit with its switch shorted; a series motor behind a shorted half-wave thyristor is on plain a.c."""
    circuit = by_fans(one.circuit)
    if one.kind.line == "half-wave" and one.kind.winding == "series" and not fixed.freewheeling:
        circuit = by_fans(circuit_of("triac-series"))
    short, full = circuit.shorted(fixed)
    return _Failed(circuit=circuit, fixed=short, setting=full)


def _speeds(circuit: Circuit, fixed: Fixed, points: Points) -> Array:
    """Steady speeds, rad/s, the highest that holds; infinite where there is no end. The points' own are the guess."""
    def excess(value: Array, index: Indices) -> Array:
        return surplus(circuit, fixed, points[index].at(speed=value))

    values = points.speed[:, None] * SPEEDS
    left = tried(excess, values)
    last = values.shape[1] - 1 - np.argmax(left[:, ::-1] > 0, axis=1)
    held = (left > 0).any(axis=1) & (left[:, -1] <= 0)
    at, rest, speeds = np.flatnonzero(held), np.flatnonzero(~held), np.empty(len(points))
    pair = np.stack((last[at], last[at] + 1), axis=1)
    speeds[at] = fan_root(lambda value, index: excess(value, at[index]), values[at[:, None], pair],
                          left[at[:, None], pair], tolerance=ROUGH * values[at, last[at]])
    if rest.size:
        speeds[rest] = np.nan_to_num(find_speed(circuit, fixed, points[rest]), nan=np.inf)
    return speeds


def _field_lost(fixed: Fixed, cold: Points, current: float) -> Points:
    """The conditions ``cold`` with the remanence alone, over its spread.

    As field currents (A) that give the same flux with the motor as it stands, below 0 where its own is more.
    """
    motor = fixed.motor
    ways = [with_remanence(motor, part, current).curve.remanence for part in REMANENCE_SPREAD]
    reach = np.array([-1.0, 1.0]) * motor.curve.last_current
    same = [brentq(lambda i, k=k: float(motor.curve.at(i, motor.remanence)) - k, *reach) for k in ways]
    return replace(cold[np.zeros(len(same), int)], field_current=np.array(same))
