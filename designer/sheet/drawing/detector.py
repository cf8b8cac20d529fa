"""The zero-cross detector, below the rails of the mains."""

from __future__ import annotations

from designer.sheet.drawing.mains import TAP, moved
from designer.sheet.drawing.pen import BOTTOM, TOP, Pen


def detector(pen: Pen) -> None:
    """Zero-cross detector between line and neutral, its output with pull-up and filter on the logic side."""
    kit, feed, top, out, ground = pen.kit, -11.4, -9.0, -9.4, -12.0
    tap = TAP + moved(pen)
    pen.wire((tap, TOP), (tap, feed))
    pen.between(kit.ResistorIEC(), (tap, feed), (tap + 2.2, feed), text="")
    pen.between(kit.ResistorIEC(), (tap + 2.2, feed), (tap + 4.4, feed), text="")
    pen.beside("zero-cross-resistor", (tap + 2.2, feed + 0.75), align="center", line=": ")
    bridge, diode, right = tap + 5.2, tap + 6.9, tap + 8.9
    pen.wire((tap + 4.4, feed), (bridge, feed))
    pen.frame((bridge, -11.7), (bridge + 1.3, top))
    pen.text("bridge", (bridge + 0.6, -10.35))
    pen.wire((bridge + 0.6, top), (bridge + 0.6, BOTTOM))
    pen.dot((tap, TOP), (bridge + 0.6, BOTTOM))
    pen.wire((bridge + 1.3, -9.5), (diode, -9.5))
    pen.between(kit.Diode(), (diode, -9.5), (diode, -11.3), text="")
    pen.wire((diode, -11.3), (bridge + 1.3, -11.3))
    pen.frame((bridge - 0.3, -12.3), (right, -8.4))
    pen.beside("zero-cross-detector", (bridge + 1.7, -8.8), align="center", line=" ")
    photo = pen.drawing.add(kit.NpnPhoto().at((diode + 0.75, -10.4 - pen.row)).right())
    collector, emitter = pen.anchor(photo, "collector"), pen.anchor(photo, "emitter")
    node, end = right + 1.4, right + 4.4
    pen.wire(collector, (collector[0], out), (node, out))
    pen.between(kit.ResistorIEC(), (node, -7.7), (node, out), role="zero-cross-pull-up", right=True)
    pen.between(kit.ResistorIEC(), (node, out), (end, out), text="")
    pen.beside("zero-cross-filter-resistor", (node + 1.6, out - 0.65), align="center", line=": ")
    pen.between(kit.Capacitor(), (end, out), (end, ground), role="zero-cross-filter-capacitor", right=True)
    pen.wire(emitter, (emitter[0], ground), (end + 2.2, ground))
    pen.wire((end, out), (end + 2.2, out))
    pen.dot((node, out), (end, out), (end, ground))
    pen.terminal((node, -7.7), "5 V")
    pen.terminal((end + 2.2, out), "logic input", side="top")
    pen.terminal((end + 2.2, ground), "0 V", side="top")
    pen.box((diode + 0.65, -7.4), (end + 3.4, -12.55))
    pen.text("isolated logic side", (diode + 0.75, -13.0), align="left")
