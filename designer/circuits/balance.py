"""Any one of speed, load and control setting from the other two, for many points at once."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal

import numpy as np
from scipy.optimize.elementwise import find_root

from designer.circuits.case import Circuit, Fixed, Points, friction_and_load
from designer.circuits.fan import fan_root, tried, turned
from designer.results import Array, Indices
from designer.waveforms.phase_control import Gate

HIGHEST_SPEED = 2e4    # rad/s, 190 000 rpm: above it the model means nothing
FIRST_GUESS = 300.0    # rad/s, where nothing better is known
WIDEN, WIDEST = 1.2, 4.0   # by how much a bracket grows: first, and at most
CREEP = 20.0           # rad/s: below it the search goes straight to rest
NEAR = 0.02            # rad or share: about a setting that is nearly known
TINY_TORQUE = 1e-12    # N·m
MOST_REFINED = 12      # secant steps; two or three do
SIGN_TURNED = -1       # of find_root: both ends of a bracket have one sign
TINY = 1e-6            # rad/s: a hair above rest, where friction drags
#: parts of the first guess that a fan of speeds tries, and the distances from a nearly known setting
SPEEDS = np.array([0.02, 0.1, 0.3, 0.6, 0.85, 0.97, 0.995, 1.005, 1.03, 1.15, 1.6, 3.0, 10.0])
SETTINGS = NEAR * np.array([-1.0, -0.1, -0.01, 0.01, 0.1, 1.0])


def surplus(circuit: Circuit, fixed: Fixed, points: Points) -> Array:
    """Electromagnetic torque less iron, friction and load, N·m: positive speeds the shaft up."""
    solved = circuit.solve(fixed, points)
    friction, load = friction_and_load(fixed, points)
    return np.asarray(solved.torque - solved.iron_torque - friction - load)


def find_speed(circuit: Circuit, fixed: Fixed, points: Points) -> Array:
    """Give the steady speed, rad/s, at each point's setting and load; 0 where it cannot start.

    The points' own speed, where there is one, is where the search begins. ``nan`` where the motor still
    speeds up at ``HIGHEST_SPEED``.
    """
    if circuit.closed_form:
        return _speed_by_fan(circuit, fixed, points)
    count = len(points)
    speed = np.full(count, np.nan)
    guess = np.where(points.speed > 0, points.speed, FIRST_GUESS)
    left = surplus(circuit, fixed, points.at(speed=guess))
    low, high = np.where(left > 0, guess, 0.0), np.where(left > 0, np.inf, guess)
    todo, widen = np.arange(count), WIDEN
    while todo.size:
        rising = np.isinf(high[todo])
        low_known = low[todo] > 0
        probe = np.where(rising, low[todo] * widen, np.where(high[todo] > CREEP, high[todo] / widen, 0.0))
        open_ended = rising | ~low_known
        todo, probe = todo[open_ended], probe[open_ended]
        widen = min(widen**2, WIDEST)
        if not todo.size:
            break
        left = surplus(circuit, fixed, points[todo].at(speed=probe))
        # at rest friction holds: the motor starts only if the torque overcomes it
        left -= np.where(probe == 0, points.friction[todo] * fixed.motor.friction_torque, 0.0)
        up, down = todo[left > 0], todo[left <= 0]
        low[up] = np.maximum(probe[left > 0], TINY)
        high[down] = probe[left <= 0]
        speed[high == 0] = 0.0
        done = (high[todo] == 0) | (low[todo] > HIGHEST_SPEED)
        todo = todo[~done]
    at = np.flatnonzero((low > 0) & np.isfinite(high))
    if at.size:
        def excess(value: Array, index: Array) -> Array:
            return surplus(circuit, fixed, points[index.astype(np.intp)].at(speed=value))

        speed[at] = _root(excess, low[at], high[at], at, {"xrtol": 0.3 * fixed.tolerance, "xatol": TINY})
    return speed


def find_setting(circuit: Circuit, fixed: Fixed, points: Points) -> tuple[Array, Array]:
    """As ``find_setting_ideal``, held against the gate as it is.

    A short pulse or a latching current breaks the steady fall of torque with the angle; so the setting
    is found with a gate that holds and latches, and is refused where the real gate gives another torque.
    """
    own = getattr(circuit, "own_setting", None)     # where the torque turns along the settings
    if own is not None:
        found: tuple[Array, Array] = own(fixed, points)
        return found
    ideal = replace(fixed, gate=Gate(guard=fixed.gate.guard))
    search = _setting_by_fan if circuit.closed_form else find_setting_ideal
    setting, lacking = search(circuit, ideal, points)
    at = np.flatnonzero(np.isfinite(setting))
    if at.size and fixed.gate != ideal.gate:
        some = points[at].at(setting=setting[at])
        real, held = surplus(circuit, fixed, some), surplus(circuit, ideal, some)
        torque = circuit.solve(ideal, some).torque
        other = np.abs(real - held) > np.maximum(10 * fixed.tolerance, 1e-6) * np.abs(torque)
        setting[at[other]], lacking[at[other]] = np.nan, real[other]
    return setting, lacking


def find_setting_ideal(circuit: Circuit, fixed: Fixed, points: Points) -> tuple[Array, Array]:
    """Give the control setting that holds each point's speed and load, and the torque lacking.

    The setting is ``nan`` where the circuit cannot; the second array is then the surplus (N·m, negative:
    too little) at full output, else 0. Load too small to hold down gives ``nan`` with a positive one.
    """
    count = len(points)
    most, least = circuit.setting_range(fixed)
    setting, lacking = np.full(count, np.nan), np.zeros(count)
    low, high = _near(circuit, fixed, points)
    rest = np.flatnonzero(np.isnan(low))
    if rest.size:
        some = points[rest]
        full = surplus(circuit, fixed, some.at(setting=np.full(rest.size, most)))
        none = surplus(circuit, fixed, some.at(setting=np.full(rest.size, least)))
        can = (full >= 0) & (none <= 0)
        low[rest[can]], high[rest[can]] = sorted((most, least))
        lacking[rest] = np.where(can, 0.0, np.where(full < 0, full, none))
    at = np.flatnonzero(np.isfinite(low))
    if at.size:
        def excess(value: Array, index: Array) -> Array:
            return surplus(circuit, fixed, points[index.astype(np.intp)].at(setting=value))

        setting[at] = _root(excess, low[at], high[at], at, {"xatol": 0.1 * fixed.tolerance})
    return setting, lacking


def _speed_by_fan(circuit: Circuit, fixed: Fixed, points: Points) -> Array:
    """``find_speed`` with many speeds tried at once; the highest one that holds counts."""
    def excess(value: Array, index: Indices) -> Array:
        some = points[index].at(speed=value)
        # at rest friction holds: the motor starts only if the torque overcomes it
        return surplus(circuit, fixed, some) - np.where(
            value == 0, some.friction * fixed.motor.friction_torque, 0.0)

    count, guess = len(points), np.where(points.speed > 0, points.speed, FIRST_GUESS)
    values = np.minimum(np.concatenate(
        (np.zeros((count, 1)), guess[:, None] * SPEEDS, np.full((count, 1), HIGHEST_SPEED)), axis=1), HIGHEST_SPEED)
    left = tried(excess, values)
    last = np.where((left > 0).any(axis=1), values.shape[1] - 1 - np.argmax(left[:, ::-1] > 0, axis=1), -1)
    speed = np.where(last < 0, 0.0, np.nan)
    at = np.flatnonzero((last >= 0) & (values[np.arange(count), last] < HIGHEST_SPEED))
    if at.size:
        pair = np.stack((last[at], last[at] + 1), axis=1)
        ends, at_ends = values[at[:, None], pair], left[at[:, None], pair]
        speed[at] = np.maximum(fan_root(lambda value, index: excess(value, at[index]), ends, at_ends,
                                        tolerance=0.3 * fixed.tolerance * ends[:, 0] + TINY), TINY)
    return speed


def _setting_by_fan(circuit: Circuit, fixed: Fixed, points: Points) -> tuple[Array, Array]:
    """``find_setting`` with many settings tried at once."""
    def excess(value: Array, index: Indices) -> Array:
        return surplus(circuit, fixed, points[index].at(setting=value))

    most, least = circuit.setting_range(fixed)
    low, high = min(most, least), max(most, least)
    even = np.linspace(low, high, len(SETTINGS) + 2)
    values = np.tile(even, (len(points), 1))
    known = points.setting > 0
    values[known, 1:-1] = np.clip(points.setting[known, None] + SETTINGS, low, high)
    left = tried(excess, values)
    full, none = (left[:, -1], left[:, 0]) if most > least else (left[:, 0], left[:, -1])
    can = (full >= 0) & (none <= 0)
    setting, at = np.full(len(points), np.nan), np.flatnonzero(can)
    if at.size:
        setting[at] = fan_root(lambda value, index: excess(value, at[index]), *turned(values[at], left[at]),
                               tolerance=np.full(at.size, 0.1 * fixed.tolerance))
    return setting, np.where(can, 0.0, np.where(full < 0, full, none))


def refined(circuit: Circuit, fixed: Fixed, points: Points, *, unknown: Literal["speed", "setting"]) -> Points:
    """The one point given, its speed or setting found again with the bus solved thoroughly, from nearby.

    Secant steps; the first is a step of the easier circuit's own slope. Nothing is done where the surplus
    is within the tolerance already.
    """
    thorough = replace(fixed, thorough=True)

    def at(value: float) -> Points:
        return points.at(**{unknown: np.array([value])})

    value = float(getattr(points, unknown)[0])
    left = float(surplus(circuit, thorough, points)[0])
    allowed = fixed.tolerance * abs(float(circuit.solve(thorough, points).torque[0])) + TINY_TORQUE
    beside = value * (1 + 1e-4)
    slope = float((surplus(circuit, fixed, at(beside)) - surplus(circuit, fixed, points))[0]) / (beside - value)
    for _ in range(MOST_REFINED):
        if abs(left) <= allowed or slope == 0:
            break
        step = value - left / slope
        after = float(surplus(circuit, thorough, at(step))[0])
        slope = (after - left) / (step - value) if step != value else 0.0
        value, left = step, after
    return at(value)


def _near(circuit: Circuit, fixed: Fixed, points: Points) -> tuple[Array, Array]:
    """A bracket about the points' own setting, where there is one and it holds the root; nan elsewhere."""
    low, high = np.full(len(points), np.nan), np.full(len(points), np.nan)
    known = np.flatnonzero(points.setting > 0)
    if known.size:
        first, last = sorted(circuit.setting_range(fixed))
        left = np.clip(points.setting[known] - NEAR, first, last)
        right = np.clip(points.setting[known] + NEAR, first, last)
        before = surplus(circuit, fixed, points[known].at(setting=left))
        after = surplus(circuit, fixed, points[known].at(setting=right))
        held = known[before * after <= 0]
        low[held], high[held] = left[before * after <= 0], right[before * after <= 0]
    return low, high


def _root(function: Any, low: Array, high: Array, index: Indices, tolerances: dict[str, float]) -> Array:
    """Bracketed root of every entry (Chandrupatla's method), to ``tolerances``.

    A bracket's sign was seen in another batch of points, whose steps differ within the error bound: an end
    so close to the root that its sign turns is the root, as near as can be told.
    """
    found = find_root(function, (low, high), args=(index,), tolerances={"fatol": 0.0, **tolerances})
    left = np.abs(np.asarray(found.f_bracket))
    nearer = np.where(left[0] <= left[1], found.bracket[0], found.bracket[1])
    return np.asarray(np.where(np.asarray(found.status) == SIGN_TURNED, nearer, found.x))
