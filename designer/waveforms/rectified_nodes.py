"""Linkage and line current over one interval, on evenly spaced nodes, all nodes and points at once.

dy/dθ = f of every point by y1 = y0 + w·(f0 + f1)/2 + w²·(f0′ − f1′)/12 from node to node (fourth order, stable at any
width w: Hairer, Nørsett and Wanner, Solving Ordinary Differential Equations, from memory), as in ``track.py``, but
from any first value, with any feed, and with the last node where the caller lays it. Arrays are (node, point).
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from designer.motor.flux import LinkageTable
from designer.results import Array, Indices, Mask

ROUNDS = 60           # of Newton: a bound, not a setting
FEW = 12              # points for which a scan over the nodes is quicker than a step each
TINY = 1e-300


@dataclass(frozen=True, kw_only=True)
class Loop:
    """What takes linkage off, one entry a point: dλ/dθ = feed − ``resistance``·i(λ) − ``speed``·g(λ), each per ω."""

    table: LinkageTable
    resistance: Array
    speed: Array


@dataclass(frozen=True, kw_only=True)
class Nodes:
    """A winding on its way: ``linkage`` (V·s) and its ``rate`` a radian; ``current`` (A), ``odd`` part of k (V·s)."""

    linkage: Array
    rate: Array
    current: Array
    odd: Array
    current_rate: Array
    odd_rate: Array
    decay: Array        # ∫ of the rate (1/rad) at which a small difference in linkage dies away

    def __getitem__(self, chosen: Indices) -> Nodes:
        # the points are the last axis of every array
        return Nodes(**{f.name: getattr(self, f.name)[..., chosen] for f in fields(self)})


def settle(
    loop: Loop, width: Array, feed: tuple[Array, Array], *, first: Array, guess: Array, near: float
) -> Nodes:
    """Solve all nodes of a winding by Newton's method from ``guess``.

    ``width`` between nodes (rad), ``feed`` and its slope at them (V·s/rad and a radian of it), linkage ``first`` at
    the first node. Stops once no node moves by more than ``near`` of the crest in a round: what is left is about the
    square of that.
    """
    half = 0.5 * width
    forced, bend = feed[0] * half, feed[1] * (half * width / 6)
    turns, pulls = half * loop.resistance, half * loop.speed
    linkage, before = guess, np.inf
    for count in range(ROUNDS):
        rows = loop.table.rows_at(linkage)
        push = forced - rows[0] * turns
        push -= rows[1] * pulls
        fall = rows[2] * turns
        fall += rows[3] * pulls
        new = recursion(first, push, fall, bend)
        move = np.abs(new - linkage).max(axis=0) / np.maximum(np.abs(new).max(axis=0), TINY)
        linkage, worst = new, float(move.max(initial=0.0))
        if worst <= near or (count > 1 and worst >= 0.5 * before and worst < 0.01):
            break
        before = worst
    rate = (push - fall * linkage) / half
    return Nodes(
        linkage=linkage, rate=rate, current=rows[0] + rows[2] * linkage, odd=rows[1] + rows[3] * linkage,
        current_rate=rows[2] * rate, odd_rate=rows[3] * rate,
        decay=2 * fall.sum(axis=0) - fall[0] - fall[-1])


def recursion(first: Array, push: Array, fall: Array, bend: Array) -> Array:
    """Give y where f·w/2 = ``push`` − ``fall``·y and f′·w²/12 = ``bend`` − ``fall``·f·w/6."""
    third = fall / 3
    over = third * fall
    over += 1
    keep = over - fall
    over += fall
    third *= push
    third = bend - third
    add = (push + third)[:-1]
    add += (push - third)[1:]
    over = over[1:]
    add /= over
    keep = keep[:-1]
    keep /= over
    if push.shape[1] <= FEW:
        return _scanned(first, keep, add)
    out = np.empty_like(push)
    out[0] = first
    for now, after, factor, term in zip(out, out[1:], keep, add, strict=False):
        np.multiply(now, factor, out=after)
        after += term
    return out


def _scanned(first: Array, keep: Array, add: Array) -> Array:
    """The same for few points: neighbours joined in pairs, then pairs of pairs, without a step a node."""
    shift = 1
    while shift < len(keep):
        add[shift:] += keep[shift:] * add[:-shift]
        keep[shift:] *= keep[:-shift]
        shift *= 2
    add += keep * first
    return np.concatenate((first[None], add))


def follow(width: Array, feed: tuple[Array, Array], pull: Array, *, first: Array) -> tuple[Array, Array]:
    """Give a current and its rate at the nodes where di/dθ = feed − ``pull``·i, ``feed`` and its slope given there."""
    half = 0.5 * width
    fall = np.broadcast_to(half * pull, feed[0].shape)
    current = recursion(first, feed[0] * half, fall, feed[1] * (half * width / 6))
    return current, feed[0] - pull * current


def integral(width: Array, value: Array, ends: tuple[Array, Array]) -> Array:
    """Give ∫ of ``value`` over its nodes; ``ends`` are its slopes at the first and the last (Euler–Maclaurin)."""
    total = value.sum(axis=0) - 0.5 * (value[0] + value[-1])
    return np.asarray(width * total - width * width / 12 * (ends[1] - ends[0]))


def cubic(width: Array, value: Array, rate: Array, left: Indices) -> tuple[Array, ...]:
    """Give the cubic y0 + t(c1 + t(c2 + t·c3)) over the width after node ``left`` of every point."""
    column = np.arange(left.size)
    y0, r0 = value[left, column], width * rate[left, column]
    rise, r1 = value[left + 1, column] - y0, width * rate[left + 1, column]
    return y0, r0, 3 * rise - 2 * r0 - r1, r0 + r1 - 2 * rise


def crest(width: Array, value: Array, rate: Array) -> Array:
    """Give the greatest value between first and last node, by the cubic about the greatest node."""
    top = value.argmax(axis=0)
    column = np.arange(value.shape[1])
    left = np.clip(np.where(rate[top, column] > 0, top, top - 1), 0, len(value) - 2)
    y0, c1, c2, c3 = cubic(width, value, rate, left)
    # the stationary point that is a maximum, in the form that stays exact when c3 is small
    t = np.clip(-c1 / np.minimum(c2 - np.sqrt(np.maximum(c2 * c2 - 3 * c1 * c3, 0.0)), -TINY), 0.0, 1.0)
    return np.asarray(np.maximum(value[top, column], y0 + t * (c1 + t * (c2 + t * c3))))


def doubled(value: Array, width: Array, rate: Array) -> Array:
    """Give values at twice the nodes, between them by the cubic's middle."""
    out = np.empty((2 * len(value) - 1, value.shape[1]))
    out[::2] = value
    out[1::2] = 0.5 * (value[:-1] + value[1:]) + 0.125 * width * (rate[:-1] - rate[1:])
    return out


def first_true(mask: Mask) -> Indices:
    """Give the first node at which the mask is true, the number of nodes where none is."""
    return np.where(mask.any(axis=0), mask.argmax(axis=0), len(mask))
