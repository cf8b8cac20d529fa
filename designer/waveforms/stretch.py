"""A current that a constant voltage drives through resistance and inductance for a while, in closed form.

L·di/dt = V − R·i. With x = R·t/L the end, the charge and the square of the current are sums of three functions
that stay exact as R goes to zero: φ₁ = (1 − e⁻ˣ)/x, φ₂ = (1 − φ₁)/x and χ = (φ₂ − φ₁²/2)/x (1, 1/2 and 1/3 at
x = 0). Derived: i = i₀·e⁻ˣ + (V/L)·t·φ₁, integrated once and squared.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from designer.results import Array, Indices, Mask

#: x up to which φ₂ and χ are summed from the exponential series; above, their definitions keep 13 digits
_NEAR = 0.125
#: coefficients of φ₂ and χ in powers of x; what is left out is below 1e-16 of the first
_PHI_2 = tuple((-1) ** m / math.factorial(m + 2) for m in range(10))
_CHI = tuple((-1) ** m * (2 ** (m + 2) - 2) / (math.factorial(m + 2) * (m + 3)) for m in range(12))


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

    def __getitem__(self, chosen: Mask | Indices | slice) -> Stretch:
        return Stretch(**{item.name: getattr(self, item.name)[chosen] for item in fields(self)})

    @cached_property
    def decay(self) -> Array:
        """What remains of the current at the start, as a share: e⁻ˣ."""
        decay = 1 - self.x * self.phi_1
        far = np.flatnonzero(self.x > _NEAR)    # there the difference would lose digits
        decay[far] = np.exp(-self.x[far])
        return np.asarray(decay)

    @cached_property
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
        far = np.flatnonzero(self.x > _NEAR)
        chi = _series(_CHI, np.minimum(self.x, _NEAR) if len(far) else self.x)
        chi[far] = (self.phi_2[far] - 0.5 * self.phi_1[far] ** 2) / self.x[far]
        return chi


def stretch(voltage: Array, *, resistance: Array, inductance: Array, time: Array) -> Stretch:
    """Give the stretch of ``time`` (s) that ``voltage`` drives through ``resistance`` and ``inductance``."""
    per_henry = time / inductance
    x = resistance * per_henry
    far = np.flatnonzero(x > _NEAR)
    phi_2 = _series(_PHI_2, np.minimum(x, _NEAR) if len(far) else x)
    phi_1 = 1 - x * phi_2
    if len(far):
        long = x[far]
        phi_1[far] = share = -np.expm1(-long) / long
        phi_2[far] = (1 - share) / long
    return Stretch(time=time, x=x, rise=voltage * per_henry, phi_1=phi_1, phi_2=phi_2)


def _series(coefficients: tuple[float, ...], x: Array) -> Array:
    total = coefficients[-1] * x
    for coefficient in coefficients[-2:0:-1]:
        total += coefficient
        total *= x
    total += coefficients[0]
    return np.asarray(total)


def put(whole: Any, places: Indices, values: Any) -> Any:
    """Give an array, or all arrays of a frozen dataclass, with the entries at ``places`` replaced by ``values``."""
    if is_dataclass(whole) and not isinstance(whole, type):
        return replace(whole, **{item.name: put(getattr(whole, item.name), places, getattr(values, item.name))
                                 for item in fields(whole)})
    changed = whole.copy()
    changed[places] = values
    return changed


def product(a: Array, b: Array) -> tuple[Array, Array]:
    """Give a·b in two parts: that of the leading 24 bits, which is exact, and the rest."""
    a_high, b_high = a.astype(np.float32).astype(float), b.astype(np.float32).astype(float)
    return a_high * b_high, (a - a_high) * b + a_high * (b - b_high)
