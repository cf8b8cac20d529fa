"""A thyristor in the power circuit, and apart from it what belongs to each: driver, gate parts, snubber."""

from __future__ import annotations

from designer.sheet.drawing.pen import Labels, Pen, Point, clean

LEFT, TOP_OF, LOW = 24.6, -10.6, -15.6     # where the part circuit of one thyristor stands, under the rails
_AT, _DRIVER, _LED = 12.4, 6.4, 8.4        # the thyristor from there, the driver's output and diode from it


def part(labels: Labels, role: str, n: int) -> str:
    """The label of the n-th part of a role that stands for several: its own designator, and the value of each."""
    name, _, value = labels.get(role, "").partition("\n")
    names = [one for one in name.split(", ") if one]
    if not names:
        return ""
    before, times, own = f"{value} ".partition(" × ")
    return f"{names[min(n, len(names) - 1)]}\n{(own if times else before).strip()}".strip()


def upward(pen: Pen, start: Point, end: Point, *, n: int) -> None:
    """The n-th thyristor standing, its cathode above, its gate led out to the right."""
    drawn = pen.between(pen.kit.SCR(), start, end, text="")
    x, y = pen.anchor(drawn, "gate")
    pen.wire((x, y), (x + 0.35, y))
    pen.terminal((x + 0.45, y), f"G{n + 1}", side="right")
    pen.text(clean(part(pen.labels, "switch", n)), (start[0] - 0.4, (start[1] + end[1]) / 2 + 0.1), align="right")


def along(pen: Pen, start: Point, end: Point) -> None:
    """The only thyristor in a rail, its gate led out below."""
    drawn = pen.between(pen.kit.SCR(), start, end, role="switch")
    x, y = pen.anchor(drawn, "gate")
    pen.wire((x, y), (x, y - 0.4))
    pen.terminal((x, y - 0.5), pen.labels.get("gate-terminal", "G1"), side="bottom")


def each(pen: Pen, *, count: int) -> None:
    """One thyristor with its driver, gate parts and snubber; with two of them both have the same."""
    kit, at, feed = pen.kit, LEFT + _AT, TOP_OF
    names, gate = pen.labels.get("switch", "").partition("\n")[0], pen.labels.get("gate-terminal", "G1")
    pen.text(clean(f"each of {names}, with G1 and G2 as above" if count > 1 else f"{names}, with {gate} as above"),
             (LEFT, feed + 1.75), align="left")
    pen.wire((at, feed), (at, feed - 1.0))
    drawn = pen.between(kit.SCR(), (at, feed - 1.0), (at, feed - 3.0), text="")
    pen.wire((at, feed - 3.0), (at, LOW))
    _driver(pen, at, pen.anchor(drawn, "gate"))
    if "snubber-capacitor" in pen.labels:
        by = at + 2.2
        pen.wire((at, feed), (by, feed))
        pen.between(kit.ResistorIEC(), (by, feed), (by, feed - 2.2), role="snubber-resistor", right=True)
        pen.between(kit.Capacitor(), (by, feed - 2.2), (by, LOW), role="snubber-capacitor", right=True)
        pen.wire((by, LOW), (at, LOW))
        pen.dot((at, feed), (at, LOW))
    pen.terminal((at, feed + 0.35), "A", side="right")
    pen.wire((at, feed + 0.25), (at, feed))
    pen.terminal((at, LOW - 0.35), "K", side="right")
    pen.wire((at, LOW - 0.25), (at, LOW))


def _driver(pen: Pen, at: float, gate: Point) -> None:
    """The random-phase driver from anode to gate, diode and resistor of the gate, the isolated logic side."""
    kit, out, led, level = pen.kit, at - _DRIVER, at - _LED, gate[1]
    pen.between(kit.ResistorIEC(), (at, TOP_OF), (out, TOP_OF), role="driver-resistor")
    pen.between(kit.Diac(), (out, TOP_OF), (out, level + 0.3), text="")
    pen.wire((out, level + 0.3), (out, level))
    pen.between(kit.Diode(), (out, level), (out + 2.0, level), text="")
    pen.text(clean(pen.labels.get("gate-diode", "")).replace("\n", ", "), (out + 1.15, level - 0.75))
    node = out + 4.4
    pen.wire((out + 2.0, level), gate)
    pen.between(kit.ResistorIEC(), (node, level), (node, LOW), role="gate-resistor")
    pen.wire((node, LOW), (at, LOW))
    pen.dot((node, level), (at, TOP_OF), (at, LOW))
    pen.between(kit.LED(), (led, TOP_OF - 0.1), (led, level + 0.3), text="")
    pen.frame((led - 0.6, TOP_OF - 0.1), (out + 0.5, level + 0.3))
    pen.text(clean(pen.labels.get("gate-driver", "").partition("\n")[0]), (led + 0.6, TOP_OF + 0.3), align="left")
    pen.text("random phase", ((led + out) / 2 + 0.2, level - 1.5), align="left")
    left = led - 2.4
    pen.between(kit.ResistorIEC(), (left, TOP_OF), (led, TOP_OF), role="led-resistor")
    pen.wire((led, TOP_OF), (led, TOP_OF - 0.1))
    pen.wire((led, level + 0.3), (led, level - 0.6), (left, level - 0.6))
    for y, name in ((TOP_OF, "+"), (level - 0.6, "−")):
        pen.terminal((left, y), name)
    pen.box((left - 0.6, TOP_OF + 1.35), ((led + out) / 2, level - 1.1))
    pen.text("isolated logic side", (left - 0.5, level - 1.95), align="left")
