"""The d.c. bus: line choke, inrush limiter, bridge, reservoir and bleeder; and what a supply by itself feeds."""

from __future__ import annotations

from designer.sheet.drawing.pen import BOTTOM, TOP, Pen

_STEP = 3.0


def bus(pen: Pen, x: float) -> float:
    """Draw what makes the bus out of the supply; the bridge is left out of a d.c. supply's.

    Gives where the plus and minus rails end.
    """
    at = _choke(pen, x) if "line-choke" in pen.labels else x
    at = _inrush(pen, at) if "inrush-limiter" in pen.labels else at
    pen.wire((x, BOTTOM), (at, BOTTOM))
    if "dc" not in pen.labels:
        at = four_diodes(pen, at)
    kit, start = pen.kit, at
    if "reservoir" in pen.labels:
        at += 0.8
        pen.across(kit.Capacitor2(polar=True), at, "reservoir", ends=(TOP, BOTTOM), at=(-2.6, -4.4))
        at += _STEP - 0.8
    if "bleeder" in pen.labels:
        at += 0.6
        pen.across(kit.ResistorIEC(), at, "bleeder", ends=(TOP, BOTTOM), at=(-2.4, -4.6))
        at += _STEP - 0.6
    pen.wire((start, TOP), (at, TOP))
    pen.wire((start, BOTTOM), (at, BOTTOM))
    if "dc-fuse" in pen.labels and "dc" not in pen.labels:
        pen.between(kit.FuseIEC(), (at, TOP), (at + 2.2, TOP), role="dc-fuse")
        pen.wire((at, BOTTOM), (at + 2.2, BOTTOM))
        at += 2.2
    return at


def _choke(pen: Pen, x: float) -> float:
    """The line choke in the upper rail."""
    end = x + 2.4
    pen.between(pen.kit.Inductor(), (x + 0.2, TOP), (end - 0.2, TOP), role="line-choke")
    pen.wire((x, TOP), (x + 0.2, TOP))
    pen.wire((end - 0.2, TOP), (end, TOP))
    return end


def _inrush(pen: Pen, x: float) -> float:
    """The limiter in the upper rail, with the contact that bypasses it where there is one."""
    kit, end = pen.kit, x + 2.6
    pen.between(kit.ResistorIEC(), (x + 0.3, TOP), (end - 0.3, TOP), role="inrush-limiter")
    pen.wire((x, TOP), (x + 0.3, TOP))
    pen.wire((end - 0.3, TOP), (end, TOP))
    if "inrush-bypass" in pen.labels:
        pen.wire((x + 0.3, TOP), (x + 0.3, -1.3))
        pen.between(kit.Switch(), (x + 0.3, -1.3), (end - 0.3, -1.3), role="inrush-bypass", right=True)
        pen.wire((end - 0.3, -1.3), (end - 0.3, TOP))
        pen.dot((x + 0.3, TOP), (end - 0.3, TOP))
    return end


def four_diodes(pen: Pen, x: float) -> float:
    """Four diodes in two legs: the line meets the first leg, the neutral the second; gives where they end."""
    kit, first, second = pen.kit, x + 1.0, x + 2.8
    pen.wire((x, TOP), (x + 0.3, TOP), (x + 0.3, -2.7), (first, -2.7))
    pen.wire((x, BOTTOM), (x + 0.3, BOTTOM), (x + 0.3, -4.3))
    pen.wire((x + 0.3, -4.3), (second, -4.3))
    for leg in (first, second):
        pen.between(kit.Diode(), (leg, -2.3), (leg, TOP), text="")
        pen.between(kit.Diode(), (leg, BOTTOM), (leg, -4.7), text="")
        pen.wire((leg, -2.3), (leg, -4.7))
    pen.wire((first, TOP), (second, TOP))
    pen.wire((first, BOTTOM), (second, BOTTOM))
    pen.dot((first, -2.7), (second, -4.3), (second, TOP), (second, BOTTOM))
    pen.beside("bridge", (second + 0.25, -3.1))
    end = x + 5.0
    pen.wire((second, TOP), (end, TOP))
    pen.wire((second, BOTTOM), (end, BOTTOM))
    return end


def load(pen: Pen, x: float) -> float:
    """The terminals of a supply by itself."""
    for y, name in ((TOP, "+"), (BOTTOM, "−")):
        pen.wire((x, y), (x + 0.9, y))
        pen.terminal((x + 1.0, y), name, side="right")
    pen.text("to the load", (x + 0.1, -3.5), align="left")
    return x + 2.4
