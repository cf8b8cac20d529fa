"""What a ``[field_supply]`` of each kind gives the field: its mean voltage, what stands in the way, and the current."""

from __future__ import annotations

from dataclasses import dataclass, replace

from designer.equations import field_source as eq
from designer.errors import InputError
from designer.motor.field_feed import FieldFeed
from designer.parts import field_transformer
from designer.project.model import Project
from designer.project.supply import FieldSupply

RECTIFIED = frozenset({"transformer-rectifier", "phase-angle"})
#: kinds whose current is set by hand or firmware, and so must be asked for; the others give what they give
ADJUSTED = frozenset({"phase-angle", "chopper"})


@dataclass(frozen=True, kw_only=True)
class Ahead:
    """What stands ahead of the field, ideal devices: greatest mean voltage (V), drop (V), series (Ω), what it follows.

    ``most`` is the mean at full output, at nominal supply.
    """

    most: float
    drop: float
    series: float
    follows: float | None


def secondary(project: Project, supply: FieldSupply) -> float | None:
    """The r.m.s. voltage ahead of the field's rectifier, V; the mains where phase angle stands straight on it."""
    if supply.voltage is None and supply.kind == "phase-angle" and project.supply.is_mains:
        return project.supply.voltage
    return supply.voltage


def on_transformer(project: Project, supply: FieldSupply) -> bool:
    """True where a transformer stands ahead of the field: told by one of its data, or by a voltage not the mains'."""
    if supply.kind not in RECTIFIED:
        return False
    if supply.kind == "transformer-rectifier" or supply.given("power", "regulation", "magnetising_current"):
        return True
    own = secondary(project, supply)
    return not project.supply.is_mains or own is None or own != project.supply.voltage


def half_wave(supply: FieldSupply) -> bool:
    """True where one thyristor or diode feeds the field in every second half cycle."""
    return supply.kind in RECTIFIED and supply.rectifier == "half-wave"


def ahead(project: Project, supply: FieldSupply) -> Ahead | None:
    """What the file says of the supply, devices ideal but for a drop that it gives; None without a voltage.

    Without a regulation the transformer is stiff: ``design`` takes that of a usual one of the size instead.
    """
    volts, own, drop = secondary(project, supply), supply.resistance or 0.0, supply.drop or 0.0
    if volts is None:
        return None
    if supply.kind not in RECTIFIED:
        return Ahead(most=volts, drop=drop, series=own, follows=None)
    rise = supply.regulation or 0.0
    if supply.resistance is None and supply.regulation and supply.power:
        own = float(eq.TRANSFORMER_RESISTANCE(reg=rise, V_s=volts, S_n=supply.power))
    mean = float(eq.RECTIFIED_MEAN(V_so=float(eq.OPEN_SECONDARY(V_s=volts, reg=rise))))
    return Ahead(most=mean / 2 if half_wave(supply) else mean, drop=drop, series=own,
                 follows=project.supply.voltage if project.supply.is_mains else None)


def field_of(project: Project) -> FieldFeed | None:
    """How a separate field is fed: with the current of the file, else with what its supply gives by itself.

    None where neither tells: phase angle and chopper are turned to a current, which must be given or chosen.
    """
    supply, current = project.field_supply, project.circuit.field_current
    found = None if supply is None else ahead(project, supply)
    if current is not None:
        return _held(project, found, current)
    if supply is None or found is None or supply.kind in ADJUSTED:
        return None
    return FieldFeed(voltage=found.most, drop=found.drop, series=found.series, follows=found.follows)


def _held(project: Project, found: Ahead | None, current: float) -> FieldFeed:
    """A current that is held, by a series resistor, an angle or a duty; the supply's power is known where it can."""
    supply = project.field_supply
    if found is None or supply is None:
        return FieldFeed(held=current)
    if supply.kind in ADJUSTED:
        return FieldFeed(held=current, drop=found.drop, series=found.series)
    needed = needed_mean(project, current, float(project.motor.field_resistance or 0.0))
    enough = needed is not None and needed <= found.most
    return FieldFeed(held=current, voltage=found.most if enough else None)


def needed_mean(project: Project, current: float, winding: float) -> float | None:
    """The mean voltage, V, that ``current`` (A) takes at a field resistance (Ω); None where the supply is not told."""
    supply = project.field_supply
    found = None if supply is None else ahead(project, supply)
    if found is None:
        return None
    return current * (winding + found.series) + found.drop


def demand(project: Project, *, windings: tuple[float, float], inductance: float) -> field_transformer.Demand:
    """What the transformer of the field is chosen from; ``windings``: Ω of the field, cold and hot.

    Raises ``InputError`` for ``field_supply.voltage`` where it is not told, for ``supply.kind`` without mains.
    """
    supply, mains = project.field_supply, project.supply
    assert supply is not None
    volts = secondary(project, supply)
    if not mains.is_mains:
        raise InputError("field_supply.kind", supply.kind, '"dc" or "chopper" where the supply is direct',
                         "A transformer needs the mains, whose voltage this file does not give.")
    if volts is None:
        raise InputError("field_supply.voltage", None, "the secondary's r.m.s. voltage", "As on the transformer.")
    return field_transformer.Demand(
        secondary=volts, cold=windings[0], hot=windings[1], inductance=inductance,
        primary=(mains.lowest_voltage, float(mains.voltage or 0.0), mains.highest_voltage),
        frequency=float(mains.frequency or 0.0), prospective=mains.fault_current, power=supply.power,
        regulation=supply.regulation, resistance=supply.resistance, drop=supply.drop)


def at_current(made: field_transformer.Demand, current: float) -> field_transformer.Demand:
    """The same with the greatest current that flows with what stands in series, A."""
    return replace(made, current=current)
