"""A field winding on a chopper of its own: what every circuit with one asks of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from designer.circuits.case import Drop, Fixed
from designer.circuits.on_bus import how_chopped
from designer.motor.flux import FluxCurve, Winding
from designer.motor.model import MotorModel
from designer.results import Array
from designer.waveforms.chopper import Chopped, chopped
from designer.waveforms.chopper_series import SeriesChopped, SeriesLoop, series_chopped, series_trace

Current = TypeVar("Current", SeriesChopped, Chopped)
ROUNDS = 100      # of the search for a duty; two or three do where the current is continuous
#: a curve that no current reaches the end of, for an inductance that follows none
NO_CURVE = FluxCurve(current=(1e9,), value=(1.0,))


def field_winding(motor: MotorModel) -> Winding:
    """The field winding alone; its inductance follows the curve where the motor's does."""
    if not motor.saturating:
        return Winding(curve=NO_CURVE, constant=motor.field_inductance, main=0.0)
    return Winding(curve=motor.curve, constant=motor.field_leakage, main=motor.field_inductance - motor.field_leakage)


@dataclass(frozen=True, kw_only=True)
class FieldCell:
    """The field's transistor and diode, Hz, the winding that hangs on them, and the error allowed."""

    switch: Drop
    freewheel: Drop
    frequency: float
    winding: Winding
    tolerance: float

    @classmethod
    def of(cls, fixed: Fixed) -> FieldCell:
        """The cell of a motor's circuit; its devices are those of ``field_switch``, ``field_freewheel``."""
        return cls(switch=fixed.field_switch or fixed.switch, freewheel=fixed.field_freewheel or fixed.freewheel,
                   frequency=how_chopped(fixed).frequency, winding=field_winding(fixed.motor),
                   tolerance=min(fixed.tolerance, 1e-5))

    def loop(self, volts: Array, duty: Array, resistance: Array) -> SeriesLoop:
        """The loop at a bus voltage (V), a duty and the winding's resistance (ohm)."""
        full = np.ones(len(duty))
        return SeriesLoop(
            on_voltage=volts - self.switch.threshold, off_voltage=-self.freewheel.threshold * full,
            on_resistance=resistance + self.switch.slope, off_resistance=resistance + self.freewheel.slope,
            speed=0.0 * full, period=full / self.frequency, on_time=np.clip(duty, 0.0, 1.0) / self.frequency)

    def current(self, loop: SeriesLoop) -> SeriesChopped:
        """Its periodic current."""
        return series_chopped(loop, self.winding, tolerance=self.tolerance)

    def held(self, volts: Array, current: Array, resistance: Array) -> tuple[SeriesLoop, SeriesChopped]:
        """The loop whose mean current is ``current`` (A), as a regulator holds it; full on where it takes more."""
        return self._held(volts, current, resistance, self.current)

    def held_straight(self, volts: Array, current: Array, resistance: Array) -> tuple[SeriesLoop, Chopped]:
        """As ``held`` with the inductance that the winding has at that current: closed forms, right but for ripple."""
        henries = self.winding.inductance(current)
        return self._held(volts, current, resistance, lambda loop: chopped(loop.straight(0.0, henries)))

    def _held(
        self, volts: Array, current: Array, resistance: Array, solve: Callable[[SeriesLoop], Current]
    ) -> tuple[SeriesLoop, Current]:
        """Secant steps on the duty, the first one as direct current would have it, kept where they lead nearer."""
        span = np.maximum(volts - self.switch.threshold + self.freewheel.threshold, 1e-9)
        steep = (resistance + np.maximum(self.switch.slope, self.freewheel.slope)) / span
        duty = np.where(current > 0, np.clip((resistance * current + self.freewheel.threshold) / span, 0.0, 1.0), 0.0)
        loop = self.loop(volts, duty, resistance)
        found = solve(loop)
        for _ in range(ROUNDS):
            lacking = current - found.mean
            left = (np.abs(lacking) > 0.1 * self.tolerance * current) & np.where(lacking > 0, duty < 1.0, duty > 0.0)
            if not left.any():
                break
            before, duty = duty, np.where(left, np.clip(duty + steep * lacking, 0.0, 1.0), duty)
            loop = self.loop(volts, duty, resistance)
            found = solve(loop)
            rise = found.mean - (current - lacking)
            known = left & (rise * (duty - before) > 0)
            steep = np.where(known, np.divide(duty - before, rise, out=steep.copy(), where=known), steep)
        return loop, found

    def most(self, volts: Array, resistance: Array) -> Array:
        """The direct current (A) with the transistor on for good."""
        return np.maximum(volts - self.switch.threshold, 0.0) / (resistance + self.switch.slope)


def figures(one: SeriesChopped) -> dict[str, float]:
    """Mean, r.m.s., peak, least and ripple of the current at the first point, A."""
    values = {"mean": one.mean, "rms": one.rms, "peak": one.greatest, "min": one.least, "ripple": one.ripple}
    return {name: float(value[0]) for name, value in values.items()}


def device_figures(one: SeriesChopped, loop: SeriesLoop) -> dict[str, dict[str, float]]:
    """Those of its transistor and of its diode."""
    peak, through = float(one.greatest[0]), not bool(loop.off_time[0] > 0)
    on, off = bool(one.on_charge[0] > 0), bool(one.off_charge[0] > 0)
    least = float(one.least[0]) * through
    return {
        "switch": {"mean": float(one.switch_mean[0]), "rms": float(one.switch_rms[0]), "peak": peak * on, "min": least,
                   "ripple": (peak - least) * on},
        "freewheel": {"mean": float(one.diode_mean[0]), "rms": float(one.diode_rms[0]), "peak": peak * off,
                      "min": 0.0, "ripple": peak * off}}


def losses(cell: FieldCell, one: SeriesChopped) -> tuple[Array, Array]:
    """Conduction loss of its transistor and of its diode, W."""
    switch, diode = cell.switch, cell.freewheel
    return (np.asarray(switch.threshold * one.switch_mean + switch.slope * one.switch_rms**2),
            np.asarray(diode.threshold * one.diode_mean + diode.slope * one.diode_rms**2))


def traced(cell: FieldCell, loop: SeriesLoop, at: Array) -> Array:
    """The current (A) of the first point at instants of its period (s)."""
    time, current = (rows[:, 0] for rows in series_trace(loop[:1], cell.winding))
    return np.interp(at, time, current)
