"""Wiring rows that all rectifiers on phase angle share: motor, snubbers, drivers, detector."""

from __future__ import annotations

from collections.abc import Iterator

from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.studies.armature_leads import contactor_row, fed, first_brush, second_brush, swap
from designer.studies.phase_cut import LOGIC
from designer.studies.sides import Names, Row
from designer.studies.sides.mains import THIN


def each(names: Names, role: str) -> tuple[str, ...]:
    """The designators of all parts of a role, one by one."""
    return tuple(name for name in names.of(role).split(", ") if name)


def power_wire(names: Names) -> str:
    """The wire of the line's current."""
    return f"{names.marked('wire', 'as the cord')}, mains insulation"


def choke_row(names: Names) -> Iterator[Row]:
    """What keeps the capacitor across the mains from emptying into a thyristor while a diode still free-wheels."""
    choke = names.of("turn-on-choke")
    if choke:
        across = names.of("x2-capacitor")
        yield (f"line rail, at {across}" if across else "line rail", f"{choke}, one end", power_wire(names),
               "the thyristor takes over from a diode that still conducts: without the choke the capacitor empties "
               "into both at each firing, and only its leads limit the rise of current")
        yield f"{choke}, other end", "line rail of the rectifier", power_wire(names), "no capacitor from here on"


def motor_rows(names: Names, project: Project, *, plus: str, minus: str) -> Iterator[Row]:
    """The motor between two points, its freewheel diode across it."""
    thick = f"{names.of('motor-wire')} {names.marked('motor-wire', 'for the motor current')}, mains insulation".strip()
    kind = project.circuit.kind
    if kind is not None and CIRCUIT_KINDS[kind].winding == "series":
        yield plus, "field, first end", thick, ""
        yield "field, second end", first_brush(names), thick, swap(names, "the two field ends")
    else:
        yield from contactor_row(names, plus, thick)
        plus = fed(names, plus)
        yield plus, first_brush(names), thick, swap(names, "the brushes' leads")
    yield second_brush(names), minus, thick, "as a pair with the lead before"
    diode = names.of("flyback-diode")
    if diode:
        yield f"{diode}, cathode", plus, thick, "the polarity decides: reversed, it shorts the line"
        yield f"{diode}, anode", minus, thick, ""


def snubber_rows(names: Names) -> Iterator[Row]:
    """A snubber across each thyristor."""
    for q, r, c in zip(each(names, "switch"), each(names, "snubber-resistor"), each(names, "snubber-capacitor"),
                       strict=False):
        yield f"{q}, anode", f"{r}, then {c}", THIN, f"to {q} cathode, leads as short as they go"


def driver_rows(names: Names, *, detects: bool = True) -> Iterator[Row]:
    """A driver for each thyristor, and the zero-cross detector where ``detects``."""
    switches = each(names, "switch")
    resistors = each(names, "driver-resistor")
    per = max(len(resistors) // max(len(switches), 1), 1)
    drivers, gates, diodes = (each(names, role) for role in ("gate-driver", "gate-resistor", "gate-diode"))
    leds = each(names, "led-resistor")
    for n, q in enumerate(switches):
        own = ", ".join(resistors[n * per:(n + 1) * per])
        u, diode = _at(drivers, n), _at(diodes, n)
        yield f"{q}, anode", f"{own}, then {u} output, then {diode}", THIN, f"cathode of {diode} to {q} gate"
        yield f"{q}, gate", _at(gates, n), THIN, f"its other end to {q} cathode, close to {q}"
        yield ("logic supply, 5 V", f"{_at(leds, n)}, then {u} diode, anode", LOGIC,
               f"{u} diode, cathode, to the logic output that sinks its current")
    if detects:
        yield from detector_rows(names)


def _at(found: tuple[str, ...], n: int) -> str:
    return found[n] if n < len(found) else ""


def detector_rows(names: Names) -> Iterator[Row]:
    """The zero-cross detector, from line to logic."""
    z = names.of("zero-cross-detector")
    yield ("line rail", f"{names.of('zero-cross-resistor')}, in series, then {z} input", THIN,
           "the other input terminal to the neutral rail")
    yield ("logic supply, 5 V", names.of("zero-cross-pull-up"), LOGIC,
           f"to {z} output, collector; emitter to logic 0 V")
    yield (f"{z} output, collector", names.of("zero-cross-filter-resistor"), LOGIC,
           f"to the logic input; {names.of('zero-cross-filter-capacitor')} from that input to logic 0 V")
