"""The field winding on a supply of its own."""

from __future__ import annotations

from designer.sheet.drawing.pen import Pen

PLUS, MINUS = -3.0, -8.6


def field(pen: Pen, x: float) -> float:
    """Draw supply terminals, relay, resistor and diode of a field that is fed apart; gives where it ends."""
    kit, at = pen.kit, x + 1.6
    pen.text("field supply", (at - 1.3, (PLUS + MINUS) / 2), align="left")
    for y, name in ((PLUS, "+"), (MINUS, "−")):
        pen.terminal((at, y), name)
    start = at = at + 0.1
    if "field-relay" in pen.labels:
        pen.wire((at, PLUS), (at + 0.5, PLUS))
        pen.frame((at + 0.5, PLUS + 0.35), (at + 1.7, PLUS - 0.35))
        pen.beside("field-relay", (at + 1.1, PLUS + 0.65), align="center", line=" ")
        pen.text("its contact in the\nstop circuit", (at + 1.1, PLUS - 1.3))
        pen.wire((at + 1.7, PLUS), (at + 2.2, PLUS))
        at += 2.2
    if "field-resistor" in pen.labels:
        pen.between(kit.ResistorIEC(), (at, PLUS), (at + 2.2, PLUS), role="field-resistor")
        at += 2.2
    diode, winding = at + 0.8, at + 3.9
    pen.wire((at, PLUS), (winding, PLUS), (winding, PLUS - 1.6))
    pen.wire((start, MINUS), (winding, MINUS), (winding, MINUS + 1.6))
    if "field-diode" in pen.labels:
        pen.across(kit.Diode().reverse(), diode, "field-diode", ends=(PLUS, MINUS), at=(PLUS - 1.6, MINUS + 1.6))
    pen.between(kit.Inductor2(loops=4), (winding, PLUS - 1.6), (winding, MINUS + 1.6), text="field", right=True)
    pen.box((winding - 0.5, PLUS - 1.2), (winding + 1.5, MINUS + 1.2))
    pen.text("in the motor: its leads\nare as live as the armature" if "earth" in pen.labels else "in the motor",
             (winding + 0.2, PLUS + 0.95))
    return winding + 1.8
