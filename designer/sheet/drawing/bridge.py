"""Motor on a bridge with thyristors, in its three forms; the freewheel diode across it."""

from __future__ import annotations

from designer.sheet.drawing import gates
from designer.sheet.drawing.motor import between, contact
from designer.sheet.drawing.pen import BOTTOM, TOP, Pen, Point, clean
from designer.sheet.drawing.thyristor import wheel
from designer.sheet.drawing.turn_on import choke

FIRST, SECOND = 3.2, 6.8              # the two legs from the start
DIODE, MOTOR, ROOM = 8.8, 13.0, 3.4
LINE, NEUTRAL = -3.0, -4.0            # where line and neutral meet their legs
#: which devices are thyristors: first and second leg's upper, first and second leg's lower
THYRISTORS = {"common-cathode": (0, 1), "one-leg": (0, 2), "diodes-thyristor": ()}


def bridge(pen: Pen, x: float) -> float:
    """Draw the bridge of ``labels["form"]``, freewheel diode and motor; gives where the block ends."""
    form, x = pen.labels.get("form", "common-cathode"), choke(pen, x)
    _legs(pen, x, THYRISTORS[form])
    start, at = x + SECOND, x + MOTOR
    if form == "diodes-thyristor":
        pen.beside("bridge", (x + SECOND + 0.35, -3.0))
        at += 3.2 if "armature-contactor" in pen.labels else 2.2
        gates.along(pen, (start + 0.6, TOP), (start + 3.2, TOP))
        pen.wire((start, TOP), (start + 0.6, TOP))
        start += 3.2
    contact(pen, (start, TOP), (at - MOTOR + DIODE - 0.2, TOP))
    pen.wire((at - MOTOR + DIODE - 0.2, TOP), (at, TOP))
    pen.wire((x + SECOND, BOTTOM), (at, BOTTOM))
    if "flyback-diode" in pen.labels:
        wheel(pen, at - MOTOR + DIODE, at)
    between(pen, at, top=TOP, low=BOTTOM, field="series" in pen.labels)
    if "gate-driver" in pen.labels:
        gates.each(pen, count=2 if THYRISTORS[form] else 1)
    return at + ROOM


def _legs(pen: Pen, x: float, thyristors: tuple[int, ...]) -> None:
    """Four devices in two legs: the line meets the first, the neutral the second."""
    first, second, turn = x + FIRST, x + SECOND, x + 0.3
    pen.wire((x, TOP), (turn, TOP), (turn, LINE), (first, LINE))
    pen.wire((x, BOTTOM), (turn, BOTTOM), (turn, NEUTRAL), (second, NEUTRAL))
    places: tuple[tuple[Point, Point], ...] = (
        ((first, -2.4), (first, TOP)), ((second, -2.4), (second, TOP)),
        ((first, BOTTOM), (first, -4.6)), ((second, BOTTOM), (second, -4.6)))
    switches, diodes = iter(range(2)), iter(range(2))
    for n, (start, end) in enumerate(places):
        if n in thyristors:
            gates.upward(pen, start, end, n=next(switches))
            continue
        pen.between(pen.kit.Diode(), start, end, text="")
        if thyristors:
            name = gates.part(pen.labels, "rectifier-diode", next(diodes))
            pen.text(clean(name), (start[0] - 0.4, (start[1] + end[1]) / 2 + 0.1), align="right")
    for leg in (first, second):
        pen.wire((leg, -2.4), (leg, -4.6))
    pen.wire((first, TOP), (second, TOP))
    pen.wire((first, BOTTOM), (second, BOTTOM))
    pen.dot((first, LINE), (second, NEUTRAL), (second, TOP), (second, BOTTOM))
