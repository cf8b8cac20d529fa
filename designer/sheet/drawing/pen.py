"""The pen: the few strokes that every block of a circuit diagram needs, and the rails they hang on.

No user text goes in: ``labels`` maps a part's role to the text beside its symbol.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

INK = "#16242e"
TOP, BOTTOM, EARTH = 0.0, -7.0, 1.9     # rails of the first row: line or plus, neutral or minus, protective earth
Labels = Mapping[str, str]
Point = tuple[float, float]


class Pen:
    """The drawing and the labels; ``row`` is how far the present row of blocks stands below the first."""

    def __init__(self, labels: Labels) -> None:
        """Start an empty drawing with ``labels`` by role."""
        import schemdraw
        import schemdraw.elements

        self.kit: Any = schemdraw.elements
        self.drawing: Any = schemdraw.Drawing(canvas="svg", show=False)
        self.drawing.config(unit=2.0, fontsize=12.5, color=INK, lw=1.4, font="DejaVu Sans, sans-serif", margin=0.3)
        self.labels, self.row, self.earth = labels, 0.0, (0.1, EARTH)

    def svg(self) -> str:
        """The whole drawing as SVG text."""
        return str(self.drawing.get_imagedata("svg").decode()).replace("stroke-dasharray:-;", "")

    def _at(self, point: Point) -> Point:
        return (point[0], point[1] - self.row)

    def wire(self, *points: Point) -> None:
        """Join points by straight lines."""
        for start, end in pairwise(points):
            if start != end:
                self.drawing.add(self.kit.Line().at(self._at(start)).to(self._at(end)))

    def coupling(self, start: Point, end: Point) -> None:
        """A dotted line between what moves together."""
        self.drawing.add(self.kit.Line(ls=":", lw=1.1).at(self._at(start)).to(self._at(end)))

    def dot(self, *points: Point) -> None:
        """Mark joints."""
        for point in points:
            self.drawing.add(self.kit.Dot(radius=0.07).at(self._at(point)))

    def terminal(self, at: Point, name: str, *, side: str = "left") -> None:
        """A terminal with its name beside it."""
        self.drawing.add(self.kit.Dot(open=True, radius=0.1).at(self._at(at)).label(name, loc=side))

    def between(self, element: Any, start: Point, end: Point, *, role: str = "", right: bool = False,
                text: str | None = None) -> Any:
        """Draw a two-terminal element with the label of ``role``, or with ``text``.

        The label stands above a horizontal element, left of a vertical one, or right of it.
        """
        shown = clean(text if text is not None else self.labels.get(role, role.replace("-", " ")))
        placed = element.at(self._at(start)).to(self._at(end))
        return self.drawing.add(placed.label(shown, loc="bottom" if right else "top", ofst=0.12))

    def stood(self, element: Any, anchor: str, at: Point) -> Any:
        """Stand an element of more than two terminals upright, its ``anchor`` at a point."""
        return self.drawing.add(element.right().anchor(anchor).at(self._at(at)))

    def anchor(self, element: Any, name: str) -> Point:
        """Where a named terminal of a drawn element lies."""
        x, y = element.absanchors[name]
        return (float(x), float(y) + self.row)

    def text(self, words: str, at: Point, *, align: str = "center") -> None:
        """Write words."""
        self.drawing.add(self.kit.Label().at(self._at(at)).label(words, halign=align))

    def beside(self, role: str, at: Point, *, align: str = "left", line: str = "\n") -> None:
        """Write the label of a role by itself; its lines joined by ``line``."""
        self.text(clean(self.labels.get(role, "")).replace("\n", line), at, align=align)

    def frame(self, corner: Point, opposite: Point) -> None:
        """The outline of a module."""
        self.drawing.add(self.kit.Rect(corner1=self._at(corner), corner2=self._at(opposite)).at((0, 0)).theta(0))

    def box(self, corner: Point, opposite: Point) -> None:
        """A dashed box round what belongs together."""
        corners = {"corner1": self._at(corner), "corner2": self._at(opposite)}
        self.drawing.add(self.kit.Rect(**corners, ls="--", lw=1.1).at((0, 0)).theta(0))

    def across(self, element: Any, x: float, role: str, *, ends: Point, at: Point) -> None:
        """A part between two rails at ``ends``, its symbol between the heights ``at``, label to the right."""
        self.wire((x, ends[0]), (x, at[0]))
        self.between(element, (x, at[0]), (x, at[1]), role=role, right=True)
        self.wire((x, at[1]), (x, ends[1]))
        self.dot((x, ends[0]), (x, ends[1]))


def clean(text: str) -> str:
    """A label that the drawing library takes as plain text."""
    return text.replace("&", "and").replace("<", "‹").replace(">", "›").replace("$", "S")
