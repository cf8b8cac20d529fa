"""One conduction interval of many operating points at once, on flux linkage.

Between turn-on and extinction a series path obeys dλ/dt = v − R·i − V₀ − ω·g(i), with λ(i) and g(i)
of one winding. ``track.py`` gives the linkage; its integrals follow by the trapezoid rule with end
corrections (Euler–Maclaurin), the last part of a step by its Hermite cubic. All is done with N and N/2
steps over the interval, and again with twice as many on the points whose two results differ by more
than allowed.
"""

from __future__ import annotations

import math

import numpy as np

from designer.motor.flux import LinkageTable, Winding
from designer.results import Array, Indices, Mask
from designer.waveforms.path import Interval, Path, empty, put
from designer.waveforms.rle import conduct_linear
from designer.waveforms.track import TINY, Desk, Track, fitted, joined, laid

CELLS = 65536         # nodes times points worked on together: more of them, and the processor's cache overflows
MOST_STEPS = 12288
#: steps over the interval at a bound of 1e-5: measured to hold it on saturating motors
STEPS_AT_1E_5 = 80
#: the curve's kinks make the march third order: halving the step then leaves a seventh of the change; a
#: quarter is taken, on the safe side, as where a kink lies in its step is chance
LEFT_AFTER_HALVING = 0.25
#: and of the greatest change of linkage at any node, which chance does not hide
LEFT_AT_WORST_NODE = 0.15
#: first and widest step times the fastest decay: above it wide steps say little
STIFF = 8.0


def conduct(
    path: Path, winding: Winding, turn_on: Array, *, tolerance: float, latching: float = np.inf
) -> Interval:
    """March every point from zero current at ``turn_on`` to its extinction.

    ``tolerance`` bounds the relative error of r.m.s. current and torque (estimated by halving the
    step); ``latching`` (A) is a current whose passing is noted. Points that cannot be brought within
    the bound in ``MOST_STEPS`` steps keep their best value. A motor whose curve is one straight line
    is solved in closed form as far as its current stays on that line. Raises ``ArithmeticError`` where
    no extinction is found.
    """
    if winding.curve.linear:
        exact = conduct_linear(path, winding, turn_on, latching=latching)
        bent = np.flatnonzero(exact.crest > winding.curve.last_current)
        if bent.size:
            put(exact, bent, _march(path[bent], winding, turn_on[bent], tolerance, latching))
        return exact
    return _march(path, winding, turn_on, tolerance, latching)


def _march(path: Path, winding: Winding, turn_on: Array, tolerance: float, latching: float) -> Interval:
    found = empty(len(path))
    table = LinkageTable.reaching(winding, 2.02 * float(np.max(path.peak / path.omega, initial=0.0)))
    starts = _starts(path, turn_on)
    found.turn_on[:] = found.extinction[:] = np.where(turn_on < np.pi, turn_on, np.nan)
    todo = np.flatnonzero(starts)
    if not todo.size:
        return found
    fastest = _fastest(path, table)
    stiff = math.ceil(np.pi * float(fastest[todo].max()) / STIFF)
    base = min(max(round(STEPS_AT_1E_5 / 16 * (1e-5 / tolerance) ** (1 / 3)), math.ceil(stiff / 4), 1),
               MOST_STEPS // 16) * 4
    desk = Desk(table, 2 * tolerance**0.5)
    poor: list[tuple[Indices, Track]] = []
    for at in _parts(todo, 4 * base):
        wide = fitted(path[at], desk, turn_on[at], steps=base).halved(desk)
        poor.extend(_refined((at, wide), desk, found, (tolerance, latching)))
    steps = 8 * base
    while poor and steps <= MOST_STEPS:
        left, track = np.concatenate([at for at, _ in poor]), joined([part for _, part in poor])
        poor = []
        for at in _parts(np.arange(left.size), steps):
            poor.extend(_refined((left[at], track[at]), desk, found, (tolerance, latching)))
        steps *= 2
    unended = np.flatnonzero(np.isnan(found.extinction) & starts)
    if unended.size:
        # the finer steps put the end beyond the nodes: begin with finer ones
        if tolerance < 1e-12:
            raise ArithmeticError("the end of a conduction interval was not found")
        put(found, unended, _march(path[unended], winding, turn_on[unended], tolerance / 8, latching))
    return found


def _starts(path: Path, turn_on: Array) -> Mask:
    """True where the source exceeds what opposes it, or is about to."""
    over = path.peak * np.sin(turn_on) - path.opposing
    hair = 1e-9 * path.peak
    return np.asarray((turn_on < np.pi) & ((over > 0) | ((over > -hair) & (np.cos(turn_on) > 0))))


def _parts(places: Indices, steps: int) -> list[Indices]:
    size = max(CELLS // steps, 1)
    return [places[first : first + size] for first in range(0, places.size, size)]


def _refined(
    wide: tuple[Indices, Track], desk: Desk, found: Interval, asked: tuple[float, float]
) -> list[tuple[Indices, Track]]:
    """Halve the steps, write the results into ``found``, and give what is left to do."""
    at, coarse = wide
    tolerance, latching = asked
    track = coarse.halved(desk)
    fine = _gathered(track, desk, latching)
    put(found, at, fine)
    moved = np.maximum(LEFT_AFTER_HALVING * _difference(fine, coarse, desk), LEFT_AT_WORST_NODE * track.moved)
    poor = np.flatnonzero(moved > tolerance)
    return [(at[poor], track[poor])] if poor.size else []


def _fastest(path: Path, table: LinkageTable) -> Array:
    """Give a bound on the rate, 1/rad, at which any difference in linkage decays: R/L and ω·g′/L."""
    resistive, turning = (float(row.max()) for row in table.rows[2:])
    return np.asarray((path.resistance * resistive + path.speed * turning) / path.omega + 1e-9)


def _difference(fine: Interval, coarse: Track, desk: Desk) -> Array:
    """Largest relative difference in r.m.s. current, torque and extinction; nan where an end is missing."""
    last, part, ended = _ending(coarse)
    values = _values(desk, coarse, last)
    square, pull = _twofold(desk, coarse, values, last, part)
    square = np.abs(fine.square - square) / (2 * np.abs(fine.square) + TINY)
    pull = np.abs(fine.pull - pull) / (np.abs(fine.pull) + TINY)
    end = np.abs(fine.extinction - coarse.turn_on - last * coarse.width - part)
    end /= np.maximum(fine.extinction - fine.turn_on, TINY)
    return np.where(ended, np.maximum(np.maximum(square, pull), end), np.inf)


def _ending(track: Track) -> tuple[Indices, Array, Mask]:
    """Last node before extinction, the angle from it to there, and whether the nodes reach so far."""
    below = track.linkage[1:] <= 0
    last = below.argmax(axis=0)
    ended = below[last, np.arange(last.size)]
    return last, track.width * _zero(_cubic(track, last)), ended


def _values(desk: Desk, track: Track, last: Indices) -> Array:
    """Current and odd part at the nodes, none after the last."""
    values = np.multiply(track.rows[2:], track.linkage, out=desk.room("values", 2, *track.linkage.shape))
    values += track.rows[:2]
    values *= np.arange(len(track.linkage))[:, None] <= last
    return values


def _twofold(desk: Desk, track: Track, values: Array, last: Indices, part: Array) -> Array:
    """∫ i² and ∫ g·i: what begins and ends at zero with no slope."""
    column = np.arange(last.size)
    spare = desk.room("spare", *values[0].shape)
    sums = np.array([np.multiply(values[0], row, out=spare).sum(axis=0) for row in values])
    both = values[:, last, column]
    slopes = track.rows[2:, last, column] * (2 * track.rate[last, column] / track.width)
    i, h = both[0], track.width
    now = i * both
    rising = i * slopes + slopes[0] * both
    return np.asarray(h * (sums - now / 2) + part / 2 * now + (part * part - h * h) / 12 * rising)


def _gathered(track: Track, desk: Desk, latching: float) -> Interval:
    """What the interval gave; extinction is nan where the nodes do not reach it."""
    path, h, column = track.path, track.width, np.arange(len(track.path))
    last, part, ended = _ending(track)
    values = _values(desk, track, last)
    current = values[0]
    square, pull = _twofold(desk, track, values, last, part)
    angle = track.turn_on + last * h
    end_sine = np.sin(angle + part)
    inverse = desk.table.rows[2, 0]   # di/dλ at zero current
    falling = inverse * (path.peak * end_sine - path.opposing) / path.omega
    i, sine = current[last, column], track.sine[last, column]
    di = 2 * track.rate[last, column] / h * track.rows[2, last, column]
    now = np.array((i, i * sine))
    rising = np.array((di, di * sine + i * track.cosine[last, column]))
    start = track.rate[0] * inverse / 6
    drawn = np.multiply(current, track.sine, out=desk.room("spare", *current.shape))
    sums = np.array((current.sum(axis=0) + start, drawn.sum(axis=0) + start * track.sine[0]))
    total = h * (sums - now / 2) - h * h / 12 * rising + part / 2 * now
    total += part * part / 12 * (rising - np.array((falling, falling * end_sine)))
    return Interval(
        turn_on=track.turn_on, extinction=np.where(ended, angle + part, np.nan), charge=total[0], drawn=total[1],
        square=square, pull=pull, crest=_crest(track, desk.table), slope=-falling,
        latched=_latched(track, current, latching),
    )


def _crest(track: Track, table: LinkageTable) -> Array:
    top, column = track.linkage.argmax(axis=0), np.arange(len(track.path))
    left = np.clip(np.where(track.rate[top, column] > 0, top, top - 1), 0, len(track.linkage) - 2)
    y0, c1, c2, c3 = _cubic(track, left)
    # the stationary point that is a maximum, in the form that stays exact when c3 is small
    t = np.clip(-c1 / np.minimum(c2 - np.sqrt(np.maximum(c2 * c2 - 3 * c1 * c3, 0.0)), -TINY), 0.0, 1.0)
    return np.asarray(table.at(y0 + t * (c1 + t * (c2 + t * c3)))[0][0])


def _latched(track: Track, current: Array, latching: float) -> Array:
    count = len(track.path)
    if not latching < np.inf:
        return np.full(count, np.inf)
    column = np.arange(count)
    passed = (current[:-1] < latching) & (current[1:] >= latching)
    left = passed.argmax(axis=0)
    before, after = current[left, column], current[left + 1, column]
    share = (latching - before) / np.where(after > before, after - before, 1.0)
    return np.where(passed[left, column], track.turn_on + (left + share) * track.width, np.inf)


def _cubic(track: Track, left: Indices) -> tuple[Array, ...]:
    """Linkage over a width as a cubic in the share t of it: y0 + t(c1 + t(c2 + t·c3))."""
    column, right = np.arange(left.size), left + 1
    y0, r0 = track.linkage[left, column], 2 * track.rate[left, column]
    rise, r1 = track.linkage[right, column] - y0, 2 * track.rate[right, column]
    return y0, r0, 3 * rise - 2 * r0 - r1, r0 + r1 - 2 * rise


def _zero(cubic: tuple[Array, ...]) -> Array:
    """Where a cubic that starts above zero and ends below it passes zero on [0, 1]: Newton, held inside."""
    y0, c1, c2, c3 = cubic
    chord = c1 + c2 + c3
    t = np.clip(y0 / np.maximum(-chord, TINY), 0.0, 1.0)
    for _ in range(20):
        y = y0 + t * (c1 + t * (c2 + t * c3))
        slope = c1 + t * (2 * c2 + t * (3 * c3))
        # where the cubic does not fall the chord leads on
        after = np.clip(t - y / np.where(slope < 0, slope, np.minimum(chord, -TINY)), 0.0, 1.0)
        moved = np.abs(after - t).max(initial=0.0)
        t = after
        if moved < 1e-13:
            break
    return np.asarray(t)


def trace(path: Path, winding: Winding, half: Interval, *, nodes: int) -> tuple[Array, Array, Array]:
    """Give angle, current and the curve's odd part at evenly spaced nodes of every conducting point.

    Each array is (points, nodes + 1), from turn-on to extinction; rows that did not conduct are nan.
    """
    angle, current, odd = (np.full((len(path), nodes + 1), np.nan) for _ in range(3))
    fired = np.flatnonzero(np.isfinite(half.extinction) & (half.extinction > half.turn_on))
    if not fired.size:
        return angle, current, odd
    table = LinkageTable.reaching(winding, 2.02 * float(np.max(path.peak / path.omega)))
    desk = Desk(table, 1e-4)
    stiff = math.ceil(np.pi * float(_fastest(path[fired], table).max()) / STIFF)
    wide, between = nodes, 0
    while wide % 2 == 0 and wide > max(32, stiff):
        wide, between = wide // 2, between + 1
    finer = max(math.ceil(math.log2(stiff / nodes)), 0)
    for at in _parts(fired, nodes << finer):
        start, end = half.turn_on[at], half.extinction[at]
        rough = fitted(path[at], desk, start, steps=wide)
        track = laid(path[at], desk, (start, (end - start) / wide), (rough.width, rough.linkage), steps=wide)
        for _ in range(between + finer):
            track = track.halved(desk)
        values = (track.rows[:2] + track.rows[2:] * track.linkage)[:, :: 1 << finer]
        values[:, [0, -1]] = 0.0
        angle[at] = start[:, None] + (end - start)[:, None] * np.linspace(0.0, 1.0, nodes + 1)
        current[at], odd[at] = values[0].T, values[1].T
    return angle, current, odd
