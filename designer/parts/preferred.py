"""Preferred values of IEC 60063, on the side that is asked for.

The caller knows which side is safe: ``at_least`` for a resistor that limits a current, ``at_most`` for
one that must discharge in time.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from functools import cache

from designer.errors import InputError
from designer.quantities import iec60062
from designer.tables import settings

#: a value this close (relative) to a preferred one counts as that one; far below any tolerance
_SAME = 1e-9


@cache
def series_values(series: str) -> tuple[int, ...]:
    """Give one decade of a series (``"E3"`` … ``"E192"``) as integers of two or three figures.

    Raises ``ValueError`` on a name that is none. Source: IEC 60063.
    """
    table = settings("preferred")
    if series in table["series"]:
        return tuple(table["series"][series])
    if series not in table["fine"]["numbers"]:
        known = ", ".join([*table["series"], *table["fine"]["numbers"]])
        raise ValueError(f"{series} is no series of IEC 60063; there are {known}")
    count = table["fine"]["numbers"][series]
    wrong, right = table["fine"]["exception"]["computed"], table["fine"]["exception"]["standard"]
    decade = (round(100 * 10 ** (k / count)) for k in range(count))
    return tuple(right if value == wrong else value for value in decade)


def at_least(value: float, series: str = "E12") -> float:
    """Give the smallest preferred value not below ``value`` (positive, any unit)."""
    return _around(value, series)[1]


def at_most(value: float, series: str = "E12") -> float:
    """Give the largest preferred value not above ``value`` (positive, any unit)."""
    return _around(value, series)[0]


def nearest(value: float, series: str = "E12") -> float:
    """Give the preferred value with the least relative error to ``value``; the lower one of a tie.

    For values that nothing safe hangs on; where a limit binds use ``at_least`` or ``at_most``.
    """
    low, high = _around(value, series)
    return low if value / low <= high / value else high


def _around(value: float, series: str) -> tuple[float, float]:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"a preferred value needs a positive number, not {value!r}")
    decade = series_values(series)
    figures = len(str(decade[0])) - 1
    exponent = math.floor(math.log10(value)) - figures
    powers = (exponent - 1, exponent, exponent + 1)
    near = [float(f"{number}e{power}") for power in powers for number in decade]
    return near[bisect_right(near, value * (1 + _SAME)) - 1], near[bisect_left(near, value * (1 - _SAME))]


def tolerance(series: str) -> float:
    """Give the tolerance usually sold with a series, as a share (E12: 0.10)."""
    share: float = settings("preferred")["tolerance"][series]
    return share


def fuse_ratings() -> tuple[float, ...]:
    """Give the preferred rated currents of miniature fuses, A (R10 rounded as IEC 60127-2 does)."""
    return tuple(settings("preferred")["fuse"]["ratings"])


def fuse_rating_at_least(current: float, *, key: str = "parts.fuse.rating") -> float:
    """Give the smallest preferred fuse rating, A, not below ``current``.

    Raises ``InputError`` for ``key`` above the largest miniature fuse (10 A).
    """
    ratings = fuse_ratings()
    index = bisect_left(ratings, current * (1 - _SAME))
    if index == len(ratings):
        raise InputError(
            key, f"{current:.3g} A needed", f"up to {ratings[-1]:g} A",
            "No miniature fuse carries this current; lower the load, or use a fuse of another construction.",
        )
    return ratings[index]


def marking(value: float, unit: str) -> str:
    """Write a resistance (``unit="ohm"``) or capacitance (``"F"``) as marked on it: ``"4k7"`` (IEC 60062)."""
    return iec60062(value, unit)
