"""Faults at the motor: mains high and no load, a brush lifted, no air, the supply back by itself, the path open."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from designer.circuits.run_up import run_up
from designer.equations.motor import REFERRED_INERTIA
from designer.equations.varistor import COIL_ENERGY, COIL_VOLTAGE
from designer.motor.flux import Winding
from designer.motor.model import MotorModel
from designer.motor.warming import Losses, Surroundings, WindingPath, settle
from designer.parts import winding
from designer.results import FaultCase, Quantity
from designer.studies.groups import crest_of
from designer.studies.sides import Power, Scene
from designer.studies.stall import hottest_winding, thermal_class
from designer.studies.survey import Survey, speed_limit

#: F, of a motor's winding by itself: order of magnitude, common practice, no source
STRAY = 500e-12
STARTED, FIRST = 0.95, 1e-3      # of the running speed: where a start is over, and where it is followed from
FINE = 201          # currents over which the energy of a saturating winding is summed
FINISH = 1e-2       # of a rise of temperature: nearer to its end nothing is told of a time


def faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """Give what the motor does with too much, with no air, and with its path opened."""
    found = scene.found
    if found is None:
        return
    yield _high(scene, found)
    yield _brush(scene, found)
    if found.fixed.field is None and scene.kind.winding == "series":
        yield _open(scene, found)
    yield from _airless(scene, found)
    if power is not None and not any(p.role == "undervoltage-relay" for p in power.parts):
        yield _returns(scene, found, power)


def _high(scene: Scene, found: Survey) -> FaultCase:
    """Highest supply and no load: the speed, and what everything that blocks meets."""
    limit, worst = speed_limit(scene.project), found.unloaded[0]
    told = {"speed, load off, highest supply": Quantity(worst.speed, "rad/s"),
            "speed, load off, nominal supply": Quantity(float(found.free.points.speed[0]), "rad/s")}
    if limit is not None:
        told["speed limit"] = Quantity(limit, "rad/s")
        if worst.run is not None:
            told["time to it"] = Quantity(worst.run.time, "s")
    told["crest that all devices block"] = Quantity(crest_of(scene.project), "V")
    within = limit is not None and worst.speed <= limit
    trip = scene.project.protection.overspeed_trip is not None
    fixed = scene.project.load.coupling == "fixed"
    return FaultCase(
        fault="supply-high-unloaded", name="Supply at its highest and no load", figures=told,
        ends_by="friction, below the limit" if within else "the overspeed trip" if trip else
        "excluded by the file, which says that the coupling is fixed" if fixed else "nothing in this design")


def path_inductance(motor: MotorModel, *, series: bool, current: float) -> float:
    """H that holds the energy of the armature's path at a current (A): with the field where that is in series."""
    return stored(motor.series_winding(), current) if series else motor.armature_inductance


def stored(coil: Winding, current: float) -> float:
    """H of a constant inductance that would hold at ``current`` (A) what the saturating winding holds."""
    if not current > 0:
        return float(coil.inductance(0.0))
    passed = np.linspace(0.0, current, FINE)
    return float(2 * np.trapezoid(coil.inductance(passed) * passed, passed)) / current**2


def _brush(scene: Scene, found: Survey) -> FaultCase:
    """A brush off the commutator: the current has no path but the arc, the freewheel diode cannot take it over."""
    series = scene.kind.winding == "series"
    peak = max(scene.worst("armature_current_peak").value, scene.worst("switch_current_peak").value)
    energy = float(COIL_ENERGY(
        L_coil=path_inductance(found.fixed.motor, series=series, current=peak), i_coil=peak))
    hertz = 2 * float(scene.project.supply.frequency or 0.0)
    told = {"current broken": Quantity(peak, "A"), "energy of an arc, at most": Quantity(energy, "J"),
            "voltage across the gap": Quantity(crest_of(scene.project), "V")}
    if scene.kind.line != "bus" and hertz:
        told["heat if it bounces in every half cycle"] = Quantity(energy * hertz, "W")
    return FaultCase(
        fault="brush-lifted", name="A brush lifted, worn out or stuck: the current ends in an arc", figures=told,
        ends_by="itself: it stops; a field of its own goes on heating" if not series else "itself: it stops")


def _open(scene: Scene, found: Survey) -> FaultCase:
    """The field of a series motor open: the one path is open, the motor stops."""
    peak = max(scene.worst("armature_current_peak").value, scene.worst("switch_current_peak").value)
    coil = path_inductance(found.fixed.motor, series=True, current=peak)
    told = {"current broken": Quantity(peak, "A"),
            "energy of the arc": Quantity(float(COIL_ENERGY(L_coil=coil, i_coil=peak)), "J"), **kick(coil, peak)}
    return FaultCase(
        fault="field-open", name="Field open, in series with the armature: no current, and it stops", figures=told,
        ends_by="itself: it cannot run away without its field's current", notice="a flash inside, and it stops")


def kick(inductance: float, current: float) -> dict[str, Quantity]:
    """The voltage (V) to which a winding's own capacitance would be charged, did no arc take the energy first."""
    volts = float(COIL_VOLTAGE(i_coil=current, L_coil=inductance, C_stray=STRAY))
    return {f"kick into {STRAY * 1e12:.0f} pF, did nothing arc": Quantity(volts, "V")}


def _airless(scene: Scene, found: Survey) -> Iterator[FaultCase]:
    """No air through the motor: its windings as if they stood still, the losses of the running."""
    around = found.thermal.surroundings
    limit = winding.limits(thermal_class(scene.project)).running
    if around is None:
        return
    paths = tuple(WindingPath(standstill=p.standstill, running=p.standstill, reference_speed=1.0) for p in around.paths)
    state, at = found.held, int(np.nanargmax(np.nan_to_num(found.held.square)))
    solved = scene.circuit.solve(found.fixed, state.points[[at]])
    speed = np.atleast_1d(state.points.speed[at])
    losses = Losses(square=np.atleast_1d(state.square[at]), absolute=np.atleast_1d(state.absolute[at]),
                    field_square=np.atleast_1d(state.field_square[at]),
                    iron=np.atleast_1d(solved.iron_torque[0]) * speed, speed=speed)
    warm = settle(found.fixed.motor, Surroundings(ambient=around.ambient, paths=(paths[0], paths[1]),
                                                  duty=around.duty), lambda *_: losses, 1)
    told: dict[str, Quantity] = {}
    both = (("armature", warm.armature, state.warm.armature), ("field", warm.field, state.warm.field))
    for name, end, before in both:
        told[f"{name} before"] = Quantity(float(before[at]), "degC")
        told[f"{name} without air"] = Quantity(float(end[0]), "degC")
    told["limit of its class"] = Quantity(limit, "degC")
    worst = float(max(warm.armature[0], warm.field[0]))
    ends = _time_to(scene, found, end=worst, limit=limit)
    if ends is not None:
        told["time to the limit"] = Quantity(ends, "s")
    switch = scene.project.protection.thermal_switch
    yield FaultCase(
        fault="airflow-blocked", name="Air blocked at the motor: its fan moves nothing, the load goes on", figures=told,
        first=f"the {'armature' if warm.armature[0] >= warm.field[0] else 'field'} winding's enamel",
        ends_by="nothing needs to: the class's limit is not passed"
        + ("" if any(p.running > p.standstill for p in around.paths) else
           " (the fan's help was not read, and the design counts without it)") if worst <= limit else
        "nothing in this design" if switch is None else "the thermal switch")


def _time_to(scene: Scene, found: Survey, *, end: float, limit: float) -> float | None:
    """Time, s, from running warm to the limit with one time constant; None where it is not known or not passed."""
    constant, start = scene.project.motor.thermal_time_constant, hottest_winding(found)
    if constant is None or end <= limit:
        return None
    if start >= limit:
        return 0.0
    if not math.isfinite(end):      # it runs away: at the least by the rise that it has when the limit is passed
        return None
    return constant * math.log(max(end - start, FINISH) / max(end - limit, FINISH))


def _returns(scene: Scene, found: Survey, power: Power) -> FaultCase:
    """The supply gone and back, the switch left on: it starts by itself."""
    told = {"current at rest, peak": Quantity(float(found.stall.stresses["switch_current_peak"][0]), "A")}
    speed, inertia = float(np.nan_to_num(found.held.points.speed[2])), scene.project.motor.inertia
    if inertia is not None and speed > 0:
        load = found.fixed.load
        whole = float(REFERRED_INERTIA(J_m=inertia, J_load=load.inertia, u=load.ratio))
        points = found.stall.points[[0]].at(setting=np.array([found.setting])).scaled(load=1.0)
        run = run_up(found.circuit, replace(found.fixed, tolerance=1e-3), points, start=FIRST * speed,
                     end=STARTED * speed, inertia=whole)
        if math.isfinite(run.time):
            told["at speed again after"] = Quantity(run.time, "s")
    told["output speed"] = Quantity(speed / found.fixed.load.ratio, "rad/s")
    guarded = any(p.role in ("armature-contactor", "armature-start") for p in power.parts)
    return FaultCase(
        fault="supply-returns", name="Supply gone and back, the main switch left on", figures=told,
        ends_by="the armature contactor, which lets go for good: it takes the start button again" if guarded else
        "the no-volt release of the main switch: it stays off. Without that release it starts by itself",
        first="nothing: it stays off" if guarded else "the hand in the machine, where the release is missing",
        notice="it stays off" if guarded else "")


