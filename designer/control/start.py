"""How fast the shaft can start at all, the command at its limit the whole way: no soft start can be shorter.

A ramp that asks for more leaves the command at its limit and the speed behind its set point; the integral then stands
still (conditional integration), but the start is no longer the one that was asked for.
"""

from __future__ import annotations

import numpy as np

from designer.circuits.case import Circuit, Fixed, Points, friction_and_load
from designer.control.command import CommandLimit, CommandTable
from designer.quantities import engineering
from designer.results import Quantity, Reason

NODES = 48        # Gauss–Legendre nodes between rest and the target


def quickest_start(
    circuit: Circuit, fixed: Fixed, points: Points, *, table: CommandTable, limit: CommandLimit,
    reach: tuple[float, float],
) -> float:
    """Give the least time (s) from rest to ``reach``: speed (rad/s) and inertia (kg·m²), both at the motor's shaft.

    ``points``: one, with the conditions of the start (low supply, hot windings, most friction, full load). The steady
    torque at every speed counts: its transients are short against a start. Infinite where it falls short of friction
    and load anywhere on the way.
    """
    speed, inertia = reach
    x, weight = np.polynomial.legendre.leggauss(NODES)
    speeds = 0.5 * speed * (x + 1)
    asked = np.append(speeds, 0.0)
    settings = table.setting_at(limit.at(asked))
    many = points[np.zeros(len(asked), np.intp)].at(setting=settings, speed=asked)
    solved = circuit.solve(fixed, many)
    friction, load = friction_and_load(fixed, many)
    left = solved.torque - solved.iron_torque - friction - load
    left[-1] -= float(many.friction[-1]) * fixed.motor.friction_torque      # at rest it holds
    if (left <= 0).any():
        return float("inf")
    return float(np.sum(weight * 0.5 * speed * inertia / left[:-1]))


def ramp_refused(ramp: float, quickest: float) -> Reason | None:
    """Why the ramp (s) is too short for a start that takes ``quickest`` (s) at full command; None where it is not."""
    if ramp >= quickest:
        return None
    return Reason(
        code="ramp-too-short",
        message=f"The soft start asks for the target within {engineering(ramp, 's')}; at low supply, full load and the "
        f"greatest command allowed the shaft takes {engineering(quickest, 's')}.",
        figure=Quantity(ramp, "s"), limit=Quantity(quickest, "s"),
        way_out="A longer control.ramp, a smaller load or inertia at the start, or a higher current limit.")
