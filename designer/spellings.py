"""The closed lists of unit spellings, one list a kind of quantity.

A kind is named by its SI unit as JSON prints it. Each list holds what a user may write (after
``canonical``) and the text that pint is given for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

_SAME = str.maketrans({
    "\u2126": "Ω",            # ohm sign -> Greek capital omega
    "\u03bc": "u", "\u00b5": "u",
    "\u22c5": "*", "\u00b7": "*",
    "\u2103": "°C",
})
_SUPERSCRIPTS = {"\u00b2": "**2", "^2": "**2", "\u00b3": "**3", "^3": "**3"}


def canonical(spelling: str) -> str:
    """Fold the signs that mean the same: µ and u, · and *, ² and **2, the two ohm signs."""
    folded = spelling.translate(_SAME)
    for sign, plain in _SUPERSCRIPTS.items():
        folded = folded.replace(sign, plain)
    return folded


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind of quantity: what it is called, its spellings for pint, how it is usually written."""

    name: str
    spellings: Mapping[str, str]
    usual: str
    number: str

    @property
    def example(self) -> str:
        """A quantity as a user would write it."""
        return f"{self.number} {self.usual}"

    @property
    def allowed(self) -> str:
        """The kind and its spellings in words, for messages."""
        return f"{self.name} in {', '.join(shown_spellings(self.spellings))}"


def shown_spellings(spellings: Iterable[str]) -> list[str]:
    """One readable spelling of each unit: ``µF`` for ``uF``, ``N·m`` for ``N*m`` and ``Nm``."""
    seen: dict[str, None] = {}
    listed = set(spellings)
    for spelling in spellings:
        if spelling.endswith(_ALSO) or _starred(spelling, listed):
            continue
        text = spelling.replace("**2", "²").replace("**3", "³").replace("*", "·").replace("ohm", "Ω")
        text = text.replace("/u", "/µ")
        seen[f"µ{text[1:]}" if text.startswith("u") else text] = None
    return list(seen)


_ALSO = ("Ohm", "ohms", "r/min", "1/min", "degC", "degF", "degC/W", "Ω", "s/rad")


def _starred(spelling: str, listed: set[str]) -> bool:
    """True for ``Nm`` where ``N*m`` is listed too."""
    return "*" not in spelling.replace("**", "") and any(
        other != spelling and other.replace("**", "^").replace("*", "") == spelling.replace("**", "^")
        for other in listed
    )


def _prefixed(bases: Mapping[str, str], prefixes: str) -> dict[str, str]:
    """Each base bare and with each SI prefix of ``prefixes``, as user spelling -> pint text."""
    made = dict(bases)
    for prefix in prefixes:
        made |= {prefix + base: prefix + pinted for base, pinted in bases.items()}
    return made


def _kind(name: str, spellings: Mapping[str, str], usual: str, number: str) -> Kind:
    return Kind(name=name, spellings=spellings, usual=usual, number=number)


_OHMS = {"ohm": "ohm", "Ω": "ohm", "ohms": "ohm", "Ohm": "ohm"}
_TORQUE = {"N*m": "N*m", "Nm": "N*m"}
_INERTIA = {
    f"{mass}{star}{length}**2": f"{mass}*{length}**2"
    for mass, length in (("kg", "m"), ("kg", "cm"), ("g", "cm"), ("kg", "mm"), ("g", "mm"), ("g", "m"))
    for star in ("*", "")
}

#: SI unit as JSON prints it -> the kind of quantity that is kept in it
KINDS: Mapping[str, Kind] = {
    "V": _kind("a voltage", _prefixed({"V": "V"}, "umk"), "V", "12.4"),
    "A": _kind("a current", _prefixed({"A": "A"}, "umk"), "A", "0.83"),
    "ohm": _kind("a resistance", _prefixed(_OHMS, "umkMG"), "ohm", "4.7"),
    "H": _kind("an inductance", _prefixed({"H": "H"}, "num"), "mH", "22"),
    "F": _kind("a capacitance", _prefixed({"F": "F"}, "pnum"), "uF", "470"),
    "W": _kind("a power", _prefixed({"W": "W", "VA": "V*A"}, "mk"), "W", "350"),
    "s": _kind("a time", _prefixed({"s": "s"}, "num") | {"min": "min", "h": "hour"}, "s", "2"),
    "rad": _kind("an angle", {"deg": "deg", "°": "deg", "rad": "rad", "mrad": "mrad"}, "deg", "95"),
    "rad/s": _kind(
        "a speed",
        {"rpm": "revolution/min", "r/min": "revolution/min", "1/min": "revolution/min", "rad/s": "rad/s"},
        "rpm", "1800",
    ),
    "N*m": _kind(
        "a torque",
        _prefixed(_TORQUE, "um") | {
            "N*cm": "N*cm", "Ncm": "N*cm", "kgf*cm": "kgf*cm", "kgf*m": "kgf*m",
            "lbf*ft": "lbf*ft", "lbf*in": "lbf*inch", "ozf*in": "ozf*inch",
        },
        "N*m", "0.4",
    ),
    "K/W": _kind(
        "a thermal resistance", {"K/W": "K/W", "°C/W": "delta_degC/W", "degC/W": "delta_degC/W"}, "K/W", "2.1",
    ),
    "degC": _kind(
        "a temperature",
        {"°C": "degC", "degC": "degC", "K": "K", "°F": "degF", "degF": "degF"}, "°C", "20",
    ),
    "K": _kind("a temperature difference", {"K": "K"}, "K", "10"),
    "Hz": _kind("a frequency", _prefixed({"Hz": "Hz"}, "kM"), "Hz", "50"),
    "J": _kind("an energy", _prefixed({"J": "J"}, "umk") | {"W*s": "W*s"}, "J", "3"),
    "A**2*s": _kind(
        "an I²t value", {"A**2*s": "A**2*s", "A**2s": "A**2*s"}, "A**2*s", "40",
    ),
    "V/s": _kind("a rate of voltage", {"V/us": "V/us", "V/ms": "V/ms", "V/s": "V/s", "kV/us": "kV/us"}, "V/us", "10"),
    "A/s": _kind("a rate of current", {"A/ms": "A/ms", "A/us": "A/us", "A/s": "A/s"}, "A/ms", "7"),
    "kg*m**2": _kind("a moment of inertia", _INERTIA, "kg*cm**2", "4.5"),
    "V*s": _kind(
        "a speed constant",
        _prefixed({"V*s": "V*s", "Vs": "V*s", "V*s/rad": "V*s", "N*m/A": "N*m/A", "Wb": "Wb"}, "um"),
        "V*s", "0.19",
    ),
    "N*m*s": _kind(
        "a viscous friction", _prefixed({"N*m*s": "N*m*s", "Nms": "N*m*s", "N*m*s/rad": "N*m*s"}, "num"),
        "N*m*s", "10e-6",
    ),
    "N*m*s**2": _kind(
        "a square-law friction", _prefixed({"N*m*s**2": "N*m*s**2", "Nms**2": "N*m*s**2"}, "num"),
        "N*m*s**2", "20e-9",
    ),
    "m": _kind("a length", _prefixed({"m": "m"}, "umk") | {"cm": "cm"}, "mm", "8"),
    "m**2": _kind("a cross-section", {"mm**2": "mm**2", "cm**2": "cm**2", "m**2": "m**2"}, "mm**2", "1.5"),
    "m**3": _kind(
        "a volume", {"m**3": "m**3", "dm**3": "dm**3", "cm**3": "cm**3", "l": "liter", "L": "liter"}, "l", "3",
    ),
    "C": _kind("a charge", _prefixed({"C": "C"}, "num"), "nC", "60"),
    "1": _kind("a share", {"%": "percent"}, "%", "10"),
}
