"""The tables of what was read at the bench: readings, pins, instruments."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from designer.project.fields import (
    Amps,
    Celsius,
    Count,
    Flag,
    Hertz,
    Insulation,
    Measure,
    Name,
    Ohms,
    Pure,
    Seconds,
    Speed,
    Table,
    Text,
    Torque,
    Volts,
    Watts,
)

Winding = Literal["armature", "field", "field-tap", "series"]
PinOhms = Annotated[
    float,
    Measure("ohm", low=0.0, high=1e9, words=(("open", float("inf")),), hint='"open" where the meter shows overload.'),
]


class AnyReading(Table):
    """What every reading may carry."""

    hold_out: Flag = False
    """Predicted, not fitted."""
    note: Text = ""
    """Anything worth remembering."""
    uncertainty_percent: Annotated[float, Pure(low=0.001, high=100)] | None = None
    """Standard uncertainty, in percent, instead of the instrument's."""


class StandstillDc(AnyReading):
    """A winding on d.c., the rotor held still."""

    kind: Literal["standstill-dc"]
    """Kind of the reading."""
    winding: Winding
    """The winding fed."""
    voltage: Volts
    """At its terminals."""
    current: Amps
    """Through it."""
    position: Text | None = None
    """Shaft position, in any words."""


class StandstillAc(AnyReading):
    """A winding on a.c., the rotor held still."""

    kind: Literal["standstill-ac"]
    """Kind of the reading."""
    winding: Winding
    """The winding fed."""
    voltage: Volts
    """R.m.s. at its terminals."""
    current: Amps
    """R.m.s. through it."""
    frequency: Hertz
    """Of the supply."""
    power: Watts | None = None
    """Active power."""


class SeparateExcitation(AnyReading):
    """Field and armature on supplies of their own, turning."""

    kind: Literal["separate-excitation"]
    """Kind of the reading."""
    field_current: Amps
    """Through the field."""
    field_voltage: Annotated[float, Measure("V", low=0.0, high=1000.0)] | None = None
    """Across the field."""
    armature_voltage: Volts
    """At the brushes."""
    armature_current: Amps
    """Through the armature."""
    speed: Speed
    """Of the motor shaft."""
    tap: Flag = False
    """True where the field's tap was fed."""


class SeriesRun(AnyReading):
    """Field and armature in series, turning without load."""

    kind: Literal["series-run"]
    """Kind of the reading."""
    supply: Literal["dc", "mains"]
    """D.c. or mains frequency."""
    voltage: Volts
    """Across both windings."""
    current: Amps
    """R.m.s."""
    speed: Speed
    """Of the motor shaft."""
    frequency: Hertz | None = None
    """For mains."""


class LockedRotor(AnyReading):
    """Torque with the rotor held."""

    kind: Literal["locked-rotor"]
    """Kind of the reading."""
    current: Amps
    """Through the armature."""
    field_current: Amps | None = None
    """Through the field, where it is fed by itself."""
    torque: Torque
    """On the lever."""


class RunDown(AnyReading):
    """Speed at a time after switch-off."""

    kind: Literal["run-down"]
    """Kind of the reading."""
    time: Seconds
    """Since switch-off."""
    speed: Speed
    """At that time."""
    field_current: Amps | None = None
    """Through the field meanwhile."""


class WarmUp(AnyReading):
    """A winding's resistance after a time under current."""

    kind: Literal["warm-up"]
    """Kind of the reading."""
    winding: Winding
    """The winding read."""
    time: Seconds
    """Since the current was switched on."""
    current: Amps
    """Through the winding."""
    resistance: Ohms
    """Of the winding, at that time."""
    speed: Speed | None = None
    """Of the motor shaft."""


class Tacho(AnyReading):
    """Frequency of the tacho at a speed."""

    kind: Literal["tacho"]
    """Kind of the reading."""
    speed: Speed
    """Of the motor shaft."""
    frequency: Hertz
    """At the tacho's terminals."""
    voltage: Volts | None = None
    """R.m.s. at the tacho's terminals."""


class ThermalSwitchReading(AnyReading):
    """Temperatures at which the thermal switch acts."""

    kind: Literal["thermal-switch"]
    """Kind of the reading."""
    opens: Celsius
    """Opens at."""
    closes: Celsius
    """Closes at."""


class InsulationReading(AnyReading):
    """Insulation of the windings to the frame."""

    kind: Literal["insulation"]
    """Kind of the reading."""
    test_voltage: Volts
    """D.c. test voltage, usually 500 V."""
    resistance: Insulation
    """Read after a minute."""


Reading = Annotated[
    StandstillDc | StandstillAc | SeparateExcitation | SeriesRun | LockedRotor | RunDown | WarmUp | Tacho
    | ThermalSwitchReading | InsulationReading,
    Field(discriminator="kind"),
]


class PinPair(Table):
    """The resistance between two pins."""

    pair: tuple[Name, Name]
    """The two pins; `frame` is a pin too."""
    resistance: PinOhms | None = None
    """As the meter shows it; `open` where it shows overload (kept as infinity)."""
    turning: Annotated[tuple[PinOhms, ...], Field(min_length=2, max_length=100)] | None = None
    """Readings while the shaft is turned by hand."""
    repeated: Annotated[tuple[PinOhms, ...], Field(min_length=1, max_length=100)] | None = None
    """The first positions of `turning` again, in their order: a bad contact reads otherwise, brushes alike."""


class MeterReading(Table):
    """What a meter showed on the built circuit: ``design`` tells the setting that gives it."""

    point: Literal["motor-voltage", "armature-current", "line-current", "lamp-voltage"]
    """Where it was read; a lamp is one in the motor's place."""
    meter: Literal["true-rms", "true-rms-with-dc", "average-responding", "direct"]
    """Kind of the meter: a.c. range, true r.m.s.; a.c. and d.c. together; a.c. range of another; d.c. range."""
    voltage: Volts | None = None
    """Shown, for a voltage."""
    current: Amps | None = None
    """Shown, for a current."""
    note: Text = ""
    """Anything worth remembering."""


class PinTest(Table):
    """The meter of the pin readings."""

    lead_resistance: Annotated[float, Measure("ohm", low=0.0, high=10.0)] | None = None
    """Probes shorted; found from the readings where it can be."""
    uncertainty: Annotated[float, Measure("ohm", low=1e-4, high=10.0)] | None = None
    """Standard uncertainty of one reading, beside 1 % of it; 0.1 Ω unless said."""
    capacitor: Flag | None = None
    """True where a capacitor of 1 µF or more is wired to the machine: asked, since ohms do not tell it."""
    others_open: Flag = False
    """True where every pair that is not listed was read too, and shows overload."""


class Instruments(Table):
    """The bench's meters and supplies with their limits."""

    voltage_uncertainty: Annotated[float, Measure("1", low=1e-5, high=0.5)] | None = None
    """Standard uncertainty of voltages, as a share of the reading."""
    current_uncertainty: Annotated[float, Measure("1", low=1e-5, high=0.5)] | None = None
    """Standard uncertainty of currents, as a share of the reading."""
    speed_uncertainty: Annotated[float, Measure("1", low=1e-5, high=0.5)] | None = None
    """Standard uncertainty of speeds, as a share of the reading."""
    true_rms: Flag | None = None
    """True where the meters read true r.m.s."""
    armature_supply_voltage: Volts | None = None
    """Highest voltage of the armature's bench supply."""
    armature_supply_current: Amps | None = None
    """Highest current of the armature's bench supply."""
    field_supply_voltage: Volts | None = None
    """Highest voltage of the field's bench supply."""
    field_supply_current: Amps | None = None
    """Highest current of the field's bench supply."""
    ac_supply_voltage: Volts | None = None
    """Highest r.m.s. voltage of the isolated a.c. supply."""
    ac_supply_current: Amps | None = None
    """Highest r.m.s. current of the isolated a.c. supply."""
    maximum_speed: Speed | None = None
    """Highest motor speed that may be driven at the bench."""
    tacho_pulses: Count | None = None
    """Pulses a turn for which the speed counter is set."""
