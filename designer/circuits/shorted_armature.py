"""An armature with a separate field straight on the a.c. line, as a shorted half-wave thyristor leaves it.

The speed voltage stands one way, so the current has a direct part against it; the brush drop turns with the current.
Each half is a conduction from zero current: the same as a pair of switches back to back that are always on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.case import Fixed, Points
from designer.circuits.periods import half_traces, series
from designer.motor.flux import FluxCurve, Winding
from designer.results import Array, Indices
from designer.waveforms.path import Path
from designer.waveforms.phase_control import Gate, Steady, steady

#: a winding whose flux does not follow its current
_NO_FLUX = FluxCurve(current=(1e9,), value=(0.0,))


@dataclass(frozen=True, kw_only=True)
class ShortedSolution:
    """Both halves of every point; currents in A, over a full period; ``flux`` is k (V·s), constant."""

    fixed: Fixed
    points: Points
    paths: tuple[Path, Path]
    winding: Winding
    state: Steady
    flux: Array

    def __getitem__(self, chosen: Indices) -> ShortedSolution:
        one = self.state
        return replace(
            self, points=self.points[chosen], paths=(self.paths[0][chosen], self.paths[1][chosen]),
            flux=self.flux[chosen], state=Steady(
                positive=one.positive[chosen], negative=one.negative[chosen], late=one.late[chosen],
                lost=one.lost[chosen], missed_positive=one.missed_positive[chosen],
                missed_negative=one.missed_negative[chosen]))

    def _mean(self, name: str, sign: float = 1.0) -> Array:
        both = getattr(self.state.positive, name), getattr(self.state.negative, name)
        return np.asarray((both[0] + sign * both[1]) / (2 * np.pi))

    @property
    def mean(self) -> Array:
        """Direct component of the current, A; negative where the speed voltage drives it back."""
        return self._mean("charge", -1.0)

    @property
    def torque(self) -> Array:
        """Mean electromagnetic torque, N·m; negative where the line brakes the motor."""
        return np.asarray(self.flux * self.mean)

    @property
    def iron_torque(self) -> Array:
        """Mean torque of the iron loss, N·m (none unless the readings tell it apart)."""
        return self.fixed.motor.iron_torque(self.flux, self.points.speed)

    @property
    def armature_square(self) -> Array:
        """Mean square of the one current of the loop, A²."""
        return self._mean("square")

    @property
    def armature_absolute(self) -> Array:
        """Mean magnitude, A."""
        return self._mean("charge")

    @property
    def field_square(self) -> Array:
        """Square of the field current, A²."""
        return self.points.field_current**2

    @property
    def line_square(self) -> Array:
        """The same as of the armature: one loop."""
        return self.armature_square

    @property
    def input_power(self) -> Array:
        """Mean power drawn from the ideal source, W."""
        return np.asarray(self.paths[0].peak * self._mean("drawn"))


def both_ways(fixed: Fixed, points: Points) -> ShortedSolution:
    """Solve every point with the armature on the line, at its speed (rad/s) and field current (A)."""
    flux = np.asarray(fixed.motor.curve.at(points.field_current, fixed.motor.remanence), float)
    winding = Winding(curve=_NO_FLUX, constant=fixed.motor.armature_inductance + fixed.feed.line_inductance, main=0.0)
    one = np.ones(len(points))
    paths = [Path(
        peak=np.sqrt(2.0) * points.voltage, omega=2 * np.pi * points.frequency,
        resistance=fixed.feed.line_resistance + points.armature_resistance,
        opposing=fixed.motor.brush_drop + sign * flux * points.speed, speed=points.speed * 0.0) for sign in (1.0, -1.0)]
    state = steady(paths[0], winding, 0.0 * one, gate=Gate(), tolerance=min(fixed.tolerance, 1e-6),
                   negative=(paths[1], 0.0 * one))
    return ShortedSolution(fixed=fixed, points=points, paths=(paths[0], paths[1]), winding=winding, state=state,
                           flux=flux)


def stresses(solved: ShortedSolution) -> dict[str, Array]:
    """What line and armature see at every point, A; the thyristor is no more."""
    rms, mean = np.sqrt(solved.armature_square), solved.mean
    peak = np.maximum(solved.state.positive.crest, solved.state.negative.crest)
    nothing = np.zeros_like(rms)
    told = {f"{where}_current_{what}": value for where in ("line", "armature", "switch") for what, value in (
        ("rms", rms), ("mean", mean), ("mean_absolute", solved.armature_absolute), ("peak", peak))}
    return told | {
        "armature_current_ripple": solved.state.positive.crest + solved.state.negative.crest,
        "field_current_rms": solved.points.field_current, "switch_loss": nothing,
        "turn_off_current_slope": nothing, "reapplied_voltage": nothing}


def harmonics(solved: ShortedSolution) -> Array:
    """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
    halves = zip(half_traces(solved.paths[0], solved.winding, solved.state.positive),
                 half_traces(solved.paths[1], solved.winding, solved.state.negative), strict=True)
    return np.array([series(pair).rms for pair in halves])
