"""Armature on a chopper, field fed apart: one transistor, one freewheel diode, a bus from mains or direct."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from designer.circuits.bus import Bus, Source, bus, meet
from designer.circuits.bus_point import line_harmonics, rectified
from designer.circuits.case import Chopping, Drop, Fixed, Points
from designer.equations import chopper as eq
from designer.equations.formula import Formula
from designer.motor.model import IRON_HYSTERESIS_EXPONENT
from designer.results import Array, Indices, OperatingPoint
from designer.waveforms.chopper import Chopped, Loop, chopped
from designer.waveforms.cycle_limit import limited
from designer.waveforms.stretch import put

EXACT = 1e-5        # a tolerance at or below it asks for the bus on the bridge itself, not on its curve


@dataclass(frozen=True, kw_only=True)
class ChopperSolution:
    """The loop on the bus and its current.

    ``flux`` is k (V·s), constant with the field current; ``volts`` the bus's mean voltage and ``taken`` (A) the mean
    current from it, as they agree.
    """

    fixed: Fixed
    points: Points
    flux: Array
    volts: Array
    taken: Array
    loop: Loop
    current: Chopped

    def __getitem__(self, chosen: Indices) -> ChopperSolution:
        return replace(self, points=self.points[chosen], flux=self.flux[chosen], volts=self.volts[chosen],
                       taken=self.taken[chosen], loop=self.loop[chosen], current=self.current[chosen])

    @cached_property
    def bus(self) -> Bus:
        """The bus as it stands under the current that the chopper takes."""
        source = Source(voltage=self.points.voltage, frequency=self.points.frequency)
        return bus(self.fixed.feed, source, self.taken)

    @property
    def torque(self) -> Array:
        """Mean electromagnetic torque, N·m."""
        return np.asarray(self.flux * self.current.mean)

    @cached_property
    def iron_torque(self) -> Array:
        """Mean torque of the iron loss, N·m (none unless the readings tell it apart)."""
        motor = self.fixed.motor
        if not motor.has_iron_loss:
            return np.zeros(len(self.points))
        flux, turning = np.abs(self.flux) / motor.flux_reference, self.points.speed > 0
        return np.asarray(turning * motor.hysteresis_torque * flux**IRON_HYSTERESIS_EXPONENT
                          + motor.eddy_torque_coefficient * self.points.speed * flux**2)

    @property
    def armature_square(self) -> Array:
        """Mean square of the armature current, A²."""
        return self.current.rms**2

    @property
    def armature_absolute(self) -> Array:
        """Mean of the armature current, A; it has one sign."""
        return self.current.mean

    @property
    def field_square(self) -> Array:
        """Square of the field current, A²; it stands still."""
        return self.points.field_current**2

    @property
    def line_square(self) -> Array:
        """Mean square of the line current, A²."""
        if self.bus.charged is not None:
            return self.bus.charged.line_rms**2
        return self.current.switch_mean**2

    @property
    def input_power(self) -> Array:
        """Mean power drawn from the ideal source for the armature, W."""
        if self.bus.charged is not None:
            return self.bus.charged.drawn
        return np.asarray(self.points.voltage * self.current.switch_mean)

    @cached_property
    def peak(self) -> Array:
        """Greatest armature current (A) with the bus at its crest, as if it stood there: the safe side."""
        if self.bus.charged is None:
            return self.current.greatest
        return _driven(_chopping(self.fixed), _unfed(self.fixed, self.points, self.flux), self.bus.crest)[1].greatest


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
        return (1.0 if fixed.setting_cap is None else fixed.setting_cap), 0.0

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted transistor: the armature straight on the bus, no limit left."""
        chopping = Chopping(frequency=_chopping(fixed).frequency)
        return replace(fixed, switch=Drop(), chopping=chopping, setting_cap=None), 1.0

    def solve(self, fixed: Fixed, points: Points) -> ChopperSolution:
        """Solve every point at its duty and speed (rad/s), bus and chopper together."""
        exact: Literal["no", "usual", "all"] = "usual" if fixed.tolerance <= EXACT else "no"
        return _solve(fixed, points, exact="all" if fixed.thorough else exact)

    def operating_point(self, solved: ChopperSolution) -> OperatingPoint:
        """Tell everything about the first point."""
        from designer.circuits.chopper_point import operating_point

        first = _solve(solved.fixed, solved.points[[0]], exact="all")
        return operating_point(first)

    def stresses(self, solved: ChopperSolution) -> dict[str, Array]:
        """What line, bus and devices see at every point: A, V, W; peaks with the bus at its crest."""
        fixed, one, stood = solved.fixed, solved.current, solved.bus
        ripple = np.sqrt(np.maximum(one.switch_rms**2 - one.switch_mean**2, 0.0))
        told = {
            "switch_current_mean": one.switch_mean, "switch_current_mean_absolute": one.switch_mean,
            "switch_current_rms": one.switch_rms, "switch_current_peak": solved.peak,
            "freewheel_current_mean": one.diode_mean, "freewheel_current_rms": one.diode_rms,
            "freewheel_current_peak": solved.peak,
            "armature_current_mean": one.mean, "armature_current_rms": one.rms, "armature_current_peak": solved.peak,
            "armature_current_ripple": one.ripple, "field_current_rms": solved.points.field_current,
            "bus_current": one.switch_mean, "bus_voltage_mean": stood.mean, "bus_voltage_valley": stood.valley,
            "bus_voltage_crest": stood.crest, "on_time": solved.loop.on_time,
            "capacitor_current_switching_rms": ripple, "capacitor_current_rms": ripple,
            "line_current_rms": np.sqrt(solved.line_square), "line_current_peak": one.switch_mean,
            "switch_loss": fixed.switch.threshold * one.switch_mean + fixed.switch.slope * one.switch_rms**2,
            "freewheel_loss": fixed.freewheel.threshold * one.diode_mean + fixed.freewheel.slope * one.diode_rms**2,
        }
        return told | ({} if stood.charged is None else rectified(fixed.feed, stood, ripple))

    def harmonics(self, solved: ChopperSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return line_harmonics(solved.bus)


def _solve(fixed: Fixed, points: Points, *, exact: Literal["no", "usual", "all"]) -> ChopperSolution:
    how, flux = _chopping(fixed), np.asarray(fixed.motor.curve.at(points.field_current, fixed.motor.remanence), float)
    unfed = _unfed(fixed, points, flux)
    least = np.full(len(points), max(fixed.switch.threshold - fixed.freewheel.threshold, 0.0))

    def draw(volts: Array, at: Indices) -> Array:
        return _driven(how, unfed[at], volts)[1].switch_mean

    source = Source(voltage=points.voltage, frequency=points.frequency)
    volts = meet(fixed.feed, source, draw, least=least, exact=exact)
    loop, current = _driven(how, unfed, volts)
    return ChopperSolution(fixed=fixed, points=points, flux=flux, volts=volts, taken=current.switch_mean, loop=loop,
                           current=current)


def _chopping(fixed: Fixed) -> Chopping:
    if fixed.chopping is None:
        raise ValueError("a chopper needs its switching frequency")
    return fixed.chopping


def _unfed(fixed: Fixed, points: Points, flux: Array) -> Loop:
    """The loop with its bus at 0 V."""
    frequency, full = _chopping(fixed).frequency, np.ones(len(points))
    against = fixed.motor.brush_drop + flux * points.speed
    return Loop(
        on_voltage=-fixed.switch.threshold - against, off_voltage=-fixed.freewheel.threshold - against,
        on_resistance=points.armature_resistance + fixed.switch.slope,
        off_resistance=points.armature_resistance + fixed.freewheel.slope,
        inductance=full * fixed.motor.armature_inductance, period=full / frequency,
        on_time=np.clip(points.setting, 0.0, 1.0) / frequency)


def _driven(how: Chopping, unfed: Loop, volts: Array) -> tuple[Loop, Chopped]:
    """The loop at a bus voltage and its periodic current, under the current limit where there is one."""
    loop = replace(unfed, on_voltage=np.maximum(volts + unfed.on_voltage, unfed.off_voltage))
    current = chopped(loop)
    over = np.flatnonzero(current.greatest > how.current_limit)
    if not over.size:
        return loop, current
    held = limited(loop[over], limit=np.full(over.size, how.current_limit), shortest=np.full(over.size, how.shortest))
    return replace(loop, on_time=put(loop.on_time, over, held.on_time)), put(current, over, held.current)


CIRCUIT = ChopperArmature()
