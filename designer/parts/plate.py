"""A plain vertical aluminium plate as a heatsink: natural convection and radiation from both faces."""

from __future__ import annotations

from scipy.optimize import brentq

from designer.equations import thermal as eq

#: m; a larger plate is no longer at one temperature
LARGEST = 0.4
#: emissivity of a black anodised or painted face (from memory)
BLACK = 0.9
_LAMINAR = 1e9
_ZERO = 273.15


def coefficient(height: float, *, sink: float, air: float, emissivity: float = BLACK) -> float:
    """Give the heat transfer coefficient, W/(m²·K), of a vertical face of ``height`` (m).

    ``sink`` and ``air`` in °C, ``sink`` the warmer. The laminar form holds up to a Rayleigh number of
    1e9, the form for all numbers above (Churchill and Chu 1975).
    """
    warm = {"T_s": sink + _ZERO, "T_a": air + _ZERO}
    rayleigh = float(eq.RAYLEIGH(L_plate=height, **warm))
    formula = eq.PLATE_LAMINAR if rayleigh <= _LAMINAR else eq.PLATE_ALL
    nusselt = float(formula(Ra=rayleigh, Pr=eq.Pr_air.value))
    convection = float(eq.CONVECTION(Nu=nusselt, L_plate=height))
    return convection + float(eq.RADIATION(eps=emissivity, **warm))


def resistance(height: float, *, sink: float, air: float, emissivity: float = BLACK) -> float:
    """Give the thermal resistance, K/W, of a square plate of that side, both faces free."""
    transfer = coefficient(height, sink=sink, air=air, emissivity=emissivity)
    return float(eq.SURFACE_RESISTANCE(h=transfer, A_plate=2.0 * height**2))


def side(loss: float, *, sink: float, air: float, emissivity: float = BLACK) -> float:
    """Give the side, m, of the square plate that sheds ``loss`` (W) at the temperature ``sink`` (°C).

    Not rounded: take the next larger. Infinite where more than 2 m would be needed.
    """
    def surplus(height: float) -> float:
        return (sink - air) / resistance(height, sink=sink, air=air, emissivity=emissivity) - loss

    low, high = 0.005, 2.0
    if surplus(low) >= 0:
        return low
    if surplus(high) < 0:
        return float("inf")
    return float(brentq(surplus, low, high, xtol=1e-6))
