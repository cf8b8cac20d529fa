"""The start of an armature through its resistor: allowed current, stages, settings, times and heat, at both corners."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from designer.equations.field_source import RECTIFIED_MEAN
from designer.equations.motor import REFERRED_INERTIA
from designer.equations.starter import STAGE_RATIO, STARTING_RESISTOR
from designer.errors import InputError
from designer.motor.warming import HIGHEST
from designer.parts import fuse
from designer.parts.preferred import at_least
from designer.parts.starter_contacts import SPREAD, Stage, second_peak
from designer.parts.starting_resistor import TOLERANCE
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Array, Step
from designer.studies.groups import crest_of
from designer.studies.rows import FRICTION_BOUNDS
from designer.studies.survey import Survey
from designer.waveforms import starting
from designer.waveforms.starting import Ran, Shaft

TIMES_LOAD = 2.0        # of the target's armature current: allowed at a start (1.5 to 2.5, common practice, no source)
SETTLED = 0.9           # of the current at which a bypass closes: what the load may draw there (common practice)
MOST_STAGES = 4
OVER = 1.5              # of the longest start: the time-out (common practice, no source)
LEAST_TIME_OUT = 0.5    # s
JUST_TURNING = 1e-9     # rad/s
TIMER_SPREAD = 0.1      # of the timer (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class Conditions:
    """What the start is computed from: full field (A), flux (V·s), A allowed, V, ohm, kg·m²; ``opposing`` in N·m."""

    field: float
    flux: float
    allowed: float
    lowest: float
    highest: float
    brushes: float
    cold: float
    hot: float
    inertia: float
    opposing: Callable[[Array], Array]

    def shaft(self, volts: float) -> Shaft:
        """The shaft at a supply (V)."""
        return Shaft(voltage=max(volts - self.brushes, 0.0), flux=self.flux, inertia=self.inertia,
                     opposing=self.opposing)


@dataclass(frozen=True, kw_only=True)
class Start:
    """The starter: ohm of each resistor in the order in which they are bypassed, and what its starts are.

    ``slow`` and ``fast`` are the stages of the longest and of the shortest start; ``energies`` (J), ``powers`` (W),
    ``stalled`` (J until the time-out) a resistor each, the worst; ``rest`` (A): at rest, the highest and the lowest.
    """

    conditions: Conditions
    needed: Step
    ratio: Step
    resistors: tuple[float, ...]
    stages: tuple[Stage, ...]
    slow: tuple[Ran, ...]
    fast: tuple[Ran, ...]
    energies: tuple[float, ...]
    powers: tuple[float, ...]
    stalled: tuple[float, ...]
    time_out: float
    rest: tuple[float, float]

    @property
    def longest(self) -> float:
        """The longest time until the last bypass has closed, s."""
        return sum(one.time for one in self.slow)

    @property
    def heating(self) -> float:
        """The greater ∫i²dt of a start until the last bypass closes, A²s."""
        return max(sum(one.heating for one in ran) for ran in (self.slow, self.fast))

    @property
    def second(self) -> float:
        """The greatest current just after a bypass, A."""
        return max((stage.peak.value for stage in self.stages), default=0.0)


def lowest_bus(project: Project) -> float:
    """The least mean that the bus has, V: on mains as if the reservoir were empty."""
    low = project.supply.lowest_voltage
    return float(RECTIFIED_MEAN(V_so=low)) if project.supply.is_mains else low


def conditions(found: Survey, project: Project) -> Conditions:
    """Gather them; ``InputError`` for ``motor.inertia`` where none is given, without which no start has a length."""
    motor, load = found.fixed.motor, found.fixed.load
    if project.motor.inertia is None:
        raise InputError("motor.inertia", None, "the rotor's inertia",
                         "The starting resistor is sized by the energy of a start: measure it from a run-down.")
    field = found.circuit.setting_range(found.fixed)[1]
    cold = float(motor.resistances(found.thermal.cold, found.thermal.cold)[0])
    warm = [np.minimum(state.warm.armature, HIGHEST) for state in (found.held, *found.targets)]
    hot = float(motor.resistances(float(np.nanmax(np.concatenate(warm))), found.thermal.cold)[0])
    flux = float(motor.curve.at(field, motor.remanence))

    def opposing(speed: Array) -> Array:
        drag = FRICTION_BOUNDS[1] * motor.friction(speed) + load.at_motor(speed)
        turning = np.maximum(speed, JUST_TURNING)     # the hysteresis holds a rotor at rest too
        return np.asarray(drag + motor.iron_torque(flux, turning))

    return Conditions(
        field=field, flux=flux, allowed=allowed(found, project), lowest=lowest_bus(project), highest=crest_of(project),
        brushes=motor.brush_drop, cold=cold, hot=max(hot, cold), opposing=opposing,
        inertia=float(REFERRED_INERTIA(J_m=project.motor.inertia, J_load=load.inertia, u=load.ratio)))


def allowed(found: Survey, project: Project) -> float:
    """The armature current (A) allowed at a start: the file's limit, else ``TIMES_LOAD`` of the target's."""
    own = project.control.current_limit
    return own if own is not None else TIMES_LOAD * running(found)


def running(found: Survey) -> float:
    """The greatest armature current of a target at any supply, A."""
    currents = [np.nanmax(np.nan_to_num(state.absolute), initial=0.0) for state in (found.held, *found.targets)]
    return max(float(value) for value in currents)


def starter(found: Survey, project: Project) -> Start:
    """Choose resistors and stages; ``InputError`` for ``control.current_limit`` where none start the load."""
    given = conditions(found, project)
    needed = Step(formula=STARTING_RESISTOR, note="highest supply, armature cold", inputs={
        "V_a": given.highest, "V_b": given.brushes, "I_lim": given.allowed, "R_a": given.cold})
    if needed.value <= 0:
        raise InputError(
            "control.current_limit", engineering(given.allowed, "A"),
            f"less than {engineering((given.highest - given.brushes) / given.cold, 'A', 3)}, what the armature draws "
            "at rest without a resistor", "A current that needs no starting resistor: say a lower limit.")
    for count in range(1, MOST_STAGES + 1):
        resistors = _resistors(needed.value, count, given.cold)
        stages = tuple(_stage(given, resistors, at) for at in range(count))
        if all(_comes_on(given, resistors, stages, at) for at in range(count)):
            return _run(given, needed, resistors=resistors, stages=stages)
    drawn = _settles(given, resistors, 0)
    raise InputError(
        "control.current_limit", f"{engineering(given.allowed, 'A')}; with the resistor in and full field the load "
        f"settles at {engineering(drawn, 'A')}", f"a current well above that: more than {TIMES_LOAD:g} times",
        "A higher limit where brushes and supply bear it, less load at the start, or a chopper in the armature.")


def line_pulses(found: Survey, project: Project) -> tuple[fuse.Pulse, ...]:
    """What the line bears of a start: each stage as long as the longest, with the current of its first instant."""
    begun = starter(found, project)
    count = len(begun.slow)
    speeds = np.array([0.0, *(one.speed for one in begun.fast[:-1])])
    cold = begun.conditions.cold + np.array([sum(begun.resistors[at:]) * (1 - TOLERANCE) for at in range(count)])
    points = replace(found.stall.points[np.zeros(count, int)], speed=speeds, armature_resistance=cold,
                     setting=np.full(count, begun.conditions.field))
    line = np.sqrt(found.circuit.solve(found.fixed, points).line_square)
    return tuple(fuse.Pulse(name=f"a start, stage {at + 1}", rms=float(line[at]), time=begun.slow[at].time)
                 for at in range(count))


def _resistors(needed: float, count: int, cold: float) -> tuple[float, ...]:
    """The values (E12, next above) of ``count`` resistors, the path's resistance falling by the same ratio each."""
    whole = needed / (1.0 - TOLERANCE)
    ratio = float(STAGE_RATIO(R_a=cold, R_st=whole, n_st=float(count)))
    paths = [(cold + whole) / ratio**k for k in range(count + 1)]
    return tuple(at_least(one - after, "E12") for one, after in pairwise(paths))


def _rest(resistors: tuple[float, ...], at: int) -> float:
    """Ohm of what stays in when the resistor ``at`` is bypassed."""
    return sum(resistors[at + 1:])


def _stage(given: Conditions, resistors: tuple[float, ...], at: int) -> Stage:
    """The relay's setting: at its upper end the current after it is the allowed one, the tolerances at their worst."""
    own, left = resistors[at], _rest(resistors, at)
    after = given.cold + left * (1 - TOLERANCE)
    before = after + own * (1 + TOLERANCE)
    closes = given.allowed * after / before
    names = "the starting resistor" if len(resistors) == 1 else f"the starting resistors from number {at + 1} on"
    return Stage(setting=closes * (own + left) * (1 - TOLERANCE) / (1 + SPREAD), sensed=names,
                 peak=second_peak(closes_at=closes, before=before, after=after))


def _closes_late(resistors: tuple[float, ...], stage: Stage, at: int) -> float:
    """The current (A) at which the stage closes at the relay's lower end, the resistors at their upper."""
    return stage.setting * (1 - SPREAD) / ((resistors[at] + _rest(resistors, at)) * (1 + TOLERANCE))


def _settles(given: Conditions, resistors: tuple[float, ...], at: int) -> float:
    """What the load settles at with this stage in (A), at both ends of supply and temperature the greater."""
    total = resistors[at] + _rest(resistors, at)
    return max(starting.steady_current(given.shaft(volts), ohms + total * tolerance)
               for volts, ohms, tolerance in ((given.highest, given.cold, 1 - TOLERANCE),
                                              (given.lowest, given.hot, 1 + TOLERANCE)))


def _comes_on(given: Conditions, resistors: tuple[float, ...], stages: tuple[Stage, ...], at: int) -> bool:
    return _settles(given, resistors, at) <= SETTLED * _closes_late(resistors, stages[at], at)


def _run(given: Conditions, needed: Step, *, resistors: tuple[float, ...], stages: tuple[Stage, ...]) -> Start:
    """Run both corners: low, hot and high resistors; high, cold and low resistors."""
    at = range(len(stages))
    slow = starting.start_run(given.shaft(given.lowest), tuple(starting.Stage(
        path=given.hot + sum(resistors[k:]) * (1 + TOLERANCE), ends_at=_closes_late(resistors, stages[k], k))
        for k in at))
    fast = starting.start_run(given.shaft(given.highest), tuple(starting.Stage(
        path=given.cold + sum(resistors[k:]) * (1 - TOLERANCE),
        ends_at=stages[k].setting * (1 + SPREAD) / (sum(resistors[k:]) * (1 - TOLERANCE))) for k in at))
    longest = sum(one.time for one in slow)
    if not math.isfinite(longest):
        raise InputError("load.torque", "a start that does not come off", "a load that full field starts",
                         "A higher [control] current_limit, less load, or a larger gear ratio.")
    time_out = max(LEAST_TIME_OUT, math.ceil(10 * OVER * longest) / 10)
    energies = tuple(max(
        ohms * (1 + sign * TOLERANCE) * sum(one.heating for one in ran[:k + 1])
        for ran, sign in ((slow, 1), (fast, -1))) for k, ohms in enumerate(resistors))
    rest = ((given.highest - given.brushes) / (given.cold + sum(resistors) * (1 - TOLERANCE)),
            (given.lowest - given.brushes) / (given.hot + sum(resistors) * (1 + TOLERANCE)))
    powers = tuple(rest[0]**2 * ohms * (1 - TOLERANCE) for ohms in resistors)
    return Start(
        conditions=given, needed=needed, resistors=resistors, stages=stages, slow=slow, fast=fast, energies=energies,
        powers=powers, stalled=tuple(power * time_out * (1 + TIMER_SPREAD) for power in powers), time_out=time_out,
        rest=rest, ratio=Step(formula=STAGE_RATIO, note="stages of equal currents", inputs={
            "R_a": given.cold, "R_st": sum(resistors), "n_st": float(len(resistors))}))
