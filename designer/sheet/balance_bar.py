"""Where the power goes, drawn: one bar as long as the power taken in, cut into its losses and what is left for use."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from designer.quantities import engineering
from designer.sheet.text import words

if TYPE_CHECKING:
    from designer.studies.balances import Balance

_INK, _USE, _LOSS, _OTHER = "#16242e", "#cfdfe8", "#f0c9a8", "#e4e2da"
_NAMED, _LEFT, _WIDE, _ROW = 168, 292, 400, 24
_LEAST = 0.02        # of the power taken in: losses below this share one row
_LINE = f'stroke="{_INK}" stroke-width="1"'


def rows(balance: Balance) -> list[tuple[str, float, str]]:
    """What the bar is cut into, top to bottom: name, W, colour. Small losses share a row."""
    losses = [(words(name), watts) for name, watts in balance.losses]
    small = [row for row in losses if row[1] < _LEAST * balance.input]
    large = [row for row in losses if row[1] >= _LEAST * balance.input]
    if len(small) == 1:
        large, small = large + small, []
    made = [(name, watts, _LOSS) for name, watts in large]
    if small:
        made.append((f"{len(small)} smaller losses", sum(watts for _, watts in small), _LOSS))
    rest = balance.unexplained
    if abs(rest) > 0.005 * balance.input:
        made.append(("not told apart", rest, _OTHER))
    made.append((words(balance.useful[0]), balance.useful[1], _USE))
    return made


def bar(balance: Balance) -> str:
    """Draw the balance as steps that fall from the power taken in to what is left for use, as an SVG text."""
    made = rows(balance)
    scale = _WIDE / balance.input
    height = _ROW * (len(made) + 1) + 10
    body, left = [_row(0, "taken in", (0.0, balance.input), (scale, "#ffffff", balance.input))], balance.input
    for n, (name, watts, colour) in enumerate(made, 1):
        span = (max(left - watts, 0.0), left)
        body.append(_row(n, name, span, (scale, colour, balance.input)))
        left = span[0]
    return (f'<svg viewBox="0 0 {_LEFT + _WIDE + 6} {height}"><g font-family="DejaVu Sans, sans-serif" '
            f'font-size="12.5" fill="{_INK}">{"".join(body)}</g></svg>')


def _row(n: int, name: str, span: tuple[float, float], look: tuple[float, str, float]) -> str:
    """One step: from ``span[0]`` to ``span[1]`` W, with name, watts and share."""
    scale, colour, whole = look
    y, (low, high) = 4 + n * _ROW, span
    watts = high - low
    guide = f'<path d="M{_LEFT + high * scale:.1f} {y - 6}v6" {_LINE} stroke-dasharray="2 2" fill="none"/>' if n else ""
    said = f"{engineering(watts, 'W', 3)}, {100 * watts / whole:.3g} %"
    return (f'<text x="{_NAMED}" y="{y + 13}" text-anchor="end">{escape(name)}</text>'
            f'<text x="{_NAMED + 10}" y="{y + 13}">{said}</text>{guide}'
            f'<rect x="{_LEFT + low * scale:.1f}" y="{y}" width="{max(watts * scale, 1.0):.1f}" height="18" '
            f'fill="{colour}" {_LINE}/>')


def spoken(balance: Balance) -> str:
    """The bar in words, for who can't see it."""
    told = "; ".join(f"{name} {engineering(watts, 'W', 3)}" for name, watts, _ in rows(balance))
    return f"Taken in {engineering(balance.input, 'W', 3)}: {told}."
