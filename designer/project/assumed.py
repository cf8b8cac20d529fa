"""What a file leaves unsaid, and what is taken instead: told, never hidden."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from designer.project.kinds import CIRCUIT_KINDS
from designer.quantities import engineering, shown
from designer.results import Assumption

if TYPE_CHECKING:
    from designer.project.model import Project

CLOCK, TIMER_BITS = 16e6, 16    # Hz, bits: of a small controller's timer, where the file gives neither


def assumptions(project: Project) -> list[Assumption]:
    """Give every default that the file leaves in force, in the order of its tables."""
    return [made for rule in _RULES for made in rule(project)]


def _supply(project: Project) -> list[Assumption]:
    supply, made = project.supply, []
    if supply.voltage is None:
        return []
    if not supply.given("tolerance") and not (supply.given("voltage_min") and supply.given("voltage_max")):
        made.append(Assumption(text="Supply voltage within ±10 % of nominal.", mark="assumed"))
    low, high = (engineering(v, "V") for v in (supply.lowest_voltage, supply.highest_voltage))
    if supply.is_mains and supply.tolerance_reason:
        made.append(Assumption(
            text=f"Mains counted from {low} to {high}; reason in the file: {supply.tolerance_reason}",
            mark="from the file",
        ))
    elif supply.is_mains and _raised_tolerance(project):
        made.append(Assumption(
            text=f"The file's mains band counts as at least ±6 %: {low} to {high}.", mark="common practice, no source",
        ))
    return made


def _raised_tolerance(project: Project) -> bool:
    supply = project.supply
    assert supply.voltage is not None
    low = supply.voltage_min if supply.voltage_min is not None else supply.voltage * (1 - supply.tolerance)
    high = supply.voltage_max if supply.voltage_max is not None else supply.voltage * (1 + supply.tolerance)
    return supply.lowest_voltage < low or supply.highest_voltage > high


def _source_impedance(project: Project) -> list[Assumption]:
    supply, made = project.supply, []
    if not supply.is_mains or supply.voltage is None or supply.frequency is None:
        return []
    if supply.resistance is None:
        resistance = engineering(supply.source_resistance, "ohm")
        made.append(Assumption(
            text=f"Source resistance {resistance} (reference impedance of IEC 60725).", mark="assumed",
        ))
    if supply.inductance is None:
        inductance = engineering(supply.source_inductance, "H")
        made.append(Assumption(
            text=f"Source inductance {inductance} (reference impedance of IEC 60725).", mark="assumed",
        ))
    if supply.prospective_current is None:
        how = "S/(V·u_k) of the transformer" if supply.transformer else "a mains socket; common practice, no source"
        made.append(Assumption(
            text=f"Prospective current {engineering(supply.fault_current, 'A')} r.m.s. ({how}).", mark="assumed",
        ))
    return made


def _motor(project: Project) -> list[Assumption]:
    motor, made = project.motor, []
    if motor.armature_resistance is not None and not motor.given("brush_drop"):
        made.append(Assumption(text="Brush drop 2 V, both brushes together.", mark="from memory"))
    if motor.field_inductance is not None and motor.field_saturates and motor.field_leakage_inductance is None:
        leakage = engineering(motor.field_leakage, "H")
        made.append(Assumption(
            text=f"Leakage of the field, which does not saturate: {leakage}, a tenth of its inductance.",
            mark="common practice, no source",
        ))
    if motor.speed_constant_at is not None and motor.flux_curve is None:
        made.append(Assumption(text="Flux curve taken from one point alone.", mark="assumed"))
    if motor.armature_resistance is not None and not motor.given("hysteresis_torque", "eddy_torque_coefficient"):
        made.append(Assumption(text="No iron loss apart from friction.", mark="assumed"))
    if motor.maximum_speed is not None and motor.maximum_speed_source == "assumed":
        made.append(Assumption(
            text=f"The motor's speed limit of {shown(motor.maximum_speed, 'rad/s')} is a guess of the file's author.",
            mark="assumed",
        ))
    return made


def _load(project: Project) -> list[Assumption]:
    load, made = project.load, []
    if not load.is_given:
        return []
    if not load.given("coupling"):
        made.append(Assumption(text="The load can come off while the motor turns.", mark="assumed"))
    if not load.given("can_jam"):
        made.append(Assumption(text="The load can jam.", mark="assumed"))
    if load.maximum_speed == float("inf"):
        made.append(Assumption(text="The file says that the driven part has no speed limit.", mark="from the file"))
    if not project.duty.given("kind"):
        made.append(Assumption(text="Continuous duty.", mark="assumed"))
    return made


def _unused(project: Project) -> list[Assumption]:
    """One file may serve several circuits, so a table may stand where the circuit has no use for it."""
    if project.circuit.kind is None:
        return []
    kind, load = CIRCUIT_KINDS[project.circuit.kind], project.load
    idle = {
        "[field_supply]": project.field_supply is not None and not kind.field_supply,
        "[motor]": bool(project.motor.model_fields_set) and kind.winding == "none",
        "[target]": bool(project.target.model_fields_set) and not kind.drives_motor,
        "[load] torque, viscous and square": load.is_given and not kind.drives_motor,
    }
    return [Assumption(text=f"The file's {table} {'are' if ' and ' in table else 'is'} not used by {kind.name}.",
                       mark="from the file") for table, there in idle.items() if there]


def _feedback(project: Project) -> list[Assumption]:
    control, made = project.control, []
    if control.feedback != "tacho":
        return []
    if control.clock is None:
        made.append(Assumption(text=f"Timer of the controller at {engineering(CLOCK, 'Hz')}.", mark="generic class"))
    if control.timer_bits is None:
        made.append(Assumption(text=f"Timer of the controller with {TIMER_BITS} bits.", mark="generic class"))
    return made


def _ambient(project: Project) -> list[Assumption]:
    ambient, made = project.ambient, []
    if not ambient.given("temperature"):
        made.append(Assumption(text="Air around motor and box at most 40 °C.", mark="assumed"))
    elif ambient.temperature_reason:
        made.append(Assumption(
            text=f"Ambient {shown(ambient.temperature, 'degC')}; reason in the file: {ambient.temperature_reason}",
            mark="from the file",
        ))
    elif ambient.counted_temperature > ambient.temperature:
        made.append(Assumption(text="Ambient counts as at least 25 °C.", mark="common practice, no source"))
    if not ambient.given("altitude"):
        made.append(Assumption(text="Altitude up to 2000 m.", mark="assumed"))
    return made


_RULES: tuple[Callable[[Project], list[Assumption]], ...] = (
    _supply, _source_impedance, _motor, _load, _unused, _feedback, _ambient,
)
