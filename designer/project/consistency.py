"""What the keys of a file say against each other."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from designer.errors import InputError
from designer.project.fields import unit_of
from designer.project.kinds import CIRCUIT_KINDS, circuits_with
from designer.project.model import Project
from designer.quantities import shown

Faults = Iterator[InputError]


def contradictions(project: Project) -> Faults:
    """Give each fault that shows only when two keys are seen together."""
    for rule in _RULES:
        yield from rule(project)


def _circuit_keys(project: Project) -> Faults:
    """A key of another circuit is refused as such."""
    circuit = project.circuit
    if circuit.kind is None:
        return
    kind = CIRCUIT_KINDS[circuit.kind]
    for key in type(circuit).model_fields:
        if key == "kind" or not circuit.given(key) or key in kind.keys:
            continue
        setting = f"The control setting of {kind.name} is {kind.setting}." if kind.setting else ""
        allowed = f"no {key} with {kind.name}: it is a key of {', '.join(circuits_with(key))}"
        value, unit = getattr(circuit, key), unit_of(type(circuit), key)
        found = value if unit is None else shown(value, unit)
        yield InputError(f"circuit.{key}", found, allowed, f"Take it out. {setting}".rstrip())
    if project.load.current is not None and kind.drives_motor:
        yield InputError(
            "load.current", shown(project.load.current, "A"), f"no current with {kind.name}: it is a key of rectifier",
            "The load of a motor is torque, viscous and square.",
        )


def _supply(project: Project) -> Faults:
    supply, circuit = project.supply, project.circuit
    if supply.kind and circuit.kind and supply.kind not in CIRCUIT_KINDS[circuit.kind].supplies:
        why = "needs an alternating supply" if CIRCUIT_KINDS[circuit.kind].line == "bus" else (
            "turns off at the zeros of the mains")
        yield InputError("supply.kind", supply.kind, f"mains: {circuit.kind} {why}")
    if supply.kind == "dc":
        if supply.frequency is not None:
            yield InputError("supply.frequency", shown(supply.frequency, "Hz"), 'no frequency with kind = "dc"',
                             "Take it out.")
        if supply.transformer is not None:
            yield InputError("supply.transformer", "a table", 'no transformer with kind = "dc"', "Take it out.")
        switch = project.protection.thermal_switch
        if switch is not None and switch.breaks == "mains":
            yield InputError(
                "protection.thermal_switch.breaks", switch.breaks, '"contactor-coil" with kind = "dc" of the supply',
                "In a direct current its contact draws an arc that does not end: put it in the coil of a contactor.")
    if supply.given("tolerance") and supply.given("voltage_min") and supply.given("voltage_max"):
        yield InputError(
            "supply.tolerance", shown(supply.tolerance, "1"), "tolerance, or voltage_min and voltage_max",
            "Take one out.",
        )
    if supply.voltage is None:
        return
    nominal = shown(supply.voltage, "V")
    if supply.voltage_min is not None and supply.voltage_min > supply.voltage:
        yield InputError("supply.voltage_min", shown(supply.voltage_min, "V"), f"at most the voltage, {nominal}")
    if supply.voltage_max is not None and supply.voltage_max < supply.voltage:
        yield InputError("supply.voltage_max", shown(supply.voltage_max, "V"), f"at least the voltage, {nominal}")


def _motor(project: Project) -> Faults:
    motor = project.motor
    if motor.flux_curve is not None and motor.speed_constant_at is not None:
        yield InputError(
            "motor.speed_constant_at", "a table", "flux_curve or speed_constant_at, not both",
            "Add the point to flux_curve.",
        )
    leakage, whole = motor.field_leakage_inductance, motor.field_inductance
    if leakage is not None and whole is not None and leakage > whole:
        yield InputError(
            "motor.field_leakage_inductance", shown(leakage, "H"), f"at most field_inductance, {shown(whole, 'H')}",
        )
    if (motor.hysteresis_torque or motor.eddy_torque_coefficient) and motor.flux_reference is None:
        yield InputError(
            "motor.flux_reference", None, "the speed constant at which the iron torques were read",
            "Iron torque depends on the flux: add flux_reference.",
        )
    if motor.maximum_speed_source is not None and motor.maximum_speed is None:
        yield InputError("motor.maximum_speed", None, "a speed: its source is given", "Add maximum_speed.")


def _thermal(project: Project) -> Faults:
    motor, ambient = project.motor, project.ambient
    for winding in ("armature", "field"):
        still = getattr(motor, f"thermal_resistance_{winding}")
        running = getattr(motor, f"thermal_resistance_{winding}_running")
        if running is None:
            continue
        key = f"motor.thermal_resistance_{winding}_running"
        if still is not None and running > still:
            yield InputError(key, shown(running, "K/W"), f"at most the value at standstill, {shown(still, 'K/W')}")
        if not motor.thermal_resistance_speed:
            yield InputError(
                "motor.thermal_resistance_speed", None, f"the speed at which {key} was read", "Add it.",
            )
    coldest = ambient.temperature_min
    if coldest is not None and coldest > ambient.temperature:
        yield InputError(
            "ambient.temperature_min", shown(coldest, "degC"),
            f"at most temperature, {shown(ambient.temperature, 'degC')}",
        )


def _duty(project: Project) -> Faults:
    duty = project.duty
    for key in ("on_time", "off_time"):
        value = getattr(duty, key)
        if duty.kind == "periodic" and value is None:
            yield InputError(f"duty.{key}", None, 'a time: duty.kind is "periodic"', f"Add {key}.")
        if duty.kind == "continuous" and value is not None:
            yield InputError(
                f"duty.{key}", shown(value, "s"), f'no {key} with kind = "continuous"', 'Write kind = "periodic".',
            )


def _gate(project: Project) -> Faults:
    circuit = project.circuit
    if circuit.gate == "pulse" and circuit.gate_pulse is None:
        yield InputError("circuit.gate_pulse", None, 'a time: gate is "pulse"', 'For instance gate_pulse = "100 us".')
    if circuit.gate_pulse is not None and circuit.gate != "pulse":
        yield InputError(
            "circuit.gate_pulse", shown(circuit.gate_pulse, "s"), 'no gate_pulse without gate = "pulse"',
            "A train holds the gate through its window.",
        )


def _protection(project: Project) -> Faults:
    protection = project.protection
    if protection.trip_time is not None and protection.overspeed_trip is None:
        yield InputError("protection.overspeed_trip", None, "a speed: trip_time is given", "Add overspeed_trip.")


def _bench(project: Project) -> Faults:
    for row, reading in enumerate(project.readings):
        if reading.kind != "series-run":
            continue
        if reading.supply == "mains" and not reading.frequency:
            yield InputError(f"readings[{row}].frequency", None, 'a frequency: supply is "mains"', "Add it.")
        if reading.supply == "dc" and reading.frequency is not None:
            yield InputError(
                f"readings[{row}].frequency", shown(reading.frequency, "Hz"), 'no frequency with supply = "dc"',
                "Take it out.",
            )
    for row, pins in enumerate(project.pins):
        if pins.pair[0] == pins.pair[1]:
            yield InputError(f"pins[{row}].pair", list(pins.pair), "two different pins")
        if (pins.resistance is None) == (pins.turning is None):
            found = "neither" if pins.resistance is None else "both"
            yield InputError(f"pins[{row}].resistance", found, "exactly one of resistance and turning")
        if pins.repeated is not None and len(pins.repeated) > len(pins.turning or ()):
            yield InputError(
                f"pins[{row}].repeated", f"{len(pins.repeated)} readings",
                f"at most as many as turning has: {len(pins.turning or ())}", "They are its first positions again.",
            )


def _meter_readings(project: Project) -> Faults:
    kind = CIRCUIT_KINDS.get(str(project.circuit.kind))
    for row, reading in enumerate(project.meter_readings):
        where, wanted = f"meter_readings[{row}]", "current" if reading.point.endswith("current") else "voltage"
        other = "voltage" if wanted == "current" else "current"
        if getattr(reading, wanted) is None:
            yield InputError(f"{where}.{wanted}", None, f'a {wanted}: point is "{reading.point}"', "Add it.")
        if getattr(reading, other) is not None:
            yield InputError(f"{where}.{other}", shown(getattr(reading, other), "A" if other == "current" else "V"),
                             f'no {other} with point = "{reading.point}"', "Take it out.")
        if kind is not None and not kind.drives_motor:
            yield InputError(f"{where}.point", reading.point, f"no meter readings with {kind.name}: it has no setting "
                             "of a motor to be told", "Take them out.")
        elif kind is not None and reading.point == "lamp-voltage" and kind.setting != "firing_angle":
            yield InputError(f"{where}.point", reading.point, f"a point of {kind.name}: motor-voltage, "
                             "armature-current, line-current", "A lamp in the motor's place tells a firing angle.")


def _heatsink(project: Project) -> Faults:
    sink = project.parts.heatsink
    if sink is None:
        return
    sides, fins = ("height", "width"), ("fin_count", "fin_height", "fin_thickness")
    sized = [key for key in (*sides, *fins, "emissivity") if getattr(sink, key) is not None]
    if sized and sink.thermal_resistance is not None:
        yield InputError(
            "parts.heatsink.thermal_resistance", shown(sink.thermal_resistance, "K/W"),
            f"thermal_resistance or dimensions ({', '.join(sized)}), not both", "Take one out.")
        return
    wanted = (*sides, *fins) if any(key in fins for key in sized) else sides if sized else ()
    for key in wanted:
        if getattr(sink, key) is None:
            yield InputError(f"parts.heatsink.{key}", None, f"a figure: {', '.join(sized)} given", f"Add {key}.")
    if sink.fin_count and sink.width and sink.fin_thickness and sink.fin_count * sink.fin_thickness >= sink.width:
        yield InputError(
            "parts.heatsink.fin_count", sink.fin_count,
            f"fins of {shown(sink.fin_thickness, 'm')} that leave gaps on {shown(sink.width, 'm')}",
            "Count the fins, and read the thickness of one.")


_RULES: tuple[Callable[[Project], Faults], ...] = (
    _circuit_keys, _supply, _motor, _thermal, _duty, _gate, _protection, _bench, _meter_readings, _heatsink,
)
