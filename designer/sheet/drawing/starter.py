"""The starter: armature contactor, resistors with their bypasses, and the armature from one rail to the other."""

from __future__ import annotations

from copy import copy

from designer.sheet.drawing.motor import standing
from designer.sheet.drawing.pen import BOTTOM, TOP, Pen, clean

STAGE, LOW = 3.4, -1.5      # width of a resistor with its bypass; how far the bypass lies under the rail
FRAME = 6.5                 # room for the frame's earth beside the armature


def starter(pen: Pen, x: float) -> float:
    """Draw the armature behind its starter in a row of its own; gives where it ends."""
    kit = pen.kit
    for y, name in ((TOP, "+ bus"), (BOTTOM, "− bus")):
        pen.terminal((x, y), name)
    at = x + 0.4
    pen.wire((x + 0.1, TOP), (at, TOP))
    pen.between(kit.Switch(), (at, TOP), (at + 2.2, TOP), role="armature-contactor")
    at += 2.2
    for number in range(1, len(pen.labels) + 1):
        own = "" if number == 1 else f"-{number}"
        if f"starting-resistor{own}" not in pen.labels:
            break
        at = _stage(pen, at, own)
    if "overcurrent-release" in pen.labels:
        pen.frame((at + 0.3, TOP + 0.35), (at + 1.5, TOP - 0.35))
        pen.text("I >", (at + 0.9, TOP - 0.05))
        pen.beside("overcurrent-release", (at + 0.9, TOP + 0.75), align="center")
        pen.wire((at, TOP), (at + 0.3, TOP))
        at += 1.5
    end = at + (FRAME if "earth" in pen.labels else 3.6)
    pen.wire((at, TOP), (end, TOP))
    bare = copy(pen)        # the contactor stands in the rail here
    bare.labels = {name: text for name, text in pen.labels.items() if name != "armature-contactor"}
    standing(bare, (end, TOP), (end, BOTTOM), field=False)
    pen.wire((x + 0.1, BOTTOM), (end, BOTTOM))
    _coils(pen, x + 0.4)
    return end + 2.2


def _stage(pen: Pen, x: float, own: str) -> float:
    """A resistor in the rail, the contact across it, and what closes that; ``own`` is the suffix of its labels."""
    kit, first, last = pen.kit, x + 0.5, x + STAGE - 0.5
    pen.wire((x, TOP), (first, TOP))
    pen.between(kit.ResistorIEC(), (first, TOP), (last, TOP), role=f"starting-resistor{own}")
    pen.wire((last, TOP), (x + STAGE, TOP))
    pen.wire((first, TOP), (first, LOW))
    pen.between(kit.Switch(), (first, LOW), (last, LOW), role=f"starter-bypass{own}", right=True)
    pen.wire((last, LOW), (last, TOP))
    pen.dot((first, TOP), (last, TOP))
    relay = pen.labels.get(f"bypass-relay{own}", "").split("\n")
    if relay[-1]:
        pen.text(clean(f"{relay[0]} closes it\nbelow {relay[-1]}"), ((first + last) / 2, LOW - 1.7))
    return x + STAGE


def _coils(pen: Pen, x: float) -> None:
    """What stands in the armature contactor's coil, in words: the conductors are in the wiring table."""
    names = ("armature-stop", "field-relay", "zero-start-relay", "undervoltage-relay", "overcurrent-release",
             "start-timer", "inrush-bypass", "starter-bypass", "starter-bypass-2", "starter-bypass-3",
             "starter-bypass-4")
    chain = [pen.labels[name].split("\n")[0] + (" (opening)" if name.startswith("starter") else "")
             for name in names if name in pen.labels]
    main = pen.labels.get("armature-contactor", "").split("\n")[0]
    if main and chain:
        pen.text(clean(f"coil of {main}, latched, in series with\n{', '.join(chain)}"), (x, BOTTOM + 1.4),
                 align="left")
