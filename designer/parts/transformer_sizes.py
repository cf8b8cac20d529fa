"""Transformers as sold: the sizes, their regulation and inrush."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from designer.errors import InputError
from designer.tables import read


@dataclass(frozen=True, kw_only=True)
class Size:
    """A transformer as sold: VA, rise of the voltage without load (share), inrush over the rated current's peak."""

    power: float
    regulation: float
    inrush: float
    source: str
    mark: str


@cache
def sizes() -> tuple[Size, ...]:
    """Give the sizes sold, smallest first."""
    return tuple(sorted(read("transformers", Size), key=lambda row: row.power))


def size_for(power: float) -> Size:
    """Give the smallest size of at least ``power`` (VA); ``InputError`` for ``field_supply.power`` where none is."""
    for row in sizes():
        if row.power >= power * (1 - 1e-9):
            return row
    raise InputError("field_supply.power", f"{power:.0f} VA needed", f"up to {sizes()[-1].power:g} VA listed",
                     "Less field current, or a transformer outside this table: give its power and regulation.")


def near(power: float) -> Size:
    """Give the size sold that is not above ``power`` (VA): its regulation is the greater one."""
    return max((row for row in sizes() if row.power <= power * (1 + 1e-9)), key=lambda row: row.power,
               default=sizes()[0])
