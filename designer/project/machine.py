"""The tables about the motor, what it drives and what is wanted of it."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, field_validator

from designer.project.fields import (
    Amps,
    Celsius,
    Count,
    Efficiency,
    Farads,
    Flag,
    Inertia,
    Insulation,
    KelvinPerWatt,
    Length,
    LoadSpeedLimit,
    MainsHertz,
    Measure,
    Pure,
    Ratio,
    Seconds,
    Speed,
    SpeedConstant,
    SpeedLimit,
    Square,
    Table,
    Text,
    Torque,
    Viscous,
    Watts,
    WindingHenries,
    WindingOhms,
    fault,
)
from designer.quantities import engineering

BrushDrop = Annotated[float, Measure("V", low=0.0, high=10.0, hint="Both brushes together, carbon: about 2 V.")]
Shift = Annotated[float, Measure("rad", low=-0.8, high=0.8)]
TargetSpeed = Annotated[float, Measure("rad/s", low=0.0, high=6283.2, hint="The speed wanted at the output shaft.")]
Band = Annotated[float, Measure("1", low=0.001, high=1.0)]
RatedVolts = Annotated[float, Measure("V", low=1.0, high=1000.0)]


class SpeedConstantAt(Table):
    """One point of the flux curve, where that is all there is."""

    field_current: Annotated[float, Measure("A", low=1e-3, high=500.0)]
    """Field current of the point."""
    value: Annotated[float, Measure("V*s", low=1e-5, high=10.0)]
    """Speed voltage per rad/s at that current."""


class Motor(Table):
    """The motor's constants, as read."""

    armature_resistance: WindingOhms | None = None
    """Through the brushes, at `winding_temperature`."""
    armature_inductance: WindingHenries | None = None
    """Armature inductance."""
    field_resistance: WindingOhms | None = None
    """Field winding, at `winding_temperature`."""
    field_inductance: WindingHenries | None = None
    """Field winding, unsaturated."""
    winding_temperature: Annotated[float, Measure("degC", low=-20.0, high=180.0)] | None = None
    """Temperature at which the resistances were read."""
    brush_drop: BrushDrop = 2.0
    """Voltage of both brushes together."""
    flux_curve: Annotated[tuple[tuple[Amps, SpeedConstant], ...], Field(max_length=200)] | None = None
    """Speed voltage per rad/s against field current: pairs of current and value."""
    speed_constant_at: SpeedConstantAt | None = None
    """One point of the flux curve, where that is all there is."""
    remanence: Literal["drop", "keep", "follows-current"] | None = None
    """What becomes of the value at 0 A; the circuit's own way unless said."""
    saturating_inductance: Flag | None = None
    """Whether the field inductance falls with saturation; true where the curve has three or more points."""
    field_leakage_inductance: Annotated[float, Measure("H", low=0.0, high=10.0)] | None = None
    """Part of the field inductance that does not saturate; a tenth unless said."""
    friction_torque: Torque | None = None
    """Constant part of the friction."""
    viscous_friction: Viscous | None = None
    """Friction times speed in rad/s."""
    windage: Square | None = None
    """Friction times speed squared."""
    hysteresis_torque: Torque | None = None
    """Iron torque at the flux of `flux_reference`, any speed; none unless said."""
    eddy_torque_coefficient: Viscous | None = None
    """Iron torque per rad/s at the flux of `flux_reference`; none unless said."""
    flux_reference: Annotated[float, Measure("V*s", low=1e-5, high=10.0)] | None = None
    """Speed constant at which the iron torques were read."""
    inertia: Inertia | None = None
    """Of the rotor and what is fixed on its shaft."""
    maximum_speed: SpeedLimit | None = None
    """Highest speed at which the rotor is known to hold together."""
    maximum_speed_source: Literal["nameplate", "measured", "donor-appliance", "assumed"] | None = None
    """Where that limit comes from."""
    thermal_class: Literal["A", "E", "B", "F", "H", "N", "R"] | None = None
    """Insulation class of the windings; A where it is not known."""
    thermal_resistance_armature: KelvinPerWatt | None = None
    """Armature to ambient at standstill."""
    thermal_resistance_field: KelvinPerWatt | None = None
    """Field to ambient at standstill."""
    thermal_resistance_armature_running: KelvinPerWatt | None = None
    """Armature to ambient at `thermal_resistance_speed`."""
    thermal_resistance_field_running: KelvinPerWatt | None = None
    """Field to ambient at `thermal_resistance_speed`."""
    thermal_resistance_speed: Speed | None = None
    """Motor speed at which the running thermal resistances were read."""
    thermal_time_constant: Seconds | None = None
    """Of the windings at standstill, copper and iron together."""
    running_temperature: Celsius | None = None
    """Both windings when running, where the design is not to find it."""
    running_temperature_armature: Celsius | None = None
    """Armature when running."""
    running_temperature_field: Celsius | None = None
    """Field when running."""
    insulation_resistance: Insulation | None = None
    """At 500 V, all windings to frame."""
    double_insulated: Flag | None = None
    """True for a motor of class II: its insulation limit is 2 Mohm instead of 1."""
    frame_capacitance: Farads | None = None
    """All windings together to the frame, read at some kHz; leave out where it is not known."""
    lead_length: Length | None = None
    """Lead from the circuit to the motor, one way."""
    rated_voltage: RatedVolts | None = None
    """Voltage of the nameplate."""
    wire_diameter_armature: Length | None = None
    """Copper diameter of the armature wire."""
    wire_diameter_field: Length | None = None
    """Copper diameter of the field wire."""
    commutator_bars: Count | None = None
    """Number of commutator bars."""
    brush_width: Length | None = None
    """Of one brush, along the commutator's turning."""
    brush_thickness: Length | None = None
    """Of one brush, along the shaft."""
    commutator_diameter: Length | None = None
    """Outer diameter of the commutator."""
    brush_shift: Shift | None = None
    """Angle of the brushes off the neutral, positive in the direction of turning."""
    direction: Literal["clockwise", "counter-clockwise", "both"] | None = None
    """Seen on the shaft end."""
    readings_files: tuple[Text, ...] = ()
    """CSV files of readings beside this file."""

    @field_validator("thermal_class", mode="before")
    @classmethod
    def _has_limits(cls, name: object) -> object:
        """Class Y is known, but IEC 60335-1 allows it no rises: told as such, not as a slip of the pen."""
        if name == "Y":
            raise fault("Y", "A, E, B, F, H, N, R", "Class Y (90 °C, IEC 60085) has no limits in IEC 60335-1: a motor "
                        "of that class is not designed for. If the nameplate does not say it, take A.")
        return name

    @field_validator("flux_curve")
    @classmethod
    def _rises(cls, curve: tuple[tuple[float, float], ...] | None) -> tuple[tuple[float, float], ...] | None:
        """Two rows or more, currents rising, values not falling and not all zero."""
        if curve is None:
            return None
        allowed = "two or more pairs, currents rising, values never falling"
        if len(curve) < 2:
            raise fault(len(curve), allowed, "One point alone goes in speed_constant_at = { field_current, value }.")
        for (i_1, k_1), (i_2, k_2) in pairwise(curve):
            rows = [f"{engineering(i, 'A')}: {engineering(k, 'V*s')}" for i, k in ((i_1, k_1), (i_2, k_2))]
            shown = ", then ".join(rows)
            if i_2 <= i_1:
                raise fault(shown, allowed, "Sort the rows by field current, each current once.")
            if k_2 < k_1:
                raise fault(shown, allowed, "More field current gives no less flux: read that row again.")
        if curve[-1][1] <= 0:
            raise fault("only zeros", allowed, "Speed voltage over speed, at each field current.")
        return curve

    @property
    def field_saturates(self) -> bool:
        """True where the field inductance falls with saturation: as said, else with three points or more."""
        if self.saturating_inductance is not None:
            return self.saturating_inductance
        return self.flux_curve is not None and len(self.flux_curve) >= 3

    @property
    def field_leakage(self) -> float:
        """H: as given, else a tenth of the field inductance (common practice, no source)."""
        if self.field_leakage_inductance is not None:
            return self.field_leakage_inductance
        return 0.1 * (self.field_inductance or 0.0)

    @property
    def armature_temperature(self) -> float | None:
        """°C at which `solve` takes the armature: running, else as read."""
        return _first(self.running_temperature_armature, self.running_temperature, self.winding_temperature)

    @property
    def field_temperature(self) -> float | None:
        """°C at which `solve` takes the field: running, else as read."""
        return _first(self.running_temperature_field, self.running_temperature, self.winding_temperature)


def _first(*values: float | None) -> float | None:
    return next((value for value in values if value is not None), None)


class Transmission(Table):
    """What stands between motor and output shaft."""

    ratio: Ratio
    """Motor turns per output turn."""
    efficiency: Efficiency
    """Share of the shaft power that reaches the output."""


class Load(Table):
    """The load at the output shaft: constant, linear and square part."""

    torque: Torque | None = None
    """Constant part."""
    viscous: Viscous | None = None
    """Part times speed in rad/s."""
    square: Square | None = None
    """Part times speed squared."""
    inertia: Inertia | None = None
    """Of the driven part."""
    maximum_speed: LoadSpeedLimit | None = None
    """Of the driven part; `none` where it has no limit of its own (kept as infinity)."""
    coupling: Literal["can-be-lost", "fixed"] = "can-be-lost"
    """Whether the load can come off while the motor turns."""
    can_jam: Flag = True
    """Whether the load can stop the motor."""
    current: Amps | None = None
    """For the supply-only circuits."""

    @property
    def is_given(self) -> bool:
        """True where any of the three torque parts stands in the file."""
        return self.given("torque", "viscous", "square")

    def torque_at(self, speed: float) -> float:
        """N*m at the output shaft at ``speed`` in rad/s; parts left out count as zero."""
        return (self.torque or 0.0) + (self.viscous or 0.0) * speed + (self.square or 0.0) * speed**2


class Duty(Table):
    """How long the load lasts; continuous unless said."""

    kind: Literal["continuous", "periodic"] = "continuous"
    """Continuous, or periodic with `on_time` and `off_time`."""
    on_time: Seconds | None = None
    """Time under load in each period."""
    off_time: Seconds | None = None
    """Time at rest in each period."""
    starts_per_hour: Annotated[float, Pure(low=0, high=3600)] | None = None
    """Starts from rest each hour."""


class Target(Table):
    """What is wanted, at the output shaft."""

    speed: TargetSpeed | None = None
    """Speed at full load."""
    speed_band: Band | None = None
    """Allowed change of speed from no load to full load, as a share of the target."""


class FurtherTarget(Table):
    """A point that the same build must also reach."""

    speed: TargetSpeed
    """Speed at the output shaft."""
    torque: Torque
    """Torque at the output shaft."""


class Nameplate(Table):
    """What the motor's plate says."""

    voltage: RatedVolts | None = None
    """Rated voltage."""
    frequency: MainsHertz | None = None
    """Rated frequency."""
    power: Watts | None = None
    """Rated power, input or output as the plate says."""
    current: Amps | None = None
    """Rated current."""
    speed: Speed | None = None
    """Rated speed."""

