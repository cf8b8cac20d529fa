"""How each kind of field supply is built for a design: what feeds the field, its parts, what flows at the corners."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from designer.errors import InputError
from designer.motor.field_feed import FieldFeed
from designer.parts import field_supply, field_transformer, heatsink
from designer.parts.fuse import Pulse
from designer.project.supply import FieldSupply
from designer.quantities import engineering
from designer.results import Assumption, Part, Quantity, Step
from designer.studies import field_supplies
from designer.studies.sides import Scene

#: of a d.c. field supply's voltage, both ways (common practice, no source)
SPREAD = 0.05
_ROUNDS = 4


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What the field asks: Ω cold and hot, H at its current, A flowing in the survey, A of the file (None: chosen)."""

    cold: float
    hot: float
    inductance: float
    flowing: float
    wanted: float | None


@dataclass(frozen=True, kw_only=True)
class Fed:
    """A field as it is fed: demand and currents at the corners, the feed for the next survey, parts and words.

    ``ripple``: A peak to peak, which a quick relay sees. ``blocks``: V that the diode across the field must block;
    ``diode`` replaces that diode where it is a freewheel diode of fast switching. ``line_current``: A r.m.s. that its
    supply takes from the mains of the circuit, at most; ``pulses`` its inrush there.
    """

    demand: field_supply.Demand
    feed: field_supply.Feed
    field_feed: FieldFeed
    blocks: float
    ripple: float = 0.0
    parts: tuple[Part, ...] = ()
    on_sink: tuple[heatsink.Device, ...] = ()
    worked: tuple[Step, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)
    figures: Mapping[str, Quantity] = field(default_factory=dict)
    assumptions: tuple[Assumption, ...] = ()
    diode: Part | None = None
    line_current: float = 0.0
    pulses: tuple[Pulse, ...] = ()

    @property
    def valley(self) -> float:
        """The least current of a right field at any instant, A: winding hot, low supply, half the ripple off."""
        return self.feed.least - self.ripple / 2 * self.demand.low / self.demand.high


def fed(scene: Scene, asked: Asked) -> Fed:
    """Build the field's supply. Raises ``InputError`` where the file does not tell it, or it cannot give the current.

    The keys named are those of ``[field_supply]``.
    """
    supply = scene.project.field_supply
    if supply is None or field_supplies.secondary(scene.project, supply) is None:
        low, high = asked.flowing * asked.cold, asked.flowing * asked.hot
        raise InputError("field_supply.voltage", None, f"{low:.3g} V (field cold) to {high:.3g} V (hot) direct",
                         f"That is what {asked.flowing:.3g} A take.")
    if field_supplies.half_wave(supply):
        raise _one_way(scene, supply, asked)
    if supply.kind == "dc":
        return _direct(scene, supply, asked)
    if supply.kind == "transformer-rectifier":
        return _transformed(scene, asked)
    from designer.studies.field_adjusted import phase_cut
    from designer.studies.field_chopped import chopped

    return phase_cut(scene, supply, asked) if supply.kind == "phase-angle" else chopped(scene, supply, asked)


def _one_way(scene: Scene, supply: FieldSupply, asked: Asked) -> InputError:
    """The refusal of a half-wave field, with its direct current where it passes through a transformer."""
    from designer.equations import field_source as eq

    volts = float(field_supplies.secondary(scene.project, supply) or 0.0)
    mains = float(scene.project.supply.voltage or 0.0)
    found = field_supplies.ahead(scene.project, supply)
    assert found is not None
    full = max(found.most - found.drop, 0.0) / (asked.hot + found.series)
    angle = math.acos(min(max(2 * min(asked.flowing, full) / full - 1, -1.0), 1.0)) if full and (
        supply.kind == "phase-angle") else 0.0
    direct = float(eq.DIRECT_SECONDARY(I_f=min(asked.flowing, full), alpha=angle))
    if not field_supplies.on_transformer(scene.project, supply):
        return InputError("field_supply.rectifier", f"half-wave: {direct:.3g} A direct in the line", '"bridge"',
                          "A direct current upsets transformers and residual-current devices of the whole line.")
    referred = float(eq.DIRECT_REFERRED(I_dcs=direct, V_s=volts, V_p=mains)) if mains else math.nan
    bears = supply.magnetising_current
    allowed = "not given" if bears is None else engineering(bears, "A", 3)
    return InputError(
        "field_supply.rectifier", f"half-wave: {direct:.3g} A direct through the secondary, {referred:.3g} A seen from "
        f"the primary, magnetising current {allowed}", '"bridge", which has no direct component',
        "Direct current saturates the transformer once it passes the magnetising current: it hums, heats, and its fuse "
        "or thermal link takes the field away.")


def _direct(scene: Scene, supply: FieldSupply, asked: Asked) -> Fed:
    """A direct voltage that stands by itself, a resistor in series where it is too high."""
    own, volts = supply.resistance or 0.0, float(supply.voltage or 0.0)
    demand = field_supply.Demand(
        wanted=volts / (asked.hot + own) if asked.wanted is None else asked.wanted, cold=asked.cold, hot=asked.hot,
        low=(1 - SPREAD) * volts, nominal=volts, high=(1 + SPREAD) * volts, source_resistance=own, ambient=scene.box)
    feed = field_supply.choose(demand, margins=scene.margins)
    return Fed(
        demand=demand, feed=feed, blocks=demand.high, parts=feed.parts, worked=feed.worked,
        field_feed=FieldFeed(voltage=demand.nominal, drop=demand.drop, series=feed.series + own),
        assumptions=(Assumption(text=f"The field supply's voltage holds within ±{100 * SPREAD:.0f} %.",
                                mark="common practice, no source"),))


def rectified_demand(
    scene: Scene, made: field_transformer.Source, asked: Asked, *, share: float = 1.0, drop: float | None = None
) -> field_supply.Demand:
    """What the field wants behind a rectifier of ``share`` output: means at low, nominal and high mains, V."""
    mains = scene.project.supply
    nominal, lost = share * made.mean, made.drop if drop is None else drop
    wanted = asked.wanted
    if wanted is None:
        wanted = (nominal - lost) / (asked.hot + made.series)
    ratio = float(mains.voltage or 0.0)
    return field_supply.Demand(
        wanted=wanted, cold=asked.cold, hot=asked.hot, low=nominal * mains.lowest_voltage / ratio, nominal=nominal,
        high=nominal * mains.highest_voltage / ratio, drop=lost, source_resistance=made.series, ambient=scene.box)


def _transformed(scene: Scene, asked: Asked) -> Fed:
    """Transformer and bridge, a resistor in series where they give too much."""
    asks = field_supplies.demand(scene.project, windings=(asked.cold, asked.hot), inductance=asked.inductance)
    asks = replace(asks, ambient=scene.box)
    for _ in range(_ROUNDS):
        made = field_transformer.choose(asks, margins=scene.margins)
        demand = rectified_demand(scene, made.source, asked)
        feed = _with_resistor(demand, made.source, scene)
        again = replace(asks, current=feed.greatest if feed.series else 0.0)
        if again == asks:
            break
        asks = again
    supply = scene.project.field_supply
    taken = made.taken(asks, made.secondary_current, magnetising=supply.magnetising_current if supply else None)
    return Fed(
        demand=demand, feed=feed, ripple=made.ripple, line_current=taken.value, pulses=made.pulses,
        blocks=math.sqrt(2) * made.source.open_voltage * asks.primary[2] / asks.primary[1],
        parts=(*made.parts, *feed.parts), on_sink=made.on_sink, worked=(*made.worked, taken, *feed.worked),
        field_feed=FieldFeed(voltage=demand.nominal, drop=demand.drop, series=feed.series + made.source.series,
                             follows=asks.primary[1]),
        texts={"field_ripple": _ripple_text(made.ripple, feed.nominal_hot),
               "field_bridge": f"The field's bridge makes {engineering(made.bridge_heat, 'W', 3)} of heat for good."},
        figures={"field_bridge_heat": Quantity(made.bridge_heat, "W"),
                 "field_current_ripple": Quantity(made.ripple, "A")},
        assumptions=size_assumed(scene, made.source))


def size_assumed(scene: Scene, made: field_transformer.Source) -> tuple[Assumption, ...]:
    """What of the transformer the file does not tell."""
    supply = scene.project.field_supply
    if supply is None or supply.regulation is not None:
        return ()
    return (Assumption(
        text=f"The field transformer of {made.size.power:g} VA rises by {100 * made.size.regulation:.0f} % without "
             "load: read it, the field current hangs on it.", mark="from memory"),)


def _ripple_text(ripple: float, current: float) -> str:
    return (f"The field current ripples by {engineering(ripple, 'A', 2)} peak to peak at twice the mains' frequency, "
            f"{100 * ripple / current:.0f} % of it, at most; the waveforms take its mean.")


def _with_resistor(
    demand: field_supply.Demand, made: field_transformer.Source, scene: Scene
) -> field_supply.Feed:
    """The series resistor, or none; too low a voltage is told as the secondary's r.m.s."""
    try:
        return field_supply.choose(demand, margins=scene.margins)
    except InputError as error:
        needed = field_supply.needed_voltage(demand)
        if needed[1].value <= demand.nominal:
            raise
        cold, hot = (step.value / made.mean * made.open_voltage for step in needed)
        raise InputError(
            "field_supply.voltage", f"{made.open_voltage:.3g} V without load behind the bridge",
            f"{cold:.3g} V r.m.s. without load with the field cold, {hot:.3g} V hot, for {demand.wanted:.3g} A",
            "A secondary of more volts, or less field: the motor is faster and gives less torque an ampere then."
        ) from error
