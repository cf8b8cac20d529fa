"""The wiring of a triac circuit, conductor by conductor, and what hangs on the motor's connections."""

from __future__ import annotations

from collections.abc import Iterator

from designer.project.model import Project
from designer.results import Part, Pin, Wire

_THIN = "0.25 mm² or more, mains insulation"
_LOGIC = "thin wire, apart from every mains wire"


class _Names:
    """Designators by role; a role may have several parts, in order."""

    def __init__(self, parts: tuple[Part, ...]) -> None:
        self._parts = parts

    def of(self, role: str, at: int = 0) -> str:
        """The designator of a part by role; empty where there is none."""
        found = [part.designator for part in self._parts if part.role == role and part.count]
        return found[at] if at < len(found) else ""

    def marked(self, role: str, without: str) -> str:
        """The marking of a part by role."""
        return next((part.marking for part in self._parts if part.role == role), without)


def wiring(parts: tuple[Part, ...], project: Project, *, network: str | None) -> tuple[Wire, ...]:
    """Give every conductor: from, to, what wire, and what to mind.

    ``network`` is the wiring of a breakover network, empty for an optocoupled drive, None where the
    firing could not be had.
    """
    names = _Names(parts)
    rows = [*_power(names, project)]
    if network is not None:
        rows += _network(names, network) if network else [*_driven(names)]
    return tuple(Wire(start=a, end=b, conductor=c, note=d) for a, b, c, d in rows)


_Row = tuple[str, str, str, str]


def _power(names: _Names, project: Project) -> Iterator[_Row]:
    """Plug to motor to triac and back, what stands across the mains, and the earth."""
    q, fuse, wire = names.of("switch") or "Q1", names.of("fuse") or "F1", names.marked("wire", "as the cord")
    power = f"{wire}, mains insulation"
    w = names.of("supply-cord")
    cord = f"supply cord {w}, {names.marked('supply-cord', '')}".strip(", ") if w else "supply cord"
    yield "plug, line", "S1 (both poles), first pole", f"{cord}, brown or black", "S1 opens both poles"
    yield "plug, neutral", "S1, second pole", f"{cord}, blue or white", ""
    yield ("plug, protective earth", "earth screw of the frame", f"{cord}, green-yellow (or green)",
           "first to make, last to break; longer than the others")
    yield "S1, first pole", fuse, power, "the fuse stands in the line where the plug can go in only one way round"
    switch = project.protection.thermal_switch
    if switch is not None and switch.breaks == "mains":
        yield fuse, "thermal switch in the motor", power, "its leads are live"
        yield "thermal switch in the motor", "line rail", power, "with a latching release: it closes when it cools"
    else:
        yield fuse, "line rail", power, ""
    across = ", ".join(filter(None, (names.of(role) for role in ("varistor", "x2-capacitor"))))
    if across:
        yield "line rail", f"{across}, each", power, "their other ends to the neutral rail"
    if names.of("x2-bleeder"):
        yield "line rail", f"{names.of('x2-bleeder')}, in series", _THIN, "the other end to the neutral rail"
    yield "S1, second pole", "neutral rail", power, ""
    yield "line rail", "field, first end", power, ""
    yield "field, second end", "armature, first brush", power, "swap the two field ends to reverse, at standstill only"
    yield "armature, second brush", f"{q}, main terminal 2", power, ""
    yield f"{q}, main terminal 1", "neutral rail", power, ""
    yield ("earth screw of the frame", "motor frame, heatsink, metal box, each",
           f"{wire} or more, green-yellow", "a heatsink that is not earthed counts as live")
    if names.of("snubber-resistor"):
        yield (f"{q}, main terminal 2", f"{names.of('snubber-resistor')}, then {names.of('snubber-capacitor')}", _THIN,
               f"to {q} main terminal 1, leads as short as they go")


def _driven(names: _Names) -> Iterator[_Row]:
    """Optocoupled driver and zero-cross detector, mains side and logic side."""
    q, u, z = names.of("switch") or "Q1", names.of("gate-driver"), names.of("zero-cross-detector")
    yield f"{q}, main terminal 2", f"{names.of('driver-resistor')}, then {u} output", _THIN, f"then to {q} gate"
    yield f"{q}, gate", names.of("gate-resistor"), _THIN, f"its other end to {q} main terminal 1, close to {q}"
    yield ("line rail", f"{names.of('zero-cross-resistor')}, in series, then {z} input", _THIN,
           "the other input terminal to the neutral rail")
    yield ("logic supply, 5 V", f"{names.of('led-resistor')}, then {u} diode, anode", _LOGIC,
           f"{u} diode, cathode, to the logic output that sinks its current")
    yield ("logic supply, 5 V", names.of("zero-cross-pull-up"), _LOGIC,
           f"to {z} output, collector; emitter to logic 0 V")
    yield (f"{z} output, collector", names.of("zero-cross-filter-resistor"), _LOGIC,
           f"to the logic input; {names.of('zero-cross-filter-capacitor')} from that input to logic 0 V")


def _network(names: _Names, network: str) -> list[_Row]:
    """Breakover network with one or two time constants."""
    q = names.of("switch") or "Q1"
    source = "line rail" if network == "three-wire" else f"{q}, main terminal 2"
    base, last = f"{q}, main terminal 1", names.of("timing-capacitor")
    first, second = names.of("timing-capacitor", 1), names.of("timing-resistor", 1)
    node = f"{first or last}, node"
    rows = [(source, f"{names.of('timing-resistor')}, then {names.of('potentiometer')} track, then wiper", _THIN,
             f"the wiper to the {node}; the far end of the track stays open; insulated shaft")]
    if second:
        rows += [(node, first, _THIN, f"its other end to {base}"),
                 (node, second, _THIN, f"to the {last}, node")]
    rows += [(f"{last}, node", last, _THIN, f"its other end to {base}"),
             (f"{last}, node", f"{names.of('breakover-device')}, then {names.of('gate-resistor')}", _THIN,
              f"then to {q} gate")]
    return rows


def pins() -> tuple[Pin, ...]:
    """The motor's connections by name; their pin numbers come from the reader's own readings."""
    return (
        Pin(name="two brushes", role="armature", note="the pair whose resistance moves when the shaft is turned"),
        Pin(name="two field ends", role="field", note="steady, about the file's field resistance; leave a tap open"),
        Pin(name="frame", role="earth", note="protective earth; no winding may lead to it"),
    )
