"""The choke between what stands across the mains and a rectifier with thyristors."""

from __future__ import annotations

from designer.sheet.drawing.pen import BOTTOM, TOP, Pen

LENGTH = 3.0


def choke(pen: Pen, x: float) -> float:
    """Draw the choke in the line's rail where ``labels`` has a ``"turn-on-choke"``; gives where the rails end."""
    if "turn-on-choke" not in pen.labels:
        return x
    end = x + LENGTH
    pen.wire((x, TOP), (x + 0.3, TOP))
    pen.between(pen.kit.Inductor(), (x + 0.3, TOP), (end - 0.5, TOP), role="turn-on-choke")
    pen.wire((end - 0.5, TOP), (end, TOP))
    pen.wire((x, BOTTOM), (end, BOTTOM))
    return end
