"""Motor and triac in series, fired by an optocoupled driver or by a breakover network."""

from __future__ import annotations

from designer.sheet.drawing.motor import motor
from designer.sheet.drawing.network import breakover
from designer.sheet.drawing.pen import BOTTOM, TOP, Pen, Point, clean

SPAN, SNUBBER, ROOM = 7.2, 3.4, 6.0    # from the motor to the triac, from there to the snubber, and past it


def triac(pen: Pen, x: float) -> float:
    """Draw motor, triac with snubber, and what fires it; gives where the block ends.

    The breakover network is drawn where ``labels`` has a ``"breakover-device"``, else the driver.
    """
    at = x + SPAN
    motor(pen, (x, TOP), (at, TOP))
    gate = _switch(pen, at)
    if "breakover-device" in pen.labels:
        breakover(pen, at, gate)
    else:
        _driver(pen, at, gate)
    return at + ROOM


def _switch(pen: Pen, x: float) -> Point:
    """The triac between motor and neutral with its snubber; gives the place of its gate."""
    kit = pen.kit
    pen.wire((x, TOP), (x, -2.6))
    drawn = pen.between(kit.Triac().flip(), (x, -2.6), (x, -5.0), role="switch", right=True)
    pen.wire((x, -5.0), (x, BOTTOM), (x - SPAN, BOTTOM))
    if "snubber-capacitor" in pen.labels:
        at = x + SNUBBER
        pen.wire((x, TOP), (at, TOP))
        pen.wire((x, BOTTOM), (at, BOTTOM))
        pen.between(kit.ResistorIEC(), (at, TOP), (at, -3.5), role="snubber-resistor", right=True)
        pen.between(kit.Capacitor(), (at, -3.5), (at, BOTTOM), role="snubber-capacitor", right=True)
        pen.dot((x, TOP), (x, BOTTOM))
    return pen.anchor(drawn, "gate")


def _driver(pen: Pen, x: float, gate: Point) -> None:
    """Random-phase optocoupled driver from MT2 to the gate; its light-emitting diode is on the logic side."""
    kit, output, input_, logic, foot = pen.kit, x - 2.4, x - 4.2, x - 6.4, gate[1] + 0.2
    resistor = x - 1.2
    pen.between(kit.ResistorIEC(), (x, -1.6), (output, -1.6), role="driver-resistor")
    pen.wire((output, -1.6), (output, -2.5))
    pen.between(kit.Diac(), (output, -2.5), (output, foot), text="")
    pen.wire((output, foot), (output, gate[1]), gate)
    pen.between(kit.ResistorIEC(), (resistor, gate[1]), (resistor, BOTTOM), role="gate-resistor")
    pen.dot((x, -1.6), (resistor, gate[1]), (resistor, BOTTOM))
    pen.between(kit.LED(), (input_, -2.5), (input_, foot), text="")
    pen.frame((x - 4.9, -2.5), (x - 1.7, foot))
    pen.between(kit.ResistorIEC(), (logic, -2.15), (input_, -2.15), role="led-resistor")
    pen.wire((input_, -2.15), (input_, -2.5))
    pen.wire((input_, foot), (input_, -5.0), (logic, -5.0))
    for y, name in ((-2.15, "+"), (-5.0, "−")):
        pen.terminal((logic, y), name)
    name = pen.labels.get("gate-driver", pen.labels.get("driver", "driver"))
    pen.text(clean(name).replace("\n", " "), (x - 3.75, -2.25))
    pen.text("random phase", (x - 5.15, -5.75))
    pen.box((x - 7.0, -0.95), (x - 3.3, -6.1))
    pen.text("isolated logic side", (x - 6.9, -6.55), align="left")
