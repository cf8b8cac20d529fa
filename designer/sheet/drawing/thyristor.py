"""Motor on one thyristor, half-wave: with or without a freewheel diode across it."""

from __future__ import annotations

from designer.sheet.drawing import gates
from designer.sheet.drawing.motor import between, contact
from designer.sheet.drawing.pen import BOTTOM, TOP, Pen
from designer.sheet.drawing.residual import residual
from designer.sheet.drawing.turn_on import choke

DIODE, MOTOR, ROOM = 4.6, 8.8, 3.4    # from the start: freewheel diode, motor; what the block needs past it


def thyristor(pen: Pen, x: float) -> float:
    """Draw thyristor, freewheel diode and motor between line and neutral; gives where the block ends.

    The diode is drawn where ``labels`` has a ``"flyback-diode"``, the field in series where it has a ``"series"``.
    """
    if "reference-resistor" in pen.labels:
        return residual(pen, x)
    x = choke(pen, x)
    at = x + MOTOR
    gates.along(pen, (x + 0.4, TOP), (x + 3.0, TOP))
    pen.wire((x, TOP), (x + 0.4, TOP))
    contact(pen, (x + 3.0, TOP), (x + DIODE - 0.2, TOP))
    pen.wire((x + DIODE - 0.2, TOP), (at, TOP))
    if "flyback-diode" in pen.labels:
        wheel(pen, x + DIODE, at)
    between(pen, at, top=TOP, low=BOTTOM, field="series" in pen.labels)
    pen.wire((x, BOTTOM), (at, BOTTOM))
    if "gate-driver" in pen.labels:
        gates.each(pen, count=1)
    return at + ROOM


def wheel(pen: Pen, x: float, end: float) -> None:
    """The freewheel diode across the motor's rails, its cathode above."""
    pen.wire((x, BOTTOM), (x, -4.6))
    pen.between(pen.kit.Diode(), (x, -4.6), (x, -2.4), role="flyback-diode", right=True)
    pen.wire((x, -2.4), (x, TOP))
    pen.dot((x, TOP), (x, BOTTOM))
    pen.wire((x, BOTTOM), (end, BOTTOM))
