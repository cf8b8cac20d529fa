"""Integrals, extremes and harmonics of one period of a rectified motor, from the closed forms of its modes.

The currents of a mode are sums of a constant, a sine and decaying exponentials; Gauss's rule on panels that widen
eightfold from the mode's start gives their integrals to rounding, whatever the rates.
"""

from __future__ import annotations

import numpy as np

from designer.results import Array
from designer.waveforms.rectified import OFF, OVERLAP, SOURCE, Rectified
from designer.waveforms.rectified_pieces import Piece, Valued, falling_root, wide

_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_EDGES = np.array((0.0, 1 / 512, 1 / 64, 1 / 8, 0.5, 1.0))
_LOOKS = np.linspace(0.0, 1.0, 17)


def _panels() -> tuple[Array, Array]:
    """Nodes and weights of the rule on 0 to 1."""
    width = np.diff(_EDGES)[:, None]
    nodes = _EDGES[:-1, None] + width * (_POINTS + 1) / 2
    return nodes.ravel(), (width * _WEIGHTS / 2).ravel()


NODES, WEIGHTS = _panels()
NAMES = ("charge", "square", "source_charge", "source_square", "drawn", "freewheel_charge", "freewheel_square")


def sums(circuit: Rectified, pieces: list[Piece], count: int) -> dict[str, Array]:
    """Give the integrals over one full period of the source, and the extremes, by the names of ``Rectification``."""
    total = {name: np.zeros(count) for name in NAMES}
    crest, source_crest, freewheel_crest = np.zeros(count), np.zeros(count), np.zeros(count)
    least = np.full(count, np.inf)
    for part in pieces:
        at = part.places
        if part.mode == OFF:
            some = at[part.length > 0]
            least[some] = 0.0
            continue
        x = part.length[:, None] * NODES
        basis = part.basis(x)
        motor, source = part.motor.at(basis), part.source.at(basis)
        weights = circuit.pulses * part.length[:, None] * WEIGHTS
        volts = (part.sign * circuit.peak[at])[:, None] * np.sin(part.start[:, None] + x)
        other = np.zeros_like(motor) if part.mode == SOURCE else motor - source
        for name, values in zip(NAMES, (motor, motor**2, source, source**2, source * volts, other, other**2),
                                strict=True):
            np.add.at(total[name], at, (values * weights).sum(axis=1))
        low, high = extremes(part, part.length)
        np.maximum.at(crest, at, high)
        np.minimum.at(least, at, low)
        if part.mode == SOURCE:
            np.maximum.at(source_crest, at, high)
        else:
            _overlap_crests(part, source_crest, freewheel_crest)
    nothing = ~np.isfinite(least)
    least[nothing] = 0.0
    return total | {"crest": crest, "least": np.maximum(least, 0.0), "source_crest": source_crest,
                    "freewheel_crest": freewheel_crest}


def _overlap_crests(part: Piece, source_crest: Array, freewheel_crest: Array) -> None:
    """Crests of source and freewheel current where the latter flows: seen on the nodes and at both ends."""
    x = part.length[:, None] * np.concatenate(((0.0,), NODES, (1.0,)))
    basis = part.basis(x)
    source = part.source.at(basis)
    other = part.motor.at(basis) - source
    np.maximum.at(freewheel_crest, part.places, other.max(axis=1))
    if part.mode == OVERLAP:
        np.maximum.at(source_crest, part.places, source.max(axis=1))


def extremes(part: Piece, length: Array) -> tuple[Array, Array]:
    """Least and greatest motor current of a mode, A: at its ends or where the slope turns."""
    x = length[:, None] * _LOOKS
    basis = part.basis(x)
    current, slope = part.motor.at(basis), part.motor.slope(basis)
    low, high = current.min(axis=1), current.max(axis=1)
    for sign in (1.0, -1.0):
        turns = (sign * slope[:, :-1] > 0) & (sign * slope[:, 1:] <= 0)
        some = np.flatnonzero(turns.any(axis=1))
        if not some.size:
            continue
        index, rows = np.argmax(turns[some], axis=1), x[some]
        chosen, each = part[some], np.arange(some.size)
        where = falling_root(_slope(chosen, sign), low=rows[each, index], high=rows[each, index + 1])
        value = chosen.motor.at(chosen.basis(where))
        high[some], low[some] = np.maximum(high[some], value), np.minimum(low[some], value)
    return low, high


def _slope(part: Piece, sign: float) -> Valued:
    """The motor current's slope with a sign, and its own slope."""
    def function(x: Array) -> tuple[Array, Array]:
        basis = part.basis(x)
        course = part.motor
        second = -wide(course.cosine, x) * basis.cosine - wide(course.sine, x) * basis.sine
        for rate, kappa, grown in zip(course.rates, basis.kappas, basis.grown, strict=True):
            second = second - wide(rate * kappa, x) * (1 - wide(kappa, x) * grown)
        return sign * course.slope(basis), np.asarray(sign * second)
    return function
