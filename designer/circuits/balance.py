"""Any one of speed, load and control setting from the other two, for many points at once."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize.elementwise import find_root

from designer.circuits.case import Circuit, Fixed, Points, friction_and_load
from designer.results import Array, Indices

HIGHEST_SPEED = 2e4    # rad/s, 190 000 rpm: above it the model means nothing


def surplus(circuit: Circuit, fixed: Fixed, points: Points) -> Array:
    """Electromagnetic torque less iron, friction and load, N·m: positive speeds the shaft up."""
    solved = circuit.solve(fixed, points)
    friction, load = friction_and_load(fixed, points)
    return np.asarray(solved.torque - solved.iron_torque - friction - load)


def find_speed(circuit: Circuit, fixed: Fixed, points: Points) -> Array:
    """Give the steady speed, rad/s, at each point's setting and load; 0 where it cannot start.

    ``nan`` where the motor still speeds up at ``HIGHEST_SPEED``.
    """
    count = len(points)
    rest = surplus(circuit, fixed, points.at(speed=np.zeros(count)))
    turns = rest > points.friction * fixed.motor.friction_torque
    speed = np.zeros(count)
    high = np.full(count, 200.0)
    low = np.zeros(count)
    todo = np.flatnonzero(turns)
    while todo.size:
        left = surplus(circuit, fixed, points[todo].at(speed=high[todo]))
        todo = todo[left > 0]
        low[todo] = high[todo]
        high[todo] *= 2.5
        gone = todo[high[todo] > HIGHEST_SPEED]
        speed[gone] = np.nan
        turns[gone] = False
        todo = np.setdiff1d(todo, gone)
    at = np.flatnonzero(turns)
    if at.size:
        def excess(value: Array, index: Array) -> Array:
            return surplus(circuit, fixed, points[index.astype(np.intp)].at(speed=value))

        # at rest friction only holds; a hair above it, it drags
        speed[at] = _root(excess, np.maximum(low[at], 1e-6), high[at], at, fixed.tolerance * high[at])
    return speed


def find_setting(circuit: Circuit, fixed: Fixed, points: Points) -> tuple[Array, Array]:
    """Give the control setting that holds each point's speed and load, and the torque lacking.

    The setting is ``nan`` where the circuit cannot; the second array is then the surplus (N·m, negative:
    too little) at full output, else 0. Load too small to hold down gives ``nan`` with a positive one.
    """
    count = len(points)
    most, least = circuit.setting_range(fixed)
    full = surplus(circuit, fixed, points.at(setting=np.full(count, most)))
    least_surplus = surplus(circuit, fixed, points.at(setting=np.full(count, least)))
    can = (full >= 0) & (least_surplus <= 0)
    setting = np.full(count, np.nan)
    at = np.flatnonzero(can)
    if at.size:
        def excess(value: Array, index: Array) -> Array:
            return surplus(circuit, fixed, points[index.astype(np.intp)].at(setting=value))

        low, high = sorted((most, least))
        setting[at] = _root(excess, np.full(at.size, low), np.full(at.size, high), at,
                            np.full(at.size, fixed.tolerance * (high - low)))
    return setting, np.where(can, 0.0, np.where(full < 0, full, least_surplus))


def _root(function: Any, low: Array, high: Array, index: Indices, width: Array) -> Array:
    """Bracketed root of every entry (Chandrupatla's method), to ``width``."""
    found = find_root(function, (low, high), args=(index,),
                      tolerances={"xatol": 0.1 * float(np.min(width)), "fatol": 0.0})
    return np.asarray(found.x)
