"""Circuit diagrams with the values on them, put together from one block for each side of the circuit.

``labels`` maps a part's role to the text beside its symbol (designator and value); parts that a
circuit may have or not are drawn where they have a label. Further keys say what no part says:
``"dc"`` a d.c. supply, ``"earth"`` that there is protective earth, ``"series"`` that the field is
in series, ``"switch-kind"`` the transistor, ``"logic"`` what the driver's logic side is called (both with
``field-`` before them for a field's chopper), ``"armature-chopper"`` that the armature has one,
``"network"`` how a breakover network is wired, ``"form"`` how a
bridge is made up. No user text goes in.
"""

from __future__ import annotations

from collections.abc import Callable

from designer.project.kinds import CircuitKind
from designer.sheet.drawing.bridge import bridge
from designer.sheet.drawing.bus import bus, load
from designer.sheet.drawing.chopper import chopper
from designer.sheet.drawing.detector import detector
from designer.sheet.drawing.field import apart, field
from designer.sheet.drawing.field_chopper import field_chopper
from designer.sheet.drawing.mains import supply
from designer.sheet.drawing.pen import BOTTOM, TOP, Labels, Pen
from designer.sheet.drawing.starter import starter
from designer.sheet.drawing.thyristor import thyristor
from designer.sheet.drawing.triac import triac

Block = Callable[[Pen, float], float]

#: side of a circuit -> what draws it from an x on; gives where it ends
BLOCKS: dict[str, Block] = {
    "mains": supply, "triac": triac, "thyristor": thyristor, "bridge": bridge, "bus": bus,
    "chopper": chopper, "field": field, "field-chopper": field_chopper, "starter": starter}
#: sides that begin a row of their own, under the one that feeds them, and how tall their row is
ROWS = {"chopper": 14.6, "field-chopper": 14.6, "starter": 9.4}
_BELOW, _UNDER_GATES, _MARGIN = 9.4, 20.0, 0.9


def drawn(kind: CircuitKind) -> bool:
    """True where every side of the circuit has a block."""
    return all(side in BLOCKS for side in kind.sides)


def diagram(kind: CircuitKind, labels: Labels) -> str:
    """Draw a circuit from its sides, left to right, as SVG text.

    Raises ``KeyError`` for a side without a block; ``drawn`` tells beforehand.
    """
    said = {"series": kind.winding == "series", "motor": kind.drives_motor, "bus": kind.line == "bus",
            "armature-chopper": "chopper" in kind.sides}
    given = dict(labels) | {name: name for name, true in said.items() if true}
    pen, x, below = Pen(given), 0.0, _BELOW
    for side in kind.sides:
        if side in ROWS or (side == "field" and apart(labels)):
            if not pen.row and side in ROWS:
                _passed_on(pen, x)
            if not pen.row and "gate-driver" in labels and kind.line != "bus":
                below = _UNDER_GATES
            pen.row, x, below = pen.row + below, _MARGIN, ROWS.get(side, below)
        x = BLOCKS[side](pen, x)
    if kind.winding == "none":
        load(pen, x)
    if "zero-cross-detector" in labels:
        pen.row = 0.0
        detector(pen)
    return pen.svg()


def _passed_on(pen: Pen, x: float) -> None:
    """Terminals at the end of a row, named as those at the start of the next."""
    for y, name in ((TOP, "+ bus"), (BOTTOM, "− bus")):
        pen.wire((x, y), (x + 0.5, y))
        pen.terminal((x + 0.6, y), name, side="right")
