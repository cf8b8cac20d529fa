"""A motor on a chopper through time: switching periods in closed form, the speed moving, from any state.

On the straight piece of the flux table that holds the linkage λ the loop is linear: dλ/dt = A − B·λ, solved exactly
over on-time, off-time and what the current limit leaves of them. While the current neither stops nor meets its limit
some periods are taken together at their mean voltage, which gives the mean current exactly; the ripple is then put on.
Field current and speed move on from block to block.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from designer.waveforms.transient_motor import Drag, FieldTable, PathTable
from designer.waveforms.transient_rates import Drops, FieldFed

BLOCK = 1e-3        # s: the longest that is taken together, at the speed expected in its middle
SAME = 1e-4         # of the linkage: where a period ends as it began, those after it are like it
PART = 12           # cells of the flux table that one part may pass
CLEAR = 1.5         # of the ripple: how far the mean current stays from zero and limit while periods are taken together


@dataclass(frozen=True, kw_only=True)
class ChopperDrive:
    """Devices, motor and chopping; ohm, V, s, A.

    ``path``: that of the motor's current; ``field``: a separate field (None with a series winding), ``fed`` by its
    supply. ``back``: brushes; ``resistance``: the windings that carry the motor's current. ``shortest`` on-time, which
    the ``limit`` of the current cannot shorten. ``chops_field``: the setting is the field's current, whose transistor
    holds it as the bus lets it, through ``field_drops`` (transistor, diode); the armature is then always on.
    """

    path: PathTable
    field: FieldTable | None
    fed: FieldFed | None
    on: Drops
    wheel: Drops
    back: float
    resistance: float
    remanence: float
    period: float
    shortest: float = 0.0
    limit: float = math.inf
    chops_field: bool = False
    field_drops: tuple[Drops, Drops] = (Drops(), Drops())


@dataclass(frozen=True, kw_only=True)
class Span:
    """What an interval gave: s, A, rad/s. ``charge``, ``square``: ∫i, ∫i² of the motor; ``drawn``: ∫i from the bus.

    ``limited``: the current limit shortened an on-time in it.
    """

    time: float
    charge: float
    square: float
    drawn: float
    peak: float
    turn: float
    speed: float
    field_current: float
    limited: bool


#: A and B of dλ/dt = A − B·λ; the current at no linkage (A) and its slope (1/H)
_Piece = tuple[float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class _Loop:
    """The loop on its straight piece: volts less drops, and ohm."""

    volts: float
    ohms: float


class ChopperMarch:
    """The state of a drive and its march: ``span`` moves it on by whole switching periods."""

    def __init__(self, drive: ChopperDrive, *, speed: float = 0.0, field_current: float = 0.0) -> None:
        """Begin without armature current at a speed (rad/s) and a field current (A)."""
        self.drive = drive
        self.speed, self.field_current, self.linkage = speed, field_current, 0.0
        self.ahead, self.gain = speed, 0.0      # speed expected in the middle of a block; acceleration in the last
        self._clear()

    def _clear(self) -> None:
        self.charge = self.square = self.drawn = self.peak = self.turn = 0.0
        self.limited = False

    @property
    def current(self) -> float:
        """The motor's current now, A."""
        return self.drive.path.current(self.linkage)

    def span(self, setting: float, *, volts: float, time: float, drag: Drag) -> Span:
        """March by ``time`` (s), rounded to whole periods, at a duty (or a field current, A) and a bus of ``volts``."""
        self._clear()
        drive = self.drive
        left = max(round(time / drive.period), 1)
        whole = left * drive.period
        duty = 1.0 if drive.chops_field else min(max(setting, 0.0), 1.0)
        most = max(int(BLOCK / drive.period), 1)
        while left:
            count = min(most, left)
            even = (duty >= 1.0 and drive.limit == math.inf) or self._even(duty, volts, count)
            dt = count * drive.period
            self.ahead = max(self.speed + 0.5 * dt * self.gain, 0.0)
            before, kept = self.charge, self._flux()
            if even:
                self._together(duty, volts, dt)
            else:
                count = self._repeated(duty, volts, count)
                dt = count * drive.period
            self._move(dt, charge=self.charge - before, kept=kept, drag=drag)
            self._field(dt, setting, volts)
            left -= count
        return Span(time=whole, charge=self.charge, square=self.square, drawn=self.drawn, peak=self.peak,
                    turn=self.turn, speed=self.speed, field_current=self.field_current, limited=self.limited)

    def _repeated(self, duty: float, volts: float, count: int) -> int:
        """One period, and those like it where it ends as it began; give how many."""
        start, sums = self.linkage, (self.charge, self.square, self.drawn)
        self._one(duty, volts)
        if abs(self.linkage - start) > SAME * max(start, self.linkage):
            return 1
        self.charge += (count - 1) * (self.charge - sums[0])
        self.square += (count - 1) * (self.square - sums[1])
        self.drawn += (count - 1) * (self.drawn - sums[2])
        return count

    def _flux(self) -> float:
        """The part of k (V·s) that does not follow the motor's current."""
        drive = self.drive
        if drive.field is None:
            return drive.remanence
        row = drive.field.at(self.field_current)
        return row[0] + row[1] * self.field_current + drive.remanence

    def _loops(self, volts: float) -> tuple[_Loop, _Loop]:
        drive = self.drive
        return (_Loop(volts=volts - drive.on.threshold - drive.back, ohms=drive.resistance + drive.on.slope),
                _Loop(volts=-drive.wheel.threshold - drive.back, ohms=drive.resistance + drive.wheel.slope))

    def _swing(self, duty: float, volts: float) -> float:
        """The ripple of the current about its mean, A peak to peak."""
        on, off = self._loops(volts)
        row = self.drive.path.rows[int(self.linkage * self.drive.path.per_cell)]
        return row[1] * (on.volts - off.volts) * duty * (1 - duty) * self.drive.period

    def _even(self, duty: float, volts: float, count: int) -> bool:
        """True where some periods may be taken together: the current flows all through, well below its limit."""
        current, swing = self.current, self._swing(duty, volts)
        rise = abs(self._rate(duty, volts)) * count * self.drive.period
        return CLEAR * swing + rise < current < self.drive.limit - CLEAR * swing - rise

    def _rate(self, duty: float, volts: float) -> float:
        """Slope of the mean current, A/s."""
        on, off = self._loops(volts)
        row = self.drive.path.rows[int(self.linkage * self.drive.path.per_cell)]
        current = row[0] + row[1] * self.linkage
        k = row[2] + row[3] * self.linkage + self._flux()
        mean = duty * on.volts + (1 - duty) * off.volts
        return row[1] * (mean - (duty * on.ohms + (1 - duty) * off.ohms) * current - k * self.ahead)

    def _together(self, duty: float, volts: float, time: float) -> None:
        """Periods at their mean voltage; at full duty there is no other."""
        on, off = self._loops(volts)
        mean = _Loop(volts=duty * on.volts + (1 - duty) * off.volts, ohms=duty * on.ohms + (1 - duty) * off.ohms)
        swing = self._swing(duty, volts)
        before = self.charge
        self._phase(mean, time, half=0.5 * swing)
        self.drawn += duty * (self.charge - before)
        self.square += swing * swing / 12 * time

    def _one(self, duty: float, volts: float) -> None:
        """One period: on until its time or the limit, then off."""
        on, off = self._loops(volts)
        drive, before = self.drive, self.charge
        on_time = duty * drive.period
        used = min(drive.shortest, on_time) if drive.limit < math.inf else on_time
        self._phase(on, used)
        if used < on_time:
            more = self._phase(on, on_time - used, until=drive.path.linkage(drive.limit))
            self.limited |= more < on_time - used
            used += more
        self.drawn += self.charge - before
        self._phase(off, drive.period - used)

    def _phase(self, loop: _Loop, time: float, *, half: float = 0.0, until: float = math.inf) -> float:
        """Solve one loop over a time, or until the linkage is ``until`` or zero; give the time taken.

        A current that makes its own field is taken in parts, each on the straight piece in its middle. ``half`` (A):
        half of a ripple that stands on the current.
        """
        left = time
        while left > 0.0:
            if self.linkage >= until:
                return time - left
            start = self.linkage
            piece = self._straight(loop, start)
            if start <= 0.0 and piece[0] <= 0.0:
                return time
            if self.drive.field is None:
                after = max(_after(piece, start, left), 0.0)
                parts = max(math.ceil(abs(after - start) * self.drive.path.per_cell / PART), 1)
                ahead = _after(piece, start, 0.5 * left / parts)
                piece = self._straight(loop, max(ahead, 0.0))
                left -= self._part(piece, left / parts, until=until, half=half)
                if parts == 1:
                    break
            else:
                left -= self._part(piece, left, until=until, half=half)
                break
        return time - max(left, 0.0) if self.linkage > 0.0 else time

    def _straight(self, loop: _Loop, linkage: float) -> _Piece:
        """A and B of dλ/dt = A − B·λ, and the current against linkage, on the piece that holds a linkage."""
        i0, i1, g0, g1, _, _ = self.drive.path.rows[int(linkage * self.drive.path.per_cell)]
        a = loop.volts - loop.ohms * i0 - (g0 + self._flux()) * self.ahead
        return a, loop.ohms * i1 + g1 * self.ahead, i0, i1

    def _part(self, piece: _Piece, time: float, *, until: float, half: float) -> float:
        """Solve one part, take in its integrals and peak, and give the time that it lasted."""
        a, b, i0, i1 = piece
        start, end, flows = self.linkage, a / b, time
        after = _after(piece, start, time)
        if after < 0.0:
            flows, after = math.log((start - end) / -end) / b, 0.0
        elif after > until:
            flows, after = math.log((end - start) / (end - until)) / b, until
        fall = (start - after) / b                  # ∫(λ − end) dt
        first = end * flows + fall
        second = end * (end * flows + 2 * fall) + 0.5 * (start + after - 2 * end) * fall
        self.charge += i0 * flows + i1 * first
        self.square += i0 * (i0 * flows + 2 * i1 * first) + i1 * i1 * second
        self.peak = max(self.peak, i0 + i1 * start + half, i0 + i1 * after + half)
        self.linkage = after
        return flows

    def _move(self, time: float, *, charge: float, kept: float, drag: Drag) -> None:
        """The speed after a block whose current gave ``charge``; ``kept`` is the flux apart from the current's."""
        drive, speed = self.drive, self.speed
        mean = charge / time
        row = drive.path.rows[int(drive.path.linkage(mean) * drive.path.per_cell)] if drive.field is None else None
        iron = row or (drive.field.at(self.field_current) if drive.field is not None else (0.0,) * 6)
        k = kept if row is None else kept + row[2] + row[3] * drive.path.linkage(mean)
        hysteresis, eddy = iron[4], iron[5]
        torque = k * mean - eddy * speed - (hysteresis if speed > 0.0 else 0.0)
        half = max(speed + 0.5 * time * drag.acceleration(torque, speed), 0.0)
        self.gain = drag.acceleration(torque, half)
        self.speed = max(speed + time * self.gain, 0.0)
        self.turn += 0.5 * time * (speed + self.speed)

    def _field(self, time: float, setting: float, volts: float) -> None:
        """The field current after a block, its inductance that at its begin."""
        drive, now = self.drive, self.field_current
        if drive.field is None or drive.fed is None:
            return
        row = drive.field.at(now)
        inductance = row[2] + row[3] * now
        if not drive.chops_field:
            self.field_current = max(_towards(drive.fed, now, inductance, time), 0.0)
            return
        rising = now < setting
        drops = drive.field_drops[0 if rising else 1]
        fed = FieldFed(voltage=(volts if rising else 0.0) - drops.threshold,
                       resistance=drive.fed.resistance + drops.slope)
        after = max(_towards(fed, now, inductance, time), 0.0)
        self.field_current = min(after, setting) if rising else max(after, setting)


def _after(piece: _Piece, start: float, time: float) -> float:
    """The linkage a time later on one straight piece."""
    end = piece[0] / piece[1]
    return end + (start - end) * math.exp(-piece[1] * time)


def _towards(fed: FieldFed, now: float, inductance: float, time: float) -> float:
    """The field current a time later, A."""
    if fed.voltage is None:
        return now
    end = fed.voltage / fed.resistance
    return end + (now - end) * math.exp(-fed.resistance * time / inductance)
