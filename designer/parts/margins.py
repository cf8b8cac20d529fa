"""How much of a rating may be used: the default shares, and the user's own where they are stricter.

A share of a temperature is a share of its figure in °C (110 °C of 125 °C is 88 %).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from designer.errors import InputError
from designer.results import Rating
from designer.tables import marked, read

#: relative; equal numbers that differ by rounding of the last bits are equal
_EQUAL = 1e-9
#: °C; above this limit of a junction the margin ``junction_temperature_hot`` holds
_HOT = 125.0


@dataclass(frozen=True, kw_only=True)
class Margin:
    """One default: ``value`` in ``unit`` (``"1"`` is a share), ``stricter`` tells which way is allowed."""

    key: str
    value: float
    unit: str
    stricter: str          # "lower" or "higher"
    meaning: str
    source: str
    mark: str


@cache
def margins() -> Mapping[str, Margin]:
    """Give every margin by its key in ``[margins]``."""
    return MappingProxyType({row.key: row for row in read("margins", Margin)})


def laxer(key: str, value: float) -> bool:
    """Tell whether ``value`` asks for less margin than the default; ``KeyError`` on an unknown key."""
    margin = margins()[key]
    return value < margin.value if margin.stricter == "higher" else value > margin.value


def share(key: str, given: Mapping[str, float]) -> tuple[float, str]:
    """Give the margin of ``key`` and its source: the user's own from ``given`` where there is one.

    Raises ``InputError`` for ``margins.<key>`` when the user's is laxer than the default or not
    positive: margins are raised, not lowered.
    """
    margin = margins()[key]
    if key not in given:
        return margin.value, marked(margin.source, margin.mark)
    value = given[key]
    if laxer(key, value) or not value > 0:
        side = "at least" if margin.stricter == "higher" else "above 0 and at most"
        raise InputError(
            f"margins.{key}", _shown(value, margin.unit), f"{side} {_shown(margin.value, margin.unit)}",
            "A margin can be made stricter, not laxer.",
        )
    default = f"{_shown(margin.value, margin.unit)}, {marked(margin.source, margin.mark)}"
    return value, f"your file; default {default}"


def junction_share(limit: float, given: Mapping[str, float]) -> tuple[float, str]:
    """Give the share of a junction's ``limit`` (°C) that a design may use, and its source.

    110 °C of 125 °C, 125 °C of 150 °C (common practice, no source); the user's
    ``junction_temperature`` holds for both where it is the stricter.
    """
    own, source = share("junction_temperature", given)
    if limit <= _HOT:
        return own, source
    hot, hot_source = share("junction_temperature_hot", given)
    return (own, source) if "junction_temperature" in given and own < hot else (hot, hot_source)


def within(stress: float, *, limit: float, allowed: float = 1.0) -> bool:
    """Tell whether ``stress`` stays within the share ``allowed`` of ``limit``; never for what is no number."""
    if math.isnan(stress) or math.isnan(limit):
        return False
    return stress <= allowed * limit + (abs(limit) * _EQUAL if math.isfinite(limit) else 0.0)


def holds(rating: Rating) -> bool:
    """Tell whether a rating's stress stays within the share of its limit."""
    return within(rating.stress.value, limit=rating.limit.value, allowed=rating.share)


def _shown(value: float, unit: str) -> str:
    return f"{value:g} {unit}" if unit != "1" else (f"{100 * value:g} %" if value <= 1 else f"{value:g}")
