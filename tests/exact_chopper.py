"""The chopper's periodic current by the textbook forms in 60-digit decimals of the standard library.

Slow, and exact for the floats that it is given. SI units; written from L·di/dt = V − R·i alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, localcontext


def exact(point: Sequence[float]) -> tuple[bool, list[float]]:
    """Continuous or not; first, peak, extinction (the period where continuous), charges and squares on and off.

    ``point``: V on, V off, R on, R off, L, period, on-time; resistances above zero, the bus drives a current.
    """
    with localcontext() as context:
        context.prec = 60
        Va, Vb, Ra, Rb, L, T, on = (Decimal(x) for x in point)

        def end(i: Decimal, V: Decimal, R: Decimal, t: Decimal) -> Decimal:
            fade = (-R * t / L).exp()
            return i * fade + V / R * (1 - fade)

        def charge(i: Decimal, V: Decimal, R: Decimal, t: Decimal) -> Decimal:
            return V / R * t + (i - V / R) * L / R * (1 - (-R * t / L).exp())

        def square(i: Decimal, V: Decimal, R: Decimal, t: Decimal) -> Decimal:
            a, b, tau = V / R, i - V / R, L / R
            return a * a * t + 2 * a * b * tau * (1 - (-t / tau).exp()) + b * b * tau / 2 * (1 - (-2 * t / tau).exp())

        excess = end(end(Decimal(0), Va, Ra, on), Vb, Rb, T - on)
        first = excess / (1 - (-(Ra * on + Rb * (T - on)) / L).exp()) if excess > 0 else Decimal(0)
        peak = end(first, Va, Ra, on)
        after = T - on if excess > 0 else L / Rb * (1 + Rb * peak / -Vb).ln()
        numbers = (first, peak, on + after, charge(first, Va, Ra, on), square(first, Va, Ra, on),
                   charge(peak, Vb, Rb, after), square(peak, Vb, Rb, after))
        return excess > 0, [float(x) for x in numbers]
