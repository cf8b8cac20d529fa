"""The tables about what feeds the circuit and what surrounds it."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from designer.project.fields import (
    Altitude,
    AmbientCelsius,
    Amps,
    Flag,
    Henries,
    Hertz,
    MainsHertz,
    Measure,
    Ohms,
    Reason,
    SmallVolts,
    Table,
    Tolerance,
    Volts,
    Volume,
    Watts,
)

REFERENCE_RESISTANCE = 0.4       # ohm, IEC 60725 reference impedance
REFERENCE_REACTANCE = 0.25       # ohm at 50 Hz, likewise
REFERENCE_VOLTAGE = 230.0        # V, the mains for which it is given
SOCKET_CURRENT = 1500.0          # A r.m.s. at a mains socket: common practice, no source
LEAST_TOLERANCE = 0.06           # counted at least, unless a reason stands in the file
LEAST_AMBIENT = 25.0             # °C, likewise

SupplyVolts = Annotated[float, Measure("V", low=1.0, high=1000.0, hint="R.m.s. for mains, mean for d.c.")]
ShareOfVoltage = Annotated[float, Measure("1", low=0.005, high=0.5)]


class Transformer(Table):
    """A transformer between the mains and the circuit."""

    power: Watts
    """Rated apparent power."""
    short_circuit_voltage: ShareOfVoltage
    """Share of the rated voltage that drives the rated current into a short."""
    magnetising_current: Amps | None = None
    """R.m.s. current of the primary without load."""


class Supply(Table):
    """What feeds the circuit."""

    kind: Literal["mains", "dc"] | None = None
    """`mains` (alternating, sinusoidal) or `dc`."""
    voltage: SupplyVolts | None = None
    """R.m.s. for mains, mean for d.c."""
    frequency: MainsHertz | None = None
    """Of the mains; not for d.c."""
    tolerance: Tolerance = 0.1
    """Share by which the voltage may lie above or below; counts as at least 6 %."""
    tolerance_reason: Reason | None = None
    """Why a mains tolerance below 6 % may be counted on; printed on the sheet."""
    voltage_min: SupplyVolts | None = None
    """Lowest voltage, instead of the tolerance."""
    voltage_max: SupplyVolts | None = None
    """Highest voltage, instead of the tolerance."""
    resistance: Ohms | None = None
    """Source resistance, for running waveforms."""
    inductance: Henries | None = None
    """Source inductance, for running waveforms."""
    prospective_current: Annotated[float, Measure("A", low=0.1, high=200e3)] | None = None
    """R.m.s. current into a dead short at the connection, for faults and inrush."""
    cord_length: Annotated[float, Measure("m", low=0.3, high=100.0)] = 3.0
    """Length of the cord from the plug, one way."""
    transformer: Transformer | None = None
    """The transformer that stands before the circuit, if any."""

    @property
    def is_mains(self) -> bool:
        """True for alternating supply."""
        return self.kind == "mains"

    @property
    def word(self) -> str:
        """What people call it in "low …", "high …": mains, or supply where it is direct."""
        return "mains" if self.is_mains else "supply"

    @property
    def counted_tolerance(self) -> float:
        """Share counted up and down: at least 6 % on mains, unless a reason is written."""
        if not self.is_mains or self.tolerance_reason:
            return self.tolerance
        return max(self.tolerance, LEAST_TOLERANCE)

    @property
    def lowest_voltage(self) -> float:
        """V: ``voltage_min``, else by the tolerance; never closer to nominal than what counts at least."""
        return self._edge(self.voltage_min, -1)

    @property
    def highest_voltage(self) -> float:
        """V: ``voltage_max``, else by the tolerance; never closer to nominal than what counts at least."""
        return self._edge(self.voltage_max, +1)

    def _edge(self, given: float | None, side: int) -> float:
        nominal = _known(self.voltage)
        if given is None:
            return nominal * (1 + side * self.counted_tolerance)
        if not self.is_mains or self.tolerance_reason:
            return given
        least = nominal * (1 + side * LEAST_TOLERANCE)
        return min(given, least) if side < 0 else max(given, least)

    @property
    def source_resistance(self) -> float:
        """Ohm, for running waveforms: as given, else IEC 60725's reference on mains and 0 on d.c."""
        if self.resistance is not None:
            return self.resistance
        return REFERENCE_RESISTANCE * self._reference_scale if self.is_mains else 0.0

    @property
    def source_inductance(self) -> float:
        """H, for running waveforms: as given, else IEC 60725's reference on mains and 0 on d.c."""
        if self.inductance is not None:
            return self.inductance
        if not self.is_mains:
            return 0.0
        return REFERENCE_REACTANCE * self._reference_scale / (2 * math.pi * _known(self.frequency))

    @property
    def _reference_scale(self) -> float:
        voltage = _known(self.voltage)
        if 220.0 <= voltage <= 250.0 and self.frequency == 50.0:
            return 1.0
        return (voltage / REFERENCE_VOLTAGE) ** 2

    @property
    def fault_current(self) -> float:
        """A r.m.s. into a dead short: as given, else S/(V·u_k) behind a transformer, else 1500 A."""
        if self.prospective_current is not None:
            return self.prospective_current
        if self.transformer is not None:
            return self.transformer.power / (_known(self.voltage) * self.transformer.short_circuit_voltage)
        return SOCKET_CURRENT


def _known(value: float | None) -> float:
    """The value; ``ValueError`` where ``require`` was not asked first."""
    if value is None:
        raise ValueError("this property needs supply.voltage and, on mains, supply.frequency")
    return value


class FieldSupply(Table):
    """What feeds the field winding by itself."""

    kind: Literal["dc", "transformer-rectifier", "phase-angle", "chopper"]
    """How the field is fed."""
    voltage: Volts | None = None
    """D.c. at its terminals or ahead of the chopper, or the transformer's secondary r.m.s. at its rated load."""
    power: Watts | None = None
    """Rated apparent power of the transformer."""
    regulation: Tolerance | None = None
    """Rise of the secondary voltage from rated load to none, as a share."""
    magnetising_current: Amps | None = None
    """R.m.s. current of the transformer without load."""
    resistance: Ohms | None = None
    """Source resistance."""
    inductance: Henries | None = None
    """Source inductance."""
    frequency: Hertz | None = None
    """Mains frequency, or the chopper's switching frequency."""
    drop: SmallVolts | None = None
    """Drop of the rectifier at the field current, all devices in the path together, where it was read."""
    rectifier: Literal["bridge", "half-wave"] = "bridge"
    """How alternating current is rectified; half-wave has a freewheel diode across the field."""


class Enclosure(Table):
    """The box around the electronics."""

    volume: Volume
    """Inner volume."""
    ventilated: Flag = False
    """True where outside air passes through."""


class Ambient(Table):
    """The surroundings."""

    temperature: AmbientCelsius = 40.0
    """Highest air temperature around motor and box; counts as at least 25 °C."""
    temperature_reason: Reason | None = None
    """Why an ambient below 25 °C may be counted on; printed on the sheet."""
    temperature_min: AmbientCelsius | None = None
    """Lowest temperature, for a cold start."""
    altitude: Altitude = 2000.0
    """Height above sea level."""
    enclosure: Enclosure | None = None
    """The box, where its size is known."""

    @property
    def counted_temperature(self) -> float:
        """°C counted: at least 25 °C, unless a reason is written."""
        return self.temperature if self.temperature_reason else max(self.temperature, LEAST_AMBIENT)
