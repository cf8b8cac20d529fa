"""What all motors on a chopped bus have in common: bus, line, devices, by the names of the operating point."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import ClassVar, Literal, Self

import numpy as np

from designer.circuits.bus import Bus, Source, bus
from designer.circuits.bus_point import Named, rectified
from designer.circuits.case import Chopping, Drop, Fixed, Points
from designer.results import Array, Indices
from designer.waveforms.chopper import Loop
from designer.waveforms.chopper_series import SeriesLoop
from designer.waveforms.periodic import Periodic

EXACT = 1e-5        # a tolerance at or below it asks for the bus on the bridge itself, not on its curve
Exact = Literal["no", "usual", "all"]


@dataclass(frozen=True, kw_only=True)
class Wave:
    """One period of the first point: time from turn-on (s), armature and field current (A), k (V·s)."""

    time: Array
    current: Array
    field: Array
    flux: Array


@dataclass(frozen=True, kw_only=True)
class OnBus(ABC):
    """A motor's loop on the bus: ``volts`` the bus's mean voltage, ``taken`` (A) all that is drawn, as they agree."""

    circuit: ClassVar[str]

    fixed: Fixed
    points: Points
    volts: Array
    taken: Array
    loop: Loop | SeriesLoop
    current: Periodic

    def __getitem__(self, chosen: Indices) -> Self:
        return replace(self, **{
            item.name: getattr(self, item.name)[chosen] for item in fields(self) if item.name != "fixed"})

    @cached_property
    def bus(self) -> Bus:
        """The bus as it stands under the current that the chopper takes."""
        source = Source(voltage=self.points.voltage, frequency=self.points.frequency)
        return bus(self.fixed.feed, source, self.taken)

    @property
    @abstractmethod
    def torque(self) -> Array:
        """Mean electromagnetic torque, N·m."""

    @property
    @abstractmethod
    def iron_torque(self) -> Array:
        """Mean torque of the iron loss, N·m (none unless the readings tell it apart)."""

    @property
    def armature_square(self) -> Array:
        """Mean square of the armature current, A²."""
        return self.current.rms**2

    @property
    def armature_absolute(self) -> Array:
        """Mean of the armature current, A; it has one sign."""
        return self.current.mean

    @property
    @abstractmethod
    def field_square(self) -> Array:
        """Mean square of the field current, A²."""

    @property
    def line_square(self) -> Array:
        """Mean square of the line current, A²."""
        if self.bus.charged is not None:
            return self.bus.charged.line_rms**2
        return self.taken**2

    @property
    def input_power(self) -> Array:
        """Mean power drawn from the ideal source of the bus, W."""
        if self.bus.charged is not None:
            return self.bus.charged.drawn
        return np.asarray(self.points.voltage * self.taken)

    @property
    @abstractmethod
    def peak(self) -> Array:
        """Greatest armature current (A) with the bus at its crest, as if it stood there: the safe side."""

    @property
    def switching_ripple(self) -> Array:
        """What an ideal capacitor on the bus bears of the switching, A r.m.s."""
        one = self.current
        return np.asarray(np.sqrt(np.maximum(one.switch_rms**2 - one.switch_mean**2, 0.0)))

    @property
    @abstractmethod
    def torque_ripple(self) -> float:
        """Peak to peak at the first point, N·m."""

    @abstractmethod
    def field_shape(self) -> Mapping[str, float]:
        """Mean, r.m.s., peak, least and ripple of the field current at the first point, A."""

    @abstractmethod
    def field_watts(self) -> Mapping[str, float]:
        """Powers of the field at the first point, W, by name."""

    def more(self) -> Named:
        """Further quantities of the first point, by name; none unless the circuit has more devices."""
        return {}

    def more_losses(self) -> tuple[float, float]:
        """Conduction loss of further transistors and of further diodes at the first point, W."""
        return 0.0, 0.0

    @abstractmethod
    def wave(self) -> Wave:
        """One period of the first point."""


def how_chopped(fixed: Fixed) -> Chopping:
    """How the chopper is driven; ``ValueError`` where that is not told."""
    if fixed.chopping is None:
        raise ValueError("a chopper needs its switching frequency")
    return fixed.chopping


def duty_range(fixed: Fixed) -> tuple[float, float]:
    """Duties of most and of least output."""
    return (1.0 if fixed.setting_cap is None else fixed.setting_cap), 0.0


def straight(fixed: Fixed) -> tuple[Fixed, float]:
    """What stands for a shorted transistor, and its duty: what it chops straight on the bus, no limit left."""
    chopping = Chopping(frequency=how_chopped(fixed).frequency)
    return replace(fixed, switch=Drop(), chopping=chopping, setting_cap=None), 1.0


def exactness(fixed: Fixed) -> Exact:
    """How exactly the bus is solved, by the tolerance asked for."""
    exact: Exact = "usual" if fixed.tolerance <= EXACT else "no"
    return "all" if fixed.thorough else exact


def field_powers(fixed: Fixed, *, current: float, resistance: float, voltage: float) -> dict[str, float]:
    """What the field's own supply gives, and what of it stays outside the winding, W."""
    copper, feed = resistance * current**2, fixed.field
    if feed is None or (feed.voltage is None and not (feed.drop or feed.series)):
        return {"field_input_power": copper, "copper_loss_field": copper}
    drawn = feed.drawn(current, resistance=resistance, supply=voltage)
    return {"field_input_power": drawn, "field_supply_loss": drawn - copper, "copper_loss_field": copper}


def stresses(solved: OnBus) -> dict[str, Array]:
    """What line, bus and devices see at every point: A, V, W; peaks with the bus at its crest."""
    fixed, one, stood, ripple = solved.fixed, solved.current, solved.bus, solved.switching_ripple
    told = {
        "switch_current_mean": one.switch_mean, "switch_current_mean_absolute": one.switch_mean,
        "switch_current_rms": one.switch_rms, "switch_current_peak": solved.peak,
        "freewheel_current_mean": one.diode_mean, "freewheel_current_rms": one.diode_rms,
        "freewheel_current_peak": solved.peak,
        "armature_current_mean": one.mean, "armature_current_rms": one.rms, "armature_current_peak": solved.peak,
        "armature_current_ripple": one.ripple, "field_current_rms": np.sqrt(solved.field_square),
        "bus_current": solved.taken, "bus_voltage_mean": stood.mean, "bus_voltage_valley": stood.valley,
        "bus_voltage_crest": stood.crest, "on_time": solved.loop.on_time,
        "capacitor_current_switching_rms": ripple, "capacitor_current_rms": ripple,
        "line_current_rms": np.sqrt(solved.line_square), "line_current_peak": solved.taken,
        "switch_loss": fixed.switch.threshold * one.switch_mean + fixed.switch.slope * one.switch_rms**2,
        "freewheel_loss": fixed.freewheel.threshold * one.diode_mean + fixed.freewheel.slope * one.diode_rms**2,
    }
    return told | ({} if stood.charged is None else rectified(fixed.feed, stood, ripple))
