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

#: x below which φ₂ and χ are summed from the exponential series; above, their definitions keep 14 digits
_NEAR = 0.25
#: coefficients of φ₂ and χ in powers of x; what is left out is below 1e-17 of the first
_PHI_2 = tuple((-1) ** m / math.factorial(m + 2) for m in range(12))
_CHI = tuple((-1) ** m * (2 ** (m + 2) - 2) / (math.factorial(m + 2) * (m + 3)) for m in range(15))


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """One stretch of ``time`` s.

    x = R·t/L; ``rise`` (A) what the voltage would add without resistance, V·t/L; φ₁ and φ₂.
    """

    time: Array
    x: Array
    rise: Array
    phi_1: Array
    phi_2: Array

    @property
    def decay(self) -> Array:
        """What remains of the current at the start, as a share: e⁻ˣ."""
        return np.asarray(np.exp(-self.x))

    @property
    def lift(self) -> Array:
        """What the voltage adds to the current by the end, A."""
        return np.asarray(self.rise * self.phi_1)

    @property
    def shortfall(self) -> Array:
        """By what the resistance lowers the lift, A."""
        return np.asarray(self.rise * self.x * self.phi_2)

    def end(self, start: Array) -> Array:
        """Give the current at the end, A."""
        return np.asarray(start * self.decay + self.lift)

    def charge(self, start: Array) -> Array:
        """Give ∫ i dt, A·s."""
        return np.asarray(self.time * (start * self.phi_1 + self.rise * self.phi_2))

    def square(self, start: Array) -> Array:
        """Give ∫ i² dt, A²·s."""
        lift = self.lift
        both = self.phi_1 - self.x * self.phi_1**2 / 2    # φ₁ at 2x
        return np.asarray(self.time * (start * (start * both + lift * self.phi_1) + self.rise**2 * self._chi))

    @property
    def _chi(self) -> Array:
        near = _series(_CHI, np.minimum(self.x, _NEAR))
        return np.asarray(np.divide(self.phi_2 - 0.5 * self.phi_1**2, self.x, out=near, where=self.x > _NEAR))


def stretch(voltage: Array, *, resistance: Array, inductance: Array, time: Array) -> Stretch:
    """Give the stretch of ``time`` (s) that ``voltage`` drives through ``resistance`` and ``inductance``."""
    per_henry = time / inductance
    x = resistance * per_henry
    fall = -np.expm1(-x)
    phi_1 = np.divide(fall, x, out=np.ones_like(x), where=x > 0)
    phi_2 = np.divide(1 - phi_1, x, out=_series(_PHI_2, np.minimum(x, _NEAR)), where=x > _NEAR)
    return Stretch(time=time, x=x, rise=voltage * per_henry, phi_1=phi_1, phi_2=phi_2)


def _series(coefficients: tuple[float, ...], x: Array) -> Array:
    total = coefficients[-1] * x
    for coefficient in coefficients[-2:0:-1]:
        total += coefficient
        total *= x
    total += coefficients[0]
    return np.asarray(total)
