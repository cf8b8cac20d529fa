"""Why an armature straight on its supply is refused so far, with the figures that its starter and floor would face."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from designer.equations.field_source import RECTIFIED_MEAN
from designer.equations.separate_motor import SPEED
from designer.equations.starter import CURRENT_AT_REST, FLOOR_HEAT, FLOOR_RESISTOR
from designer.errors import InputError
from designer.motor.model import MotorModel, motor_model
from designer.parts import winding
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.studies.conditions import thermal_of
from designer.studies.groups import crest_of
from designer.studies.survey import speed_limit

ROUNDING = 0.005   # of a figure of three digits: what it may lose when it is written
TRIED = 1000       # field currents from none to the last reading, among which a floor is sought


def refused(project: Project) -> Iterator[InputError]:
    """Tell that starter and floor have no parts yet, and where the floor asked for would not hold the speed.

    Safe side: the armature at the highest bus and cold, the floor at the lowest bus and hot, no friction.
    """
    motor, high = motor_model(project.motor, alternating=False), crest_of(project)
    cold = thermal_of(project).cold
    at_rest = float(CURRENT_AT_REST(
        V_a=high, V_b=motor.brush_drop, R_a=float(motor.resistances(cold, cold)[0]), R_st=0.0))
    floor, hottest = float(project.circuit.field_floor or 0.0), _hot_field(project, motor)
    resistor = float(FLOOR_RESISTOR(V_bus=_lowest(project), I_floor=floor, R_f=hottest))
    yield InputError(
        "circuit.kind", str(project.circuit.kind), "a circuit whose parts are chosen too",
        "Starter, bypass, field floor and the steps to first power of this circuit are not designed yet, and it must "
        "not be built without them; solve gives its points. Without a starter the armature draws "
        f"{engineering(at_rest, 'A', 3)} at rest on the highest bus of {engineering(high, 'V')}."
        f"{_words(floor, resistor, high=high)} Take "
        "dual-chopper, whose current limit starts it, or chopper-armature.")
    if resistor <= 0:
        yield InputError(
            "circuit.field_floor", engineering(floor, "A"),
            f"less than {engineering((1 - ROUNDING) * _lowest(project) / hottest, 'A', 3)}",
            "The lowest bus does not drive it through the hot winding, even without a resistor.")
    yield from _speed(project, motor, floor, high=high)


def _words(floor: float, resistor: float, *, high: float) -> str:
    """What the floor's resistor would be, in words; nothing where there can be none."""
    if resistor <= 0:
        return ""
    ohms = engineering((1 - ROUNDING) * resistor, "ohm", 3)
    heat = engineering((1 + ROUNDING) * float(FLOOR_HEAT(V_bus=high, R_floor=resistor)), "W", 3)
    return (f" The floor of {engineering(floor, 'A')} takes a resistor of at most {ohms} across the field's "
            f"transistor, which heats it with up to {heat}.")


def _lowest(project: Project) -> float:
    """The least mean that the bus has, V: on mains as if the reservoir were empty."""
    low = project.supply.lowest_voltage
    return float(RECTIFIED_MEAN(V_so=low)) if project.supply.is_mains else low


def _hot_field(project: Project, motor: MotorModel) -> float:
    """Ohm of the winding at the limit of its thermal class."""
    hot = winding.limits(project.motor.thermal_class or "A").running
    return float(motor.resistances(hot, hot)[1])


def _speed(project: Project, motor: MotorModel, floor: float, *, high: float) -> Iterator[InputError]:
    """The steady speed at the floor without load or friction, against the lower limit of motor and driven part."""
    limit = speed_limit(project)
    if limit is None:
        return
    currents = np.linspace(0.0, motor.curve.last_current, TRIED + 1)[1:]

    def speed(current: float) -> float:
        flux = float(motor.curve.at(current, motor.remanence))
        return float(SPEED(V_a=high, V_b=motor.brush_drop, R_a=motor.armature_resistance, I_a=0.0, k=flux))

    if speed(floor) <= limit:
        return
    enough = next((float(current) for current in currents if speed(float(current)) <= limit), None)
    yield InputError(
        "circuit.field_floor",
        f"{engineering(floor, 'A')}, at which the unloaded motor settles at {shown(speed(floor), 'rad/s')}",
        f"at most {shown(limit, 'rad/s')}",
        "No field current of the flux curve holds that: lower the armature's supply." if enough is None else
        f"A floor of {engineering((1 + ROUNDING) * enough, 'A', 3)} or more, or a lower armature supply.")
