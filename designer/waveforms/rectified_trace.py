"""One full period of a linear rectified motor as curves, and the harmonics of its line current."""

from __future__ import annotations

import numpy as np

from designer.results import Array
from designer.waveforms.rectified import Command, Rectified, Wave
from designer.waveforms.rectified_linear import solve
from designer.waveforms.rectified_pieces import Piece

ORDERS = 40
LEAST = 720            # points over the period, about
EACH = 64              # at least, of every mode
_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(16)
#: narrow where fast rates die out, then even: no panel turns the highest order by more than its points can follow
_EDGES = np.concatenate(((0.0, 1 / 512, 1 / 64), np.linspace(1 / 16, 1.0, 15)))


def trace(circuit: Rectified, inductance: Array, command: Command) -> Wave:
    """Give the first point's period; every switching instant stands twice, a rounding apart."""
    first = np.array([0])
    period = solve(circuit[first], inductance[first], command[first]).period
    rows = [row for part in period.pieces if part.length[0] > 0 for row in _laid(part, circuit, copy=1)]
    if circuit.pulses == 2:
        rows += [row for part in period.pieces if part.length[0] > 0 for row in _laid(part, circuit, copy=-1)]
    rows.sort(key=lambda row: float(row[0, 0]))
    angle, mode, current, slope, line, line_slope, pulse = np.concatenate(rows, axis=1)
    return Wave(angle=apart(angle), mode=mode, current=current, slope=slope, line=line, line_slope=line_slope,
                pulse=pulse)


def _laid(part: Piece, circuit: Rectified, *, copy: int) -> list[Array]:
    """The first point's rows of a mode, cut where the period ends; ``copy`` −1: those of a bridge's other pulse."""
    start = float(part.start[0]) + (np.pi if copy < 0 else 0.0)
    end, turn, omega = start + float(part.length[0]), 2 * np.pi, circuit.omega[0]
    blocks = []
    for low in (0.0, turn, 2 * turn):
        a, b = max(start, low), min(end, low + turn)
        if b <= a:
            continue
        theta = np.linspace(a, b, max(EACH, 2 + int(np.ceil((b - a) / turn * LEAST))))
        basis = part.basis((theta - start)[None, :])
        sign = copy * part.sign[0]
        rows = (theta - low, np.full_like(theta, part.mode), np.maximum(part.motor.at(basis)[0], 0.0),
                part.motor.slope(basis)[0] * omega, sign * np.maximum(part.source.at(basis)[0], 0.0),
                sign * part.source.slope(basis)[0] * omega, np.full_like(theta, sign))
        blocks.append(np.array(rows))
    return blocks


def apart(angle: Array) -> Array:
    """Angles that never fall and never stand still: of two that are the same the first is a rounding earlier."""
    told = angle.copy()
    told[0], told[-1] = 0.0, 2 * np.pi      # of which rounding may leave a trifle
    for k in range(len(told) - 2, -1, -1):
        if told[k] >= told[k + 1]:
            told[k] = np.nextafter(told[k + 1], -np.inf)
    told = np.maximum(told, 0.0)
    for k in range(1, len(told)):
        if told[k] > told[k - 1]:
            break
        told[k] = np.nextafter(told[k - 1], np.inf)
    return told


def spectrum(circuit: Rectified, inductance: Array, command: Command) -> Array:
    """Give the complex amplitudes of the line current, A, orders 0 to 40 (columns), a row a point.

    The current is the mean (order 0, real) and the sum of Re(c_n·exp(−j·n·θ)).
    """
    orders = np.arange(ORDERS + 1)
    nodes = (_EDGES[:-1, None] + np.diff(_EDGES)[:, None] * (_POINTS + 1) / 2).ravel()
    weights = (np.diff(_EDGES)[:, None] * _WEIGHTS / 2).ravel()
    total = np.zeros((len(circuit), ORDERS + 1), complex)
    for part in solve(circuit, inductance, command).period.pieces:
        flows = np.flatnonzero((part.length > 0) & (np.abs(part.source.base) + np.abs(part.source.cosine)
                                                    + np.abs(part.source.rates[0]) > 0))
        if not flows.size:
            continue
        some = part[flows]
        x = some.length[:, None] * nodes
        current = some.source.at(some.basis(x)) * (some.sign[:, None] * some.length[:, None] * weights)
        turning = np.exp(1j * (some.start[:, None] + x))
        power = np.ones_like(turning)
        for n in orders:
            total[some.places, n] += (current * power).sum(axis=1)
            power = power * turning
    if circuit.pulses == 2:
        total *= 1 - (-1.0) ** orders
    total /= np.pi
    total[:, 0] = total[:, 0].real / 2
    return total
