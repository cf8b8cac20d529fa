"""The tacho's input by itself: coil, resistor in each lead, clamp, comparator, barrier, controller."""

from __future__ import annotations

from designer.sheet.drawing.pen import Labels, Pen

_PLUS, _A, _B, _MINUS = 5.2, 2.2, -2.2, -5.2     # heights: supply, filtered input, bias, its return


def tacho_input(labels: Labels) -> str:
    """Draw the input from the coil's leads to the controller, as SVG text; ``labels`` by role."""
    pen = Pen(labels)
    _leads(pen)
    _clamps(pen)
    _bias(pen)
    _comparator(pen)
    _barrier(pen)
    return pen.svg()


def _leads(pen: Pen) -> None:
    """Coil and resistors; what lies left of the barrier is live."""
    kit = pen.kit
    pen.wire((0.0, _A), (0.0, 1.0))
    pen.between(kit.Inductor2(), (0.0, 1.0), (0.0, -1.0), text="tacho coil,\nin the motor")
    pen.wire((0.0, -1.0), (0.0, _B))
    pen.between(kit.ResistorIEC(), (0.0, _A), (3.0, _A), role="tacho-series-resistor")
    pen.between(kit.ResistorIEC(), (0.0, _B), (3.0, _B), text="")
    pen.wire((3.0, _A), (8.2, _A))
    pen.wire((3.0, _B), (15.2, _B))
    pen.between(kit.ResistorIEC(), (3.4, _A), (3.4, _B), role="tacho-shunt-resistor", right=True)
    pen.dot((3.4, _A), (3.4, _B))


def _clamps(pen: Pen) -> None:
    """Two diodes at each input, to both rails, and the clamp across the rails."""
    kit = pen.kit
    pen.wire((4.8, _PLUS), (21.2, _PLUS))
    pen.wire((4.8, _MINUS), (12.4, _MINUS))
    pen.between(kit.Diode(), (6.4, _A), (6.4, _PLUS), text="")
    pen.between(kit.Diode(), (6.4, _MINUS), (6.4, _A), text="")
    pen.between(kit.Diode(), (7.6, _B), (7.6, _PLUS), text="")
    pen.between(kit.Diode(), (7.6, _MINUS), (7.6, _B), text="")
    pen.dot((6.4, _A), (7.6, _B), (6.4, _PLUS), (7.6, _PLUS), (6.4, _MINUS), (7.6, _MINUS))
    pen.beside("tacho-clamp-diode", (7.0, _PLUS + 0.7), align="center", line=": ")
    pen.between(kit.Zener(), (5.6, _MINUS), (5.6, _PLUS), text="")
    pen.beside("tacho-rail-clamp", (5.6, _MINUS - 0.8), align="center", line=": ")
    pen.terminal((4.7, _PLUS), "+, live side")
    pen.terminal((4.7, _MINUS), "−, live side")


def _bias(pen: Pen) -> None:
    """Half of the supply, to which the second lead is tied."""
    kit, x = pen.kit, 10.2
    pen.between(kit.ResistorIEC(), (x, _PLUS), (x, _B), role="tacho-bias-resistor", right=True)
    pen.between(kit.ResistorIEC(), (x, _B), (x, _MINUS), text="")
    pen.between(kit.Capacitor(), (x + 2.2, _B), (x + 2.2, _MINUS), role="tacho-bias-capacitor", right=True)
    pen.dot((x, _PLUS), (x, _B), (x, _MINUS), (x + 2.2, _B), (x + 2.2, _MINUS))


def _comparator(pen: Pen) -> None:
    """Filter into the inverting input, foot and feedback at the other, pull-up at the output."""
    kit = pen.kit
    pen.between(kit.ResistorIEC(), (8.2, _A), (9.8, _A), text="")
    pen.beside("tacho-filter-resistor", (9.0, _A + 0.8), align="center", line=": ")
    pen.wire((9.8, _A), (14.0, _A), (14.0, 1.2))
    pen.between(kit.Capacitor(), (14.0, 1.2), (14.0, _B), role="tacho-filter-capacitor")
    pen.dot((14.0, 1.2), (14.0, _B))
    whole = pen.drawing.add(kit.Opamp().anchor("in1").at((15.6, 1.2)).right())
    plus, out = pen.anchor(whole, "in2"), pen.anchor(whole, "out")
    pen.wire((14.0, 1.2), (15.6, 1.2))
    pen.wire(plus, (15.2, plus[1]))
    pen.between(kit.ResistorIEC(), (15.2, _B), (15.2, plus[1]), role="tacho-hysteresis-resistor", right=True)
    under = -3.6
    pen.wire((15.2, plus[1]), (14.5, plus[1]), (14.5, under))
    pen.between(kit.ResistorIEC(), (14.5, under), (out[0], under), text="")
    pen.beside("tacho-feedback-resistor", (0.5 * (14.5 + out[0]), under - 0.7), align="center", line=": ")
    pen.wire((out[0], under), out)
    pen.dot((15.2, plus[1]), out, (15.2, _B))
    pen.beside("tacho-comparator", (16.6, 2.6), align="center", line=" ")
    pen.between(kit.ResistorIEC(), (out[0], _PLUS), (out[0], out[1]), role="tacho-output-resistor", right=True)
    pen.dot((out[0], _PLUS))
    pen.wire(out, (21.2, out[1]), (21.2, 0.9))


def _barrier(pen: Pen) -> None:
    """The optocoupler's diode from the supply into the output, its light to the controller."""
    kit, x = pen.kit, 21.2
    pen.between(kit.ResistorIEC(), (x, _PLUS), (x, 2.6), role="tacho-led-resistor")
    pen.between(kit.Diode(), (x, 2.6), (x, 0.9), text="")
    photo = pen.drawing.add(kit.NpnPhoto().at((x + 1.6, 1.75)).right())
    collector, emitter = pen.anchor(photo, "collector"), pen.anchor(photo, "emitter")
    pen.frame((x - 0.7, 0.4), (x + 3.0, 3.2))
    pen.beside("tacho-optocoupler", (x + 1.2, -0.5), align="center", line=" ")
    node = x + 4.6
    pen.wire(collector, (collector[0], 3.8), (node, 3.8))
    pen.between(kit.ResistorIEC(), (node, 6.4), (node, 3.8), role="tacho-pull-up", right=True)
    pen.terminal((node, 6.5), "5 V, logic side", side="top")
    pen.dot((node, 3.8))
    pen.wire((node, 3.8), (node + 2.0, 3.8))
    pen.frame((node + 2.0, 4.6), (node + 5.4, -0.2))
    pen.text("capture", (node + 2.2, 3.8), align="left")
    pen.beside("controller", (node + 3.7, 2.2), align="center")
    pen.wire(emitter, (emitter[0], 0.2), (node + 2.0, 0.2))
    pen.text("0 V", (node + 2.2, 0.2), align="left")
    pen.box((x + 1.0, 7.4), (node + 6.0, -1.0))
    pen.text("isolated logic side; all left of it is live with the motor", (x + 1.1, -1.6), align="left")
