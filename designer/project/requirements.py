"""What each verb needs of a file; a key is refused by name where it is missing."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping

from designer.errors import InputError, InputErrors
from designer.project.fields import unit_of
from designer.project.kinds import CIRCUIT_KINDS, CircuitKind
from designer.project.model import Project
from designer.project.tellable import tellable
from designer.quantities import shown

Faults = Iterator[InputError]
_MOST = 10
LEAST_SPEED = 0.1    # rad/s, slowest speed that is designed for

#: key -> what to do about it when a verb needs it and the file lacks it
HINTS: Mapping[str, str] = {
    "supply.kind": '"mains" or "dc".',
    "supply.voltage": "R.m.s. for mains, mean for d.c.",
    "supply.frequency": "50 Hz or 60 Hz.",
    "circuit.kind": "The circuit by its trade term, for instance triac-series.",
    "circuit.starter": 'An armature straight on its supply needs one: "resistor" or "variable-supply".',
    "circuit.field_floor": "SAFETY: without a floor under the field current a chopper that stops lets the motor run "
                           "away.",
    "circuit.field_current": "A separately fed field: give its current.",
    "circuit.switching_frequency": "For instance 18 kHz.",
    "motor.armature_resistance": "By four wires through the brushes, the rotor held: slope of voltage over current.",
    "motor.armature_inductance": "From the impedance at mains frequency, the rotor held.",
    "motor.field_resistance": "By four wires; note the temperature.",
    "motor.field_inductance": "From the impedance at mains frequency and a small current.",
    "motor.flux_curve": "Drive it with the field on a supply of its own: armature voltage less drops, over speed.",
    "motor.friction_torque": 'From the no-load current; "0 N*m" where it is known to be none.',
    "motor.viscous_friction": '"0 N*m*s" where the readings do not tell it apart.',
    "motor.windage": '"0 N*m*s**2" where the readings do not tell it apart.',
    "motor.winding_temperature": "The temperature at which the resistances were read.",
    "motor.inertia": "From a run-down; times to overspeed rest on it.",
    "motor.maximum_speed": "From the nameplate or the donor appliance. Without a speed limit nothing is built.",
    "motor.maximum_speed_source": '"nameplate", "measured", "donor-appliance" or "assumed".',
    "motor.thermal_class": 'Of the nameplate; "A", the lowest usual one, where it is not known.',
    "motor.thermal_resistance_armature": "From a warm-up at known loss: rise over loss, at standstill.",
    "motor.thermal_resistance_field": "From a warm-up at known loss: rise over loss, at standstill.",
    "motor.insulation_resistance": "At 500 V, all windings to frame. An ohmmeter cannot read it.",
    "load.maximum_speed": 'Of the driven part; "none" where it has no limit of its own.',
    "load.torque": "At the output shaft, with viscous and square parts where there are.",
    "load.current": "The current drawn from the reservoir.",
    "target.speed": "At the output shaft.",
    "parts.reservoir.capacitance": "The bus needs a reservoir; design chooses one where none is given.",
    "protection.trip_time": "From passing the trip speed to current off.",
    "readings": "Add [[readings]] tables or readings_files.",
    "pins": "Add a [[pins]] table for each pair of pins.",
    "parts.switch": "Add [parts.switch] and the others that are to be held against the stresses.",
}


def require(project: Project, verb: str) -> None:
    """Raise ``InputErrors`` naming the keys that ``verb`` needs and lacks, at most ten."""
    faults = list(lacking(project, verb))
    if faults:
        raise InputErrors(faults[:_MOST])


def unbuilt(project: Project, built: Collection[str]) -> Faults:
    """Give the fault where the file asks for a circuit that is not among ``built``."""
    kind = project.circuit.kind
    if kind is not None and kind not in built:
        yield InputError(
            "circuit.kind", kind, ", ".join(built), "This circuit is known, but not built into this version yet.",
        )


def lacking(project: Project, verb: str) -> Faults:
    """Give each key that ``verb`` needs and the file lacks; ``KeyError`` on an unknown verb."""
    yield from _NEEDS[verb](project)


def _missing(project: Project, *keys: str) -> Faults:
    told = tellable(project)
    for key in (key for key in keys if key not in told):
        value: object = project
        for step in key.split("."):
            value = getattr(value, step, None)
        if value is None or value == ():
            yield InputError(key, None, "a value", HINTS[key])


def _supply(project: Project) -> Faults:
    yield from _missing(project, "supply.kind", "supply.voltage")
    if project.supply.is_mains:
        yield from _missing(project, "supply.frequency")


def _motor(project: Project, kind: CircuitKind) -> Faults:
    """The constants that the waveforms of ``kind`` rest on."""
    keys = []
    if kind.drives_motor:
        keys += ["motor.armature_resistance", "motor.armature_inductance"]
    if kind.winding != "none":
        keys += ["motor.field_resistance"]
    if kind.winding in ("series", "field-only") or kind.name in ("chopper-field", "dual-chopper"):
        keys += ["motor.field_inductance"]
    yield from _missing(project, *keys)
    if kind.drives_motor:
        if project.motor.speed_constant_at is None:
            yield from _missing(project, "motor.flux_curve")
        yield from _missing(project, "motor.friction_torque", "motor.viscous_friction", "motor.windage")
    motor = project.motor
    if motor.given("running_temperature", "running_temperature_armature", "running_temperature_field"):
        yield from _missing(project, "motor.winding_temperature")


def _solve(project: Project) -> Faults:
    yield from _supply(project)
    yield from _missing(project, "circuit.kind")
    if project.circuit.kind is None:
        return
    kind = CIRCUIT_KINDS[project.circuit.kind]
    yield from _motor(project, kind)
    if kind.drives_motor:
        yield from _two_of_three(project, kind)
        if project.circuit.speed_ripple:
            yield from _missing(project, "motor.inertia")
    yield from _started(project, kind)
    if kind.winding == "separate" and kind.setting != "field_current":
        yield from _missing(project, "circuit.field_current")
    if kind.chops:
        yield from _missing(project, "circuit.switching_frequency")
    if kind.name == "field-chopper" and project.circuit.given("duty") == project.circuit.given("field_current"):
        yield InputError("circuit.duty", _both(project.circuit.given("duty")), "exactly one of duty and field_current")
    if kind.name == "rectifier":
        yield from _missing(project, "load.current")
    if kind.name == "rectifier" or (kind.chops and project.supply.is_mains):
        yield from _missing(project, "parts.reservoir.capacitance")


def _started(project: Project, kind: CircuitKind) -> Faults:
    """An armature on a fixed supply: what starts it, and what keeps its field."""
    if "starter" in kind.keys:
        yield from _missing(project, "circuit.starter", "circuit.field_floor")


def _both(given: bool) -> str:
    return "both" if given else "neither"


def _two_of_three(project: Project, kind: CircuitKind) -> Faults:
    """Exactly two of output speed, load and control setting; the third is found."""
    setting = f"circuit.{kind.setting}"
    given = {
        "target.speed": project.target.speed is not None,
        "load (torque, viscous or square)": project.load.is_given,
        setting: getattr(project.circuit, kind.setting) is not None,
    }
    present = [name for name, there in given.items() if there]
    absent = [name for name, there in given.items() if not there]
    allowed = f"exactly two of {', '.join(given)}"
    if len(present) == 3:
        yield InputError(setting, "all three", allowed, f"Take one out, and it is found: {' or '.join(present)}.")
    elif len(present) < 2:
        key = absent[0].partition(" ")[0]
        found = f"only {present[0]}" if present else "none of them"
        more = "one" if present else "two"
        yield InputError(key, found, allowed, f"Add {more} of {', '.join(absent)}; the third is found.")


def _target(project: Project) -> Faults:
    yield from _missing(project, "target.speed")
    if project.target.speed is not None and not project.target.speed >= LEAST_SPEED:
        yield InputError("target.speed", shown(project.target.speed, "rad/s"), f"{shown(LEAST_SPEED, 'rad/s')} or more",
                         "A standstill is for solve only.")
    if not project.load.is_given:
        yield from _missing(project, "load.torque")


def _safety(project: Project) -> Faults:
    """The readings on which the sheet's safety rests."""
    if not any(reading.kind == "insulation" for reading in project.readings):
        yield from _missing(project, "motor.insulation_resistance")
    yield from _missing(project, "motor.maximum_speed", "motor.maximum_speed_source", "load.maximum_speed")
    if project.protection.overspeed_trip is not None:
        yield from _missing(project, "motor.inertia", "protection.trip_time")
    elif project.control.feedback != "none":
        yield from _missing(project, "motor.inertia")
    yield from _missing(
        project, "motor.winding_temperature", "motor.thermal_class", "motor.thermal_resistance_armature",
        "motor.thermal_resistance_field",
    )


def _design(project: Project) -> Faults:
    yield from _missing(project, "circuit.kind")
    yield from _supply(project)
    if project.circuit.kind is None:
        return
    kind = CIRCUIT_KINDS[project.circuit.kind]
    yield from _started(project, kind)
    if kind.drives_motor:
        yield from _safety(project)
        yield from _target(project)
    yield from _motor(project, kind)
    if kind.winding == "separate" and kind.name not in ("chopper-field", "dual-chopper"):
        yield from _missing(project, "motor.field_inductance")    # how fast the field comes, goes and bites
    if kind.drives_motor and kind.setting != "field_current" and getattr(project.circuit, kind.setting) is not None:
        yield InputError(
            f"circuit.{kind.setting}", _shown(project, kind.setting),
            "a setting only in solve: design finds it from target and load", "Take it out.",
        )
    if kind.name == "rectifier":
        yield from _missing(project, "load.current")


def _shown(project: Project, setting: str) -> str:
    """The control setting as the user would write it."""
    value, unit = getattr(project.circuit, setting), unit_of(type(project.circuit), setting)
    return str(value) if unit is None else shown(value, unit)


def _check(project: Project) -> Faults:
    yield from _design(project)
    if not project.parts.model_fields_set:
        yield from _missing(project, "parts.switch")


def _compare(project: Project) -> Faults:
    yield from _supply(project)
    yield from _safety(project)
    yield from _target(project)


_NEEDS: Mapping[str, Callable[[Project], Faults]] = {
    "solve": _solve,
    "design": _design,
    "check": _check,
    "compare": _compare,
    "characterise": lambda project: _missing(project, "readings"),
    "pinout": lambda project: _missing(project, "pins"),
}
