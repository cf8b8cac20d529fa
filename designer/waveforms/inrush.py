"""Switching a reservoir on: the surge into it at the worst instant of the mains, pulse by pulse.

The loop is that of ``reservoir.py`` with the load off: source, limiter, bridge and capacitor. Every pulse of
current is a closed form from its start to its root; between pulses the bus stands still until the source
passes it again. A reservoir that is not empty (restart after a short break) takes less from the mains, but its
limiter may still be hot: put the hot resistance in.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from designer.results import Array, Indices, Mask
from designer.waveforms.charging import Stretch
from designer.waveforms.pulse_sums import loads
from designer.waveforms.reservoir import Bridge, Loop, extinction, loop, pulse, root

CHARGED = 0.99        # share of the final voltage at which it counts as charged: the rest adds below 2e-4 of ∫i²dt
PULSES = 20000        # given up after so many
INSTANTS, ROUNDS, FINER = 64, 3, 17
FIGURES = 5           # of a ``Surge``


@dataclass(frozen=True, kw_only=True)
class Surge:
    """What one switching-on gives; arrays.

    ``current_peak`` A; ``square`` A²·s, ∫i²dt to the end of the pulse that brings the capacitor to ``CHARGED`` of
    crest less drop: energy in any resistance of the loop is that resistance times it; ``energy`` J, in
    ``resistance`` of the bridge (source, limiter, diodes' slopes, not the capacitor's); ``time`` s, until the
    capacitor has that share; ``voltage`` V, its voltage after that pulse (above the crest where the inductance
    carries on).
    """

    current_peak: Array
    square: Array
    energy: Array
    time: Array
    voltage: Array

    def __getitem__(self, chosen: object) -> Surge:
        return Surge(**{f.name: np.atleast_1d(getattr(self, f.name)[chosen]) for f in fields(self)})


@dataclass(frozen=True, kw_only=True)
class _State:
    """The surge so far: ∫i² over the angle, w (V), the angle of the own half cycle's zero since switching on."""

    peak: Array
    square: Array
    time: Array
    level: Array
    since: Array


def switched_on(bridge: Bridge, instant: Array, *, voltage: Array) -> Surge:
    """Give the surge for switching on at ``instant`` (rad after the source's zero, below π), point by point.

    ``voltage`` (V) is the capacitor's at that instant. The load draws nothing while the reservoir charges,
    whatever ``load_current`` says. Raises ``ValueError`` where neither resistance nor inductance limits the
    current, or the charging takes more than ``PULSES`` pulses.
    """
    k = loop(replace(bridge, load_current=np.zeros_like(bridge.load_current)))
    if not np.all((k.resistance > 0) | (k.reactance > 0)):
        raise ValueError("the current of switching on needs a resistance or an inductance that limits it")
    zero = np.zeros_like(k.peak)
    state = _State(
        peak=zero, square=zero.copy(), time=np.full_like(zero, np.nan), level=zero + voltage, since=zero - instant)
    state.time[state.level >= CHARGED * (k.peak - k.drop)] = 0.0
    start = _next(k, zero + instant, state, np.arange(len(zero)), fresh=np.ones(len(zero), bool))
    where = np.flatnonzero(np.isfinite(start))
    for _ in range(PULSES):
        if not len(where):
            break
        end = _pulse(k[where], start[where], state, where)
        start[where] = _after(k[where], end, state, where)
        where = where[np.isfinite(start[where])]
    else:
        raise ValueError(f"the reservoir is not charged after {PULSES} pulses")
    square = state.square / bridge.omega
    return Surge(current_peak=state.peak, square=square, energy=bridge.resistance * square,
                 time=state.time / bridge.omega, voltage=state.level)


def _pulse(k: Loop, start: Array, state: _State, where: Indices) -> Array:
    """Add one pulse of the points ``where`` to the state; give its end, rad in its own half cycle."""
    one = pulse(k, start, state.level[where])
    length = extinction(one, 2 * np.pi - start)
    level = one.whole(length)[2]
    part = loads(Stretch(where=where, pulse=one, length=length, level=level), np.zeros_like(start))
    state.peak[where] = np.maximum(state.peak[where], part["most"])
    state.square[where] += part["square"]
    state.level[where] = level
    goal = CHARGED * (k.peak - k.drop)
    passed = np.flatnonzero(level >= goal)
    if len(passed):
        some, aim = one[passed], goal[passed]
        x = root(lambda angle: some.whole(angle)[2] - aim, np.zeros(len(passed)), length[passed])
        state.time[where[passed]] = state.since[where[passed]] + start[passed] + x
    return start + length


def _after(k: Loop, end: Array, state: _State, where: Indices) -> Array:
    """Give the start of the next pulse after one that ended at ``end``, rad; nan where it is charged."""
    turned = np.floor(end / np.pi)
    state.since[where] += np.pi * turned
    own = end - np.pi * turned
    return _next(k, own, state, where, fresh=turned > 0)


def _next(k: Loop, own: Array, state: _State, where: Indices, *, fresh: Mask) -> Array:
    """Give the next start from the angle ``own`` on, rad in the half cycle then; nan where it is charged.

    At ``own`` itself a pulse may start where another pair's half cycle is ``fresh``; else where the source
    passes the resting bus, in this half cycle or the next.
    """
    level = state.level[where]
    charged = level >= CHARGED * (k.peak - k.drop)
    passes = np.arcsin(np.clip((level + k.drop) / k.peak, -1.0, 1.0))
    at_once = fresh & (k.peak * np.sin(own) > level + k.drop)
    beyond = ~charged & ~at_once & (own >= passes)
    state.since[where[beyond]] += np.pi
    return np.where(charged, np.nan, np.where(at_once, own, passes))


def first_crest(bridge: Bridge, *, voltage: Array) -> Array:
    """Give the capacitor's greatest voltage, V, after the first pulse from ``voltage``, over the instants.

    The load draws nothing. Later pulses start from a higher voltage and lift it less above the crest. Never below
    ``voltage``; found on ``INSTANTS`` even steps from where the source passes the capacitor to its next zero.
    """
    k = loop(replace(bridge, load_current=np.zeros_like(bridge.load_current)))
    passes = np.arcsin(np.clip((voltage + k.drop) / k.peak, -1.0, 1.0))[:, None]
    start = (passes + (np.pi - passes) * np.arange(INSTANTS) / INSTANTS).ravel()
    rows = np.repeat(np.arange(len(bridge)), INSTANTS)
    flows = np.flatnonzero(k.peak[rows] * np.sin(start) - k.drop[rows] - voltage[rows] > -1e-9 * k.peak[rows])
    if not flows.size:
        return np.array(voltage, float)
    one = pulse(k[rows[flows]], start[flows], voltage[rows[flows]])
    level = voltage[rows]
    level[flows] = one.whole(extinction(one, 2 * np.pi - start[flows]))[2]
    return np.asarray(np.fmax(np.nanmax(level.reshape(len(bridge), -1), axis=1), voltage))


def worst(bridge: Bridge, *, voltage: Array) -> Surge:
    """Give the greatest of each figure over the instants of switching on; each may have its own instant.

    Found on an even grid of instants, made finer about each figure's own greatest value. Raises as
    ``switched_on``.
    """
    count = len(bridge)
    middle, reach = np.full((count, 1), np.pi / 2), np.pi / 2
    best = np.full((count, FIGURES), -np.inf)
    for turn in range(1 + ROUNDS):
        steps = np.linspace(-1.0, 1.0, FINER) if turn else np.linspace(-1.0, 1.0, INSTANTS, endpoint=False)
        instants = np.mod(middle[:, :, None] + reach * steps, np.pi).reshape(count, -1)
        rows = np.repeat(np.arange(count), instants.shape[1])
        surge = switched_on(bridge[rows], instants.ravel(), voltage=voltage[rows])
        figures = np.stack([getattr(surge, f.name).reshape(count, -1) for f in fields(Surge)], axis=1)
        top = figures.argmax(axis=2)
        better = figures.max(axis=2) > best
        middle = np.where(better, np.take_along_axis(instants, top, axis=1), middle)
        best = np.fmax(best, figures.max(axis=2))
        reach *= 2.0 / (FINER - 1) if turn else 2.0 / INSTANTS
    return Surge(**{f.name: best[:, place] for place, f in enumerate(fields(Surge))})
