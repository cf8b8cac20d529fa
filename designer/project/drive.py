"""The tables about circuit, control and protection."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from designer.project.fields import (
    RPM,
    Celsius,
    Flag,
    Measure,
    Pure,
    SwitchingHertz,
    Table,
)

CircuitName = Literal[
    "triac-series", "thyristor-series", "thyristor-armature", "bridge-series", "bridge-armature",
    "chopper-series", "chopper-armature", "chopper-field", "dual-chopper", "rectifier", "field-chopper",
]
FiringAngle = Annotated[
    float,
    Measure("rad", low=0.0, high=math.nextafter(math.pi, 0), hint="From the zero of the source, below 180 deg."),
]
Duty = Annotated[float, Measure("1", low=0.001, high=1.0, hint="Share of the switching period.")]
PulseTime = Annotated[float, Measure("s", low=1e-6, high=0.02)]
GuardTime = Annotated[float, Measure("s", low=0.0, high=0.005)]
TripTime = Annotated[float, Measure("s", low=1e-5, high=10.0)]
FieldAmps = Annotated[float, Measure("A", low=1e-3, high=500.0)]


class Circuit(Table):
    """The circuit and what of its control is fixed by hand."""

    kind: CircuitName | None = None
    """The circuit, by its trade term."""
    firing_angle: FiringAngle | None = None
    """Fixes the control setting of a circuit on phase angle; leave out to have it found."""
    duty: Duty | None = None
    """Fixes the control setting of a chopper; leave out to have it found."""
    switching_frequency: SwitchingHertz | None = None
    """Of a chopper."""
    field_current: FieldAmps | None = None
    """Of a separately fed field; leave out to have it chosen."""
    starter: Literal["resistor", "variable-supply"] | None = None
    """Of an armature on a fixed supply: a resistor with its bypass, or a supply that is brought up from zero."""
    field_floor: FieldAmps | None = None
    """Field current below which the chopper of the field cannot go, whatever its control does."""
    freewheel: Flag | None = None
    """A diode across the motor of a half-wave thyristor or a bridge."""
    bridge: Literal["common-cathode", "one-leg", "diodes-thyristor"] | None = None
    """How the bridge is made up; the circuit's own way unless said."""
    gate: Literal["train", "pulse"] | None = None
    """Gate held through its window, or one pulse of `gate_pulse`."""
    gate_pulse: PulseTime | None = None
    """Length of a single gate pulse."""
    gate_guard: GuardTime | None = None
    """Time before the next zero at which the gate is let go."""
    firing: Literal["optocoupler", "breakover-two-wire", "breakover-three-wire"] = "optocoupler"
    """What fires a triac: an optocoupled driver from a timer, or a breakover-device network in one of two wirings."""
    firing_stages: Literal[1, 2] = 2
    """R-C stages of a breakover-device network."""
    speed_ripple: Flag | None = None
    """True lets the speed move over the cycle with the inertia."""
    reversing: Flag | None = None
    """True puts a changeover into the armature's leads, interlocked at standstill."""


class Control(Table):
    """How the speed is held."""

    feedback: Literal["none", "tacho", "residual-voltage"] = "none"
    """What the speed is held by; none leaves the setting fixed."""
    current_limit: Annotated[float, Measure("A", low=0.01, high=1000.0)] | None = None
    """Current at which the control holds back."""
    ramp: Annotated[float, Measure("s", low=0.0, high=600.0)] | None = None
    """Time of the soft start."""
    sample_time: Annotated[float, Measure("s", low=1e-4, high=0.2)] | None = None
    """Between two steps of the regulator; on phase angle whole half cycles of the mains. Chosen unless given."""
    clock: Annotated[float, Measure("Hz", low=1e4, high=1e9)] | None = None
    """Of the controller's timer; 16 MHz where it is left out, which the sheet tells."""
    timer_bits: Annotated[int, Pure(low=8, high=32, whole=True)] | None = None
    """Width of that timer; 16 where it is left out."""
    restart: Literal["manual", "automatic"] = "manual"
    """What happens when the supply returns."""


class ThermalSwitch(Table):
    """The switch in the winding that opens when hot."""

    opens: Celsius
    """Temperature at which it opens."""
    closes: Celsius | None = None
    """Temperature at which it closes again."""
    breaks: Literal["mains", "contactor-coil", "dc", "field"]
    """What it interrupts."""


class Protection(Table):
    """What stands outside this circuit; printed on the sheet as a condition."""

    overspeed_trip: Annotated[float, Measure("rad/s", low=10 * RPM, high=60_000 * RPM)] | None = None
    """Motor speed at which a trip acts that does not depend on the controlled switch."""
    trip_time: TripTime | None = None
    """From passing that speed to current off."""
    field_loss_trip_time: TripTime | None = None
    """From loss of field current to armature current off."""
    thermal_switch: ThermalSwitch | None = None
    """The switch in the winding."""

