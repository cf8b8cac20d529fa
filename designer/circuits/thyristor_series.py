"""Series motor on one thyristor, half-wave, with or without a freewheel diode across the whole motor."""

from __future__ import annotations

from dataclasses import dataclass

from designer.circuits.case import Fixed, Points
from designer.circuits.rectified_solution import angle_range, short_lived, stresses
from designer.circuits.rectifier_forms import HALF_WAVE, Form
from designer.circuits.series_rectified import SeriesRectified, harmonics, solve, told
from designer.equations.conduction import RLE_CURRENT
from designer.equations.formula import Formula
from designer.results import Array, OperatingPoint


@dataclass(frozen=True, kw_only=True)
class ThyristorSeries:
    """Line, thyristor, field and armature in one loop; ``Fixed.freewheeling``: a diode across field and armature."""

    name: str = "thyristor-series"
    title: str = "Series motor on one thyristor, half-wave"
    setting: str = "firing_angle"
    formulas: tuple[Formula, ...] = (RLE_CURRENT,)

    def form(self, fixed: Fixed) -> Form:
        """Which devices stand where."""
        return HALF_WAVE[fixed.freewheeling]

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Firing angles of most and of least output, rad."""
        return angle_range(fixed)

    def solve(self, fixed: Fixed, points: Points) -> SeriesRectified:
        """Solve every point at its firing angle (rad) and speed (rad/s)."""
        return solve(fixed, points, self.form(fixed))

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted thyristor: full output until the fuse clears.

        With the diode the line is shorted through both in every second half cycle. Without it the motor is on plain
        alternating current: more than this, which is that of the triac circuit fully on.
        """
        return short_lived(fixed)

    def stresses(self, solved: SeriesRectified) -> dict[str, Array]:
        """What line and devices see at every point: A, V, W, A/s."""
        return stresses(solved)

    def harmonics(self, solved: SeriesRectified) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return harmonics(solved)

    def operating_point(self, solved: SeriesRectified) -> OperatingPoint:
        """Tell everything about the first point."""
        return told(solved, circuit=self.name)


CIRCUIT = ThyristorSeries()
