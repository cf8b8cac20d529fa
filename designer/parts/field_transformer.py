"""Transformer and bridge of a separate field: secondary voltage, size, diode heat, primary fuse.

Safe side: the winding cold at high mains for heat and size, hot at low mains for the field that must not fall short.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from designer.equations import field_source as eq
from designer.parts import bridge, field_line, fuse, heatsink
from designer.parts.bridge_classes import DIODES
from designer.parts.fuse_gates import opening_time
from designer.parts.transformer_sizes import Size, near, size_for, sizes
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked

__all__ = [
    "LIKELY_DROP",
    "Chosen",
    "Demand",
    "Size",
    "Source",
    "choose",
    "current",
    "near",
    "size_for",
    "sizes",
    "source",
]

#: first guess of one diode's drop, V, and the two in the path where the file tells their drop together
LIKELY_DROP = 0.9
#: s that a small transformer's windings bear a shorted secondary: about ten times 3 A/mm² warms copper by some 7 K/s
SHORTED_FOR = 10.0
_WRONG = (
    "Too few volts: a weak field, and a motor that is faster than meant. Too small: it cooks with its thermal link, "
    "and when that opens the field is lost while the motor runs. One winding for primary and secondary (an "
    "autotransformer): the field's leads stand on the mains."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What it feeds and what it hangs on; SI; ``current`` is told where ``straight``.

    ``secondary``: V r.m.s. at rated load. ``cold``, ``hot``: Ω of the field winding, ``inductance`` its H at the
    current. ``primary``: low, nominal and high mains, V; ``frequency``: Hz. ``power``, ``regulation``,
    ``resistance`` (Ω seen from the secondary), ``drop`` (V of the two diodes in the path) as the file gives them.
    ``current``: A, greatest that flows with what stands in series; 0 where nothing does. ``prospective``: A, fault
    current of the mains. ``straight``: the bridge stands on the mains itself, without a transformer.
    """

    secondary: float
    cold: float
    hot: float
    inductance: float
    primary: tuple[float, float, float]
    frequency: float
    prospective: float
    power: float | None = None
    regulation: float | None = None
    resistance: float | None = None
    drop: float | None = None
    current: float = 0.0
    ambient: float = 40.0
    straight: bool = False


@dataclass(frozen=True, kw_only=True)
class Source:
    """What stands before the field: secondary without load (V r.m.s.), Ω of the windings, drop and slope in the path.

    ``drop`` (V) and ``slope`` (Ω) are those of the two conducting diodes together.
    """

    size: Size
    open_voltage: float
    resistance: float
    drop: float
    slope: float

    @property
    def mean(self) -> float:
        """Mean voltage of the bridge without load and without drops, V."""
        return float(eq.RECTIFIED_MEAN(V_so=self.open_voltage))

    @property
    def series(self) -> float:
        """Windings and diodes, Ω."""
        return self.resistance + self.slope


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """The parts, what they mean for the field's feed, and their worked lines."""

    source: Source
    parts: tuple[Part, ...]
    on_sink: tuple[heatsink.Device, ...]
    worked: tuple[Step, ...]
    bridge_heat: float
    ripple: float
    secondary_current: float        # A r.m.s.
    pulses: tuple[fuse.Pulse, ...]  # its inrush, as the line's fuse sees it

    def taken(self, demand: Demand, secondary: float, *, magnetising: float | None) -> Step:
        """Give the step for what it takes from the line at ``secondary`` (A r.m.s.), A r.m.s. at most."""
        rated = 0.0 if demand.straight else self.source.size.power / demand.primary[1]
        ratio = 1.0 if demand.straight else self.source.open_voltage / demand.primary[1]
        return field_line.taken(secondary, ratio=ratio, rated=rated, magnetising=magnetising)


def source(demand: Demand, size: Size, *, drop: float, slope: float) -> Source:
    """Give what a size means for the field; ``drop`` and ``slope`` of the two diodes, the file's drop before them."""
    own = demand.regulation if demand.regulation is not None else size.regulation
    power = demand.power or size.power
    resistance = demand.resistance
    if resistance is None:
        resistance = float(eq.TRANSFORMER_RESISTANCE(reg=own, V_s=demand.secondary, S_n=power))
    known = demand.drop is not None
    return Source(
        size=replace(size, power=power, regulation=own),
        open_voltage=float(eq.OPEN_SECONDARY(V_s=demand.secondary, reg=own)), resistance=resistance,
        drop=demand.drop if demand.drop is not None else drop, slope=0.0 if known else slope)


def current(demand: Demand, made: Source, *, winding: float, mains: float) -> float:
    """Give the field current, A, at a winding's Ω and a primary voltage (V), nothing in series."""
    found = float(eq.FIELD_FROM_TRANSFORMER(
        V_so=made.open_voltage * mains / demand.primary[1], V_D=made.drop / 2, R_f=winding,
        R_t=made.resistance, r_D=made.slope / 2))
    return max(found, 0.0)


def choose(demand: Demand, *, margins: Mapping[str, float]) -> Chosen:
    """Give transformer, bridge and primary fuse for a field on a transformer.

    Raises ``InputError`` for ``field_supply.power`` where no size listed bears it, and what bridge and fuse raise.
    """
    size, made = _sized(demand)
    for _ in range(2):
        flows = _greatest(demand, made)
        four = _bridge_demand(demand, made, flows)
        bridged, device = bridge.choose(four, given={}, margins=margins)
        made = source(demand, size, drop=2 * device["threshold_voltage"], slope=2 * device["slope_resistance"])
    flows = _greatest(demand, made)
    ripple = _ripple(demand, made)
    loaded = _load(flows, demand, ripple=ripple.value)
    pulses = field_line.inrush(made.size.power / demand.primary[1], multiple=made.size.inrush)
    fused, link = _fuse(demand, made, pulses=pulses, margins=margins)
    heat = Step(formula=eq.BRIDGE_LOSS, note="field cold, high mains", inputs={
        "V_D": made.drop / 2, "I_f": flows, "r_D": made.slope / 2, "I_s": loaded[0].value})
    ahead = () if demand.straight else (
        _transformer(demand, made, loaded, opens=opening_time(link, current=_short(demand, made))),)
    return Chosen(
        source=made, on_sink=(replace(bridge.on_sink(device, demand=four, margins=margins), name="field bridge"),),
        parts=(*ahead, _as_field(bridged, heat, straight=demand.straight), fused),
        worked=(*_steps(demand, made), ripple, *loaded, heat), bridge_heat=heat.value, ripple=ripple.value,
        secondary_current=loaded[0].value, pulses=pulses)


def _sized(demand: Demand) -> tuple[Size, Source]:
    """The file's transformer; else the smallest that bears what it then lets flow."""
    likely = {"drop": 2 * LIKELY_DROP, "slope": 0.0}
    if demand.straight:
        own = Size(power=demand.secondary * demand.current, regulation=0.0, inrush=0.0, source="", mark="")
        return own, source(demand, own, **likely)
    if demand.power is not None:
        own = near(demand.power)
        return own, source(demand, own, **likely)
    wanted = sizes()[0].power
    for _ in range(len(sizes())):
        size = size_for(wanted)
        made = source(demand, size, **likely)
        flows = _greatest(demand, made)
        wanted = _load(flows, demand, ripple=_ripple(demand, made).value)[1].value
        if wanted <= size.power * (1 + 1e-9):
            return size, made
    raise AssertionError("a larger size lets little more flow")


def _greatest(demand: Demand, made: Source) -> float:
    """The field current, A, with the winding cold at high mains; what stands in series counts where it is known."""
    free = current(demand, made, winding=demand.cold, mains=demand.primary[2])
    return min(free, demand.current) if demand.current else free


def _ripple(demand: Demand, made: Source) -> Step:
    return Step(formula=eq.RECTIFIED_RIPPLE, note="without the windings of the transformer, mains high", inputs={
        "V_so": made.open_voltage * demand.primary[2] / demand.primary[1], "R_f": demand.cold,
        "omega_s": 2 * math.pi * demand.frequency, "L_f": demand.inductance})


def _load(flows: float, demand: Demand, *, ripple: float) -> tuple[Step, Step]:
    """The secondary's r.m.s. current, and the VA that it takes."""
    rms = Step(formula=eq.SECONDARY_CURRENT, inputs={"I_f": flows, "dI_f": ripple}, note="field cold, high mains")
    return rms, Step(formula=eq.APPARENT, inputs={"V_s": demand.secondary, "I_s": rms.value},
                     note="field cold, high mains")


def _steps(demand: Demand, made: Source) -> tuple[Step, ...]:
    size = made.size
    steps = [Step(formula=eq.OPEN_SECONDARY, inputs={"V_s": demand.secondary, "reg": size.regulation})]
    if demand.resistance is None:
        steps.append(Step(formula=eq.TRANSFORMER_RESISTANCE, inputs={
            "reg": size.regulation, "V_s": demand.secondary, "S_n": size.power}))
    steps += [Step(formula=eq.RECTIFIED_MEAN, inputs={"V_so": made.open_voltage})]
    steps += [Step(formula=eq.FIELD_FROM_TRANSFORMER, note=f"nothing in series, winding {state}, nominal mains",
                   inputs={"V_so": made.open_voltage, "V_D": made.drop / 2, "R_f": ohms,
                           "R_t": made.resistance, "r_D": made.slope / 2})
              for state, ohms in (("cold", demand.cold), ("hot", demand.hot))]
    return tuple(steps)


def _short(demand: Demand, made: Source) -> float:
    """Primary current, A r.m.s., with the bridge shorted at nominal mains; the mains' own impedance left out."""
    return made.open_voltage / made.resistance * demand.secondary / demand.primary[1] if made.resistance else (
        demand.prospective)


def _bridge_demand(demand: Demand, made: Source, flows: float) -> bridge.Demand:
    at = "field cold, high mains"
    names = ("mean current of one diode", "r.m.s. current of one diode", "reverse voltage")
    return bridge.Demand(
        crest=2**0.5 * made.open_voltage * demand.primary[2] / demand.primary[1], mean_current=flows / 2,
        rms_current=flows / 2**0.5, peak_current=flows, mains_fed=demand.straight, at=dict.fromkeys(names, at))


def _as_field(part: Part, heat: Step, *, straight: bool) -> Part:
    """The bridge as the field's: what it carries is no pulse, and what its failure does is another."""
    short = "the line is short, the field's fuse" if straight else "the transformer is short, the primary fuse"
    return replace(
        part, role="field-bridge", designator="BR2", worked=(heat,), if_wrong="Open, one diode: half the field, and a "
        f"motor that runs faster. Shorted: {short} opens, the field is gone and the field-current relay must take the "
        "armature off.",
        ratings=tuple(r for r in part.ratings if r.stress.value > 0),
        notes=(f"It makes {engineering(heat.value, 'W', 3)} for good, two of its {DIODES} diodes at a time: on a metal "
               "plate with compound." + ("" if straight else " On a transformer it is the bridge that dies of heat "
                                          "first."),
               "Both its terminals count as live: the field shares the motor with the armature."))


def _fuse(
    demand: Demand, made: Source, *, pulses: tuple[fuse.Pulse, ...], margins: Mapping[str, float]
) -> tuple[Part, fuse.Link]:
    """The primary fuse: it bears the inrush again and again."""
    rated = made.size.power / demand.primary[1]
    part, link = fuse.choose(fuse.Demand(
        line_current=rated, pulses=pulses,
        stall_current=rated, prospective=demand.prospective, voltage=demand.primary[1], ambient=demand.ambient,
        at="at its rated power"), margins=margins)
    what = "fuse of the field's bridge" if demand.straight else "primary fuse of the field transformer"
    return replace(
        part, role="field-fuse", designator="F2", description=what,
        if_wrong="Quick-acting or too small: it opens on the inrush, and the field is gone. Too large: a shorted "
        "bridge burns the transformer.",
        notes=("In the primary, never between bridge and field: the diode's path must not open.",)), link


def _transformer(
    demand: Demand, made: Source, loaded: tuple[Step, Step], *, opens: tuple[float, float]
) -> Part:
    size, (rms, apparent) = made.size, loaded
    rated = size.power / demand.secondary
    told = marked(size.source, size.mark)
    own = "the transformer's own rating"
    within = f"the fuse opens within {engineering(opens[1], 's', 2)}"
    shorted = ("the fuse does not open, so the transformer needs a thermal link of its own" if math.isinf(opens[1])
               else within if opens[1] <= SHORTED_FOR else
               f"{within} only, which its windings do not bear: it needs a thermal link of its own")
    return Part(
        role="field-transformer", designator="T2", description="safety transformer of the field, separate windings",
        value=Quantity(size.power, "V*A"),
        marking=f"{demand.primary[1]:g} V to {demand.secondary:g} V, {size.power:g} VA",
        ratings=(
            Rating(name="apparent power", limit=Quantity(size.power, "V*A"),
                   stress=Quantity(apparent.value, "V*A"), source=own, at=apparent.note),
            Rating(name="secondary current", limit=Quantity(rated, "A"), stress=Quantity(rms.value, "A"), source=own,
                   at=rms.note)),
        worked=(rms, apparent), if_wrong=_WRONG,
        notes=(f"Without load {engineering(made.open_voltage, 'V', 3)}; its windings count as "
               f"{engineering(made.resistance, 'ohm', 3)} seen from the secondary.",
               f"A shorted bridge draws {engineering(_short(demand, made), 'A', 2)} in the primary: {shorted}.",
               "The secondary is no safe low voltage here: the field sits in a motor whose armature is live. Leads, "
               "bridge and relay are treated as mains.",
               "IEC 61558-2-6 for the separation of its windings (from memory)."),
        sources=(told,) if demand.regulation is None or demand.power is None else ())

