"""Armature on a half-controlled bridge with a freewheel path, field fed apart: phase angle control."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.case import Fixed, Points
from designer.circuits.rectified_point import Period, operating_point
from designer.circuits.rectified_solution import RectifiedSolution, angle_range, short_lived, stresses
from designer.circuits.rectifier_forms import HALF_WAVED, Form, bridge
from designer.circuits.separate_rectified import harmonics, solve
from designer.equations import rectified as eq
from designer.equations.formula import Formula
from designer.results import Array, OperatingPoint
from designer.waveforms.phase_control import Gate
from designer.waveforms.rectified_trace import spectrum, trace


@dataclass(frozen=True, kw_only=True)
class BridgeArmature:
    """Line, bridge, armature; ``Fixed.bridge`` says which form, ``Fixed.freewheeling`` whether a diode stands across.

    Without that diode a leg of the bridge free-wheels: in the one-leg form two diodes, harmless; in the others through
    the thyristor that fired last, which then may never let go.
    """

    name: str = "bridge-armature"
    title: str = "Armature on a half-controlled bridge, separate field"
    setting: str = "firing_angle"
    closed_form: bool = True
    formulas: tuple[Formula, ...] = (
        eq.HALF_CONTROLLED_MEAN, eq.OVERLAP_AT_TURN_ON, eq.OVERLAP_AT_TURN_OFF, eq.HALF_CONTROLLED_MEAN_WITH_OVERLAP,
        eq.THYRISTOR_MEAN, eq.THYRISTOR_RMS, eq.FREEWHEEL_MEAN, eq.FREEWHEEL_RMS, eq.HALF_CONTROLLED_LINE_RMS)

    def form(self, fixed: Fixed) -> Form:
        """How the bridge is made up; ``InputError`` for one that is none of the three."""
        return bridge(fixed.bridge, freewheel=fixed.freewheeling)

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Firing angles of most and of least output, rad."""
        return angle_range(fixed)

    def solve(self, fixed: Fixed, points: Points) -> RectifiedSolution:
        """Solve every point at its firing angle (rad), speed (rad/s) and field current (A)."""
        return solve(fixed, points, self.form(fixed))

    def one_half(self, fixed: Fixed, points: Points) -> RectifiedSolution:
        """Solve with every second half cycle missing: a gate that gets no pulse, a diode of the bridge open."""
        return solve(fixed, points, replace(self.form(fixed), pulses=1))

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted thyristor: full output, until the fuse clears what ``Form.line_short`` names.

        Behind four diodes that is all. In the other forms the line is shorted through the other thyristor or the
        other leg's diode in every second half cycle: the current is the prospective one, and no steady state.
        """
        return short_lived(fixed)

    def half_waving(self, fixed: Fixed, points: Points) -> RectifiedSolution:
        """Solve with one thyristor that never lets go: it conducts one half cycle whole and free-wheels in the other.

        That is the common-cathode bridge without freewheel diode whose gates have been turned off. Where the current
        does not come out continuous it lets go after all, and the motor is off.
        """
        always = replace(fixed, gate=Gate())
        return solve(always, points.at(setting=np.zeros(len(points))), HALF_WAVED)

    def stresses(self, solved: RectifiedSolution) -> dict[str, Array]:
        """What line and devices see at every point: A, V, W, A/s."""
        return stresses(solved)

    def harmonics(self, solved: RectifiedSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return harmonics(solved)

    def operating_point(self, solved: RectifiedSolution) -> OperatingPoint:
        """Tell everything about the first point."""
        return told(solved, circuit=self.name)


def told(solved: RectifiedSolution, *, circuit: str) -> OperatingPoint:
    """Tell everything about the first point of an armature with constant flux."""
    first = solved[np.array([0])]
    wave = trace(first.model, first.inductance, first.command)
    flux = np.full_like(wave.angle, float(first.flux[0]))
    one = Period(wave=wave, flux=flux, spectrum=spectrum(first.model, first.inductance, first.command)[0])
    return operating_point(first, one, circuit=circuit)


CIRCUIT = BridgeArmature()
