"""The two leads of an armature as every circuit wires them: over its contactor and its changeover where they are."""

from __future__ import annotations

from collections.abc import Iterator

from designer.studies.sides import Names, Row

FIRST, SECOND = "armature, first brush", "armature, second brush"


def first_brush(names: Names) -> str:
    """Where the lead for the armature's first brush ends: at the changeover where there is one."""
    contact = names.of("reversing-contact")
    return f"{contact}, pole 1, common" if contact else FIRST


def second_brush(names: Names) -> str:
    """Where the lead for the armature's second brush ends."""
    contact = names.of("reversing-contact")
    return f"{contact}, pole 2, common" if contact else SECOND


def fed(names: Names, start: str) -> str:
    """What feeds the motor's side of the armature's contactor: its outgoing end, or ``start`` where there is none."""
    contact = names.of("armature-contactor")
    return f"{contact}, out" if contact else start


def contactor_row(names: Names, start: str, wire: str) -> Iterator[Row]:
    """The lead into the armature's contactor, where there is one."""
    contact = names.of("armature-contactor")
    if contact:
        yield (start, f"{contact}, in", wire, "watch the polarity marked on it; the main contacts only, its coil and "
               "auxiliary contacts have their own rows")


def swap(names: Names, what: str) -> str:
    """How to reverse by hand; nothing where a changeover does it."""
    return "" if names.of("reversing-contact") else f"swap {what} to reverse, at standstill only"
