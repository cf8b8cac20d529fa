"""The motor in its earthed frame: both windings in series, or the armature alone; along a rail or between two."""

from __future__ import annotations

from designer.sheet.drawing.pen import Pen, Point


def motor(pen: Pen, start: Point, end: Point) -> None:
    """Field and armature in series along a rail, in a frame that is earthed from above."""
    kit, (x, y) = pen.kit, start
    middle = x + 2.6
    pen.between(kit.Inductor2(loops=4), (x, y), (middle, y), text="field")
    pen.between(kit.Motor(), (middle, y), (middle + 2.6, y), text="armature")
    pen.wire((middle + 2.6, y), end)
    pen.box((x + 0.2, y + 1.25), (middle + 2.4, y - 0.75))
    pen.wire(pen.earth, (middle, pen.earth[1]), (middle, y + 1.25))
    pen.text("motor frame, heatsink, box", (middle + 0.2, pen.earth[1] - 0.25), align="left")


def standing(pen: Pen, start: Point, end: Point, *, field: bool) -> None:
    """The armature, under the field where it is in series, from the plus rail down to the switch."""
    kit, (x, top), low = pen.kit, start, end[1]
    if "armature-contactor" in pen.labels:
        contact(pen, start, (x, top - 1.7))
        top -= 1.7
        start = (x, top)
    at = top - 0.4
    pen.wire(start, (x, at))
    if field:
        pen.between(kit.Inductor2(loops=4), (x, at), (x, at - 2.0), text="field")
        at -= 2.0
    pen.between(kit.Motor(), (x, at), (x, at - 2.4), text="armature")
    pen.wire((x, at - 2.4), (x, low))
    left, right = x - 2.3, x + 0.9
    pen.box((left, top - 0.3), (right, at - 2.2))
    if "earth" in pen.labels:
        height = top - 1.4
        pen.terminal((left - 5.0, height), "PE")
        pen.wire((left - 4.9, height), (left, height))
        pen.text("motor frame, heatsink, box", (left - 4.9, height + 0.25), align="left")


def contact(pen: Pen, start: Point, end: Point) -> None:
    """The main contact of the armature's contactor on a wire; the wire alone where there is none."""
    if "armature-contactor" not in pen.labels:
        pen.wire(start, end)
        return
    down = start[0] == end[0]
    pen.between(pen.kit.Switch(), start, end, text="")
    pen.beside("armature-contactor", (start[0] - 0.4, start[1] - 0.7) if down else
               ((start[0] + end[0]) / 2, start[1] + 0.65), align="right" if down else "center")


def between(pen: Pen, x: float, *, top: float, low: float, field: bool) -> None:
    """The armature, under the field where it is in series, from one rail to another; the frame earthed from above."""
    kit, at = pen.kit, top - 1.1
    pen.wire((x, top), (x, at))
    if field:
        pen.between(kit.Inductor2(loops=4), (x, at), (x, at - 2.0), text="field", right=True)
        at -= 2.0
    pen.between(kit.Motor(), (x, at), (x, at - 2.4), text="armature", right=True)
    pen.wire((x, at - 2.4), (x, low))
    right = x + 2.7
    pen.box((x - 0.8, top - 0.9), (right, at - 2.2))
    pen.wire(pen.earth, (right - 0.4, pen.earth[1]), (right - 0.4, top - 0.9))
    pen.text("motor frame, heatsink, box", (right - 0.2, pen.earth[1] - 0.25), align="left")
