"""Armature on a chopper, field fed apart: one transistor, one freewheel diode, a bus from mains or direct."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import ClassVar

import numpy as np

from designer.circuits.bus import Source, meet
from designer.circuits.bus_point import line_harmonics
from designer.circuits.case import Chopping, Fixed, Points
from designer.circuits.on_bus import (
    Exact,
    OnBus,
    Wave,
    duty_range,
    exactness,
    field_powers,
    how_chopped,
    straight,
    stresses,
)
from designer.equations import chopper as eq
from designer.equations.formula import Formula
from designer.results import Array, Indices, OperatingPoint
from designer.waveforms.chopper import Chopped, Loop, chopped, trace
from designer.waveforms.cycle_limit import limited
from designer.waveforms.stretch import put


@dataclass(frozen=True, kw_only=True)
class ChopperSolution(OnBus):
    """The loop on the bus and its current; ``flux`` is k (V·s), constant with the field current."""

    circuit: ClassVar[str] = "chopper-armature"

    flux: Array
    loop: Loop
    current: Chopped

    @property
    def torque(self) -> Array:
        """Mean electromagnetic torque, N·m."""
        return np.asarray(self.flux * self.current.mean)

    @cached_property
    def iron_torque(self) -> Array:
        """Mean torque of the iron loss, N·m (none unless the readings tell it apart)."""
        return self.fixed.motor.iron_torque(self.flux, self.points.speed)

    @property
    def field_square(self) -> Array:
        """Square of the field current, A²; it stands still."""
        return self.points.field_current**2

    @cached_property
    def peak(self) -> Array:
        """Greatest armature current (A) with the bus at its crest, as if it stood there: the safe side."""
        if self.bus.charged is None:
            return self.current.greatest
        return driven(how_chopped(self.fixed), unfed(self.fixed, self.points, self.flux), self.bus.crest)[1].greatest

    @property
    def torque_ripple(self) -> float:
        """Peak to peak at the first point, N·m."""
        return float(self.flux[0] * self.current.ripple[0])

    def field_shape(self) -> Mapping[str, float]:
        """A direct current, A."""
        field = float(self.points.field_current[0])
        return {"mean": field, "rms": field, "peak": field, "min": field, "ripple": 0.0}

    def field_watts(self) -> Mapping[str, float]:
        """What the field's own supply gives, and what of it stays outside the winding, W."""
        points = self.points
        return field_powers(self.fixed, current=float(points.field_current[0]),
                            resistance=float(points.field_resistance[0]), voltage=float(points.voltage[0]))

    def wave(self) -> Wave:
        """One period of the first point."""
        time, current = trace(self.loop, self.current, 0)
        full = np.ones_like(time)
        return Wave(time=time, current=current, field=float(self.points.field_current[0]) * full,
                    flux=float(self.flux[0]) * full)


@dataclass(frozen=True, kw_only=True)
class ChopperArmature:
    """Bus, transistor and armature in one loop, the freewheel diode across the armature."""

    name: str = "chopper-armature"
    title: str = "Armature on a chopper, separate field"
    setting: str = "duty"
    closed_form: bool = True
    formulas: tuple[Formula, ...] = (
        eq.PEAK_OF_TWO_LOOPS, eq.FIRST_OF_TWO_LOOPS, eq.MEAN_CURRENT, eq.EDGE_DUTY, eq.EXTINCTION)

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Duties of most and of least output."""
        return duty_range(fixed)

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted transistor: the armature straight on the bus, no limit left."""
        return straight(fixed)

    def solve(self, fixed: Fixed, points: Points) -> ChopperSolution:
        """Solve every point at its duty and speed (rad/s), bus and chopper together."""
        return _solve(fixed, points, exact=exactness(fixed))

    def operating_point(self, solved: ChopperSolution) -> OperatingPoint:
        """Tell everything about the first point."""
        from designer.circuits.chopper_point import operating_point

        first = _solve(solved.fixed, solved.points[[0]], exact="all")
        return operating_point(first)

    def stresses(self, solved: ChopperSolution) -> dict[str, Array]:
        """What line, bus and devices see at every point: A, V, W; peaks with the bus at its crest."""
        return stresses(solved)

    def harmonics(self, solved: ChopperSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return line_harmonics(solved.bus)


def _solve(fixed: Fixed, points: Points, *, exact: Exact) -> ChopperSolution:
    how, flux = how_chopped(fixed), np.asarray(fixed.motor.curve.at(points.field_current, fixed.motor.remanence), float)
    bare = unfed(fixed, points, flux)
    least = np.full(len(points), max(fixed.switch.threshold - fixed.freewheel.threshold, 0.0))

    def draw(volts: Array, at: Indices) -> Array:
        return driven(how, bare[at], volts)[1].switch_mean

    source = Source(voltage=points.voltage, frequency=points.frequency)
    volts = meet(fixed.feed, source, draw, least=least, exact=exact)
    loop, current = driven(how, bare, volts)
    return ChopperSolution(fixed=fixed, points=points, flux=flux, volts=volts, taken=current.switch_mean, loop=loop,
                           current=current)


def unfed(fixed: Fixed, points: Points, flux: Array) -> Loop:
    """The loop with its bus at 0 V."""
    frequency, full = how_chopped(fixed).frequency, np.ones(len(points))
    against = fixed.motor.brush_drop + flux * points.speed
    return Loop(
        on_voltage=-fixed.switch.threshold - against, off_voltage=-fixed.freewheel.threshold - against,
        on_resistance=points.armature_resistance + fixed.switch.slope,
        off_resistance=points.armature_resistance + fixed.freewheel.slope,
        inductance=full * fixed.motor.armature_inductance, period=full / frequency,
        on_time=np.clip(points.setting, 0.0, 1.0) / frequency)


def driven(how: Chopping, bare: Loop, volts: Array) -> tuple[Loop, Chopped]:
    """The loop at a bus voltage and its periodic current, under the current limit where there is one."""
    loop = replace(bare, on_voltage=np.maximum(volts + bare.on_voltage, bare.off_voltage))
    current = chopped(loop)
    over = np.flatnonzero(current.greatest > how.current_limit)
    if not over.size:
        return loop, current
    held = limited(loop[over], limit=np.full(over.size, how.current_limit), shortest=np.full(over.size, how.shortest))
    return replace(loop, on_time=put(loop.on_time, over, held.on_time)), put(current, over, held.current)


CIRCUIT = ChopperArmature()
