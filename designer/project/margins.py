"""The table of margins: its keys, defaults and meanings come from tables/margins.csv."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, create_model

from designer import tables
from designer.project.fields import Measure, Pure, Table
from designer.quantities import shown

_STRICTER = "A margin can be made stricter, not laxer."


class AnyMargins(Table):
    """Stricter than the default only, one key a rating: the share of the rating that may be used."""

    @property
    def values(self) -> dict[str, float]:
        """The margins that the file gives, by key, as ``parts.margins.share`` takes them."""
        return {name: getattr(self, name) for name in type(self).model_fields if getattr(self, name) is not None}


@dataclass(frozen=True, kw_only=True)
class _Row:
    key: str
    value: float
    unit: str
    stricter: str
    meaning: str
    source: str
    mark: str


def _field(row: _Row) -> tuple[Any, Any]:
    """Type and field of one margin: from its default to the stricter side."""
    if row.stricter == "higher":
        marked: Any = Pure(low=row.value, high=1000.0, hint=_STRICTER)
        default = f"{row.value:g}"
    else:
        marked = Measure(row.unit, low=0.001 * row.value, high=row.value, hint=_STRICTER)
        default = shown(row.value, row.unit)
    text = f"{row.meaning[:1].upper()}{row.meaning[1:]}; default {default}, stricter only."
    return Annotated[float, marked] | None, Field(default=None, description=text)


def _margins() -> type[AnyMargins]:
    made: dict[str, Any] = {row.key: _field(row) for row in tables.read("margins", _Row)}
    return create_model("Margins", __base__=AnyMargins, __doc__=AnyMargins.__doc__, **made)


if TYPE_CHECKING:
    Margins = AnyMargins
else:
    Margins = _margins()
