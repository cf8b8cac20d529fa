"""Data with a source column: standards' limits, preferred numbers, generic part classes, margins.

Each file is CSV (TOML where the data nest); every row ends in ``source`` and ``mark``. A mark is one of
``MARKS`` and is printed on the sheet in the words that ``marked`` gives. Numbers are SI floats (temperatures
in °C) except where a column's name says otherwise (``…_mm``, ``…_mm2``).
"""

from __future__ import annotations

import csv
import math
import tomllib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, TypeVar, get_type_hints

Record = TypeVar("Record")

#: mark in the tables -> words on the sheet
MARKS: Mapping[str, str] = MappingProxyType({
    "seen": "read in a public transcription, not in the standard itself",
    "memory": "from memory",
    "computed": "computed from the source named",
    "practice": "common practice, no source",
})


def marked(source: str, mark: str) -> str:
    """Give source and mark as one text for the sheet; ``KeyError`` on a mark that is none."""
    words = MARKS[mark]
    if mark == "practice":
        return f"{source} ({words})" if source else words
    return f"{source} ({words})"


def read(name: str, record: type[Record]) -> tuple[Record, ...]:
    """Give the rows of ``name``.csv as records, each cell read by the type of the field of that name.

    An empty cell is ``None`` where the field allows it, positive infinity is written ``inf``.
    Raises ``ValueError`` naming file, row and column on a cell that can't be read, and on columns
    that are not the record's fields.
    """
    rows: tuple[Record, ...] = _read(name, record)  # type: ignore[arg-type]  # a class is hashable
    return rows


@cache
def _read(name: str, record: type[Any]) -> tuple[Any, ...]:
    if not is_dataclass(record):
        raise TypeError(f"{record.__name__} is no dataclass")
    text = files(__package__).joinpath(f"{name}.csv").read_text(encoding="utf-8")
    reader = csv.DictReader(text.splitlines())
    wanted = [item.name for item in fields(record)]
    if sorted(reader.fieldnames or ()) != sorted(wanted):
        raise ValueError(f"{name}.csv: columns {reader.fieldnames}, fields {wanted}")
    hints = get_type_hints(record)
    return tuple(
        record(**{key: _cell(row[key], hints[key], f"{name}.csv, row {number}, {key}") for key in wanted})
        for number, row in enumerate(reader, start=1)
    )


def _cell(text: str | None, kind: Any, place: str) -> Any:
    if text is None:
        raise ValueError(f"{place}: missing")
    if text == "" and kind == float | None:
        return None
    if kind is str:
        return text
    try:
        value = float(text)
    except ValueError:
        raise ValueError(f"{place}: {text!r} is no number") from None
    if math.isnan(value):
        raise ValueError(f"{place}: {text!r} is no number")
    return value


@cache
def settings(name: str) -> Mapping[str, Any]:
    """Give the TOML table ``name``.toml, read once."""
    text = files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return MappingProxyType(tomllib.loads(text))
