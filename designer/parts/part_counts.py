"""How many parts a circuit takes: counted side by side from parts lists of designs, wires and cords left out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from designer.project.kinds import CircuitKind
from designer.results import Part
from designer.tables import marked, read

#: endings of roles that are conductors, not parts
CONDUCTORS = ("wire", "supply-cord")
PAIRS = ("common-cathode", "one-leg")       # bridges of two thyristors and two diodes


@dataclass(frozen=True, kw_only=True)
class SideCount:
    """Parts of one side of a circuit, on alternating mains and on a direct supply; None where it has no such side."""

    side: str
    on_mains: float
    on_direct: float | None
    source: str
    mark: str


def _row(side: str, bridge: str | None) -> str:
    """The row that counts a side: a bridge of one thyristor behind four diodes has fewer parts than the other two."""
    return "bridge-of-pairs" if side == "bridge" and bridge in PAIRS else side


def part_count(kind: CircuitKind, *, mains: bool, bridge: str | None = None) -> int:
    """Give the number of parts of a circuit, pieces counted; ``KeyError`` of a side that was never counted.

    ``bridge``: which of the three, of a circuit that is one.
    """
    rows = {row.side: row for row in read("part_counts", SideCount)}
    found = [rows[_row(side, bridge)] for side in kind.sides]
    counts = [row.on_mains if mains else row.on_direct for row in found]
    return int(sum(count or 0.0 for count in counts))


def counted(parts: Iterable[Part]) -> int:
    """Give the number of pieces of a parts list in the same way."""
    return sum(part.count for part in parts if not part.role.endswith(CONDUCTORS))


def sources(kind: CircuitKind) -> tuple[str, ...]:
    """Where the counts of a circuit come from, a line a side."""
    rows = {row.side: row for row in read("part_counts", SideCount)}
    return tuple(f"{side}: {marked(rows[side].source, rows[side].mark)}" for side in kind.sides)
