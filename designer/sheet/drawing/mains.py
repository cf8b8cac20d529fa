"""Where the current comes from: the mains with what stands across it, or a d.c. supply."""

from __future__ import annotations

from designer.sheet.drawing.pen import BOTTOM, EARTH, TOP, Pen

TAP, ACROSS, STEP = 6.7, 7.5, 2.2      # where a detector taps the line rail; the first part across the mains
END = 0.7                              # from the last part across to the next block


def supply(pen: Pen, x: float) -> float:
    """Draw the mains, or the d.c. supply where ``labels`` has a ``"dc"``; gives where the rails end."""
    return direct(pen, x) if "dc" in pen.labels else mains(pen, x)


def mains(pen: Pen, x: float) -> float:
    """Terminals, two-pole switch, fuse, and what stands across the mains."""
    kit = pen.kit
    for y, name in ((TOP, "L"), (BOTTOM, "N"), (EARTH, "PE")):
        pen.terminal((x, y), name)
    for y in (TOP, BOTTOM):
        pen.between(kit.Switch(), (x + 0.1, y), (x + 2.1, y), text="")
    pen.coupling((x + 1.1, TOP - 0.1), (x + 1.1, BOTTOM + 0.25))
    pen.text("S1, both poles", (x + 1.25, -3.5), align="left")
    pen.between(kit.FuseIEC(), (x + 2.1, TOP), (x + 4.3, TOP), role="fuse")
    kinds = (("varistor", kit.ResistorIEC), ("x2-capacitor", kit.Capacitor), ("x2-bleeder", kit.ResistorIEC))
    across = [(role, element) for role, element in kinds if role in pen.labels]
    x, start = x + moved(pen), x
    for n, (role, element) in enumerate(across):
        at = x + ACROSS + STEP * n
        pen.wire((at, TOP), (at, -3.0))
        pen.between(element(), (at, -3.0), (at, BOTTOM), role=role, right=True)
        pen.dot((at, TOP), (at, BOTTOM))
        if role == "varistor":
            pen.wire((at - 0.7, -5.5), (at - 0.4, -5.5), (at + 0.4, -4.5))
    top, low = start + 4.3, start + 2.1
    if "thermal-switch" in pen.labels:
        pen.between(kit.Switch(), (top, TOP), (top + 2.0, TOP), role="thermal-switch", right=True)
        top += 2.0
    if "second-path-relay" in pen.labels:
        top = low = _relay(pen, top, low)
    if "bus" in pen.labels:
        pen.wire((start + 0.1, EARTH), (start + 1.1, EARTH))
        pen.text("motor frame, heatsink, box" if "motor" in pen.labels else "heatsink, box",
                 (start + 1.3, EARTH - 0.1), align="left")
    end = x + ACROSS + STEP * len(across) + END
    pen.wire((top, TOP), (end, TOP))
    pen.wire((low, BOTTOM), (end, BOTTOM))
    return end


def moved(pen: Pen) -> float:
    """How far all behind the second switch-off path's contact moves to make room for it."""
    return 2.2 if {"second-path-relay", "thermal-switch"} <= set(pen.labels) else 0.0


def _relay(pen: Pen, at: float, low: float) -> float:
    """Both poles of the second switch-off path's contact; gives where they end."""
    for y in (TOP, BOTTOM):
        pen.between(pen.kit.Switch(), (at, y), (at + 2.0, y), text="")
    pen.wire((low, BOTTOM), (at, BOTTOM))
    pen.coupling((at + 1.0, TOP - 0.1), (at + 1.0, BOTTOM + 0.25))
    pen.beside("second-path-relay", (at + 0.75, -4.9), align="right")
    return at + 2.0


def direct(pen: Pen, x: float) -> float:
    """A battery or other d.c. source, its fuse at the plus terminal, and the main switch."""
    kit, start = pen.kit, x + 0.4
    if "earth" in pen.labels:
        pen.terminal((x, EARTH), "PE")
        pen.wire((x + 0.1, EARTH), (x + 1.1, EARTH))
        pen.text("motor frame, heatsink, box", (x + 1.3, EARTH - 0.1), align="left")
    pen.wire((start, TOP), (start, -3.0))
    pen.between(kit.Battery(), (start, -3.0), (start, -4.0), text="d.c. supply", right=True)
    pen.wire((start, -4.0), (start, BOTTOM))
    pen.text("+", (start - 0.35, -2.75))
    pen.text("−", (start - 0.35, -4.3))
    fused = "dc-fuse" in pen.labels
    if fused:
        pen.between(kit.FuseIEC(), (start, TOP), (start + 2.4, TOP), role="dc-fuse")
    at = start + 2.4 if fused else start
    pen.between(kit.Switch(), (at, TOP), (at + 2.2, TOP), text=pen.labels.get("main-switch", "S1, d.c. rated"),
                right=True)
    end = at + 3.0
    pen.wire((at + 2.2, TOP), (end, TOP))
    pen.wire((start, BOTTOM), (end, BOTTOM))
    return end
