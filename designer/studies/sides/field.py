"""The field side: supply of a separate field, its series resistor, diode, discharge, and the field-current relay."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from designer.equations import field as eq
from designer.equations.varistor import COIL_ENERGY
from designer.parts import conductors, field_discharge, field_relay, winding
from designer.parts.margins import share
from designer.results import FaultCase, Quantity, Reason
from designer.studies import field_choice, field_times
from designer.studies.conditions import field_alone
from designer.studies.field_effect import slope, warnings
from designer.studies.field_feeding import Asked, fed
from designer.studies.field_unsafe import solved_unsafe
from designer.studies.field_wires import wires
from designer.studies.groups import voltages
from designer.studies.rows import FIELD_LOST, FIELD_LOST_LOADED, FRICTION_BOUNDS
from designer.studies.sides import Power, Scene, Side, SideParts
from designer.studies.stall import thermal_class
from designer.studies.survey import LEAST_REMANENCE, REMANENCE_SPREAD, Survey, speed_limit

_BISECTIONS = 60


def _parts(scene: Scene) -> SideParts:
    """The feed of the field and what guards it; raises ``InputError`` where the supply cannot give the current."""
    found = survey_of(scene)
    cold, hot = windings(found)
    made = fed(scene, Asked(cold=cold, hot=hot, inductance=inductance(found), flowing=flowing(found),
                            wanted=scene.project.circuit.field_current))
    feed = made.feed
    dying = field_discharge.Demand(
        current=feed.greatest, resistance=cold, inductance=found.fixed.motor.field_inductance, high=made.blocks)
    relay, setting = field_relay.choose(field_relay.Demand(
        least=made.valley, greatest=feed.greatest, unsafe=unsafe_current(scene, found),
        allowed_time=allowed_time(scene, found)), margins=scene.margins)
    wire = conductors.leads(
        feed.greatest, role="field-wire", what="field", ambient=scene.box, margins=scene.margins,
        at="winding cold, high supply")
    diode = made.diode or field_discharge.diode(dying, margins=scene.margins)
    times = field_times.times(made, dying, pick_up=setting.pick_up)
    return SideParts(
        parts=(*made.parts, diode, relay, wire), on_sink=made.on_sink, field_feed=made.field_feed,
        line_current=made.line_current, pulses=made.pulses,
        worked=(*made.worked, *times.worked, slope(found)), tables=(field_discharge.table(dying), field_choice.table(
            field_choice.choose(found.fixed, scene.project), found.fixed, scene.project, taken=flowing(found))),
        warnings=warnings(found), assumptions=made.assumptions,
        texts={"field_drift": feed.notes[0],
               "field_order": field_times.order(times, scene), **made.texts},
        figures={"field_current_hot": Quantity(feed.nominal_hot, "A"),
                 "field_current_cold": Quantity(feed.nominal_cold, "A"),
                 "field_relay_pick_up": Quantity(setting.pick_up, "A"),
                 "field_relay_drop_out": Quantity(setting.drop_out, "A"),
                 "field_energy": Quantity(float(COIL_ENERGY(L_coil=dying.inductance, i_coil=dying.current)), "J"),
                 **times.figures, **made.figures})


def survey_of(scene: Scene) -> Survey:
    """The survey behind a scene; ``ValueError`` for a supply without motor."""
    if scene.found is None:
        raise ValueError("a field side needs a motor's survey")
    return scene.found


def inductance(found: Survey) -> float:
    """The field's inductance at its current, H: saturated where the curve says so, which ripples most."""
    motor = found.fixed.motor
    if not motor.saturating:
        return motor.field_inductance
    winding = motor.series_winding()
    main = float(winding.inductance(flowing(found))) - winding.constant
    return motor.field_leakage + max(main, 0.0)


def flowing(found: Survey) -> float:
    """The field current at the target, nominal supply, A."""
    return float(found.held.points.field_current[1])


def windings(found: Survey) -> tuple[float, float]:
    """Ohm of the field winding, coldest and hottest."""
    cold = float(found.fixed.motor.resistances(found.thermal.cold, found.thermal.cold)[1])
    hot = [state.points.field_resistance for state in (found.held, *found.targets)]
    every = np.concatenate(hot)
    return cold, max(cold, float(np.max(every, where=np.isfinite(every), initial=cold)))


def armature_voltage(scene: Scene, found: Survey) -> float:
    """The armature voltage that an unloaded motor can come to at any target's setting, high supply, V.

    On a chopper duty × the highest bus. On phase angle an unloaded motor draws next to nothing, its current is
    discontinuous, and it runs up until its speed voltage stands at the crest, after 90° at the sine of the angle.
    """
    settings = np.array([state.points.setting[2] for state in (found.held, *found.targets)])
    if scene.kind.line != "bus":
        earliest = float(np.min(settings, where=np.isfinite(settings), initial=math.pi))
        return math.sqrt(2) * voltages(scene.project)[2] * math.sin(max(earliest, math.pi / 2))
    crest = scene.worst("bus_voltage_crest", "any").value
    return float(np.max(settings, where=np.isfinite(settings), initial=0.0)) * crest


def unsafe_current(scene: Scene, found: Survey) -> float:
    """The field current, A, at and below which the unloaded motor passes its speed limit at a setting; 0 where none.

    On a bus by the speed voltage alone, which tells too high a speed: friction and resistance make it slower; a load
    that is fixed counts at that speed. On phase angle, whose voltage hangs on the current, it is solved. Where an
    overspeed trip is stated a field that is only weak is the trip's to catch, and the relay has the loss alone.
    """
    limit, curve, motor = speed_limit(scene.project), found.fixed.motor.curve, found.fixed.motor
    if limit is None or scene.project.protection.overspeed_trip is not None:
        return 0.0
    if scene.kind.line != "bus":
        return solved_unsafe(found, limit=limit, load=1.0 if scene.project.load.coupling == "fixed" else 0.0)
    volts = max(armature_voltage(scene, found) - motor.brush_drop, 0.0)
    wanted = _least_flux(scene, found, volts=volts, limit=limit)
    low, high = 0.0, flowing(found)
    if float(curve.at(low, motor.remanence)) >= wanted:
        return 0.0
    if float(curve.at(high, motor.remanence)) < wanted:
        return high
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if float(curve.at(middle, motor.remanence)) < wanted else (low, middle)
    return high


def _least_flux(scene: Scene, found: Survey, *, volts: float, limit: float) -> float:
    """The greatest flux, V·s, at which ``volts`` reach the speed limit; 0 where a fixed load keeps it from that.

    Each round takes off what its torque drops in the cold armature: it falls to the greater of two solutions.
    """
    wanted = float(eq.LEAST_FLUX(V_a=volts, V_b=0.0, omega_lim=limit))
    if scene.project.load.coupling != "fixed":
        return wanted
    torque = min(float(load.at_motor(limit)) for load in found.loads)
    cold = float(found.fixed.motor.resistances(found.thermal.cold, found.thermal.cold)[0])
    for _ in range(_BISECTIONS):
        drop = cold * torque / wanted
        if drop >= volts:
            return 0.0
        wanted = float(eq.LEAST_FLUX(V_a=volts, V_b=drop, omega_lim=limit))
    return wanted


def allowed_time(scene: Scene, found: Survey) -> float:
    """From loss of field to armature off, s: the file's own, and the time to the limit over the margins' factor."""
    given = scene.project.protection.field_loss_trip_time
    limit = speed_limit(scene.project)
    factor = share("trip_factor", scene.margins)[0]
    names = FIELD_LOST_LOADED if scene.project.load.coupling == "fixed" else FIELD_LOST
    times = [case.run.time / factor for case in found.unloaded
             if case.name in names and case.run is not None and limit is not None and case.speed > limit]
    return float(min([math.inf if given is None else given, *times]))


def _stalled(scene: Scene, found: Survey) -> float:
    """The armature current at rest without field, A: what limits it is resistance and, on a chopper, its limit."""
    if scene.kind.line != "bus":
        return math.sqrt(float(found.stall.solved.armature_square[0]))
    limit = found.fixed.chopping.current_limit if found.fixed.chopping else math.inf
    motor = found.fixed.motor
    return min(limit, max(armature_voltage(scene, found) - motor.brush_drop, 0.0) / float(
        motor.resistances(found.thermal.cold, found.thermal.cold)[0]))


def _held(scene: Scene, found: Survey, current: float) -> bool:
    """True where load and least friction at rest hold the motor on its greatest remanence at ``current`` (A)."""
    motor, load = found.fixed.motor, found.fixed.load
    left = motor.curve.remanence or LEAST_REMANENCE * float(motor.curve.at(flowing(found)))
    held = FRICTION_BOUNDS[0] * motor.friction_torque + float(load.at_motor(0.0))
    return held >= REMANENCE_SPREAD[-1] * left * current


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """The field winding, its leads and its diode."""
    found = survey_of(scene)
    cold, _ = windings(found)
    own = power.sides.get("field") if power else None
    motor, wanted = found.fixed.motor, flowing(found)
    current = _stalled(scene, found)
    yield FaultCase(
        fault="field-lost",
        name="Field lost, load on: it stops and draws its stall current" if _held(scene, found, current) else
        "Field lost, load on: the load does not hold it, and it runs up on its remanence",
        figures={"armature current": Quantity(current, "A"),
                 **({} if own is None else {"relay drops out at": own.figures["field_relay_drop_out"]})},
        ends_by="the field-current relay" if own else "nothing in this design")
    yield FaultCase(
        fault="field-shorted",
        name="Field diode shorted: the field supply is short, the field dies by itself",
        figures={"time to a tenth": Quantity(field_discharge.decay(field_discharge.Demand(
            current=wanted, resistance=cold, inductance=motor.field_inductance, high=0.0), clamp=0.0).value, "s")},
        ends_by="the field supply's fuse or limit, and the field-current relay")
    yield FaultCase(
        fault="field-to-armature",
        name="Field lead touches the armature (carbon dust): the field supply and all on it stand at "
             f"{'the bus' if scene.kind.line == 'bus' else 'mains potential'}",
        figures={"crest": Quantity(_crest(scene), "V")},
        ends_by="nothing in this design: reinforced insulation of the field supply keeps people from it")
    if own is not None:
        yield FaultCase(
            fault="second-path-welded",
            name="Field-current relay welded: the next field loss is not caught",
            figures=_unguarded(found, current),
            ends_by="the try-out before each day's work: field off must open the armature's release")


def _unguarded(found: Survey, current: float) -> dict[str, Quantity]:
    """What a field loss does that no relay catches: the fastest of the motor, or its stall current."""
    lost = [case for case in found.unloaded if case.name in (*FIELD_LOST, *FIELD_LOST_LOADED)]
    told = {"armature current, stopped": Quantity(current, "A")}
    if lost:
        worst = max(lost, key=lambda case: case.speed)
        told["speed, " + worst.name] = Quantity(worst.speed, "rad/s")
        if worst.run is not None:
            told["time to the speed limit"] = Quantity(worst.run.time, "s")
    return told


def _crest(scene: Scene) -> float:
    """The highest voltage that the armature's circuit meets, V."""
    if scene.kind.line == "bus":
        return scene.worst("bus_voltage_crest", "any").value
    return math.sqrt(2.0) * scene.project.supply.highest_voltage


def _reasons(scene: Scene) -> Iterator[Reason]:
    """A field that burns at rest: on a supply of its own, no fan blowing; the armature's cut-off does not help."""
    found = survey_of(scene)
    if found.thermal.surroundings is None or found.fixed.field is None:
        return
    limits = winding.limits(thermal_class(scene.project))
    limit = limits.running * share("winding_temperature", scene.margins)[0]
    rest = found.held.points.at(speed=np.zeros(len(found.held.points)))
    hottest = float(np.max(field_alone(found.fixed, replace(found.thermal.surroundings, duty=1.0), rest)))
    if hottest > limit:
        yield Reason(
            code="field-at-rest", message="The field, left on with the motor at rest, gets too hot for class "
            f"{limits.thermal_class}: its own fan does not blow then, and what takes the armature off leaves the field "
            "on.", figure=Quantity(hottest, "degC"), limit=Quantity(limit, "degC"),
            way_out="Less field current, forced air that blows at rest too, or a field that is lowered at rest.")


SIDE = Side(parts=_parts, wires=wires, reasons=_reasons, faults=_faults)
