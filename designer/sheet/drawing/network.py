"""A breakover network that fires a triac."""

from __future__ import annotations

from designer.sheet.drawing.pen import BOTTOM, TOP, Pen, Point


def breakover(pen: Pen, x: float, gate: Point) -> None:
    """Timing network, breakover device and its resistor to the gate of a triac at ``x``.

    Fed across the triac (two-wire), or from the line before the motor where ``"network"`` is
    ``"three-wire"``; with a second time constant where there is a ``"timing-resistor-2"``.
    ``"timing-capacitor"`` is always the one at the breakover device. The wiper goes in series and
    the far end of the track stays open, so that an open wiper or track takes the charging current
    away and the motor stops.
    """
    kit, level, second = pen.kit, gate[1], "timing-resistor-2" in pen.labels
    last, device = x - 4.8, x - 2.6
    at = last - (2.6 if second else 0.9)
    three = pen.labels.get("network") == "three-wire"
    feed = (x - 7.7, TOP) if three else (x, -1.2)
    pen.wire(feed, (feed[0], -1.2), (at, -1.2))
    pen.between(kit.ResistorIEC(), (at, -1.2), (at, -2.6), role="timing-resistor", right=True)
    track = pen.between(kit.PotentiometerIEC(), (at, -2.6), (at, -3.95), role="potentiometer")
    tap = pen.anchor(track, "tap")
    pen.wire(tap, (tap[0], level), (at, level))
    pen.dot(feed, (at, level), (at, BOTTOM))
    first = "timing-capacitor-2" if second else "timing-capacitor"
    pen.between(kit.Capacitor(), (at, level), (at, BOTTOM), role=first, right=True)
    pen.wire((at, level), (at + 0.9, level))
    if second:
        pen.between(kit.ResistorIEC(), (at + 0.9, level), (last, level), role="timing-resistor-2")
        pen.between(kit.Capacitor(), (last, level), (last, BOTTOM), role="timing-capacitor", right=True)
        pen.dot((last, level), (last, BOTTOM))
    pen.between(kit.Diac(), (last, level), (device, level), role="breakover-device")
    pen.between(kit.ResistorIEC(), (device, level), gate, role="gate-resistor")
