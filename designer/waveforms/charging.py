"""Where the pulses of a bridge and its reservoir start in the periodic steady state.

Pulses with a gap before them start where the source passes the falling bus; the one unknown is that angle,
found where the charge of a half cycle's pulses equals the load's. The charge grows strictly with the pulse's
lead before the source's last rise (derived: its slope is B·(1 − ∏C)·(V·cos α + I/B), C the free response over
each pulse), so there is one root, and close to a power of that lead, so Newton's method runs on logarithms.
Where pulses touch, the other pair takes over at the instant of zero; start and level are then in closed form.
Several pulses a half cycle, as a small reservoir behind a lightly damped inductance makes them, are followed
one by one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields

import numpy as np

from designer.results import Array, Indices, Mask
from designer.waveforms.reservoir import Loop, Pulse, alike, extinction, looks, may_dip, next_start, pulse

ROUNDS = 12       # of Newton's method on lead and end together; what is not there by then is bracketed


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """One pulse of each of the points ``where``: ``length`` rad, and the level w (V) at its end."""

    where: Indices
    pulse: Pulse
    length: Array
    level: Array

    def __getitem__(self, chosen: object) -> Stretch:
        return Stretch(**{f.name: getattr(self, f.name)[chosen] for f in fields(self)})

    @property
    def charge(self) -> Array:
        """∫i dθ, A·rad: what the capacitor gained and the load took."""
        k = self.pulse.loop
        return np.asarray(k.susceptance * (self.level - self.pulse.level) + k.load * self.length)


@dataclass(frozen=True, kw_only=True)
class Starts:
    """First turn-on of a half cycle (rad; nan without current), level w there (V), whether pulses touch.

    ``length`` (rad) is that of the one pulse where there is one, nan where the pulses have to be followed.
    """

    turn_on: Array
    level: Array
    touching: Mask
    length: Array

    def __getitem__(self, chosen: object) -> Starts:
        return Starts(**{f.name: getattr(self, f.name)[chosen] for f in fields(self)})


def starts(k: Loop, *, tolerance: float) -> Starts:
    """Give where the pulses start; ``tolerance`` is the relative error of a half cycle's charge.

    Without load, or where the source cannot carry it without the bus falling to zero, there is no start.
    """
    count = len(k.load)
    never = np.full(count, np.nan)
    found = Starts(turn_on=never, level=never.copy(), touching=np.zeros(count, bool), length=never.copy())
    feeds = (k.load > 0) & (k.peak > k.drop)
    if not feeds.all():
        some = np.flatnonzero(feeds)
        return _put(found, some, starts(k[some], tolerance=tolerance)) if len(some) else found
    found, open_, lead = _single(k, tolerance)
    for step in (_touching, _gapped):
        some = np.flatnonzero(open_)
        if not len(some):
            break
        part, sound = step(k[some], lead[some], tolerance)
        found = _put(found, some, part)
        open_[some] = ~sound
    return found


def _put(into: Starts, where: Indices, values: Starts) -> Starts:
    for f in fields(Starts):
        getattr(into, f.name)[where] = getattr(values, f.name)
    return into


def follow(k: Loop, found: Starts) -> Iterator[Stretch]:
    """Give the pulses of the half cycle that begins with ``found``, in their order, from all points that flow."""
    where = np.flatnonzero(np.isfinite(found.turn_on))
    start, level, limit = found.turn_on[where], found.level[where], found.turn_on[where] + np.pi
    known = found.length[where]
    while len(where):
        one = pulse(k[where], start, level)
        length, new = np.array(known), np.isnan(known)
        if new.any():
            length[new] = extinction(one[new], limit[new] - start[new])
        level = one.whole(length)[2]
        yield Stretch(where=where, pulse=one, length=length, level=level)
        if not new.any():
            return
        start = np.where(new, next_start(one.loop, start + length, level), np.nan)
        on = np.isfinite(start)
        where, start, limit, known = where[on], start[on], limit[on], np.full(int(on.sum()), np.nan)
        level = k.peak[where] * np.sin(start) - k.drop[where]


def _lead(k: Loop) -> tuple[Array, Array]:
    """First guess of lead and length, rad: a short pulse limited by reservoir, resistance or inductance."""
    wanted = np.pi * k.load / k.peak
    small, choked = (2 * wanted / k.susceptance) ** 2, wanted * k.reactance / 1.125
    ohmic = np.cbrt(1.5 * wanted * k.resistance) ** 4
    together = small + ohmic + choked
    lead = np.minimum(np.sqrt(np.sqrt(together)), 1.2)
    return lead, lead * (small + 2 * ohmic + 3 * choked) / together


def _single(k: Loop, tolerance: float) -> tuple[Starts, Mask, Array]:
    """One pulse a half cycle, by Newton's method on lead and end; True where that is not the answer; and the lead."""
    top = k.last_rise()
    lead, length = _lead(k)
    end = top - lead + length
    near_enough = 0.1 * tolerance**0.5       # the step after it is the square
    far_off = np.ones(len(top), bool)
    some, part = np.arange(len(top)), k
    with np.errstate(all="ignore"):
        for _ in range(ROUNDS):
            lead[some], end[some], far_off[some] = _step(part, lead[some], end[some], near_enough)
            left = int(far_off.sum())
            if not left:
                break
            if left < len(some) / 2:
                some = np.flatnonzero(far_off)
                part = k[some]
    start = top - lead
    found = _plain(k, np.where(~far_off & (start > 0) & (end - start <= np.pi), start, np.nan))
    known = np.flatnonzero(np.isfinite(found.turn_on))
    found.length[known] = (end - start)[known]
    for group in alike((k.ring * found.length)[known]):
        some = known[group]
        found.turn_on[some[~_unbroken(k[some], found[some])]] = np.nan
    return found, np.isnan(found.turn_on), lead


def _step(k: Loop, lead: Array, end: Array, near_enough: float) -> tuple[Array, Array, Mask]:
    """One step of Newton's method on the lead's logarithm and the end; True where it was not near enough."""
    top = k.last_rise()
    start = top - lead
    length = end - start
    level = k.peak * np.sin(start) - k.drop
    current, rate, last, near, far = pulse(k, start, level).whole(length)
    charge = k.susceptance * (last - level) + k.load * length
    # what a step of ln(lead) does, at the end as it is, to the charge and to the current there
    lift = lead * (k.susceptance * k.peak * np.cos(start) + k.load)
    more, flow = (1 - near) * lift, far * lift
    turned = rate < 0                      # past the crest; else the end is looked for further on
    slip = np.where(turned, current / rate, 0.0)
    step = (current * slip - charge * np.log(charge / (np.pi * k.load))) / (more - flow * slip)
    step = np.clip(step, -0.5, 0.5)
    shift = np.where(turned, -slip - flow / rate * step, 0.3 * length)
    lead = lead * np.exp(step)
    end = np.clip(end + shift, top - lead + 0.5 * length, top - lead + 2 * length)
    return lead, end, ~((np.abs(step) <= near_enough) & (np.abs(shift) <= near_enough * length))


def _unbroken(k: Loop, found: Starts) -> Mask:
    """True where the current stays above zero to the end of the pulse, and no second pulse follows."""
    one = pulse(k, found.turn_on, found.level)
    angles = found.length * np.linspace(0.0, 1.0, 2 + looks(k, found.length))[1:, None]
    flow, rate, level, _, _ = one.whole(angles)
    sound: Mask = np.all(flow[:-1] > 0, axis=0) & ~np.any(may_dip(flow, rate, angles)[:-1], axis=0)
    early = np.flatnonzero(sound & (found.turn_on + found.length < k.last_rise()))
    if len(early):
        again = next_start(k[early], (found.turn_on + found.length)[early], level[-1, early])
        sound[early] = np.isnan(again)
    return sound


def _touching(k: Loop, _lead: Array, _tolerance: float) -> tuple[Starts, Mask]:
    """Pulses of a half cycle each, in closed form; and where that is the answer."""
    near, far = k.free(np.full_like(k.peak, np.pi))
    with np.errstate(all="ignore"):
        hold = k.reactance * far + k.resistance * (1 - near)
        gain = far * k.susceptance * hold / (1 - near)
        sine, cosine = gain - 1 - near, 2 * far / (1 - near)
        m, n = k.in_phase * sine + k.quadrature * cosine, k.quadrature * sine - k.in_phase * cosine
        # m·sin φ + n·cos φ = −I·(1 − C + gain): of its two angles the one at which the current rises
        turned, most = np.arctan2(n, m), np.arcsin(-k.load * (1 - near + gain) / np.hypot(m, n))
        both = [_rising(k, np.mod(angle, 2 * np.pi), near, hold) for angle in (most - turned, np.pi - most - turned)]
    first, second = (sound for _, _, sound in both)
    turn_on, level = (np.where(second, both[1][place], both[0][place]) for place in (0, 1))
    sound = first | second
    return Starts(turn_on=np.where(sound, turn_on, np.nan), level=level, touching=sound,
                  length=np.full_like(turn_on, np.pi)), sound


def _rising(k: Loop, start: Array, near: Array, hold: Array) -> tuple[Array, Array, Mask]:
    """Start, its level, and where a pulse from there is sound: positive all along, and above a bus of no volts."""
    forced, slope = k.forced(start)
    m = (k.susceptance * (k.load + forced) * hold - 2 * slope) / (1 - near)
    level = k.peak * np.sin(start) - k.drop - m / k.susceptance - k.reactance * slope
    sound = (k.reactance > 0) & (start < np.pi) & (k.peak * np.sin(start) - k.drop >= level) & (level >= -k.drop)
    if sound.any():
        some = np.flatnonzero(sound)
        angles = np.linspace(0.0, np.pi, 2 + looks(k[some], np.full(len(some), np.pi)))[1:-1, None]
        flow, rate, _, _, _ = pulse(k[some], start[some], level[some]).whole(angles)
        sound[some] = np.all(flow > 0, axis=0) & ~np.any(may_dip(flow, rate, angles), axis=0)
    return start, level, sound


def _gapped(k: Loop, lead: Array, tolerance: float) -> tuple[Starts, Mask]:
    """Lead of the first of any number of pulses, by Newton's method kept in a bracket; and where there is one."""
    top, wanted = k.last_rise(), np.pi * k.load
    low, high = np.zeros_like(top), np.array(top)
    lead = np.where((lead > 0) & (lead < top), lead, np.minimum(_lead(k)[0], 0.9 * top))
    for _ in range(100):
        charge, fade, ended = _charge(k, top - lead)
        with np.errstate(all="ignore"):
            miss = np.where(charge > 0, np.log(charge / wanted), -np.inf)
            growth = lead * (1 - fade) * (k.susceptance * k.peak * np.cos(top - lead) + k.load) / charge
            trial = lead * np.exp(-np.clip(miss / growth, -1.0, 1.0))
        low, high = np.where(miss < 0, lead, low), np.where(miss >= 0, lead, high)
        done = (np.abs(miss) <= tolerance) | (high - low <= 4e-16 * high)
        if done.all():
            break
        inside = (trial > low) & (trial < high)
        lead = np.where(done, lead, np.where(inside, trial, 0.5 * (low + high)))
    sound = done & (np.abs(miss) < 1e-6) & ended
    turn_on = np.where(sound, top - lead, np.nan)
    return _plain(k, turn_on), sound


def _plain(k: Loop, turn_on: Array) -> Starts:
    """Starts after a gap, with pulses that have to be followed."""
    return Starts(turn_on=turn_on, level=k.peak * np.sin(turn_on) - k.drop, touching=np.zeros(len(turn_on), bool),
                  length=np.full_like(turn_on, np.nan))


def _charge(k: Loop, turn_on: Array) -> tuple[Array, Array, Mask]:
    """Give the charge of the pulses from ``turn_on`` within half a cycle (A·rad), product of their C, all ended?

    A pulse that has not ended by then counts as far as it has come: its charge is still below or above the load's
    as the bus is below or above where it began.
    """
    charge, fade, ended = np.zeros_like(turn_on), np.ones_like(turn_on), np.ones(len(turn_on), bool)
    for one in follow(k, _plain(k, turn_on)):
        left = turn_on[one.where] + np.pi - one.pulse.start
        ended[one.where] &= ~np.isnan(one.length)
        length = np.where(np.isnan(one.length), left, one.length)
        _, _, level, near, _ = one.pulse.whole(length)
        charge[one.where] += one.pulse.loop.susceptance * (level - one.pulse.level) + one.pulse.loop.load * length
        fade[one.where] *= near
    return charge, fade, ended
