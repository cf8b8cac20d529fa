"""Braking by a resistor, told to whoever wants it: no part of the design."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.balance import find_speed
from designer.equations import braking as eq
from designer.equations.motor import REFERRED_INERTIA
from designer.parts.braking import LOW_PART, SERIES, Choice, Contact, Demand, Shaft, choose, contact
from designer.parts.starting_resistor import ON_END, TOLERANCE
from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.quantities import engineering, iec60062
from designer.results import Array, Quantity, Step, Table
from designer.studies.rows import FRICTION_BOUNDS, UNLOADED
from designer.studies.sides import Scene
from designer.studies.sides.armature_contactor import behind_main_switch, gap
from designer.studies.start_run import TIMES_LOAD
from designer.studies.survey import Survey

TITLE = "Braking by a resistor, if you want it"
COLUMNS = ("what", "with the load", "without load, least friction")
SERIES_WHY = (
    "A series motor cut off from its supply has no field but its remanence, and so no voltage to brake with. It must "
    "excite itself: the field's ends are reversed against the armature's, so that the first current adds to the "
    "remanence, and the whole path must lie below a critical resistance that falls with speed. Whether and when it "
    "builds up hangs on a residual flux that nobody has read and that alternating current may have taken away; when "
    "it does, the current rises in a moment, and torque and brushes are hit hard. The right way round with the wrong "
    "remanence, nothing happens. So no figures are given: let it run down behind a guard, or take a mechanical brake.")
_ORDER = (
    "A changeover contact, or two that cannot both be closed: first the gates are blocked, then the armature leaves "
    "its supply, then it goes onto the resistor; never both at once. By order its contact opens at rest, without "
    "current; let go early it breaks all of it as direct current, and open it stands the supply: it is chosen for "
    "that. The armature must not go back to its supply while the shaft turns. The resistor gets hot: on metal, out of "
    "reach. A brake by a resistor does not hold a shaft at rest, and does nothing where field, contact or resistor "
    "fail: it is no safety device.")


@dataclass(frozen=True, kw_only=True)
class Braking:
    """What is told: the table and its worked lines."""

    tables: tuple[Table, ...]
    worked: tuple[Step, ...] = ()


def braking(scene: Scene) -> tuple[Braking, ...]:
    """Give the table and its steps; nothing where no motor turns or no target could be computed."""
    found, project = scene.found, scene.project
    if found is None or not scene.kind.drives_motor:
        return ()
    if scene.kind.winding == "series":
        return (_told("braking resistor", "not simple with a series motor: none is given", SERIES_WHY),)
    if project.motor.inertia is None:
        return (_told("braking resistor", "not known: motor.inertia",
                      "Energy and time hang on the inertia: measure it from a run-down."),)
    speed, volts = _fastest(scene, found)
    load = float(found.held.absolute[1])
    if not (speed > 0 and volts > 0 and np.isfinite(load) and load > 0):
        return ()
    inertia = float(REFERRED_INERTIA(J_m=project.motor.inertia, J_load=found.fixed.load.inertia,
                                     u=found.fixed.load.ratio))
    demand = Demand(
        voltage=volts, allowed=project.control.current_limit or TIMES_LOAD * load, inertia=inertia, speed=speed,
        armature=float(found.fixed.motor.resistances(found.thermal.cold, found.thermal.cold)[0]),
        stops=project.duty.starts_per_hour)
    chosen = choose(demand, margins=scene.margins)
    on = contact(chosen, demand, inductance=found.fixed.motor.armature_inductance, gap=gap(scene),
                 margins=scene.margins)
    tau = Step(formula=eq.BRAKING_TIME_CONSTANT, note="resistor at its upper tolerance, armature hot", inputs={
        "J_b": inertia, "R_a": float(found.held.points.armature_resistance[1]),
        "R_br": (1 + TOLERANCE) * chosen.ohms, "k_b": _flux(found)})
    shafts = [_shaft(found, tau, speed, loaded) for loaded in (True, False)]
    rows = (*_resistor_rows(chosen, project), *_contact_rows(chosen, on), *_time_rows(shafts, tau))
    return (Braking(worked=(*chosen.steps, *on.steps, tau), tables=(Table(
        name="braking", title=TITLE, columns=COLUMNS, rows=tuple(rows), note=_note(scene.kind, project)),)),)


def _told(what: str, says: str, why: str) -> Braking:
    return Braking(tables=(Table(
        name="braking", title=TITLE, columns=("what", "figure"), rows=((what, says),), note=why),))


def _note(kind: CircuitKind, project: Project) -> str:
    told = "The field must stay on until the shaft stands. "
    if behind_main_switch(kind, project):
        told += ("Here it goes off with the main switch: opening that does NOT brake, nor does a supply that fails; "
                 "the motor then runs down as without a resistor. Only a stop by a contact in the armature, the main "
                 "switch still closed, brakes. ")
    else:
        told += "It has a supply of its own: if that is off or fails, the resistor does not brake. "
    if kind.setting == "field_current":
        told += ("The field stays at its setting: raised to full at speed, it drives more than the first current "
                 "shown. ")
    return (told + _ORDER + f" The limit is {TIMES_LOAD:g} times the armature current at the target unless "
            "control.current_limit says it (common practice, no source). Times: from the greatest speed, nominal "
            "field, hot armature, load's inertia on the shaft in both columns, transmission loss as when driving.")


def _flux(found: Survey) -> float:
    """V·s at the target and nominal supply."""
    current = float(np.sqrt(np.nan_to_num(found.held.field_square[1])))
    return float(found.fixed.motor.curve.at(current, found.fixed.motor.remanence))


def _fastest(scene: Scene, found: Survey) -> tuple[float, float]:
    """The greatest speed (rad/s) at which a stop can begin, and the greatest speed voltage (V), each of any state.

    With the load on, and at every target with it off and least friction; load lost at the setting where it can be.
    """
    free = replace(found.range.points.scaled(load=0.0), friction=np.full(len(found.range.points), FRICTION_BOUNDS[0]))
    states = [(group.points.speed, group.solved.field_square) for group in scene.groups["running"]]
    states.append((find_speed(found.circuit, found.fixed, free), found.range.solved.field_square))
    lost = [one.speed for one in found.unloaded if one.name == UNLOADED[0]]
    if scene.project.load.coupling == "can-be-lost":
        states.append((np.array(lost), np.full(len(lost), np.nanmax(found.held.field_square))))
    speed = np.concatenate([np.asarray(one, float) for one, _ in states])
    field = np.sqrt(np.concatenate([np.asarray(square, float) for _, square in states]))
    known = np.isfinite(speed) & np.isfinite(field)
    volts = found.fixed.motor.curve.at(field[known], found.fixed.motor.remanence) * speed[known]
    return float(np.max(speed[known], initial=0.0)), float(np.max(volts, initial=0.0))


def _shaft(found: Survey, tau: Step, speed: float, loaded: bool) -> Shaft:
    motor, load, flux = found.fixed.motor, found.fixed.load, tau.inputs["k_b"]

    def with_load(at: Array) -> Array:
        return np.asarray(motor.friction(at) + load.at_motor(at) + motor.iron_torque(flux, at))

    def without(at: Array) -> Array:
        return np.asarray(FRICTION_BOUNDS[0] * motor.friction(at) + motor.iron_torque(flux, at))

    opposing: Callable[[Array], Array] = with_load if loaded else without
    return Shaft(speed=speed, flux=flux, inertia=tau.inputs["J_b"], brushes=motor.brush_drop,
                 path=tau.inputs["R_a"] + tau.inputs["R_br"], opposing=opposing)


def _both(value: Quantity | str) -> tuple[Quantity | str, Quantity | str]:
    return value, value


def _resistor_rows(chosen: Choice, project: Project) -> Iterator[tuple[Quantity | str, ...]]:
    given = "control.current_limit" if project.control.current_limit else f"{TIMES_LOAD:g} × target current"
    yield (f"limit of the current, {given}", *_both(Quantity(chosen.least.inputs["I_allowed"], "A")))
    yield ("speed voltage when the stop begins, at most", *_both(Quantity(chosen.least.inputs["E_s"], "V")))
    yield ("least resistor, cold armature", *_both(
        Quantity(chosen.least.value, "ohm") if chosen.ohms else "none: the armature's own resistance is enough"))
    yield (f"resistor, {SERIES}, rounded up, ±{100 * TOLERANCE:g} %", *_both(
        iec60062(chosen.ohms, "ohm") if chosen.ohms else "none: armature shorted"))
    yield ("first current, at most", *_both(Quantity(chosen.current.value, "A")))
    yield ("energy of motion, all taken by the resistor", *_both(Quantity(chosen.energy.value, "J")))
    if not chosen.ohms:
        return
    yield ("peak power", *_both(Quantity(chosen.peak.value, "W")))
    body = chosen.body
    yield (f"body: {ON_END:g} stops on end, pulses of {engineering(chosen.pulse, 's', 2)}", *_both(
        "none of the table bears it: less inertia or speed" if body is None else body.text))
    if body is not None:
        yield ("energy that the body bears in that pulse", *_both(Quantity(body.bears(ON_END * chosen.pulse), "J")))
    yield ("mean power", *_both("duty.starts_per_hour not given: two stops on end, then a rest until it is cold"
                                if chosen.mean is None else Quantity(chosen.mean.value, "W")))


def _contact_rows(chosen: Choice, on: Contact) -> Iterator[tuple[Quantity | str, ...]]:
    yield ("contact: current that it makes, and breaks when let go at once", *_both(
        Quantity(chosen.current.value, "A")))
    yield ("contact: time constant of what it breaks", *_both(Quantity(on.decay.value, "s")))
    yield ("contact: current carried, r.m.s.", *_both(
        "duty.starts_per_hour not given: the first current counts" if on.rms is None else Quantity(on.rms.value, "A")))
    yield ("contact, by its d.c. rating", *_both(
        "none of the table bears it: a larger resistor, by a lower control.current_limit" if on.row is None else
        f"{on.row.current:g} A {on.row.direct_voltage:g} V d.c., {on.row.meaning}"))


def _time_rows(shafts: list[Shaft], tau: Step) -> Iterator[tuple[Quantity | str, ...]]:
    yield ("greatest speed when the stop begins", *_both(Quantity(shafts[0].speed, "rad/s")))
    yield ("time constant of braking", *_both(Quantity(tau.value, "s")))
    for name, part in (("10 % of that speed", LOW_PART), ("rest", 0.0)):
        yield (f"braked to {name}", *(_time(one.time_to(part * one.speed)) for one in shafts))
        yield (f"run down to {name}, no resistor", *(_time(one.opened().time_to(part * one.speed)) for one in shafts))


def _time(value: float) -> Quantity | str:
    return Quantity(value, "s") if np.isfinite(value) else "no end: no constant friction"
