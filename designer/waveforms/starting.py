"""A start through a graded resistor at steady field: speed, current and heat, stage by stage, by quadrature over speed.

The armature's electrical time constant is neglected against the run-up: with the resistor in it is L/(R_a + R_st).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from designer.results import Array

NODES = 48          # Gauss–Legendre a stage; the current falls to no less than its bypass level, so nothing is singular
FASTEST = 1e5       # rad/s: no shaft is looked for beyond it


@dataclass(frozen=True, kw_only=True)
class Shaft:
    """What is the same all through a start.

    ``voltage`` (V, brushes' drop taken off), ``flux`` (V·s) at the field held, ``inertia`` (kg·m²) at the motor's
    shaft, ``opposing``: iron, friction and load torque (N·m) at speeds (rad/s).
    """

    voltage: float
    flux: float
    inertia: float
    opposing: Callable[[Array], Array]


@dataclass(frozen=True, kw_only=True)
class Stage:
    """One stage: resistance of the whole armature path (ohm), current at which it ends (A)."""

    path: float
    ends_at: float


@dataclass(frozen=True, kw_only=True)
class Ran:
    """How a stage went: s, rad/s at its end, A at its begin, ∫i²dt of the armature (A²s)."""

    time: float
    speed: float
    peak: float
    heating: float


def steady_current(shaft: Shaft, path: float) -> float:
    """The armature current (A) at which the load settles through ``path`` (ohm); what flows at rest if it stands."""
    def surplus(speed: float) -> float:
        return shaft.flux * current_at(shaft, path, speed) - float(shaft.opposing(np.array([speed]))[0])

    if surplus(0.0) <= 0:
        return current_at(shaft, path, 0.0)
    return current_at(shaft, path, float(brentq(surplus, 0.0, min(shaft.voltage / shaft.flux, FASTEST), rtol=1e-12)))


def current_at(shaft: Shaft, path: float, speed: float) -> float:
    """The armature current (A) at a speed (rad/s)."""
    return (shaft.voltage - shaft.flux * speed) / path


def stage_run(shaft: Shaft, stage: Stage, *, start: float) -> Ran:
    """Run from ``start`` (rad/s) until the current has fallen to ``ends_at``; infinite where it never does.

    t = ∫ J·dω/(k·i − T).
    """
    end = max((shaft.voltage - stage.ends_at * stage.path) / shaft.flux, start)
    x, weight = np.polynomial.legendre.leggauss(NODES)
    speeds = 0.5 * (end - start) * x + 0.5 * (end + start)
    current = (shaft.voltage - shaft.flux * speeds) / stage.path
    torque = shaft.flux * current - shaft.opposing(speeds)
    peak = current_at(shaft, stage.path, start)
    if np.any(torque <= 0):
        return Ran(time=np.inf, speed=end, peak=peak, heating=np.inf)
    steps = weight * 0.5 * (end - start) * shaft.inertia / torque
    return Ran(time=float(np.sum(steps)), speed=end, peak=peak, heating=float(np.sum(steps * current**2)))


def start_run(shaft: Shaft, stages: tuple[Stage, ...]) -> tuple[Ran, ...]:
    """Run all stages one after the other, from rest."""
    speed, ran = 0.0, []
    for stage in stages:
        ran.append(stage_run(shaft, stage, start=speed))
        speed = ran[-1].speed
    return tuple(ran)
