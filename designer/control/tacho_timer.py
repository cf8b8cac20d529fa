"""The timer that reads a tacho: whole ticks between edges, averaged over edges, as hardware and program do it.

Deterministic: the same edges give the same reading. Used by the simulation, mirrored by the program.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from designer.equations import tacho as eq
from designer.results import Step

#: dividers of a timer's clock (on most small controllers, from memory)
PRESCALERS = (1, 8, 64, 256, 1024)
#: mean intervals that an edge may stay out before the reading falls: magnets are uneven (common practice, no source)
LATE = 1.25
_TINY = 1e-9      # of an edge interval: an edge on the border of two updates belongs to the earlier one


@dataclass(frozen=True, kw_only=True)
class Captured:
    """What is kept between two updates: angle (rad) and time (s) reached, the last edges in ticks, newest last.

    ``reading`` (rad/s) is the last speed told.
    """

    angle: float = 0.0
    time: float = 0.0
    edges: tuple[int, ...] = ()
    reading: float = 0.0


@dataclass(frozen=True, kw_only=True)
class TachoTimer:
    """A timer of ``bits`` at ``clock`` (Hz, after its divider) that times ``averaging`` intervals of ``pulses`` a turn.

    ``places``: where the edges of a turn stand, as shares of it, rising in 0 to 1 (magnets are never quite even);
    left out they are even.
    """

    clock: float
    pulses: int
    averaging: int = 1
    bits: int = 16
    places: tuple[float, ...] = field(default=())

    @property
    def lowest(self) -> float:
        """Speed, rad/s, below which an edge interval passes the timer's whole round: it reads zero there."""
        return float(eq.LOWEST_BY_OVERFLOW(f_c=self.clock, p_c=self.pulses, b_t=self.bits))

    def measure(self, speed: float) -> float:
        """Give the reading, rad/s, at a steady ``speed`` (rad/s): whole ticks, rounded down; 0 below ``lowest``."""
        if speed < self.lowest or not speed > 0:
            return 0.0
        return self.speed(math.floor(2 * math.pi * self.averaging * self.clock / (self.pulses * speed)), self.averaging)

    def speed(self, ticks: int, intervals: int) -> float:
        """Give the speed, rad/s, of ``intervals`` edge intervals in ``ticks``; a tick at least counts."""
        return 2 * math.pi * intervals * self.clock / (self.pulses * max(ticks, 1))

    def step(self, speed: float) -> Step:
        """The step between two neighbouring readings at ``speed`` (rad/s), worked."""
        return Step(formula=eq.TICK_STEP, inputs={
            "omega": speed, "p_c": float(self.pulses), "n_a": float(self.averaging), "f_c": self.clock})

    def age(self, speed: float) -> float:
        """Give the mean age, s, of a reading at ``speed`` (rad/s)."""
        return float(eq.TIMED_AGE(n_a=self.averaging, p_c=self.pulses, omega=speed))

    def update(self, before: Captured, *, angle: float, time: float) -> Captured:
        """Give what is captured at ``time`` (s), the shaft having turned evenly to ``angle`` (rad) since ``before``.

        The reading is the mean over up to ``averaging`` intervals. While the next edge is late (``LATE``), the speed
        can be no more than one interval over the time waited, and that is told; once the timer has gone round, zero.
        """
        found = list(before.edges)
        for crossing in self._crossings(before.angle, angle):
            share = (crossing - before.angle) / (angle - before.angle)
            found.append(math.floor((before.time + share * (time - before.time)) * self.clock))
        kept = self._unbroken(found)[-self.averaging - 1:]
        return Captured(angle=angle, time=time, edges=kept, reading=self._reading(kept, math.floor(time * self.clock)))

    def _reading(self, edges: tuple[int, ...], now: int) -> float:
        waited = now - edges[-1] if edges else 0
        if len(edges) < 2 or waited >= 2**self.bits:
            return 0.0
        told = self.speed(edges[-1] - edges[0], len(edges) - 1)
        late = waited * (len(edges) - 1) > LATE * (edges[-1] - edges[0])
        return self.speed(waited, 1) if late else told

    def _unbroken(self, edges: list[int]) -> tuple[int, ...]:
        """The edges after the last interval that passed the timer's round: that one cannot be told."""
        gaps = [i for i in range(1, len(edges)) if edges[i] - edges[i - 1] >= 2**self.bits]
        return tuple(edges[gaps[-1]:] if gaps else edges)

    def _crossings(self, start: float, end: float) -> list[float]:
        """Angles, rad, of the edges after ``start`` up to ``end``."""
        places = self.places or tuple(k / self.pulses for k in range(self.pulses))
        turns = range(math.floor(start / (2 * math.pi)), math.floor(end / (2 * math.pi)) + 1)
        slack = _TINY * 2 * math.pi / self.pulses
        at = (2 * math.pi * (turn + place) for turn in turns for place in places)
        return [angle for angle in at if start + slack < angle <= end + slack]


def prescaler(*, clock: float, pulses: int, bits: int, lowest: float) -> int | None:
    """Give the smallest divider of ``clock`` (Hz) with which the timer spans an interval at ``lowest`` (rad/s).

    None where no usual divider does.
    """
    return next((p for p in PRESCALERS
                 if eq.LOWEST_BY_OVERFLOW(f_c=clock / p, p_c=pulses, b_t=bits) <= lowest), None)
