"""Armature on one thyristor, half-wave, with or without a freewheel diode; field fed apart."""

from __future__ import annotations

from dataclasses import dataclass

from designer.circuits.bridge_armature import told
from designer.circuits.case import Fixed, Points
from designer.circuits.rectified_solution import RectifiedSolution, angle_range, short_lived, stresses
from designer.circuits.rectifier_forms import HALF_WAVE, Form
from designer.circuits.separate_rectified import harmonics, solve
from designer.circuits.shorted_armature import ShortedSolution, both_ways
from designer.circuits.shorted_armature import harmonics as harmonics_both_ways
from designer.circuits.shorted_armature import stresses as stresses_both_ways
from designer.equations import phase_angle
from designer.equations import rectified as eq
from designer.equations.conduction import RLE_CURRENT
from designer.equations.formula import Formula
from designer.results import Array, OperatingPoint


@dataclass(frozen=True, kw_only=True)
class ThyristorArmature:
    """Line, thyristor and armature in one loop; ``Fixed.freewheeling`` puts a diode across the armature."""

    name: str = "thyristor-armature"
    title: str = "Armature on one thyristor, half-wave, separate field"
    setting: str = "firing_angle"
    closed_form: bool = True
    formulas: tuple[Formula, ...] = (
        RLE_CURRENT, phase_angle.HALF_WAVE_MEAN, eq.HALF_WAVE_MEAN_WITH_OVERLAP, eq.OVERLAP_AT_TURN_ON,
        eq.OVERLAP_AT_TURN_OFF, eq.THYRISTOR_MEAN, eq.THYRISTOR_RMS, eq.HALF_WAVE_FREEWHEEL_MEAN,
        eq.HALF_WAVE_FREEWHEEL_RMS, eq.HALF_WAVE_LINE_DIRECT)

    def form(self, fixed: Fixed) -> Form:
        """Thyristor alone, or with a freewheel diode."""
        return HALF_WAVE[fixed.freewheeling]

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Firing angles of most and of least output, rad."""
        return angle_range(fixed)

    def solve(self, fixed: Fixed, points: Points) -> RectifiedSolution | ShortedSolution:
        """Solve every point at its firing angle (rad), speed (rad/s) and field current (A).

        Where ``Fixed.shorted`` is set and no freewheel diode stands across, the armature is on the source both ways.
        """
        if fixed.shorted and not fixed.freewheeling:
            return both_ways(fixed, points)
        return solve(fixed, points, self.form(fixed))

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted thyristor.

        Without a freewheel diode: full alternating voltage on the armature, both ways, for good. With one the diode
        shorts the line in every second half cycle (``Form.line_short``; the current is the prospective one, and no
        steady state); until the fuse clears it the motor has the full output of one half cycle, which is what is
        solved.
        """
        return short_lived(fixed)

    def stresses(self, solved: RectifiedSolution | ShortedSolution) -> dict[str, Array]:
        """What line and devices see at every point: A, V, W, A/s."""
        return stresses_both_ways(solved) if isinstance(solved, ShortedSolution) else stresses(solved)

    def harmonics(self, solved: RectifiedSolution | ShortedSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return harmonics_both_ways(solved) if isinstance(solved, ShortedSolution) else harmonics(solved)

    def operating_point(self, solved: RectifiedSolution) -> OperatingPoint:
        """Tell everything about the first point of a thyristor that is whole."""
        return told(solved, circuit=self.name)


CIRCUIT = ThyristorArmature()
