"""Speeds (or settings) and temperatures of many samples at once, on the full model.

Speed (or setting) and both winding temperatures of a sample are found together by Broyden's method, all samples at
once, from the nominal state's Jacobian. A factor s on the flux curve with the inductances kept is the same electrical
problem at the speed s·ω, with the torque s·T (derived: the curve enters the circuit as k·ω alone, and the linkage
follows its shape). Only the eddy part of an iron loss read apart is then taken at s·ω. Inductances are drawn at a few
steps of equal probability, and every step is solved exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Literal

import numpy as np

from designer.circuits.balance import find_setting, find_speed
from designer.circuits.case import Circuit, Fixed, Points
from designer.equations.motor import WINDING_TEMPERATURE
from designer.motor.model import KELVIN
from designer.motor.warming import HIGHEST, Surroundings
from designer.results import Array, Indices

Draws = Mapping[str, Array]
HOT = ("armature_hot", "field_hot")
Unknown = Literal["speed", "setting"]
Progress = Callable[[int], None]

BLOCK = 2000            # samples solved together
MOST_STEPS = 14
CLOSE, CLOSE_KELVIN = 1e-4, 0.02     # of the nominal torque; K
STEP, STEP_KELVIN = 1e-3, 1.0        # of the differences that give the Jacobian
SCALE_KELVIN = 100.0
LONGEST = 0.5           # of the nominal value (or of 100 K): a step of the search is no longer
AGAIN, RELEASED = 20, 0.5   # rounds of speed and temperatures apart, for what the joint search leaves


@dataclass(frozen=True, kw_only=True)
class Model:
    """What is solved: circuit, and where the heat goes (None: temperatures as given).

    ``given``: winding temperatures (°C) that the waveforms take whatever the losses bring. ``speed`` (rad/s) is the
    motor's at the target. Draws are arrays by name: ``voltage``, ``frequency``, ``setting``, ``ambient`` (°C), and
    factors ``friction``, ``load``, ``armature``, ``field`` (resistances), ``flux``, ``inductance``, ``feed`` (the
    field's supply); ``HOT``, where there are any, are windings (°C) held whatever the losses bring.
    """

    circuit: Circuit
    fixed: Fixed
    surroundings: Surroundings | None
    given: tuple[float | None, float | None]
    speed: float
    progress: Progress | None = None

    def of(self, level: float) -> Fixed:
        """What all points share with every inductance of the motor times ``level``."""
        motor = self.fixed.motor
        series = motor.series_inductance
        return replace(self.fixed, motor=replace(
            motor, armature_inductance=level * motor.armature_inductance,
            field_inductance=level * motor.field_inductance, field_leakage=level * motor.field_leakage,
            series_inductance=None if series is None else level * series))

    @cached_property
    def range(self) -> tuple[float, float]:
        """Settings of most and of least output."""
        return self.circuit.setting_range(self.fixed)

    @property
    def has_heat(self) -> bool:
        """True where the temperatures follow from the losses."""
        return self.surroundings is not None and None in self.given


_MEANS = ("torque", "iron_torque", "armature_square", "armature_absolute", "field_square", "line_square")


@dataclass(frozen=True, kw_only=True)
class Found:
    """Joint states: unknown and temperatures (one row a sample), what was left of the balance, currents (A)."""

    state: Array            # speed (rad/s) or setting, armature °C, field °C
    left: Array             # share of the nominal torque, share of 100 K, twice
    currents: Mapping[str, Array]
    missed: Indices         # samples that the joint search left, found again one by one


def _points(model: Model, draws: Draws, state: Array, unknown: Unknown) -> Points:
    """The points of a state, at the speed that a weaker or stronger flux makes of it."""
    motor, first = model.fixed.motor, state[:, 0]
    r_a, r_f = motor.resistances(np.minimum(state[:, 1], HIGHEST), np.minimum(state[:, 2], HIGHEST))
    r_a, r_f = r_a * draws["armature"], r_f * draws["field"]
    setting = draws["setting"] if unknown == "speed" else first
    speed = first if unknown == "speed" else np.full(len(first), model.speed)
    feed, current = model.fixed.field, np.full(len(first), np.nan)
    if feed is not None and feed.follows is None and feed.held is None:
        current = replace(feed, follows=1.0).current(r_f, draws["feed"])
    elif feed is not None:
        current = feed.current(r_f, draws["voltage"]) * draws["feed"]
    return Points(voltage=draws["voltage"], frequency=draws["frequency"],
                  setting=np.clip(setting, min(model.range), max(model.range)), speed=speed * draws["flux"],
                  armature_resistance=r_a, field_resistance=r_f, friction=draws["friction"], load=draws["load"],
                  field_current=current)


def _solved(model: Model, draws: Draws, points: Points) -> dict[str, Array]:
    """Means over a period, every step of the inductance with its own windings."""
    means = {name: np.zeros(len(points)) for name in _MEANS}
    for level in np.unique(draws["inductance"]):
        at = np.flatnonzero(draws["inductance"] == level)
        solved = model.circuit.solve(model.of(float(level)), points[at])
        for name in _MEANS:
            means[name][at] = getattr(solved, name)
        if model.progress is not None:
            model.progress(len(at))
    return means


def residuals(
    model: Model, draws: Draws, state: Array, *, unknown: Unknown, torque: float, slope: float = 0.0
) -> tuple[Array, dict[str, Array]]:
    """What is left of torque balance (share of ``torque``, N·m) and of both temperatures (shares of 100 K); the means.

    A setting beyond its range counts as the end of it and ``slope`` (shares a unit) further on.
    """
    points = _points(model, draws, state, unknown)
    means = _solved(model, draws, points)
    speed = points.speed / draws["flux"]
    fixed = model.fixed
    drag = draws["friction"] * fixed.motor.friction(speed) + draws["load"] * fixed.load.at_motor(speed)
    left = np.empty((len(points), 3))
    left[:, 0] = (draws["flux"] * means["torque"] - means["iron_torque"] - drag) / torque
    if unknown == "setting":
        left[:, 0] += slope * (state[:, 0] - points.setting)
    left[:, 1:] = (_warm(model, draws, points, means) - state[:, 1:]) / SCALE_KELVIN
    return left, means


def _warm(model: Model, draws: Draws, points: Points, means: Mapping[str, Array]) -> Array:
    """The temperatures (°C) that the losses bring; those given where the file, or the draw itself, fixes them."""
    motor, speed, both = model.fixed.motor, points.speed / draws["flux"], np.empty((len(points), 2))
    heat = (points.armature_resistance * means["armature_square"] + motor.brush_drop * means["armature_absolute"]
            + means["iron_torque"] * speed, points.field_resistance * means["field_square"])
    for k, given in enumerate(model.given):
        hot = draws.get(HOT[k])
        if hot is not None:
            both[:, k] = hot
            continue
        if given is not None or model.surroundings is None:
            both[:, k] = motor.winding_temperature if given is None else given
            continue
        around = model.surroundings
        both[:, k] = WINDING_TEMPERATURE(T_amb=draws["ambient"] + KELVIN, P_w=around.duty * heat[k],
                                         G_th=around.paths[k].conductance(speed)) - KELVIN
    return both


def _rows(draws: Draws, at: Any) -> dict[str, Array]:
    return {name: values[at] for name, values in draws.items()}


@dataclass(frozen=True, kw_only=True)
class Start:
    """Where searches begin: the nominal state with its scales, and the inverse of its Jacobian."""

    state: Array
    scale: Array
    torque: float
    slope: float
    inverse: Array


def started(model: Model, draws: Draws, near: Array, *, unknown: Unknown) -> Start:
    """The Jacobian at ``near`` (unknown, °C, °C) for the first draw, by differences."""
    one = _rows(draws, [0, 0, 0, 0])
    first = float(near[0])
    width = abs(model.range[0] - model.range[1]) if unknown == "setting" else abs(first)
    scale = np.array([width, SCALE_KELVIN, SCALE_KELVIN])
    speed = first if unknown == "speed" else model.speed
    torque = float(model.fixed.motor.friction(speed) + model.fixed.load.at_motor(speed))
    inward = -1.0 if unknown == "setting" and first + STEP * width > max(model.range) else 1.0
    steps = np.array([inward * STEP * width, STEP_KELVIN, STEP_KELVIN])
    states = np.tile(near, (4, 1)) + np.vstack((np.zeros(3), np.diag(steps)))
    left, _ = residuals(model, one, states, unknown=unknown, torque=torque)
    jacobian = ((left[1:] - left[0]) / steps[:, None]).T
    slope = float(jacobian[0, 0])
    return Start(state=np.asarray(near, float), scale=scale, torque=torque, slope=slope,
                 inverse=np.linalg.inv(jacobian * scale[None, :]))


def found(model: Model, draws: Draws, start: Start, guess: Array, *, unknown: Unknown) -> Found:
    """The joint states of all draws from ``guess`` on, in blocks; what does not converge is found one by one."""
    count, parts = len(guess), []
    for begin in range(0, count, BLOCK):
        at = np.arange(begin, min(begin + BLOCK, count))
        parts.append(_block(model, _rows(draws, at), start, guess[at], unknown))
    state, left = (np.concatenate([part[k] for part in parts]) for k in (0, 1))
    means = {name: np.concatenate([part[2][name] for part in parts]) for name in _MEANS}
    missed = np.flatnonzero(~_close(left))
    for k in missed:
        state[k], left[k], one = found_alone(model, _rows(draws, [k]), start, unknown)
        for name in _MEANS:
            means[name][k] = one[name][0]
    currents = {name: np.sqrt(np.maximum(means[f"{name}_square"], 0.0)) for name in ("armature", "line", "field")}
    return Found(state=state, left=left, currents=currents, missed=missed)


def _close(left: Array) -> Any:
    return (np.abs(left[:, 0]) <= CLOSE) & (np.abs(left[:, 1:]).max(axis=1) <= CLOSE_KELVIN / SCALE_KELVIN)


def _block(model: Model, draws: Draws, start: Start, guess: Array, unknown: Unknown) -> tuple[
        Array, Array, dict[str, Array]]:
    """Broyden's method on every sample of a block, those that are done left alone."""
    state, inverse = guess / start.scale, np.tile(start.inverse, (len(guess), 1, 1))
    left, means = residuals(model, draws, guess, unknown=unknown, torque=start.torque, slope=start.slope)
    for _ in range(MOST_STEPS):
        todo = np.flatnonzero(~_close(left))
        if not todo.size:
            break
        step = -np.einsum("nij,nj->ni", inverse[todo], left[todo])
        step *= (LONGEST / np.maximum(np.abs(step).max(axis=1), LONGEST))[:, None]
        after = state[todo] + step
        if unknown == "speed":
            after[:, 0] = np.maximum(after[:, 0], 0.1 * state[todo, 0])
            step = after - state[todo]
        now, some = residuals(model, _rows(draws, todo), after * start.scale, unknown=unknown, torque=start.torque,
                              slope=start.slope)
        change = np.einsum("nij,nj->ni", inverse[todo], now - left[todo])
        along = np.einsum("ni,nij->nj", step, inverse[todo])
        length = np.einsum("ni,ni->n", step, change)
        safe = np.abs(length) > 1e-12 * np.einsum("ni,ni->n", step, step)
        part = (step - change) / np.where(safe, length, np.inf)[:, None]
        inverse[todo] += part[:, :, None] * along[:, None, :]
        state[todo], left[todo] = after, now
        for name in _MEANS:
            means[name][todo] = some[name]
    return state * start.scale, left, means


def found_alone(model: Model, draws: Draws, start: Start, unknown: Unknown) -> tuple[Array, Array, dict[str, Array]]:
    """One sample by the circuit's own root search and the temperatures in turn, its flux in its curve."""
    shared, flux = model.of(float(draws["inductance"][0])), float(draws["flux"][0])
    curve = shared.motor.curve
    shared = replace(shared, motor=replace(shared.motor, curve=replace(
        curve, value=tuple(flux * k for k in curve.value), remanence=flux * curve.remanence),
        flux_reference=flux * shared.motor.flux_reference))
    state = start.state[None, :].copy()
    for _ in range(AGAIN):
        points = _points(model, draws, state, unknown)
        points = points.at(speed=points.speed / flux)
        if unknown == "speed":
            state[:, 0] = find_speed(model.circuit, shared, points)
        else:
            state[:, 0] = find_setting(model.circuit, shared, points)[0]
        if not state[0, 0] > 0:      # it stands, runs away, or no setting holds it
            break
        left, means = residuals(model, draws, state, unknown=unknown, torque=start.torque)
        if np.abs(left[0, 1:]).max() <= CLOSE_KELVIN / SCALE_KELVIN:
            return state[0], left[0], means
        state[:, 1:] = np.minimum(state[:, 1:] + RELEASED * SCALE_KELVIN * left[:, 1:], HIGHEST)
    return np.full(3, np.nan), np.full(3, np.nan), {name: np.full(1, np.nan) for name in _MEANS}
