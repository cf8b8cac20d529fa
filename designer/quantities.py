"""Text with a unit in, SI float inside, text with a unit out: the one door for units.

``Unit`` marks a type with its unit, ``engineering`` writes a number for people.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}

#: unit as JSON prints it -> how people read it, and the prefixes it may carry (powers of ten)
_SHOWN = {
    "ohm": ("Ω", (-3, 0, 3, 6)),
    "degC": ("°C", (0,)),
    "N*m": ("N·m", (-3, 0)),
    "K/W": ("K/W", (0,)),
    "1": ("", (0,)),
    "H": ("H", (-9, -6, -3, 0)),
    "F": ("F", (-12, -9, -6)),
    "rad/s": ("rad/s", (0,)),
    "K": ("K", (0,)),
    "V/s": ("V/s", (0, 3, 6, 9)),
    "A/s": ("A/s", (0, 3, 6, 9)),
    "A**2*s": ("A²s", (0,)),
    "kg*m**2": ("kg·m²", (0,)),
    "V*s": ("V·s", (-3, 0)),
    "N*m*s": ("N·m·s", (-9, -6, -3, 0)),
    "N*m*s**2": ("N·m·s²", (-9, -6, -3, 0)),
}
_ANY = (-12, -9, -6, -3, 0, 3, 6, 9)


@dataclass(frozen=True)
class Unit:
    """The unit of an annotated float: ``Ohms = Annotated[float, Unit("ohm")]``."""

    name: str


def engineering(value: float, unit: str, digits: int = 4) -> str:
    """Write ``value`` for people: a prefix in steps of 1000, ``digits`` significant digits.

    Angles are shown in degrees. Returns for instance ``"4.7 kΩ"``, ``"102.7°"``, ``"−3.2 A"``.
    """
    if unit == "rad":
        return f"{_rounded(math.degrees(value), digits)}°"
    shown, allowed = _SHOWN.get(unit, (unit.replace("*", "·"), _ANY if unit.isalpha() else (0,)))
    power = 0
    if value and math.isfinite(value):
        wanted = 3 * math.floor(math.log10(abs(value)) / 3 + 1e-12)
        power = max((p for p in allowed if p <= wanted), default=min(allowed))
    text = _rounded(value / 10**power, digits)
    return f"{text} {PREFIXES[power]}{shown}".rstrip()


def _rounded(value: float, digits: int) -> str:
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{round(value, places):.{max(places, 0)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", "−")
