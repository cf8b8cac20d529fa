"""A motor on phase angle through time: one half cycle of the source after the other, from any state, the speed moving.

Current, source's path and speed (and a separate field's current where it moves) are marched together by the
classical Runge–Kutta step (E. Hairer, S. Nørsett, G. Wanner, Solving Ordinary Differential Equations, from memory) from
switching instant to switching instant. Firing instants are known ahead; what ends a mode is found by taking the
last step again, shorter, until it ends there. Nothing is assumed to be periodic: control lost, a half missed, a pulse
that does not latch happen as they come.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from designer.waveforms.rectified import FREEWHEEL, OFF, OVERLAP, SOURCE
from designer.waveforms.transient_motor import Drag
from designer.waveforms.transient_rates import Flow, PhaseDrive, Place, Rates, rates, surplus

LEAST_STEPS = 48       # in a half cycle; measured: r.m.s. current of a steady state then holds to 2e-4
OVERLAPPED = 0.25      # of a step, while two paths conduct
STIFF = 0.8            # step times the fastest decay at most
HALVINGS = 8           # of a step on which a mode seems to end at once
MOST_MODES = 200       # in a half cycle: a bound, not a setting
ROOT = 1e-10           # s: instants of events
STEPS_OF_ROOT = 60     # of the search for one: a bound


@dataclass(frozen=True, kw_only=True)
class Mains:
    """The source in one half cycle: crest (V) and rad/s."""

    peak: float
    omega: float


@dataclass(frozen=True, kw_only=True)
class HalfCycle:
    """What one half cycle gave: s, A, rad/s.

    ``charge``, ``square``: ∫i, ∫i² of the motor's current; ``line_square`` of the source's path; ``turn``: ∫ω dt (rad);
    ``fired``: the device was turned on in it; ``lost``: the current of the half before still flowed at the firing
    angle.
    """

    time: float
    charge: float
    square: float
    line_square: float
    peak: float
    line_peak: float
    turn: float
    speed: float
    fired: bool
    lost: bool


class PhaseMarch:
    """The state of a drive and its march: ``half_cycle`` moves it on by one half cycle of the source."""

    def __init__(self, drive: PhaseDrive, *, speed: float = 0.0, field_current: float = 0.0) -> None:
        """Begin without armature current at a speed (rad/s), the half with the positive source next."""
        self.drive = drive
        self.mode, self.side, self.sign = OFF, 1, 1
        self.place: Place = (0.0, 0.0, speed, field_current, 0.0)
        self.last_fired = 0

    @property
    def speed(self) -> float:
        """The speed now, rad/s."""
        return self.place[2]

    @property
    def current(self) -> float:
        """The motor's current now, A."""
        return self.place[0]

    def half_cycle(self, alpha: float, mains: Mains, drag: Drag) -> HalfCycle:
        """March to the next zero of the source, the gate opened at ``alpha`` (rad after the last one).

        ``alpha`` not a number: no gate in this half. Raises ``ArithmeticError`` where modes follow each other without
        end.
        """
        fired = alpha == alpha and (self.drive.pulses == 2 or self.sign > 0)
        opens = alpha / mains.omega if fired else math.inf
        gate = self.drive.gate
        shuts = min(alpha + gate.pulse, math.pi - gate.guard) / mains.omega if fired else math.inf
        half = _Half(march=self, mains=mains, drag=drag, opens=opens, shuts=shuts)
        half.run()
        self.sign = -self.sign
        return HalfCycle(
            time=half.end, charge=half.charge, square=half.square, line_square=half.line_square, peak=half.peak,
            line_peak=half.line_peak, turn=half.turn, speed=self.speed, fired=half.fired, lost=half.lost)


class _Half:
    """One half cycle under way; time counts from the zero of the source that it begins with."""

    def __init__(self, *, march: PhaseMarch, mains: Mains, drag: Drag, opens: float, shuts: float) -> None:
        self.march, self.drive, self.mains, self.drag = march, march.drive, mains, drag
        self.opens, self.shuts = opens, shuts
        self.end, self.now = math.pi / mains.omega, 0.0
        self.charge = self.square = self.line_square = self.peak = self.line_peak = self.turn = 0.0
        self.fired = self.lost = self.latched = self.gated = False
        fastest = self.drive.resistance / self.drive.whole.least + march.speed * self.drive.whole.steepest
        self.step = self.end / max(LEAST_STEPS, math.ceil(self.end * fastest / STIFF))

    def run(self) -> None:
        """March to the end of the half cycle, mode after mode."""
        march = self.march
        for _ in range(MOST_MODES):
            self.gated = march.mode in (OFF, FREEWHEEL) and self._gate()
            if self.gated and self._over(self.now, march.place) > 0:
                self._turn_on()
            self._advance(self._rates())
            if self.now >= self.shuts and self.fired and not self.latched:
                self._latch()
            if self.now >= self.end - ROOT:
                return
        raise ArithmeticError("the modes of a half cycle follow each other without end")

    def _rates(self) -> Rates:
        march = self.march
        return rates(march.drive, march.mode, side=march.side, sign=march.side * march.sign,
                     supply=(self.mains.peak, self.mains.omega), drag=self.drag)

    def _gate(self) -> bool:
        """True where the device gets its gate, or needs none; it stays so until the march stops next."""
        if self.opens - ROOT <= self.now < self.shuts - ROOT:
            return True
        if self.march.mode != FREEWHEEL:
            return False
        return self.drive.held or (self.drive.keeps and self.march.last_fired == self.march.sign)

    def _over(self, now: float, place: Place) -> float:
        """By how much the source exceeds what opposes it while its path is off, V."""
        drive, side = self.drive, self.march.sign
        source = self.mains.peak * math.sin(self.mains.omega * now) - drive.on.threshold
        if self.march.mode == FREEWHEEL and drive.wheel is not None:
            behind = 0.0 if drive.source_inductance > 0 else drive.source_resistance + drive.on.slope
            return source + drive.wheel.threshold + (drive.wheel.slope - behind) * place[0]
        k = drive.remanence[0 if side > 0 or not drive.two_way else 1]
        if drive.field is not None:
            row = drive.field.at(place[3])
            k = (row[0] + row[1] * place[3] + k) * (side if drive.two_way else 1)
        return source - drive.back - k * place[2]

    def _enter(self, mode: int, current: float, line: float) -> None:
        """Change the mode, with the motor's and the source path's current that it begins with."""
        march = self.march
        path = self.drive.whole if mode == SOURCE else self.drive.motor
        march.mode = mode
        march.place = (current, line, march.place[2], march.place[3], path.linkage(current) if current else 0.0)

    def _turn_on(self) -> None:
        march = self.march
        i = march.place[0]
        march.side = march.last_fired = march.sign
        overlap = march.mode == FREEWHEEL and self.drive.source_inductance > 0 and i > 0
        self._enter(OVERLAP if overlap else SOURCE, i, 0.0 if overlap else i)
        self.fired, self.latched = True, self.drive.gate.latching <= 0

    def _latch(self) -> None:
        """Where the gate shuts before the device has latched it lets go again."""
        march = self.march
        self.latched = True
        i, line = march.place[:2]
        if march.mode not in (SOURCE, OVERLAP) or line >= self.drive.gate.latching:
            return
        free = self.drive.wheel is not None and i > 0
        self._enter(FREEWHEEL if free else OFF, i if free else 0.0, 0.0)
        self.fired = False

    def _advance(self, flow: Rates) -> None:
        """March until the mode ends, or until the gate opens, shuts, or the half cycle ends."""
        march = self.march
        width = min(OVERLAPPED * self.step, max(STIFF / flow.fastest, ROOT)) if march.mode == OVERLAP else self.step
        stop = min(t for t in (self.opens, self.shuts, self.end) if t > self.now + ROOT)
        while self.now < stop - ROOT:
            step = min(width, stop - self.now)
            after, sums = flow.step(self.now, march.place, step)
            if self._ends(self.now + step, after) < 0:
                self._end(flow, step)
                return
            self._take(step, after, sums)
        self.lost |= stop == self.opens and march.mode in (SOURCE, OVERLAP)

    def _take(self, step: float, after: Place, sums: Flow) -> None:
        self.now += step
        before, self.march.place = self.march.place[0], after
        self.charge += sums[0]
        self.square += sums[1]
        self.line_square += sums[2]
        self.turn += sums[3]
        line, top = after[1], max(after[0], before)
        if sums[4] > top:
            rise, bend = after[0] - before, 2 * sums[4] - before - after[0]
            top = sums[4] + 0.0625 * rise * rise / bend     # of the parabola through the three
        self.peak = max(self.peak, top)
        self.line_peak = max(self.line_peak, top if self.march.mode == SOURCE else line)

    def _ends(self, now: float, place: Place) -> float:
        """Below zero where the mode has ended: the least of what must not fall below zero in it."""
        mode, i, line = self.march.mode, place[0], place[1]
        if mode in (OFF, FREEWHEEL):
            least = 1.0 if mode == OFF else i
            return min(least, -self._over(now, place)) if self.gated else least
        if mode == OVERLAP:
            return min(line, i - line)
        return i if self.drive.wheel is None else min(i, surplus(self.drive, self._source(now), place))

    def _source(self, now: float) -> float:
        """The source as the path that conducts sees it, V."""
        return self.march.side * self.march.sign * self.mains.peak * math.sin(self.mains.omega * now)

    def _end(self, flow: Rates, step: float) -> None:
        """Find where in the step the mode ends, go there, and change the mode."""
        march, now = self.march, self.now

        def left(at: float) -> float:
            return self._ends(now + at, flow.step(now, march.place, at)[0])

        low, high = 0.0, step
        above, below = self._ends(now, march.place), left(step)
        if above <= 0:
            # begun at its own end: look whether it goes on at all
            high = step / 2**HALVINGS
            for part in (step / 2**n for n in range(1, HALVINGS)):
                above = left(part)
                if above > 0:
                    low, high = part, 2 * part
                    break
            below = left(high)
        if above > 0:
            high = _root(left, (low, above), (high, below))
        self._take(high, *flow.step(now, march.place, high))
        self._change()

    def _change(self) -> None:
        i, line = self.march.place[:2]
        mode = self.march.mode
        if i <= 0:
            self._enter(OFF, 0.0, 0.0)
        elif mode == SOURCE:
            overlap = self.drive.source_inductance > 0
            self._enter(OVERLAP if overlap else FREEWHEEL, i, i if overlap else 0.0)
        elif mode == OVERLAP:
            through = line > 0.5 * i
            self._enter(SOURCE if through else FREEWHEEL, i, i if through else 0.0)


def _root(of: Callable[[float], float], low: tuple[float, float], high: tuple[float, float]) -> float:
    """Where a value that is above zero at ``low`` and below at ``high`` passes it, from below: false position, halved.

    The Illinois rule: the end that stays twice counts half.
    """
    (a, f_a), (b, f_b), kept = low, high, 0
    for _ in range(STEPS_OF_ROOT):
        if b - a < ROOT:
            break
        at = a + (b - a) * f_a / (f_a - f_b)
        at = min(max(at, a + 0.1 * ROOT), b - 0.1 * ROOT)
        now = of(at)
        if now < 0:
            b, f_b = at, now
            f_a = 0.5 * f_a if kept < 0 else f_a
            kept = -1
        else:
            a, f_a = at, now
            f_b = 0.5 * f_b if kept > 0 else f_b
            kept = 1
    return b
