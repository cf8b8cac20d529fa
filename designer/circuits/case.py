"""What a circuit is solved for, and what it answers: arrays with one entry an operating point."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Protocol

import numpy as np

from designer.equations.formula import Formula
from designer.motor.model import Load, MotorModel
from designer.results import Array, OperatingPoint
from designer.waveforms.phase_control import Gate


@dataclass(frozen=True, kw_only=True)
class Fixed:
    """What is the same for every point of a study: motor, load, source impedance, device, gate."""

    motor: MotorModel
    load: Load
    source_resistance: float = 0.0
    source_inductance: float = 0.0
    threshold: float = 0.0          # V, conducting drop of the switch
    slope: float = 0.0              # ohm, likewise
    gate: Gate = Gate()
    tolerance: float = 1e-6


@dataclass(frozen=True, kw_only=True)
class Points:
    """The conditions of each point: supply (V r.m.s., Hz), setting (rad or share), speed (rad/s),
    resistances at the point's temperatures (ohm), and factors on friction and load.
    """

    voltage: Array
    frequency: Array
    setting: Array
    speed: Array
    armature_resistance: Array
    field_resistance: Array
    friction: Array
    load: Array

    @classmethod
    def of(cls, fixed: Fixed, given: Mapping[str, Any]) -> Points:
        """Broadcast scalars and arrays; friction and load factors are 1 and the resistances as read, unless given."""
        motor = fixed.motor
        defaults = {"friction": 1.0, "load": 1.0, "armature_resistance": motor.armature_resistance,
                    "field_resistance": motor.field_resistance}
        names = [f.name for f in fields(cls)]
        arrays = np.broadcast_arrays(*(np.asarray((defaults | dict(given))[n], float) for n in names))
        return cls(**{name: np.atleast_1d(a).ravel().copy() for name, a in zip(names, arrays, strict=True)})

    def __getitem__(self, chosen: Any) -> Points:
        return Points(**{f.name: np.atleast_1d(getattr(self, f.name)[chosen]) for f in fields(self)})

    def __len__(self) -> int:
        return len(self.voltage)

    def at(self, *, setting: Array | None = None, speed: Array | None = None) -> Points:
        """The same points at another setting or speed."""
        return replace(
            self, setting=self.setting if setting is None else setting,
            speed=self.speed if speed is None else speed,
        )

    def scaled(self, *, load: float) -> Points:
        """The same points with the load's factor set."""
        return replace(self, load=np.full(len(self), load))

    @classmethod
    def joined(cls, parts: Sequence[Points]) -> Points:
        """One after the other."""
        return cls(**{f.name: np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(cls)})


class Circuit(Protocol):
    """The one shape of a circuit; a new one is a module and a line in ``circuits.CIRCUITS``."""

    @property
    def name(self) -> str:
        """The name in the project file."""

    @property
    def title(self) -> str:
        """The name for people."""

    @property
    def setting(self) -> str:
        """The quantity that sets the speed: ``"firing_angle"`` or ``"duty"``."""

    @property
    def formulas(self) -> tuple[Formula, ...]:
        """The closed forms that describe it."""

    def solve(self, fixed: Fixed, points: Points) -> Any:
        """Solve every point at its setting and speed."""

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Settings of most and of least output."""

    def stresses(self, solved: Any) -> Mapping[str, Array]:
        """What line and devices see at every point, by name."""

    def operating_point(self, solved: Any) -> OperatingPoint:
        """All quantities of the contract and one period of waveforms, for the first point."""


def friction_and_load(fixed: Fixed, points: Points) -> tuple[Array, Array]:
    """Friction and referred load torque, N·m, at the points' speeds; no friction counts at rest."""
    turning = points.speed > 0
    friction = points.friction * fixed.motor.friction(points.speed) * turning
    return friction, points.load * fixed.load.at_motor(points.speed)
