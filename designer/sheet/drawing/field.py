"""A field that is fed apart: from terminals, from the mains over transformer and bridge, or on a chopper of its own."""

from __future__ import annotations

from copy import copy

from designer.sheet.drawing import gates
from designer.sheet.drawing.bus import four_diodes
from designer.sheet.drawing.chopper import CLAMP, FREEWHEEL, MINUS, SWITCH, cell
from designer.sheet.drawing.detector import detector
from designer.sheet.drawing.field_chopper import winding
from designer.sheet.drawing.pen import BOTTOM, TOP, Labels, Pen
from designer.sheet.drawing.turn_on import choke

#: rails of a field from terminals, beside the armature's circuit
HIGH, LOW = -3.0, -8.6
OWN = {"field-diode": "flyback-diode", "field-thyristor": "switch", "field-input-capacitor": "bus-capacitor"}
#: where the secondary begins where a detector stands under the line ahead of it, else how far from the fuse
BESIDE_DETECTOR, BESIDE_FUSE = 13.2, 1.0


def apart(labels: Labels) -> bool:
    """True where the field takes a row of its own: it has a bridge or a chopper."""
    return "field-bridge" in labels or "field-switch" in labels


def field(pen: Pen, x: float) -> float:
    """Draw the field's supply, relay, resistor, diode and winding; gives where it ends."""
    own = copy(pen)
    own.labels = _labels(pen.labels)
    if "field-switch" in pen.labels:
        return _chopped(own, x)
    if "field-bridge" in pen.labels:
        return _rectified(own, x)
    at = x + 1.6
    pen.text("field supply", (at - 1.3, (HIGH + LOW) / 2), align="left")
    for y, name in ((HIGH, "+"), (LOW, "−")):
        pen.terminal((at, y), name)
    return _fed(own, at + 0.1, plus=HIGH, minus=LOW)


def _labels(given: Labels) -> dict[str, str]:
    """Those of the field, named as those of an armature, and that there is protective earth."""
    own = {OWN.get(name, name.removeprefix("field-")): text for name, text in given.items()
           if name.startswith("field-")}
    return own | {name: given[name] for name in ("earth",) if name in given} | {"gate-terminal": "G3"}


def _fed(pen: Pen, start: float, *, plus: float, minus: float) -> float:
    """Relay, resistor, diode and winding between two rails."""
    kit, at = pen.kit, start
    if "relay" in pen.labels:
        pen.wire((at, plus), (at + 0.5, plus))
        pen.frame((at + 0.5, plus + 0.35), (at + 1.7, plus - 0.35))
        pen.beside("relay", (at + 1.1, plus + 0.65), align="center", line=" ")
        pen.text("its contact in the\nstop circuit", (at + 1.1, plus - 1.3))
        pen.wire((at + 1.7, plus), (at + 2.2, plus))
        at += 2.2
    if "resistor" in pen.labels:
        pen.between(kit.ResistorIEC(), (at, plus), (at + 2.2, plus), role="resistor")
        at += 2.2
    diode, coil = at + 0.8, at + 3.9
    pen.wire((at, plus), (coil, plus), (coil, plus - 1.6))
    pen.wire((start, minus), (coil, minus), (coil, minus + 1.6))
    if "flyback-diode" in pen.labels:
        pen.across(kit.Diode().reverse(), diode, "flyback-diode", ends=(plus, minus), at=(plus - 1.6, minus + 1.6))
    pen.between(kit.Inductor2(loops=4), (coil, plus - 1.6), (coil, minus + 1.6), text="field", right=True)
    pen.box((coil - 0.5, plus - 1.2), (coil + 1.5, minus + 1.2))
    pen.text("in the motor: its leads\nare as live as the armature" if "earth" in pen.labels else "in the motor",
             (coil + 0.2, plus + 0.95))
    return coil + 1.8


def _rectified(pen: Pen, x: float) -> float:
    """Fuse, transformer or choke, bridge and thyristor ahead of the field, in a row of their own."""
    kit = pen.kit
    for y, name in ((TOP, "L, behind\nthe main fuse"), (BOTTOM, "N, behind\nthe main switch")):
        pen.terminal((x + 1.6, y), name)
    at = x + 3.9
    pen.between(kit.FuseIEC(), (x + 1.7, TOP), (at, TOP), role="fuse")
    ahead = BESIDE_DETECTOR if "zero-cross-detector" in pen.labels else at + BESIDE_FUSE
    pen.wire((at, TOP), (ahead, TOP))
    pen.wire((x + 1.7, BOTTOM), (ahead, BOTTOM))
    if "zero-cross-detector" in pen.labels:
        detector(pen)
    at = _transformer(pen, ahead) if "transformer" in pen.labels else choke(pen, ahead)
    at = four_diodes(pen, at)
    if "switch" in pen.labels:
        gates.along(pen, (at, TOP), (at + 2.6, TOP))
        pen.wire((at, BOTTOM), (at + 2.6, BOTTOM))
        at += 2.6
        gates.each(pen, count=1)
    return _fed(pen, at, plus=TOP, minus=BOTTOM)


def _transformer(pen: Pen, x: float) -> float:
    """Two windings with a core between them, from rail to rail."""
    kit, first, second, high, low = pen.kit, x + 0.6, x + 2.0, -2.0, -5.0
    pen.wire((x, TOP), (first, TOP), (first, high))
    pen.between(kit.Inductor2(loops=4), (first, high), (first, low), text="")
    pen.wire((first, low), (first, BOTTOM), (x, BOTTOM))
    pen.between(kit.Inductor2(loops=4), (second, low), (second, high), text="")
    for side in (first + 0.6, first + 0.8):
        pen.wire((side, high), (side, low))
    pen.beside("transformer", ((first + second) / 2, TOP + 1.0), align="center")
    end = second + 0.8
    pen.wire((second, high), (second, TOP), (end, TOP))
    pen.wire((second, low), (second, BOTTOM), (end, BOTTOM))
    return end


def _chopped(pen: Pen, x: float) -> float:
    """The winding on its chopper, the capacitor that closes the switched loop at the terminals of its supply."""
    at = x + SWITCH
    foot = at + (CLAMP if "clamp-capacitor" in pen.labels else FREEWHEEL) + 2.6
    pen.across(pen.kit.Capacitor(), foot, "bus-capacitor", ends=(TOP, MINUS), at=(-3.4, -4.8))
    for y, name in ((TOP, "field supply +"), (MINUS, "field supply −")):
        pen.terminal((x + 2.0, y), name)
        pen.wire((x + 2.1, y), (foot, y))
    winding(pen, at)
    cell(pen, x, at)
    return foot + 2.2
