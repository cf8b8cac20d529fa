"""What pinout says in words, for page and terminal alike: confidence, verdict, what each label asks for."""

from __future__ import annotations

import math

from designer.motor.pinout import SURE, Pinout, Winding
from designer.sheet.text import words

MEANING = (
    "A confidence is a probability: of a hundred labels that say 95 %, five are wrong. It counts the meter's error, "
    "the leads, bad contacts and what such motors are like. It does not count what ohms cannot see: a shorted turn, "
    "insulation that fails at 500 V, a thermal switch inside a winding."
)
#: role -> what to do with its pins
CARE = {
    "armature": "both brushes; its true resistance is read by four wires with 1 to 3 A, not from these ohms",
    "field": "on first, off last; pulled off under current it bites",
    "field-tap": "free and insulated unless the tap is used",
    "tacho": "live with the windings: insulate it like mains",
    "tacho-hall": "do not wire before its supply pins are known; live with the windings",
    "thermal-switch": "into the a.c. side ahead of the rectifier, or a contactor's coil; never into the field alone",
    "earth": "to protective earth first of all; not a return for current",
    "suppressor": "leave it off; choose suppression anew",
    "winding": "not of a commutator motor: leave it off",
    "winding-tap": "not of a commutator motor: leave it off",
    "unknown": "leave it off, insulated",
    "unconnected": "leave it off, insulated; a thermal switch that is hot, or a burnt winding, reads open too",
}


def sure(confidence: float) -> str:
    """A confidence in percent, rounded down (the safe side), and in a word."""
    percent = f"{int(100 * confidence + 1e-9)}\u00a0%"
    word = "sure enough to wire" if confidence >= SURE else "likely" if confidence >= 0.7 else "doubtful"
    return f"{percent}, {word}"


def resistance(winding: Winding) -> str:
    """Resistance less the leads, with its standard uncertainty; a dash where there is none to tell."""
    if winding.resistance is None or winding.uncertainty is None:
        return "—"
    through = "through the brushes, at most " if winding.role == "armature" else ""
    return f"{through}{with_error(winding.resistance, winding.uncertainty)}"


def with_error(value: float, uncertainty: float) -> str:
    """A resistance and its standard uncertainty in one unit, to the digit that the uncertainty leaves.

    The uncertainty has one digit, or two where it begins with 1.
    """
    scale, prefix = next((s, p) for s, p in ((1e6, "M"), (1e3, "k"), (1.0, "")) if value >= s or s == 1.0)
    power = math.floor(math.log10(uncertainty / scale))
    places = max(0, (1 if uncertainty / scale < 1.95 * 10.0**power else 0) - power)
    return f"{value / scale:.{places}f} ± {uncertainty / scale:.{places}f}\u00a0{prefix}Ω"


def pins(winding: Winding) -> str:
    """The pins of a label: ``3–5``."""
    return "–".join(winding.pins)


def role(winding: Winding) -> str:
    """The role with spaces."""
    return words(winding.role)


def verdict(found: Pinout) -> tuple[str, tuple[str, ...]]:
    """The stamp, and the sentences under it."""
    if found.refused is not None:
        return "REFUSED", (found.refused,)
    if found.wireable:
        return "LABELLED", ("Armature and field are sure enough for a first turn on a current-limited supply.",)
    lines = [f"{role(w).capitalize()} {pins(w)} is at {sure(w.confidence)}; {int(100 * SURE)}\u00a0% is asked for."
             for w in found.doubtful]
    if not found.having("field"):
        lines.append("No field winding shows: permanent magnets, an open field, or an open thermal switch in its path.")
    return "NOT SETTLED", (*lines, "No wiring is given before the next reading is taken.")
