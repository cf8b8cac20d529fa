"""The guard of a speed loop: what it watches, how soon it acts, and where its trip lies.

Safe side: times up, the trip's speed down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from designer.equations import guard as eq
from designer.results import Step

ABOVE = 1.15            # of the fastest loaded running speed: the trip; common practice, no source
SHORT_IN_A_ROW = 2      # edge intervals below the shortest allowed: one alone is a spike; common practice, no source
LOST_STEPS = 3          # of the regulator without an edge, at least; common practice, no source
LOST_INTERVALS = 2.0    # of the edges at the slowest usable speed, at least; common practice, no source
WATCHDOG_STEPS = 3.0    # common practice, no source
START_TIMES = 2.0       # of the time to break away; common practice, no source
LEAST_START = 0.3       # s: commanded, and no pulses in 100 to 300 ms (seen in logs of such drives)
LONGEST_START = 5.0     # s: a jam would last as long


@dataclass(frozen=True, kw_only=True)
class Loop:
    """What the guard must know of the loop: edges a turn, slowest usable speed (rad/s), times (s), gain (s/rad).

    ``target`` (rad/s) is reached over ``ramp``; ``break_away`` the command that starts the shaft at the worst corner;
    ``blocked``: from blocking the output to no current (a half cycle on phase angle); ``opening`` of the second path.
    """

    pulses: int
    slowest: float
    sample_time: float
    gain: float
    integral_time: float
    target: float
    ramp: float
    break_away: float
    blocked: float
    opening: float


@dataclass(frozen=True, kw_only=True)
class Guard:
    """The guard as made: its trip (rad/s), steps for each time (s), and the loop that it watches."""

    loop: Loop
    trip_speed: float
    fast: Step
    lost: Step
    watchdog: Step
    start: Step

    @property
    def lost_time(self) -> float:
        """s without an edge that trips, running."""
        return float(self.lost.inputs["N_lost"]) * self.loop.sample_time

    @property
    def start_time(self) -> float:
        """s of output without any edge that trips, starting."""
        return max(LEAST_START, START_TIMES * self.start.value)

    @property
    def jam(self) -> float:
        """s, the longest for which a jammed shaft carries current, from the output coming on."""
        return self.start_time + self.loop.sample_time + max(self.loop.blocked, self.loop.opening)

    @property
    def steps(self) -> tuple[Step, ...]:
        """The worked steps."""
        return self.fast, self.lost, self.watchdog, self.start


def guard(loop: Loop, *, running: float, given: float | None = None) -> Guard:
    """Give the guard; ``running`` is the fastest loaded speed (rad/s), ``given`` the file's own trip speed."""
    trip = ABOVE * running if given is None else given
    longest = LOST_INTERVALS * 2 * math.pi / (loop.pulses * loop.slowest)
    lost = max(LOST_STEPS, math.ceil(longest / loop.sample_time))
    return Guard(
        loop=loop, trip_speed=trip,
        fast=Step(formula=eq.FAST_SEEN, inputs={
            "n_s": SHORT_IN_A_ROW + 1.0, "z_p": float(loop.pulses), "w_trip": trip}),
        lost=Step(formula=eq.LOST_SEEN, inputs={"N_lost": float(lost), "T_s": loop.sample_time}),
        watchdog=Step(formula=eq.WATCHDOG, inputs={"N_dog": WATCHDOG_STEPS, "T_s": loop.sample_time}),
        start=Step(formula=eq.BREAK_AWAY, inputs={
            "T_i": loop.integral_time, "u_b": max(loop.break_away, 1e-6), "K_p": loop.gain,
            "a_r": loop.target / loop.ramp}))


@dataclass(frozen=True, kw_only=True)
class Race:
    """One fault against the rotor: time (s) to the speed limit, to seeing it, and to the current being off.

    ``since`` tells from where both are counted; ``sees`` and ``acts`` what does so.
    """

    fault: str
    since: str
    sees: str
    acts: str
    up: float
    seen: float
    off: float

    @property
    def step(self) -> Step:
        """How many times the guard is the faster."""
        return Step(formula=eq.GUARD_RATIO, inputs={"t_up": self.up, "t_see": self.seen, "t_off": self.off},
                    note=self.fault)

    def won(self, factor: float) -> bool:
        """True where the guard is faster by ``factor`` or more."""
        return math.isinf(self.up) or self.step.value >= factor
