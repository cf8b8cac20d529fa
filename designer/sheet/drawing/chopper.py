"""The chopper: motor from the plus rail, freewheel diode across it, transistor below, its driver and clamp."""

from __future__ import annotations

from typing import Any

from designer.sheet.drawing.motor import standing
from designer.sheet.drawing.pen import TOP, Pen, Point, clean

MINUS, NODE, SOURCE = -11.8, -5.2, -8.5      # the minus rail of the row, the switched node, the transistor's foot
SWITCH, FREEWHEEL, CLAMP = 10.6, 2.2, 5.6   # the transistor from the start; the diode and the clamp from there


def chopper(pen: Pen, x: float) -> float:
    """Draw the motor on its chopper; the field is in series where ``labels`` has a ``"series"``.

    Gives where the block ends.
    """
    at = x + SWITCH
    end = at + (CLAMP if "clamp-capacitor" in pen.labels else FREEWHEEL)
    end = rails(pen, x, end)
    standing(pen, (at, TOP), (at, NODE), field="series" in pen.labels)
    cell(pen, x, at)
    return end + 2.2


def rails(pen: Pen, x: float, end: float) -> float:
    """The rails of the row, from their terminals on, and the capacitor that closes the switched loop; gives its x."""
    foot = x + SWITCH
    if "bus-capacitor" in pen.labels:
        foot = end = end + 2.6
        pen.across(pen.kit.Capacitor(), end, "bus-capacitor", ends=(TOP, MINUS), at=(-3.4, -4.8))
    for y, stop, name in ((TOP, end, "+ bus"), (MINUS, foot, "− bus")):
        pen.terminal((x, y), name)
        pen.wire((x + 0.1, y), (stop, y))
    return end


def cell(pen: Pen, x: float, at: float) -> None:
    """Transistor at ``at`` with driver, freewheel diode, clamp and current sense, under its load."""
    kit, diode = pen.kit, at + FREEWHEEL
    gate = _transistor(pen, at)
    pen.wire((at, NODE), (diode, NODE), (diode, -4.0))
    pen.between(kit.Diode(), (diode, -4.0), (diode, -1.6), role="flyback-diode", right=True)
    pen.wire((diode, -1.6), (diode, TOP))
    pen.dot((at, NODE), (at, TOP), (diode, TOP))
    if "clamp-capacitor" in pen.labels:
        _clamp(pen, at)
    _driver(pen, x, gate)


def _transistor(pen: Pen, at: float) -> Point:
    """The transistor between the switched node and the minus rail, over the current sense; gives its gate."""
    kit, igbt = pen.kit, pen.labels.get("switch-kind") == "igbt"
    element: Any = kit.IgbtN() if igbt else kit.NMos()
    drawn = pen.stood(element, "collector" if igbt else "drain", (at, NODE - 0.4))
    foot, gate = (pen.anchor(drawn, name) for name in (("emitter", "base") if igbt else ("source", "gate")))
    pen.wire((at, NODE), (at, NODE - 0.4))
    pen.wire(foot, (at, SOURCE))
    pen.beside("switch", (at + 0.35, NODE - 1.4))
    if "current-sense-resistor" in pen.labels:
        pen.between(kit.ResistorIEC(), (at, SOURCE), (at, MINUS), role="current-sense-resistor", right=True)
        if "current-limit-comparator" in pen.labels:
            _limit(pen, at)
    else:
        pen.wire((at, SOURCE), (at, MINUS))
    pen.dot((at, SOURCE), (at, MINUS))
    return gate


def _clamp(pen: Pen, at: float) -> None:
    """Diode into a capacitor at the transistor's foot, which a resistor empties into the plus rail."""
    kit, node, level = pen.kit, at + CLAMP, -5.2
    pen.wire((at + FREEWHEEL, NODE), (at + 3.0, level))
    pen.between(kit.Diode(), (at + 3.0, level), (node - 0.4, level), role="clamp-diode")
    pen.wire((node - 0.4, level), (node, level))
    pen.between(kit.ResistorIEC(), (node, TOP), (node, level), role="clamp-resistor", right=True)
    pen.between(kit.Capacitor(), (node, level), (node, SOURCE), role="clamp-capacitor", right=True)
    pen.wire((node, SOURCE), (at, SOURCE))
    pen.dot((at + FREEWHEEL, NODE), (node, TOP), (node, level))


def _driver(pen: Pen, x: float, gate: Point) -> None:
    """Driver, gate resistors and what holds the gate down; the logic side in its box."""
    kit, level, right = pen.kit, gate[1], x + 4.6
    left = x + 2.6
    pen.frame((left, level + 0.7), (right, SOURCE - 0.3))
    pen.beside("gate-driver", ((left + right) / 2 + 0.35, level - 0.45), align="center")
    end = right + 2.4
    pen.between(kit.ResistorIEC(), (right, level), (end, level), role="gate-resistor", right=True)
    if "gate-resistor-off" in pen.labels:
        _off(pen, (right, level), end)
    held = [(role, element) for role, element in (("gate-clamp", kit.Zener), ("gate-pull-down", kit.ResistorIEC))
            if role in pen.labels]
    for n, (role, element) in enumerate(held):
        at = end + 0.4 + 1.55 * n
        pen.between(element(), (at, SOURCE), (at, level), text="")
        pen.beside(role, (at, SOURCE - 0.55), align="center")
        pen.dot((at, level), (at, SOURCE))
    pen.wire((right - 0.5, level + 0.7), (right - 0.5, level + 1.5))
    pen.terminal((right - 0.5, level + 1.6), "")
    supply = clean(pen.labels.get("gate-supply", "gate supply")).replace("\n", ", ")
    pen.text(supply, (right - 0.75, level + 1.5), align="right")
    pen.wire((end, level), gate)
    pen.wire((right, SOURCE), (x + SWITCH, SOURCE))
    for y, name in ((level, "on"), (SOURCE, "0 V")):
        pen.terminal((x + 1.0, y), name)
        pen.wire((x + 1.1, y), (left, y))
    barrier = left + 0.45
    pen.box((x - 0.2, level + 0.95), (barrier, SOURCE - 0.6))
    pen.text(clean(pen.labels.get("logic", "logic side")), (x - 0.1, SOURCE - 1.05), align="left")


def _limit(pen: Pen, at: float) -> None:
    """The current limit: voltage of the sense resistor, filtered, to a comparator that ends the on-time."""
    kit, level, box = pen.kit, -10.5, (at - 6.6, at - 4.0)
    pen.wire((at - 0.75, SOURCE), (at - 0.75, level))
    pen.dot((at - 0.75, SOURCE), (at - 3.6, level), (at - 3.6, MINUS))
    pen.between(kit.ResistorIEC(), (at - 0.75, level), (at - 3.4, level), text="")
    pen.beside("current-sense-filter-resistor", (at - 2.3, level - 0.65), align="center", line=": ")
    pen.wire((at - 3.4, level), (box[1], level))
    pen.between(kit.Capacitor(), (at - 3.6, level), (at - 3.6, MINUS), text="")
    pen.frame((box[0], -9.8), (box[1], -11.2))
    pen.beside("current-limit-comparator", ((box[0] + box[1]) / 2, level), align="center")
    pen.wire((box[0] + 0.3, -9.8), (box[0] + 0.3, SOURCE - 0.3))
    names = ("threshold-resistor", "threshold-resistor-2", "current-sense-filter-capacitor")
    told = [pen.labels[name].replace("\n", ": ") for name in names if name in pen.labels]
    pen.text(clean("\n".join(told)), (box[0] - 0.2, level + 0.15), align="right")


def _off(pen: Pen, start: Point, end: float) -> None:
    """The faster way out of the gate: a resistor and a diode beside the gate resistor."""
    kit, (x, level), over = pen.kit, start, start[1] + 1.35
    pen.wire((end, level), (end, over), (end - 0.1, over))
    pen.between(kit.Diode(), (end - 0.1, over), (end - 1.0, over), text="")
    pen.between(kit.ResistorIEC(), (end - 1.0, over), (x + 0.1, over), text="")
    pen.wire((x + 0.1, over), (x + 0.1, level))
    diode = pen.labels.get("gate-bypass-diode", "").split("\n")[0]
    name = pen.labels["gate-resistor-off"].replace("\n", ": ")
    pen.text(clean(f"{name}, {diode}" if diode else name), ((x + end) / 2, over + 0.6))
    pen.dot((end, level), (x + 0.1, level))
