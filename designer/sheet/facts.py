"""What cautions and fault finding look at: the facts of a design, the rules, the computed phrases."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from designer.results import Design, Quantity
from designer.sheet.headline import CHARGED, SUPPLY_ONLY
from designer.sheet.rcd import BY_CIRCUIT
from designer.sheet.text import show, wait

SEPARATE_FIELD = frozenset(
    {"thyristor-armature", "bridge-armature", "chopper-armature", "chopper-field", "dual-chopper"})
HALF_WAVE = frozenset({"thyristor-series", "thyristor-armature"})
ALTERNATING = frozenset({"triac-series"})
PHASE_ANGLE = ALTERNATING | HALF_WAVE | {"bridge-series", "bridge-armature"}


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What the rules look at, and the computed phrases that the words take."""

    circuit: str
    mains: bool
    roles: frozenset[str]
    phrases: Mapping[str, str]

    @property
    def turns(self) -> bool:
        """True when the circuit drives a motor, not only a load or a field."""
        return self.circuit not in SUPPLY_ONLY


Rule = Callable[[Facts], bool]


def always(facts: Facts) -> bool:
    """Applies to every sheet."""
    return True


def on_mains(facts: Facts) -> bool:
    """Applies where the supply is the mains."""
    return facts.mains


def turns(facts: Facts) -> bool:
    """Applies where something rotates."""
    return facts.turns


def separate_field(facts: Facts) -> bool:
    """Applies where armature and field are fed apart."""
    return facts.circuit in SEPARATE_FIELD


def series_motor(facts: Facts) -> bool:
    """Applies where the armature's current is the field's."""
    return facts.turns and facts.circuit not in SEPARATE_FIELD


def half_wave(facts: Facts) -> bool:
    """Applies where the line carries direct current in normal running."""
    return facts.circuit in HALF_WAVE


def phase_angle(facts: Facts) -> bool:
    """Applies where a thyristor or triac cuts the mains wave."""
    return facts.circuit in PHASE_ANGLE


def charged(facts: Facts) -> bool:
    """Applies where a capacitor keeps its charge after the plug is out; when nothing says, it does."""
    return facts.mains or bool(CHARGED & facts.roles)


def direct_current(facts: Facts) -> bool:
    """Applies where contacts would have to break direct current."""
    return facts.circuit not in ALTERNATING


def alternating(facts: Facts) -> bool:
    """Applies where the motor itself runs on alternating current."""
    return facts.circuit in ALTERNATING


def optocoupled(facts: Facts) -> bool:
    """Applies where an optocoupled driver fires the switch."""
    return phase_angle(facts) and "breakover-device" not in facts.roles


def breakover(facts: Facts) -> bool:
    """Applies where a breakover network fires the switch."""
    return phase_angle(facts) and "breakover-device" in facts.roles


def chopper(facts: Facts) -> bool:
    """Applies where a transistor switches at high frequency."""
    return "chopper" in facts.circuit


def facts_of(design: Design) -> Facts:
    """What the rules need to know of a design."""
    circuit = design.operating_point.circuit
    return Facts(
        circuit=circuit, mains=design.project.supply.kind == "mains",
        roles=frozenset(part.role for part in design.parts),
        phrases=_phrases(design.headline, circuit) | {"after_unplugging": _discharge(design)},
    )


def _discharge(design: Design) -> str:
    """How long the capacitors stay charged; parts are named only where there is a parts list."""
    given = design.headline
    names = [part.designator for part in design.parts if part.role in ("bleeder", "x2-bleeder")]
    time, open_ = given.get("discharge_time"), given.get("discharge_time_bleeder_open")
    if time is not None and math.isinf(time.value):
        return ("Nothing is fitted that discharges the capacitor across the mains (it is small enough that none is "
                "asked for): it keeps its charge after unplugging, and the plug's pins bite.")
    limit = show(given["discharge_voltage"]) if "discharge_voltage" in given else "34\u00a0V"
    within = wait(time.value) if time else "a time not computed here (measure)"
    through = f"the bleeder {', '.join(names)}" if names and design.ready else "the bleeder"
    if open_ is None:
        longer = "a time not computed here, perhaps hours"
    else:
        longer = "it does not discharge at all" if math.isinf(open_.value) else wait(open_.value)
    return f"After unplugging: below {limit} in {within}, through {through}. With one bleeder resistor open: {longer}."


def _ground_fault(given: Mapping[str, Quantity]) -> str:
    """What stands in for it on mains of 100 to 127 V."""
    volts = given.get("supply_voltage")
    low = volts is not None and 90 <= volts.value <= 140
    return " (where the mains is 120 V, a ground-fault interrupter that trips at 5 mA, UL 943 class A)" if low else ""


def _phrases(given: Mapping[str, Quantity], circuit: str) -> dict[str, str]:
    """Every phrase that a caution can take; a missing figure says what to do without it."""

    def shown(name: str, without: str) -> str:
        return show(given[name]) if name in given else without

    def waited(name: str, without: str) -> str:
        return wait(given[name].value) if name in given else without

    highest = given.get("bus_voltage_crest")
    if highest is None and "supply_voltage_max" in given:
        highest = Quantity(given["supply_voltage_max"].value * 2**0.5, "V")
    rcd = BY_CIRCUIT[circuit]
    return {
        "crest": show(highest, digits=3) if highest else "not computed, take 400 V",
        "energy": shown("stored_energy", "not computed"),
        "field_energy": shown("field_energy", "not computed"),
        "unloaded": shown("unloaded_speed", "not computed, take it as destructive"),
        "unloaded_full": shown("unloaded_speed_full_conduction", "not computed, take it as destructive"),
        "limit": shown("speed_limit", "not known"),
        "run_down": waited("run_down_time", "for a time not computed here"),
        "rcd": rcd.type + _ground_fault(given), "shape": rcd.shape, "rcd_mark": rcd.mark,
    }
