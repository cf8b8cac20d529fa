"""Readings from CSV files beside the project file, as rows of ``[[readings]]``."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, get_args

from designer.errors import InputError
from designer.project import source
from designer.project.readings import AnyReading, Reading

_CELL = re.compile(r"\s*([a-z_]+)\s*(?:\[\s*([^\]]*?)\s*\])?\s*")
_NUMBERS = {"uncertainty_percent"}
_FLAGS = {"hold_out", "tap"}
_TEXTS = {"kind", "winding", "supply", "note", "position"}
_MOST_ROWS = 1000
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")

#: kind -> the keys that such a reading takes, and those it needs
_KINDS: Mapping[str, type[AnyReading]] = {
    get_args(model.model_fields["kind"].annotation)[0]: model for model in get_args(get_args(Reading)[0])
}


def add_rows(data: dict[str, Any], folder: Path | None) -> tuple[dict[int, str], list[InputError]]:
    """Append the rows of ``motor.readings_files`` to ``data["readings"]``, each file in order.

    Gives where each appended row comes from ("row 1 of the second file"), by its index, and the faults.
    """
    motor = data.get("motor")
    names = motor.get("readings_files") if isinstance(motor, dict) else None
    if not isinstance(names, list):
        return {}, []
    origins: dict[int, str] = {}
    faults: list[InputError] = []
    rows = data.setdefault("readings", [])
    for position, name in enumerate(names):
        if not isinstance(name, str) or not isinstance(rows, list):
            continue
        try:
            added = _rows(name, folder, f"motor.readings_files[{position}]")
            place = _ORDINALS[position] if position < len(_ORDINALS) else f"number {position + 1}"
            origins |= {len(rows) + i: f"Row {i + 1} of the {place} file, {name}" for i in range(len(added))}
            rows += added
        except InputError as error:
            faults.append(error)
    return origins, faults


def _rows(name: str, folder: Path | None, key: str) -> list[dict[str, Any]]:
    path = Path(name)
    if folder is None or path.is_absolute() or ".." in path.parts:
        raise InputError(key, name, "the name of a file beside the project file")
    text = source.read_text(folder / path)
    first = text.partition("\n")[0]
    delimiter = next((sign for sign in (",", ";", "\t") if sign in first), ",")
    try:
        rows = csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)
        table = [row for row in rows if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise InputError(key, name, "a table of comma-separated values", f"{error}.") from None
    if len(table) < 2 or len(table) > _MOST_ROWS:
        raise InputError(key, name, f"a header and 1 to {_MOST_ROWS} rows")
    heads = [_head(cell, key, name) for cell in table[0]]
    kind = "" if any(head == "kind" for head, _ in heads) else _one_kind(path.stem, {head for head, _ in heads}, key)
    return [_row(cells, heads, kind, f"{key}: row {number}") for number, cells in enumerate(table[1:], start=1)]


def _head(cell: str, key: str, name: str) -> tuple[str, str]:
    """Key and unit of a header cell such as ``armature_voltage [V]``."""
    match = _CELL.fullmatch(cell)
    known = {field for model in _KINDS.values() for field in model.model_fields}
    if match is None or match[1] not in known:
        found, allowed = f"column {cell.strip()!r} of {name}", f"columns {', '.join(sorted(known))}"
        raise InputError(key, found, allowed, "For instance speed [rpm].")
    return match[1], match[2] or ""


def _one_kind(stem: str, heads: set[str], key: str) -> str:
    """The kind of a file without a `kind` column: by its name, else the only one that its columns fit."""
    if stem in _KINDS:
        return stem
    fitting = [
        kind for kind, model in _KINDS.items()
        if heads <= set(model.model_fields)
        and {name for name, field in model.model_fields.items() if field.is_required()} - {"kind"} <= heads
    ]
    if len(fitting) == 1:
        return fitting[0]
    found = f"columns {', '.join(sorted(heads))}"
    raise InputError(key, found, "a first column kind", "The columns do not tell the kind.")


def _row(cells: list[str], heads: list[tuple[str, str]], kind: str, place: str) -> dict[str, Any]:
    if len(cells) != len(heads):
        raise InputError(place, f"{len(cells)} cells", f"{len(heads)} cells, one a column")
    row: dict[str, Any] = {"kind": kind} if kind else {}
    for cell, (name, unit) in zip(cells, heads, strict=True):
        text = cell.strip()
        if text:
            row[name] = _value(text, name, unit)
    return row


def _value(text: str, name: str, unit: str) -> Any:
    if name in _FLAGS:
        return {"true": True, "false": False}.get(text, text)
    if name in _NUMBERS:
        try:
            return float(text)
        except ValueError:
            return text
    return text if name in _TEXTS or not unit else f"{text} {unit}"
