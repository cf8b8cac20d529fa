"""Steps to first power of a phase-angle circuit whose line current has no direct component."""

from __future__ import annotations

import math
from dataclasses import dataclass

from designer.motor.direct import series_on_direct
from designer.motor.model import Load
from designer.parts.test_gear import Lamp, series_lamp
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import OperatingPoint, PowerStep, Quantity
from designer.studies.bench import HALF, LOW_VOLTAGES, around, by_meters, calm_voltage, dead
from designer.studies.survey import Survey, speed_limit

DIRECT_VOLTAGES = (3.0, 6.0, 9.0, 12.0)   # V
QUARTER = math.pi / 2


@dataclass(frozen=True, kw_only=True)
class _Bench:
    """What the steps are computed from: the survey, the speed limit (rad/s), and the states of the bench."""

    found: Survey
    project: Project
    limit: float
    low: dict[float, tuple[float, float, float]]   # V -> unloaded, at 90° and fired at once as the step is done
    lamp: Lamp | None

    @property
    def coupled(self) -> bool:
        """True where the load cannot come off."""
        return self.project.load.coupling == "fixed"


def first_power(found: Survey, project: Project, point: OperatingPoint) -> tuple[PowerStep, ...]:
    """Give the steps in order, each with readings, bands, stop rule and the unloaded speed behind it."""
    bench = _bench(found, project)
    control = _low_voltage(bench) if project.circuit.firing == "optocoupler" else _lamp_instead(project)
    return (*dead(project), _direct(bench), control, _lamp(bench), _mains(bench, point))


def _bench(found: Survey, project: Project) -> _Bench:
    """Sort the survey's bench states by step."""
    assert found.bench is not None
    speeds = dict(zip(found.bench.labels, found.bench.points.speed.tolist(), strict=True))
    low = {v: (speeds[f"{v:g} V, free"], speeds[f"{v:g} V, at 90°"], speeds[f"{v:g} V, at once"]) for v in LOW_VOLTAGES}
    return _Bench(found=found, project=project, limit=speed_limit(project) or math.inf, low=low,
                  lamp=_smallest_lamp(found, project))


def _smallest_lamp(found: Survey, project: Project) -> Lamp | None:
    """The smallest lamp that surely starts the motor, its resistance that of the hot filament; None where none does."""
    motor, volts = found.fixed.motor, float(project.supply.voltage or 0.0)
    load = found.fixed.load if project.load.coupling == "fixed" else Load()
    windings = sum(float(r) for r in motor.resistances(found.thermal.cold, found.thermal.cold))
    return series_lamp(motor, load, voltage=volts, windings=windings)


def _direct(bench: _Bench) -> PowerStep:
    """The motor alone on current-limited d.c., both windings in series, no switch in the circuit."""
    motor, load = bench.found.fixed.motor, bench.found.fixed.load if bench.coupled else Load()
    resistance = motor.armature_resistance + motor.field_resistance
    volts, at = DIRECT_VOLTAGES[-1], None
    for volts in reversed(DIRECT_VOLTAGES):
        at = series_on_direct(motor, load, voltage=volts, resistance=resistance)
        if at.speed <= HALF * bench.limit:
            break
    assert at is not None
    free = series_on_direct(motor, Load(), voltage=volts, resistance=resistance, friction=0.7)
    readings: tuple[tuple[str, Quantity, Quantity], ...] = (around("current", at.current, "A"),)
    if at.speed:
        readings += (around("motor speed", at.speed, "rad/s"),)
    return PowerStep(
        title=f"The motor {'with its load' if bench.coupled else 'alone'} on {volts:g} V d.c.",
        action="Motor clamped, guard shut, no switch in the circuit: armature and field in series on a bench supply, "
            "current "
        f"limit {engineering(1.5 * max(at.current, 0.5), 'A', 2)}, voltage up from zero. Note the direction.",
        readings=readings, stop="Off by more than 15 %: pinout or winding fault. Sparks that grow: brushes.",
        unloaded_speed=Quantity(free.speed, "rad/s"),
    )


def _low_voltage(bench: _Bench) -> PowerStep:
    """Isolated low a.c. through the triac, the gate circuit supplied so that it works there."""
    v = calm_voltage(bench.found, bench.limit)
    free, quarter, full = bench.low[v]
    readings = [around(f"motor speed, {name}", speed, "rad/s")
                for name, speed in (("fired at 90°", quarter), ("fired at once", full)) if speed > 0]
    caution = "" if free <= HALF * bench.limit else (
        "Unloaded it could pass half of the speed limit: do this step with the load coupled only.")
    return PowerStep(
        title=f"The power circuit on {v:g} V a.c., isolated",
        action=f"Isolating transformer of {v:g} V r.m.s.; the logic supplied apart. The resistors of detector and "
        f"driver are for full mains: for this step alone bridge each by one of {_bridge(bench.project, v)} % of its "
        "value or the next above, and their currents are those of full mains again. Count the bridges in, and count "
        "them out: one left in burns the driver on full mains, and the motor runs at full speed. Never on d.c.: a "
        "triac cannot turn off there.",
        readings=tuple(readings) or (("motor speed", Quantity(0.0, "rad/s"), Quantity(0.0, "rad/s")),),
        stop="It runs at full speed whatever the setting: shorted switch, or a gate pulse past the zero. "
        "It hums and does not turn: one half cycle missing.",
        unloaded_speed=Quantity(free, "rad/s"), caution=caution,
    )


def _bridge(project: Project, volts: float) -> int:
    """The resistor, % of what it bridges, that gives at ``volts`` + 10 % the current of high mains; rounded up."""
    part = 1.1 * volts / project.supply.highest_voltage
    return math.ceil(100 * part / (1 - part))


def _lamp_instead(project: Project) -> PowerStep:
    """A breakover network is dead at low voltage: it is tried on a lamp in the motor's place, at full voltage."""
    volts = float(project.supply.voltage or 0.0)
    return PowerStep(
        title="The firing network on a lamp in the motor's place",
        action=f"No motor: a filament lamp of {volts:g} V, 40 to 100 W, between the line rail and main terminal "
        f"2; {engineering(volts, 'V')} through an isolating transformer. The breakover device is dead below about 25 "
        "V, so this is done at full voltage. Turn the control from the slow end to the fast end and back.",
        readings=(("lamp voltage, true r.m.s., fast end", Quantity(0.5 * volts, "V"),
                   Quantity(project.supply.highest_voltage, "V")),
                  ("direct voltage across the lamp", Quantity(0.0, "V"), Quantity(0.05 * volts, "V"))),
        stop="The lamp stays dark, or fully bright, over the whole turn; it flickers; direct voltage beyond the band: "
        "one half cycle missing.",
        caution="The whole network is live, the potentiometer's shaft included where it is not of insulation. The "
        "bands are common practice, no source.",
        mains=True,
    )


def _lamp(bench: _Bench) -> PowerStep:
    """Isolated mains through a lamp computed from this motor; left out where none both starts it and holds it."""
    lamp, volts = bench.lamp, float(bench.project.supply.voltage or 0.0)
    if lamp is None:
        return _no_lamp("No lamp up to 500 W lets enough current through to turn this motor.")
    if lamp.free > HALF * bench.limit and not bench.coupled:
        return _no_lamp(
            f"A {lamp.power:g} W lamp just turns this motor, and lets it run up to {shown(lamp.free, 'rad/s')} "
            "unloaded, more than half of the speed limit: a lamp is no overspeed guard.")
    return PowerStep(
        title=f"Reduced mains through a {lamp.power:g} W lamp",
        action=f"{engineering(volts, 'V')} isolated, brought up from zero, a {lamp.power:g} W / {volts:g} V filament "
        "lamp in series; the setting at its slow end first. A dim lamp is right; full brightness is a short."
        + (" The load stays coupled: a lamp is no overspeed guard." if bench.coupled else ""),
        readings=(
            ("lamp current, at most (lamp alone on the mains)", Quantity(0.0, "A"), Quantity(lamp.stalled.value, "A")),
            around("motor speed, fired at once", lamp.ran, "rad/s"),
        ),
        stop="The lamp lights fully with the setting at its slow end: switch shorted or wired across.",
        unloaded_speed=Quantity(lamp.free, "rad/s"),
        caution="A residual-current device does nothing behind the isolating transformer; one load on it, no earthed "
        "oscilloscope or computer.",
        mains=True,
    )


def _no_lamp(why: str) -> PowerStep:
    return PowerStep(
        title="Series lamp: not for this motor "
            "unloaded", action=f"{why} Couple the load before the next step, and leave this one out.",
        stop="The load cannot be coupled: stop here.", mains=True,
    )


def _mains(bench: _Bench, point: OperatingPoint) -> PowerStep:
    """Full mains, load coupled, from the slow end to the setting; what three kinds of meter show."""
    free = float(bench.found.unloaded[0].speed)
    line, volts = by_meters(point, "line_current"), by_meters(point, "motor_voltage")
    return PowerStep(
        title="Full mains, load coupled",
        action="Guard shut, stop within reach, somebody beside you. Start at the slow end of the setting and come "
            "down to "
        f"{engineering(bench.found.setting, 'rad')} "
        f"({engineering(bench.found.setting / (2 * math.pi * float(bench.project.supply.frequency or 1.0)), 's')} "
        f"after the zero). The bands are for {engineering(float(bench.project.supply.voltage or 0.0), 'V')} at the "
        "socket: read that first. Feel nothing: read.",
        readings=(
            around("line current, true r.m.s.", point["line_current_rms"], "A"),
            around("line current, average-responding meter", line.average, "A"),
            around("motor voltage, true r.m.s.", volts.rms, "V"),
            around("motor voltage, average-responding meter", volts.average, "V"),
            around("output speed", point["output_speed"], "rad/s"),
        ),
        stop="Any reading outside its band: plug out, wait for the capacitor to discharge, back one step.",
        unloaded_speed=Quantity(free, "rad/s"),
        caution="Both poles are switched off before anything is touched; discharge is measured, not trusted.",
        mains=True,
    )
