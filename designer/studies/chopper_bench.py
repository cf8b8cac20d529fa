"""Steps to first power of a chopper: motor alone, power circuit on a bench supply, then its own supply."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Feed, Fixed, Points
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import OperatingPoint, PowerStep, Quantity
from designer.studies.bench import HALF, armature_waits, around, dead, field_first
from designer.studies.rows import FRICTION_BOUNDS
from designer.studies.survey import Survey, speed_limit

BENCH_VOLTAGES = (3.0, 6.0, 12.0, 24.0, 30.0)   # V d.c. of a bench supply; up to 30 V by the safety rules
LIMIT_OVER = 1.5                   # of the expected current: setting of the supply's limit; common practice, no source
LEAST_LIMIT = 0.5                  # A
LEAST_DUTY = 0.3                   # on the bench supply; common practice, no source
LAMP_OVER = 2.0                    # of the input power: a lamp that lets it pass dim; common practice, no source
LAMPS = (25.0, 40.0, 60.0, 75.0, 100.0, 150.0, 200.0, 300.0, 500.0)   # W, as sold; common practice, no source


@dataclass(frozen=True, kw_only=True)
class BenchState:
    """One state of the bench: motor speed (rad/s) and mean armature current (A), as done and unloaded; as solved."""

    voltage: float
    speed: float
    current: float
    free: float
    draws: float
    solved: Any


def first_power(found: Survey, project: Project, point: OperatingPoint) -> tuple[PowerStep, ...]:
    """Give the steps in order, each with readings, bands, stop rule and the unloaded speed behind it."""
    limit = speed_limit(project) or math.inf
    steps = [*dead(project), *_field(found, project, point), _motor_alone(found, project, limit),
             _power_circuit(found, project, limit)]
    if project.supply.is_mains:
        steps.append(_lamp(found, project, point, limit))
    return (*steps, _full(found, project, point))


def _field(found: Survey, project: Project, point: OperatingPoint) -> tuple[PowerStep, ...]:
    """The field alone on its own supply, proved before anything drives the armature."""
    if found.fixed.field is None:
        return ()
    return (field_first(point["field_current_mean"], found.fixed.motor.field_resistance), *armature_waits(project))


def _bench_fixed(found: Survey) -> Fixed:
    """The circuit on a bench supply: direct voltage, no limit but the supply's own."""
    return replace(found.fixed, feed=Feed(alternating=False), setting_cap=None)


def _at(found: Survey, fixed: Fixed, project: Project, *, voltage: float, duty: float) -> BenchState:
    """The steady state on a bench supply, cold; unloaded with the least friction."""
    coupled = 1.0 if project.load.coupling == "fixed" else 0.0
    cold = float(fixed.motor.resistances(found.thermal.cold, found.thermal.cold)[0])
    points = Points.of(fixed, {
        "voltage": voltage, "setting": duty, "speed": 10.0, "armature_resistance": cold,
        "field_resistance": float(found.held.points.field_resistance[1]),
        "friction": np.array([1.0, FRICTION_BOUNDS[0]]), "load": np.array([coupled, 0.0])})
    speed = np.nan_to_num(find_speed(found.circuit, fixed, points), nan=np.inf)
    solved = found.circuit.solve(fixed, points.at(speed=np.where(np.isfinite(speed), speed, 0.0)))
    return BenchState(voltage=voltage, speed=float(speed[0]), current=float(solved.armature_absolute[0]),
               free=float(speed[1]), draws=math.sqrt(float(solved.line_square[0])), solved=solved)


def _calm(found: Survey, fixed: Fixed, project: Project, *, duty: float, limit: float) -> BenchState:
    """The highest bench voltage at which the motor stays below half of its limit unloaded; the lowest otherwise."""
    states = [_at(found, fixed, project, voltage=volts, duty=duty) for volts in BENCH_VOLTAGES]
    below = [state for state in states if state.free <= HALF * limit]
    return below[-1] if below else states[0]


def bench_duty(found: Survey) -> float:
    """The duty at which the power circuit is tried on the bench supply."""
    return min(max(found.setting, LEAST_DUTY), 1.0)


def on_bench_supply(found: Survey, project: Project, *, limit: float) -> BenchState:
    """The power circuit on a bench supply as its step is done; ``limit`` is the speed limit, rad/s at the motor."""
    return _calm(found, _bench_fixed(found), project, duty=bench_duty(found), limit=limit)


def _motor_alone(found: Survey, project: Project, limit: float) -> PowerStep:
    """The motor alone on current-limited d.c., the switch out of the circuit."""
    fixed = found.circuit.shorted(_bench_fixed(found))[0]
    at = _calm(found, fixed, project, duty=1.0, limit=limit)
    coupled = project.load.coupling == "fixed"
    wired = ("armature on a bench supply, the field on its own supply first and off last" if fixed.field is not None
             else "armature and field in series on a bench supply")
    return PowerStep(
        title=f"The motor {'with its load' if coupled else 'alone'} on {at.voltage:g} V d.c.",
        action=f"Motor clamped, guard shut, no transistor in the circuit: {wired}, current limit "
        f"{engineering(LIMIT_OVER * max(at.current, LEAST_LIMIT), 'A', 2)}, voltage up from zero. Note the direction.",
        readings=_readings(at), stop="Off by more than 15 %: pinout or winding fault. Sparks that grow: brushes.",
        unloaded_speed=Quantity(at.free, "rad/s"), caution=_calmness(at, limit),
    )


def _readings(at: BenchState) -> tuple[tuple[str, Quantity, Quantity], ...]:
    told = (around("armature current, d.c. range", at.current, "A"),)
    return (*told, around("motor speed", at.speed, "rad/s")) if at.speed > 0 else told


def _calmness(at: BenchState, limit: float) -> str:
    return "" if at.free <= HALF * limit else (
        "Unloaded it could pass half of the speed limit: do this step with the load coupled only.")


def _power_circuit(found: Survey, project: Project, limit: float) -> PowerStep:
    """Bus, transistor and diode on a bench supply of up to 30 V; the gate supply on its own."""
    duty = bench_duty(found)
    at = on_bench_supply(found, project, limit=limit)
    bus = "to the bus, behind the bridge" if project.supply.is_mains else "in the place of the battery"
    return PowerStep(
        title=f"The power circuit on {at.voltage:g} V d.c.",
        action=f"Bench supply of {at.voltage:g} V {bus}, its limit at "
        f"{engineering(LIMIT_OVER * max(at.draws, LEAST_LIMIT), 'A', 2)}; the gate supply on its own, first. Gate "
        "voltage on the oscilloscope before the bus is raised: square, no ringing, off when the logic is unplugged. "
        f"Then the duty up from zero to {100 * duty:.0f} %. {_try_limit(found)}",
        readings=_readings(at),
        stop="Current without a gate signal: transistor or diode wired wrong or shorted. It runs at full speed "
        "whatever the duty: shorted transistor. Diode or transistor hot at no load: recovery, gate or layout.",
        unloaded_speed=Quantity(at.free, "rad/s"), caution=_calmness(at, limit),
    )


def _try_limit(found: Survey) -> str:
    """How the current limit is tried: locked on the bench supply where that can drive it, else on the shunt alone.

    Never by hand: under its limit the motor has all its torque at rest.
    """
    stall, chopping = found.stall, found.fixed.chopping
    assert chopping is not None
    series = found.fixed.field is None
    ohms = float(stall.points.armature_resistance[0]) + (float(stall.points.field_resistance[0]) if series else 0.0)
    held = chopping.current_limit
    needed = held * (ohms + found.fixed.switch.slope) + found.fixed.switch.threshold + found.fixed.motor.brush_drop
    most = BENCH_VOLTAGES[-1]
    if needed > most:
        return (f"The current limit of up to {engineering(held, 'A', 2)} is not reached at {most:g} V: try it with the "
                "bus off, a current-limited supply across the shunt alone, up from zero: at the limit the gate pulses "
                "must break off.")
    load = found.fixed.load
    torque = float(np.max(stall.solved.torque)) * load.ratio * load.efficiency
    return (f"Last the current limit, at {most:g} V, the bench supply's own limit at "
            f"{engineering(LIMIT_OVER * held * needed / most, 'A', 2)}: shaft locked by a bar against a stop, NEVER by "
            f"hand (up to {engineering(torque, 'N*m', 3)} at the output), duty up from zero: at up to "
            f"{engineering(held, 'A', 2)} in the armature the on-time stops growing. A few seconds at a time.")


def _lamp(found: Survey, project: Project, point: OperatingPoint, limit: float) -> PowerStep:
    """Isolated mains through a lamp ahead of the bridge: it tells a short; the bus still comes up to its crest."""
    volts, free = float(project.supply.voltage or 0.0), found.unloaded[0].speed
    watts = next((w for w in LAMPS if w >= LAMP_OVER * point["input_power"]), LAMPS[-1])
    coupled = project.load.coupling == "fixed"
    calm = free <= HALF * limit or coupled
    action = (f"{engineering(volts, 'V')} isolated, brought up from zero, a {watts:g} W / {volts:g} V filament lamp in "
              "series with the line, the duty at zero first: the lamp flashes while the reservoir charges, then goes "
              "dark. Read the bus, switch off, and time its fall: that is the bleeder. "
              + (f"Then the duty up slowly, to {100 * found.setting:.1f} % at the most; the lamp glows with the power "
                 "drawn." if calm else
                 "Leave the duty at zero in this step: unloaded the motor could pass half of its speed limit."))
    return PowerStep(
        title=f"Reduced mains through a {watts:g} W lamp", action=action,
        readings=(("bus voltage, duty zero", Quantity(0.9 * math.sqrt(2) * project.supply.lowest_voltage, "V"),
                   Quantity(math.sqrt(2) * project.supply.highest_voltage, "V")),
                  ("lamp current, at most (lamp alone on the mains)", Quantity(0.0, "A"),
                   Quantity(watts / volts, "A"))),
        stop="The lamp stays bright with the duty at zero: a short behind it. The bus does not fall after switching "
        "off: bleeder open.",
        unloaded_speed=Quantity(free if calm else 0.0, "rad/s"), mains=True,
        caution="A residual-current device does nothing behind the isolating transformer; one load on it, no earthed "
        "oscilloscope or computer. The reservoir holds the full crest of the mains behind a dark lamp. A lamp is no "
        "overspeed guard.",
    )


def _full(found: Survey, project: Project, point: OperatingPoint) -> PowerStep:
    """The whole supply, load coupled, from duty zero to the setting."""
    volts = float(project.supply.voltage or 0.0)
    mains, fed = project.supply.is_mains, "motor" if found.fixed.field is None else "armature"
    readings = [around("output speed", point["output_speed"], "rad/s"),
                around("armature current, d.c. range", point["armature_current_mean"], "A"),
                around("bus voltage, d.c. range", point["bus_voltage_mean"], "V"),
                around(f"{fed} voltage, d.c. range", point["duty"] * point["bus_voltage_mean"], "V")]
    if mains:
        readings.append(around("line current, true r.m.s.", point["line_current_rms"], "A"))
    return PowerStep(
        title="Full mains, load coupled" if mains else f"The whole supply of {engineering(volts, 'V')}, load coupled",
        action="Guard shut, stop within reach, somebody beside you. Field first where it is fed apart. Duty up from "
        f"zero to {100 * found.setting:.1f} %. The bands are for {engineering(volts, 'V')}: read that first. "
        "A meter on chopped voltage needs its d.c. range; an average-responding a.c. range shows nothing of use.",
        readings=tuple(readings),
        stop="Any reading outside its band: off, wait until the bus is measured below 60 V, back one step. "
        f"{shown(found.unloaded[0].speed, 'rad/s')} follow if the load comes off.",
        unloaded_speed=Quantity(found.unloaded[0].speed, "rad/s"), mains=mains,
        caution="Off at the main switch before anything is touched; the discharge of the bus is measured, not trusted."
        if mains else "A battery has no limit but its own: no ring, no watch, one hand; the fuse is pulled first.",
    )
