"""The tables of a design's own as the sheet prints them: a row a choice, the one taken marked."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from designer.results import Design, Quantity, Table
from designer.sheet.headline import written
from designer.sheet.text import show


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One table as printed: its place on the page, its heads, its rows, and which row was taken."""

    id: str
    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    chosen: int | None
    note: str


def choices(design: Design, frequency: Quantity | None) -> tuple[Choice, ...]:
    """Every table of the design that has a row."""
    return printed(design.tables, frequency)


def printed(tables: tuple[Table, ...], frequency: Quantity | None) -> tuple[Choice, ...]:
    """Every table that has a row, as printed."""
    return tuple(_choice(n, table, frequency) for n, table in enumerate(tables, 1) if table.rows)


def _choice(n: int, table: Table, frequency: Quantity | None) -> Choice:
    rows = tuple(tuple(_cell(cell, frequency) for cell in row) for row in table.rows)
    name = re.sub(r"[^a-z0-9]+", "-", table.name.lower()).strip("-")
    return Choice(id=f"table-{n}-{name}".rstrip("-"), title=table.title, heads=table.columns, rows=rows,
                  chosen=table.chosen, note=table.note)


def _cell(cell: Quantity | str, frequency: Quantity | None) -> str:
    if isinstance(cell, str):
        return cell
    if math.isnan(cell.value):
        return "—"
    counted = cell.unit == "1" and abs(cell.value) > 1      # a count, not a share
    return show(cell) if counted else written("", cell, frequency)
