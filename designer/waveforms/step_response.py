"""Exact response of a switch with its R-C snubber to the voltage that steps onto it at turn-off.

Loop: step E, inductance L, load resistance R_l, snubber R_s and C in series across the switch, with
the current I_r still in the loop when the switch lets go. Everything is closed form, over-damped and
under-damped alike; every field may be an array, they are broadcast against each other.

With σ = (R_l + R_s)/(2L), ω₀² = 1/(LC) and D = σ² − ω₀², every quantity of the loop is
e^(−σt)·(p·c(t) + q·s(t)), where c, s = cosh, sinh(√D·t)/√D; cos and sin for D < 0. The derivative
has the coefficients (q − σp, Dp − σq), which gives each extreme without a search.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq

from designer.results import Array

Pair = tuple[Array, Array]


@dataclass(frozen=True, kw_only=True)
class Loop:
    """The loop at turn-off: V, H, Ω, Ω, F, A; ``recovery_current`` is I_r."""

    step: ArrayLike
    inductance: ArrayLike
    load_resistance: ArrayLike
    resistance: ArrayLike
    capacitance: ArrayLike
    recovery_current: ArrayLike = 0.0

    @cached_property
    def _values(self) -> tuple[Array, ...]:
        given = (self.step, self.inductance, self.load_resistance, self.resistance, self.capacitance,
                 self.recovery_current)
        values: tuple[Array, ...] = np.broadcast_arrays(*(np.asarray(x, dtype=float) for x in given))
        return values

    @cached_property
    def decay(self) -> Array:
        """σ, 1/s."""
        _, inductance, load, snubber, _, _ = self._values
        decay: Array = (load + snubber) / (2 * inductance)
        return decay

    @cached_property
    def discriminant(self) -> Array:
        """D = σ² − ω₀², 1/s²; negative when the loop rings."""
        _, inductance, _, _, capacitance, _ = self._values
        discriminant: Array = self.decay**2 - 1 / (inductance * capacitance)
        return discriminant

    @cached_property
    def _current(self) -> Pair:
        step, inductance, load, snubber, _, current = self._values
        start: Array = (step - (load + snubber) * current) / inductance
        return current, start + self.decay * current

    @cached_property
    def _slope(self) -> Pair:
        """Coefficients of dv/dt = R_s·di/dt + i/C."""
        _, _, _, snubber, capacitance, _ = self._values
        p, q = self._current
        dp, dq = self._derivative(self._current)
        return snubber * dp + p / capacitance, snubber * dq + q / capacitance

    def _derivative(self, pair: Pair) -> Pair:
        p, q = pair
        return q - self.decay * p, self.discriminant * p - self.decay * q

    def _evaluate(self, pair: Pair, time: ArrayLike) -> Array:
        c, s = _basis(self.decay, self.discriminant, np.asarray(time, dtype=float))
        value: Array = pair[0] * c + pair[1] * s
        return value

    def current(self, time: ArrayLike) -> Array:
        """Give the loop's current, A, at ``time`` (s) after turn-off."""
        return self._evaluate(self._current, time)

    def voltage(self, time: ArrayLike) -> Array:
        """Give the voltage across the switch, V: E − R_l·i − L·di/dt."""
        step, inductance, load, _, _, _ = self._values
        fall = self._evaluate(self._derivative(self._current), time)
        value: Array = step - load * self.current(time) - inductance * fall
        return value

    def slope(self, time: ArrayLike) -> Array:
        """Give dv/dt of the switch voltage, V/s."""
        return self._evaluate(self._slope, time)

    def peak_time(self) -> Array:
        """Give the time of the first extreme, s; infinite where the voltage only creeps up to E.

        It is a crest, unless the recovery current lifts the voltage so far that it first falls.
        """
        return self._first_zero(self._slope)

    def peak(self) -> Array:
        """Give the greatest voltage across the switch, V: at once, at a crest, or E in the end."""
        peak: Array = np.maximum(self._greatest(self._slope, self.voltage), self._values[0])
        return peak

    def greatest_slope(self) -> Array:
        """Give the greatest instantaneous dv/dt, V/s, at least 0; the jump R_s·I_r at the start has none."""
        greatest: Array = np.maximum(self._greatest(self._derivative(self._slope), self.slope), 0.0)
        return greatest

    def _greatest(self, derivative: Pair, value: Callable[[ArrayLike], Array]) -> Array:
        """The greatest of the start and the first two extremes, of which one is a crest."""
        first = self._first_zero(derivative)
        with np.errstate(divide="ignore"):
            second = first + np.where(self.discriminant < 0, np.pi / np.sqrt(np.abs(self.discriminant)), np.inf)
        crests = [np.where(np.isfinite(t), value(np.where(np.isfinite(t), t, 0.0)), -np.inf) for t in (first, second)]
        greatest: Array = np.maximum(value(0.0), np.maximum(*crests))
        return greatest

    def _first_zero(self, pair: Pair) -> Array:
        """First t > 0 at which p·c(t) + q·s(t) = 0, infinite where there is none."""
        p, q = pair
        rate = np.sqrt(np.abs(self.discriminant))
        with np.errstate(divide="ignore", invalid="ignore"):
            turned = np.arctan2(p * rate, -q) % np.pi
            ringing = np.where(turned > 0, turned, np.pi) / rate
            ratio = -p * rate / q
            creeping = np.arctanh(np.where((ratio > 0) & (ratio < 1), ratio, np.nan)) / rate
            critical = np.where(-p / q > 0, -p / q, np.nan)
        found = np.where(self.discriminant < 0, ringing, creeping)
        found = np.where(rate * np.sqrt(self._values[1] * self._values[4]) < 1e-9, critical, found)
        time: Array = np.where(np.isfinite(found), found, np.inf)
        return time


def _basis(decay: Array, discriminant: Array, time: Array) -> Pair:
    """e^(−σt)·c(t) and e^(−σt)·s(t), without overflow when over-damped."""
    rate = np.sqrt(np.abs(discriminant))
    phase = rate * time
    faded = np.exp(-decay * time)
    over = discriminant > 0
    slow = np.exp(np.where(over, (rate - decay) * time, 0.0))
    fast = np.exp(np.where(over, -(rate + decay) * time, 0.0))
    c = np.where(over, (slow + fast) / 2, faded * np.cos(phase))
    with np.errstate(divide="ignore", invalid="ignore"):
        s = np.where(over, (slow - fast) / (2 * rate), faded * np.sin(phase) / rate)
    return c, np.where(phase < 1e-9, faded * time, s)


def time_to(loop: Loop, share: float) -> float:
    """Give the first time, s, at which the switch voltage of one loop reaches ``share`` of the step.

    Raises ``ValueError`` when it never does before its crest.
    """
    target = share * float(np.asarray(loop.step))
    crest = float(loop.peak_time())
    slowest = float(loop.decay - np.sqrt(np.maximum(loop.discriminant, 0.0)))
    end = crest if np.isfinite(crest) else 50 / slowest
    if not float(loop.voltage(0.0)) < target <= float(loop.voltage(end)):
        raise ValueError(f"the voltage does not rise through {share:g} of the step")
    return float(brentq(lambda t: float(loop.voltage(t)) - target, 0.0, end, xtol=1e-18, rtol=1e-14))


def average_slope(loop: Loop, share: float = 0.63) -> float:
    """Give the mean dv/dt, V/s, from zero to ``share`` of the step: the 63 % figure of data sheets."""
    return share * float(np.asarray(loop.step)) / time_to(loop, share)
