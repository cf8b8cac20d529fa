"""Connectors of invented motors for the tests: rows of pin readings, and what hangs on the pins."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from designer.motor.pinout import Pinout, pinout
from designer.project.readings import PinPair, PinTest

OPEN = float("inf")
Row = tuple[str, str, float | Sequence[float]]

#: the scenarios of the users' needs: rows, leads given (ohm), and what they are (source: needs of the users, S1 to S5)
SCENARIOS: Mapping[str, tuple[tuple[Row, ...], float | None, dict[str, set[str]]]] = {
    "S1": ((("1", "2", 172.0), ("3", "4", 1.9), ("5", "6", (2.9, 4.7, 2.6, 3.3)), ("7", "8", 0.3)), 0.2,
           {"tacho": {"1", "2"}, "field": {"3", "4"}, "armature": {"5", "6"}, "thermal-switch": {"7", "8"}}),
    "S2": ((("A1", "A2", (1.6, 2.2, 1.5)), ("F1", "F2", 1.1)), 0.15,
           {"armature": {"A1", "A2"}, "field": {"F1", "F2"}}),
    "S3": ((("A1", "A2", (14.0, 22.0, 11.0)), ("F1", "F2", 7.4)), 0.2,
           {"armature": {"A1", "A2"}, "field": {"F1", "F2"}}),
    "S4": ((("1", "5", 184.0), ("2", "7", 2.1), ("3", "6", (3.4, 2.9, 6.0, 2.8)), ("4", "frame", 0.2)), 0.15,
           {"tacho": {"1", "5"}, "field": {"2", "7"}, "armature": {"3", "6"}, "earth": {"4"}}),
    "S5": ((("1", "2", 68.5), ("3", "4", 1.48), ("4", "5", 1.52), ("3", "5", 2.80), ("6", "7", (2.9, 9.6, 2.4, 2.6)),
            ("8", "9", 0.3), ("10", "frame", OPEN)), None,
           {"tacho": {"1", "2"}, "field": {"3", "5"}, "field-tap": {"4"}, "armature": {"6", "7"},
            "thermal-switch": {"8", "9"}, "unconnected": {"10"}}),
}


def pair(a: str, b: str, value: float | Sequence[float], repeated: Sequence[float] | None = None) -> PinPair:
    """One row: a number at rest, several while the shaft is turned."""
    if isinstance(value, (int, float)):
        return PinPair(pair=(a, b), resistance=float(value))
    return PinPair(pair=(a, b), turning=tuple(value), repeated=None if repeated is None else tuple(repeated))


def read(*rows: Row, lead: float | None = None, others_open: bool = True, capacitor: bool | None = None) -> Pinout:
    """The pinout of some rows."""
    test = PinTest(lead_resistance=lead, others_open=others_open, capacitor=capacitor)
    return pinout(tuple(pair(*row) for row in rows), test)


def scenario(name: str, *, others_open: bool = True) -> Pinout:
    """The pinout of one scenario."""
    rows, lead, _ = SCENARIOS[name]
    return read(*rows, lead=lead, others_open=others_open)


def roles(found: Pinout) -> dict[str, set[str]]:
    """Pins by role."""
    told: dict[str, set[str]] = {}
    for winding in found.windings:
        told.setdefault(winding.role, set()).update(winding.pins)
    return told
