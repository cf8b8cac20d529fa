"""The field side: supply of a separate field, its series resistor, diode, discharge, and the field-current relay."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from designer.equations import field as eq
from designer.equations.varistor import COIL_ENERGY
from designer.errors import InputError
from designer.motor.field_feed import FieldFeed
from designer.parts import conductors, field_discharge, field_relay, field_supply, winding
from designer.parts.margins import share
from designer.project.model import Project
from designer.results import Assumption, FaultCase, Quantity, Reason, Step, Warning_
from designer.studies.conditions import field_alone
from designer.studies.rows import FIELD_LOST, FIELD_LOST_LOADED, FRICTION_BOUNDS
from designer.studies.sides import Names, Power, Row, Scene, Side, SideParts
from designer.studies.sides.mains import thin
from designer.studies.stall import thermal_class
from designer.studies.survey import LEAST_REMANENCE, REMANENCE_SPREAD, Survey, speed_limit

#: of a d.c. field supply's voltage, both ways (common practice, no source)
SPREAD = 0.05
#: of the turned slope: below this share of the driving voltage neither side is told
_FLAT = 0.05
_BISECTIONS = 60


def _parts(scene: Scene) -> SideParts:
    """The feed of the field and what guards it; raises ``InputError`` where the supply cannot give the current."""
    found = _survey(scene)
    demand = _demand(scene, found)
    feed = field_supply.choose(demand, margins=scene.margins)
    dying = field_discharge.Demand(
        current=feed.greatest, resistance=demand.cold, inductance=found.fixed.motor.field_inductance, high=demand.high)
    relay, setting = field_relay.choose(field_relay.Demand(
        least=feed.least, greatest=feed.greatest, unsafe=unsafe_current(scene, found),
        allowed_time=_allowed_time(scene, found)), margins=scene.margins)
    wire = conductors.leads(
        feed.greatest, role="field-wire", what="field", ambient=scene.box, margins=scene.margins,
        at="winding cold, high supply")
    return SideParts(
        parts=(*feed.parts, field_discharge.diode(dying, margins=scene.margins), relay, wire),
        field_feed=FieldFeed(
            voltage=demand.nominal, drop=demand.drop, series=feed.series + demand.source_resistance),
        worked=(*feed.worked, _slope(scene, found)), tables=(field_discharge.table(dying),),
        warnings=_warnings(scene, found),
        texts={"field_drift": feed.notes[0], "field_effect": effect(scene, found)[0],
               "field_order": "Field first: the relay must have picked up before the armature gets voltage. Armature "
                              "off first: the field stays on until the shaft stands."},
        assumptions=(Assumption(text=f"The field supply's voltage holds within ±{100 * SPREAD:.0f} %.",
                                mark="common practice, no source"),),
        figures={"field_current_hot": Quantity(feed.nominal_hot, "A"),
                 "field_current_cold": Quantity(feed.nominal_cold, "A"),
                 "field_relay_pick_up": Quantity(setting.pick_up, "A"),
                 "field_relay_drop_out": Quantity(setting.drop_out, "A"),
                 "field_energy": Quantity(float(COIL_ENERGY(L_coil=dying.inductance, i_coil=dying.current)), "J")})


def _survey(scene: Scene) -> Survey:
    if scene.found is None:
        raise ValueError("a field side needs a motor's survey")
    return scene.found


def _demand(scene: Scene, found: Survey) -> field_supply.Demand:
    """What the field wants of its supply. Raises ``InputError`` where the file does not tell the supply."""
    supply = scene.project.field_supply
    if supply is None or supply.voltage is None:
        (cold, hot), flows = _windings(found), float(found.held.points.field_current[1])
        raise InputError(
            "field_supply.voltage", None, f"{flows * cold:.3g} V (field cold) to {flows * hot:.3g} V (hot) direct",
            f"That is what {flows:.3g} A take.")
    if supply.kind != "dc":
        raise InputError("field_supply.kind", supply.kind, '"dc" so far', "Feed the field from a direct voltage.")
    (cold, hot), own = _windings(found), supply.resistance or 0.0
    wanted = scene.project.circuit.field_current     # the file's own: what flows changes from round to round
    return field_supply.Demand(
        wanted=supply.voltage / (hot + own) if wanted is None else wanted, cold=cold, hot=hot,
        low=(1 - SPREAD) * supply.voltage, nominal=supply.voltage, high=(1 + SPREAD) * supply.voltage,
        source_resistance=own, ambient=scene.box)


def _flowing(found: Survey) -> float:
    """The field current at the target, nominal supply, A."""
    return float(found.held.points.field_current[1])


def _windings(found: Survey) -> tuple[float, float]:
    """Ohm of the field winding, coldest and hottest."""
    cold = float(found.fixed.motor.resistances(found.thermal.cold, found.thermal.cold)[1])
    hot = [state.points.field_resistance for state in (found.held, *found.targets)]
    every = np.concatenate(hot)
    return cold, max(cold, float(np.max(every, where=np.isfinite(every), initial=cold)))


def armature_voltage(scene: Scene, found: Survey) -> float:
    """The greatest mean armature voltage of any target at high supply, V: duty × the highest bus."""
    settings = np.array([state.points.setting[2] for state in (found.held, *found.targets)])
    crest = scene.worst("bus_voltage_crest", "any").value
    return float(np.max(settings, where=np.isfinite(settings), initial=0.0)) * crest


def unsafe_current(scene: Scene, found: Survey) -> float:
    """The field current, A, at and below which the unloaded motor passes its speed limit at a setting; 0 where none.

    By the speed voltage alone, which tells too high a speed: friction and resistance make it slower; a load that is
    fixed counts at that speed. Where an
    overspeed trip is stated a field that is only weak is the trip's to catch, and the relay has the loss alone.
    """
    limit, curve, motor = speed_limit(scene.project), found.fixed.motor.curve, found.fixed.motor
    if limit is None or scene.project.protection.overspeed_trip is not None:
        return 0.0
    volts = max(armature_voltage(scene, found) - motor.brush_drop, 0.0)
    wanted = _least_flux(scene, found, volts=volts, limit=limit)
    low, high = 0.0, _flowing(found)
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


def _allowed_time(scene: Scene, found: Survey) -> float:
    """From loss of field to armature off, s: the file's own, and the time to the limit over the margins' factor."""
    given = scene.project.protection.field_loss_trip_time
    limit = speed_limit(scene.project)
    factor = share("trip_factor", scene.margins)[0]
    names = FIELD_LOST_LOADED if scene.project.load.coupling == "fixed" else FIELD_LOST
    times = [case.run.time / factor for case in found.unloaded
             if case.name in names and case.run is not None and limit is not None and case.speed > limit]
    return float(min([math.inf if given is None else given, *times]))


def _slope(scene: Scene, found: Survey) -> Step:
    """What more field does to the speed at the target."""
    at, motor = found.held.points, found.fixed.motor
    current = float(found.held.absolute[1])
    flux = float(motor.curve.at(float(at.field_current[1]), motor.remanence))
    resistance = float(at.armature_resistance[1])
    volts = flux * float(np.nan_to_num(at.speed[1])) + resistance * current + motor.brush_drop
    return Step(formula=eq.SPEED_SLOPE, inputs={
        "R_a": resistance, "I_a": current, "V_a": volts, "V_b": motor.brush_drop, "k_f": flux},
        note="what more field does at the target, armature voltage and torque held")


def effect(scene: Scene, found: Survey) -> tuple[str, bool]:
    """On which side of the turning point the target lies, and whether more field is NOT slower there."""
    step = _slope(scene, found)
    drive = step.inputs["V_a"] - step.inputs["V_b"]
    share_lost = 2 * step.inputs["R_a"] * step.inputs["I_a"] / drive if drive > 0 else math.inf
    if abs(share_lost - 1) < _FLAT:
        return "At the target the speed hardly depends on the field current: it lies at the turning point.", True
    if share_lost > 1:
        return ("At the target MORE field makes the motor faster: the armature's resistive drop is more than half of "
                "its voltage. A warming field then slows it.", True)
    return ("At the target more field makes the motor slower, a warming field faster: the armature's resistive drop "
            f"is {50 * share_lost:.0f} % of its voltage, below the half at which that turns.", False)


def _warnings(scene: Scene, found: Survey) -> tuple[Warning_, ...]:
    """The side of the turning point where it is the unexpected one."""
    text, turned = effect(scene, found)
    return (Warning_(code="field-turning-point", message=text),) if turned else ()


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """From the field supply through relay and resistor to the field and back; the diode at the motor."""
    thick = f"{names.of('field-wire')} {names.marked('field-wire', 'for the field current')}".strip()
    wire = f"{thick}, insulation as for the bus: the leads count as live"
    at = "field supply +"
    for role, note in (("field-relay", "its current coil or shunt; its contact goes to the armature's release"),
                       ("field-resistor", "it gets hot: screwed terminals, free air")):
        if names.of(role):
            yield at, f"{names.of(role)}, one end", wire, note
            at = f"{names.of(role)}, other end"
    yield at, "field, first end", wire, "no switch, fuse or plug on this side of the diode"
    diode = names.of("field-diode")
    if diode:
        yield "field, first end", f"{diode}, cathode", wire, "at the motor's terminals"
        yield f"{diode}, anode", "field, second end", wire, ""
    yield "field, second end", "field supply −", wire, "swap the two field ends to reverse, at standstill only"
    if names.of("field-relay"):
        yield (f"{names.of('field-relay')}, contact", "release of the armature (gate enable, and the coil of the main "
               "switch)", thin(project), "open: no armature voltage")


def _held(scene: Scene, found: Survey, current: float) -> bool:
    """True where load and least friction at rest hold the motor on its greatest remanence at ``current`` (A)."""
    motor, load = found.fixed.motor, found.fixed.load
    left = motor.curve.remanence or LEAST_REMANENCE * float(motor.curve.at(_flowing(found)))
    held = FRICTION_BOUNDS[0] * motor.friction_torque + float(load.at_motor(0.0))
    return held >= REMANENCE_SPREAD[-1] * left * current


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """The field winding, its leads and its diode."""
    found = _survey(scene)
    cold, _ = _windings(found)
    own = power.sides.get("field") if power else None
    motor, wanted = found.fixed.motor, _flowing(found)
    energy = float(COIL_ENERGY(L_coil=motor.field_inductance, i_coil=wanted))
    limit = found.fixed.chopping.current_limit if found.fixed.chopping else math.inf
    stalled = max(armature_voltage(scene, found) - motor.brush_drop, 0.0) / float(
        motor.resistances(found.thermal.cold, found.thermal.cold)[0])
    current = min(stalled, limit)
    yield FaultCase(
        name="Field lost, load on: it stops and draws its stall current" if _held(scene, found, current) else
        "Field lost, load on: the load does not hold it, and it runs up on its remanence",
        figures={"armature current": Quantity(current, "A"),
                 **({} if own is None else {"relay drops out at": own.figures["field_relay_drop_out"]})},
        ends_by="the field-current relay" if own else "nothing in this design")
    yield FaultCase(
        name="A field lead pulled off: an arc, a bite, and no field",
        figures={"energy": Quantity(energy, "J"), "field current": Quantity(wanted, "A")},
        ends_by="the field-current relay takes the armature off" if own else "nothing in this design")
    yield FaultCase(
        name="Field diode shorted: the field supply is short, the field dies by itself",
        figures={"time to a tenth": Quantity(field_discharge.decay(field_discharge.Demand(
            current=wanted, resistance=cold, inductance=motor.field_inductance, high=0.0), clamp=0.0).value, "s")},
        ends_by="the field supply's fuse or limit, and the field-current relay")
    yield FaultCase(
        name="Field lead touches the armature (carbon dust): the field supply and all on it stand at the bus",
        figures={"bus": Quantity(scene.worst("bus_voltage_crest", "any").value, "V")},
        ends_by="nothing in this design: reinforced insulation of the field supply keeps people from it")
    if own is not None:
        yield FaultCase(
            name="Field-current relay welded: the next field loss is not caught",
            figures={}, ends_by="the try-out before each day's work: field off must open the armature's release")


def _reasons(scene: Scene) -> Iterator[Reason]:
    """A field that burns at rest: on a supply of its own, no fan blowing; the armature's cut-off does not help."""
    found = _survey(scene)
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


SIDE = Side(parts=_parts, wires=_wires, reasons=_reasons, faults=_faults)
