"""The connector drawn: each pin a contact, each winding a line below it that ends at its pins."""

from __future__ import annotations

from html import escape
from itertools import pairwise

from designer.motor.pinout import SURE, Pinout, Winding
from designer.sheet.pinout_words import pins, role

_PITCH, _LEFT, _TOP, _BOX, _ROW = 62, 16, 16, 36, 52
_INK, _DOUBT = "#16242e", "#a8431f"
_FIRST = _TOP + _BOX + 42
_LONGEST, _NARROWEST, _LETTER = 7, 420, 8.6
_SINGLE = {"earth": "M-12 -8h24M-8 -4h16M-4 0h8", "unconnected": "M-6 -6L6 6M-6 6L6 -6"}


def connector(found: Pinout) -> str:
    """Draw the connector of a motor as SVG text; pin names are escaped, long ones cut.

    Doubtful labels (below the confidence that may be wired) are drawn dashed.
    """
    lines = [w for w in found.windings if not w.role.endswith("-tap")]
    lines.sort(key=lambda w: (_span(found, w), min(found.pins.index(pin) for pin in w.pins)))
    taps = [w.pins[0] for w in found.windings if w.role.endswith("-tap")]
    width = max(2 * _LEFT + _PITCH * len(found.pins), _NARROWEST)
    height = _FIRST + _ROW * len(lines) + 8
    body = "".join(_contact(found, pin) for pin in found.pins)
    rows = [(w, _FIRST + _ROW * n) for n, w in enumerate(lines)]
    body += "".join(_winding(found, w, y, taps) for w, y in rows)
    body += "".join(_label(w, _places(found, w, taps), y, width) for w, y in rows)
    return (f'<svg viewBox="0 0 {width} {height}"><g font-family="DejaVu Sans, sans-serif" font-size="13" '
            f'fill="{_INK}">{body}</g></svg>')


def spoken(found: Pinout) -> str:
    """The drawing in words."""
    return "; ".join(f"{role(w)} on {pins(w)}" for w in found.windings) + "."


def _span(found: Pinout, winding: Winding) -> int:
    places = [found.pins.index(pin) for pin in winding.pins]
    return max(places) - min(places)


def _x(found: Pinout, pin: str) -> int:
    return _LEFT + _PITCH * found.pins.index(pin) + _PITCH // 2


def _contact(found: Pinout, pin: str) -> str:
    x = _x(found, pin)
    shown = pin if len(pin) <= _LONGEST else f"{pin[:_LONGEST - 1]}…"
    return (f'<rect x="{x - _BOX // 2}" y="{_TOP}" width="{_BOX}" height="{_BOX}" rx="3" fill="#ffffff" '
            f'stroke="{_INK}" stroke-width="1.6"/>'
            f'<rect x="{x - 6}" y="{_TOP + 22}" width="12" height="8" fill="{_INK}"/>'
            f'<text x="{x}" y="{_TOP + 16}" text-anchor="middle" font-weight="bold">{escape(shown)}</text>')


def _winding(found: Pinout, winding: Winding, y: int, taps: list[str]) -> str:
    """One winding: from each of its pins down to its line, its symbol in the middle."""
    colour, places = _colour(winding), _places(found, winding, taps)
    stroke = f'fill="none" stroke="{colour}" stroke-width="1.6"'
    stroke += "" if colour == _INK else ' stroke-dasharray="5 4"'
    drops = "".join(f"M{x} {_TOP + _BOX}V{y - (8 if winding.role == 'earth' else 0)}" for x in places)
    if len(places) == 1:
        mark = _SINGLE.get(winding.role, "M-5 0h10")
        return f'<path d="{drops}" {stroke}/><path d="{mark}" transform="translate({places[0]} {y})" {stroke}/>'
    dots = "".join(f'<circle cx="{x}" cy="{y}" r="3.5" fill="{colour}"/>' for x in places)
    line = f'<path d="{drops}M{places[0]} {y}H{places[-1]}" {stroke}/>'
    return f"{line}{dots}{_symbols(winding, places, y, colour)}"


def _symbols(winding: Winding, places: list[int], y: int, colour: str) -> str:
    """The trade's sign for what lies between two pins: coil, rotor with brushes, contact, or a plain box."""
    found, style = "", f'stroke="{colour}" stroke-width="1.6"'
    for left, right in pairwise(places):
        x = (left + right) // 2
        if winding.role == "armature":
            found += (f'<rect x="{x - 18}" y="{y - 5}" width="6" height="10" fill="{colour}"/><rect x="{x + 12}" '
                      f'y="{y - 5}" width="6" height="10" fill="{colour}"/><circle cx="{x}" cy="{y}" r="12" '
                      f'fill="#ffffff" {style}/>')
        elif winding.role in ("field", "winding", "tacho"):
            found += (f'<rect x="{x - 18}" y="{y - 8}" width="36" height="9" fill="#ffffff"/>'
                      f'<path d="M{x - 18} {y}a6 6 0 0 1 12 0a6 6 0 0 1 12 0a6 6 0 0 1 12 0" fill="#ffffff" {style}/>')
        elif winding.role == "thermal-switch":
            found += (f'<rect x="{x - 12}" y="{y - 9}" width="24" height="12" fill="#ffffff"/>'
                      f'<path d="M{x - 12} {y}l22 -8M{x + 12} {y}v-5" fill="none" {style}/>')
        else:
            found += f'<rect x="{x - 12}" y="{y - 7}" width="24" height="14" fill="#ffffff" {style}/>'
    return found


def _places(found: Pinout, winding: Winding, taps: list[str]) -> list[int]:
    inner = [pin for pins_, _ in winding.parts for pin in pins_ if pin in taps]
    return sorted({_x(found, pin) for pin in (*winding.pins, *inner)})


def _colour(winding: Winding) -> str:
    return _INK if winding.confidence >= SURE else _DOUBT


def _label(winding: Winding, places: list[int], y: int, width: int) -> str:
    """The label under a winding, drawn after all lines so that its white edge keeps them off the letters."""
    told = f"{role(winding)} {pins(winding)}, {int(100 * winding.confidence + 1e-9)} %"
    half = _LETTER * len(told) / 2
    x = min(max((places[0] + places[-1]) / 2, half), width - half)
    return (f'<text x="{x:g}" y="{y + 27}" text-anchor="middle" fill="{_colour(winding)}" stroke="#ffffff" '
            f'stroke-width="5" paint-order="stroke">{escape(told)}</text>')
