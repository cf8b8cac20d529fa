"""Many designs of one machine surveyed together: the states of a survey, their speeds found and solved in one go.

The states are the survey's own rows (``designer.studies.rows``): targets over the supply's band, the corners with the
setting held, the stalls; and beside them states at random inside the same box, which no part was chosen from.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from designer.circuits import circuit
from designer.circuits.balance import find_setting, find_speed
from designer.circuits.case import Fixed, Points
from designer.motor.warming import Warm
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.studies.conditions import State, thermal_of
from designer.studies.groups import Group, voltages
from designer.studies.rows import FRICTION_BOUNDS, corner_rows
from designer.studies.sides import control
from designer.studies.survey import ACCURACY, Survey, at_mains, cold_corner
from tests.properties.machines import HOT, Machine

FRESH = 4           # states at random inside the box of a design
MAINS = 3           # low, nominal, high


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """A design to be: its project with its load, the share of the machine's load, the setting it was drawn at."""

    project: Project
    share: float
    setting: float
    speed: float


@dataclass(frozen=True, kw_only=True)
class Surveyed:
    """A survey, and states inside its box that it does not have."""

    survey: Survey
    fresh: Group


def draw(made: Machine, fixed: Fixed, rng: np.random.Generator, count: int, settings: tuple[float, float],
         ) -> list[Drawn]:
    """Settings and speeds at random, and the loads that result: each can be held at the nominal supply."""
    kind = circuit(str(made.project.circuit.kind))
    many = 12 * count
    points = replace(at_mains(made.project, fixed)[[1] * many], setting=rng.uniform(*settings, many),
                     speed=made.speed * rng.uniform(0.25, 0.9, many))
    points = _hot(fixed, points)
    solved = kind.solve(fixed, points)
    torque = solved.torque - solved.iron_torque - fixed.motor.friction(points.speed)
    share = torque / fixed.load.at_motor(points.speed)
    amperes = np.sqrt(solved.armature_square)
    good = np.flatnonzero((torque > 0.1 * made.torque) & (amperes < 1.3 * made.current))[:count]
    return [_drawn(made.project, fixed, float(share[k]), float(points.speed[k]), float(points.setting[k]))
            for k in good]


def _drawn(project: Project, fixed: Fixed, share: float, speed: float, setting: float) -> Drawn:
    load = project.load.model_copy(update={
        "torque": share * (project.load.torque or 0.0), "square": share * (project.load.square or 0.0)})
    target = project.target.model_copy(update={"speed": speed / fixed.load.ratio})
    return Drawn(project=project.model_copy(update={"load": load, "target": target}), share=share, speed=speed,
                 setting=setting)


def _hot(fixed: Fixed, points: Points) -> Points:
    armature, field = fixed.motor.resistances(HOT, HOT)
    return replace(points, armature_resistance=np.full(len(points), armature),
                   field_resistance=np.full(len(points), field)).fed(fixed)


def surveyed(fixed: Fixed, drawn: Sequence[Drawn], rng: np.random.Generator) -> list[Surveyed | None]:
    """Survey every design behind the devices of ``fixed``; None where its supply or load cannot be held.

    ``fixed`` carries the machine's whole load, of which each design has its share.
    """
    fixed = replace(fixed, tolerance=ACCURACY)
    kind = circuit(str(drawn[0].project.circuit.kind))
    share = np.repeat([one.share for one in drawn], MAINS)
    points = Points.joined([at_mains(one.project, fixed, setting=one.setting, speed=one.speed) for one in drawn])
    points = replace(_hot(fixed, points), load=share)
    settings = find_setting(kind, fixed, points)[0]
    target = points.at(setting=settings)
    nominal = np.repeat(settings[1::MAINS], MAINS)
    alive = np.isfinite(nominal)
    speeds = np.full(len(points), np.nan)
    speeds[alive] = find_speed(kind, fixed, points[alive].at(setting=nominal[alive]))
    held = points.at(setting=nominal, speed=speeds)
    fit = [n for n in range(len(drawn)) if np.all(np.isfinite(settings[_of(n)]))
           and np.all(np.nan_to_num(speeds[_of(n)]) > 0)]
    found: list[Surveyed | None] = [None] * len(drawn)
    if fit:
        made = _Batch(fixed=fixed, kind=kind, drawn=[drawn[n] for n in fit], target=target[_rows(fit)],
                      held=held[_rows(fit)])
        for n, one in zip(fit, made.surveys(rng), strict=True):
            found[n] = one
    return found


def _of(n: int) -> slice:
    return slice(MAINS * n, MAINS * n + MAINS)


def _rows(chosen: Sequence[int]) -> np.ndarray:
    return np.concatenate([np.arange(MAINS * n, MAINS * n + MAINS) for n in chosen])


@dataclass(frozen=True, kw_only=True)
class _Batch:
    """What all designs share, and the three supplies of each: settings found at the target, and held."""

    fixed: Fixed
    kind: Any
    drawn: list[Drawn]
    target: Points
    held: Points

    def surveys(self, rng: np.random.Generator) -> list[Surveyed]:
        """The surveys, one a design."""
        lone = [replace(self.fixed, load=_part(self.fixed, one.share)) for one in self.drawn]
        held = [self._state(lone[n], self.held[_of(n)], one.share) for n, one in enumerate(self.drawn)]
        aims = [self._state(lone[n], self.target[_of(n)], one.share) for n, one in enumerate(self.drawn)]
        thermal = thermal_of(self.drawn[0].project)
        rows = [corner_rows(lone[n], thermal, one.project, held[n]) for n, one in enumerate(self.drawn)]
        fresh = [self._fresh(lone[n], rows[n].points, rng) for n in range(len(rows))]
        corners = self._at_own_speed([*(row.points for row in rows), *fresh],
                                     [one.share for one in self.drawn] * 2)
        ranges = self._solved([aim.points for aim in aims], [one.share for one in self.drawn])
        cold = [cold_corner(one.project, lone[n], thermal, held[n]) for n, one in enumerate(self.drawn)]
        stall, burnt = self._stalls(cold, aims)
        made = []
        for n, one in enumerate(self.drawn):
            state = self._group(lone[n], corners[n], rows[n].labels)
            survey = Survey(
                circuit=self.kind, fixed=lone[n], thermal=thermal, setting=float(held[n].points.setting[1]),
                reached=True, targets=(aims[n],), loads=(lone[n].load,), held=held[n], free=state, corners=state,
                probes=state, bench=None, stall=stall[n], burnt=burnt[n], full_output={}, shorted_loaded=0.0,
                range=self._group(lone[n], ranges[n], tuple(f"target at {v:g} V" for v in voltages(one.project))),
                unloaded=(), look=None)
            inside = self._group(lone[n], corners[len(rows) + n], tuple("inside the box" for _ in range(FRESH)))
            made.append(Surveyed(survey=survey, fresh=inside))
        return made

    def _fresh(self, lone: Fixed, corners: Points, rng: np.random.Generator) -> Points:
        """States inside the box that the corners span."""
        def within(values: np.ndarray) -> np.ndarray:
            return rng.uniform(values.min(), values.max(), FRESH)

        return Points.of(lone, {
            "voltage": within(corners.voltage), "frequency": within(corners.frequency),
            "setting": within(corners.setting), "armature_resistance": within(corners.armature_resistance),
            "field_resistance": within(corners.field_resistance), "friction": within(np.array(FRICTION_BOUNDS)),
            "load": within(np.array((0.3, 1.0))), "speed": np.full(FRESH, np.median(corners.speed))})

    def _at_own_speed(self, parts: list[Points], shares: list[float]) -> list[tuple[Points, Any]]:
        """Each at the speed that its setting and load give, all in one go."""
        points = Points.joined([replace(part, load=part.load * share)
                                for part, share in zip(parts, shares, strict=True)])
        speed = np.nan_to_num(find_speed(self.kind, self.fixed, points), nan=np.inf)
        return self._cut(points.at(speed=speed), parts)

    def _solved(self, parts: list[Points], shares: list[float]) -> list[tuple[Points, Any]]:
        """Each at the speed it has."""
        return self._cut(Points.joined(parts), parts)

    def _cut(self, points: Points, parts: list[Points], fixed: Fixed | None = None) -> list[tuple[Points, Any]]:
        known = points.at(speed=np.where(np.isfinite(points.speed), points.speed, 0.0))
        solved, first, found = self.kind.solve(fixed or self.fixed, known), 0, []
        for part in parts:
            chosen = np.arange(first, first + len(part))
            found.append((replace(points[chosen], load=part.load), solved[chosen]))
            first += len(part)
        return found

    def _group(self, lone: Fixed, found: tuple[Points, Any], labels: tuple[str, ...]) -> Group:
        return Group(labels=labels, points=found[0], solved=found[1], circuit=self.kind)

    def _state(self, lone: Fixed, points: Points, share: float) -> State:
        hot, nothing = np.full(len(points), HOT), np.zeros(len(points))
        warm = Warm(armature=hot, field=hot)
        return State(points=replace(points, load=np.ones(len(points))), warm=warm, taken=warm, lacking=nothing,
                     square=nothing, absolute=nothing, field_square=nothing)

    def _stalls(self, cold: list[dict[str, Any]], aims: list[State]) -> tuple[list[Group], list[Group | None]]:
        """At rest at the target's setting, at full output, and with the switch shorted where that is more."""
        project, fixed, (short, full) = self.drawn[0].project, self.fixed, self.kind.shorted(self.fixed)
        most = self.kind.setting_range(fixed)[0]
        same = control(CIRCUIT_KINDS[self.kind.name]).full_is_shorted(fixed)
        base = short if full == most and same else fixed
        asked = [np.array((float(aim.points.setting[1]), most)) for aim in aims]
        stall = self._jammed(base, project, cold, asked)
        if base is short:
            return stall, [None] * len(cold)
        return stall, list(self._jammed(short, project, cold, [np.array((full,))] * len(cold)))

    def _jammed(self, which: Fixed, project: Project, cold: list[dict[str, Any]], asked: list[np.ndarray]
                ) -> list[Group]:
        stiff = replace(which, feed=replace(which.feed, inductance=0.0, choke=None, resistance=min(
            which.feed.resistance, voltages(project)[1] / project.supply.fault_current)))
        parts = [Points.of(stiff, {**at, "setting": setting, "load": 0.0, "speed": 0.0})
                 for at, setting in zip(cold, asked, strict=True)]
        labels = ("stall at the setting", "stall at full output") if len(asked[0]) > 1 else ("stall, switch shorted",)
        return [self._group(stiff, found, labels) for found in self._cut(Points.joined(parts), parts, stiff)]


def _part(fixed: Fixed, share: float) -> Any:
    return replace(fixed.load, torque=share * fixed.load.torque, square=share * fixed.load.square)
