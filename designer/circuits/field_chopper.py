"""The field winding alone on a chopper: one transistor, one diode, a bus from mains or direct; a supply by itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from designer.circuits.bus import Bus, Source, bus, meet
from designer.circuits.bus_point import Named, feed_powers, line_currents, line_harmonics, mains, rectified, shape
from designer.circuits.case import Feed
from designer.circuits.field_path import FieldCell, device_figures, figures, losses
from designer.circuits.on_bus import Exact
from designer.equations import chopper as eq
from designer.equations.formula import Formula
from designer.results import Array, Indices, OperatingPoint, Quantity, Warning_
from designer.waveforms.chopper_series import SeriesChopped, SeriesLoop, series_trace


@dataclass(frozen=True, kw_only=True)
class FieldPoints:
    """The conditions of each point: supply (V r.m.s. or direct, Hz), duty, the winding's resistance (ohm)."""

    voltage: Array
    frequency: Array
    duty: Array
    resistance: Array

    def __getitem__(self, chosen: Indices) -> FieldPoints:
        return FieldPoints(voltage=self.voltage[chosen], frequency=self.frequency[chosen], duty=self.duty[chosen],
                           resistance=self.resistance[chosen])

    def __len__(self) -> int:
        return len(self.voltage)


@dataclass(frozen=True, kw_only=True)
class FieldSolution:
    """The bus of every point and the current that the chopper drives from it."""

    feed: Feed
    cell: FieldCell
    points: FieldPoints
    volts: Array
    loop: SeriesLoop
    current: SeriesChopped

    def __getitem__(self, chosen: Indices) -> FieldSolution:
        return replace(self, points=self.points[chosen], volts=self.volts[chosen], loop=self.loop[chosen],
                       current=self.current[chosen])

    @cached_property
    def bus(self) -> Bus:
        """The bus under the current that the chopper takes."""
        source = Source(voltage=self.points.voltage, frequency=self.points.frequency)
        return bus(self.feed, source, self.current.switch_mean)

    @property
    def line_square(self) -> Array:
        """Mean square of the line current, A²."""
        if self.bus.charged is not None:
            return self.bus.charged.line_rms**2
        return self.current.switch_mean**2

    @property
    def input_power(self) -> Array:
        """Mean power drawn from the ideal source, W."""
        if self.bus.charged is not None:
            return self.bus.charged.drawn
        return np.asarray(self.points.voltage * self.current.switch_mean)

    @property
    def ripple(self) -> Array:
        """What an ideal capacitor on the bus bears of the switching, A r.m.s."""
        one = self.current
        return np.asarray(np.sqrt(np.maximum(one.switch_rms**2 - one.switch_mean**2, 0.0)))


@dataclass(frozen=True, kw_only=True)
class FieldChopper:
    """Bus, transistor and field winding in one loop, the diode across the winding."""

    name: str = "field-chopper"
    title: str = "Field winding on a chopper"
    setting: str = "duty"
    formulas: tuple[Formula, ...] = (eq.PEAK_OF_TWO_LOOPS, eq.FIRST_OF_TWO_LOOPS, eq.MEAN_CURRENT)

    def solve(
        self, feed: Feed, cell: FieldCell, points: FieldPoints, *, exact: Exact = "usual"
    ) -> FieldSolution:
        """Solve every point at its duty, bus and chopper together."""
        def loop(volts: Array, at: Indices) -> SeriesLoop:
            return cell.loop(volts, points.duty[at], points.resistance[at])

        every = np.arange(len(points))
        volts = meet(
            feed, Source(voltage=points.voltage, frequency=points.frequency),
            lambda volts, at: cell.current(loop(volts, at)).switch_mean, least=np.zeros(len(points)), exact=exact)
        found = loop(volts, every)
        return FieldSolution(feed=feed, cell=cell, points=points, volts=volts, loop=found, current=cell.current(found))

    def holding(
        self, feed: Feed, cell: FieldCell, points: FieldPoints, current: Array, *, exact: Exact = "usual"
    ) -> FieldSolution:
        """Solve every point at the duty whose mean current is ``current`` (A); fully on where that is too little."""
        def held(volts: Array, at: Indices) -> tuple[SeriesLoop, SeriesChopped]:
            return cell.held(volts, current[at], points.resistance[at])

        volts = meet(
            feed, Source(voltage=points.voltage, frequency=points.frequency),
            lambda volts, at: held(volts, at)[1].switch_mean, least=np.zeros(len(points)), exact=exact)
        loop, found = held(volts, np.arange(len(points)))
        return FieldSolution(feed=feed, cell=cell, points=replace(points, duty=loop.on_time / loop.period), volts=volts,
                             loop=loop, current=found)

    def stresses(self, solved: FieldSolution) -> dict[str, Array]:
        """What line, bus, devices and winding see at every point: A, V, W."""
        one, stood, ripple = solved.current, solved.bus, solved.ripple
        switch, diode = losses(solved.cell, one)
        told = {
            "switch_current_mean": one.switch_mean, "switch_current_rms": one.switch_rms,
            "switch_current_peak": one.greatest, "freewheel_current_mean": one.diode_mean,
            "freewheel_current_rms": one.diode_rms, "field_switch_current_mean": one.switch_mean,
            "field_switch_current_rms": one.switch_rms,
            "field_switch_current_peak": one.greatest, "field_freewheel_current_mean": one.diode_mean,
            "field_freewheel_current_rms": one.diode_rms, "field_current_mean": one.mean,
            "field_current_rms": one.rms, "field_current_peak": one.greatest, "field_current_ripple": one.ripple,
            "field_on_time": solved.loop.on_time, "switch_loss": switch, "freewheel_loss": diode,
            "bus_current": one.switch_mean, "bus_voltage_mean": stood.mean, "bus_voltage_valley": stood.valley,
            "bus_voltage_crest": stood.crest, "capacitor_current_switching_rms": ripple,
            "capacitor_current_rms": ripple, "line_current_rms": np.sqrt(solved.line_square),
            "line_current_peak": one.switch_mean,
        }
        return told | ({} if stood.charged is None else rectified(solved.feed, stood, ripple))

    def harmonics(self, solved: FieldSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return line_harmonics(solved.bus)

    def operating_point(self, solved: FieldSolution) -> OperatingPoint:
        """Tell everything about the first point."""
        return OperatingPoint(circuit=self.name, quantities=_quantities(solved), waveform=_waveform(solved),
                              warnings=_warnings(solved))


def _quantities(solved: FieldSolution) -> Named:
    one, loop, stood, volts = solved.current, solved.loop, solved.bus, float(solved.points.voltage[0])
    named: Named = {
        "duty": Quantity(float(loop.on_time[0] / loop.period[0]), "1"),
        "switching_frequency": Quantity(solved.cell.frequency, "Hz"),
        "continuous": Quantity(float(one.continuous[0]), "1"), "bus_voltage_mean": Quantity(float(stood.mean[0]), "V")}
    if np.isfinite(one.extinction[0]):
        named["extinction_time"] = Quantity(float(one.extinction[0]), "s")
    if stood.charged is not None:
        named |= {"bus_voltage_valley": Quantity(float(stood.valley[0]), "V"),
                  "bus_voltage_crest": Quantity(float(stood.crest[0]), "V")}
    rows = {"field": figures(one), **device_figures(one, loop)}
    named |= {f"{where}_current_{what}": Quantity(value + 0.0, "A")
              for where, row in rows.items() for what, value in shape(row).items()}
    low = 0.0 if stood.charged is None else float(stood.charged.capacitor_rms[0])
    named["capacitor_current_rms"] = Quantity(float(np.hypot(low, solved.ripple[0])), "A")
    switch, diode = losses(solved.cell, one)
    watts = feed_powers(solved.feed, stood, volts) | {
        "switch_loss": float(switch[0]), "freewheel_loss": float(diode[0]), "switching_loss": 0.0,
        "copper_loss_field": float(solved.points.resistance[0] * one.rms[0] ** 2)}
    named |= {"field_resistance": Quantity(float(solved.points.resistance[0]), "ohm")}
    named |= line_currents(solved.feed, stood) | mains(stood, volts)
    return named | {name: Quantity(value, "W") for name, value in watts.items()}


def _waveform(solved: FieldSolution) -> dict[str, Array]:
    time, current = (rows[:, 0] for rows in series_trace(solved.loop[:1], solved.cell.winding))
    kept = np.concatenate(([True], np.diff(time) > 0))
    time, current = time[kept], current[kept]
    at, mean = float(solved.loop.on_time[0]), float(solved.bus.mean[0])
    place = int(np.searchsorted(time, at))
    if 0 < place < len(time) - 1:      # both sides of the jump
        time, current = np.insert(time, place, np.nextafter(at, 0.0)), np.insert(current, place, current[place])
    on = (time < at) | (at >= float(solved.loop.period[0]))
    drop, back = solved.cell.switch, solved.cell.freewheel
    full, flows = np.ones_like(time), current > 0
    across = np.where(on & flows, mean - drop.threshold - drop.slope * current,
                      np.where(flows, -back.threshold - back.slope * current, 0.0))
    wave = {"time": time, "bus_voltage": mean * full, "field_voltage": across, "field_current": current,
            "switch_voltage": mean - across, "switch_current": current * on, "freewheel_current": current * ~on}
    if solved.bus.charged is None:
        wave |= {"source_voltage": float(solved.points.voltage[0]) * full,
                 "line_current": float(solved.current.switch_mean[0]) * full}
    return wave


def _warnings(solved: FieldSolution) -> tuple[Warning_, ...]:
    one = solved.current
    if not one.on_charge[0] > 0:
        return (Warning_(code="no-current", message="No current flows: the bus does not exceed what opposes it, or the "
                         "duty is zero."),)
    if not one.continuous[0]:
        return (Warning_(code="discontinuous", message="The field current falls to zero in every period: the "
                         "frequency is far too low for this winding."),)
    return ()


CIRCUIT = FieldChopper()
