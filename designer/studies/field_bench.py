"""Steps to first power of an armature straight on its bus: field and floor, motor alone, starter, own supply."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Feed, Points
from designer.errors import InputError
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import OperatingPoint, PowerStep, Quantity
from designer.studies.bench import HALF, around, dead
from designer.studies.rows import FRICTION_BOUNDS
from designer.studies.start_run import Start, lowest_bus, starter
from designer.studies.survey import Survey, speed_limit

BENCH = (3.0, 6.0, 12.0, 24.0, 30.0)     # V d.c. of a bench supply; up to 30 V by the safety rules
LIMIT_OVER, LEAST_LIMIT = 1.5, 0.5        # of the expected current, and A: a bench supply's own limit (practice)
LAMPS = (25.0, 40.0, 60.0, 75.0, 100.0, 150.0, 200.0, 300.0, 500.0)   # W, as sold; common practice, no source
LAMP_OVER = 2.0                           # of the field's power: common practice, no source


def first_power(found: Survey, project: Project, point: OperatingPoint) -> tuple[PowerStep, ...]:
    """Give the steps in order, each with readings, bands, stop rule and the unloaded speed behind it."""
    try:
        begun: Start | None = starter(found, project) if project.circuit.starter == "resistor" else None
    except InputError:
        begun = None        # the design tells it as its own reason
    steps = [*dead(project), _field(found, project), _motor_alone(found, project)]
    if begun is not None:
        steps += [_release(begun, project), _resistor(begun)]
    if project.supply.is_mains:
        steps.append(_lamp(found, project))
    return (*steps, _full(found, project, point, begun))


def _field(found: Survey, project: Project) -> PowerStep:
    """The field's chopper on a bench supply, the armature's leads off; the floor with the driver unplugged."""
    motor, volts = found.fixed.motor, BENCH[-1]
    cold, floor = motor.field_resistance, found.fixed.field_floor
    limit = engineering(LIMIT_OVER * volts / cold, "A", 2)
    bus = "to the bus, behind the bridge" if project.supply.is_mains else "in the place of the supply"
    return PowerStep(
        title=f"The field and its floor on {volts:g} V d.c.",
        action=f"Armature leads off. Bench supply of {volts:g} V {bus}, its limit at {limit}; the gate supply on its "
        "own, first. Driver unplugged: the floor's resistor alone feeds the field. Then the chopper's reference up "
        "from zero: the current must follow it up to what the supply drives. The field relay pulls in on the way up. "
        "Unplug the driver again: the relay drops out and opens the armature contactor's coil.",
        readings=(("field current at full on, winding cold, at most", Quantity(0.0, "A"), Quantity(volts / cold, "A")),
                  ("floor with the driver unplugged, at least (floor at the lowest bus, by the voltage)",
                   Quantity(floor * volts / lowest_bus(project), "A"), Quantity(volts / cold, "A"))),
        stop="No floor current with the driver unplugged: the floor is open; do not go on. A relay that stays in: the "
        "armature would be left on a lost field.",
        caution="A field lead pulled off under current bites, and leaves the motor without its speed limit.")


def _motor_alone(found: Survey, project: Project) -> PowerStep:
    """The motor alone on two current-limited supplies, nothing of the circuit in it: the field at its setting."""
    limit, coupled = speed_limit(project) or math.inf, project.load.coupling == "fixed"
    cold = float(found.fixed.motor.resistances(found.thermal.cold, found.thermal.cold)[0])
    bench = replace(found.fixed, feed=Feed(alternating=False))
    points = Points.of(bench, {
        "voltage": np.repeat(BENCH, 2), "setting": found.setting, "speed": 10.0, "armature_resistance": cold,
        "field_resistance": 1e-6, "friction": np.tile([1.0, FRICTION_BOUNDS[0]], len(BENCH)),
        "load": np.tile([1.0 if coupled else 0.0, 0.0], len(BENCH)), "field_current": found.setting})
    speed = np.nan_to_num(find_speed(found.circuit, bench, points), nan=np.inf).reshape(-1, 2)
    calm = np.flatnonzero(speed[:, 1] <= HALF * limit)
    at = int(calm[-1]) if calm.size else 0
    solved = found.circuit.solve(bench, points[[2 * at]].at(speed=speed[[at], 0]))
    current, free = float(solved.armature_absolute[0]), float(speed[at, 1])
    return PowerStep(
        title=f"The motor {'with its load' if coupled else 'alone'} on {BENCH[at]:g} V d.c.",
        action=f"Motor clamped, guard shut, its leads off the circuit: the field on a supply of its own at "
        f"{engineering(found.setting, 'A', 3)}, first on and last off; the armature on a bench supply, current limit "
        f"{engineering(LIMIT_OVER * max(current, LEAST_LIMIT), 'A', 2)}, voltage up from zero. Note the direction.",
        readings=(around("armature current, d.c. range", current, "A"), around("motor speed", float(speed[at, 0]),
                                                                               "rad/s")),
        stop="Off by more than 15 %: pinout or winding fault. Sparks that grow: brushes. The field's current gone: "
        "armature off at once.",
        unloaded_speed=Quantity(free, "rad/s"),
        caution="" if calm.size else "Unloaded it could pass half of the speed limit: do this step with the load "
        "coupled only.")


def _release(begun: Start, project: Project) -> PowerStep:
    """The contactors by themselves: what drops them."""
    del project
    return PowerStep(
        title="The starter without its armature",
        action="Armature leads off, contactor coils on their supply. Start button: it must not close without field "
        "current, nor with a bypass held in by hand. With the field on it closes and holds itself; each of stop "
        "button, field relay, undervoltage relay, thermal fuse and start timer opened in turn drops it, and every "
        "bypass with it. When what was opened is closed again nothing may close by itself.",
        readings=(around("start timer opens after", begun.time_out, "s"),),
        stop="Anything that closes by itself, or a bypass that stays.")


def _resistor(begun: Start) -> PowerStep:
    """The resistor on a bench supply with the shaft locked: the path's resistance at rest."""
    given, volts = begun.conditions, BENCH[2]
    current = max(volts - given.brushes, 0.0) / (given.cold + sum(begun.resistors))
    return PowerStep(
        title=f"The starting resistor on {volts:g} V d.c.",
        action="Armature leads on, field leads off, shaft locked by a bar against a stop, NEVER by hand. Bench supply "
        f"of {volts:g} V across armature and starting resistor in series, its limit at "
        f"{engineering(LIMIT_OVER * max(current, LEAST_LIMIT), 'A', 2)}; a second at a time.",
        readings=(around("armature current, resistor in", current, "A"),),
        stop="Much more: a bypass is closed or the resistor is shorted. None: a resistor or a brush is open.",
        caution="Without field the motor has next to no torque and could turn fast: the bar stays in.")


def _lamp(found: Survey, project: Project) -> PowerStep:
    """Isolated mains through a lamp, the armature's leads off: bus, bleeder and field."""
    volts, field = float(project.supply.voltage or 0.0), found.setting
    power = field**2 * found.fixed.motor.field_resistance
    watts = next((w for w in LAMPS if w >= LAMP_OVER * power), LAMPS[-1])
    return PowerStep(
        title=f"Reduced mains through a {watts:g} W lamp, armature leads off",
        action=f"{engineering(volts, 'V')} isolated, brought up from zero, a {watts:g} W / {volts:g} V filament lamp "
        "in series with the line: it flashes while the reservoir charges, then glows with the field's power alone. "
        "Read the bus, switch off, and time its fall.",
        readings=(("lamp current, at most (lamp alone on the mains)", Quantity(0.0, "A"),
                   Quantity(watts / volts, "A")),),
        stop="The lamp stays bright: a short behind it. The bus does not fall after switching off: bleeder open.",
        unloaded_speed=Quantity(0.0, "rad/s"), mains=True,
        caution="A residual-current device does nothing behind the isolating transformer; one load on it, no earthed "
        "oscilloscope or computer. The reservoir holds the full crest of the mains behind a dark lamp.")


def _full(found: Survey, project: Project, point: OperatingPoint, begun: Start | None) -> PowerStep:
    """The whole supply, load coupled: field at full, start, then weakened to the setting."""
    volts, mains = float(project.supply.voltage or 0.0), project.supply.is_mains
    readings = [around("output speed", point["output_speed"], "rad/s"),
                around("armature current, d.c. range", point["armature_current_mean"], "A"),
                around("field current, d.c. range", point["field_current_mean"], "A"),
                around("bus voltage, d.c. range", point["bus_voltage_mean"], "V")]
    if mains:
        readings.append(around("line current, true r.m.s.", point["line_current_rms"], "A"))
    told = ""
    if begun is not None:
        told = (f" At the start button up to {engineering(begun.rest[0], 'A', 3)} flow; the bypass closes within "
                f"{engineering(begun.longest, 's', 2)}, with up to {engineering(begun.second, 'A', 3)}.")
    return PowerStep(
        title="Full mains, load coupled" if mains else f"The whole supply of {engineering(volts, 'V')}, load coupled",
        action="Guard shut, stop within reach, somebody beside you. Field at its strongest, first; then the start "
        f"button.{told} When the speed stands, the field down slowly to {engineering(found.setting, 'A', 3)}. "
        f"The bands are for {engineering(volts, 'V')}: read that first.",
        readings=tuple(readings),
        stop="Any reading outside its band: stop button, wait until it stands, back one step. "
        f"{shown(found.unloaded[0].speed, 'rad/s')} follow if the load comes off, "
        f"{shown(found.look.unloaded, 'rad/s')} if the field's chopper dies as well.",
        unloaded_speed=Quantity(found.unloaded[0].speed, "rad/s"), mains=mains,
        caution="Off at the main switch only after the armature contactor: the field goes last. The discharge of the "
        "bus is measured, not trusted.")
