"""Numbers and names for people: speeds in rpm, angles in degrees, times that one can wait."""

from __future__ import annotations

import math

from designer.quantities import engineering
from designer.results import Quantity

RPM = math.pi / 30
_ROLES = {"x2-capacitor": "X2 capacitor", "x2-bleeder": "X2 bleeder", "led-resistor": "LED resistor",
          "i2t-rectangle": "I²t of the pulse"}
_FIXED = "\u00a0"  # no line break between number and unit
#: unit in SI -> factor and unit of the bench, from that magnitude on
_BENCH = {
    "m**2": ((0.0, 1e6, "mm²"),), "m**3": ((0.0, 1e6, "cm³"),), "kg*m**2": ((0.0, 1e4, "kg·cm²"),),
    "A**2*s/m**4": ((0.0, 1e-12, "A²·s/mm⁴"),),
    "V/s": ((1e5, 1e-6, "V/µs"), (0.0, 1.0, "V/s")),
    "A/s": ((1e5, 1e-6, "A/µs"), (1.0, 1e-3, "A/ms"), (0.0, 1.0, "A/s")),
}
#: below these a value is nothing but the rounding of the solution; printed as 0
_NOTHING = {"A": 1e-9, "V": 1e-9, "N*m": 1e-7, "W": 1e-9, "rad/s": 0.5 * RPM}


def show(quantity: Quantity, *, digits: int = 4) -> str:
    """Write a quantity for people; speeds come out in rpm, angles in degrees.

    Number and unit are held together by a no-break space. Torques from 0.1 N·m on stay in N·m.
    """
    value, unit = quantity.value or 0.0, quantity.unit  # no minus zero
    if not math.isfinite(value):
        return "not known" if math.isnan(value) else "no limit"
    if abs(value) < _NOTHING.get(unit, 0.0):
        value = 0.0
    if unit == "rad/s":
        text = f"{_speed(value / RPM, digits)} rpm"
    elif unit == "N*m" and (not value or abs(value) >= 0.1):
        text = f"{engineering(value, '1', digits)} N·m"
    elif unit in _BENCH:
        factor, name = next((f, name) for least, f, name in _BENCH[unit] if abs(value) >= least)
        text = f"{engineering(value * factor, '1', digits)} {name}"
    else:
        text = engineering(value, unit, digits)
    return text.replace(" ", _FIXED)


def _speed(rpm: float, digits: int) -> str:
    """Whole revolutions a minute from 100 on: nobody reads tenths off a shaft."""
    return engineering(rpm, "1", digits) if abs(rpm) < 100 else engineering(round(rpm), "1", 6)


def share(value: float) -> str:
    """Write a share as a percentage with at most three digits."""
    return f"{engineering(100 * value, '1', 3)}{_FIXED}%"


def told(quantity: Quantity) -> str:
    """Write a quantity, a pure number as a percentage."""
    return share(quantity.value) if quantity.unit == "1" and math.isfinite(quantity.value) else show(quantity)


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
        return "does not end"
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
        left = math.floor(limit.value - stress.value)
        return f"{left}{_FIXED}K left" if left >= 0 else f"{-left}{_FIXED}K over"
    if limit.value <= 0 or not math.isfinite(limit.value):
        return "—"
    if not math.isfinite(stress.value):
        return "beyond any"
    percent = 100 * stress.value / limit.value
    return f"below 1{_FIXED}%" if 0 < percent < 0.5 else f"{math.ceil(round(percent, 6))}{_FIXED}%"


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
