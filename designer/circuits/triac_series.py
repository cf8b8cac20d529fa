"""Triac in series with a series motor, on a.c.: phase angle control of both half cycles."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from designer.circuits.case import Fixed, Points
from designer.circuits.periods import half_traces, series
from designer.equations.conduction import RLE_CURRENT
from designer.equations.formula import Formula
from designer.motor.flux import Winding
from designer.motor.model import IRON_HYSTERESIS_EXPONENT
from designer.results import Array, Indices, OperatingPoint
from designer.waveforms.march import trace
from designer.waveforms.path import Interval, Path
from designer.waveforms.phase_control import Gate, Steady, steady

LATEST = np.pi * (1 - 1e-6)   # rad: the firing angle of no output
IRON_NODES = 64


@dataclass(frozen=True, kw_only=True)
class TriacSolution:
    """The two half cycles of every point and what follows from them; currents in A, over a full period."""

    fixed: Fixed
    points: Points
    paths: tuple[Path, Path]
    winding: Winding
    state: Steady
    remanence: tuple[float, float]      # V·s, as each half cycle sees it

    def __getitem__(self, chosen: Indices) -> TriacSolution:
        state = self.state
        picked = Steady(
            positive=state.positive[chosen], negative=state.negative[chosen], late=state.late[chosen],
            lost=state.lost[chosen], missed_positive=state.missed_positive[chosen],
            missed_negative=state.missed_negative[chosen],
        )
        return replace(self, points=self.points[chosen], paths=(self.paths[0][chosen], self.paths[1][chosen]),
                       state=picked)

    def _mean(self, name: str, *, signed: bool = False) -> Array:
        positive, negative = getattr(self.state.positive, name), getattr(self.state.negative, name)
        return np.asarray((positive - negative if signed else positive + negative) / (2 * np.pi))

    @cached_property
    def mean(self) -> Array:
        """Direct component of the line current."""
        return self._mean("charge", signed=True)

    @cached_property
    def mean_absolute(self) -> Array:
        """Mean magnitude."""
        return self._mean("charge")

    @cached_property
    def rms(self) -> Array:
        """R.m.s. current, the same in line, triac, armature and field."""
        return np.sqrt(self.armature_square)

    @cached_property
    def armature_square(self) -> Array:
        """Mean square of the one current of the loop, A²."""
        return self._mean("square")

    @property
    def field_square(self) -> Array:
        """The same: the windings are in series."""
        return self.armature_square

    @property
    def line_square(self) -> Array:
        """The same: the line carries it too."""
        return self.armature_square

    @property
    def armature_absolute(self) -> Array:
        """Mean magnitude, A."""
        return self.mean_absolute

    @cached_property
    def peak(self) -> Array:
        """Greatest magnitude."""
        return np.maximum(self.state.positive.crest, self.state.negative.crest)

    @cached_property
    def torque(self) -> Array:
        """Mean electromagnetic torque, N·m."""
        halves = self.state.positive, self.state.negative
        remanent = sum(k * half.charge for k, half in zip(self.remanence, halves, strict=True))
        return np.asarray(self._mean("pull") + remanent / (2 * np.pi))

    @cached_property
    def input_power(self) -> Array:
        """Mean of ideal source voltage times line current, W."""
        return np.asarray(self.paths[0].peak * self._mean("drawn"))

    @cached_property
    def iron_torque(self) -> Array:
        """Mean torque of the iron loss, N·m (none unless the readings tell it apart)."""
        motor = self.fixed.motor
        if not motor.has_iron_loss:
            return np.zeros(len(self.points))
        hysteresis, eddy = self._flux_moments
        turning = self.points.speed > 0      # at rest it only holds, as friction does
        return np.asarray(turning * motor.hysteresis_torque * hysteresis
                          + motor.eddy_torque_coefficient * self.points.speed * eddy)

    @cached_property
    def _flux_moments(self) -> tuple[Array, Array]:
        """Means of (k/k_n)^1.6 and (k/k_n)² over the period."""
        motor, sums = self.fixed.motor, [np.zeros(len(self.points)), np.zeros(len(self.points))]
        off = abs(motor.curve.remanence) if motor.remanence == "keep" else 0.0
        for path, half, k_r in zip(self.paths, (self.state.positive, self.state.negative), self.remanence,
                                   strict=True):
            angle, _, odd = trace(path, self.winding, half, nodes=IRON_NODES)
            flux = np.abs(odd + k_r) / motor.flux_reference
            conducting = np.nan_to_num(angle[:, -1] - angle[:, 0])
            for total, power in zip(sums, (IRON_HYSTERESIS_EXPONENT, 2.0), strict=True):
                on = np.nan_to_num(np.trapezoid(flux**power, angle, axis=1))
                total += on + (np.pi - conducting) * (off / motor.flux_reference) ** power
        return sums[0] / (2 * np.pi), sums[1] / (2 * np.pi)

    @cached_property
    def main_half(self) -> Interval:
        """The half cycle that conducts most; its angles are the ones that are told."""
        positive, negative = self.state.positive, self.state.negative
        swap = np.flatnonzero(negative.charge > positive.charge)
        if not swap.size:
            return positive
        from designer.waveforms.path import put

        chosen = positive[np.arange(len(self.points))]
        put(chosen, swap, negative[swap])
        return chosen


@dataclass(frozen=True, kw_only=True)
class TriacSeries:
    """Line, fuse, triac, field and armature in one loop."""

    name: str = "triac-series"
    title: str = "Triac-fed series motor, phase angle"
    setting: str = "firing_angle"
    closed_form: bool = False
    formulas: tuple[Formula, ...] = (RLE_CURRENT,)

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Firing angles of most and of least output, rad."""
        return 0.0, LATEST - fixed.gate.guard

    def solve(self, fixed: Fixed, points: Points) -> TriacSolution:
        """Solve every point at its firing angle (rad) and speed (rad/s)."""
        motor = fixed.motor
        k_r = 0.0 if motor.remanence == "drop" else motor.curve.remanence
        other = -k_r if motor.remanence == "keep" else k_r
        winding = motor.series_winding(fixed.feed.inductance)
        first, second = _path(fixed, points, k_r), _path(fixed, points, other)
        state = steady(
            first, winding, points.setting, gate=fixed.gate, tolerance=fixed.tolerance,
            negative=None if other == k_r else (second, points.setting),
        )
        return TriacSolution(
            fixed=fixed, points=points, paths=(first, second), winding=winding, state=state, remanence=(k_r, other))

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted triac: fully on, whatever the gate does."""
        plain = fixed.gate.pulse == np.inf and not fixed.gate.latching
        return fixed if plain else replace(fixed, gate=Gate()), 0.0

    def operating_point(self, solved: TriacSolution) -> OperatingPoint:
        """Tell everything about the first point."""
        from designer.circuits.triac_point import operating_point

        return operating_point(solved)

    def stresses(self, solved: TriacSolution) -> dict[str, Array]:
        """What line and switch see at every point: currents (A), slope at turn-off (A/s), voltages (V).

        Where control is lost to a gate train the switch is fired again as it lets go: there is no turn-off
        that it could fail, and both its figures are 0.
        """
        halves = solved.state.positive, solved.state.negative
        omega, peak = solved.paths[0].omega, solved.paths[0].peak
        again = solved.state.lost & ~solved.state.missed_positive & ~solved.state.missed_negative
        kept = (1.0, -1.0) if solved.fixed.motor.remanence == "keep" else (0.0, 0.0)
        k_r, drop = solved.fixed.motor.curve.remanence, solved.fixed.switch
        step = [np.abs(peak * np.sin(half.extinction)) - side * k_r * solved.points.speed
                for side, half in zip(kept, halves, strict=True)]
        return {
            "line_current_rms": solved.rms,
            "line_current_mean": solved.mean,
            "line_current_peak": solved.peak,
            "switch_loss": drop.threshold * solved.mean_absolute + drop.slope * solved.armature_square,
            "switch_current_rms": solved.rms,
            "switch_current_mean_absolute": solved.mean_absolute,
            "switch_current_peak": solved.peak,
            "turn_off_current_slope": np.where(again, 0.0, np.maximum(halves[0].slope, halves[1].slope) * omega),
            "reapplied_voltage": np.where(again, 0.0, np.abs(np.nan_to_num(np.fmax(step[0], step[1])))),
        }

    def harmonics(self, solved: TriacSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        halves = zip(
            half_traces(solved.paths[0], solved.winding, solved.state.positive),
            half_traces(solved.paths[1], solved.winding, solved.state.negative), strict=True)
        return np.array([series(pair).rms for pair in halves])

    def one_way(self, fixed: Fixed, points: Points) -> TriacSolution:
        """Solve with the positive half fully on, as a triac shorted in one direction, the other as set."""
        solved = self.solve(fixed, points)
        state = steady(
            solved.paths[0], solved.winding, np.zeros(len(points)), gate=fixed.gate, tolerance=fixed.tolerance,
            negative=(solved.paths[1], points.setting),
        )
        return replace(solved, state=state)

    def one_half(self, fixed: Fixed, points: Points) -> TriacSolution:
        """Solve with the positive half fired as set and the negative one never."""
        solved = self.solve(fixed, points)
        state = steady(
            solved.paths[0], solved.winding, points.setting, gate=fixed.gate, tolerance=fixed.tolerance,
            negative=(solved.paths[1], np.full(len(points), np.nan)),
        )
        return replace(solved, state=state)

    def unequal(self, fixed: Fixed, points: Points, later: float) -> TriacSolution:
        """Solve with the negative half fired ``later`` rad after the positive one's angle."""
        solved = self.solve(fixed, points)
        state = steady(
            solved.paths[0], solved.winding, points.setting, gate=fixed.gate, tolerance=fixed.tolerance,
            negative=(solved.paths[1], points.setting + later),
        )
        return replace(solved, state=state)


def _path(fixed: Fixed, points: Points, remanence: float) -> Path:
    """The loop of one half cycle: all resistances, all constant drops, the remanent speed voltage."""
    resistance = points.armature_resistance + points.field_resistance
    return Path(
        peak=np.sqrt(2.0) * points.voltage,
        omega=2 * np.pi * points.frequency,
        resistance=fixed.feed.resistance + fixed.switch.slope + resistance,
        opposing=fixed.motor.brush_drop + fixed.switch.threshold + remanence * points.speed,
        speed=points.speed,
    )


CIRCUIT = TriacSeries()
