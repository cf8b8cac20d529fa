"""A series motor on a phase-controlled rectifier: the current makes its own field, in any form of rectifier."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from designer.circuits.case import Fixed, Points
from designer.circuits.rectified_point import Period, operating_point
from designer.circuits.rectified_solution import RectifiedSolution, model
from designer.circuits.rectifier_forms import Form
from designer.motor.flux import Winding
from designer.motor.model import IRON_HYSTERESIS_EXPONENT
from designer.results import Array, Indices, OperatingPoint
from designer.waveforms.rectified import OFF, Command
from designer.waveforms.rectified_curves import flux_means, retraced, spectrum, trace
from designer.waveforms.rectified_cycle import Cycle
from designer.waveforms.rectified_march import rectified


@dataclass(frozen=True, kw_only=True)
class SeriesRectified(RectifiedSolution):
    """The solution with the ``winding`` (H, both windings, without the source) that saturates with the current."""

    winding: Winding

    def __getitem__(self, chosen: Indices) -> SeriesRectified:
        names = ("points", "model", "command", "state", "flux", "inductance")
        return replace(self, **{name: getattr(self, name)[chosen] for name in names})

    @property
    def remanent(self) -> tuple[float, float]:
        """The remanent part of k (V·s) while current flows, and while none does."""
        motor = self.fixed.motor
        flowing, resting = motor.remanent(np.array((1.0, 0.0)))
        return float(flowing), float(resting)

    @cached_property
    def retraced(self) -> tuple[Indices, Cycle]:
        """The points that conduct, and their period on nodes."""
        return retraced(self.model, self.winding, self.command, self.state)

    @cached_property
    def iron_torque(self) -> Array:
        """Mean torque of the iron loss, N·m (none unless the readings tell it apart)."""
        motor, speed = self.fixed.motor, self.points.speed
        if not motor.has_iron_loss:
            return np.zeros(len(self.points))
        at, one = self.retraced
        hysteresis, eddy = (
            flux_means(self.model, at, one, remanent=self.remanent, power=power) / motor.flux_reference**power
            for power in (IRON_HYSTERESIS_EXPONENT, 2.0))
        # at rest it only holds, as friction does
        return np.asarray((speed > 0) * motor.hysteresis_torque * hysteresis
                          + motor.eddy_torque_coefficient * speed * eddy)


def solve(fixed: Fixed, points: Points, form: Form) -> SeriesRectified:
    """Solve every point at its firing angle (rad) and speed (rad/s)."""
    motor, count = fixed.motor, len(points)
    flowing, resting = motor.remanent(np.array((1.0, 0.0)))
    winding = motor.series_winding()
    one = model(fixed, points, form, resistance=points.armature_resistance + points.field_resistance,
                standing=flowing * points.speed)
    one = replace(one, standing=resting * points.speed)
    command = Command(alpha=points.setting, gate=fixed.gate)
    return SeriesRectified(
        fixed=fixed, points=points, form=form, model=one, command=command, winding=winding,
        state=rectified(one, winding, command, tolerance=fixed.tolerance),
        flux=np.full(count, float(flowing)), inductance=np.full(count, np.nan))


def harmonics(solved: SeriesRectified) -> Array:
    """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
    return np.asarray(np.abs(spectrum(solved.model, *solved.retraced)[:, 1:]) / np.sqrt(2.0))


def told(solved: SeriesRectified, *, circuit: str) -> OperatingPoint:
    """Tell everything about the first point."""
    first = solved[np.array([0])]
    wave = trace(first.model, first.winding, first.command, first.state)
    flowing, resting = first.remanent
    flux = np.asarray(np.where(wave.mode == OFF, resting, first.winding.curve.odd(wave.current) + flowing), float)
    one = Period(wave=wave, flux=flux, spectrum=spectrum(first.model, *first.retraced)[0])
    return operating_point(first, one, circuit=circuit)
