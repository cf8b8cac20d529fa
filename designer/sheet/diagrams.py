"""Circuit diagrams with the values on them, one function a circuit, chosen from ``DIAGRAMS``.

``labels`` maps a part's role to the text beside its symbol (designator and value); the parts that
a circuit may have or not are drawn where they have a label. No user text goes in.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Any

INK = "#16242e"
Labels = Mapping[str, str]
Point = tuple[float, float]


def triac_series(labels: Labels) -> str:
    """Draw motor and triac in series, fired by an optocoupled driver or by a breakover network.

    The breakover network is drawn where ``labels`` has a ``"breakover-device"``: across the triac
    (two-wire), or fed from the line before the motor where ``"network"`` is ``"three-wire"``; with a
    second time constant where there is a ``"timing-resistor-2"``. ``"timing-capacitor"`` is always
    the one at the breakover device. Returns SVG text.
    """
    import schemdraw

    drawing = schemdraw.Drawing(canvas="svg", show=False)
    drawing.config(unit=2.0, fontsize=12.5, color=INK, lw=1.4, font="DejaVu Sans, sans-serif", margin=0.3)
    pen = Pen(drawing, labels)
    _mains_side(pen)
    _motor(pen)
    gate = _triac(pen)
    if "breakover-device" in labels:
        _breakover(pen, gate)
    else:
        _driver(pen, gate)
    if "zero-cross-detector" in labels:
        _detector(pen)
    return str(drawing.get_imagedata("svg").decode()).replace("stroke-dasharray:-;", "")


#: circuit -> the function that draws it
DIAGRAMS: dict[str, Callable[[Labels], str]] = {"triac-series": triac_series}

TOP, BOTTOM, EARTH = 0.0, -7.0, 1.9
TAP, ACROSS = 6.7, 7.5          # where the detector taps the line rail; the first part across the mains
MOTOR, TRIAC, SNUBBER, GATE = 14.2, 21.4, 24.8, 20.2


class Pen:
    """The drawing and the labels, with the few strokes that every circuit needs."""

    def __init__(self, drawing: Any, labels: Labels) -> None:
        """Draw on ``drawing`` with ``labels`` by role."""
        import schemdraw.elements

        self.kit: Any = schemdraw.elements
        self.drawing, self.labels = drawing, labels

    def wire(self, *points: Point) -> None:
        """Join points by straight lines."""
        for start, end in pairwise(points):
            if start != end:
                self.drawing.add(self.kit.Line().at(start).to(end))

    def dot(self, *points: Point) -> None:
        """Mark joints."""
        for point in points:
            self.drawing.add(self.kit.Dot(radius=0.07).at(point))

    def between(self, element: Any, start: Point, end: Point, *, role: str = "", right: bool = False,
                text: str | None = None) -> Any:
        """Draw a two-terminal element with the label of ``role``, or with ``text``.

        The label stands above a horizontal element, left of a vertical one, or right of it.
        """
        shown = clean(text if text is not None else self.labels.get(role, role.replace("-", " ")))
        placed = element.at(start).to(end)
        return self.drawing.add(placed.label(shown, loc="bottom" if right else "top", ofst=0.12))

    def text(self, words: str, at: Point, *, align: str = "center") -> None:
        """Write words."""
        self.drawing.add(self.kit.Label().at(at).label(words, halign=align))

    def box(self, corner: Point, opposite: Point) -> None:
        """A dashed box round what belongs together."""
        self.drawing.add(self.kit.Rect(corner1=corner, corner2=opposite, ls="--", lw=1.1).at((0, 0)).theta(0))


def clean(text: str) -> str:
    """A label that the drawing library takes as plain text."""
    return text.replace("&", "and").replace("<", "‹").replace(">", "›").replace("$", "S")


def _mains_side(pen: Pen) -> None:
    """Terminals, two-pole switch, fuse, and what stands across the mains."""
    kit = pen.kit
    for y, name in ((TOP, "L"), (BOTTOM, "N"), (EARTH, "PE")):
        pen.drawing.add(kit.Dot(open=True, radius=0.1).at((0, y)).label(name, loc="left"))
    pen.between(kit.Switch(), (0.1, TOP), (2.1, TOP), text="")
    pen.between(kit.Switch(), (0.1, BOTTOM), (2.1, BOTTOM), text="")
    pen.drawing.add(kit.Line(ls=":", lw=1.1).at((1.1, TOP - 0.1)).to((1.1, BOTTOM + 0.25)))
    pen.text("S1, both poles", (1.25, -3.5), align="left")
    pen.between(kit.FuseIEC(), (2.1, TOP), (4.3, TOP), role="fuse")
    kinds = (("varistor", kit.ResistorIEC), ("x2-capacitor", kit.Capacitor), ("x2-bleeder", kit.ResistorIEC))
    across = [(role, element) for role, element in kinds if role in pen.labels]
    for n, (role, element) in enumerate(across):
        x = ACROSS + 2.0 * n
        pen.wire((x, TOP), (x, -3.0))
        pen.between(element(), (x, -3.0), (x, BOTTOM), role=role, right=True)
        pen.dot((x, TOP), (x, BOTTOM))
        if role == "varistor":
            pen.wire((x - 0.7, -5.5), (x - 0.4, -5.5), (x + 0.4, -4.5))
    if "thermal-switch" in pen.labels:
        pen.between(kit.Switch(), (4.3, TOP), (6.3, TOP), role="thermal-switch", right=True)
    pen.wire((6.3 if "thermal-switch" in pen.labels else 4.3, TOP), (MOTOR, TOP))
    pen.wire((2.1, BOTTOM), (TRIAC, BOTTOM))


def _motor(pen: Pen) -> None:
    """Field and armature in series, in a frame that is earthed."""
    kit, middle = pen.kit, MOTOR + 2.6
    pen.between(kit.Inductor2(loops=4), (MOTOR, TOP), (middle, TOP), text="field")
    pen.between(kit.Motor(), (middle, TOP), (middle + 2.6, TOP), text="armature")
    pen.wire((middle + 2.6, TOP), (TRIAC, TOP))
    pen.box((MOTOR + 0.2, 1.25), (middle + 2.4, -0.75))
    pen.wire((0.1, EARTH), (middle, EARTH), (middle, 1.25))
    pen.text("motor frame, heatsink, box", (middle + 0.2, EARTH - 0.25), align="left")


def _triac(pen: Pen) -> Point:
    """The triac between motor and neutral with its snubber; gives the place of its gate."""
    kit = pen.kit
    pen.wire((TRIAC, TOP), (TRIAC, -2.6))
    triac = pen.between(kit.Triac().flip(), (TRIAC, -2.6), (TRIAC, -5.0), role="switch", right=True)
    pen.wire((TRIAC, -5.0), (TRIAC, BOTTOM))
    if "snubber-capacitor" in pen.labels:
        pen.wire((TRIAC, TOP), (SNUBBER, TOP))
        pen.wire((TRIAC, BOTTOM), (SNUBBER, BOTTOM))
        pen.between(kit.ResistorIEC(), (SNUBBER, TOP), (SNUBBER, -3.5), role="snubber-resistor", right=True)
        pen.between(kit.Capacitor(), (SNUBBER, -3.5), (SNUBBER, BOTTOM), role="snubber-capacitor", right=True)
        pen.dot((TRIAC, TOP), (TRIAC, BOTTOM))
    gate = triac.absanchors["gate"]
    return (float(gate[0]), float(gate[1]))


def _driver(pen: Pen, gate: Point) -> None:
    """Random-phase optocoupled driver from MT2 to the gate; its light-emitting diode is on the logic side."""
    kit, output, input_, logic, foot = pen.kit, 19.0, 17.2, 15.0, gate[1] + 0.2
    pen.between(kit.ResistorIEC(), (TRIAC, -1.6), (output, -1.6), role="driver-resistor")
    pen.wire((output, -1.6), (output, -2.5))
    pen.between(kit.Diac(), (output, -2.5), (output, foot), text="")
    pen.wire((output, foot), (output, gate[1]), gate)
    pen.between(kit.ResistorIEC(), (GATE, gate[1]), (GATE, BOTTOM), role="gate-resistor")
    pen.dot((TRIAC, -1.6), (GATE, gate[1]), (GATE, BOTTOM))
    pen.between(kit.LED(), (input_, -2.5), (input_, foot), text="")
    pen.drawing.add(kit.Rect(corner1=(16.5, -2.5), corner2=(19.7, foot)).at((0, 0)).theta(0))
    pen.between(kit.ResistorIEC(), (logic, -2.15), (input_, -2.15), role="led-resistor")
    pen.wire((input_, -2.15), (input_, -2.5))
    pen.wire((input_, foot), (input_, -5.0), (logic, -5.0))
    for y, name in ((-2.15, "+"), (-5.0, "−")):
        pen.drawing.add(kit.Dot(open=True, radius=0.1).at((logic, y)).label(name, loc="left"))
    name = pen.labels.get("gate-driver", pen.labels.get("driver", "driver"))
    pen.text(clean(name).replace("\n", " "), (17.65, -2.25))
    pen.text("random phase", (16.25, -5.75))
    pen.box((14.4, -0.95), (18.1, -6.1))
    pen.text("isolated logic side", (14.5, -6.55), align="left")


def _detector(pen: Pen) -> None:
    """Zero-cross detector between line and neutral, its output with pull-up and filter on the logic side."""
    kit, feed, top, out, ground = pen.kit, -11.4, -9.0, -9.4, -12.0
    pen.wire((TAP, TOP), (TAP, feed))
    pen.between(kit.ResistorIEC(), (TAP, feed), (TAP + 2.2, feed), text="")
    pen.between(kit.ResistorIEC(), (TAP + 2.2, feed), (TAP + 4.4, feed), text="")
    pen.text(clean(pen.labels.get("zero-cross-resistor", "")).replace("\n", ": "), (TAP + 2.2, feed + 0.75))
    bridge, diode, right = TAP + 5.2, TAP + 6.9, TAP + 8.9
    pen.wire((TAP + 4.4, feed), (bridge, feed))
    pen.drawing.add(kit.Rect(corner1=(bridge, -11.7), corner2=(bridge + 1.3, top)).at((0, 0)).theta(0))
    pen.text("bridge", (bridge + 0.6, -10.35))
    pen.wire((bridge + 0.6, top), (bridge + 0.6, BOTTOM))
    pen.dot((TAP, TOP), (bridge + 0.6, BOTTOM))
    pen.wire((bridge + 1.3, -9.5), (diode, -9.5))
    pen.between(kit.Diode(), (diode, -9.5), (diode, -11.3), text="")
    pen.wire((diode, -11.3), (bridge + 1.3, -11.3))
    pen.drawing.add(kit.Rect(corner1=(bridge - 0.3, -12.3), corner2=(right, -8.4)).at((0, 0)).theta(0))
    pen.text(clean(pen.labels["zero-cross-detector"]).replace("\n", " "), (bridge + 1.7, -8.8))
    photo = pen.drawing.add(kit.NpnPhoto().at((diode + 0.75, -10.4)).right())
    collector, emitter = ((float(at[0]), float(at[1])) for at in map(photo.absanchors.get, ("collector", "emitter")))
    node, end = right + 1.4, right + 4.4
    pen.wire(collector, (collector[0], out), (node, out))
    pen.between(kit.ResistorIEC(), (node, -7.7), (node, out), role="zero-cross-pull-up", right=True)
    pen.between(kit.ResistorIEC(), (node, out), (end, out), text="")
    pen.text(clean(pen.labels.get("zero-cross-filter-resistor", "")).replace("\n", ": "), (node + 1.6, out - 0.65))
    pen.between(kit.Capacitor(), (end, out), (end, ground), role="zero-cross-filter-capacitor", right=True)
    pen.wire(emitter, (emitter[0], ground), (end + 2.2, ground))
    pen.wire((end, out), (end + 2.2, out))
    pen.dot((node, out), (end, out), (end, ground))
    for at, name, side in (((node, -7.7), "5 V", "left"), ((end + 2.2, out), "logic input", "top"),
                           ((end + 2.2, ground), "0 V", "top")):
        pen.drawing.add(kit.Dot(open=True, radius=0.1).at(at).label(name, loc=side))
    pen.box((diode + 0.65, -7.4), (end + 3.4, -12.55))
    pen.text("isolated logic side", (diode + 0.75, -13.0), align="left")


def _breakover(pen: Pen, gate: Point) -> None:
    """Timing network, breakover device and its resistor to the gate.

    The wiper goes in series and the far end of the track stays open, so that an open wiper or track
    takes the charging current away and the motor stops.
    """
    kit, level, second = pen.kit, gate[1], "timing-resistor-2" in pen.labels
    last = 16.6
    x = last - (2.6 if second else 0.9)
    three = pen.labels.get("network") == "three-wire"
    feed = (MOTOR - 0.5, TOP) if three else (TRIAC, -1.2)
    pen.wire(feed, (feed[0], -1.2), (x, -1.2))
    pen.between(kit.ResistorIEC(), (x, -1.2), (x, -2.6), role="timing-resistor", right=True)
    track = pen.between(kit.PotentiometerIEC(), (x, -2.6), (x, -3.95), role="potentiometer")
    tap = float(track.absanchors["tap"][0]), float(track.absanchors["tap"][1])
    pen.wire(tap, (tap[0], level), (x, level))
    pen.dot(feed, (x, level), (x, BOTTOM))
    first = "timing-capacitor-2" if second else "timing-capacitor"
    pen.between(kit.Capacitor(), (x, level), (x, BOTTOM), role=first, right=True)
    pen.wire((x, level), (x + 0.9, level))
    if second:
        pen.between(kit.ResistorIEC(), (x + 0.9, level), (last, level), role="timing-resistor-2")
        pen.between(kit.Capacitor(), (last, level), (last, BOTTOM), role="timing-capacitor", right=True)
        pen.dot((last, level), (last, BOTTOM))
    pen.between(kit.Diac(), (last, level), (18.8, level), role="breakover-device")
    pen.between(kit.ResistorIEC(), (18.8, level), gate, role="gate-resistor")
