"""How long the shaft takes from one speed to another with the setting held, and what that heats."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from designer.circuits.case import Circuit, Fixed, Points, Solution, friction_and_load
from designer.results import Array

NODES = 24     # Gauss–Legendre nodes between the speeds


@dataclass(frozen=True, kw_only=True)
class RunUp:
    """Time (s; infinite where the speed is never reached) of a speeding up, and ∫i²dt (A²s) of its line current.

    ``steps`` (s) are the parts of the time at the speeds passed on the way, ``solved`` the states there; none
    where the speed is never reached.
    """

    time: float
    steps: Array
    solved: Solution | None

    @property
    def times(self) -> Array:
        """Time from the start, s, as it stands after each of the speeds."""
        return np.cumsum(self.steps)

    @cached_property
    def heatings(self) -> Array:
        """∫i²dt of the line current, A²s, as it stands after each of the speeds."""
        return np.array([]) if self.solved is None else np.cumsum(self.steps * self.solved.line_square)

    @property
    def heating(self) -> float:
        """∫i²dt of the line current over the whole, A²s."""
        return float(self.heatings[-1]) if self.solved is not None else np.inf


def run_up(
    circuit: Circuit, fixed: Fixed, points: Points, *, start: float, end: float, inertia: float
) -> RunUp:
    """Integrate dt = J·dω/T from ``start`` to ``end`` (rad/s) at the conditions of the one point given.

    The torque is that of the periodic steady state at each speed: the electrical transient is over in
    a few half cycles, short against the run-up. ``inertia`` (kg·m²) is at the motor's shaft.
    """
    x, weight = np.polynomial.legendre.leggauss(NODES)
    speeds = 0.5 * (end - start) * x + 0.5 * (end + start)
    many = points[np.zeros(NODES, int)].at(speed=speeds)
    solved = circuit.solve(fixed, many)
    friction, load = friction_and_load(fixed, many)
    torque = solved.torque - solved.iron_torque - friction - load
    if np.any(torque <= 0):
        return RunUp(time=np.inf, steps=np.array([]), solved=None)
    steps = weight * 0.5 * (end - start) * inertia / torque
    return RunUp(time=float(np.sum(steps)), steps=steps, solved=solved)


def run_down(fixed: Fixed, *, start: float, inertia: float, friction: float = 1.0, load: float = 0.0) -> float:
    """Time, s, from ``start`` (rad/s) to rest by friction (and ``load`` × the load) alone.

    Infinite where nothing constant brakes it at the end.
    """
    x, weight = np.polynomial.legendre.leggauss(NODES)
    speeds = 0.5 * start * (x + 1)
    drag = friction * fixed.motor.friction(speeds) + load * fixed.load.at_motor(speeds)
    if float(friction * fixed.motor.friction_torque + load * fixed.load.at_motor(0.0)) <= 0:
        return float("inf")
    return float((weight * 0.5 * start * inertia / drag).sum())
