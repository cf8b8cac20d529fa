"""Conduction through a straight-line motor: resistance, inductance and constant opposing voltage.

With k = k_r + c·i and constant inductance the speed voltage of the current acts as a resistance c·ω,
so the current is the closed form of ``equations/conduction.py``. Extinction is a root, to 1e-12 rad;
the integrals are closed forms of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from designer.motor.flux import Winding
from designer.results import Array
from designer.waveforms.path import Interval, Path


@dataclass(frozen=True, kw_only=True)
class Decomposed:
    """i = a·sin(θ − lag) + b + c·exp(−kappa·(θ − start)), A and rad."""

    a: Array
    lag: Array
    b: Array
    c: Array
    kappa: Array
    start: Array

    def at(self, theta: Array) -> Array:
        """Give the current, A."""
        decay = np.exp(-self.kappa * (theta - self.start))
        return np.asarray(self.a * np.sin(theta - self.lag) + self.b + self.c * decay)

    def slope(self, theta: Array) -> Array:
        """Give di/dθ, A/rad."""
        decay = np.exp(-self.kappa * (theta - self.start))
        return np.asarray(self.a * np.cos(theta - self.lag) - self.kappa * self.c * decay)

    def charge(self, end: Array) -> Array:
        """Give ∫ i dθ up to ``end``, A·rad."""
        x, s, e = end - self.start, self.start - self.lag, end - self.lag
        sine = np.cos(s) - np.cos(e)
        return np.asarray(self.a * sine + self.b * x - self.c * np.expm1(-self.kappa * x) / self.kappa)

    def square(self, end: Array) -> Array:
        """Give ∫ i² dθ up to ``end``, A²·rad."""
        x, s, e = end - self.start, self.start - self.lag, end - self.lag
        sine = np.cos(s) - np.cos(e)
        sine2 = x / 2 - (np.sin(2 * e) - np.sin(2 * s)) / 4
        decay = -np.expm1(-self.kappa * x) / self.kappa
        decay2 = -np.expm1(-2 * self.kappa * x) / (2 * self.kappa)
        cross = self._decaying_sine(self.lag, x)
        return np.asarray(
            self.a**2 * sine2 + self.b**2 * x + self.c**2 * decay2
            + 2 * (self.a * self.b * sine + self.a * self.c * cross + self.b * self.c * decay)
        )

    def drawn(self, end: Array) -> Array:
        """Give ∫ i·sin θ dθ up to ``end``, A·rad."""
        x = end - self.start
        both = x * np.cos(self.lag) / 2 - (np.sin(2 * end - self.lag) - np.sin(2 * self.start - self.lag)) / 4
        plain = np.cos(self.start) - np.cos(end)
        return np.asarray(self.a * both + self.b * plain + self.c * self._decaying_sine(0.0, x))

    def _decaying_sine(self, lag: Array | float, x: Array) -> Array:
        """∫ exp(−kappa·(θ − start))·sin(θ − lag) dθ over ``x`` from start."""
        s, e = self.start - lag, self.start + x - lag
        at_end = np.exp(-self.kappa * x) * (self.kappa * np.sin(e) + np.cos(e))
        return np.asarray((self.kappa * np.sin(s) + np.cos(s) - at_end) / (1 + self.kappa**2))


def decompose(
    peak: Array, *, resistance: Array, reactance: Array, opposing: Array, turn_on: Array
) -> Decomposed:
    """Give the current that starts from zero at ``turn_on`` (volts, ohms, rad); arrays broadcast."""
    lag = np.arctan2(reactance, resistance)
    a = peak / np.hypot(resistance, reactance)
    b = -opposing / resistance
    return Decomposed(
        a=a, lag=lag, b=b, c=-b - a * np.sin(turn_on - lag), kappa=resistance / reactance, start=turn_on
    )


def extinction(current: Decomposed) -> tuple[Array, Array]:
    """Give the angles of crest and extinction, rad, for a current that rises at its start."""
    # the crest lies before the point where the forced part's slope ends, the zero within a turn of it
    crest = _root(current.slope, low=current.start, high=current.start + np.pi)
    return crest, _root(current.at, low=crest, high=current.start + 2 * np.pi)


def _root(function: Callable[[Array], Array], *, low: Array, high: Array) -> Array:
    """Bisect from above zero at ``low`` to below it at ``high``, to rounding."""
    low, high = np.array(low, float), np.array(high, float)
    for _ in range(54):
        middle = 0.5 * (low + high)
        above = function(middle) > 0
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return np.asarray(0.5 * (low + high))


def conduct_linear(path: Path, winding: Winding, turn_on: Array, *, latching: float = np.inf) -> Interval:
    """Give the conduction interval of a motor whose curve is one straight line, in closed form."""
    chord = winding.curve.initial_slope
    inductance = float(winding.inductance(0.0))
    current = decompose(
        path.peak,
        resistance=path.resistance + path.speed * chord,
        reactance=path.omega * inductance,
        opposing=path.opposing,
        turn_on=turn_on,
    )
    crest, end = extinction(current)
    latched = np.full(len(path), np.inf)
    reaches = current.at(crest) >= latching
    if reaches.any():
        rising = _root(lambda x: latching - current.at(x), low=turn_on, high=crest)
        latched = np.where(reaches, rising, latched)
    square = current.square(end)
    return Interval(
        turn_on=turn_on,
        extinction=end,
        charge=current.charge(end),
        square=square,
        pull=chord * square,
        drawn=current.drawn(end),
        crest=current.at(crest),
        slope=-current.slope(end),
        latched=latched,
    )
