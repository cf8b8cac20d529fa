"""The speed that a thyristor holds by the motor's own voltage: fired in every cycle, or skipping cycles.

Where one pulse lifts the speed by more than a cycle of coasting takes away, nothing fires until the speed has come
down: the speed saws, and its mean is that of the pattern, found by marching over cycles. A cycle that would be steady
but throws back more than it was disturbed by hunts, and is marched likewise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from designer.control.residual_march import Cycle, Lanes, coast, cycle
from designer.results import Array, Mask

SETTLING = 30             # cycles before the pattern counts
COUNTED = 50              # cycles of the pattern, at least
MOST_CYCLES = 600         # after which a lane that hardly ever fires is told as it is
FIRINGS = 4               # in the cycles counted, at least
SEARCHED = 40             # halvings and secants of the steady cycle
NUDGE = 1e-4              # share of the speed by which a steady cycle is disturbed
SLOWEST, FASTEST = 1.0, 2e4   # rad/s, where the search of a steady cycle begins and ends
CLOSE = 1e-7              # share of the speed to which a steady cycle is found
JUMP = 1e-5               # share of the speed beyond which a cycle found does not give itself back
SHARES, AGAIN = 13, 6     # dividers tried for a speed: over the range, then between the two about it


@dataclass(frozen=True, kw_only=True)
class Held:
    """What follows in every lane: speeds in rad/s, angles in rad, currents in A.

    ``mean``, ``lowest``, ``highest`` speed over the pattern; ``fired`` share of the cycles that fire, 1 where every
    one does; ``angle`` mean firing angle of those; ``steady`` True where every cycle is like the one before.
    """

    mean: Array
    lowest: Array
    highest: Array
    fired: Array
    angle: Array
    latest: Array
    peak: Array
    rms: Array
    steady: Mask

    def __getitem__(self, at: int) -> Held:
        return Held(**{name: np.atleast_1d(values[at]) for name, values in vars(self).items()})

    @property
    def ripple(self) -> Array:
        """Half of the swing of the speed, as a share of its mean."""
        return np.asarray((self.highest - self.lowest) / 2 / np.maximum(self.mean, 1e-9))


def held(lanes: Lanes) -> Held:
    """Give the lasting speed of every lane and how it is held; 0 where the shaft does not turn."""
    at, found = _steady(lanes)
    last = cycle(lanes, at)
    nudged = cycle(lanes, at * (1 + NUDGE))
    throws_back = np.abs(nudged.end - last.end) >= np.abs(NUDGE * at)
    comes_back = np.abs(last.end - at) <= JUMP * at     # else it fires on one side of it and not on the other
    steady = found & comes_back & ~(throws_back & (at > SLOWEST))
    every = _told(last)
    rest = np.flatnonzero(~steady)
    if not rest.size:
        return every
    marched = _marched(lanes[rest], np.where(found, at, _top(lanes))[rest])
    merged = {}
    for name, values in vars(every).items():
        values = values.copy()
        values[rest] = getattr(marched, name)
        merged[name] = values
    return Held(**merged)


def _top(lanes: Lanes) -> Array:
    """The speed (rad/s) at the rising zero from which the crest just fires; the end of the search without feedback."""
    top = np.maximum(lanes.free_speed, 0.0)
    lost = top - coast(lanes, top, np.full(len(lanes), np.pi / 2))
    return np.where(np.isnan(lanes.angle), (top + lost) * (1 - 1e-9), FASTEST)


def _steady(lanes: Lanes) -> tuple[Array, Mask]:
    """The speed (rad/s) at the rising zero that a cycle gives back, and whether there is one."""
    low, high = np.full(len(lanes), SLOWEST), np.maximum(_top(lanes), SLOWEST * 1.01)
    at_low, at_high = cycle(lanes, low).end - low, cycle(lanes, high).end - high
    stands, found = at_low <= 0, (at_low > 0) & (at_high < 0)
    going = found.copy()
    for turn in range(SEARCHED):
        if not going.any():
            break
        flat = low + (high - low) * at_low / np.where(at_low == at_high, 1.0, at_low - at_high)
        middle = np.where((turn % 3 == 2) | ~np.isfinite(flat), (low + high) / 2, flat)
        some = np.flatnonzero(going)
        left = cycle(lanes[some], middle[some]).end - middle[some]
        up = left > 0
        low[some[up]], at_low[some[up]] = middle[some[up]], left[up]
        high[some[~up]], at_high[some[~up]] = middle[some[~up]], left[~up]
        going[some] = (high[some] - low[some] > CLOSE * high[some]) & (np.abs(left) > CLOSE * middle[some])
    best = np.where(np.abs(at_low) < np.abs(at_high), low, high)
    return np.where(stands, 0.0, np.where(found, best, high)), found | stands


def _told(last: Cycle) -> Held:
    """A cycle that repeats itself."""
    return Held(
        mean=last.mean, lowest=last.lowest, highest=last.highest, fired=last.fired.astype(float), angle=last.angle,
        latest=last.angle, peak=last.peak, rms=np.sqrt(last.current_square), steady=np.ones(len(last.mean), bool))


def _marched(lanes: Lanes, speed: Array) -> Held:
    """March over cycles until the pattern counts; means run from the first to the last firing in the cycles counted."""
    seen: list[Cycle] = []
    for number in range(MOST_CYCLES):
        one = cycle(lanes, speed)
        speed = one.end
        if number >= SETTLING:
            seen.append(one)
        if len(seen) >= COUNTED and np.all(np.sum([c.fired for c in seen], axis=0) > FIRINGS):
            break
    fired = np.array([c.fired for c in seen])
    first = np.argmax(fired, axis=0)
    last = len(seen) - 1 - np.argmax(fired[::-1], axis=0)
    row = np.arange(len(seen))[:, None]
    counts = (row >= first) & (row < last) if len(seen) > 1 else np.ones_like(fired)
    counts = np.where((last > first) & fired.any(axis=0), counts, True)
    rows = {name: np.array([getattr(c, name) for c in seen]) for name in (
        "mean", "lowest", "highest", "angle", "peak", "current_square")}

    def over(values: Array) -> Array:
        return np.asarray(np.sum(np.where(counts, values, 0.0), axis=0) / np.sum(counts, axis=0))

    pulses = np.maximum(np.sum(counts & fired, axis=0), 1)
    none = ~np.any(counts & fired, axis=0)
    angles = np.where(counts & fired, np.nan_to_num(rows["angle"]), 0.0)
    return Held(
        mean=over(rows["mean"]), lowest=np.min(rows["lowest"], axis=0), highest=np.max(rows["highest"], axis=0),
        fired=over(fired.astype(float)), angle=np.where(none, np.nan, np.sum(angles, axis=0) / pulses),
        latest=np.where(none, np.nan, np.max(angles, axis=0)), peak=np.max(rows["peak"], axis=0),
        rms=np.sqrt(over(rows["current_square"])), steady=np.zeros(len(lanes), bool))


def share_for(lane: Lanes, speed: float) -> float:
    """Give the share of the mains at the wiper with which one lane has this mean speed (rad/s); nan where none has.

    The share grows with the speed; where more of it brings no more, the motor gives no more.
    """
    crest, own = float(lane.crest[0]), float(lane.standing[0] * speed + lane.offset[0])
    angles = np.radians(np.linspace(90.0, 6.0, SHARES - 3))
    shares = np.concatenate((own / crest * np.array([0.6, 0.8, 0.95]), own / crest / np.sin(angles)))
    for count in (AGAIN, AGAIN, 0):
        one = lane[np.zeros(len(shares), int)]
        reached = held(replace(one, share=shares)).mean
        past = np.flatnonzero(reached >= speed)
        if not past.size or past[0] == 0:
            return float("nan") if not past.size else float(shares[0])
        low, high = past[0] - 1, past[0]
        if not count:
            break
        shares = np.linspace(shares[low], shares[high], count)
    part = (speed - reached[low]) / (reached[high] - reached[low])
    return float(shares[low] + part * (shares[high] - shares[low]))
