"""Series motor on the d.c. side of a bridge with thyristors, a freewheel diode across field and armature."""

from __future__ import annotations

from dataclasses import dataclass, replace

from designer.circuits.case import Fixed, Points
from designer.circuits.rectified_solution import angle_range, short_lived, stresses
from designer.circuits.rectifier_forms import Form, bridge
from designer.circuits.series_rectified import SeriesRectified, harmonics, solve, told
from designer.equations import rectified as eq
from designer.equations.formula import Formula
from designer.results import Array, OperatingPoint


@dataclass(frozen=True, kw_only=True)
class BridgeSeries:
    """Line, bridge and motor; ``Fixed.bridge`` says which form, ``Fixed.freewheeling`` whether a diode stands across.

    Without that diode a leg of the bridge free-wheels: in the one-leg form two diodes, harmless; in the others through
    the thyristor that fired last, which then may never let go.
    """

    name: str = "bridge-series"
    title: str = "Series motor on the d.c. side of a controlled bridge"
    setting: str = "firing_angle"
    closed_form: bool = True     # marched, but many points cost little more than one
    formulas: tuple[Formula, ...] = (
        eq.HALF_CONTROLLED_MEAN, eq.OVERLAP_AT_TURN_ON, eq.OVERLAP_AT_TURN_OFF, eq.HALF_CONTROLLED_MEAN_WITH_OVERLAP)

    def form(self, fixed: Fixed) -> Form:
        """How the bridge is made up; ``InputError`` for one that is none of the three."""
        return bridge(fixed.bridge, freewheel=fixed.freewheeling)

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Firing angles of most and of least output, rad."""
        return angle_range(fixed)

    def solve(self, fixed: Fixed, points: Points) -> SeriesRectified:
        """Solve every point at its firing angle (rad) and speed (rad/s)."""
        return solve(fixed, points, self.form(fixed))

    def one_half(self, fixed: Fixed, points: Points) -> SeriesRectified:
        """Solve with every second half cycle missing: a gate that gets no pulse, a diode of the bridge open."""
        return solve(fixed, points, replace(self.form(fixed), pulses=1))

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted thyristor: full output, until the fuse clears what ``Form.line_short`` names."""
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


CIRCUIT = BridgeSeries()
