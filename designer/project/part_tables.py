"""The tables of parts at hand beside those of device.py: made from tables/part_tables.csv and part_keys.csv.

A row of part_keys.csv says what a key is held against: ``rating`` by name (a closing * for any ending), or
``"value"`` for the part's own value. ``sense``: ``limit`` (the key is the limit of that rating), ``scaled``
(likewise, in the proportion of the design's own value), ``stress`` (the key is what the rating limits),
``band`` (a value between ``least`` and ``most`` times the one worked out), ``class`` (one of ``words``; those
after the stroke fail), ``own`` (a key of device.py: the design works with it, and so do its ratings; ``words`` says
``direct`` where the key as it stands is the limit), ``feeds`` (likewise, but it only shapes waveforms and heat;
``words`` says ``always`` where every such part has the figure).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import ConfigDict, Field, create_model

from designer import tables
from designer.project import device
from designer.project.fields import Measure, Table


@dataclass(frozen=True, kw_only=True)
class PartTable:
    """One table ``[parts.NAME]`` and a role of the parts list that it stands for."""

    name: str
    role: str
    kind: str
    meaning: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class PartKey:
    """One key of a kind of part, and one rating that it is held against; ``lowest`` and ``highest`` are accepted."""

    kind: str
    key: str
    unit: str
    lowest: float | None
    highest: float | None
    sense: str
    rating: str
    least: float | None
    most: float | None
    words: str
    meaning: str
    source: str
    mark: str

    def meets(self, rating: str) -> bool:
        """True for the name of a rating that this key is held against."""
        return rating.startswith(self.rating[:-1]) if self.rating.endswith("*") else rating == self.rating


@cache
def part_tables() -> tuple[PartTable, ...]:
    """Every table and role, in the order of the file."""
    return tables.read("part_tables", PartTable)


@cache
def part_keys(kind: str) -> tuple[PartKey, ...]:
    """The keys of a kind, one row a rating."""
    return tuple(row for row in tables.read("part_keys", PartKey) if row.kind == kind)


def _field(row: PartKey) -> tuple[Any, Any]:
    """Type and field of one key."""
    if row.sense == "class":
        words = tuple(row.words.replace("/", "|").split("|"))
        return Literal[words] | None, Field(default=None, description=row.meaning)
    unit = Measure(row.unit, low=row.lowest or 0.0, high=math.inf if row.highest is None else row.highest)
    return Annotated[float, unit] | None, Field(default=None, description=row.meaning)


class _Own(Table):
    """A table made from data, whose keys have their meaning there: no source to look for docstrings in."""

    model_config = ConfigDict(use_attribute_docstrings=False)


class _Given(device.Parts):
    """The tables of device.py, to be added to from data."""

    model_config = ConfigDict(use_attribute_docstrings=False)


@cache
def _model(kind: str) -> type[Table]:
    """The model of a kind of part out of its keys; tables of one kind share it."""
    keys: dict[str, Any] = {}
    for row in part_keys(kind):
        keys.setdefault(row.key, _field(row))
    title = "".join(word.capitalize() for word in kind.split("-"))
    doc = f"Datasheet figures of a part at hand, of the kind {kind.replace('-', ' ')}."
    return create_model(f"Own{title}", __base__=_Own, __doc__=doc, **keys)


def _parts() -> type[device.Parts]:
    """``[parts]`` with every table: those of device.py, and the rest."""
    made: dict[str, Any] = {}
    for table in part_tables():
        if table.name not in device.Parts.model_fields:
            made.setdefault(table.name, (_model(table.kind) | None, Field(default=None, description=table.meaning)))
    return create_model("Parts", __base__=_Given, __doc__=device.Parts.__doc__, **made)


if TYPE_CHECKING:
    Parts = device.Parts
else:
    Parts = _parts()
