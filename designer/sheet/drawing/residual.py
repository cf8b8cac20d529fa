"""One thyristor whose gate compares a divider of the mains with the motor's own voltage; the motor at its cathode."""

from __future__ import annotations

from designer.sheet.drawing.motor import between, contact
from designer.sheet.drawing.pen import BOTTOM, TOP, Pen

CHAIN, SWITCH, CATHODE, MOTOR, ROOM = 2.0, 6.4, 12.4, 16.6, 3.4    # from the start; what the block needs past the motor


def residual(pen: Pen, x: float) -> float:
    """Draw divider, gate, thyristor with its snubber, and motor between line and neutral; gives where the block ends.

    The field in series is drawn where ``labels`` has a ``"series"``.
    """
    kit, at, end = pen.kit, x + MOTOR, x + CATHODE
    pen.wire((x, TOP), (x + SWITCH, TOP))
    level = _divider(pen, x + CHAIN)
    drawn = pen.between(kit.SCR(), (x + SWITCH, TOP), (x + SWITCH + 2.6, TOP), text="")
    pen.beside("switch", (x + SWITCH - 0.3, TOP - 0.75), line=", ")
    gate = pen.anchor(drawn, "gate")
    pen.wire(gate, (gate[0], level), (x + CHAIN + 3.6, level))
    pen.between(kit.Diode(), (x + CHAIN + 1.4, level), (x + CHAIN + 3.6, level), role="gate-diode", right=True)
    for down, element, role in ((0.0, kit.ResistorIEC(), "gate-resistor"), (1.7, kit.Capacitor(), "gate-capacitor")):
        pen.between(element, (gate[0] + 0.6, level - down), (end, level - down), role=role, right=True)
    pen.wire((gate[0], level), (gate[0] + 0.6, level), (gate[0] + 0.6, level - 1.7))
    pen.wire((end, level - 1.7), (end, TOP))
    pen.dot((gate[0], level), (gate[0] + 0.6, level), (end, level), (end, TOP))
    _snubber(pen, x + SWITCH - 0.4, end)
    pen.wire((x + SWITCH + 2.6, TOP), (end, TOP))
    contact(pen, (end, TOP), (at, TOP))
    between(pen, at, top=TOP, low=BOTTOM, field="series" in pen.labels)
    pen.wire((x, BOTTOM), (at, BOTTOM))
    pen.text("\u2003", (at + ROOM + 5.0, TOP))      # room for the words beside the frame
    return at + ROOM


def _divider(pen: Pen, x: float) -> float:
    """The divider from line to neutral, its wiper led to the right; gives the wiper's height."""
    kit = pen.kit
    pen.between(kit.ResistorIEC(), (x, TOP), (x, -2.0), role="reference-resistor")
    track = pen.between(kit.PotentiometerIEC(), (x, -2.0), (x, -3.7), role="potentiometer")
    pen.between(kit.ResistorIEC(), (x, -3.7), (x, -5.2), role="reference-foot")
    pen.between(kit.Diode(), (x, -5.2), (x, BOTTOM), role="reference-diode")
    pen.dot((x, TOP), (x, BOTTOM))
    tap = pen.anchor(track, "tap")
    pen.wire(tap, (x + 1.4, tap[1]))
    return tap[1]


def _snubber(pen: Pen, start: float, end: float) -> None:
    """Resistor and capacitor across the thyristor, above it."""
    if "snubber-capacitor" not in pen.labels:
        return
    height, middle = TOP + 0.9, (start + end) / 2
    pen.wire((start, TOP), (start, height))
    for element, left, right, role in ((pen.kit.ResistorIEC(), start, middle, "snubber-resistor"),
                                       (pen.kit.Capacitor(), middle, end, "snubber-capacitor")):
        pen.between(element, (left, height), (right, height), text=pen.labels.get(role, "").replace("\n", " "))
    pen.wire((end, height), (end, TOP))
    pen.dot((start, TOP), (end, TOP))
