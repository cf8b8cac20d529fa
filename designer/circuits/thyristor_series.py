"""Series motor on one thyristor, half-wave, with or without a freewheel diode across the whole motor."""

from __future__ import annotations

from dataclasses import dataclass

from designer.circuits.case import Fixed, Points
from designer.circuits.rectified_solution import angle_range, short_lived, stresses
from designer.circuits.rectifier_forms import HALF_WAVE, Form
from designer.circuits.series_rectified import SeriesRectified, harmonics, solve, told
from designer.circuits.triac_series import CIRCUIT as BOTH_WAYS
from designer.circuits.triac_series import TriacSolution
from designer.equations import phase_angle
from designer.equations import rectified as eq
from designer.equations.conduction import RLE_CURRENT
from designer.equations.formula import Formula
from designer.results import Array, OperatingPoint


@dataclass(frozen=True, kw_only=True)
class ThyristorSeries:
    """Line, thyristor, field and armature in one loop; ``Fixed.freewheeling``: a diode across field and armature."""

    name: str = "thyristor-series"
    title: str = "Series motor on one thyristor, half-wave"
    setting: str = "firing_angle"
    closed_form: bool = True     # marched, but many points cost little more than one
    formulas: tuple[Formula, ...] = (
        RLE_CURRENT, phase_angle.HALF_WAVE_MEAN, eq.HALF_WAVE_MEAN_WITH_OVERLAP, eq.OVERLAP_AT_TURN_ON,
        eq.OVERLAP_AT_TURN_OFF)

    def form(self, fixed: Fixed) -> Form:
        """Which devices stand where."""
        return HALF_WAVE[fixed.freewheeling]

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Firing angles of most and of least output, rad."""
        return angle_range(fixed)

    def solve(self, fixed: Fixed, points: Points) -> SeriesRectified | TriacSolution:
        """Solve every point at its firing angle (rad) and speed (rad/s).

        Where ``Fixed.shorted`` is set and no freewheel diode stands across, the motor is on the source both ways.
        """
        if fixed.shorted and not fixed.freewheeling:
            return BOTH_WAYS.solve(fixed, points)
        return solve(fixed, points, self.form(fixed))

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted thyristor.

        Without a freewheel diode: full alternating voltage on the motor, both ways, for good. With one the diode
        shorts the line in every second half cycle (``Form.line_short``; the current is the prospective one, and no
        steady state); until the fuse clears it the motor has the full output of one half cycle, which is solved.
        """
        return short_lived(fixed)

    def stresses(self, solved: SeriesRectified | TriacSolution) -> dict[str, Array]:
        """What line and devices see at every point: A, V, W, A/s."""
        return BOTH_WAYS.stresses(solved) if isinstance(solved, TriacSolution) else stresses(solved)

    def harmonics(self, solved: SeriesRectified | TriacSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return BOTH_WAYS.harmonics(solved) if isinstance(solved, TriacSolution) else harmonics(solved)

    def operating_point(self, solved: SeriesRectified) -> OperatingPoint:
        """Tell everything about the first point of a thyristor that is whole."""
        return told(solved, circuit=self.name)


CIRCUIT = ThyristorSeries()
