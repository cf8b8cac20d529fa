"""The wiring of a circuit, conductor by conductor, and what hangs on the motor's connections."""

from __future__ import annotations

from collections.abc import Mapping

from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.results import Part, Pin, Wire
from designer.studies.sides import Names, side


def wiring(
    kind: CircuitKind, parts: tuple[Part, ...], project: Project, texts: Mapping[str, str]
) -> tuple[Wire, ...]:
    """Give every conductor, side by side in the order of the current: from, to, what wire, and what to mind."""
    names = Names(parts=parts)
    rows = (row for name in kind.sides for row in side(name).wires(names, project, texts))
    return tuple(Wire(start=a, end=b, conductor=c, note=d) for a, b, c, d in rows)


def pins(kind: CircuitKind) -> tuple[Pin, ...]:
    """The motor's connections by name; their pin numbers come from the reader's own readings."""
    return (
        Pin(name="two brushes", role="armature", note="the pair whose resistance moves when the shaft is turned"),
        Pin(name="two field ends", role="field", note="steady, about the file's field resistance; leave a tap open"),
        Pin(name="frame", role="earth", note="protective earth; no winding may lead to it"),
    )
