"""The user's own parts (``[parts.*]``) against what a design works out for them: every key, one row a rating."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from designer.equations.snubber import CAPACITOR_RISE
from designer.errors import InputError, InputErrors
from designer.parts.margins import share
from designer.project.device import Heatsink
from designer.project.part_tables import PartKey, PartTable, part_keys, part_tables
from designer.quantities import engineering
from designer.results import Design, Part, Quantity, Rating, Reason
from designer.studies.own_rows import OwnRow, rating_rows, value_row

if TYPE_CHECKING:
    from designer.project.model import Project

_VALUES = ("band", "class")
_FEEDS = "It shapes currents and heat; the design counts with that of a generic class."
_WORKED = "The design works with it, but no rating of this circuit is held against it."
_UNHELD = "This design works out no stress for it, so it is held against nothing."


@dataclass(frozen=True, kw_only=True)
class OwnParts:
    """What is known of the user's parts.

    ``absent``: tables of the file for which this circuit has no part. ``there``: the tables that it could have.
    ``chosen`` is False where no design stands with these parts, and the stresses are those of generic ones.
    """

    rows: tuple[OwnRow, ...]
    absent: tuple[str, ...]
    there: tuple[str, ...]
    chosen: bool = True

    @property
    def failed(self) -> tuple[OwnRow, ...]:
        """The rows that fail."""
        return tuple(row for row in self.rows if row.verdict == "fail")

    def count(self, verdict: str) -> int:
        """How many rows have this verdict."""
        return sum(row.verdict == verdict for row in self.rows)


def given_tables(project: Project) -> tuple[str, ...]:
    """The tables ``[parts.NAME]`` that stand in the file, in its order of the model."""
    return tuple(name for name in type(project.parts).model_fields if getattr(project.parts, name) is not None)


def own_parts(made: Design, project: Project, *, chosen: bool = True) -> OwnParts:
    """Hold the tables of ``project`` against the parts of ``made``.

    ``chosen`` is False where ``made`` is a design without the user's ratings.
    """
    bought = [part for part in made.parts if part.count]
    tables = _tables(bought)
    there = tuple(dict.fromkeys(table.name for table in tables))
    given = given_tables(project)
    rows: list[OwnRow] = []
    for name in (name for name in given if name in there):
        rows += _rows([table for table in tables if table.name == name], bought, project, chosen)
    absent = tuple(name for name in given if name not in there) if bought else ()
    return OwnParts(rows=tuple(rows), absent=absent, there=there, chosen=chosen)


def refuse_absent(held: OwnParts) -> None:
    """Refuse tables whose part this circuit has not: ``InputErrors``, one message that names all of them."""
    if held.absent:
        told = ", ".join(f"[parts.{name}]" for name in held.absent)
        raise InputErrors([InputError(
            f"parts.{held.absent[0]}", f"{told}: a part that this circuit, as designed, has not", ", ".join(held.there),
            "Take the table out, or design the circuit that it belongs to.")])


def _tables(bought: Sequence[Part]) -> tuple[PartTable, ...]:
    """The tables of the parts bought; [parts.switch] and [parts.freewheel] are the field's where it alone chops."""
    roles = {part.role for part in bought}
    alone = "field-switch" in roles and "switch" not in roles
    return tuple(table for table in part_tables()
                 if table.role in roles and (alone or table.kind not in ("switch-field", "diode-field")))


def _rows(tables: Sequence[PartTable], bought: Sequence[Part], project: Project, chosen: bool) -> Iterator[OwnRow]:
    """All rows of one table: its values, its ratings, and the keys that nothing in this design is held against."""
    name = tables[0].name
    own, told = getattr(project.parts, name), set()
    for row in _held_rows(tables, bought, project, chosen):
        told.add(row.key)
        yield row
    part = next(part for part in bought if part.role in [table.role for table in tables])
    for key in (key for table in tables for key in part_keys(table.kind)):
        given, feeds = getattr(own, key.key) is not None, key.sense == "feeds"
        if key.key in told or (given == feeds) or (feeds and key.words != "always"):
            continue
        told.add(key.key)
        costs = _FEEDS if feeds else _WORKED if key.sense == "own" else _UNHELD
        yield OwnRow(table=name, key=key.key, part=part.designator, role=part.role, given=None, verdict="not known",
                     rating=key.key.replace("_", " "), source="", costs=costs)


def _held_rows(
    tables: Sequence[PartTable], bought: Sequence[Part], project: Project, chosen: bool,
) -> Iterator[OwnRow]:
    own = getattr(project.parts, tables[0].name)
    for table in tables:
        parts = [part for part in bought if part.role == table.role]
        yield from _of_values(table, own, parts)
        for part in parts:
            held = _with_rise(part, own=own, bought=bought, project=project)
            for key in part_keys(table.kind):
                if key.sense not in _VALUES:
                    given = _figure(own, key, part if chosen else None)
                    yield from rating_rows(key, own=given, part=held, table=table.name, chosen=chosen)


def _figure(own: Any, key: PartKey, part: Part | None) -> Any:
    """The user's value of a key; of a heatsink given by its dimensions, what they were worked out to."""
    given = getattr(own, key.key, None)
    if given is None and part is not None and part.value is not None and isinstance(own, Heatsink) and own.height:
        return part.value.value
    return given


def _of_values(table: PartTable, own: Any, parts: Sequence[Part]) -> Iterator[OwnRow]:
    """The rows of values; of several parts of one role the one whose value lies nearest."""
    for key in part_keys(table.kind):
        if key.sense in _VALUES and parts:
            value = getattr(own, key.key)
            part = min(parts, key=lambda one: _distance(one, value))
            row = value_row(key, own=value, part=part, table=table.name)
            if row is not None:
                yield row


def _distance(part: Part, value: Any) -> float:
    if part.value is None or not isinstance(value, float) or not (value > 0 and part.value.value > 0):
        return 0.0
    return abs(math.log(value / part.value.value))


def _with_rise(part: Part, *, own: Any, bought: Sequence[Part], project: Project) -> Part:
    """A snubber's capacitor with the rise of its own voltage when the switch turns on at the worst instant."""
    resistor = next((one for one in bought if one.role == part.role.replace("-capacitor", "-resistor")), None)
    if not part.role.endswith("snubber-capacitor") or resistor is None or resistor.value is None:
        return part
    peak = next((rating for rating in resistor.ratings if rating.name == "peak voltage"), None)
    farads = getattr(own, "capacitance", None) or (part.value.value if part.value else 0.0)
    if peak is None or not farads:
        return part
    allowed, source = share("film_rise", project.margins.values)
    rise = float(CAPACITOR_RISE(V_sw=peak.stress.value, R_s=resistor.value.value, C_s=farads))
    rating = Rating(name="rise of its own voltage", limit=Quantity(0.0, "V/s"), stress=Quantity(rise, "V/s"),
                    share=allowed, source=source, at=peak.at)
    return replace(part, ratings=(*part.ratings, rating))


def own_reasons(held: OwnParts) -> tuple[Reason, ...]:
    """Why a design with failing parts of the user's is not ready: those that its own checks do not tell."""
    return tuple(
        Reason(code="own-part", message=f"Your {row.role.replace('-', ' ')} ({row.part}) fails by its {row.rating} "
               f"([parts.{row.table}] {row.key} = {_shown(row)}).",
               figure=row.stress, limit=row.limit or row.given if isinstance(row.given, Quantity) else None,
               way_out=row.remedy)
        for row in held.failed if not _told_by_design(row))


def _told_by_design(row: OwnRow) -> bool:
    """True for the keys of device.py, whose ratings the design checks itself."""
    return any(key.key == row.key and key.sense == "own" for table in part_tables()
               if (table.name, table.role) == (row.table, row.role) for key in part_keys(table.kind))


def _shown(row: OwnRow) -> str:
    given = row.given
    return str(given) if not isinstance(given, Quantity) else engineering(given.value, given.unit)


def with_own_parts(made: Design, project: Project) -> Design:
    """The design with the user's parts held against it; as it was where the file gives none.

    Raises ``InputErrors`` for tables whose part this circuit has not.
    """
    if not given_tables(project):
        return made
    held = own_parts(made, project)
    refuse_absent(held)
    return replace(made, own=held, reasons=(*made.reasons, *own_reasons(held)))
