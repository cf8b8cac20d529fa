"""One motor with its circuit, regulator and tacho through time: the machine, the trace, the run from beat to beat.

A beat is the time between two firings (a half cycle, a whole one where only one half is fired), on a chopper the
sample. The command reckoned in a beat acts from the next one on, as the program has it. A bus stands at its mean for
what the chopper draws: its ripple and what its reservoir takes in a step are left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from designer.circuits.bus import Source, bus
from designer.circuits.case import Circuit, Fixed, Points
from designer.circuits.transient import chopper_drive, phase_drive
from designer.control.command import CommandTable
from designer.control.regulator import SpeedRegulator
from designer.control.tacho_timer import Captured, TachoTimer
from designer.results import Array
from designer.waveforms.transient_chopper import ChopperMarch
from designer.waveforms.transient_motor import Drag
from designer.waveforms.transient_phase import Mains, PhaseMarch

WARM_UP = 40           # beats at a speed held, until the currents are those of the steady state
BUS_POINTS = 25        # currents at which the bus is solved
COLUMNS = ("time", "speed", "mean", "rms", "peak", "line_rms", "line_peak", "command", "setting")


@dataclass(frozen=True, kw_only=True)
class Trace:
    """What happened, one entry a half cycle (or sample): its end (s), the speed there (rad/s), what flowed in it (A).

    ``mean`` is the mean speed of the entry, over which a series motor's torque makes the speed sway. ``rms`` and
    ``peak`` of the motor's current, ``line_rms`` and ``line_peak`` of the line's (of a bus: of its steady state at the
    mean that the chopper draws); ``command`` (nan where no loop acts) and ``setting`` (rad, share or A) that acted.
    """

    time: Array
    speed: Array
    mean: Array
    rms: Array
    peak: Array
    line_rms: Array
    line_peak: Array
    command: Array
    setting: Array

    def after(self, begin: float) -> Trace:
        """The part after a time, s."""
        at = self.time > begin + 1e-9
        return Trace(**{name: getattr(self, name)[at] for name in COLUMNS})

    @property
    def steps(self) -> Array:
        """The time that each entry took, s."""
        return np.diff(self.time, prepend=max(2 * self.time[0] - self.time[1], 0.0) if len(self.time) > 1 else 0.0)

    @property
    def heating(self) -> float:
        """∫i²dt of the line, A²s."""
        return float(np.sum(self.line_rms**2 * self.steps))


class Machine:
    """Circuit and motor in the conditions of a point, moved on beat by beat."""

    def __init__(self, circuit: Circuit, fixed: Fixed, points: Points, *, inertia: float) -> None:
        """Begin at the point's speed with its field built up; ``inertia`` (kg·m²) is all that turns."""
        self.phase = circuit.setting == "firing_angle"
        speed = float(points.speed[0])
        current = 0.0 if fixed.field is None else float(points.field_current[0])
        self.march: PhaseMarch | ChopperMarch
        if self.phase:
            self.march = PhaseMarch(phase_drive(circuit, fixed, points), speed=speed, field_current=current)
        else:
            self.march = ChopperMarch(chopper_drive(circuit, fixed, points), speed=speed, field_current=current)
        self.angle = self.drawn = 0.0
        self.meet(circuit, fixed, points, inertia=inertia)

    def meet(self, circuit: Circuit, fixed: Fixed, points: Points, *, inertia: float) -> None:
        """Go on under other conditions: supply, load, friction, windings, inertia, a device shorted, a field lost."""
        march, drag = self.march, Drag.of(
            fixed.motor, fixed.load, inertia=inertia, friction=float(points.friction[0]), share=float(points.load[0]))
        self.drag, volts, self.frequency = drag, float(points.voltage[0]), float(points.frequency[0])
        if isinstance(march, PhaseMarch):
            march.drive = phase_drive(circuit, fixed, points)
            self.mains = Mains(peak=math.sqrt(2.0) * volts, omega=2 * math.pi * self.frequency)
            self.beat = (3 - march.drive.pulses) * 0.5 / self.frequency
            return
        march.drive = chopper_drive(circuit, fixed, points)
        ohms = march.drive.resistance + march.drive.on.slope
        top = volts * (math.sqrt(2.0) if fixed.feed.alternating else 1.0)
        currents = np.linspace(0.0, min(march.drive.limit, top / ohms), BUS_POINTS)
        source = Source(voltage=np.full(BUS_POINTS, volts), frequency=np.full(BUS_POINTS, self.frequency))
        solved = bus(fixed.feed, source, currents)
        lines = (currents, currents) if solved.charged is None else (
            solved.charged.line_rms, solved.charged.line_peak)
        good = np.isfinite(solved.mean)
        self.bus = tuple(column[good] for column in (currents, solved.mean, *lines))

    def go(self, setting: float, time: float, *, drag: Drag | None = None) -> list[tuple[float, ...]]:
        """March by one beat (a chopper: by ``time``); a row each half cycle: length, speed, currents as a trace has."""
        march, drag = self.march, drag or self.drag
        rows: list[tuple[float, ...]] = []
        if isinstance(march, PhaseMarch):
            for _ in range(3 - march.drive.pulses):
                half = march.half_cycle(setting, self.mains, drag)
                self.angle += half.turn
                rms, line = (math.sqrt(square / half.time) for square in (half.square, half.line_square))
                rows.append((half.time, half.speed, half.turn / half.time, rms, half.peak, line, half.line_peak))
            return rows
        currents, means, line_rms, line_peak = self.bus
        volts = float(np.interp(self.drawn, currents, means))
        one = march.span(setting, volts=volts, time=time, drag=drag)
        self.drawn = 0.5 * (self.drawn + one.drawn / one.time)      # half: the reservoir lets it change no faster
        self.angle += one.turn
        rms = math.sqrt(max(one.square, 0.0) / one.time)
        line, crest = (float(np.interp(one.drawn / one.time, currents, column)) for column in (line_rms, line_peak))
        return [(one.time, one.speed, one.turn / one.time, rms, one.peak, line, crest)]

    @property
    def speed(self) -> float:
        """The speed now, rad/s."""
        return self.march.speed


@dataclass(frozen=True, kw_only=True)
class Event:
    """Something that happens at a time (s): new conditions, the tacho silent, the loop's setting overridden.

    ``setting``: what acts whatever the loop says (nan: no gate, no output); None leaves it to the loop.
    """

    time: float
    fixed: Fixed
    points: Points
    inertia: float
    circuit: Circuit
    silent: bool = False
    setting: float | None = None


class Loop:
    """Regulator, command table and tacho of a run; what the timer has captured changes as it runs."""

    def __init__(
        self, regulator: SpeedRegulator, table: CommandTable, timer: TachoTimer, *, sample_time: float
    ) -> None:
        """``sample_time`` in s; nothing captured yet."""
        self.regulator, self.table, self.timer, self.sample_time = regulator, table, timer, sample_time
        self.captured = Captured()

    def sees(self, angle: float, time: float) -> float:
        """The speed as read, rad/s."""
        self.captured = self.timer.update(self.captured, angle=angle, time=time)
        return self.captured.reading


class Run:
    """A run under way: a machine under a loop, and the rows of its trace."""

    def __init__(self, machine: Machine, loop: Loop, *, settled: float | None = None) -> None:
        """Begin at rest; with ``settled``, a command, as after a long time at the machine's speed."""
        self.machine, self.loop = machine, loop
        self.rows: list[tuple[float, ...]] = []
        self.time = 0.0
        self.setting = float(loop.table.setting_at(0.0 if settled is None else settled))
        if settled is None:
            return
        length, held = self._length(), Drag(inertia=math.inf)
        self.time = -WARM_UP * length
        for _ in range(WARM_UP):
            self.time += sum(row[0] for row in machine.go(self.setting, length, drag=held))
            loop.sees(machine.angle, self.time + 1.0)
        loop.regulator.settle(command=settled, speed=machine.speed)
        self.time = 0.0

    def _length(self) -> float:
        return self.machine.beat if self.machine.phase else self.loop.sample_time

    def until(self, end: float, *, event: Event | None = None, above: float = math.inf) -> None:
        """Run on to a time (s), or until the speed passes ``above`` (rad/s), under what ``event`` has brought."""
        machine, loop = self.machine, self.loop
        override = None if event is None else event.setting
        if event is not None:
            machine.meet(event.circuit, event.fixed, event.points, inertia=event.inertia)
        count, length = max(round(loop.sample_time / self._length()), 1), self._length()
        beats = 0
        while self.time < end - 1e-9 and machine.speed < above:
            command, acts = loop.regulator.command, self.setting if override is None else override
            if beats % count == 0:
                seen = loop.sees(machine.angle, self.time + 1.0)
                ordered = loop.regulator.step(0.0 if event is not None and event.silent else seen)
            else:
                ordered = command
            for row in machine.go(acts, length):
                self.time += row[0]
                self.rows.append((self.time, *row[1:], command if override is None else math.nan, acts))
            self.setting = float(loop.table.setting_at(ordered))
            beats += 1

    def trace(self) -> Trace:
        """What has happened so far."""
        columns = np.array(self.rows, float).T
        return Trace(**dict(zip(COLUMNS, columns, strict=True)))


def smooth(speed: Sequence[float] | Array) -> Array:
    """The mean of every entry and the one before: both halves of a period count, where they differ."""
    values = np.asarray(speed, float)
    return np.concatenate((values[:1], 0.5 * (values[1:] + values[:-1])))
