"""The heat path drawn: a ladder of temperatures with the thermal resistances between them."""

from __future__ import annotations

from html import escape

from designer.quantities import engineering
from designer.results import ThermalNode

_STEP, _BOX, _GAP, _TOP = 214, 140, 74, 14
_INK, _WARM = "#16242e", "#a8431f"
_LINE = f'stroke="{_INK}" stroke-width="1.5"'


def ladder(path: tuple[ThermalNode, ...], *, room: int = 2) -> str:
    """Draw one heat path, hottest node first, as an SVG text with room for at least so many nodes.

    Each node is a box with its temperature; between two boxes stand the resistance below the upper
    one and the loss that flows through it.
    """
    width = _STEP * (max(len(path), room) - 1) + _BOX + 4
    boxes = "".join(_node(n, node) for n, node in enumerate(path))
    between = "".join(_resistor(n, node) for n, node in enumerate(path[:-1]))
    return (
        f'<svg viewBox="0 0 {width} 100"><g font-family="DejaVu Sans, sans-serif" font-size="12" '
        f'fill="{_INK}" text-anchor="middle">{boxes}{between}</g></svg>'
    )


def spoken(path: tuple[ThermalNode, ...]) -> str:
    """The heat path in words, for who can't see the drawing."""
    parts = []
    for node in path:
        below = f", then {engineering(node.resistance, 'K/W')}" if node.resistance is not None else ""
        flow = f" carrying {engineering(node.loss, 'W', 3)}" if below and node.loss is not None else ""
        parts.append(f"{node.name} {engineering(node.temperature, 'degC', 3)}{below}{flow}")
    return "; ".join(parts) + "."


def _node(n: int, node: ThermalNode) -> str:
    x, middle = 2 + n * _STEP, 2 + n * _STEP + _BOX / 2
    squeeze = f' textLength="{_BOX - 10}" lengthAdjust="spacingAndGlyphs"' if len(node.name) > 19 else ""
    return (
        f'<rect x="{x}" y="{_TOP}" width="{_BOX}" height="56" fill="#ffffff" {_LINE}/>'
        f'<text x="{middle:g}" y="{_TOP + 21}"{squeeze}>{escape(node.name)}</text>'
        f'<text x="{middle:g}" y="{_TOP + 44}" font-size="17" font-weight="bold">'
        f"{engineering(node.temperature, 'degC', 3)}</text>"
    )


def _resistor(n: int, node: ThermalNode) -> str:
    """The resistance to the next node, with the loss through it as an arrow under it."""
    x, y = 2 + n * _STEP + _BOX, _TOP + 28
    middle = f"{x + _GAP / 2:g}"
    body = (
        f'<path d="M{x} {y}h12m50 0h12" fill="none" {_LINE}/>'
        f'<rect x="{x + 12}" y="{y - 8}" width="50" height="16" fill="#ffffff" {_LINE}/>'
    )
    if node.resistance is not None:
        body += f'<text x="{middle}" y="{y - 15}">{engineering(node.resistance, "K/W", 3)}</text>'
    if node.loss is not None:
        arrow = f"M{x + 14} {y + 20}h42m-7 -4l7 4l-7 4"
        body += (
            f'<path d="{arrow}" stroke="{_WARM}" stroke-width="1.5" fill="none"/>'
            f'<text x="{middle}" y="{y + 38}" fill="{_WARM}">{engineering(node.loss, "W", 3)}</text>'
        )
    return body
