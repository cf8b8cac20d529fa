"""A current that a constant voltage drives through resistance and inductance for a while, in closed form.

L·di/dt = V − R·i. With x = R·t/L the end, the charge and the square of the current are sums of three functions
that stay exact as R goes to zero: φ₁ = (1 − e⁻ˣ)/x, φ₂ = (1 − φ₁)/x and χ = (φ₂ − φ₁²/2)/x (1, 1/2 and 1/3 at
x = 0). Derived: i = i₀·e⁻ˣ + (V/L)·t·φ₁, integrated once and squared.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from designer.results import Array

#: coefficients of φ₂ and χ in powers of x, from the exponential series; used for 0 ≤ x < 1
_TERMS = range(22)
_PHI_2 = tuple((-1) ** m / math.factorial(m + 2) for m in _TERMS)
_CHI = tuple((-1) ** m * (2 ** (m + 2) - 2) / (math.factorial(m + 2) * (m + 3)) for m in _TERMS)


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """One stretch of ``time`` s: x = R·t/L, the decay e⁻ˣ, the slope that the voltage gives alone (A/s), φ₁."""

    time: Array
    x: Array
    decay: Array
    slope: Array
    phi_1: Array

    @property
    def lift(self) -> Array:
        """What the voltage adds to the current by the end, A."""
        return np.asarray(self.slope * self.time * self.phi_1)

    @property
    def shortfall(self) -> Array:
        """By what the lift stays below slope × time, over slope × time: x·φ₂."""
        return np.asarray(self.x * phi_2(self.x, self.phi_1))

    def end(self, start: Array) -> Array:
        """Give the current at the end, A."""
        return np.asarray(start * self.decay + self.lift)

    def charge(self, start: Array) -> Array:
        """Give ∫ i dt, A·s."""
        return np.asarray(self.time * (start * self.phi_1 + self.slope * self.time * phi_2(self.x, self.phi_1)))

    def square(self, start: Array) -> Array:
        """Give ∫ i² dt, A²·s."""
        rise = self.slope * self.time
        both = self.phi_1 * (2 - self.x * self.phi_1) / 2    # φ₁ at 2x
        return np.asarray(
            self.time * (start**2 * both + start * rise * self.phi_1**2 + rise**2 * chi(self.x, self.phi_1)))


def stretch(voltage: Array, *, resistance: Array, inductance: Array, time: Array) -> Stretch:
    """Give the stretch of ``time`` (s) that ``voltage`` drives through ``resistance`` and ``inductance``."""
    x = resistance * time / inductance
    fall = -np.expm1(-x)
    phi_1 = np.divide(fall, x, out=np.ones_like(x), where=x > 0)
    return Stretch(time=time, x=x, decay=np.exp(-x), slope=voltage / inductance, phi_1=phi_1)


def _series(coefficients: tuple[float, ...], x: Array) -> Array:
    total = np.full_like(x, coefficients[-1])
    for coefficient in coefficients[-2::-1]:
        total = total * x + coefficient
    return total


def phi_2(x: Array, phi_1: Array) -> Array:
    """Give (1 − φ₁)/x for x ≥ 0; 1/2 at zero."""
    near = _series(_PHI_2, np.minimum(x, 1.0))
    return np.asarray(np.divide(1 - phi_1, x, out=near, where=x >= 1))


def chi(x: Array, phi_1: Array) -> Array:
    """Give (φ₂ − φ₁²/2)/x for x ≥ 0; 1/3 at zero."""
    near = _series(_CHI, np.minimum(x, 1.0))
    both = phi_1 * (2 - x * phi_1) / 2
    return np.asarray(np.divide(1 - 2 * phi_1 + both, x**2, out=near, where=x >= 1))
