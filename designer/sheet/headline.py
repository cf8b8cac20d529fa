"""The figures of ``Design.headline`` that the sheet knows: their words, order and which are needed.

A figure under another name is printed too, after these, under its name with spaces.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.results import Design, Quantity
from designer.sheet.facts import facts_of
from designer.sheet.rules import AT_THE_PLUG, ON_THE_BUS, Facts, alternating, at_the_plug, charged_bus, shocks, turns
from designer.sheet.text import delay, show, told, wait, words

#: name in ``Design.headline`` -> the words on the sheet, in the order printed
LABELS = {
    "output_speed": "Speed at the output shaft",
    "output_torque": "Torque at the output shaft",
    "speed": "Speed of the motor",
    "firing_angle": "Firing angle (delay after the mains zero)",
    "duty": "Duty",
    "switching_frequency": "Switching frequency",
    "field_current": "Field current",
    "field_current_mean": "Field current, mean",
    "field_current_cold": "Field current, winding cold",
    "field_current_hot": "Field current, winding hot",
    "field_relay_pick_up": "Field relay picks up at",
    "field_relay_drop_out": "Field relay drops out at",
    "field_floor": "Floor under the field current",
    "field_current_limit": "Field current limit",
    "field_current_ripple": "Field current ripple, peak to peak",
    "field_weakening_time": "Least time from full field to the setting",
    "bus_voltage_mean": "Bus voltage, mean",
    "bus_voltage_valley": "Bus voltage, valley",
    "bus_voltage_crest": "Bus voltage, crest",
    "bus_crest_unloaded": "Bus voltage, crest without load, highest supply",
    "bus_ripple": "Bus ripple, peak to peak",
    "load_current": "Load current",
    "load_power": "Power into the load",
    "line_current_rms": "Line current, r.m.s.",
    "line_current_peak": "Line current, peak",
    "capacitor_current_rms": "Reservoir current, r.m.s.",
    "armature_current_mean": "Armature current, mean",
    "armature_current_rms": "Armature current, r.m.s.",
    "armature_current_ripple": "Armature current ripple, peak to peak",
    "current_limit": "Current limit",
    "input_power": "Input power",
    "efficiency": "Efficiency, supply to motor shaft",
    "power_factor": "Power factor",
    "no_load_speed": "Output speed with the load off, setting held, nominal supply",
    "unloaded_speed": "Motor speed unloaded, setting held, worst corner",
    "unloaded_speed_full_conduction": "Motor speed unloaded, switch fully on, worst corner",
    "unloaded_speed_field_lost": "Motor speed unloaded, field lost, setting held",
    "unloaded_speed_field_floor": "Motor speed unloaded, field's chopper dead, floor alone, worst corner",
    "speed_limit": "Speed limit, at the motor's shaft",
    "stall_torque": "Stall torque at the output, setting held",
    "stall_current_rms": "Line current at a stall, r.m.s., setting held",
    "stall_current_armature": "Armature current at a stall, r.m.s., setting held",
    "stall_current_field_lost": "Armature current, field lost, held by its load",
    "loaded_speed_switch_shorted": "Output speed, load on, switch shorted, highest supply",
    "starting_current": "Armature current at the start, resistor in, highest supply",
    "second_peak": "Armature current as the bypass closes, at most",
    "start_time": "Longest start, until the last bypass has closed",
    "starter_time_out": "Start timer",
    "start_energy": "Energy of a start in the resistor",
    "start_power_peak": "Peak power of a start in the resistor",
    "winding_temperature_armature": "Armature winding at the target",
    "winding_temperature_field": "Field winding at the target",
    "supply_voltage": "Supply",
    "supply_voltage_min": "Supply, lowest",
    "supply_voltage_max": "Supply, highest",
    "supply_frequency": "Supply frequency",
    "prospective_current": "Prospective fault current",
    "inrush_current": "Inrush, peak",
    "inrush_current_peak": "Inrush, peak",
    "armature_contactor_opening": "Armature contactor opens within, from its coil's release",
    "second_path_opening": "Second switch-off path: current off within, from its coil's release",
    "run_down_time": "Run-down time after a stop",
    "discharge_time": "Discharge of the plug's pins",
    "discharge_time_bleeder_open": "Discharge of the plug's pins, one bleeder resistor open",
    "discharge_voltage": "Plug discharged means below",
    "bus_discharge_time": "Discharge of the bus",
    "bus_discharge_time_one_open": "Discharge of the bus, one bleeder resistor open",
    "bus_discharge_voltage": "Bus discharged means below",
    "stored_energy": "Energy across the plug",
    "bus_stored_energy": "Energy in the bus",
    "field_energy": "Energy in the field at peak current",
}
WAITS = frozenset({
    "run_down_time", "discharge_time", "discharge_time_bleeder_open", "bus_discharge_time",
    "bus_discharge_time_one_open",
})
_NEEDED = ("output_speed", "unloaded_speed", "unloaded_speed_full_conduction", "speed_limit")
_NEEDED_AT_THE_PLUG = ("discharge_time", "discharge_time_bleeder_open", "discharge_voltage")
_NEEDED_ON_THE_BUS = ("bus_discharge_time", "bus_discharge_time_one_open", "bus_stored_energy")


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
    if name == "power_factor":
        return show(quantity, digits=3)
    if quantity.unit == "rad":
        return delay(quantity, frequency)
    return told(quantity)


def telling(name: str, facts: Facts) -> bool:
    """False for the mean of a current that alternates: it is zero, and says nothing."""
    return not (alternating(facts) and name.endswith("_current_mean"))


def figures(design: Design, frequency: Quantity | None) -> tuple[Figure, ...]:
    """The headline figures in the order printed; with ``frequency`` angles get their delay."""
    facts = facts_of(design)
    given = {name: value for name, value in design.headline.items() if telling(name, facts)}
    labels = LABELS if turns(facts) else LABELS | {"efficiency": "Efficiency, supply to load"}
    order = [name for name in LABELS if name in given] + [name for name in given if name not in LABELS]
    return tuple(
        Figure(name=name, label=labels.get(name, words(name).capitalize()),
               value=written(name, given[name], frequency))
        for name in order
    )


def require(design: Design) -> None:
    """Refuse to print a ready design whose safety figures nobody computed.

    Raises ``ValueError`` that names them: a blank in a caution would read as "no danger".
    """
    if not design.ready:
        return
    facts = facts_of(design)
    needed: tuple[str, ...] = _NEEDED if turns(facts) else ()
    if at_the_plug(facts) and AT_THE_PLUG & facts.roles:
        needed += _NEEDED_AT_THE_PLUG
    if charged_bus(facts) and shocks(facts) and ON_THE_BUS & facts.roles:
        needed += _NEEDED_ON_THE_BUS
    missing = [name for name in needed if name not in design.headline]
    if missing:
        names = ", ".join(missing)
        raise ValueError(f"a ready design needs these headline figures for its cautions: {names}")
