"""The figures of ``Design.headline`` that the sheet knows: their words, order and which are needed.

A figure under another name is printed too, after these, under its name with spaces.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.results import Design, Quantity
from designer.sheet.text import delay, told, wait, words

#: name in ``Design.headline`` -> the words on the sheet, in the order printed
LABELS = {
    "output_speed": "Speed at the output shaft",
    "output_torque": "Torque at the output shaft",
    "speed": "Speed of the motor",
    "firing_angle": "Firing angle (delay after the mains zero)",
    "duty": "Duty",
    "switching_frequency": "Switching frequency",
    "field_current": "Field current",
    "line_current_rms": "Line current, r.m.s.",
    "line_current_peak": "Line current, peak",
    "armature_current_mean": "Armature current, mean",
    "armature_current_rms": "Armature current, r.m.s.",
    "input_power": "Input power",
    "efficiency": "Efficiency, mains to motor shaft",
    "no_load_speed": "Output speed with the load off, setting held, nominal mains",
    "unloaded_speed": "Motor speed unloaded, setting held, worst corner",
    "unloaded_speed_full_conduction": "Motor speed unloaded, switch fully on, worst corner",
    "speed_limit": "Speed limit, at the motor's shaft",
    "stall_torque": "Stall torque at the output, setting held",
    "stall_current_rms": "Stall current, r.m.s., setting held",
    "loaded_speed_switch_shorted": "Output speed, load on, switch shorted, high mains",
    "winding_temperature_armature": "Armature winding at the target",
    "winding_temperature_field": "Field winding at the target",
    "supply_voltage": "Supply",
    "supply_voltage_min": "Supply, lowest",
    "supply_voltage_max": "Supply, highest",
    "supply_frequency": "Supply frequency",
    "prospective_current": "Prospective fault current",
    "bus_voltage_crest": "Bus voltage, crest",
    "run_down_time": "Run-down time after a stop",
    "discharge_time": "Discharge through the bleeder",
    "discharge_time_bleeder_open": "Discharge with one bleeder resistor open",
    "discharge_voltage": "Discharged means below",
    "stored_energy": "Energy in the capacitors",
    "field_energy": "Energy in the field at peak current",
}
WAITS = frozenset({"run_down_time", "discharge_time", "discharge_time_bleeder_open"})
SUPPLY_ONLY = frozenset({"rectifier", "field-chopper"})
CHARGED = frozenset({"x2-capacitor", "reservoir"})
_NEEDED = ("output_speed", "unloaded_speed", "unloaded_speed_full_conduction", "speed_limit")
_NEEDED_CHARGED = ("discharge_time", "discharge_time_bleeder_open", "discharge_voltage")


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A figure as printed: its words and its value with unit."""

    name: str
    label: str
    value: str


def written(name: str, quantity: Quantity, frequency: Quantity | None) -> str:
    """Write one named quantity: waits rounded up, angles with their delay."""
    if name in WAITS:
        return wait(quantity.value)
    if quantity.unit == "rad":
        return delay(quantity, frequency)
    return told(quantity)


def figures(design: Design, frequency: Quantity | None) -> tuple[Figure, ...]:
    """The headline figures in the order printed; with ``frequency`` angles get their delay."""
    given = design.headline
    order = [name for name in LABELS if name in given] + [name for name in given if name not in LABELS]
    return tuple(
        Figure(name=name, label=LABELS.get(name, words(name).capitalize()),
               value=written(name, given[name], frequency))
        for name in order
    )


def require(design: Design) -> None:
    """Refuse to print a ready design whose safety figures nobody computed.

    Raises ``ValueError`` that names them: a blank in a caution would read as "no danger".
    """
    if not design.ready:
        return
    needed: tuple[str, ...] = ()
    if design.operating_point.circuit not in SUPPLY_ONLY:
        needed += _NEEDED
    if CHARGED & {part.role for part in design.parts}:
        needed += _NEEDED_CHARGED
    missing = [name for name in needed if name not in design.headline]
    if missing:
        names = ", ".join(missing)
        raise ValueError(f"a ready design needs these headline figures for its cautions: {names}")
