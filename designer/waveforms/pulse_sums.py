"""What one pulse of a bridge's line current adds up to: integrals, extremes and Fourier coefficients.

Integrals come from nodes, enough of them for the ringing; where a decay is too quick for nodes they come from
closed forms: the Fourier integral from the pulse's ends, and with it ∫i² from the balance of energy.
"""

from __future__ import annotations

import numpy as np

from designer.results import Array
from designer.waveforms.charging import Stretch
from designer.waveforms.reservoir import alike

POINTS, WEIGHTS = (0.5 * (values + shift) for values, shift in zip(
    np.polynomial.legendre.leggauss(16), (1.0, 0.0), strict=True))
SMOOTH = 10.0      # rate × length, rad, up to which one set of nodes integrates i² to rounding
NEAR = 1e-5        # step, as a share of the pulse, after which the value of an extreme stands: it misses by less
STIFF = 1e-7       # R·B, rad, below which current follows the source at once and its loss is no measure of it
POLISH = 16        # most steps of Newton's method from the best node to an extreme


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


def loads(one: Stretch, series: Array) -> dict[str, Array]:
    """Give ``square`` ∫i² dθ (A²·rad), ``drawn`` ∫i·sin θ dθ (A·rad) and the extremes of the pulses.

    ``most`` is the greatest current (A), ``valley`` and ``crest`` are those of the voltage at the bus terminals
    (V); ``series`` is the capacitor's series resistance, ohm.
    """
    groups = alike(one.pulse.loop.ring * one.length)
    if len(groups) == 1:
        return _loads(one, series)
    parts = [_loads(one[some], series[some]) for some in groups]
    order = np.argsort(np.concatenate(groups))
    return {name: np.concatenate([part[name] for part in parts])[order] for name in parts[0]}


def _loads(one: Stretch, series: Array) -> dict[str, Array]:
    k, start = one.pulse.loop, one.pulse.start
    panels = 1 + int(np.max(k.ring * one.length, initial=0.0) / SMOOTH)
    share = ((np.arange(panels)[:, None] + POINTS) / panels).ravel()
    x = one.length * share[:, None]
    current, _, level, _, _ = one.pulse.whole(x)
    square, drawn = _powers(one, current, np.tile(WEIGHTS / panels, panels), np.sin(start + x))
    bus = level + series * current
    columns = np.arange(len(start))
    best = np.stack((current.argmax(axis=0), bus.argmin(axis=0), bus.argmax(axis=0)))
    edges = np.concatenate(([0.0], share, [1.0]))
    turning = _polished(one, series, edges[best], edges[best + 2])
    most = np.maximum(current[best[0], columns], turning[0])
    if not k.reactance.all():          # it may jump up at the start
        most = np.maximum(most, np.maximum(one.pulse.at(0.0 * start), one.pulse.at(1e-12 * one.length)))
    ends = np.minimum(one.pulse.level, one.level), np.maximum(one.pulse.level, one.level)
    return {
        "square": square, "drawn": drawn, "most": most,
        "valley": np.minimum(np.minimum(bus[best[1], columns], turning[1]), ends[0]),
        "crest": np.maximum(np.maximum(bus[best[2], columns], turning[2]), ends[1])}


def _powers(one: Stretch, current: Array, weights: Array, sine: Array) -> tuple[Array, Array]:
    """∫i² dθ (A²·rad) and ∫i·sin θ dθ (A·rad) from the nodes, or from the ends where a decay is too quick."""
    k = one.pulse.loop
    square, drawn = one.length * (weights @ current**2), one.length * (weights @ (current * sine))
    quick = np.flatnonzero(((k.slow + k.spread) * one.length > SMOOTH) & (k.resistance * k.susceptance > STIFF))
    if len(quick):
        few = one[quick]
        k = few.pulse.loop
        drawn[quick] = -fourier(few, 1).imag
        stored = k.susceptance * (few.level - few.pulse.level) * (few.level + few.pulse.level) / 2
        lost = k.peak * drawn[quick] - k.drop * few.charge - stored - k.load * area(few)
        square[quick] = lost / k.resistance
    return square, drawn


def _polished(one: Stretch, series: Array, low: Array, high: Array) -> Array:
    """Current, bus, bus at their turning points between the shares ``low`` and ``high`` of the pulses."""
    k, line = one.pulse.loop, one.pulse
    low, high = low * one.length, high * one.length
    x = 0.5 * (low + high)
    for _ in range(POLISH):
        current, rate, _, near, far = line.whole(x)
        stiff = k.reactance == 0
        turn = np.where(stiff, -k.slow * far, (near / k.susceptance - k.resistance * far)
                        / np.where(stiff, 1.0, k.reactance))                # dT/dx
        bend = k.load - current + line.y0 * (near - turn) + line.m * far    # less the forced sine, and C″ = −dT/dx
        bend -= line.pull * (far / k.susceptance + k.resistance * turn)
        pull = (current - k.load) / k.susceptance + series * rate
        slope = np.concatenate((rate[:1], pull[1:]))
        second = np.concatenate((bend[:1], (rate / k.susceptance + series * bend)[1:]))
        rising = (slope > 0) ^ np.array([[False], [True], [False]])           # still on the way to the extreme
        low, high = np.where(rising, x, low), np.where(rising, high, x)
        with np.errstate(all="ignore"):
            trial = x - slope / second
        step = np.where((trial >= low) & (trial <= high), trial, 0.5 * (low + high)) - x
        x = x + step
        if np.all(np.abs(step) <= NEAR * one.length):
            break
    current, _, level, _, _ = line.whole(x)
    bus = level + series * current
    return np.concatenate((current[:1], bus[1:]))
