"""A field on a chopper of its own from a direct supply: its duty, its parts, its ripple."""

from __future__ import annotations

import math
from dataclasses import replace

from designer.equations import field_source as eq
from designer.equations.chopper import RIPPLE_STRAIGHT
from designer.errors import InputError
from designer.motor.field_feed import FieldFeed
from designer.parts import bus_film, field_supply, flyback_diode, transistor
from designer.parts.commutation import State
from designer.project.device import Parts
from designer.project.supply import FieldSupply
from designer.quantities import engineering
from designer.results import Assumption, Part, Quantity, Step
from designer.studies import chopper_parts
from designer.studies.chopper_control import drops
from designer.studies.field_adjusted import wanted
from designer.studies.field_feeding import SPREAD, Asked, Fed
from designer.studies.sides import Scene

#: Hz, of a field's chopper where the file gives none: above hearing, the ripple of a field winding is small anyway
FREQUENCY = 20e3
#: what a timer sets, and what a design need not chase between its rounds, share
DUTY_DIGITS = 4
#: H, of a metre of leads to the supply (10 nH a centimetre), and the least ohm of leads and supply that damp the input
#: capacitor (both common practice, no source)
LEADS, LEAST_DAMPING = 1e-6, 50e-3


def chopped(scene: Scene, supply: FieldSupply, asked: Asked) -> Fed:
    """A transistor in the low side on a direct supply, the freewheel diode across the field; the duty held.

    Raises ``InputError`` for ``field_supply.voltage`` where it cannot give the current, and where a part is not to be
    had.
    """
    current, volts, own = wanted(scene, asked), float(supply.voltage or 0.0), supply.resistance or 0.0
    hertz = supply.frequency or FREQUENCY
    rough = min(current * (asked.hot + own) / volts, 1.0)
    chosen = _chosen(scene, volts, asked, current=current * asked.hot / asked.cold, duty=rough, hertz=hertz)
    on, off = (found.threshold + found.slope * current for found in drops(chosen).values())
    needed = current * (asked.hot + own) + on
    if needed > volts:
        raise InputError("field_supply.voltage", f"{volts:.4g} V", f"{needed:.3g} V for {current:.3g} A",
                         "A higher voltage, or less field.")
    duty = Step(formula=eq.FIELD_DUTY, note="field hot, nominal supply", inputs={
        "I_f": current, "R_f": asked.hot, "R_so": own, "V_fw": off, "V_in": volts, "V_on": on})
    share = round(duty.value, DUTY_DIGITS)
    taken = share * on + (1 - share) * off
    demand = field_supply.Demand(
        wanted=(share * volts - taken) / (asked.hot + own), cold=asked.cold, hot=asked.hot,
        low=share * (1 - SPREAD) * volts,
        nominal=share * volts, high=share * (1 + SPREAD) * volts, drop=taken, source_resistance=own, ambient=scene.box)
    feed = field_supply.choose(demand, margins=scene.margins)
    ripple = Step(formula=RIPPLE_STRAIGHT, inputs={"V": volts, "D": share, "f_s": hertz, "L": asked.inductance})
    full = volts * (1 + SPREAD) / asked.cold
    diode, *others = (_named(part) for part in _in_order(chosen.parts()))
    return Fed(
        demand=demand, feed=feed, ripple=ripple.value, blocks=(1 + SPREAD) * volts,
        parts=(*others, _input(scene, chosen, supply, current=feed.greatest, duty=share)), on_sink=(
            transistor.on_sink(chosen.device, name="field transistor", demand=chosen.demand, margins=scene.margins),
            flyback_diode.on_sink(chosen.diode, name="field diode", demand=chosen.diode_demand, margins=scene.margins)),
        worked=(duty, ripple, *feed.worked), diode=diode,
        field_feed=FieldFeed(voltage=share * volts, drop=taken, series=own),
        texts={"field_setting": _told(hertz, share, ripple.value, full)},
        figures={"field_duty": Quantity(share, "1"), "field_current_ripple": Quantity(ripple.value, "A"),
                 "field_current_limit": Quantity(chosen.limit.nominal, "A"),
                 "field_current_switch_shorted": Quantity(full, "A")},
        assumptions=(Assumption(
            text=f"The supply ahead of the field's chopper holds within ±{100 * SPREAD:.0f} %, on leads of "
            f"{engineering(LEADS, 'H')}.", mark="common practice, no source"),))


def _told(hertz: float, share: float, ripple: float, full: float) -> str:
    return (f"The field's chopper runs at {engineering(hertz, 'Hz')} with a duty of {100 * share:.1f} %, held: its "
            f"current drifts with the winding's heat. It ripples by {engineering(ripple, 'A', 2)}. Its transistor "
            f"shorted gives the field {engineering(full, 'A', 3)} cold: the motor slows, the winding heats.")


def _chosen(
    scene: Scene, volts: float, asked: Asked, *, current: float, duty: float, hertz: float
) -> chopper_parts.Chosen:
    """All that switches the field, as for any chopper; the file's devices and limit are those of the armature."""
    high = (1 + SPREAD) * volts
    ripple = float(RIPPLE_STRAIGHT(V=high, D=duty, f_s=hertz, L=asked.inductance))
    state = State(
        bus=high, mean_current=duty * current, rms_current=math.sqrt(duty) * current,
        turn_on_current=max(current - ripple / 2, 0.0), turn_off_current=current + ripple / 2)
    project = scene.project.model_copy(update={
        "parts": Parts(), "control": scene.project.control.model_copy(update={"current_limit": None})})
    return chopper_parts.choose(chopper_parts.Seen(
        crest=high, state=state, peak=current + ripple / 2,
        diode=((1 - duty) * current, math.sqrt(1 - duty) * current), on_time=duty / hertz, frequency=hertz,
        inductance=asked.inductance, resistance=asked.cold, opposing=0.0), project)


def _input(scene: Scene, chosen: chopper_parts.Chosen, supply: FieldSupply, *, current: float, duty: float) -> Part:
    """The capacitor that closes the switched loop, ahead of it the leads of the supply."""
    made = bus_film.choose(bus_film.Demand(
        crest=(1 + SPREAD) * float(supply.voltage or 0.0), edge_current=chosen.limit.high,
        frequency=chosen.demand.frequency, ripple=current * math.sqrt(duty * (1 - duty)),
        resistance=max(supply.resistance or 0.0, LEAST_DAMPING),
        overshoot=bus_film.overshoot((1 + SPREAD) * float(supply.voltage or 0.0)), leads=LEADS,
        at="greatest current switched"), margins=scene.margins)
    return replace(made, role="field-input-capacitor", designator="C9", description=f"field: {made.description}")


def _in_order(parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """The freewheel diode first."""
    return tuple(sorted(parts, key=lambda part: part.role != "flyback-diode"))


def _named(part: Part) -> Part:
    """The part under the field's own role."""
    if part.role == "switch":
        part = replace(part, if_wrong="Shorted: the field gets its whole supply, heats, and the motor slows. Open: no "
                       "field, and the relay must take the armature off.")
    role = "field-diode" if part.role == "flyback-diode" else f"field-{part.role}"
    return replace(part, role=role, description=f"field: {part.description}")
