"""The field winding on a chopper of its own: relay and winding from the plus rail, the same cell below."""

from __future__ import annotations

from copy import copy

from designer.sheet.drawing.chopper import CLAMP, FREEWHEEL, MINUS, NODE, SWITCH, cell, rails
from designer.sheet.drawing.pen import TOP, Labels, Pen

OWN = {"field-diode": "flyback-diode"}
#: labels that belong to the whole diagram, which a row of the field's keeps
SHARED = ("earth",)


def field_chopper(pen: Pen, x: float) -> float:
    """Draw the winding on its chopper, out of the labels whose role begins with ``field-``; gives where it ends.

    The capacitor that closes the switched loop is drawn here where no armature has a chopper (``"armature-chopper"``).
    """
    own = copy(pen)
    own.labels = _labels(pen.labels)
    at = x + SWITCH
    end = rails(own, x, at + (CLAMP if "clamp-capacitor" in own.labels else FREEWHEEL))
    winding(own, at)
    cell(own, x, at)
    if "floor-resistor" in own.labels:
        _floor(own, at)
    return end + 2.2


def _floor(pen: Pen, at: float) -> None:
    """The resistor that keeps the floor, from the winding to the minus rail, past transistor and sense resistor."""
    x = at + FREEWHEEL
    pen.wire((x, NODE), (x, -8.9))
    pen.between(pen.kit.ResistorIEC(), (x, -8.9), (x, MINUS), role="floor-resistor", right=True)
    pen.wire((at, MINUS), (x, MINUS))
    pen.dot((x, NODE), (x, MINUS))


def _labels(given: Labels) -> dict[str, str]:
    """Those of the field, named as those of any chopper; the bus capacitor where it stands nowhere else."""
    own = {OWN.get(name, name.removeprefix("field-")): text for name, text in given.items()
           if name.startswith("field-")}
    keep = SHARED if "armature-chopper" in given else (*SHARED, "bus-capacitor")
    return own | {name: given[name] for name in keep if name in given}


def winding(pen: Pen, at: float) -> None:
    """The winding in the motor's frame, between the plus rail and the switched node, behind its relay."""
    kit, top = pen.kit, TOP - 0.4
    pen.wire((at, TOP), (at, top))
    if "relay" in pen.labels:
        pen.frame((at - 0.35, top), (at + 0.35, top - 0.9))
        pen.beside("relay", (at - 0.6, top - 0.3), align="right")
        pen.text("its contact holds the armature off", (at - 0.6, top - 1.35), align="right")
        top -= 0.9
    low = NODE + 0.5
    pen.wire((at, top), (at, low + 2.2))
    pen.between(kit.Inductor2(loops=4), (at, low + 2.2), (at, low), text="field")
    pen.wire((at, low), (at, NODE))
    left = at - 1.9
    pen.box((left, low + 2.4), (at + 0.9, low - 0.1))
    pen.text("in the motor", (left - 0.15, low + 1.4), align="right")
    if "earth" in pen.labels:
        pen.terminal((left - 5.0, low + 0.6), "PE")
        pen.wire((left - 4.9, low + 0.6), (left, low + 0.6))
