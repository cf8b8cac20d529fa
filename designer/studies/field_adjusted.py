"""Field supplies that are turned to a current: phase angle and chopper, their setting, parts and ripple."""

from __future__ import annotations

import math
from dataclasses import replace

from designer.equations import field_source as eq
from designer.equations.chopper import RIPPLE_STRAIGHT
from designer.equations.rectified import FREEWHEEL_MEAN, THYRISTOR_MEAN, THYRISTOR_RMS
from designer.errors import InputError
from designer.motor.field_feed import FieldFeed
from designer.parts import field_supply, field_transformer, flyback_diode, gate_drive, heatsink, thyristor, transistor
from designer.parts.commutation import State, rise_of_current
from designer.parts.gate_values import gate
from designer.project.supply import FieldSupply
from designer.quantities import engineering
from designer.results import Assumption, Part, Quantity, Step
from designer.studies import field_supplies
from designer.studies.field_choice import least_loss_current
from designer.studies.field_feeding import SPREAD, Asked, Fed, rectified_demand, size_assumed
from designer.studies.sides import Scene

#: Hz, of a field's chopper where the file gives none: above hearing, the ripple of a field winding is small anyway
FREQUENCY = 20e3
#: s, rise of the field's supply when it is switched on (common practice, no source)
DIRECT_RISE = 100e-6
#: V of a thyristor while it conducts (from memory)
_THYRISTOR = 1.1
_ROUNDS = 6
NOT_SIZED = Assumption(
    text="Zero-cross detector, optocoupled driver, gate resistor and snubber of the field's thyristor are not sized "
         "here: it needs them all, isolated as those of the armature.", mark="assumed")
#: what a timer sets, and what a design need not chase between its rounds: rad, and share
ANGLE_DIGITS, DUTY_DIGITS = 3, 4


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
    gated, mean = _thyristor(scene, feed.greatest, fired, crest)
    freewheel = Step(formula=FREEWHEEL_MEAN, inputs={"I_d": feed.greatest, "alpha": fired},
                     note="the field's diode, cold winding, high mains")
    ripple = _ripple(scene, made.source, asked, current=feed.greatest, angle=fired)
    parts = made.parts if apart else tuple(part for part in made.parts if part.role != "field-transformer")
    direct = ("The half cycles are fired alike: no direct current stays in the transformer. A thyristor that misses "
              f"every second one would put {engineering(current / 2, 'A', 2)} of it through the secondary.")
    return Fed(
        demand=demand, feed=feed, ripple=ripple.value, blocks=crest, parts=(*parts, gated), on_sink=made.on_sink,
        worked=(*made.worked, angle, ripple, mean, freewheel, *feed.worked),
        field_feed=FieldFeed(voltage=demand.nominal, drop=demand.drop, series=made.source.series,
                             follows=asks.primary[1]),
        texts={"field_setting": f"The field's thyristor fires {engineering(fired, 'rad')} after each zero, held: "
               "the current drifts with the winding's heat and with the mains.", "field_direct_current": direct},
        figures={"field_firing_angle": Quantity(fired, "rad"),
                 "field_current_ripple": Quantity(ripple.value, "A"),
                 "field_bridge_heat": Quantity(made.bridge_heat, "W")},
        assumptions=(*(size_assumed(scene, made.source) if apart else ()), NOT_SIZED))


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


def _thyristor(scene: Scene, current: float, angle: float, crest: float) -> tuple[Part, Step]:
    """The thyristor on the d.c. side of the bridge, twice a period; its rise of current is the source's."""
    told = {"I_d": current, "alpha": angle}
    mean, rms = 2 * float(THYRISTOR_MEAN(**told)), math.sqrt(2) * float(THYRISTOR_RMS(**told))
    made, _ = thyristor.choose(thyristor.Demand(
        mains_peak=crest, peak_voltage=crest, mean_absolute_current=mean, rms_current=rms, surge_peak=current,
        stall_peak=current, turn_off_slope=0.0, reapplied_voltage=0.0, reapplied_rise=0.0, rise_of_current=0.0),
        given={}, margins=scene.margins, mean_current=mean, count=1)
    return replace(
        made, role="field-thyristor", designator="Q3", if_wrong="Shorted: the field gets all that its supply gives, "
        "heats, and the motor slows or stalls on the weak armature. Open: no field.",
        ratings=tuple(r for r in made.ratings if r.stress.value > 0)), Step(
            formula=THYRISTOR_MEAN, inputs=told, note="one half cycle of the two that the field's thyristor carries")


def chopped(scene: Scene, supply: FieldSupply, asked: Asked) -> Fed:
    """A transistor in the low side on a direct supply, the freewheel diode across the field; the duty held."""
    current, volts, own = wanted(scene, asked), float(supply.voltage or 0.0), supply.resistance or 0.0
    hertz = supply.frequency or FREQUENCY
    rough = min(current * (asked.hot + own) / volts, 1.0)
    parts, on_sink, (drop, lost) = _chopper_parts(
        scene, volts, current=current * asked.hot / asked.cold, duty=rough, hertz=hertz)
    needed = current * (asked.hot + own) + lost
    if needed > volts - drop + lost:
        raise InputError("field_supply.voltage", f"{volts:.4g} V", f"{needed + drop - lost:.3g} V for {current:.3g} A",
                         "A higher voltage, or less field.")
    duty = Step(formula=eq.FIELD_DUTY, note="field hot, nominal supply", inputs={
        "I_f": current, "R_f": asked.hot, "R_so": own, "V_fw": lost, "V_in": volts, "V_on": drop})
    share = round(duty.value, DUTY_DIGITS)
    taken = share * drop + (1 - share) * lost
    demand = field_supply.Demand(
        wanted=(share * volts - taken) / (asked.hot + own), cold=asked.cold, hot=asked.hot,
        low=share * (1 - SPREAD) * volts,
        nominal=share * volts, high=share * (1 + SPREAD) * volts, drop=taken, source_resistance=own, ambient=scene.box)
    feed = field_supply.choose(demand, margins=scene.margins)
    ripple = Step(formula=RIPPLE_STRAIGHT, inputs={"V": volts, "D": share, "f_s": hertz, "L": asked.inductance})
    full = volts * (1 + SPREAD) / asked.cold
    return Fed(
        demand=demand, feed=feed, ripple=ripple.value, blocks=(1 + SPREAD) * volts, parts=parts[1:], on_sink=on_sink,
        worked=(duty, ripple, *feed.worked), diode=parts[0],
        field_feed=FieldFeed(voltage=share * volts, drop=taken, series=own),
        texts={"field_setting": f"The field's chopper runs at {engineering(hertz, 'Hz')} with a duty of "
               f"{100 * share:.1f} %, held: its current drifts with the winding's heat. It ripples by "
               f"{engineering(ripple.value, 'A', 2)}. Its transistor shorted gives the field "
               f"{engineering(full, 'A', 3)} cold: the motor slows, the winding heats."},
        figures={"field_duty": Quantity(share, "1"), "field_current_ripple": Quantity(ripple.value, "A"),
                 "field_current_switch_shorted": Quantity(full, "A")},
        assumptions=(Assumption(text=f"The supply ahead of the field's chopper holds within ±{100 * SPREAD:.0f} %.",
                                mark="common practice, no source"),))


def _chopper_parts(
    scene: Scene, volts: float, *, current: float, duty: float, hertz: float
) -> tuple[tuple[Part, ...], tuple[heatsink.Device, ...], tuple[float, float]]:
    """Transistor, freewheel diode, gate drive; the drops (V) of transistor and diode at the current.

    The field's own winding limits the current, so no limit of the transistor's own is fitted.
    """
    high = (1 + SPREAD) * volts
    state = State(bus=high, mean_current=duty * current, rms_current=math.sqrt(duty) * current,
                  turn_on_current=current, turn_off_current=current)
    plain = transistor.Demand(bus_crest=high, running=state, frequency=hertz, peak_current=current)
    likely = transistor.candidates(plain, given={}, margins=scene.margins)[0]
    wheel = flyback_diode.Demand(
        bus_crest=high, mean_current=(1 - duty) * current, rms_current=math.sqrt(1 - duty) * current,
        recovered_current=current, didt=max(rise_of_current(likely, gate=gate(likely), current=current), 1.0),
        frequency=hertz, peak_current=current, on_time=duty / hertz)
    freewheel, diode = flyback_diode.choose(wheel, given={}, margins=scene.margins)
    asked = replace(plain, recovery=diode.recovery)
    switch, device = transistor.choose(asked, given={}, margins=scene.margins)
    drive = gate_drive.choose(device, demand=gate_drive.Demand(
        frequency=hertz, bus_rise=DIRECT_RISE, on_time=duty / hertz, margins=scene.margins))
    sink = (transistor.on_sink(device, name="field transistor", demand=asked, margins=scene.margins),
            flyback_diode.on_sink(diode, name="field diode", demand=wheel, margins=scene.margins))
    drops = (device["threshold_voltage"] + device["slope_resistance"] * current,
             diode["threshold_voltage"] + diode["slope_resistance"] * current)
    own = replace(switch, role="field-transistor", designator="Q3", if_wrong="Shorted: the field gets its whole "
                  "supply, heats, and the motor slows. Open: no field, and the relay must take the armature off.")
    diode_part = replace(freewheel, role="field-diode", designator="D2")
    return (diode_part, own, *(replace(part, role=f"field-{part.role}") for part in drive)), sink, drops
