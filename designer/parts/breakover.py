"""Breakover-device (diac) firing network: the parts with their ratings, and what they do at the target.

The values come from ``breakover_values``: end stop rounded down, potentiometer up; here the device's
series resistor is rounded up, since it limits the pulse.
"""

from __future__ import annotations

import math

import numpy as np

from designer.equations import breakover as formulas
from designer.errors import InputError
from designer.parts.breakover_values import (
    CAPACITOR_TOLERANCE,
    GENERIC,
    LEAST_END_STOP,
    RESISTOR_TOLERANCE,
    TRACK_TOLERANCE,
    Behaviour,
    Demand,
    Device,
    Values,
    behaviour,
    candidates,
    more_gate,
)
from designer.parts.margins import share
from designer.parts.preferred import at_least
from designer.parts.resistor_body import body, body_ratings
from designer.quantities import iec60062
from designer.results import Part, Quantity, Rating, Step
from designer.waveforms.firing_range import Reach

__all__ = ["GENERIC", "Demand", "Device", "Values", "choose", "designed", "parts"]

#: d.c. ratings of film capacitors, V (from memory)
FILM_VOLTAGES = (100.0, 250.0, 400.0, 630.0, 1000.0)
#: power rating of a potentiometer, W -> limiting voltage of its track, V (from memory)
TRACKS = {0.1: 150.0, 0.25: 250.0, 0.5: 500.0, 1.0: 500.0, 2.0: 500.0}
#: a used part of the track shorter than this is cooled by the rest of it (common practice, no source)
TRACK_END = 0.1


def choose(demand: Demand) -> tuple[Part, ...]:
    """Give end stop, potentiometer, capacitors, breakover device and its resistor; errors as in ``designed``."""
    return parts(demand, *designed(demand))


def designed(demand: Demand) -> tuple[Values, float]:
    """Give the values of the network and the power rating of its potentiometer, W.

    Raises ``InputError`` for ``circuit.firing_angle`` where the angles are out of the network's reach,
    for ``supply.voltage`` where no potentiometer or capacitor bears it. The largest capacitor is taken
    whose potentiometer bears the current.
    """
    if math.isnan(demand.latching_time):
        raise InputError(
            "circuit.firing_angle", f"up to {math.degrees(demand.latest_angle):.4g}°",
            "angles at which the switch latches", "Fire earlier, or take a switch that latches at less.",
        )
    for values in candidates(demand):
        power = _track_power(demand, values)
        if power is not None:
            return values, power
    raise InputError(
        "circuit.firing_angle", f"from {math.degrees(demand.earliest_angle):.4g}°",
        f"a range that an end stop of {LEAST_END_STOP:g} Ω or more and a track of up to "
        f"{max(TRACKS):g} W bear",
        "Let the range begin later, take the two-wire network, or gate pulses from a timer.",
    )


def parts(demand: Demand, values: Values, track_power: float) -> tuple[Part, ...]:
    """Give the parts of a network that was ``designed``, with their ratings."""
    found = behaviour(demand, values)
    made = [
        _end_stop(demand, values), _potentiometer(demand, values, found, track_power),
        _capacitor(demand, values, last=True),
    ]
    if values.second_resistance is not None:
        made += [_second_resistor(demand, values), _capacitor(demand, values, last=False)]
    return (*made, _device(demand, found), _gate_resistor(demand))


def _crest(demand: Demand) -> float:
    return math.sqrt(2) * demand.supply_rms_high


def _end_stop(demand: Demand, values: Values) -> Part:
    power = float(np.max(values.sweep.network_current)) ** 2 * values.end_stop
    at = "high mains, worst setting"
    chosen = body(power, voltage=_crest(demand), most=1, margins=demand.margins, key="supply.voltage")
    steady = {
        "V": demand.supply_rms_nominal, "f": demand.frequency, "R_t": values.end_stop + values.setting,
        "C_t": values.capacitance, "V_BO": demand.device.typical,
    }
    worked = (Step(
        formula=formulas.BREAKOVER_ANGLE, inputs=steady,
        note="Never discharged, on the mains itself: for comparison. The periodic solution gives "
             f"{math.degrees(demand.target_angle):.4g}° at this resistance.",
    ),) if _steady_exists(steady) and demand.order == "single" else ()
    return Part(
        role="timing-resistor", designator="R_e",
        description=f"End stop of the firing network, {chosen.text}",
        value=Quantity(values.end_stop, "ohm"), marking=iec60062(values.end_stop, "ohm"),
        tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        ratings=body_ratings(chosen, power=power, voltage=_crest(demand), at=at, margins=demand.margins),
        worked=worked,
        if_wrong="Too small: the track burns at its end. Too large: full speed is not reached at low mains.",
        notes=("Rounded down, so that the earliest angle is reached at low mains with a device of high breakover.",),
        sources=(chosen.source, "periodic solution of the network (derived)"),
    )


def _steady_exists(steady: dict[str, float]) -> bool:
    lag = 2 * math.pi * steady["f"] * steady["R_t"] * steady["C_t"]
    return steady["V_BO"] * math.sqrt(1 + lag**2) < math.sqrt(2) * steady["V"]


def _track_stress(values: Values) -> tuple[float, float, float]:
    """Greatest loss in the track, W; r.m.s. current with more than its end in use, A; crest voltage, V."""
    current = values.sweep.network_current
    inside = values.track >= TRACK_END * values.potentiometer
    crest = math.sqrt(2) * float(np.max(current * values.track))
    return float(np.max(current**2 * values.track)), float(np.max(current[inside])), crest


def _track_power(demand: Demand, values: Values) -> float | None:
    """The smallest power rating of a potentiometer that bears the network, W."""
    power, most, crest = _track_stress(values)
    used, _ = share("resistor_power", demand.margins)
    volts, _ = share("resistor_voltage", demand.margins)
    fitting = (p for p, limit in TRACKS.items() if power <= used * p and crest <= volts * limit
               and most <= float(formulas.TRACK_CURRENT(P_pot=p, R_pot=values.potentiometer)))
    return next(fitting, None)


def _potentiometer(demand: Demand, values: Values, found: Behaviour, rated: float) -> Part:
    power, most, crest = _track_stress(values)
    used, source = share("resistor_power", demand.margins)
    volts, volts_source = share("resistor_voltage", demand.margins)
    track = {"P_pot": rated, "R_pot": values.potentiometer}
    at = "high mains, worst setting"
    return Part(
        role="potentiometer", designator="R_p",
        description=f"Potentiometer, linear, {rated:g} W, insulated shaft",
        value=Quantity(values.potentiometer, "ohm"), marking=iec60062(values.potentiometer, "ohm"),
        tolerance=f"±{100 * TRACK_TOLERANCE:g} %",
        ratings=(
            Rating(name="power", limit=Quantity(rated, "W"), stress=Quantity(power, "W"), share=used,
                   source=source, at=at, remedy="A potentiometer of the next power."),
            Rating(name="wiper current", limit=Quantity(float(formulas.TRACK_CURRENT(**track)), "A"),
                   stress=Quantity(most, "A"), source="derived: the used part of the track bears its share",
                   at=at, remedy="A larger end stop, or a potentiometer of the next power."),
            Rating(name="track voltage", limit=Quantity(TRACKS[rated], "V"), stress=Quantity(crest, "V"),
                   share=volts, source=volts_source, at="high mains, turned to off",
                   remedy="A potentiometer of a higher voltage."),
        ),
        worked=(Step(formula=formulas.TRACK_CURRENT, inputs=track),),
        if_wrong="Too small: the motor cannot be turned down. Wired so that an open wiper or track leaves "
                 "resistance out, it runs at full speed when the contact fails.",
        notes=(*_setting_notes(demand, values, found), *_reach_notes(found.reach)),
        sources=("periodic solution of the network (derived)",),
    )


def _setting_notes(demand: Demand, values: Values, found: Behaviour) -> tuple[str, ...]:
    fraction = values.setting / values.potentiometer
    nominal, slow, fast = (math.degrees(a) for a in found.corners.positive)
    spread = f"{slow:.4g}°" if math.isfinite(slow) else "not at all"
    return (
        f"Set to {100 * fraction:.3g} % of the track, {values.setting / 1e3:.4g} kΩ, for {nominal:.4g}° at "
        f"{demand.supply_rms_nominal:.4g} V. The same setting fires at {fast:.4g}° with high mains, low "
        f"breakover and small capacitors, at {spread} with all of them the other way.",
        "An open wiper or track must stop the motor: the wiper goes in series, tied to nothing else, so that "
        "an open contact takes the charging current away. Never tie a fixed resistor across the track.",
        "The shaft and every part of the network are at mains potential: insulated shaft and knob.",
    )


def _reach_notes(found: Reach) -> tuple[str, ...]:
    if math.isnan(found.held_angle):
        return ()
    apart = found.held_resistance / found.snap_on_resistance - 1
    snap = (
        f"at {math.degrees(found.snap_on_angle):.4g}°" if math.isfinite(found.snap_on_angle)
        else "in one half cycle only at first"
    )
    return (
        f"Turned down, the network holds to {math.degrees(found.held_angle):.4g}° and then goes out; turned "
        f"up from off it starts {snap}, at a resistance {100 * apart:.3g} % lower (hysteresis: the charge "
        "that the first firing takes away brings the next one forward).",
    )


def _capacitor(demand: Demand, values: Values, *, last: bool) -> Part:
    used, source = share("film_voltage", demand.margins)
    crest = _crest(demand)
    fitting = [v for v in FILM_VOLTAGES if crest <= used * v]
    if not fitting:
        raise InputError("supply.voltage", f"{crest:.4g} V crest", f"up to {used * FILM_VOLTAGES[-1]:g} V",
                         "No film capacitor of the listed voltages bears it.")
    charge = {"C_t": values.capacitance * (1 - CAPACITOR_TOLERANCE), "V_fold": demand.device.fold_back}
    pulse = {"Q_g": float(formulas.GATE_CHARGE(**charge)), "t_gp": demand.latching_time}
    mean = float(formulas.GATE_PULSE_CURRENT(**pulse))
    gate = Rating(
        name="gate current until latched", limit=Quantity(mean, "A"),
        stress=Quantity(demand.gate_current, "A"), source="derived: charge over the time to latch",
        at="cold switch, smallest capacitor, latest angle of the range",
        remedy=more_gate(mean, demand.latching_time),
    )
    voltage = Rating(
        name="voltage", limit=Quantity(fitting[0], "V"), stress=Quantity(crest, "V"), share=used,
        source=source, at="breakover device open, end of the track", remedy="The next voltage.",
    )
    return Part(
        role="timing-capacitor", designator="C_t" if last else "C_1",
        description=f"Firing capacitor, film, {fitting[0]:g} V d.c.",
        value=Quantity(values.capacitance, "F"), marking=iec60062(values.capacitance, "F"),
        tolerance=f"±{100 * CAPACITOR_TOLERANCE:g} %",
        ratings=(voltage, gate) if last else (voltage,),
        worked=(
            Step(formula=formulas.GATE_CHARGE, inputs=charge),
            Step(formula=formulas.GATE_PULSE_CURRENT, inputs=pulse),
        ) if last else (),
        if_wrong="Shorted: the motor stops. Too small: the pulse ends before the switch has latched, and one "
                 "half cycle is lost: direct current.",
        sources=("periodic solution of the network (derived)",),
    )


def _second_resistor(demand: Demand, values: Values) -> Part:
    resistance = float(values.second_resistance or 0.0)
    power = float(np.max(values.sweep.network_current)) ** 2 * resistance
    chosen = body(power, voltage=_crest(demand), most=1, margins=demand.margins, key="supply.voltage")
    return Part(
        role="timing-resistor", designator="R_2",
        description=f"Second resistor of the firing network, {chosen.text}",
        value=Quantity(resistance, "ohm"), marking=iec60062(resistance, "ohm"),
        tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        ratings=body_ratings(chosen, power=power, voltage=_crest(demand), at="high mains, breakover device open",
                             margins=demand.margins),
        if_wrong="Too small: the hysteresis of a single R-C comes back. Too large: the pulse comes late.",
        notes=("Nearest preferred value: neither side is safer. Power: upper bound, the whole network current.",),
        sources=(chosen.source, "product with the capacitor: common practice, no source"),
    )


def _device(demand: Demand, found: Behaviour) -> Part:
    device, unequal = demand.device, found.unequal
    positive, negative = float(unequal.positive[0]), float(unequal.negative[0])
    worked: tuple[Step, ...] = ()
    if math.isfinite(positive) and math.isfinite(negative):
        ends = np.interp([positive, negative], demand.firing_angles, demand.extinctions)
        angles = {
            "V": demand.supply_rms_nominal, "alpha_p": positive, "alpha_n": negative,
            "beta_p": float(ends[0]), "beta_n": float(ends[1]),
        }
        direct = {"V_0": float(formulas.DIRECT_VOLTAGE(**angles)), "R_0": demand.direct_resistance}
        worked = (Step(formula=formulas.DIRECT_VOLTAGE, inputs=angles),
                  Step(formula=formulas.DIRECT_CURRENT, inputs=direct))
    return Part(
        role="breakover-device", designator="D_b", description="Breakover device (diac), bidirectional",
        value=Quantity(device.typical, "V"), marking=f"{device.lowest:g}/{device.typical:g}/{device.highest:g} V",
        ratings=(Rating(
            name="pulse current", limit=Quantity(device.pulse_current, "A"),
            stress=Quantity(device.highest / _gate_ohms(demand) / (1 - RESISTOR_TOLERANCE), "A"),
            source="its own rating, for 20 µs", at="highest breakover", remedy="A larger gate resistor.",
        ),),
        worked=worked,
        if_wrong="Two sides unlike each other fire the half cycles apart: direct current in motor and mains, "
                 "which transformers and some residual-current devices do not bear.",
        notes=(f"With its sides {device.symmetry:g} V apart the half cycles fire at {math.degrees(positive):.4g}° "
               f"and {math.degrees(negative):.4g}°.",),
        sources=(device.source,),
    )


def _gate_ohms(demand: Demand) -> float:
    return at_least(demand.device.highest / demand.device.pulse_current / (1 - RESISTOR_TOLERANCE))


def _gate_resistor(demand: Demand) -> Part:
    resistance = _gate_ohms(demand)
    power = 2 * demand.frequency * demand.device.fold_back * demand.device.highest * 100e-9
    chosen = body(power, voltage=demand.device.highest, most=1, margins=demand.margins, key="parts.breakover")
    return Part(
        role="gate-resistor", designator="R_g", description=f"Gate resistor, {chosen.text}",
        value=Quantity(resistance, "ohm"), marking=iec60062(resistance, "ohm"),
        tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        ratings=body_ratings(chosen, power=power, voltage=demand.device.highest,
                             at="highest breakover, 100 nF", margins=demand.margins),
        if_wrong="Too small: the pulse harms the breakover device. Too large: too little gate current.",
        notes=("Rounded up: it limits the pulse.",), sources=(chosen.source,),
    )
