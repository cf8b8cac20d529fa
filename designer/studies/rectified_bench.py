"""Steps to first power of a rectifier on phase angle: half-wave on a resistive load, bridges on low a.c. and a lamp."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from designer.motor.direct import Behind, SeparateDirect, series_on_direct
from designer.motor.model import Load
from designer.parts.test_gear import LAMPS, STARTS
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import OperatingPoint, PowerStep, Quantity
from designer.studies.bench import HALF, armature_waits, around, by_meters, calm_voltage, dead, field_first
from designer.studies.phase_bench import DIRECT_VOLTAGES
from designer.studies.rows import FRICTION_BOUNDS
from designer.studies.survey import Survey, speed_limit

TRIAL_LAMPS = (25.0, 40.0, 60.0, 75.0, 100.0)     # W, in the motor's place; common practice, no source
_CALM = "Unloaded it could pass half of the speed limit: do this step with the load coupled only."


@dataclass(frozen=True, kw_only=True)
class _Bench:
    """What the steps are computed from: the survey, the point of the target, the speed limit (rad/s)."""

    found: Survey
    project: Project
    point: OperatingPoint
    limit: float

    @property
    def load(self) -> Load:
        """The load as it is on the bench: on where it cannot come off."""
        return self.found.fixed.load if self.coupled else Load()

    @property
    def coupled(self) -> bool:
        """True where the load cannot come off."""
        return self.project.load.coupling == "fixed"

    @property
    def volts(self) -> float:
        """Nominal mains, V."""
        return float(self.project.supply.voltage or 0.0)

    @property
    def windings(self) -> float:
        """Cold resistance in the motor's path, ohm."""
        armature, field = (float(r) for r in self.found.fixed.motor.resistances(
            self.found.thermal.cold, self.found.thermal.cold))
        return armature + (field if self.flux is None else 0.0)

    @property
    def flux(self) -> float | None:
        """V·s of a separate field; None of a series motor."""
        fixed = self.found.fixed
        if fixed.field is None:
            return None
        return float(fixed.motor.curve.at(float(self.found.held.points.field_current[1]), fixed.motor.remanence))


def first_power(found: Survey, project: Project, point: OperatingPoint) -> tuple[PowerStep, ...]:
    """Give the steps in order, each with readings, bands, stop rule and the unloaded speed behind it."""
    bench = _Bench(found=found, project=project, point=point, limit=speed_limit(project) or math.inf)
    field = () if found.fixed.field is None else (_field(project, field_first(
        point["field_current_mean"], found.fixed.motor.field_resistance)), *armature_waits(project))
    half_wave = found.bench is None
    middle = (_resistive(bench),) if half_wave else (_low_voltage(bench), _lamp(bench))
    return (*dead(project), *field, _direct(bench), *middle, _mains(bench))


def _field(project: Project, step: PowerStep) -> PowerStep:
    """The field's step; where its supply hangs on the mains, the first that brings mains in."""
    supply = project.field_supply
    if supply is None or supply.kind == "dc":
        return step
    return replace(step, mains=True, caution=f"{step.caution} The field's supply is on the mains here, the armature's "
                   "circuit not: pull its fuse and prove it dead. In the steps on low voltage feed the field so too.")


def _direct(bench: _Bench) -> PowerStep:
    """The motor alone on current-limited d.c., no thyristor in the circuit."""
    volts, speed, current, free = DIRECT_VOLTAGES[0], 0.0, 0.0, 0.0
    for volts in reversed(DIRECT_VOLTAGES):
        speed, current, free = _on_direct(bench, volts)
        if free <= HALF * bench.limit:
            break
    wired = ("armature and field in series on a bench supply" if bench.flux is None else
             "armature on a bench supply, the field on its own supply first and off last")
    readings = [around("motor current, d.c. range", current, "A")]
    if speed:
        readings.append(around("motor speed", speed, "rad/s"))
    return PowerStep(
        title=f"The motor {'with its load' if bench.coupled else 'alone'} on {volts:g} V d.c.",
        action=f"Motor clamped, guard shut, no thyristor in the circuit: {wired}, current limit "
        f"{engineering(1.5 * max(current, 0.5), 'A', 2)}, voltage up from zero. Note the direction.",
        readings=tuple(readings), stop="Off by more than 15 %: pinout or winding fault. Sparks that grow: brushes.",
        unloaded_speed=Quantity(free, "rad/s"), caution="" if free <= HALF * bench.limit else _CALM)


def _on_direct(bench: _Bench, volts: float) -> tuple[float, float, float]:
    """Speed (rad/s) and current (A) as the step is done, speed unloaded with the least friction."""
    motor, least = bench.found.fixed.motor, FRICTION_BOUNDS[0]
    if bench.flux is None:
        at = series_on_direct(motor, bench.load, voltage=volts, resistance=bench.windings)
        free = series_on_direct(motor, Load(), voltage=volts, resistance=bench.windings, friction=least)
        return at.speed, at.current, free.speed
    on = SeparateDirect(motor=motor, voltage=volts, resistance=bench.windings, flux=bench.flux)
    speed = on.speed(bench.load)
    return speed, on.current(speed), on.speed(Load(), friction=least)


def _resistive(bench: _Bench) -> PowerStep:
    """Half-wave: on a lamp in the motor's place, straight on the mains unless a transformer is known to bear it."""
    transformer = bench.project.supply.transformer
    bears = None if transformer is None else transformer.magnetising_current
    high, volts = bench.project.supply.highest_voltage, bench.volts
    fits = [w for w in TRIAL_LAMPS if bears is not None and _direct_of(w, volts) <= bears]
    watts = fits[-1] if fits else TRIAL_LAMPS[1]
    flows = engineering(_direct_of(watts, volts), "A", 2)
    source = (f"Behind the transformer of the file: at full output the lamp draws {flows} of direct current, and "
              f"it bears {engineering(bears or 0.0, 'A', 2)}." if fits else
              f"No transformer ahead: at full output the lamp draws {flows} of direct current, and what a transformer "
              "bears must be known first. So this step is on the mains itself, and everything is live.")
    return PowerStep(
        title="The thyristor on a lamp in the motor's place",
        action=f"No motor: a filament lamp of {volts:g} V, {watts:g} W where the motor goes"
        f"{', the freewheel diode left in its place' if bench.found.fixed.freewheeling else ''}. {source} From the "
        "slow end of the setting to the fast end and back. Half-wave the lamp never gets brighter than at "
        f"{engineering(volts / math.sqrt(2), 'V', 3)}.",
        readings=(("lamp voltage, true r.m.s. of a.c. and d.c. together, fast end", Quantity(0.6 * volts, "V"),
                   Quantity(0.75 * high, "V")),
                  ("lamp voltage, d.c. range, fast end", Quantity(0.38 * volts, "V"), Quantity(0.48 * high, "V"))),
        stop="Dark, or the lamp is as bright as straight on the mains: thyristor shorted. It flickers: half cycles are "
        "missing, look at the gate. The fuse goes: freewheel diode the wrong way round.",
        caution="The residual-current device is the only help here, and none against touching both wires. The bands "
        "are common practice, no source.", mains=True)


def _direct_of(watts: float, volts: float) -> float:
    """Direct current, A, of a lamp on every second half cycle: √2·V/(π·R), R = V²/P."""
    return math.sqrt(2) * watts / (math.pi * volts)


def _low_voltage(bench: _Bench) -> PowerStep:
    """Isolated low a.c. through the bridge, the gate circuit supplied so that it works there."""
    found = bench.found
    assert found.bench is not None
    speeds = dict(zip(found.bench.labels, found.bench.points.speed.tolist(), strict=True))
    v = calm_voltage(found, bench.limit)
    free = speeds[f"{v:g} V, free"]
    readings = [around(f"motor speed, {name}", speeds[f"{v:g} V, {key}"], "rad/s")
                for name, key in (("fired at 90°", "at 90°"), ("fired at once", "at once"))
                if speeds[f"{v:g} V, {key}"] > 0]
    part = 1.1 * v / bench.project.supply.highest_voltage
    first = "The field first, from its own supply. " if bench.flux is not None else ""
    return PowerStep(
        title=f"The power circuit on {v:g} V a.c., isolated",
        action=f"{first}Isolating transformer of {v:g} V r.m.s.; the logic supplied apart. The resistors of detector "
        "and drivers are for full mains: for this step alone bridge each by one of "
        f"{math.ceil(100 * part / (1 - part))} % of its value or the next above. Count the bridges in, and count them "
        "out: one left in burns its driver on full mains. Never on d.c.: a thyristor cannot turn off there.",
        readings=tuple(readings) or (("motor speed", Quantity(0.0, "rad/s"), Quantity(0.0, "rad/s")),),
        stop="It runs at full speed whatever the setting: freewheel diode open, thyristor shorted, or a gate past the "
        "zero. It growls: one half cycle missing. The transformer hums and heats: a diode or thyristor shorted.",
        unloaded_speed=Quantity(free, "rad/s"), caution="" if free <= HALF * bench.limit else _CALM)


def _lamp(bench: _Bench) -> PowerStep:
    """Isolated mains through the smallest lamp that turns this motor; left out where none both starts and holds it."""
    volts = bench.volts
    for watts in LAMPS:
        loop = _behind(bench, volts, volts**2 / watts + bench.windings)
        needed = STARTS * bench.found.fixed.motor.friction_torque + float(bench.load.at_motor(0.0))
        if loop.torque(0.0) >= needed:
            return _through(bench, watts, free=loop.speed(Load(), friction=FRICTION_BOUNDS[0]),
                            ran=loop.speed(bench.load, friction=FRICTION_BOUNDS[0]))
    return _no_lamp(f"No lamp up to {LAMPS[-1]:g} W lets enough current through to turn this motor.")


def _behind(bench: _Bench, volts: float, resistance: float) -> Behind | SeparateDirect:
    motor = bench.found.fixed.motor
    if bench.flux is None:
        return Behind(motor=motor, voltage=volts, resistance=resistance)
    return SeparateDirect(motor=motor, voltage=volts, resistance=resistance, flux=bench.flux, rectified=True)


def _through(bench: _Bench, watts: float, *, free: float, ran: float) -> PowerStep:
    """The step with the lamp chosen; left out where it would let the motor pass half of its limit."""
    if free > HALF * bench.limit and not bench.coupled:
        return _no_lamp(f"A {watts:g} W lamp just turns this motor, and lets it run up to {shown(free, 'rad/s')} "
                        "unloaded, more than half of the speed limit: a lamp is no overspeed guard.")
    volts = bench.volts
    first = "The field first, from its own supply. " if bench.flux is not None else ""
    return PowerStep(
        title=f"Reduced mains through a {watts:g} W lamp",
        action=f"{first}{engineering(volts, 'V')} isolated, brought up from zero, a {watts:g} W / {volts:g} V filament "
        "lamp in series with the line; the setting at its slow end first. A dim lamp is right; full brightness is a "
        f"short.{' The load stays coupled: a lamp is no overspeed guard.' if bench.coupled else ''}",
        readings=(("lamp current, at most (lamp alone on the mains)", Quantity(0.0, "A"), Quantity(watts / volts, "A")),
                  around("motor speed, fired at once", ran, "rad/s")),
        stop="The lamp lights fully with the setting at its slow end: a device shorted or wired across.",
        unloaded_speed=Quantity(free, "rad/s"),
        caution="A residual-current device does nothing behind the isolating transformer; one load on it, no earthed "
        "oscilloscope or computer.", mains=True)


def _no_lamp(why: str) -> PowerStep:
    return PowerStep(
        title="Series lamp: not for this motor unloaded",
        action=f"{why} Couple the load before the next step, and leave this one out.",
        stop="The load cannot be coupled: stop here.", mains=True)


def _mains(bench: _Bench) -> PowerStep:
    """Full mains, load coupled, from the slow end to the setting; what meters show."""
    found, point = bench.found, bench.point
    hertz = float(bench.project.supply.frequency or 1.0)
    volts = by_meters(point, "motor_voltage")
    direct = abs(point["line_current_mean"])
    readings = [around("line current, true r.m.s. of a.c. and d.c. together" if direct > 0 else
                       "line current, true r.m.s.", point["line_current_rms"], "A"),
                around("motor voltage, d.c. range", volts.mean, "V"),
                around("motor voltage, true r.m.s. of a.c. and d.c. together", volts.rms, "V"),
                around("motor current, d.c. range", point["armature_current_mean"], "A"),
                around("output speed", point["output_speed"], "rad/s")]
    lost = max(found.look.lost_below)
    early = f" Never earlier than {engineering(lost, 'rad')}: control is lost there." if lost > 0 else ""
    first = "Field first, then the armature. " if bench.flux is not None else ""
    return PowerStep(
        title="Full mains, load coupled",
        action=f"{first}Guard shut, stop within reach, somebody beside you. Start at the slow end of the setting and "
        f"come down to {engineering(found.setting, 'rad')} "
        f"({engineering(found.setting / (2 * math.pi * hertz), 's')} after the zero).{early} The bands are for "
        f"{engineering(bench.volts, 'V')} at the socket: read that first. Feel nothing: read.",
        readings=tuple(readings),
        stop="Any reading outside its band: plug out, wait for the capacitor to discharge, back one step.",
        unloaded_speed=Quantity(float(found.unloaded[0].speed), "rad/s"),
        caution="Both poles are switched off before anything is touched; discharge is measured, not trusted.",
        mains=True)
