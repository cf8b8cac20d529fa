"""Series motor on a chopper: one transistor, one freewheel diode, armature and field in one loop, a bus."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import ClassVar

import numpy as np

from designer.circuits.bus import Source, meet
from designer.circuits.bus_point import line_harmonics
from designer.circuits.case import Fixed, Points
from designer.circuits.on_bus import Exact, OnBus, Wave, duty_range, exactness, how_chopped, straight, stresses
from designer.equations import chopper as eq
from designer.equations.formula import Formula
from designer.motor.flux import Winding
from designer.motor.model import IRON_HYSTERESIS_EXPONENT
from designer.results import Array, Indices, OperatingPoint
from designer.waveforms.chopper_series import (
    SeriesChopped,
    SeriesLoop,
    series_chopped,
    series_limited,
    series_mean,
    series_trace,
)


@dataclass(frozen=True, kw_only=True)
class SeriesSolution(OnBus):
    """The loop on the bus and its current, which is the field's too."""

    circuit: ClassVar[str] = "chopper-series"

    loop: SeriesLoop
    current: SeriesChopped

    @property
    def winding(self) -> Winding:
        """Both windings in one path."""
        return self.fixed.motor.series_winding()

    @property
    def torque(self) -> Array:
        """Mean electromagnetic torque, N·m: k(i)·i, the remanent part of k included."""
        return np.asarray(self.current.pull / self.current.period + _remanence(self.fixed) * self.current.mean)

    @cached_property
    def iron_torque(self) -> Array:
        """Mean torque of the iron loss, N·m (none unless the readings tell it apart)."""
        motor = self.fixed.motor
        if not motor.has_iron_loss:
            return np.zeros(len(self.points))

        def moment(power: float) -> Array:
            return series_mean(self.loop, self.winding, lambda current: np.asarray(
                (np.abs(self.constant(current)) / motor.flux_reference) ** power))

        turning = self.points.speed > 0      # at rest it only holds, as friction does
        return np.asarray(turning * motor.hysteresis_torque * moment(IRON_HYSTERESIS_EXPONENT)
                          + motor.eddy_torque_coefficient * self.points.speed * moment(2.0))

    def constant(self, current: Array) -> Array:
        """k, V·s, at currents that are zero or more."""
        return self.fixed.motor.curve.at(current, self.fixed.motor.remanence)

    @property
    def field_square(self) -> Array:
        """The same as the armature's: the windings are in series."""
        return self.armature_square

    @cached_property
    def peak(self) -> Array:
        """Greatest armature current (A) with the bus at its crest, as if it stood there: the safe side."""
        if self.bus.charged is None:
            return self.current.greatest
        return _driven(self.fixed, _unfed(self.fixed, self.points), self.bus.crest)[1].greatest

    @property
    def torque_ripple(self) -> float:
        """Peak to peak at the first point, N·m: k(i)·i grows with i."""
        ends = np.array((self.current.least[0], self.current.greatest[0]))
        return float(np.diff(self.constant(ends) * ends)[0])

    def field_shape(self) -> Mapping[str, float]:
        """The armature's own figures, A."""
        one = self.current
        values = {"mean": one.mean, "rms": one.rms, "peak": one.greatest, "min": one.least, "ripple": one.ripple}
        return {name: float(value[0]) for name, value in values.items()}

    def field_watts(self) -> Mapping[str, float]:
        """Its copper, W."""
        return {"copper_loss_field": float(self.points.field_resistance[0] * self.current.rms[0] ** 2)}

    def wave(self) -> Wave:
        """One period of the first point."""
        time, current = (rows[:, 0] for rows in series_trace(self.loop[:1], self.winding))
        kept = np.concatenate(([True], np.diff(time) > 0))
        time, current = time[kept], current[kept]
        return Wave(time=time, current=current, field=current, flux=self.constant(current))


@dataclass(frozen=True, kw_only=True)
class ChopperSeries:
    """Bus, transistor, field and armature in one loop, the freewheel diode across both windings."""

    name: str = "chopper-series"
    title: str = "Series motor on a chopper"
    setting: str = "duty"
    closed_form: bool = False
    formulas: tuple[Formula, ...] = (
        eq.PEAK_OF_TWO_LOOPS, eq.FIRST_OF_TWO_LOOPS, eq.MEAN_CURRENT, eq.EXTINCTION)

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Duties of most and of least output."""
        return duty_range(fixed)

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted transistor: the motor straight on the bus, no limit left."""
        return straight(fixed)

    def solve(self, fixed: Fixed, points: Points) -> SeriesSolution:
        """Solve every point at its duty and speed (rad/s), bus and chopper together."""
        return _solve(fixed, points, exact=exactness(fixed))

    def operating_point(self, solved: SeriesSolution) -> OperatingPoint:
        """Tell everything about the first point."""
        from designer.circuits.chopper_point import operating_point

        fixed = replace(solved.fixed, tolerance=min(solved.fixed.tolerance, CLOSE))
        return operating_point(_solve(fixed, solved.points[[0]], exact="all"))

    def stresses(self, solved: SeriesSolution) -> dict[str, Array]:
        """What line, bus and devices see at every point: A, V, W; peaks with the bus at its crest."""
        return stresses(solved)

    def harmonics(self, solved: SeriesSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return line_harmonics(solved.bus)


CLOSE = 1e-8        # of current and pull at a point that is told: its powers then balance


def _remanence(fixed: Fixed) -> float:
    """The constant part of k while current flows, V·s; the current has one sign."""
    return 0.0 if fixed.motor.remanence == "drop" else fixed.motor.curve.remanence


def _solve(fixed: Fixed, points: Points, *, exact: Exact) -> SeriesSolution:
    unfed = _unfed(fixed, points)
    least = np.full(len(points), max(fixed.switch.threshold - fixed.freewheel.threshold, 0.0))

    def draw(volts: Array, at: Indices) -> Array:
        return _driven(fixed, unfed[at], volts)[1].switch_mean

    source = Source(voltage=points.voltage, frequency=points.frequency)
    volts = meet(fixed.feed, source, draw, least=least, exact=exact)
    loop, current = _driven(fixed, unfed, volts)
    return SeriesSolution(fixed=fixed, points=points, volts=volts, taken=current.switch_mean, loop=loop,
                          current=current)


def _unfed(fixed: Fixed, points: Points) -> SeriesLoop:
    """The loop with its bus at 0 V."""
    period = np.full(len(points), 1.0 / how_chopped(fixed).frequency)
    against = fixed.motor.brush_drop + _remanence(fixed) * points.speed
    winding = points.armature_resistance + points.field_resistance
    return SeriesLoop(
        on_voltage=-fixed.switch.threshold - against, off_voltage=-fixed.freewheel.threshold - against,
        on_resistance=winding + fixed.switch.slope, off_resistance=winding + fixed.freewheel.slope,
        speed=points.speed, period=period, on_time=np.clip(points.setting, 0.0, 1.0) * period)


def _driven(fixed: Fixed, unfed: SeriesLoop, volts: Array) -> tuple[SeriesLoop, SeriesChopped]:
    """The loop at a bus voltage and its periodic current, under the current limit where there is one."""
    how, winding, tolerance = how_chopped(fixed), fixed.motor.series_winding(), fixed.tolerance
    loop = replace(unfed, on_voltage=volts + unfed.on_voltage)
    current = series_chopped(loop, winding, tolerance=tolerance)
    over = np.flatnonzero(current.greatest > how.current_limit)
    if not over.size:
        return loop, current
    held = series_limited(loop[over], winding, limit=how.current_limit, shortest=how.shortest, tolerance=tolerance)
    on_time = loop.on_time.copy()
    on_time[over] = held.on_time
    loop = replace(loop, on_time=on_time)
    return loop, series_chopped(loop, winding, tolerance=tolerance)


CIRCUIT = ChopperSeries()
