"""Steps to first power of a phase-angle circuit whose line current has no direct component."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Points
from designer.circuits.triac_series import TriacSeries
from designer.motor.direct import series_on_direct
from designer.motor.model import Load
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import OperatingPoint, PowerStep, Quantity
from designer.studies.survey import Survey, speed_limit

BAND = 0.15                        # a reading further off means: back one step; common practice, no source
LAMPS = (25.0, 40.0, 60.0, 75.0, 100.0, 150.0, 200.0, 300.0, 500.0)   # W, as sold; common practice, no source
LOW_VOLTAGES = (24.0, 42.0, 48.0)  # V r.m.s., isolated
DIRECT_VOLTAGES = (3.0, 6.0, 9.0, 12.0)   # V
STARTS = 1.5                       # standstill torque over friction with the lamp; common practice, no source
ROUGH = 1e-3
HALF = 0.5                         # of the speed limit: above it a step is done with the load coupled, or not at all


@dataclass(frozen=True, kw_only=True)
class _Bench:
    """What the steps are computed from."""

    circuit: TriacSeries
    found: Survey
    project: Project
    limit: float

    def coupled(self) -> bool:
        """True where the load cannot come off."""
        return self.project.load.coupling == "fixed"

    def speeds(self, voltage: np.ndarray, setting: np.ndarray, series: np.ndarray, load: float) -> np.ndarray:
        """Motor speeds, rad/s, windings cold, least friction, ``series`` ohms in the loop."""
        fixed = replace(self.found.fixed, tolerance=ROUGH)
        cold = self.found.thermal.cold
        armature, field = (float(r) for r in fixed.motor.resistances(cold, cold))
        points = Points.of(fixed, {
            "voltage": voltage, "frequency": self.project.supply.frequency, "setting": setting, "speed": 0.0,
            "armature_resistance": armature + series, "field_resistance": field, "friction": 0.7, "load": load,
        })
        return np.asarray(find_speed(self.circuit, fixed, points))


def first_power(circuit: TriacSeries, found: Survey, project: Project, point: OperatingPoint) -> tuple[PowerStep, ...]:
    """Give the steps in order, each with readings, bands, stop rule and the unloaded speed behind it."""
    bench = _Bench(circuit=circuit, found=found, project=project, limit=speed_limit(project) or math.inf)
    return (*_dead(project), _direct(bench), _low_voltage(bench), *_lamp(bench), _mains(bench, point))


def _dead(project: Project) -> tuple[PowerStep, ...]:
    least = 2e6 if project.motor.double_insulated else 1e6
    return (
        PowerStep(
            title="Look, and prove it "
                "dead", action="Plug out. Compare every wire with the wiring table, pull each one; look for "
            "strands, swarf and carbon dust. No path may lead from a motor pin or the control side to anything "
            "touched.",
            stop="Any wire that is not in the table.",
        ),
        PowerStep(
            title="Insulation", action="500 V tester between all mains and motor conductors joined and the frame; "
                "electronics "
            "bridged or disconnected, varistor lifted. Discharge afterwards.",
            readings=(("insulation resistance", Quantity(least, "ohm"), Quantity(math.inf, "ohm")),),
            stop="Less than the limit: clean the carbon dust, dry, test again.",
        ),
        PowerStep(
            title="Earth continuity", action="From the plug's earth pin to the frame and to every metal part that can "
                "be touched, "
            "with 0.2 A or more.",
            readings=(("earth path", Quantity(0.0, "ohm"), Quantity(0.2, "ohm")),),
            stop="More than the limit, or a reading that moves when the cord is bent.",
            caution="0.2 ohm with cord: IEC 60335-1, routine test.",
        ),
    )


def _around(name: str, value: float, unit: str) -> tuple[str, Quantity, Quantity]:
    return name, Quantity(value * (1 - BAND), unit), Quantity(value * (1 + BAND), unit)


def _direct(bench: _Bench) -> PowerStep:
    """The motor alone on current-limited d.c., both windings in series, no switch in the circuit."""
    motor, load = bench.found.fixed.motor, bench.found.fixed.load if bench.coupled() else Load()
    resistance = motor.armature_resistance + motor.field_resistance
    volts, at = DIRECT_VOLTAGES[-1], None
    for volts in reversed(DIRECT_VOLTAGES):
        at = series_on_direct(motor, load, voltage=volts, resistance=resistance)
        if at.speed <= HALF * bench.limit:
            break
    assert at is not None
    free = series_on_direct(motor, Load(), voltage=volts, resistance=resistance, friction=0.7)
    readings: tuple[tuple[str, Quantity, Quantity], ...] = (_around("current", at.current, "A"),)
    if at.speed:
        readings += (_around("motor speed", at.speed, "rad/s"),)
    return PowerStep(
        title=f"The motor alone on {volts:g} V d.c.",
        action="Motor clamped, guard shut, no switch in the circuit: armature and field in series on a bench supply, "
            "current "
        f"limit {engineering(1.5 * max(at.current, 0.5), 'A', 2)}, voltage up from zero. Note the direction.",
        readings=readings, stop="Off by more than 15 %: pinout or winding fault. Sparks that grow: brushes.",
        unloaded_speed=Quantity(free.speed, "rad/s"),
    )


def _low_voltage(bench: _Bench) -> PowerStep:
    """Isolated low a.c. through the triac, the gate circuit supplied so that it works there."""
    full = bench.circuit.setting_range(bench.found.fixed)[0]
    volts = np.array(LOW_VOLTAGES)
    free = bench.speeds(volts, np.full(3, full), np.zeros(3), 0.0)
    calm = [k for k in range(len(volts)) if free[k] <= HALF * bench.limit]
    pick = calm[-1] if calm else 0
    v = float(volts[pick])
    load = 1.0 if bench.coupled() else 0.0
    quarter = math.radians(90.0)
    ran = bench.speeds(np.array([v, v]), np.array([quarter, full]), np.zeros(2), load)
    readings = [_around(f"motor speed, {name}", float(s), "rad/s")
                for name, s in (("fired at 90°", ran[0]), ("fired at once", ran[1])) if s > 0]
    if not readings:
        readings = [("motor speed", Quantity(0.0, "rad/s"), Quantity(0.0, "rad/s"))]
    caution = "" if calm else "Unloaded it could pass half of the speed limit: do this step with the load coupled only."
    return PowerStep(
        title=f"The power circuit on {v:g} V a.c., isolated",
        action=f"Isolating transformer of {v:g} V r.m.s. and at least {engineering(2.0, 'A')}; the zero-cross "
            "detector and the gate "
        "driver's logic supplied apart, so that they work at this voltage (series resistors of the detector and of "
        "the driver are "
        "for full mains: bridge them by a tenth of their value for this step, and take the bridges out after it). "
        "Never on d.c.: "
        "a triac cannot turn off there.",
        readings=tuple(readings), stop="It runs at full speed whatever the setting: shorted switch, or a gate pulse "
            "past the zero. "
        "It hums and does not turn: one half cycle missing.",
        unloaded_speed=Quantity(float(free[pick]), "rad/s"), caution=caution,
    )


def _lamp(bench: _Bench) -> tuple[PowerStep, ...]:
    """Isolated mains through a lamp computed from this motor; nothing where no lamp both starts it and holds it."""
    volts = float(bench.project.supply.voltage or 0.0)
    fixed = replace(bench.found.fixed, tolerance=ROUGH)
    full = bench.circuit.setting_range(fixed)[0]
    hot = volts**2 / np.array(LAMPS)
    cold = bench.found.thermal.cold
    armature, field = (float(r) for r in fixed.motor.resistances(cold, cold))
    rest = Points.of(fixed, {"voltage": volts, "frequency": bench.project.supply.frequency, "setting": full, "speed": 0.0,
                             "armature_resistance": armature + hot, "field_resistance": field})
    solved = bench.circuit.solve(fixed, rest)
    needed = STARTS * fixed.motor.friction_torque + (
        float(fixed.load.at_motor(0.0)) if bench.coupled() else 0.0)
    able = np.flatnonzero(solved.torque >= needed)
    if not able.size:
        return (_no_lamp("No lamp up to 500 W lets enough current through to turn this motor."),)
    pick = int(able[0])
    free = float(bench.speeds(np.array([volts]), np.array([full]), hot[[pick]], 0.0)[0])
    if free > HALF * bench.limit and not bench.coupled():
        return (_no_lamp(
            f"A {LAMPS[pick]:g} W lamp just turns this motor, and lets it run up to {shown(free, 'rad/s')} unloaded, "
            "more than half "
            "of the speed limit: a lamp is no overspeed guard."),)
    load = 1.0 if bench.coupled() else 0.0
    ran = float(bench.speeds(np.array([volts]), np.array([full]), hot[[pick]], load)[0])
    return (PowerStep(
        title=f"Reduced mains through a {LAMPS[pick]:g} W lamp",
        action=f"{engineering(volts, 'V')} isolated, brought up from zero, a {LAMPS[pick]:g} W / {volts:g} V filament "
            "lamp in series; "
        "the setting at its slow end first. A dim lamp is right; full brightness is a short.",
        readings=(
            ("lamp current, shaft held", Quantity(0.0, "A"), Quantity(float(solved.rms[pick]) * 1.15, "A")),
            _around("motor speed, fired at once", ran, "rad/s"),
        ),
        stop="The lamp lights fully with the setting at its slow end: switch shorted or wired across.",
        unloaded_speed=Quantity(free, "rad/s"),
        caution="A residual-current device does nothing behind the isolating transformer; one load on it, no earthed "
        "oscilloscope or computer.",
        mains=True,
    ),)


def _no_lamp(why: str) -> PowerStep:
    return PowerStep(
        title="Series lamp: not for this motor "
            "unloaded", action=f"{why} Couple the load before the next step, and leave this one out.",
        stop="The load cannot be coupled: stop here.", mains=True,
    )


def _mains(bench: _Bench, point: OperatingPoint) -> PowerStep:
    """Full mains, load coupled, from the slow end to the setting; what three kinds of meter show."""
    free = float(bench.found.unloaded[0].speed)
    meters = meter_readings(point)
    return PowerStep(
        title="Full mains, load coupled",
        action="Guard shut, stop within reach, somebody beside you. Start at the slow end of the setting and come "
            "down to "
        f"{engineering(bench.found.setting, 'rad')} "
        f"({engineering(bench.found.setting / (2 * math.pi * float(bench.project.supply.frequency or 1.0)), 's')} "
        "after the zero). Feel nothing: read.",
        readings=(
            _around("line current, true r.m.s.", point["line_current_rms"], "A"),
            _around("line current, average-responding meter", meters["line_current"], "A"),
            _around("motor voltage, true r.m.s.", meters["motor_voltage_true"], "V"),
            _around("motor voltage, average-responding meter", meters["motor_voltage"], "V"),
            _around("output speed", point["output_speed"], "rad/s"),
        ),
        stop="Any reading outside its band: plug out, wait for the capacitor to discharge, back one step.",
        unloaded_speed=Quantity(free, "rad/s"),
        caution="Both poles are switched off before anything is touched; discharge is measured, not trusted.",
        mains=True,
    )


def meter_readings(point: OperatingPoint) -> Mapping[str, float]:
    """What meters show at the operating point: an average-responding one reads 1.111 × the mean magnitude.

    That factor, π/(2√2), is the form factor of a sine, for which such a meter is scaled (derived).
    """
    angle, wave = point.waveform["angle"], point.waveform
    factor = math.pi / (2 * math.sqrt(2))

    def mean(values: np.ndarray) -> float:
        return float(np.trapezoid(values, angle) / (angle[-1] - angle[0]))

    volts = wave["motor_voltage"]
    return {
        "line_current": factor * mean(np.abs(wave["line_current"])),
        "motor_voltage": factor * mean(np.abs(volts)),
        "motor_voltage_true": math.sqrt(mean(volts**2)),
    }
