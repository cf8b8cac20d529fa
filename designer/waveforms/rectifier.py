"""Bridge and reservoir in the periodic steady state: exact pulses, and what they load each part with.

Pulses with a gap before them start where the source passes the falling bus; the one unknown is that angle,
found where the charge of a half cycle's pulses equals the load's. The charge grows strictly with the pulse's
lead before the source's last rise (derived: its slope is B·(1 − ∏C)·(V·cos α + I/B)), so there is one root,
and close to a power of that lead, so Newton's method runs on logarithms. Where pulses touch, the other pair
takes over at the instant of zero; start and level are then in closed form. Several pulses a half cycle, as a
small reservoir behind a lightly damped inductance makes them, are followed one by one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields

import numpy as np

from designer.results import Array, Indices, Mask
from designer.waveforms.reservoir import Bridge, Loop, Pulse, extinction, loop, next_start, pulse, root, spread

__all__ = ["Bridge", "Charged", "bus_mean", "charged", "pulses"]

NODES, WEIGHTS = (0.5 * (x + shift) for x, shift in zip(np.polynomial.legendre.leggauss(32), (1.0, 0.0), strict=True))
SMOOTH = 16.0        # rate × length of a pulse up to which the nodes integrate to rounding


@dataclass(frozen=True, kw_only=True)
class Charged:
    """A bridge and its reservoir in the steady state; arrays, SI.

    ``turn_on`` and ``extinction`` of a half cycle's pulses, rad from the same source zero (nan where no
    current flows); ``touching`` where the other pair takes over without a gap. ``mean``, ``valley``, ``crest``
    V at the bus terminals; ``line_absolute``, ``line_rms``, ``line_peak`` A of the line current: a diode's mean
    is half the first and its r.m.s. the second over √2. ``capacitor_rms`` A; ``drawn`` W from the ideal source.
    All are nan where the load overwhelms the source: the bus would fall to zero within the half cycle, and a
    constant load current has no meaning there.
    """

    turn_on: Array
    extinction: Array
    touching: Mask
    mean: Array
    valley: Array
    crest: Array
    line_absolute: Array
    line_rms: Array
    line_peak: Array
    capacitor_rms: Array
    drawn: Array

    def __getitem__(self, chosen: object) -> Charged:
        return Charged(**{f.name: np.atleast_1d(getattr(self, f.name)[chosen]) for f in fields(self)})


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """One pulse of each of the points ``where``: ``length`` rad, and the level w (V) at its end."""

    where: Indices
    pulse: Pulse
    length: Array
    level: Array

    @property
    def charge(self) -> Array:
        """∫i dθ, A·rad, from what the capacitor gained and the load took."""
        k = self.pulse.loop
        return np.asarray(k.susceptance * (self.level - self.pulse.level) + k.load * self.length)


def charged(bridge: Bridge, *, tolerance: float = 1e-12) -> Charged:
    """Give the steady state; ``tolerance`` is the relative error of the charge of a half cycle."""
    turn_on, touching = _starts(bridge, tolerance)
    return _measured(bridge, turn_on, touching)


def bus_mean(bridge: Bridge) -> Array:
    """Give the mean voltage at the bus terminals, V; nan where the load overwhelms the source."""
    return charged(bridge).mean


def pulses(bridge: Bridge, turn_on: Array, touching: Mask) -> Iterator[Stretch]:
    """Give the pulses of a half cycle in their order, from the first turn-on (rad)."""
    k = loop(bridge)
    level = k.peak * np.sin(turn_on) - k.drop
    if touching.any():
        level = np.where(touching, _touching(k)[1], level)
    yield from _follow(k, turn_on, level, touching)


def _follow(k: Loop, start: Array, level: Array, touching: Mask) -> Iterator[Stretch]:
    """Follow the pulses of the half cycle in which ``start`` lies."""
    where, limit = np.arange(len(start)), start + np.pi
    while len(where):
        one = pulse(k[where], start, level)
        length = np.where(touching, np.pi, np.nan)
        gap = ~touching
        if gap.any():
            length[gap] = extinction(one[gap], limit[where][gap] - start[gap])
        level = one.slopes(length)[2]
        yield Stretch(where=where, pulse=one, length=length, level=level)
        end = start + length
        start = next_start(k[where], end, level)
        on = np.isfinite(start) & gap
        where, start, touching = where[on], start[on], touching[on]
        level = k.peak[where] * np.sin(start) - k.drop[where]


def _touching(k: Loop) -> tuple[Array, Array, Mask]:
    """Give start (rad) and level (V) of pulses that last a half cycle each, and where they are sound."""
    near, far = k.free(np.full_like(k.peak, np.pi))
    with np.errstate(all="ignore"):
        gain = far * k.susceptance * (k.reactance * far + k.resistance * (1 - near)) / (1 - near)
        sine, cosine = gain - 1 - near, 2 * far / (1 - near)
        m = k.in_phase * sine + k.quadrature * cosine
        n = k.quadrature * sine - k.in_phase * cosine
        # m·sin φ + n·cos φ = −I·(1 − C + gain); of its two angles the one at which the current rises
        turned, most = np.arctan2(n, m), np.arcsin(-k.load * (1 - near + gain) / np.hypot(m, n))
    best = np.full_like(k.peak, np.nan), np.full_like(k.peak, np.nan), np.zeros(len(k.peak), bool)
    for angle in (most - turned, np.pi - most - turned):
        phi = np.mod(angle + np.pi, 2 * np.pi) - np.pi
        with np.errstate(all="ignore"):
            forced, slope = k.forced(phi)
            y0 = -k.load - forced
            m0 = k.susceptance * (-2 * slope / k.susceptance - y0 * (
                k.reactance * far + k.resistance * (1 - near))) / (1 - near)
            level = k.peak * np.sin(phi) - k.drop - m0 / k.susceptance - k.reactance * slope
            sound = (k.reactance > 0) & (phi >= 0) & (phi < np.pi)
            sound &= (k.peak * np.sin(phi) - k.drop >= level) & (level >= -k.drop)
        if sound.any():
            inside = np.linspace(0, np.pi, 64)[None, 1:-1]
            sound[sound] = (spread(pulse(k[sound], phi[sound], level[sound])).at(inside) > 0).all(axis=1)
        best = tuple(np.where(sound, new, old) for new, old in zip((phi, level, sound), best, strict=True))
    return best[0], best[1], best[2].astype(bool)


def _starts(bridge: Bridge, tolerance: float) -> tuple[Array, Mask]:
    """Give the first turn-on of a half cycle (rad) and where pulses touch; nan without a steady state."""
    k = loop(bridge)
    feeds = (k.load > 0) & (k.peak > k.drop)
    turn_on, _, touching = _touching(k)
    touching &= feeds
    rest = np.flatnonzero(feeds & ~touching)
    turn_on = np.where(touching, turn_on, np.nan)
    turn_on[rest] = _gapped(k[rest], tolerance)
    return turn_on, touching


def _lead(k: Loop) -> Array:
    """A first guess of the lead: the three limits of a small reservoir, resistance and inductance together."""
    wanted = np.pi * k.load / k.peak
    small, ohmic, choked = np.sqrt(2 * wanted / k.susceptance), (1.5 * wanted * k.resistance), wanted * k.reactance
    return np.asarray((small**4 + ohmic ** (4 / 3) + choked / 1.125) ** 0.25)


def _gapped(k: Loop, tolerance: float) -> Array:
    top = k.last_rise()
    low, high = np.zeros_like(top), np.array(top)
    lead = np.minimum(_lead(k), 0.9 * top)
    wanted = np.pi * k.load
    for _ in range(100):
        charge, fade = _charge(k, top - lead)
        with np.errstate(all="ignore"):
            miss = np.log(charge / wanted)
            growth = lead * k.susceptance * (1 - fade) * (
                k.peak * np.cos(top - lead) + k.load / k.susceptance) / charge
            trial = lead * np.exp(-np.clip(miss / growth, -1.0, 1.0))
        low, high = np.where(miss < 0, lead, low), np.where(miss >= 0, lead, high)
        done = (np.abs(miss) <= tolerance) | (high - low <= 4e-16 * high)
        if done.all():
            break
        inside = (trial > low) & (trial < high)
        lead = np.where(done, lead, np.where(inside, trial, 0.5 * (low + high)))
    return np.where(done & (np.abs(miss) < 1e-6), top - lead, np.nan)


def _charge(k: Loop, start: Array) -> tuple[Array, Array]:
    """Give the charge of the pulses from ``start`` (A·rad), inf without an end, and the product of their C."""
    charge, fade = np.zeros_like(start), np.ones_like(start)
    level, never = k.peak * np.sin(start) - k.drop, np.zeros(len(start), bool)
    for one in _follow(k, start, level, never):
        with np.errstate(invalid="ignore"):
            charge[one.where] += one.charge
            fade[one.where] *= one.pulse.loop.free(one.length)[0]
    return np.where(np.isnan(charge), np.inf, charge), fade


def _measured(bridge: Bridge, turn_on: Array, touching: Mask) -> Charged:
    k = loop(bridge)
    rest = np.where(k.peak > k.drop, k.peak - k.drop, 0.0)
    flows, idle = np.isfinite(turn_on), k.load == 0
    sums = {name: np.where(idle | flows, 0.0, np.nan) for name in ("charge", "square", "drawn", "level", "peak")}
    valley, crest = np.where(idle, rest, np.nan), np.where(idle, rest, np.nan)
    last, lasting = np.array(turn_on), np.where(idle, rest, np.nan)
    chosen = np.flatnonzero(flows)
    for one in pulses(bridge[chosen], turn_on[chosen], touching[chosen]) if len(chosen) else ():
        where = chosen[one.where]
        start = one.pulse.start
        gap = start - last[where]
        first = np.isnan(lasting[where])
        between = np.where(first, 0.0, gap * (lasting[where] + one.pulse.level) / 2)
        sums["level"][where] += between
        found = _pulse_sums(one, bridge[where])
        for name in ("charge", "square", "drawn", "level"):
            sums[name][where] += found[name]
        sums["peak"][where] = np.maximum(sums["peak"][where], found["peak"])
        valley[where] = np.fmin(valley[where], found["valley"])
        crest[where] = np.fmax(crest[where], found["crest"])
        last[where], lasting[where] = start + one.length, one.level
    gap = np.where(flows, turn_on + np.pi - last, np.pi)
    sums["level"] += np.where(flows, gap * (lasting - gap * k.load / k.susceptance / 2), np.pi * rest)
    mean = sums["level"] / np.pi + bridge.series_resistance * k.load
    square = sums["square"] / np.pi
    sound = valley > 0
    values = {
        "turn_on": turn_on, "extinction": last, "mean": mean, "valley": valley, "crest": crest,
        "line_absolute": sums["charge"] / np.pi, "line_rms": np.sqrt(square), "line_peak": sums["peak"],
        "capacitor_rms": np.sqrt(np.maximum(square - k.load**2, 0.0)), "drawn": sums["drawn"] * k.peak / np.pi}
    return Charged(touching=touching & sound, **{
        name: np.where(sound, value, np.nan) for name, value in values.items()})


def _pulse_sums(one: Stretch, bridge: Bridge) -> dict[str, Array]:
    """Integrals over one pulse (rad), its greatest current (A), and the bus's ends and extremes (V)."""
    k, start, length = one.pulse.loop, one.pulse.start, one.length
    r = bridge.series_resistance
    x = length[:, None] * NODES
    current, rate, level = spread(one.pulse).slopes(x)
    weights = length[:, None] * WEIGHTS
    square, drawn = (weights * current**2).sum(axis=1), (weights * current * np.sin(start[:, None] + x)).sum(axis=1)
    area = k.peak * (np.cos(start) - np.cos(start + length)) - k.resistance * one.charge - k.drop * length
    bus = level + r[:, None] * current
    ends = np.stack((one.pulse.level, one.level))
    return {
        "charge": one.charge, "square": square, "drawn": drawn, "level": area,
        "peak": current.max(axis=1), "valley": np.minimum(bus.min(axis=1), ends.min(axis=0)),
        "crest": np.maximum(bus.max(axis=1), ends.max(axis=0))}
