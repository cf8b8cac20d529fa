"""How far the torque lags behind the setting: the inductance of what conducts, and the wait of the switch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from designer.circuits.case import Fixed
from designer.circuits.chopper_armature import ChopperSolution
from designer.circuits.chopper_field import FieldSpeedSolution
from designer.circuits.chopper_series import SeriesSolution
from designer.circuits.on_bus import OnBus, how_chopped
from designer.circuits.rectified_solution import RectifiedSolution
from designer.equations.field import TIME_CONSTANT
from designer.equations.speed_loop import MEAN_WAIT, PATH_LAG
from designer.results import Array

HALVES = 2        # of a cycle of the mains, each with its own firing
SAME_FLUX = 1e-3  # A: a step of the field current for the curve's slope


@dataclass(frozen=True, kw_only=True)
class Lags:
    """Time constants of every point, s: ``armature`` of the loop whose current makes the torque, ``field`` ahead of it.

    ``direct``: torque (N·m per A of field current) that follows the field at once, where the field sets the speed.
    """

    armature: Array
    field: Array
    direct: Array


def lags(solved: Any) -> Lags:
    """Give the lags of a solution; none where the current falls to zero in every period, for then none is stored.

    Of a bus only winding and devices count: what stands before the capacitor makes the lag shorter.
    """
    none = np.zeros(len(solved.points))
    if isinstance(solved, FieldSpeedSolution):
        return _field_first(solved)
    if isinstance(solved, ChopperSolution | SeriesSolution):
        flows = np.asarray(solved.current.continuous)
        own = _chopper(solved) if isinstance(solved, ChopperSolution) else _series(solved)
        return Lags(armature=np.where(flows, own, 0.0), field=none, direct=none)
    if isinstance(solved, RectifiedSolution):
        return Lags(armature=np.where(solved.state.continuous, _rectified(solved), 0.0), field=none, direct=none)
    return Lags(armature=none, field=none, direct=none)


def _between(solved: Any) -> Array:
    """Slope of the devices, ohm: switch and freewheel diode by their shares of the period."""
    fixed, share = solved.fixed, np.clip(solved.points.setting, 0.0, 1.0)
    return np.asarray(share * fixed.switch.slope + (1 - share) * fixed.freewheel.slope)


def _chopper(solved: ChopperSolution) -> Array:
    points = solved.points
    return np.asarray(PATH_LAG(L_p=solved.fixed.motor.armature_inductance + 0 * points.speed,
                               R_p=points.armature_resistance + _between(solved), k_slope=0.0, omega=points.speed))


def _follows(fixed: Fixed, current: Array) -> tuple[Array, Array]:
    """Inductance (H) of both windings in series and slope of k (V·s/A) at a current."""
    winding = fixed.motor.series_winding()
    return winding.inductance(current), fixed.motor.curve.slope(current)


def _series(solved: SeriesSolution) -> Array:
    points, (henries, slope) = solved.points, _follows(solved.fixed, solved.current.mean)
    ohms = points.armature_resistance + points.field_resistance + _between(solved)
    return np.asarray(PATH_LAG(L_p=henries, R_p=ohms, k_slope=slope, omega=points.speed))


def _rectified(solved: RectifiedSolution) -> Array:
    """Windings and the freewheel path; the source's own inductance counts while it conducts, so it is counted whole."""
    points, fixed, current = solved.points, solved.fixed, solved.armature_absolute
    extra = fixed.feed.line_inductance
    if solved.series:
        henries, slope = _follows(fixed, current)
        ohms = points.armature_resistance + points.field_resistance
        return np.asarray(PATH_LAG(L_p=henries + extra, R_p=ohms, k_slope=slope, omega=points.speed))
    return np.asarray(PATH_LAG(L_p=fixed.motor.armature_inductance + extra + 0 * current,
                               R_p=points.armature_resistance, k_slope=0.0, omega=points.speed))


def _field_first(solved: FieldSpeedSolution) -> Lags:
    points, motor = solved.points, solved.fixed.motor
    current = points.setting
    henries = solved.cell.winding.inductance(current)
    slope = motor.curve.at(current + SAME_FLUX, motor.remanence) - motor.curve.at(current - SAME_FLUX, motor.remanence)
    armature = PATH_LAG(L_p=motor.armature_inductance + 0 * current, R_p=points.armature_resistance,
                        k_slope=0.0, omega=points.speed)
    field = TIME_CONSTANT(L_f=henries, R_loop=points.field_resistance)
    return Lags(armature=np.asarray(armature), field=np.asarray(field),
                direct=np.asarray(solved.current.mean * slope / (2 * SAME_FLUX)))


def firings(solved: Any) -> int:
    """Tell how often the switch fires in a cycle of the mains: twice, once where only one half conducts."""
    return solved.form.pulses if isinstance(solved, RectifiedSolution) else HALVES


def delay(solved: Any, *, sample_time: float) -> Array:
    """Give the dead time (s) of every point from the sample of the speed to the torque that answers it.

    Phase angle: the command is reckoned between two firings and holds from the next one on, which comes after half of
    that time on average. Chopper: it is reckoned within a sample, at the longest, and taken over at the next period of
    the switch.
    """
    points = solved.points
    if isinstance(solved, OnBus):
        return np.full(len(points), sample_time + 1 / how_chopped(solved.fixed).frequency)
    times = firings(solved)
    return np.asarray(1 / (times * points.frequency) + MEAN_WAIT(m_p=float(times), f=points.frequency))
