"""What one pulse of a bridge's line current adds up to: integrals, extremes and Fourier coefficients.

Integrals come from nodes, enough of them for the ringing; where a decay is too quick for nodes they come from
closed forms: the Fourier integral from the pulse's ends, and with it ∫i² from the balance of energy.
"""

from __future__ import annotations

import numpy as np

from designer.results import Array
from designer.waveforms.charging import Stretch
from designer.waveforms.reservoir import spread

POINTS, WEIGHTS = (0.5 * (values + shift) for values, shift in zip(
    np.polynomial.legendre.leggauss(32), (1.0, 0.0), strict=True))
SMOOTH = 10.0      # rate × length, rad, up to which one set of nodes integrates i² to rounding
POLISH = 6         # steps of Newton's method from the best node to an extreme


def area(one: Stretch) -> Array:
    """Give ∫w dθ over the pulses, V·rad: the bus less its rise by line current."""
    k, start = one.pulse.loop, one.pulse.start
    fed = k.peak * (np.cos(start) - np.cos(start + one.length))
    return np.asarray(fed - k.drop * one.length - k.resistance * one.charge)


def fourier(one: Stretch, order: Array | int) -> Array:
    """Give ∫i·exp(−j·order·θ) dθ over the pulses, A·rad, complex, from their ends alone (by parts)."""
    k, start = one.pulse.loop, one.pulse.start
    end, n = start + one.length, 1j * np.asarray(order)
    first, last = np.exp(-n * start), np.exp(-n * end)
    plain = (first - last) / n
    with np.errstate(all="ignore"):
        down = one.length + 0j if np.all(n == 1j) else (np.exp(-(n - 1j) * start) - np.exp(-(n - 1j) * end)) / (n - 1j)
        down = np.where(n == 1j, one.length, down)
        up = (np.exp(-(n + 1j) * start) - np.exp(-(n + 1j) * end)) / (n + 1j)
    driven = k.peak * (down - up) / 2j - k.drop * plain
    stored = (one.level * last - one.pulse.level * first) / n
    impedance = k.resistance + n * k.reactance + 1 / (n * k.susceptance)
    return np.asarray((driven + stored + k.load * plain / (n * k.susceptance)) / impedance)


def powers(one: Stretch) -> tuple[Array, Array]:
    """Give ∫i² dθ (A²·rad) and ∫i·sin θ dθ (A·rad) over the pulses."""
    k, start = one.pulse.loop, one.pulse.start
    panels = 1 + int(np.max(k.ring * one.length, initial=0.0) / SMOOTH)
    share = ((np.arange(panels)[:, None] + POINTS) / panels).ravel()
    weights = one.length[:, None] * np.tile(WEIGHTS / panels, panels)
    x = one.length[:, None] * share
    current = spread(one.pulse).at(x)
    square = np.asarray((weights * current**2).sum(axis=1))
    drawn = np.asarray((weights * current * np.sin(start[:, None] + x)).sum(axis=1))
    quick = (k.slow + k.spread) * one.length > SMOOTH
    if quick.any() and (quick := quick & (k.resistance > 0)).any():
        closed = -fourier(one, 1).imag
        stored = k.susceptance * (one.level**2 - one.pulse.level**2) / 2
        lost = k.peak * closed - k.drop * one.charge - stored - k.load * area(one)
        square[quick], drawn[quick] = (lost / np.maximum(k.resistance, 1e-300))[quick], closed[quick]
    return square, drawn


def extremes(one: Stretch, series: Array) -> tuple[Array, Array, Array]:
    """Give the greatest current (A), and the least and greatest voltage at the bus terminals (V), of the pulses.

    ``series`` is the capacitor's series resistance, ohm.
    """
    ringing = float(np.max(one.pulse.loop.ring * one.length, initial=0.0))
    share = np.linspace(0.0, 1.0, 33 + 8 * int(ringing))
    x = one.length[:, None] * share
    current, _, level, _, _ = spread(one.pulse).whole(x)
    bus = level + series[:, None] * current
    rows = np.arange(len(one.length))
    best = np.stack((current.argmax(axis=1), bus.argmin(axis=1), bus.argmax(axis=1)), axis=1)
    found = np.stack((current[rows, best[:, 0]], bus[rows, best[:, 1]], bus[rows, best[:, 2]]), axis=1)
    polished = _polished(one, series, share[np.maximum(best - 1, 0)], share[np.minimum(best + 1, len(share) - 1)])
    return (np.maximum(found[:, 0], polished[:, 0]), np.minimum(found[:, 1], polished[:, 1]),
            np.maximum(found[:, 2], polished[:, 2]))


def _polished(one: Stretch, series: Array, low: Array, high: Array) -> Array:
    """Current, bus, bus at their turning points between the shares ``low`` and ``high`` of the pulses."""
    k, line, length = spread(one.pulse).loop, spread(one.pulse), one.length[:, None]
    series = series[:, None]
    low, high = low * length, high * length
    x = 0.5 * (low + high)
    for _ in range(POLISH):
        current, rate, _, near, far = line.whole(x)
        forced = k.load - current + line.y0 * near + line.m * far          # less the forced sine
        stiff = k.reactance == 0
        bend = np.where(stiff, forced + line.y0 * near * k.slow**2, (
            k.peak * np.cos(line.start + x) - k.resistance * rate - (current - k.load) / k.susceptance
        ) / np.where(stiff, 1.0, k.reactance))
        pull = (current - k.load) / k.susceptance + series * rate
        slope = np.concatenate((rate[:, :1], pull[:, 1:]), axis=1)
        second = np.concatenate((bend[:, :1], (rate / k.susceptance + series * bend)[:, 1:]), axis=1)
        rising = (slope > 0) ^ np.array([False, True, False])             # still on the way to the extreme
        low, high = np.where(rising, x, low), np.where(rising, high, x)
        with np.errstate(all="ignore"):
            trial = x - slope / second
        x = np.where((trial >= low) & (trial <= high), trial, 0.5 * (low + high))
    current, _, level, _, _ = line.whole(x)
    bus = level + series * current
    return np.concatenate((current[:, :1], bus[:, 1:]), axis=1)
