"""The tables of parts at hand: their datasheet values."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from designer.project.fields import (
    AmpRate,
    Amps,
    Coulombs,
    Farads,
    Henries,
    I2t,
    KelvinPerWatt,
    Measure,
    Ohms,
    Pure,
    SmallVolts,
    Table,
    VoltRate,
    Volts,
)

Threshold = Annotated[float, Measure("V", low=0.0, high=10.0)]
Slope = Annotated[float, Measure("ohm", low=0.0, high=10.0)]
FuseAmps = Annotated[float, Measure("A", low=1e-3, high=5000.0)]
BreakingAmps = Annotated[float, Measure("A", low=0.0, high=200e3)]
FuseI2t = Annotated[float, Measure("A**2*s", low=1e-6, high=1e9)]
FosterOhms = Annotated[float, Measure("K/W", low=1e-6, high=100.0)]
FosterTime = Annotated[float, Measure("s", low=1e-7, high=100.0)]
SinkSide = Annotated[float, Measure("m", low=0.01, high=0.4, hint="A larger one is no longer at one temperature.")]
FinHeight = Annotated[float, Measure("m", low=1e-3, high=0.1)]
FinThickness = Annotated[float, Measure("m", low=0.3e-3, high=0.01)]
FinCount = Annotated[int, Pure(low=2, high=200, whole=True)]
Emissivity = Annotated[float, Pure(low=0.02, high=1.0)]
Junction = Annotated[float, Measure("degC", low=60.0, high=200.0, hint="Silicon: 110 to 175 °C.")]


class Device(Table):
    """What switches and diodes have in common."""

    voltage: Volts | None = None
    """Repetitive peak voltage that it blocks."""
    current: Amps | None = None
    """Current rating: r.m.s. for a triac, mean for diodes and thyristors, continuous for transistors."""
    threshold_voltage: Threshold | None = None
    """Conducting drop = threshold + slope × current."""
    slope_resistance: Slope | None = None
    """Conducting drop = threshold + slope × current."""
    surge_current: Amps | None = None
    """Peak of one half cycle that it survives."""
    i2t: I2t | None = None
    """At 10 ms."""
    junction_temperature: Junction | None = None
    """Highest allowed."""
    junction_to_case: KelvinPerWatt | None = None
    """Thermal resistance inside the device."""
    case_to_sink: KelvinPerWatt | None = None
    """Thermal resistance of the mounting, pad included."""

    @property
    def drop(self) -> tuple[float, float]:
        """Threshold (V) and slope (ohm); what is left out counts as none."""
        return self.threshold_voltage or 0.0, self.slope_resistance or 0.0


class Switch(Device):
    """Triac, thyristor or transistor; the thyristors of a bridge."""

    latching_current: Amps | None = None
    """Current that must be passed before the gate may be let go."""
    holding_current: Amps | None = None
    """Current below which it turns off."""
    gate_current: Amps | None = None
    """Gate current that surely fires it."""
    gate_voltage: SmallVolts | None = None
    """Gate voltage at that current."""
    commutating_slope: AmpRate | None = None
    """Current slope at turn-off that it stands."""
    critical_dvdt: VoltRate | None = None
    """Rate of voltage, off, that does not fire it."""
    rise_of_current: AmpRate | None = None
    """Critical rate of rise of current at turn-on."""
    gate_charge: Coulombs | None = None
    """Total gate charge at the drive voltage."""
    drive_voltage: SmallVolts | None = None
    """Gate voltage of a transistor when on."""
    on_resistance: Slope | None = None
    """Of a field-effect transistor, hot."""
    output_capacitance: Farads | None = None
    """Of a transistor, effective."""
    foster: Annotated[tuple[tuple[FosterOhms, FosterTime], ...], Field(min_length=1, max_length=12)] | None = None
    """Chain of its transient thermal resistance, junction to case: pairs of resistance and time constant."""

    @property
    def drop(self) -> tuple[float, float]:
        """Threshold (V) and slope (ohm); `on_resistance` is the slope where that is all there is."""
        slope = self.slope_resistance if self.slope_resistance is not None else self.on_resistance
        return self.threshold_voltage or 0.0, slope or 0.0


class Diode(Device):
    """A diode: freewheel, or one of the rectifier."""

    recovery_time: Annotated[float, Measure("s", low=0.0, high=1e-3)] | None = None
    """Reverse recovery time."""
    recovery_charge: Coulombs | None = None
    """Reverse recovery charge."""


class Reservoir(Table):
    """The capacitor on the d.c. side."""

    capacitance: Farads | None = None
    """Nominal."""
    series_resistance: Ohms | None = None
    """Equivalent series resistance."""
    voltage: Volts | None = None
    """Rated voltage."""
    ripple_current: Amps | None = None
    """Rated ripple current, r.m.s."""


class Fuse(Table):
    """The fuse."""

    rating: FuseAmps | None = None
    """Rated current."""
    characteristic: Literal["FF", "F", "M", "T", "TT", "gG", "aM", "aR", "gR"] | None = None
    """Time-current characteristic."""
    breaking_capacity: BreakingAmps | None = None
    """Current that it can interrupt."""
    i2t: FuseI2t | None = None
    """Total clearing I²t at the working voltage."""
    voltage: Volts | None = None
    """Rated voltage."""
    current_kind: Literal["ac", "dc", "both"] | None = None
    """The kind of current that it can interrupt."""


class Heatsink(Table):
    """The heatsink."""

    thermal_resistance: KelvinPerWatt | None = None
    """Sink to ambient, as it will be mounted, at sea level: the height of the place is counted."""
    height: SinkSide | None = None
    """In place of `thermal_resistance`: upright, along the fins."""
    width: SinkSide | None = None
    """Across the fins; a plain plate stands free, both faces in the air."""
    fin_count: FinCount | None = None
    """Fins, the two at the edges too; left out: a plain plate of 2 mm or more."""
    fin_height: FinHeight | None = None
    """Of the fins above their base."""
    fin_thickness: FinThickness | None = None
    """Of one fin."""
    emissivity: Emissivity | None = None
    """Of its surface: 0.9 black anodised or painted; left out, it counts as bare metal, 0.05."""


class LineChoke(Table):
    """The choke in the line of a bus."""

    inductance: Henries | None = None
    """Nominal, at its rated current; the waveforms are solved with it."""
    resistance: Ohms | None = None
    """Of its winding, warm; left out, that of a listed choke next to it."""
    current: Amps | None = None
    """Rated r.m.s. current."""
    saturation_current: Amps | None = None
    """Peak up to which the inductance stands."""


class InrushLimiter(Table):
    """What limits the charging of the reservoir."""

    resistance: Ohms | None = None
    """Nominal; of an NTC at 25 °C."""
    hot_resistance: Ohms | None = None
    """Of an NTC that nothing bridges, at its greatest steady current: it stands in the line while running."""
    energy: Annotated[float, Measure("J", low=0.0, high=1e6)] | None = None
    """Energy of one pulse."""
    current: Amps | None = None
    """Of an NTC: greatest steady r.m.s. current."""
    voltage: Volts | None = None
    """Of a resistor: limiting element voltage."""


class Parts(Table):
    """Datasheet values of parts at hand."""

    switch: Switch | None = None
    """Triac, thyristor or transistor; the thyristors of a bridge."""
    freewheel: Diode | None = None
    """The freewheel diode."""
    rectifier: Diode | None = None
    """One diode: the two of a half-controlled bridge, the four of a plain one."""
    reservoir: Reservoir | None = None
    """The capacitor on the d.c. side."""
    fuse: Fuse | None = None
    """The fuse."""
    heatsink: Heatsink | None = None
    """The heatsink."""
    line_choke: LineChoke | None = None
    """Choke in the line."""
    inrush_limiter: InrushLimiter | None = None
    """Resistor that limits the charging current, or NTC."""
