"""A loop that holds the speed, tried on the full non-linear motor: start, load and mains steps, and what may fail.

Every scenario begins at rest or settled at the target and is told by its trace and a few figures. Starts and steps
are run at the supply and windings that make them worst; faults at high supply, cold windings, least friction.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from designer.circuits.balance import find_setting
from designer.circuits.case import Fixed, Points
from designer.control.regulator import SpeedRegulator
from designer.equations.motor import REFERRED_INERTIA
from designer.motor.field_feed import FieldFeed
from designer.parts.fuse_demand import Pulse
from designer.parts.fuse_gates import Link, opening_time
from designer.project.model import Project
from designer.quantities import shown
from designer.results import Quantity, Reason
from designer.studies.closed_loop import LOOP_BAND
from designer.studies.groups import voltages
from designer.studies.holding import Holding
from designer.studies.rows import FIELD_LOST, FIELD_LOST_LOADED, FRICTION_BOUNDS
from designer.studies.simulation import Event, Loop, Machine, Run, Trace, smooth
from designer.studies.survey import Survey, speed_limit

BEFORE = 0.3          # s that are shown before a step
AFTER = 1.5           # s after it, and as much again while the speed has not settled, up to
MOST_AFTER = 6.0      # s
LONGEST_FAULT = 30.0  # s: a fault is followed no longer
CHUNK, STILL = 0.5, 1e-3   # s; share of the speed: where it changes by less in that time a fault has run its course
DIODE = 0.8           # V: a silicon diode across a field whose supply is gone; common practice, no source
LAST = 0.4            # s at the end of a trace: over them the steady speed is taken


#: a start, a step of load or supply or the load lost, all with the loop at work; a fault that it cannot meet
Kind = Literal["start", "step", "fault"]


@dataclass(frozen=True, kw_only=True)
class ScenarioResult:
    """One scenario: its trace and figures; speeds at the motor, rad/s, times from the event on, s.

    ``peak`` of the motor's current, ``line_peak`` and ``heating`` (∫i²dt) of the line's, after the event. ``settled``:
    until the speed stays within the band (infinite: it does not); ``overshoot``, ``dip``: greatest and least speed over
    the target, as shares of it; ``steady_error`` likewise over the end of the trace. ``limit_time``: until the speed
    limit is passed, infinite where it is not; ``cut``: when the guard blocks the output, None where it has no part.
    """

    name: str
    kind: Kind
    event: float
    target: float
    band: float
    trace: Trace
    peak: float
    line_peak: float
    heating: float
    settled: float
    overshoot: float
    dip: float
    steady_error: float
    highest: float
    limit_time: float
    limit: float | None
    cut: float | None = None

    @property
    def pulse(self) -> Pulse:
        """The current as one pulse: its r.m.s. over the time until it has settled, or over all of it."""
        shown = self.trace.after(self.event)
        end = self.settled if math.isfinite(self.settled) else float(shown.time[-1]) - self.event
        at = shown.time <= self.event + end + 1e-9
        time = float(np.sum(shown.steps[at]))
        heat = float(np.sum((shown.line_rms**2 * shown.steps)[at]))
        return Pulse(name=self.name, rms=math.sqrt(heat / time) if time > 0 else 0.0, time=time)


def fuse_factor(result: ScenarioResult, link: Link) -> float:
    """How many times longer than the scenario's pulse lasts the fuse bears its current (its gate's shortest time)."""
    pulse = result.pulse
    return opening_time(link, current=pulse.rms)[0] / pulse.time if pulse.time > 0 else math.inf


def stands_against(results: tuple[ScenarioResult, ...]) -> Iterator[Reason]:
    """Give a reason for a start that does not reach its speed, a step that is not settled, a limit passed with a loop.

    Faults that the loop cannot meet (a switch shorted, a field lost) are the guard's: they are held in its own table.
    """
    for one in results:
        at_work = one.kind != "fault"
        if at_work and one.settled == math.inf:
            yield Reason(
                code=f"loop-{one.kind}-unsettled", message=f"Simulated on the full motor ({one.name}): the speed does "
                f"not come into the band; at the end it is {shown(one.target * (1 + one.steady_error), 'rad/s')} of "
                f"the motor, {shown(one.target, 'rad/s')} are wanted.", figure=Quantity(one.steady_error, "1"),
                limit=Quantity(one.band, "1"),
                way_out="Less load, a longer control.ramp, a wider target.speed_band, or a tacho that is read at lower "
                "speeds (more pulses a turn, both edges counted, control.timer_bits).")
        if (at_work or one.cut is not None) and one.limit is not None and one.highest > one.limit:
            yield Reason(
                code="loop-overspeed", message=f"Simulated on the full motor ({one.name}): the speed passes its limit.",
                figure=Quantity(one.highest, "rad/s"), limit=Quantity(one.limit, "rad/s"),
                way_out="A lower target, a gear ratio with more room below the limit, or more inertia that cannot be "
                "lost.")


def simulate(found: Survey, project: Project, loop: Holding) -> tuple[ScenarioResult, ...]:
    """Run every scenario of a survey under its loop; nothing where the loop could not be tuned."""
    if loop.tuned is None:
        return ()
    bench = Bench(found, project, loop)
    return tuple(result for part in (starts(bench), steps(bench), faults(bench)) for result in part)


class Bench:
    """What every scenario is made from: the loop, the band, conditions by supply and windings."""

    def __init__(self, found: Survey, project: Project, loop: Holding) -> None:
        """Take them from a survey and its loop."""
        self.project, self.loop, self.found = project, loop, found
        self.circuit, self.fixed = self.found.circuit, self.found.fixed
        load, own = self.fixed.load, project.motor.inertia
        assert own is not None
        self.own = own
        self.inertia = float(REFERRED_INERTIA(J_m=own, J_load=load.inertia, u=load.ratio))
        self.can_be_lost = project.load.coupling != "fixed"
        self.target = float(project.target.speed or 0.0) * load.ratio
        self.band = project.target.speed_band or LOOP_BAND
        self.limit = speed_limit(project)

    def points(self, which: int, *, cold: bool = False, load: float = 1.0, friction: float = 1.0,
               speed: float | None = None) -> Points:
        """The conditions at low, nominal or high supply (0, 1, 2); the motor's speed is the target unless given."""
        held, volts = self.found.held.points[[1]], voltages(self.project)[which]
        one = replace(held, voltage=np.array([volts]), load=np.array([load]), friction=np.array([friction]),
                      speed=np.array([self.target if speed is None else speed]))
        if cold:
            armature, winding = self.fixed.motor.resistances(self.found.thermal.cold, self.found.thermal.cold)
            one = replace(one, armature_resistance=np.atleast_1d(armature), field_resistance=np.atleast_1d(winding))
        return one.fed(self.fixed)

    def loop_now(self) -> Loop:
        """A loop that has not run yet."""
        assert self.loop.tuned is not None
        regulator = SpeedRegulator(
            self.loop.tuned.regulator, limit=self.loop.limit, target=self.target, ramp=self.loop.ramp)
        return Loop(regulator, self.loop.table, self.loop.stage.timer, sample_time=self.loop.sample_time)

    def settled(self, points: Points) -> Run:
        """A run that stands at the target under these conditions, and has run on for ``BEFORE``."""
        setting, lacking = find_setting(self.circuit, self.fixed, points)
        most, least = self.circuit.setting_range(self.fixed)
        at = float(setting[0]) if np.isfinite(setting[0]) else (least if lacking[0] > 0 else most)
        machine = Machine(self.circuit, self.fixed, points, inertia=self.inertia)
        run = Run(machine, self.loop_now(), settled=float(self.loop.table.command_at(at)))
        run.until(BEFORE)
        return run

    def event(self, points: Points, *, fixed: Fixed | None = None, inertia: float | None = None,
              silent: bool = False, setting: float | None = None) -> Event:
        """New conditions from now on."""
        return Event(time=BEFORE, fixed=fixed or self.fixed, points=points, circuit=self.circuit, silent=silent,
                     inertia=inertia or self.inertia, setting=setting)

    def follow(self, run: Run, event: Event) -> None:
        """Run on after an event until the speed stays in the band, or for long enough."""
        run.until(run.time + AFTER, event=event)
        while run.time < BEFORE + MOST_AFTER:
            if self.result("", run, kind="step").settled < run.time - BEFORE - 0.5 * AFTER:
                return
            run.until(run.time + AFTER)

    def run_away(self, run: Run, event: Event) -> None:
        """Run on under a setting that nothing corrects: to the speed limit, or until the speed stands."""
        above, before = math.inf if self.limit is None else self.limit, -1.0
        while run.time < BEFORE + LONGEST_FAULT and run.machine.speed < above:
            run.until(run.time + CHUNK, event=event, above=above)
            if abs(run.machine.speed - before) < STILL * before:
                return
            before = run.machine.speed

    def result(self, name: str, run: Run, *, kind: Kind, cut: float | None = None) -> ScenarioResult:
        """The figures of a run."""
        trace, event = run.trace(), 0.0 if kind == "start" else BEFORE
        shown = trace.after(event)
        speed, time = smooth(shown.mean), shown.time - event
        away = np.abs(speed / self.target - 1) > self.band
        last = int(np.flatnonzero(away)[-1]) if away.any() else -1
        ends = speed[time > time[-1] - LAST]
        over = np.flatnonzero(shown.speed > (math.inf if self.limit is None else self.limit))
        return ScenarioResult(
            name=name, kind=kind, event=event, target=self.target, band=self.band, trace=trace, cut=cut,
            limit=self.limit, peak=float(shown.peak.max()), line_peak=float(shown.line_peak.max()),
            heating=shown.heating,
            settled=math.inf if last == len(speed) - 1 else 0.0 if last < 0 else float(time[last]),
            overshoot=float(speed.max() / self.target - 1), dip=float(speed.min() / self.target - 1),
            steady_error=float(ends.mean() / self.target - 1), highest=float(shown.speed.max()),
            limit_time=float(time[over[0]]) if over.size else math.inf)


def starts(bench: Bench) -> Iterator[ScenarioResult]:
    """From rest up the ramp with the load on: low supply and most friction, nominal, high supply and cold windings.

    A motor that its field alone sets starts by its starter, not by the loop: none is run for it.
    """
    if bench.circuit.setting == "field_current":
        return
    word = bench.project.supply.word
    for which, cold, friction, name in ((1, False, 1.0, f"start, nominal {word}, windings hot"),
                                        (0, False, FRICTION_BOUNDS[1], f"start, low {word}, most friction"),
                                        (2, True, FRICTION_BOUNDS[0], f"start, high {word}, windings cold")):
        points = bench.points(which, cold=cold, friction=friction, speed=0.0)
        run = Run(Machine(bench.circuit, bench.fixed, points, inertia=bench.inertia), bench.loop_now())
        run.until(bench.loop.ramp + AFTER)
        yield bench.result(name, run, kind="start")


def steps(bench: Bench) -> Iterator[ScenarioResult]:
    """Load on and off at nominal supply, supply to its ends with the load on."""
    word = bench.project.supply.word
    for before, after, name in (
            (bench.points(1, load=0.0), bench.points(1), "load step, none to full"),
            (bench.points(1), bench.points(1, load=0.0), "load step, full to none"),
            (bench.points(1), bench.points(0), f"{word} step, nominal to low"),
            (bench.points(1), bench.points(2), f"{word} step, nominal to high")):
        run = bench.settled(before)
        bench.follow(run, bench.event(after))
        yield bench.result(name, run, kind="step")


def faults(bench: Bench) -> Iterator[ScenarioResult]:
    """The load lost with the loop working, the tacho lost until the guard acts, the switch shorted, the field lost."""
    lost = 0.0 if bench.can_be_lost else 1.0
    inertia = bench.own if bench.can_be_lost else bench.inertia
    before = bench.points(2, cold=True, friction=FRICTION_BOUNDS[0])
    after = bench.points(2, cold=True, friction=FRICTION_BOUNDS[0], load=lost)
    gone = ", load lost with it" if bench.can_be_lost else ", load on"
    if bench.can_be_lost:
        run = bench.settled(before)
        bench.follow(run, bench.event(after, inertia=inertia))
        yield bench.result("load lost, the loop working", run, kind="step")
    if bench.loop.guard is not None:
        run, seen = bench.settled(before), bench.loop.guard.lost_time
        run.until(BEFORE + seen, event=bench.event(after, inertia=inertia, silent=True))
        off = math.nan if run.machine.phase else float(bench.loop.table.settings[0])
        run.until(BEFORE + AFTER, event=bench.event(after, inertia=inertia, silent=True, setting=off))
        yield bench.result(f"tacho lost{gone}", run, kind="fault", cut=seen)
    short, full = bench.circuit.shorted(bench.fixed)
    if bench.circuit.setting != "field_current":
        run = bench.settled(before)
        bench.run_away(run, bench.event(after, fixed=short, inertia=inertia, setting=full))
        yield bench.result(f"switch shorted{gone}", run, kind="fault")
    yield from _field_lost(bench, before, inertia)


def _field_lost(bench: Bench, before: Points, inertia: float) -> Iterator[ScenarioResult]:
    """The field's supply gone, its current dying through its diode, the armature's setting as it was."""
    if bench.fixed.field is None or bench.circuit.setting == "field_current":
        return
    name = (FIELD_LOST if bench.can_be_lost else FIELD_LOST_LOADED)[0]
    case = next((one for one in bench.found.unloaded if one.name == name), None)
    if case is None:
        return
    weak = replace(case.fixed, field=FieldFeed(voltage=0.0, drop=DIODE))
    run = bench.settled(before)
    points = replace(case.points, field_current=before.field_current, field_resistance=before.field_resistance)
    bench.run_away(run, bench.event(points, fixed=weak, inertia=inertia, setting=run.setting))
    yield bench.result(name, run, kind="fault")
