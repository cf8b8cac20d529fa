"""Text with a unit in, SI float inside, text with a unit out: the one door for units.

``si`` reads a quantity, ``Unit`` marks a type with its unit, ``engineering``, ``rpm`` and
``iec60062`` write a number for people. pint turns a spelling of our
own closed list into a factor; it is never shown what a user typed.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from designer.errors import InputError
from designer.spellings import KINDS, canonical

if TYPE_CHECKING:
    import pint

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
    "m**3": ("m³", (0,)),
    "V*s": ("V·s", (-3, 0)),
    "N*m*s": ("N·m·s", (-9, -6, -3, 0)),
    "N*m*s**2": ("N·m·s²", (-9, -6, -3, 0)),
}
_ANY = (-12, -9, -6, -3, 0, 3, 6, 9)

_SPACE = " \t\u00a0\u2007\u2009\u202f"
_NUMBER = re.compile(r"[+\-\u2212]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+\-\u2212]?[0-9]+)?")
_LONGEST_NUMBER = 32
_LONGEST_TEXT = 64
_COMMA = re.compile(rf"([+\-\u2212]?[0-9]+),([0-9]+)([{_SPACE}]*\D.*)?")
_GAP = re.compile(rf"([+\-\u2212]?[0-9.]+)((?:[{_SPACE}][0-9]+(?![0-9]*/))+)([{_SPACE}]*\D.*)?")
_MARKING = {
    "ohm": (re.compile(r"([0-9]*)([RKkMG])([0-9]*)"), {"R": 0, "K": 3, "k": 3, "M": 6, "G": 9}),
    "F": (
        re.compile(r"([0-9]*)([pnu\u00b5\u03bc])([0-9]*)"),
        {"p": -12, "n": -9, "u": -6, "\u00b5": -6, "\u03bc": -6},
    ),
}
_MILLI = re.compile(r"[0-9]*m[0-9]*")


@dataclass(frozen=True)
class Unit:
    """The unit of an annotated float: ``Ohms = Annotated[float, Unit("ohm")]``."""

    name: str


def si(text: object, unit: str, *, key: str, low: float, high: float, hint: str = "") -> float:
    """Read ``"2.4 ohm"`` as a float in ``unit`` (``KINDS``), refusing all outside ``[low, high]``.

    One number, one unit of the kind's closed list; resistances and capacitances also as IEC 60062
    markings (``"4k7"``). Raises ``InputError`` with ``key`` for anything else.
    """
    kind = KINDS[unit]
    if not isinstance(text, str):
        texts = _spelled_out(text, unit) if _is_number(text) else [kind.example]
        quoted = " or ".join(f'"{one}"' for one in texts)
        raise InputError(key, text, kind.allowed, f"Write a quoted number with its unit: {quoted}. {hint}".rstrip())
    stripped = text.strip(_SPACE)
    value = _marked(stripped, unit, key=key)
    if value is None:
        number, spelling = _split(stripped, unit, key=key)
        times, divided, offset = _conversion(unit, spelling)
        value = number * times / divided + offset
    if not low <= value <= high:
        hint = hint or "Check the number and the prefix of its unit."
        raise InputError(key, text, shown_range(low, high, unit), hint)
    return value


def _spelled_out(number: object, unit: str) -> list[str]:
    """A bare number as it was probably meant; both readings where it is a share."""
    if unit == "1":
        return [f"{100 * float(str(number)):.12g} %", f"{number} %"]
    return [f"{number} {KINDS[unit].usual if unit in ('rad', 'rad/s', 'degC') else unit}"]


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _marked(text: str, unit: str, *, key: str) -> float | None:
    """Value of an IEC 60062 marking such as ``4k7``; None where the text is not one."""
    if unit not in _MARKING or len(text) > _LONGEST_NUMBER:
        return None
    pattern, powers = _MARKING[unit]
    if _MILLI.fullmatch(text) and text != "m":
        raise InputError(
            key, text, KINDS[unit].allowed,
            "A marking with m is not read, because m and M are too easily taken for each other: "
            f"write the number with its unit, for instance {KINDS[unit].example!r}.",
        )
    match = pattern.fullmatch(text)
    if match is None or not (match[1] or match[3]):
        return None
    return float(f"{match[1] or '0'}.{match[3] or '0'}e{powers[match[2]]}")


def _split(text: str, unit: str, *, key: str) -> tuple[float, str]:
    """Number and listed spelling of ``"12.4 V"``; ``InputError`` names what is wrong with the rest."""
    kind = KINDS[unit]
    if not text or len(text) > _LONGEST_TEXT:
        raise InputError(key, text[:_LONGEST_TEXT], kind.allowed, f'One number and one unit: "{kind.example}".')
    _refuse_two_readings(text, unit, key=key)
    match = _NUMBER.match(text)
    if match is None:
        raise InputError(key, text, kind.allowed, f'The number comes first: "{kind.example}".')
    if len(match[0]) > _LONGEST_NUMBER:
        raise InputError(key, text, kind.allowed, f"A number has at most {_LONGEST_NUMBER} characters.")
    rest = text[match.end():].strip(_SPACE)
    if not rest:
        raise InputError(key, text, kind.allowed, f'The unit is missing: "{match[0]} {kind.usual}".')
    spelling = canonical(rest)
    if spelling not in kind.spellings:
        raise InputError(key, text, kind.allowed, _about_unit(rest, spelling, unit))
    number = float(match[0].replace("\u2212", "-"))
    if not math.isfinite(number) or (number == 0 and re.search("[1-9]", re.split("[eE]", match[0])[0])):
        raise InputError(key, text, kind.allowed, "The number is outside what a computer can hold.")
    return number, spelling


def _refuse_two_readings(text: str, unit: str, *, key: str) -> None:
    """Refuse ``12,4 V`` and ``1 240 rpm``, spelling out what each could mean."""
    match = _COMMA.fullmatch(text)
    if match:
        rest = (match[3] or "").strip(_SPACE)
        raise InputError(
            key, text, KINDS[unit].allowed,
            f'A comma has two readings: write "{match[1]}.{match[2]} {rest}" or "{match[1]}{match[2]} {rest}".',
        )
    match = _GAP.fullmatch(text)
    if match:
        rest = (match[3] or "").strip(_SPACE)
        groups = re.split(f"[{_SPACE}]", match[2])[1:]
        raise InputError(
            key, text, KINDS[unit].allowed,
            f'A space inside a number has two readings: write "{match[1]}{"".join(groups)} {rest}" '
            f'or "{groups[-1]} {rest}".',
        )


def _about_unit(rest: str, spelling: str, unit: str) -> str:
    if re.search(r"[-+*/(),0-9\u2212]\s*[0-9.(]", rest) or re.match(r"[-+*/(]", rest):
        return f'One number and one unit, no arithmetic: "{KINDS[unit].example}".'
    others = [kind.name for kind in KINDS.values() if spelling in kind.spellings]
    if others:
        return f"{rest} is a unit of {others[0]}; this key takes {KINDS[unit].name}."
    return f'{rest[:20]!r} is not a unit that is read here: "{KINDS[unit].example}".'


@cache
def _registry() -> pint.UnitRegistry[float]:
    """The one registry, made when the first unit is met."""
    import pint

    return pint.UnitRegistry(cache_folder=None)


@cache
def _conversion(unit: str, spelling: str) -> tuple[float, float, float]:
    """Multiplier, divisor and offset of a listed spelling, made by pint once."""
    registry, pinted = _registry(), KINDS[unit].spellings[spelling]
    target = registry.Unit("dimensionless" if unit == "1" else unit)

    def convert(number: float) -> float:
        return float(registry.Quantity(number, registry.Unit(pinted)).to(target).magnitude)

    offset = convert(0.0)
    return (*_ratio(1.0 if pinted == unit else convert(1.0) - offset), offset)


def _ratio(factor: float) -> tuple[float, float]:
    """The factor as whole multiplier and divisor where it is a decimal one, so that 33 µF is 3.3e-5 exactly."""
    for times, divided in ((factor, 1.0), (1.0, 1 / factor)):
        whole = float(round(times * divided))
        if whole and math.isclose(whole, times * divided, rel_tol=1e-12):
            return (whole, 1.0) if divided == 1.0 else (1.0, whole)
    return factor, 1.0


def shown_range(low: float, high: float, unit: str) -> str:
    """Write an allowed range for people, speeds in rpm and shares in %: ``"50 mΩ to 200 Ω"``."""
    if math.isinf(high):
        return f"{shown(low, unit)} or more"
    return f"{shown(low, unit)} to {shown(high, unit)}"


def shown(value: float, unit: str, digits: int = 4) -> str:
    """Write ``value`` in the unit in which people say it: speeds in rpm, shares in %, else engineering."""
    if unit == "rad/s":
        return rpm(value, digits)
    if unit == "1":
        return f"{_rounded(100 * value, digits)} %"
    if 0 < abs(value) < 1e-4 and unit == "kg*m**2":
        return f"{value:.{digits}g} {_SHOWN[unit][0]}"
    return engineering(value, unit, digits)


def rpm(value: float, digits: int = 4) -> str:
    """Write a speed in rad/s as revolutions per minute: ``"3000 rpm"``; a whole number from 1000 up."""
    turns = value * 30 / math.pi
    if abs(turns) >= 10 ** (digits - 1) and math.isfinite(turns):
        return f"{round(turns)} rpm".replace("-", "−")
    return f"{_rounded(turns, digits)} rpm"


def iec60062(value: float, unit: str, digits: int = 3) -> str:
    """Write a resistance or capacitance as its IEC 60062 marking: ``"4k7"``, ``"R47"``, ``"100n"``.

    ``unit`` is ``"ohm"`` or ``"F"``; rounds to ``digits`` significant digits. ``ValueError`` on any
    other unit and on what cannot be marked (zero, negative, not finite).
    """
    letters = {"ohm": {0: "R", 3: "k", 6: "M", 9: "G"}, "F": {-12: "p", -9: "n", -6: "u"}}[unit]
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{value} {unit} has no marking")
    rounded = float(f"{value:.{digits - 1}e}")
    wanted = 3 * math.floor(math.log10(rounded) / 3 + 1e-12)
    power = max((p for p in letters if p <= wanted), default=min(letters))
    whole, _, decimals = f"{rounded / 10.0**power:.{digits + 6}f}".partition(".")
    decimals = f"{float('0.' + decimals):.{digits + 3}f}".partition(".")[2].rstrip("0")
    return f"{'' if whole == '0' else whole}{letters[power]}{decimals}"


def unit_text(unit: str) -> str:
    """Write a unit for people: ``"W/(m**2*K)"`` as ``"W/(m²·K)"``, ``"ohm*m"`` as ``"Ω·m"``."""
    for power, raised in (("**2", "²"), ("**3", "³"), ("**4", "⁴")):
        unit = unit.replace(power, raised)
    return unit.replace("ohm", "Ω").replace("*", "·")


def engineering(value: float, unit: str, digits: int = 4) -> str:
    """Write ``value`` for people: a prefix in steps of 1000, ``digits`` significant digits.

    Angles are shown in degrees. Returns for instance ``"4.7 kΩ"``, ``"102.7°"``, ``"−3.2 A"``.
    """
    if unit == "rad":
        return f"{_rounded(math.degrees(value), digits)}°"
    shown_unit, allowed = _SHOWN.get(unit, (unit_text(unit), _ANY if unit.isalpha() else (0,)))
    power = 0
    if value and math.isfinite(value):
        wanted = 3 * math.floor(math.log10(abs(value)) / 3 + 1e-12)
        power = max((p for p in allowed if p <= wanted), default=min(allowed))
    text = _rounded(value / 10**power, digits)
    return f"{text} {PREFIXES[power]}{shown_unit}".rstrip()


def _rounded(value: float, digits: int) -> str:
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{round(value, places):.{max(places, 0)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", "−")
