"""What may end a mode of a linear rectified motor, as functions that fall through zero there, and where they do."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from designer.results import Array
from designer.waveforms.rectified import OVERLAP, SOURCE
from designer.waveforms.rectified_pieces import Piece, Valued, falling_root, wide

if TYPE_CHECKING:
    from designer.waveforms.rectified_run import Run

_GRID = (np.arange(1, 21) / 20.0) ** 2      # close at first, where short overlaps end

#: what may end a mode, made for some points of it
Event = Callable[[Piece], Valued]


def first(event: Event, now: Piece, span: Array) -> Array:
    """Where an event falls through zero first within ``span`` (rad from the start); infinite where it does not."""
    x = span[:, None] * _GRID
    below = event(now)(x)[0] <= 0
    found = np.full(len(span), np.inf)
    some = np.flatnonzero(below.any(axis=1))
    if some.size:
        index = np.argmax(below[some], axis=1)
        low = np.where(index > 0, x[some, np.maximum(index - 1, 0)], 0.0)
        found[some] = falling_root(event(now if some.size == len(now) else now[some]), low=low, high=x[some, index])
    return found


def events(one: Run, mode: int) -> list[Event]:
    """What may end a mode, each as a function above zero while it lasts."""
    if mode == OVERLAP:
        return [_difference, _from_rest]
    if mode == SOURCE:
        return [_from_rest] + ([lambda now: _commutes(one, now)] if one.circuit.freewheel else [])
    return [_current, lambda now: _waits(one, now)]


def _current(now: Piece) -> Valued:
    """The motor's current."""
    def function(x: Array) -> tuple[Array, Array]:
        basis = now.basis(x)
        return now.motor.at(basis), now.motor.slope(basis)
    return function


def _from_rest(now: Piece) -> Valued:
    """The source path's current; where it begins at zero, over x: that zero is not its end."""
    initial = now.source.base + now.source.cosine
    rests = initial <= 1e-13 * (np.abs(now.source.base) + np.abs(now.source.cosine))

    def function(x: Array) -> tuple[Array, Array]:
        basis, rest = now.basis(x), wide(rests, x)
        current, slope = now.source.at(basis), now.source.slope(basis)
        over = np.maximum(x, 1e-300)
        return np.where(rest, current / over, current), np.where(rest, (slope - current / over) / over, slope)
    return function


def _difference(now: Piece) -> Valued:
    """The freewheel path's current in overlap; a rounding more, for at commutation it begins at zero."""
    noise = 1e-14 * (np.abs(now.motor.base) + np.abs(now.motor.cosine))

    def function(x: Array) -> tuple[Array, Array]:
        basis = now.basis(x)
        return (np.asarray(now.motor.at(basis) - now.source.at(basis) + wide(noise, x)),
                np.asarray(now.motor.slope(basis) - now.source.slope(basis)))
    return function


def _commutes(one: Run, now: Piece) -> Valued:
    """By how much the terminal voltage exceeds that of the freewheel path."""
    c = one.circuit[now.places]
    reactance = c.omega * c.source_inductance
    total = (c.source_resistance + c.on_slope + c.resistance) / (c.omega * one.inductance[now.places] + reactance)
    part = reactance / (c.omega * one.inductance[now.places] + reactance)
    # without inductance in the source all of the current changes over at once, and the path's slope counts
    resistance = c.source_resistance + c.on_slope - c.freewheel_slope * (reactance == 0)
    level, crest = c.freewheel_threshold - c.on_threshold, now.sign * c.peak

    def function(x: Array) -> tuple[Array, Array]:
        basis, angle = now.basis(x), wide(now.start, x) + x
        volts_slope, slope = wide(crest, x) * np.cos(angle), now.motor.slope(basis)
        turning = wide(part, x) * volts_slope - wide(reactance * total, x) * slope
        return (wide(crest, x) * np.sin(angle) + wide(level, x) - wide(resistance, x) * now.motor.at(basis)
                - wide(reactance, x) * slope, volts_slope - wide(resistance, x) * slope - turning)
    return function


def _waits(one: Run, now: Piece) -> Valued:
    """By how much the freewheel path's voltage still keeps the source's path from conducting."""
    c, fired = one.circuit[now.places], one.fired[now.places]
    shut = ~(one.armed[now.places] | (fired & one.circuit.held))
    crest = np.where(fired, -c.peak, c.peak)
    resistance = c.freewheel_slope - (c.source_resistance + c.on_slope) * (c.source_inductance == 0)
    level = c.on_threshold - c.freewheel_threshold

    def function(x: Array) -> tuple[Array, Array]:
        basis, angle, closed = now.basis(x), wide(now.start, x) + x, wide(shut, x)
        value = wide(level, x) - wide(crest, x) * np.sin(angle) - wide(resistance, x) * now.motor.at(basis)
        slope = -wide(crest, x) * np.cos(angle) - wide(resistance, x) * now.motor.slope(basis)
        return np.where(closed, 1.0, value), np.where(closed, -1.0, slope)
    return function
