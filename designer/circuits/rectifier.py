"""A bridge with its reservoir on mains, feeding a constant current: a supply by itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from designer.circuits.bus import Bus, Source, bus
from designer.circuits.bus_point import Named, feed_powers, line_currents, line_harmonics, mains, rectified
from designer.circuits.case import Feed
from designer.equations import rectifier as eq
from designer.equations.formula import Formula
from designer.results import Array, Indices, OperatingPoint, Quantity, Warning_
from designer.waveforms.rectifier import trace


@dataclass(frozen=True, kw_only=True)
class SupplyPoints:
    """The conditions of each point: supply V r.m.s. and Hz, and the current (A) taken from the bus."""

    voltage: Array
    frequency: Array
    current: Array

    def __getitem__(self, chosen: Indices) -> SupplyPoints:
        return SupplyPoints(voltage=self.voltage[chosen], frequency=self.frequency[chosen],
                            current=self.current[chosen])

    def __len__(self) -> int:
        return len(self.voltage)


@dataclass(frozen=True, kw_only=True)
class RectifierSolution:
    """The bus of every point and what follows from it."""

    feed: Feed
    points: SupplyPoints

    def __getitem__(self, chosen: Indices) -> RectifierSolution:
        return replace(self, points=self.points[chosen])

    @cached_property
    def bus(self) -> Bus:
        """The bus under its load."""
        return bus(self.feed, Source(voltage=self.points.voltage, frequency=self.points.frequency),
                   self.points.current)

    @property
    def line_square(self) -> Array:
        """Mean square of the line current, A²."""
        assert self.bus.charged is not None
        return self.bus.charged.line_rms**2

    @property
    def input_power(self) -> Array:
        """Mean power drawn from the ideal source, W."""
        assert self.bus.charged is not None
        return self.bus.charged.drawn


@dataclass(frozen=True, kw_only=True)
class Rectifier:
    """Line, fuse, limiter, bridge, reservoir, load."""

    name: str = "rectifier"
    title: str = "Bridge rectifier with reservoir"
    setting: str = ""
    formulas: tuple[Formula, ...] = (eq.RELEASE_CONSTANT, eq.VALLEY, eq.CONDUCTION_ANGLE)

    def solve(self, feed: Feed, points: SupplyPoints) -> RectifierSolution:
        """Solve every point."""
        return RectifierSolution(feed=feed, points=points)

    def stresses(self, solved: RectifierSolution) -> dict[str, Array]:
        """What line, diodes and reservoir see at every point, by the names of the operating point's quantities."""
        nothing = np.zeros(len(solved.points))
        told = rectified(solved.feed, solved.bus, nothing)
        return told | {
            "line_current_rms": np.sqrt(solved.line_square), "bus_current": solved.points.current,
            "capacitor_current_switching_rms": nothing, "bus_voltage_mean": solved.bus.mean,
            "bus_voltage_valley": solved.bus.valley, "bus_voltage_crest": solved.bus.crest}

    def harmonics(self, solved: RectifierSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return line_harmonics(solved.bus)

    def operating_point(self, solved: RectifierSolution) -> OperatingPoint:
        """Tell everything about the first point."""
        stood, feed, volts = solved.bus, solved.feed, float(solved.points.voltage[0])
        found, bridge = stood.charged, stood.bridge
        assert bridge is not None
        assert found is not None
        watts = feed_powers(feed, stood, volts)
        watts["load_power"] = float(stood.mean[0] * solved.points.current[0])
        named: Named = {
            "bus_voltage_mean": Quantity(float(stood.mean[0]), "V"),
            "bus_voltage_valley": Quantity(float(stood.valley[0]), "V"),
            "bus_voltage_crest": Quantity(float(stood.crest[0]), "V"),
            "load_current": Quantity(float(solved.points.current[0]), "A"),
            "capacitor_current_rms": Quantity(float(found.capacitor_rms[0]), "A"),
            "efficiency": Quantity(watts["load_power"] / watts["input_power"] if watts["input_power"] else 0.0, "1"),
            "continuous": Quantity(float(found.touching[0]), "1"),
        }
        if np.isfinite(found.turn_on[0]):
            start, end = float(found.turn_on[0]), float(found.extinction[0])
            named |= {"turn_on_angle": Quantity(start, "rad"), "extinction_angle": Quantity(end, "rad"),
                      "conduction_angle": Quantity(end - start, "rad")}
        named |= line_currents(feed, stood) | mains(stood, volts)
        named |= {name: Quantity(value, "W") for name, value in watts.items()}
        angle, line, level = trace(bridge, found, 0)
        source = float(bridge.peak[0]) * np.sin(angle)
        wave = {"angle": angle, "source_voltage": source, "line_current": line, "bus_voltage": level}
        return OperatingPoint(circuit=self.name, quantities=named, waveform=wave, warnings=_warnings(solved))


def _warnings(solved: RectifierSolution) -> tuple[Warning_, ...]:
    if np.isfinite(solved.bus.mean[0]):
        return ()
    return (Warning_(code="overloaded", message="The load overwhelms the source: the bus falls to zero in every half "
                     "cycle. Less current, a larger reservoir, or a stiffer supply."),)


CIRCUIT = Rectifier()
