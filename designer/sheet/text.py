"""Numbers and names for people: speeds in rpm, angles in degrees, times that one can wait."""

from __future__ import annotations

import math

from designer.quantities import engineering
from designer.results import Quantity

RPM = math.pi / 30
_ROLES = {"x2-capacitor": "X2 capacitor", "x2-bleeder": "X2 bleeder", "led-resistor": "LED resistor"}
_FIXED = "\u00a0"  # no line break between number and unit


def show(quantity: Quantity, *, digits: int = 4) -> str:
    """Write a quantity for people; speeds come out in rpm, angles in degrees.

    Number and unit are held together by a no-break space. Torques from 0.1 N·m on stay in N·m.
    """
    value, unit = quantity.value or 0.0, quantity.unit  # no minus zero
    if not math.isfinite(value):
        return "not known" if math.isnan(value) else "no limit"
    if unit == "rad/s":
        text = f"{engineering(value / RPM, '1', max(digits, 5))} rpm"
    elif unit == "N*m" and abs(value) >= 0.1:
        text = f"{engineering(value, '1', digits)} N·m"
    else:
        text = engineering(value, unit, digits)
    return text.replace(" ", _FIXED)


def delay(angle: Quantity, frequency: Quantity | None) -> str:
    """Write a firing angle in degrees and, where the mains frequency is known, as a delay."""
    shown = show(angle)
    if frequency is None:
        return shown
    seconds = angle.value / (2 * math.pi * frequency.value)
    return f"{shown} ({show(Quantity(seconds, 's'), digits=3)})"


def wait(seconds: float) -> str:
    """Write a time that somebody has to wait, rounded up to whole seconds (the safe side)."""
    if not math.isfinite(seconds):
        return "no end"
    whole = math.ceil(seconds)
    if whole < 120:
        return f"{whole}{_FIXED}s"
    minutes, rest = divmod(whole, 60)
    text = f"{minutes} min {rest} s" if rest else f"{minutes} min"
    return text.replace(" ", _FIXED)


def used(stress: Quantity, limit: Quantity) -> str:
    """Write how much of a limit is used; for temperatures, the kelvins left.

    Rounded up to a whole percent, and kelvins down (the safe side).
    """
    if limit.unit == "degC":
        return f"{math.floor(limit.value - stress.value)}{_FIXED}K left"
    if limit.value <= 0 or not math.isfinite(limit.value):
        return "—"
    return f"{math.ceil(round(100 * stress.value / limit.value, 6))}{_FIXED}%"


def allowed(share: float, limit: Quantity) -> str:
    """Write the share of a limit that may be used; for temperatures, the temperature itself."""
    if limit.unit == "degC":
        return show(Quantity(share * limit.value, "degC"))
    return f"{math.floor(round(100 * share, 6))}{_FIXED}%"


def words(name: str) -> str:
    """Write a role or quantity name with spaces: ``"gate-resistor"`` becomes ``"gate resistor"``.

    A designator (``"C_s"``) or any other name with a capital letter stays as it is.
    """
    if name != name.lower():
        return name
    return _ROLES.get(name, name.replace("_", " ").replace("-", " "))
