"""The cautions of the page of readings: what bites while an unknown motor is measured on the bench."""

from __future__ import annotations

from collections.abc import Iterator

from designer.sheet.cautions import Filled

HAZARD = "DANGER: a motor on the bench. Clamped, guarded, isolated, current-limited; field on first, off last."


def cautions(unloaded: str, speed: str) -> tuple[Filled, ...]:
    """The cautions before any reading, with the largest safe voltage ``unloaded`` and its ``speed`` in words."""
    return tuple(Filled(code=code, heading=heading, lines=tuple(lines)) for code, heading, lines in
                 _told(unloaded, speed))


def _told(unloaded: str, speed: str) -> Iterator[tuple[str, str, list[str]]]:
    yield "runaway", "It runs away without load", [
        f"Both windings in series, without load: at most {unloaded} d.c., where it may reach {speed}. A series motor "
        "passes its limit at a fraction of its rated voltage.",
        "Fed apart, less field is faster, and a lost field is a runaway: field on first, off last, and no thermal "
        "switch in its path.",
        "Motor clamped, shaft bare, guard shut, eye protection, nothing loose, a switch in reach that takes all off.",
    ]
    yield "supplies", "Isolated, current-limited supplies only", [
        "Two bench supplies with current limits for direct current; an isolating transformer for alternating current. "
        "A variable autotransformer does not isolate, and a residual-current device does nothing behind isolation.",
        "Two supplies in series: their outputs add, and above 60 V d.c. they are as dangerous as mains.",
        "Earth the frame. Insulation is tested with 500 V before anything else.",
    ]
    yield "rest", "Current at rest burns", [
        "With the rotor held, brushes and bars that touch carry all of the current: three seconds at a time.",
        "A field that is pulled off under current bites: switch off, wait, then pull.",
    ]
    yield "alone", "Nobody works alone", [
        "Brushes spark: no solvents, dust or gas. Windings smell before they burn: stop.",
        "Keep hands off until it stands. The run-down takes seconds.",
    ]
    yield "not-for", "Not for", ["Lifting. Riding on, or moving people. Explosive or wet places. Running unattended."]
