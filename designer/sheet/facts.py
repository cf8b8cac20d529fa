"""The facts of a design, and the phrases that the words of cautions and fault finding take."""

from __future__ import annotations

import math
from collections.abc import Mapping

from designer.parts.residual_current import BY_LINE
from designer.project.kinds import CIRCUIT_KINDS, CircuitKind
from designer.results import Design, Quantity
from designer.sheet.rules import HARMLESS, Facts
from designer.sheet.text import show, wait

_MAINS = {
    "potential": "mains potential", "connected": "while the plug is in", "apart": "Unplugged", "off": "Unplug",
    "after": "after the plug is out", "cutoff": "the plug, the stop switch or a contactor",
    "contacts": "in the a.c. side or in a contactor's coil",
    "thermal": "In the a.c. side ahead of any rectifier, or in a contactor's coil.",
    "restarts": "After a power cut or a cooled thermal switch", "source": "mains",
    "full": "mains",
}
_DIRECT = {
    "potential": "the supply's potential", "connected": "while the supply is connected", "apart": "Disconnected",
    "off": "Disconnect", "after": "after the supply is off",
    "cutoff": "the main switch, the stop switch or a contactor, each rated for this direct current,",
    "contacts": "in the coil of a contactor that is rated for this direct current",
    "thermal": "In the coil of a contactor that is rated for this direct current.",
    "restarts": "After a supply that comes back, a controller that resets or a thermal switch that has cooled",
    "source": "this voltage", "full": "the full supply",
}
#: what counts as discharged where nobody says: plug's pins, bus (IEC 60335-1 and 60 V d.c., from memory)
_DISCHARGED = {"": "34\u00a0V", "bus_": "60\u00a0V"}
_BLEEDERS = {"": "x2-bleeder", "bus_": "bleeder"}


def kind_of(design: Design) -> CircuitKind:
    """The circuit of a design."""
    return CIRCUIT_KINDS[design.operating_point.circuit]


def facts_of(design: Design) -> Facts:
    """What the rules need to know of a design."""
    kind, mains = kind_of(design), design.project.supply.kind == "mains"
    highest = _highest(design, mains)
    field_supply = getattr(design.project, "field_supply", None) if kind.field_supply else None
    fed = getattr(field_supply, "kind", "")
    return Facts(
        kind=kind, mains=mains, shock=mains or highest is None or highest.value > HARMLESS,
        field_on_mains=fed in ("transformer-rectifier", "phase-angle"),
        roles=frozenset(part.role for part in design.parts if part.count),
        phrases=_phrases(design, kind, highest) | (_MAINS if mains else _DIRECT) | {
            "after_unplugging": _plug(design), "after_bus": _bus(design, mains)},
    )


def _highest(design: Design, mains: bool) -> Quantity | None:
    """The highest voltage of the circuit: the bus at its crest, else the crest of the highest supply."""
    given = design.headline
    factor = 2**0.5 if mains else 1.0
    found = [given[name] for name in ("bus_voltage_crest", "bus_crest_unloaded") if name in given]
    supply = given.get("supply_voltage_max", given.get("supply_voltage"))
    if supply is not None:
        found.append(Quantity(supply.value * factor, "V"))
    return max(found, key=lambda voltage: voltage.value, default=None)


def _plug(design: Design) -> str:
    """How long the plug's pins stay charged; parts are named only where there is a parts list."""
    given = design.headline
    time = given.get("discharge_time")
    if time is not None and math.isinf(time.value):
        return ("Nothing is fitted that discharges the capacitor across the mains (it is small enough that none is "
                "asked for): it keeps its charge after unplugging, and the plug's pins bite.")
    return f"After unplugging: {_time(design, '', open_='discharge_time_bleeder_open')}"


def _bus(design: Design, mains: bool) -> str:
    """How long the bus stays charged."""
    time = design.headline.get("bus_discharge_time")
    start = "The bus, after unplugging" if mains else "The bus, after switching off"
    if time is not None and math.isinf(time.value):
        return f"{start}: it keeps its charge, nothing is fitted that discharges it."
    return f"{start}: {_time(design, 'bus_', open_='bus_discharge_time_one_open')}"


def _time(design: Design, which: str, *, open_: str) -> str:
    """Below which voltage in which time, through what, and with one bleeder resistor open."""
    given = design.headline
    time, slow = given.get(f"{which}discharge_time"), given.get(open_)
    voltage = f"{which}discharge_voltage"
    names = [part.designator for part in design.parts if part.role == _BLEEDERS[which]]
    limit = show(given[voltage]) if voltage in given else _DISCHARGED[which]
    within = wait(time.value) if time else "a time not computed here (measure)"
    through = f"the bleeder {', '.join(names)}" if names and design.ready else "the bleeder"
    if slow is None:
        longer = "a time not computed here, perhaps hours"
    else:
        longer = "it does not discharge at all" if math.isinf(slow.value) else wait(slow.value)
    return f"below {limit} in {within}, through {through}. With one bleeder resistor open: {longer}."


def _ground_fault(given: Mapping[str, Quantity]) -> str:
    """What stands in for it on mains of 100 to 127 V."""
    volts = given.get("supply_voltage")
    low = volts is not None and 90 <= volts.value <= 140
    return " (where the mains is 120 V, a ground-fault interrupter that trips at 5 mA, UL 943 class A)" if low else ""


def _phrases(design: Design, kind: CircuitKind, highest: Quantity | None) -> dict[str, str]:
    """Every phrase that a caution can take; a missing figure says what to do without it."""
    given = design.headline

    def shown(name: str, without: str) -> str:
        return show(given[name]) if name in given else without

    def waited(name: str, without: str) -> str:
        return wait(given[name].value) if name in given else without

    rcd = BY_LINE[kind.line]
    return {
        "crest": show(highest, digits=3) if highest else "not computed, take 400 V",
        "energy": shown("stored_energy", "not computed"), "bus_energy": shown("bus_stored_energy", "not computed"),
        "field_energy": shown("field_energy", "not computed"),
        "unloaded": shown("unloaded_speed", "not computed, take it as destructive"),
        "unloaded_full": shown("unloaded_speed_full_conduction", "not computed, take it as destructive"),
        "field_lost": shown("unloaded_speed_field_lost", "not computed, take it as destructive"),
        "lost_current": shown("stall_current_field_lost", "not computed, take what the armature's resistance lets by"),
        "prospective": shown("prospective_current", "a current not given here, hundreds of amperes and more,"),
        "limit": shown("speed_limit", "not known"),
        "run_down": waited("run_down_time", "for a time not computed here"),
        "rcd": rcd.type + _ground_fault(given), "shape": rcd.shape, "rcd_mark": rcd.mark,
    }
