"""What a circuit is solved for, and what it answers: arrays with one entry an operating point."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Protocol

import numpy as np

from designer.equations.formula import Formula
from designer.motor.field_feed import FieldFeed
from designer.motor.model import Load, MotorModel
from designer.results import Array, OperatingPoint
from designer.waveforms.phase_control import Gate


@dataclass(frozen=True, kw_only=True)
class Drop:
    """Conducting drop of one device: ``threshold`` (V) + ``slope`` (ohm) × current."""

    threshold: float = 0.0
    slope: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Reservoir:
    """The capacitor on the d.c. side: F, and its series resistance in ohm."""

    capacitance: float
    series_resistance: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Choke:
    """A choke in the line ahead of the bridge: H nominal, and its winding's resistance in ohm."""

    inductance: float
    resistance: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Feed:
    """What stands before the switch: source impedance (ohm, H), line choke, one diode of the rectifier, the reservoir.

    ``alternating`` is false on a d.c. supply, which has neither rectifier nor reservoir. ``resistance`` and
    ``inductance`` are the source's own; the choke (None where there is none) stands apart and counts before a bridge,
    and so does ``limiter`` (ohm, hot): an NTC that nothing bridges while running.
    """

    alternating: bool = True
    resistance: float = 0.0
    inductance: float = 0.0
    rectifier: Drop = Drop()
    reservoir: Reservoir | None = None
    choke: Choke | None = None
    limiter: float = 0.0

    @property
    def line_resistance(self) -> float:
        """Source, choke and limiter together, ohm."""
        return self.resistance + self.limiter + (self.choke.resistance if self.choke else 0.0)

    @property
    def line_inductance(self) -> float:
        """Source and choke together, H."""
        return self.inductance + (self.choke.inductance if self.choke else 0.0)


@dataclass(frozen=True, kw_only=True)
class Chopping:
    """How a chopper is driven: frequency (Hz), shortest on-time (s), current limit (A, infinite: none)."""

    frequency: float
    shortest: float = 0.0
    current_limit: float = np.inf


@dataclass(frozen=True, kw_only=True)
class Fixed:
    """What is the same for every point of a study: motor, load, feed, devices, gate or chopping.

    ``field`` is how a separate field is fed (None for a series winding); ``setting_cap`` bounds the
    output where the motor stands less than the circuit gives; ``field_switch`` and ``field_freewheel`` are the devices
    of a field on a chopper of its own (None: like the others), ``field_floor`` (A) is the current below which that
    chopper cannot go; ``shorted``: the switch conducts for good.
    Of a rectifier on phase angle ``freewheeling`` tells whether a freewheel diode stands across the motor,
    ``bridge`` how a bridge is made up.
    """

    motor: MotorModel
    load: Load
    feed: Feed = Feed()
    switch: Drop = Drop()
    freewheel: Drop = Drop()
    gate: Gate = Gate()
    chopping: Chopping | None = None
    field: FieldFeed | None = None
    freewheeling: bool = False
    bridge: str = "common-cathode"
    field_switch: Drop | None = None
    field_freewheel: Drop | None = None
    field_floor: float = 0.0
    setting_cap: float | None = None
    shorted: bool = False
    thorough: bool = False     # a bus far below its crest is solved on its bridge too, which takes long
    tolerance: float = 1e-6


@dataclass(frozen=True, kw_only=True)
class Points:
    """The conditions of each point: supply (V r.m.s. or direct, Hz), setting (rad or share), speed (rad/s),
    resistances at the point's temperatures (ohm), factors on friction and load, current of a separate field (A).
    """

    voltage: Array
    frequency: Array
    setting: Array
    speed: Array
    armature_resistance: Array
    field_resistance: Array
    friction: Array
    load: Array
    field_current: Array

    @classmethod
    def of(cls, fixed: Fixed, given: Mapping[str, Any]) -> Points:
        """Broadcast scalars and arrays.

        Unless given, friction and load factors are 1, the resistances as read, the frequency that of
        direct current (0), and a separate field has the current that its supply drives.
        """
        motor = fixed.motor
        defaults = {"friction": 1.0, "load": 1.0, "armature_resistance": motor.armature_resistance,
                    "field_resistance": motor.field_resistance, "frequency": 0.0, "field_current": np.nan}
        values = defaults | {name: value for name, value in given.items() if value is not None}
        names = [f.name for f in fields(cls)]
        arrays = np.broadcast_arrays(*(np.asarray(values[n], float) for n in names))
        made = cls(**{name: np.atleast_1d(a).ravel().copy() for name, a in zip(names, arrays, strict=True)})
        return made if "field_current" in given else made.fed(fixed)

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

    def fed(self, fixed: Fixed) -> Points:
        """The same points with the field current that its supply drives at their field resistance."""
        if fixed.field is None:
            return self
        return replace(self, field_current=fixed.field.current(self.field_resistance, self.voltage))

    def scaled(self, *, load: float) -> Points:
        """The same points with the load's factor set."""
        return replace(self, load=np.full(len(self), load))

    @classmethod
    def joined(cls, parts: Sequence[Points]) -> Points:
        """One after the other."""
        return cls(**{f.name: np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(cls)})


class Solution(Protocol):
    """What every circuit answers: arrays with one entry a point, means over a full period."""

    @property
    def points(self) -> Points:
        """The points solved."""

    @property
    def torque(self) -> Array:
        """Mean electromagnetic torque, N·m."""

    @property
    def iron_torque(self) -> Array:
        """Mean torque of the iron loss, N·m."""

    @property
    def armature_square(self) -> Array:
        """Mean square of the armature current, A²."""

    @property
    def armature_absolute(self) -> Array:
        """Mean magnitude of the armature current, A."""

    @property
    def field_square(self) -> Array:
        """Mean square of the field current, A²."""

    @property
    def line_square(self) -> Array:
        """Mean square of the line current, A²."""

    @property
    def input_power(self) -> Array:
        """Mean power drawn from the ideal source, W."""

    def __getitem__(self, chosen: Any) -> Solution:
        """Some of the points."""


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
    def closed_form(self) -> bool:
        """True where many points cost little more than one: searches then try many values at once."""

    @property
    def formulas(self) -> tuple[Formula, ...]:
        """The closed forms that describe it."""

    def solve(self, fixed: Fixed, points: Points) -> Any:
        """Solve every point at its setting and speed."""

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Settings of most and of least output."""

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted switch: ``Fixed`` (the same one where nothing changes) and setting."""

    def stresses(self, solved: Any) -> Mapping[str, Array]:
        """What line and devices see at every point, by the names of the operating point's quantities."""

    def operating_point(self, solved: Any) -> OperatingPoint:
        """All quantities of the contract and one period of waveforms, for the first point."""


def friction_and_load(fixed: Fixed, points: Points) -> tuple[Array, Array]:
    """Friction and referred load torque, N·m, at the points' speeds; no friction counts at rest."""
    turning = points.speed > 0
    friction = points.friction * fixed.motor.friction(points.speed) * turning
    return friction, points.load * fixed.load.at_motor(points.speed)
