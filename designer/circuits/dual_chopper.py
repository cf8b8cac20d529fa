"""Two choppers on one bus: the armature on its own, the field winding on another that holds its mean current.

Both turn on at the same instant, which is the worst for the bus capacitor. The flux is that of the mean field
current: the iron's eddy currents hold back what ripple the field current has at the switching frequency.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import ClassVar

import numpy as np

from designer.circuits.bus import Source, meet
from designer.circuits.bus_point import Named, line_harmonics, shape
from designer.circuits.case import Fixed, Points
from designer.circuits.chopper_armature import ChopperSolution, driven, unfed
from designer.circuits.field_path import FieldCell, device_figures, figures, losses, traced
from designer.circuits.on_bus import Exact, Wave, duty_range, exactness, how_chopped, straight, stresses
from designer.equations import chopper as eq
from designer.equations.formula import Formula
from designer.results import Array, Indices, OperatingPoint, Quantity
from designer.waveforms.chopper import Loop, trace
from designer.waveforms.chopper_series import SeriesChopped, SeriesLoop, series_trace

NODES = 8           # Gauss–Legendre, while both transistors conduct
CLOSE = 1e-8        # of the field current at a point that is told: its powers then balance


@dataclass(frozen=True, kw_only=True)
class DualSolution(ChopperSolution):
    """The armature's loop, and the field's beside it on the same bus."""

    circuit: ClassVar[str] = "dual-chopper"

    @cached_property
    def _field(self) -> tuple[SeriesLoop, SeriesChopped]:
        """The field's loop at the bus voltage, its mean current held; solved when first asked for."""
        points = self.points
        return self.cell.held(self.volts, points.field_current, points.field_resistance)

    @property
    def field_loop(self) -> SeriesLoop:
        """The field's loop, its duty the one that holds the mean current."""
        return self._field[0]

    @property
    def field_current(self) -> SeriesChopped:
        """The field's periodic current."""
        return self._field[1]

    @property
    def cell(self) -> FieldCell:
        """The field's own chopper."""
        return FieldCell.of(self.fixed)

    @property
    def field_square(self) -> Array:
        """Mean square of the field current, ripple included, A²."""
        return self.field_current.rms**2

    @cached_property
    def switching_ripple(self) -> Array:
        """What an ideal capacitor on the bus bears of both choppers' switching, A r.m.s."""
        one, two = self.current, self.field_current
        square = one.switch_rms**2 + two.switch_rms**2 + 2 * self._together
        return np.asarray(np.sqrt(np.maximum(square - self.taken**2, 0.0)))

    @property
    def _together(self) -> Array:
        """Mean of the product of both switch currents, A²: while both conduct.

        The field's shape is that of its mean's inductance; where the armature's switch outlasts the field's, its
        charge is the exact one, so that beside a steady armature current nothing is approximated.
        """
        lap = np.minimum(self.loop.on_time, self.field_loop.on_time)
        henries = self.cell.winding.inductance(self.field_current.mean)
        armature = partial(_rising, self.current.first, self.loop, self.loop.inductance)
        field = partial(_rising, self.field_current.first, self.field_loop, henries)
        x, weight = np.polynomial.legendre.leggauss(NODES)
        flows = [(part / 2, armature((at + 1) / 2 * lap), field((at + 1) / 2 * lap))
                 for at, part in zip(x, weight, strict=True)]
        one, two, both = (sum(part * value for part, value in row) for row in (
            [(p, a) for p, a, _ in flows], [(p, f) for p, _, f in flows], [(p, a * f) for p, a, f in flows]))
        told = self.field_current.switch_mean * self.loop.period / np.where(lap > 0, lap, 1.0)
        missing = np.where(self.field_loop.on_time <= self.loop.on_time, told - two, 0.0)
        return np.asarray((both + one * missing) * lap / self.loop.period)

    def field_shape(self) -> Mapping[str, float]:
        """Its mean is held; the ripple is that of its own chopper, A."""
        return figures(self.field_current)

    def field_watts(self) -> Mapping[str, float]:
        """Its copper, W; what it takes comes from the bus."""
        return {"copper_loss_field": float(self.points.field_resistance[0] * self.field_current.rms[0] ** 2)}

    def more(self) -> Named:
        """The field's own devices, by name."""
        rows = device_figures(self.field_current, self.field_loop)
        told: Named = {f"field_{where}_current_{what}": Quantity(value + 0.0, "A")
                       for where, row in rows.items() for what, value in shape(row).items()}
        return told | {"field_duty": Quantity(float(self.field_loop.on_time[0] / self.field_loop.period[0]), "1")}

    def more_losses(self) -> tuple[float, float]:
        """Conduction loss of the field's transistor and of its diode, W."""
        switch, diode = losses(self.cell, self.field_current)
        return float(switch[0]), float(diode[0])

    def wave(self) -> Wave:
        """One period of the first point; the field's own switchings are points too."""
        time, current = trace(self.loop, self.current, 0)
        own = series_trace(self.field_loop[:1], self.cell.winding)[0][:, 0]
        both = np.unique(np.concatenate((time, own[np.abs(own[:, None] - time).min(axis=1) > 1e-9 * time[-1]])))
        return Wave(time=both, current=np.interp(both, time, current), field=traced(self.cell, self.field_loop, both),
                    flux=float(self.flux[0]) * np.ones_like(both))


def _rising(first: Array, loop: Loop | SeriesLoop, inductance: Array, time: Array) -> Array:
    """The current (A) a while (s) after the turn-on."""
    x = loop.on_resistance * time / inductance
    grown = np.divide(-np.expm1(-x), x, out=np.ones_like(x), where=x > 0)
    return np.asarray(np.maximum(first * np.exp(-x) + loop.on_voltage * time / inductance * grown, 0.0))


@dataclass(frozen=True, kw_only=True)
class DualChopper:
    """One bus, two transistors, two diodes: armature and field each in a loop of its own."""

    name: str = "dual-chopper"
    title: str = "Armature and field, each on a chopper of one bus"
    setting: str = "duty"
    closed_form: bool = False
    formulas: tuple[Formula, ...] = (
        eq.PEAK_OF_TWO_LOOPS, eq.FIRST_OF_TWO_LOOPS, eq.MEAN_CURRENT, eq.EDGE_DUTY, eq.EXTINCTION)

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Duties of most and of least output."""
        return duty_range(fixed)

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted transistor: the armature straight on the bus, no limit left."""
        return straight(replace(fixed, field_switch=fixed.field_switch or fixed.switch))

    def solve(self, fixed: Fixed, points: Points) -> DualSolution:
        """Solve every point at its duty, speed (rad/s) and mean field current, bus and choppers together."""
        return solve_dual(fixed, points, exact=exactness(fixed))

    def operating_point(self, solved: DualSolution) -> OperatingPoint:
        """Tell everything about the first point."""
        from designer.circuits.chopper_point import operating_point

        fixed = replace(solved.fixed, tolerance=min(solved.fixed.tolerance, CLOSE))
        return operating_point(solve_dual(fixed, solved.points[[0]], exact="all"))

    def stresses(self, solved: DualSolution) -> dict[str, Array]:
        """What line, bus, devices and field see at every point: A, V, W; peaks with the bus at its crest."""
        told, one = stresses(solved), solved.field_current
        switch, diode = losses(solved.cell, one)
        told["switch_loss"], told["freewheel_loss"] = told["switch_loss"] + switch, told["freewheel_loss"] + diode
        return told | {
            "field_switch_current_mean": one.switch_mean, "field_switch_current_rms": one.switch_rms,
            "field_switch_current_peak": one.greatest, "field_freewheel_current_mean": one.diode_mean,
            "field_freewheel_current_rms": one.diode_rms, "field_current_mean": one.mean,
            "field_current_peak": one.greatest, "field_current_ripple": one.ripple,
            "field_on_time": solved.field_loop.on_time}

    def harmonics(self, solved: DualSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return line_harmonics(solved.bus)


def solve_dual(fixed: Fixed, points: Points, *, exact: Exact) -> DualSolution:
    """Solve both loops and their bus, the field's mean current held at that of the points."""
    how, flux = how_chopped(fixed), np.asarray(
        fixed.motor.curve.at(points.field_current, fixed.motor.remanence), float)
    bare, cell = unfed(fixed, points, flux), FieldCell.of(fixed)
    held = cell.held if exact != "no" else cell.held_straight
    least = np.full(len(points), max(fixed.switch.threshold - fixed.freewheel.threshold, 0.0))

    def field(volts: Array, at: Indices) -> Array:
        return held(volts, points.field_current[at], points.field_resistance[at])[1].switch_mean

    def draw(volts: Array, at: Indices) -> Array:
        return np.asarray(driven(how, bare[at], volts)[1].switch_mean + field(volts, at))

    volts = meet(fixed.feed, Source(voltage=points.voltage, frequency=points.frequency), draw, least=least, exact=exact)
    loop, current = driven(how, bare, volts)
    return DualSolution(fixed=fixed, points=points, flux=flux, volts=volts, loop=loop, current=current,
                        taken=current.switch_mean + field(volts, np.arange(len(points))))


CIRCUIT = DualChopper()
