"""A plain vertical aluminium plate as a heatsink: natural convection and radiation from both faces."""

from __future__ import annotations

from scipy.optimize import brentq

from designer.equations import fins as fin_eq
from designer.equations import thermal as eq

#: m; a larger plate is no longer at one temperature
LARGEST = 0.4
#: emissivity of a black anodised or painted face, and of bare aluminium, lower end (from memory)
BLACK, BARE = 0.9, 0.05
_LAMINAR = 1e9
_ZERO = 273.15


def rayleigh(height: float, *, sink: float, air: float, altitude: float = 0.0) -> float:
    """Give the Rayleigh number of a face of ``height`` (m) at ``altitude`` (m); ``sink`` and ``air`` in °C."""
    at_sea = float(eq.RAYLEIGH(L_plate=height, T_s=sink + _ZERO, T_a=air + _ZERO))
    return float(fin_eq.RAYLEIGH_ALOFT(d_air=float(fin_eq.AIR_DENSITY(z=altitude)), Ra_sea=at_sea))


def convection(height: float, *, sink: float, air: float, altitude: float = 0.0) -> float:
    """Give the convection coefficient, W/(m²·K), of a vertical face of ``height`` (m).

    ``sink`` and ``air`` in °C, ``sink`` the warmer. The laminar form holds up to a Rayleigh number of
    1e9, the form for all numbers above (Churchill and Chu 1975).
    """
    number = rayleigh(height, sink=sink, air=air, altitude=altitude)
    formula = eq.PLATE_LAMINAR if number <= _LAMINAR else eq.PLATE_ALL
    return float(eq.CONVECTION(Nu=float(formula(Ra=number, Pr=eq.Pr_air.value)), L_plate=height))


def radiation(*, sink: float, air: float, emissivity: float) -> float:
    """Give the radiation coefficient, W/(m²·K); ``sink`` and ``air`` in °C."""
    return float(eq.RADIATION(eps=emissivity, T_s=sink + _ZERO, T_a=air + _ZERO))


def coefficient(
    height: float, *, sink: float, air: float, emissivity: float = BLACK, altitude: float = 0.0,
) -> float:
    """Give the heat transfer coefficient, W/(m²·K), of a vertical face: convection and radiation."""
    return (convection(height, sink=sink, air=air, altitude=altitude)
            + radiation(sink=sink, air=air, emissivity=emissivity))


def resistance(
    height: float, *, sink: float, air: float, emissivity: float = BLACK, altitude: float = 0.0,
) -> float:
    """Give the thermal resistance, K/W, of a square plate of that side, both faces free."""
    transfer = coefficient(height, sink=sink, air=air, emissivity=emissivity, altitude=altitude)
    return float(eq.SURFACE_RESISTANCE(h=transfer, A_plate=2.0 * height**2))


def side(loss: float, *, sink: float, air: float, emissivity: float = BLACK, altitude: float = 0.0) -> float:
    """Give the side, m, of the square plate that sheds ``loss`` (W) at the temperature ``sink`` (°C).

    Not rounded: take the next larger. Infinite where more than 2 m would be needed.
    """
    def surplus(height: float) -> float:
        shed = resistance(height, sink=sink, air=air, emissivity=emissivity, altitude=altitude)
        return (sink - air) / shed - loss

    low, high = 0.005, 2.0
    if surplus(low) >= 0:
        return low
    if surplus(high) < 0:
        return float("inf")
    return float(brentq(surplus, low, high, xtol=1e-6))
