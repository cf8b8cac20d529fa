"""A field on phase angle: its setting, its parts, its ripple, and what it takes from the line."""

from __future__ import annotations

import math
from dataclasses import replace

from designer.equations import field_source as eq
from designer.equations.field_stage import PHASE_SECONDARY
from designer.equations.rectified import FREEWHEEL_MEAN, THYRISTOR_MEAN, THYRISTOR_RMS
from designer.errors import InputError
from designer.motor.field_feed import FieldFeed
from designer.parts import field_supply, field_transformer
from designer.project.supply import FieldSupply
from designer.quantities import engineering
from designer.results import Assumption, Part, Quantity, Step
from designer.studies import field_stage, field_supplies
from designer.studies.field_choice import least_loss_current
from designer.studies.field_feeding import Asked, Fed, rectified_demand, size_assumed
from designer.studies.rectified_thyristors import LEAD_INDUCTANCE
from designer.studies.sides import Scene

#: V of a thyristor while it conducts (from memory)
_THYRISTOR = 1.1
_ROUNDS = 6
#: what a timer sets, and what a design need not chase between its rounds, rad
ANGLE_DIGITS = 3


def wanted(scene: Scene, asked: Asked) -> float:
    """The field current to be set, A: the file's, else the one of least loss."""
    if asked.wanted is not None:
        return asked.wanted
    assert scene.fixed is not None
    return round(least_loss_current(scene.fixed, scene.project), 3)


def phase_cut(scene: Scene, supply: FieldSupply, asked: Asked) -> Fed:
    """A bridge, one thyristor on its d.c. side, the field's own diode as freewheel diode; the angle held.

    Line current of equal halves: no direct component reaches the transformer while both are fired alike.
    """
    current, apart = wanted(scene, asked), field_supplies.on_transformer(scene.project, supply)
    asks = replace(field_supplies.demand(scene.project, windings=(asked.cold, asked.hot), inductance=asked.inductance),
                   ambient=scene.box)
    # cold at high mains more flows than was set hot at nominal
    asks = replace(asks, current=current * (asked.hot / asked.cold) * asks.primary[2] / asks.primary[1])
    if not apart:     # as stiff as the socket
        asks = replace(asks, straight=True, resistance=asks.primary[1] / asks.prospective, regulation=0.0)
    made = field_transformer.choose(asks, margins=scene.margins)
    angle, lost = _angle(made.source, current, asked)
    fired = round(angle.value, ANGLE_DIGITS)
    share = (1 + math.cos(fired)) / 2
    demand = rectified_demand(scene, made.source, replace(asked, wanted=None), share=share, drop=lost)
    feed = field_supply.choose(demand, margins=scene.margins)
    crest = math.sqrt(2) * made.source.open_voltage * asks.primary[2] / asks.primary[1]
    stage = _stage(scene, asked, made.source, current=feed.greatest, angle=fired, straight=not apart)
    mean = Step(formula=THYRISTOR_MEAN, inputs={"I_d": feed.greatest, "alpha": fired},
                note="one half cycle of the two that the field's thyristor carries")
    ahead = Step(formula=PHASE_SECONDARY, inputs={"I_f": feed.greatest, "alpha": fired}, note="field cold, high mains")
    taken = made.taken(asks, ahead.value, magnetising=supply.magnetising_current)
    freewheel = Step(formula=FREEWHEEL_MEAN, inputs={"I_d": feed.greatest, "alpha": fired},
                     note="the field's diode, cold winding, high mains")
    ripple = _ripple(scene, made.source, asked, current=feed.greatest, angle=fired)
    parts = made.parts if apart else tuple(part for part in made.parts if part.role != "field-transformer")
    direct = ("The half cycles are fired alike: no direct current stays in the transformer. A thyristor that misses "
              f"every second one would put {engineering(current / 2, 'A', 2)} of it through the secondary.")
    return Fed(
        demand=demand, feed=feed, ripple=ripple.value, blocks=crest,
        parts=(*parts, _as_field(stage.thyristor), *stage.parts), on_sink=(*made.on_sink, stage.on_sink),
        worked=(*made.worked, angle, ripple, mean, freewheel, ahead, taken, *stage.worked, *feed.worked),
        line_current=taken.value, pulses=made.pulses,
        field_feed=FieldFeed(voltage=demand.nominal, drop=demand.drop, series=made.source.series,
                             follows=asks.primary[1]),
        texts={"field_setting": f"The field's thyristor fires {engineering(fired, 'rad')} after each zero, held: "
               "the current drifts with the winding's heat and with the mains.", "field_direct_current": direct},
        figures={"field_firing_angle": Quantity(fired, "rad"),
                 "field_current_ripple": Quantity(ripple.value, "A"),
                 "field_bridge_heat": Quantity(made.bridge_heat, "W")},
        assumptions=(*(size_assumed(scene, made.source) if apart else ()), _loop_told(scene, apart)))


def _loop_told(scene: Scene, apart: bool) -> Assumption:
    """What stands between source and thyristor, and where the zeros come from."""
    edges = ("The zero-cross detector of the armature tells the field's stage the zeros too."
             if "bus" not in scene.kind.sides else "The field's stage has a zero-cross detector of its own.")
    loop = (f"Leakage of the field transformer and leads: {engineering(LEAD_INDUCTANCE, 'H')} at the least." if apart
            else "Between mains and the field's thyristor only its choke is counted.")
    return Assumption(text=f"{loop} {edges}", mark="common practice, no source")


def _ripple(scene: Scene, made: field_transformer.Source, asked: Asked, *, current: float, angle: float) -> Step:
    """The ripple of the field current, winding cold at high mains, where it is greatest."""
    mains = scene.project.supply
    crest, loop = math.sqrt(2) * made.open_voltage, asked.cold + made.series
    opposing = min(current * loop / crest, 1.0)
    return Step(formula=eq.PHASE_RIPPLE, note="field cold, high mains", inputs={
        "I_f": opposing * crest / loop, "R_fl": loop, "a_on": max(angle, math.asin(opposing)), "V_m": crest,
        "omega_s": 2 * math.pi * float(mains.frequency or 0.0), "L_f": asked.inductance})


def _angle(made: field_transformer.Source, current: float, asked: Asked) -> tuple[Step, float]:
    """The firing angle for the current with the winding hot, and the mean drop (V) at it.

    Raises ``InputError`` for ``field_supply.voltage`` where full output does not give it.
    """
    ohms, angle = asked.hot + made.series, 0.0
    for _ in range(_ROUNDS):
        on = 1 - angle / math.pi
        lost = on * (made.drop + _THYRISTOR) + (1 - on) * field_transformer.LIKELY_DROP
        needed = current * ohms + lost
        if needed > made.mean:
            raise InputError(
                "field_supply.voltage", f"{made.mean:.3g} V mean at full output", f"{needed:.3g} V for {current:.3g} A",
                "A higher voltage, or less field.")
        step = Step(formula=eq.ALPHA_FOR_SHARE, inputs={"V_dc": needed, "V_so": made.open_voltage},
                    note="field hot, nominal mains")
        angle = step.value
    return step, lost


def _stage(
    scene: Scene, asked: Asked, made: field_transformer.Source, *, current: float, angle: float, straight: bool
) -> field_stage.Stage:
    """The thyristor on the d.c. side of the bridge, fired twice a period, and what belongs to it."""
    assert scene.fixed is not None
    mains, told = scene.project.supply, {"I_d": current, "alpha": angle}
    over = made.open_voltage / float(mains.voltage or 0.0)
    return field_stage.stage(scene, field_stage.Seen(
        volts=(over * mains.lowest_voltage, over * mains.highest_voltage), current=current, angle=angle,
        mean=2 * float(THYRISTOR_MEAN(**told)), rms=math.sqrt(2) * float(THYRISTOR_RMS(**told)),
        line=float(PHASE_SECONDARY(I_f=current, alpha=angle)), inductance=scene.fixed.motor.field_inductance,
        loop=asked.hot + made.series, source=made.resistance, straight=straight))


def _as_field(part: Part) -> Part:
    """The thyristor as the field's."""
    return replace(
        part, role="field-thyristor", designator="Q3", if_wrong="Shorted: the field gets all that its supply gives, "
        "heats, and the motor slows or stalls on the weak armature. Open: no field.",
        ratings=tuple(r for r in part.ratings if r.stress.value > 0))
