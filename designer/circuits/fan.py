"""Roots of many points at once by trying many values of each at once.

A closed form costs little more for a hundred points than for one, so a search is quicker with few, broad rounds:
each tries a whole fan of values between the ends of every bracket, dense about where a straight line puts the root.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from designer.results import Array, Indices

Excess = Callable[[Array, Indices], Array]
#: of the bracket: how far the values of a fan lie from its middle
SPREAD = np.array([-0.125, -0.015625, -0.001, 0.001, 0.015625, 0.125])
MOST_ROUNDS = 60


def tried(excess: Excess, values: Array) -> Array:
    """Give ``excess`` at every value, a row a point: all in one go."""
    count, width = values.shape
    found = excess(values.ravel(), np.repeat(np.arange(count), width))
    return np.asarray(found).reshape(count, width)


def fan_root(excess: Excess, ends: Array, at_ends: Array, *, tolerance: Array) -> Array:
    """Give where ``excess`` (of a value and the indices of points) turns its sign, to ``tolerance`` a point.

    ``ends``: a row a point, the bracket in rising order; ``at_ends``: the excess there, of opposite signs.
    """
    ends, at_ends = ends.copy(), at_ends.copy()
    todo = np.arange(len(ends))
    for _ in range(MOST_ROUNDS):
        wide = np.diff(ends[todo])[:, 0] > tolerance[todo]
        todo = todo[wide]
        if not todo.size:
            break
        low, high = ends[todo].T
        middle = _straight(ends[todo], at_ends[todo])
        near = 0.45 * tolerance[todo, None] * np.array([-1.0, 1.0])
        values = middle[:, None] + np.concatenate((SPREAD * (high - low)[:, None], near), axis=1)
        values = np.sort(np.clip(values, low[:, None], high[:, None]), axis=1)
        left = np.asarray(excess(values.ravel(), np.repeat(todo, values.shape[1]))).reshape(values.shape)
        ends[todo], at_ends[todo] = turned(
            np.concatenate((low[:, None], values, high[:, None]), axis=1),
            np.concatenate((at_ends[todo, :1], left, at_ends[todo, 1:]), axis=1))
    return _straight(ends, at_ends)


def turned(values: Array, left: Array) -> tuple[Array, Array]:
    """The last two neighbours between which the excess ``left`` leaves the sign of the first value, a row a point."""
    same = (left > 0) == (left[:, :1] > 0)
    rows, last = np.arange(len(values)), same.shape[1] - 1 - np.argmax(same[:, ::-1], axis=1)
    last = np.minimum(last, same.shape[1] - 2)
    pair = np.stack((last, last + 1), axis=1)
    return values[rows[:, None], pair], left[rows[:, None], pair]


def _straight(ends: Array, at_ends: Array) -> Array:
    """Where a straight line between the ends crosses zero."""
    low, high = ends.T
    first, last = at_ends.T
    share = np.divide(first, first - last, out=np.full_like(low, 0.5), where=first != last)
    return np.asarray(low + (high - low) * np.clip(share, 0.0, 1.0))
