"""The current of a separate field: least copper and brush loss at the target, within bus and both windings' heat.

Also the field current for a demanded speed at a fixed armature voltage.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from designer.circuits.case import Fixed
from designer.equations.nature import FLUX_FOR_SPEED, LESSER_FLUX_FOR_SPEED
from designer.equations.separate_motor import COPPER_AND_BRUSH_LOSS
from designer.motor.field_feed import FieldFeed
from designer.motor.model import MotorModel
from designer.motor.warming import HIGHEST, Losses, Surroundings, settle
from designer.parts import winding
from designer.parts.margins import share
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.results import Array, Mask, Quantity, Table
from designer.studies.conditions import thermal_of

LEAST_PART = 0.02      # of the last reading of the curve
STEPS = 161            # field currents looked at
SHOWN = (0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0)    # of the chosen current, in the table
#: of the highest mean that the line could give: the rest is for sag, drops and control (common practice, no source)
RESERVE = 0.90
_MEAN = {"half-wave": math.sqrt(2) / math.pi, "bridge": 2 * math.sqrt(2) / math.pi}


@dataclass(frozen=True, kw_only=True)
class Looked:
    """Field currents (A) with what they bring: arrays over the currents, the worst of all targets but for the loss.

    ``armature``: A at the first target; ``volts``: greatest armature voltage needed; ``loss``: W at the first target,
    windings hot; ``armature_heat``, ``field_heat``: °C.
    """

    currents: Array
    armature: Array
    volts: Array
    loss: Array
    armature_heat: Array
    field_heat: Array


@dataclass(frozen=True, kw_only=True)
class Choice:
    """The field current chosen (A), the one of least loss without limits, and what bound it ("" where nothing did)."""

    current: float
    free: float
    bound: str
    looked: Looked
    available: float
    limit: float


def least_loss_current(fixed: Fixed, project: Project) -> float:
    """Give the field current (A) of least R_a·i_a² + R_f·i_f² + V_b·i_a at the target, within its limits.

    Within the readings of the flux curve. The armature's torque is load and friction. Where no current meets all
    limits, the one of least loss: what then fails is told by the design.
    """
    return choose(fixed, project).current


def fed(fixed: Fixed, project: Project) -> FieldFeed:
    """How the field is fed: as the file says, else with the current of least loss."""
    return fixed.field or FieldFeed(held=round(least_loss_current(fixed, project), 3))


def choose(fixed: Fixed, project: Project) -> Choice:
    """Choose the field current: least loss at the target, every target within bus voltage and winding classes."""
    last, free = fixed.motor.curve.last_current, _least(fixed, project)
    looked = look(fixed, project, np.linspace(LEAST_PART * last, last, STEPS))
    available, limit = bus_limit(project), _class_limit(project)
    held: Mapping[str, Mask] = {
        "the bus voltage at low supply": looked.volts <= available,
        "the armature's class": looked.armature_heat <= limit, "the field's class": looked.field_heat <= limit}
    good = np.logical_and.reduce(list(held.values()))
    at = look(fixed, project, np.array([free]))
    if not good.any() or (at.volts[0] <= available and at.armature_heat[0] <= limit and at.field_heat[0] <= limit):
        bound = "" if good.any() else "limits that no field current keeps together"
        return Choice(current=free, free=free, bound=bound, looked=looked, available=available, limit=limit)
    best = int(np.argmin(np.where(good, looked.loss, np.inf)))
    bound = ", ".join(name for name, kept in held.items() if not kept[np.argmin(np.abs(looked.currents - free))])
    return Choice(current=float(looked.currents[best]), free=free, bound=bound or "a limit close by", looked=looked,
                  available=available, limit=limit)


def _least(fixed: Fixed, project: Project) -> float:
    """The current of least loss without limits, A, windings as read."""
    motor, speed = fixed.motor, float(project.target.speed or 0.0) * fixed.load.ratio
    torque, last = float(fixed.load.at_motor(speed) + motor.friction(speed)), motor.curve.last_current

    def loss(current: float) -> float:
        return float(COPPER_AND_BRUSH_LOSS(
            R_a=motor.armature_resistance, R_f=motor.field_resistance, V_b=motor.brush_drop, I_f=current,
            I_a=torque / float(motor.curve.at(current, motor.remanence))))

    found = minimize_scalar(loss, bounds=(LEAST_PART * last, last), method="bounded", options={"xatol": 1e-6 * last})
    return float(np.clip(found.x, LEAST_PART * last, last))


def look(fixed: Fixed, project: Project, currents: Array) -> Looked:
    """Give what each field current (A) brings at all targets; temperatures settle where the file tells the paths."""
    motor, surroundings = fixed.motor, thermal_of(project).surroundings
    flux = np.asarray(motor.curve.at(currents, motor.remanence), float)
    rows = [_at(motor, surroundings, (speed, torque), flux, currents) for speed, torque in _wanted(fixed, project)]
    first = rows[0]
    return Looked(currents=currents, armature=first[0], loss=first[2],
                  **{name: np.max([row[n] for row in rows], axis=0) for n, name in (
                      (1, "volts"), (3, "armature_heat"), (4, "field_heat"))})


def _wanted(fixed: Fixed, project: Project) -> list[tuple[float, float]]:
    """Motor speed (rad/s) and electromagnetic torque (N·m) of every target."""
    motor, load, speed = fixed.motor, fixed.load, float(project.target.speed or 0.0) * fixed.load.ratio
    found = [(speed, float(load.at_motor(speed)))]
    found += [(more.speed * load.ratio, more.torque / (load.ratio * load.efficiency))
              for more in project.further_target]
    return [(w, torque + float(motor.friction(w))) for w, torque in found]


def _at(
    motor: MotorModel, surroundings: Surroundings | None, wanted: tuple[float, float], flux: Array, currents: Array
) -> tuple[Array, Array, Array, Array, Array]:
    """Armature current, voltage needed, loss, and both temperatures at one target."""
    (speed, torque), count = wanted, len(currents)
    armature = torque / flux
    cold = np.full(count, motor.winding_temperature)
    warm_a = warm_f = cold
    if surroundings is not None:
        warm = settle(motor, surroundings, lambda *_: Losses(
            square=armature**2, absolute=armature, field_square=currents**2, iron=np.zeros(count),
            speed=np.full(count, speed)), count)
        warm_a, warm_f = warm.armature, warm.field
    r_a, r_f = motor.resistances(np.minimum(warm_a, HIGHEST), np.minimum(warm_f, HIGHEST))
    volts = flux * speed + r_a * armature + motor.brush_drop
    loss = COPPER_AND_BRUSH_LOSS(R_a=r_a, R_f=r_f, V_b=motor.brush_drop, I_f=currents, I_a=armature)
    return armature, volts, np.asarray(loss), warm_a, warm_f


def bus_limit(project: Project) -> float:
    """Give the mean armature voltage (V) that the supply surely gives at its lowest, a tenth kept in hand.

    A motor's rated voltage caps a chopper's duty, and so this too.
    """
    supply, line = project.supply, CIRCUIT_KINDS[str(project.circuit.kind)].line
    low, nominal = supply.lowest_voltage, float(supply.voltage or 0.0)
    if line != "bus":
        return RESERVE * low * _MEAN.get(line, _MEAN["bridge"])
    crest = math.sqrt(2) if supply.is_mains else 1.0
    rated = project.motor.rated_voltage or project.nameplate.voltage
    cap = 1.0 if rated is None else min(1.0, rated / (crest * nominal))
    return RESERVE * crest * low * cap


def _class_limit(project: Project) -> float:
    """°C that a winding may reach in running; infinite where the class is not told."""
    given = project.motor.thermal_class
    if given is None:
        return math.inf
    named = {"N": "200", "R": "220"}.get(given, given)
    return winding.limits(named).running * share("winding_temperature", project.margins.values)[0]


def table(choice: Choice, fixed: Fixed, project: Project, *, taken: float) -> Table:
    """Give the field currents side by side, ``taken`` (A) the one that flows."""
    currents = np.unique(np.append(np.clip(np.array(SHOWN) * choice.free, LEAST_PART * choice.free,
                                           fixed.motor.curve.last_current), taken))
    seen = look(fixed, project, currents)
    rows = tuple((Quantity(float(seen.currents[n]), "A"), Quantity(float(seen.armature[n]), "A"),
                  Quantity(float(seen.volts[n]), "V"), Quantity(float(seen.loss[n]), "W"),
                  _heat(seen.armature_heat[n]), _heat(seen.field_heat[n]))
                 for n in range(len(currents)))
    bound = (f"Bound by {choice.bound}." if choice.bound else "No limit stands in its way.")
    return Table(
        name="field-choice", title="What more or less field costs",
        columns=("field current", "armature current", "greatest armature voltage", "loss at the target",
                 "armature, hottest", "field, hottest"), rows=rows, chosen=int(np.argmin(np.abs(currents - taken))),
        note=f"Copper and brush loss is least at {choice.free:.3g} A without limits, at {choice.current:.3g} A within "
             f"{choice.available:.0f} V and {choice.limit:.0f} °C. {bound} Ripple and devices left out.")


def _heat(celsius: float) -> Quantity | str:
    """A temperature, or the word for none."""
    return Quantity(float(celsius), "degC") if math.isfinite(celsius) else "without end"


def current_for_speed(
    motor: MotorModel, *, voltage: float, torque: float, speed: float, celsius: float
) -> tuple[float | None, float | None]:
    """Give the field currents (A) at which ``speed`` (rad/s) is met at a fixed armature voltage (V) and torque (N·m).

    First that on the side where more field is slower, then that where it is faster; None where the voltage does not
    give the power, or the flux lies outside the readings. ``celsius``: of the armature.
    """
    resistance = float(motor.resistances(celsius, celsius)[0])
    told = {"V_a": voltage, "V_b": motor.brush_drop, "R_m": resistance, "T_e": torque, "omega": speed}
    if (voltage - motor.brush_drop) ** 2 < 4 * resistance * torque * speed:
        return None, None
    greater, lesser = (_current_of(motor, float(formula(**told))) for formula in (
        FLUX_FOR_SPEED, LESSER_FLUX_FOR_SPEED))
    return greater, lesser


def _current_of(motor: MotorModel, flux: float) -> float | None:
    """The field current, A, of a flux (V·s); None outside the readings."""
    last = motor.curve.last_current
    low, high = (float(motor.curve.at(i, motor.remanence)) for i in (0.0, last))
    if not low <= flux <= high:
        return None
    return float(brentq(lambda i: float(motor.curve.at(i, motor.remanence)) - flux, 0.0, last))
