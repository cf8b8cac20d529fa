"""The motor with its circuit as the regulator sees it: small changes of command and speed about an operating point.

J·dω/dt = T(u, ω) − drag(ω). The slopes are taken numerically on the full solution, over every corner at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from designer.circuits.balance import find_setting
from designer.circuits.case import Circuit, Fixed, Points, friction_and_load
from designer.control.command import CommandTable
from designer.control.lag import delay, lags
from designer.results import Array

SETTING_STEP = 1e-3    # of the setting's range, up and down
SPEED_STEP = 5e-3      # of the speed, up and down
ACCURACY = 1e-7        # of torque in the solutions that slopes are taken of


State = Literal["loaded", "idle", "lost"]


@dataclass(frozen=True, kw_only=True)
class Plant:
    """Small changes about one operating point; speed at the motor (rad/s), SI.

    ``torque_by_command`` (N·m per unit of command), ``torque_by_speed`` (N·m per rad/s of torque less iron, friction
    and load; negative: self-steadying), of which ``drag_by_speed`` does not pass through the electrical ``lag`` (s).
    ``command_lag`` (s) stands before it (a field winding), ``lead`` (s) is the numerator's time, negative where the
    torque first goes the wrong way. ``delay`` (s): dead time, computing included, sample and hold not. ``state``: with
    load, without, or with the load come off its coupling, its inertia too; ``load_torque`` (N·m) at the motor.
    """

    label: str
    speed: float
    command: float
    setting: float
    torque_by_command: float
    torque_by_speed: float
    drag_by_speed: float
    inertia: float
    lag: float
    delay: float
    command_lag: float = 0.0
    lead: float = 0.0
    load_torque: float = 0.0
    state: State = "loaded"

    def response(self, omega: Array) -> NDArray[np.complex128]:
        """Give speed over command (rad/s per unit) at angular frequencies (rad/s), dead time included."""
        s = 1j * np.asarray(omega, float)
        slow = 1 + s * self.lag
        push = self.torque_by_command * (1 + s * self.lead) / ((1 + s * self.command_lag) * slow)
        own = self.inertia * s - (self.torque_by_speed - self.drag_by_speed) / slow - self.drag_by_speed
        return np.asarray(push / own * np.exp(-s * self.delay))

    def matrices(self) -> tuple[Array, Array, Array]:
        """Give A, and B for the command and for a torque (N·m) that drives, of the states without dead time.

        The first state is the speed; torque and field follow where they lag. Raises ``ValueError`` for a lead without a
        lag before it, which no state can show.
        """
        if self.lead and not self.command_lag:
            raise ValueError("a lead needs the lag of the command before it")
        inverse, own = 1 / self.inertia, self.torque_by_speed - self.drag_by_speed
        count = 1 + (self.lag > 0) + (self.command_lag > 0)
        a, b = np.zeros((count, count)), np.zeros(count)
        push, direct = np.zeros(count), 0.0      # the torque that the command asks for, before the armature's lag
        if self.command_lag > 0:
            a[-1, -1], b[-1] = -1 / self.command_lag, 1 / self.command_lag
            push[-1] = self.torque_by_command * (1 - self.lead / self.command_lag)
            direct = self.torque_by_command * self.lead / self.command_lag
        else:
            direct = self.torque_by_command
        push[0] += own
        row, scale = (1, 1 / self.lag) if self.lag > 0 else (0, inverse)
        a[row] += scale * push
        b[row] += scale * direct
        if self.lag > 0:
            a[1, 1] -= scale
            a[0, 1] = inverse
        a[0, 0] += inverse * self.drag_by_speed
        return a, b, np.concatenate(([inverse], np.zeros(count - 1)))


@dataclass(frozen=True, kw_only=True)
class Corners:
    """The states that the loop must be stable in: points (setting not yet known), labels, inertias (kg·m²), states."""

    points: Points
    labels: tuple[str, ...]
    inertia: Array
    states: tuple[State, ...]


@dataclass(frozen=True, kw_only=True)
class Linearised:
    """The plants of the corners that can be held, and the labels of those that cannot, with the torque lacking (N·m).

    A negative figure means that torque lacks at full output, a positive one that least output still drives too fast.
    """

    plants: tuple[Plant, ...]
    out_of_reach: tuple[tuple[str, float], ...] = ()


def plants(
    circuit: Circuit, fixed: Fixed, corners: Corners, *, table: CommandTable, sample_time: float,
) -> Linearised:
    """Linearise at every corner: one search of the settings, one solution of all the steps about them."""
    close = replace(fixed, tolerance=min(fixed.tolerance, ACCURACY))
    setting, lacking = find_setting(circuit, close, corners.points)
    held = np.flatnonzero(np.isfinite(setting))
    out = tuple((corners.labels[k], float(lacking[k])) for k in np.flatnonzero(~np.isfinite(setting)))
    if not held.size:
        return Linearised(plants=(), out_of_reach=out)
    points = corners.points[held].at(setting=setting[held])
    made = _linear(circuit, close, points, table, sample_time)
    return Linearised(out_of_reach=out, plants=tuple(
        Plant(label=corners.labels[k], inertia=float(corners.inertia[k]), state=corners.states[k],
              **{name: float(values[n]) for name, values in made.items()}) for n, k in enumerate(held)))


def _linear(
    circuit: Circuit, fixed: Fixed, points: Points, table: CommandTable, sample_time: float,
) -> dict[str, Array]:
    low, high = sorted(circuit.setting_range(fixed))
    step = SETTING_STEP * (high - low)
    less, more = np.maximum(points.setting - step, low), np.minimum(points.setting + step, high)
    slower, faster = points.speed * (1 - SPEED_STEP), points.speed * (1 + SPEED_STEP)
    parts = (points.at(setting=less), points.at(setting=more), points.at(speed=slower), points.at(speed=faster), points)
    solved = circuit.solve(fixed, Points.joined(parts))
    torque = solved.torque.reshape(len(parts), -1)
    drag = (solved.iron_torque + sum(friction_and_load(fixed, solved.points))).reshape(len(parts), -1)
    net = torque - drag
    command = table.command_at(points.setting)
    by_setting, below_above = (net[1] - net[0]) / (more - less), np.array(table.slopes_at(command))
    slope = np.where(np.abs(below_above[0]) > np.abs(below_above[1]), *below_above)
    by_command = by_setting * slope
    middle = solved[np.arange(4 * len(points), 5 * len(points))]
    here = lags(middle)
    told = {"speed": points.speed, "command": command, "setting": points.setting, "torque_by_command": by_command}
    told |= {"torque_by_speed": (net[3] - net[2]) / (faster - slower),
             "drag_by_speed": -(drag[3] - drag[2]) / (faster - slower)}
    with np.errstate(divide="ignore", invalid="ignore"):
        lead = np.where(here.field > 0, here.direct * slope * here.armature / by_command, 0.0)
    return told | {"lag": here.armature, "command_lag": here.field, "lead": np.nan_to_num(lead),
                   "load_torque": friction_and_load(fixed, points)[1],
                   "delay": delay(middle, sample_time=sample_time)}


@dataclass(frozen=True, kw_only=True)
class Band:
    """What spreads: supplies (V) and windings (ohm: armature, field) by name, factors on friction.

    ``frequency`` of the mains, Hz (0 on direct current). ``can_be_lost``: the load can come off its coupling; then the
    motor's own inertia alone is a corner too.
    """

    voltages: Sequence[tuple[str, float]]
    frequency: float
    windings: Sequence[tuple[str, float, float]]
    frictions: Sequence[float]
    can_be_lost: bool


#: words, share of the load, state
LOADS: tuple[tuple[str, float, State], ...] = (
    ("no load", 0.0, "idle"), ("half load", 0.5, "loaded"), ("full load", 1.0, "loaded"))
LOST: tuple[str, float, State] = ("load lost", 0.0, "lost")


def corners(fixed: Fixed, band: Band, targets: Sequence[tuple[float, float]], *, inertia: float, own: float) -> Corners:
    """Give every corner of ``targets`` (motor speed in rad/s, share of the load as written).

    ``inertia`` of motor and load at the motor's shaft, ``own`` of the motor alone (kg·m²). A load of share 0 is no
    corner of its own.
    """
    rows: list[tuple[str, State, dict[str, float]]] = []
    for number, (speed, share) in enumerate(targets):
        name = f"target {number + 1}, " if len(targets) > 1 else ""
        loads = [row for row in LOADS if row[1] * share > 0 or row[1] == 0]
        loads += [LOST] if band.can_be_lost and own < inertia else []
        rows += [(f"{name}{words}, {supply} supply, {windings}, friction {friction:g}", state, {
                     "voltage": volts, "armature_resistance": armature, "field_resistance": field, "speed": speed,
                     "friction": friction, "load": part * share})
                 for words, part, state in loads for supply, volts in band.voltages
                 for windings, armature, field in band.windings for friction in band.frictions]
    given = {name: np.array([row[2][name] for row in rows]) for name in rows[0][2]}
    states = tuple(row[1] for row in rows)
    return Corners(
        points=Points.of(fixed, {**given, "frequency": band.frequency, "setting": 0.0}), states=states,
        labels=tuple(row[0] for row in rows), inertia=np.array([own if s == "lost" else inertia for s in states]))
