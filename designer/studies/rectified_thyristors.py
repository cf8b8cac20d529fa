"""The thyristors of a rectifier with their snubbers and the choke ahead of them, from what was surveyed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from designer.equations.snubber import RECOVERY_CURRENT
from designer.parts import thyristor, thyristor_snubber, turn_on_choke
from designer.parts.line_choke import lower
from designer.parts.margins import holds, share
from designer.parts.triac_classes import UNITS as SWITCH_KEYS
from designer.results import Part
from designer.studies.groups import given_of, voltages
from designer.studies.sides import Scene
from designer.studies.stall import stall_ends

LEAD_INDUCTANCE = 50e-6       # H, supply and leads without a choke: order of magnitude, common practice, no source
DEVICE_CAPACITANCE = 100e-12  # F, of a blocking thyristor: order of magnitude, from memory
LEAST_STEP = 2.0              # V: two drops come back at the least when a diode takes over
MOST_CHOKES = 4               # sizes tried before the next class of thyristor


@dataclass(frozen=True, kw_only=True)
class Thyristors:
    """The thyristors chosen: ``mean_current`` (A) of one, how many, their snubbers, the choke ahead of them.

    The choke is None where no diode free-wheels.
    """

    device: thyristor.Device
    demand: thyristor.Demand
    mean_current: float
    count: int
    snubbers: tuple[Part, ...]
    choke: Part | None = None


@dataclass(frozen=True, kw_only=True)
class Loop:
    """What stands between mains and thyristor besides the motor: H at the least, the choke's part or None."""

    inductance: float
    choke: Part | None = None


def crest(scene: Scene) -> float:
    """The crest of the highest mains, V."""
    return math.sqrt(2) * voltages(scene.project)[2]


def thyristors_of(scene: Scene, count: int) -> Thyristors:
    """Give the smallest class that holds with its snubber and its choke; the user's own device where it is given.

    Raises ``InputError`` where a part cannot be had, with the figure.
    """
    given, stalls = given_of(scene.project.parts.switch, SWITCH_KEYS), scene.stalled
    mean, rms = scene.worst("switch_current_mean"), scene.worst("switch_current_rms")
    slope = scene.worst("turn_off_current_slope", "any")
    bare = thyristor.Demand(
        mains_peak=crest(scene), peak_voltage=crest(scene), mean_absolute_current=mean.value, rms_current=rms.value,
        surge_peak=stalls[1].peak, stall_peak=max(stall.peak for stall in stalls), turn_off_slope=slope.value,
        reapplied_voltage=scene.worst("reapplied_voltage", "any").value, reapplied_rise=0.0, rise_of_current=0.0,
        shorts=scene.shorts, stall_mean_absolute_current=stalls[0].mean_absolute,
        stall_rms_current=stalls[0].rms, stall_time=stall_ends(scene.project, stalls[0]),
        at={"r.m.s. current": rms.at, "mean current": mean.at},
        sensitive=scene.project.control.feedback == "residual-voltage")
    found: Thyristors | None = None
    for device in thyristor.candidates(bare, given=given, margins=scene.margins):
        for loop in _loops(scene, bare, device):
            found = _held(scene, bare, device, loop, count=count)
            made = thyristor.part(
                device, demand=found.demand, margins=scene.margins, mean_current=mean.value, count=count)
            if given or all(holds(r) for r in made.ratings):
                return found
    thyristor.choose(found.demand if found else bare, given=given, margins=scene.margins, mean_current=mean.value,
                     count=count)   # raises, with what falls short
    raise AssertionError("the choice above does not return where no class holds")


def _held(scene: Scene, bare: thyristor.Demand, device: thyristor.Device, loop: Loop, *, count: int) -> Thyristors:
    """A class with the snubbers that go with it and with the choke ahead of it."""
    parts = thyristor_snubber.choose(_snubber_demands(scene, bare, device, loop), count=count, flux=_flux(scene))
    return Thyristors(
        device=device, demand=_with_snubber(scene, bare, parts, loop), mean_current=bare.mean_absolute_current,
        count=count, snubbers=parts, choke=loop.choke)


def takes_over(scene: Scene) -> bool:
    """True where a thyristor that fires meets a diode, or another thyristor, that still free-wheels."""
    return scene.fixed is not None and (scene.fixed.freewheeling or "bridge" in scene.kind.sides)


def _loops(scene: Scene, bare: thyristor.Demand, device: thyristor.Device) -> Iterator[Loop]:
    """The chokes worth trying, the least first; without one where nothing free-wheels.

    Every further one is for snubbers that the smaller loop leaves no values. Raises ``InputError`` where no choke
    carries the current.
    """
    if not takes_over(scene):
        yield Loop(inductance=LEAD_INDUCTANCE)
        return
    demand = turn_on_choke.Demand(
        crest=bare.mains_peak, rise=device["rise_of_current"], rms=scene.worst("line_current_rms").value,
        peak=scene.worst("switch_current_peak").value, stall_peak=scene.stalled[0].peak,
        at=scene.worst("line_current_rms").at, margins=scene.margins)
    for inductance in turn_on_choke.inductances(demand)[:MOST_CHOKES]:
        yield Loop(inductance=lower(inductance), choke=turn_on_choke.choose(demand, inductance))


def _flux(scene: Scene) -> float | None:
    """The flux of a separate field at its greatest current, V·s; None of a series motor."""
    assert scene.found is not None
    assert scene.fixed is not None
    if scene.fixed.field is None:
        return None
    motor, current = scene.fixed.motor, float(np.nanmax(scene.found.held.points.field_current))
    return float(motor.curve.at(current, motor.remanence))


def _snubber_demands(
    scene: Scene, bare: thyristor.Demand, device: thyristor.Device, loop: Loop
) -> tuple[thyristor_snubber.Demand, ...]:
    """The loops that the thyristor's current leaves: a diode took it over, or it ended by itself in the motor's."""
    assert scene.fixed is not None
    fixed, motor, supply = scene.fixed, scene.fixed.motor, scene.project.supply
    windings = motor.series_winding().inductance(scene.worst("armature_current_peak", "any").value)
    own = float(motor.armature_inductance if fixed.field is not None else windings)
    resistance = float(np.min(scene.groups["running"][0].solved.model.resistance))
    taken, ended = _reapplied(scene)
    allowed = share("rise_of_current", scene.margins)[0]
    loops = [(loop.inductance, 0.0, taken)] if taken is not None else []
    loops += [(loop.inductance + own, resistance, ended)] if ended is not None else []
    return tuple(thyristor_snubber.Demand(
        supply_rms_high=voltages(scene.project)[2], frequency=float(supply.frequency or 0.0),
        step_voltage=max(step, LEAST_STEP), inductance=inductance, resistance=supply.source_resistance + ohms,
        recovery_current=float(RECOVERY_CURRENT(slope_i=bare.turn_off_slope)), voltage_rating=device["voltage"],
        commutating_dvdt=None, critical_dvdt=device["critical_dvdt"], turn_off_slope=bare.turn_off_slope,
        turn_off_slope_limit=device["commutating_slope"],
        turn_on_slope_limit=(device["rise_of_current"] - _line_rise(bare, loop) / allowed) / _discharging(scene),
        device_capacitance=DEVICE_CAPACITANCE, lead_inductance=max(supply.source_inductance, loop.inductance),
        flux_slope=motor.curve.initial_slope, friction_torque=motor.friction_torque, margins=scene.margins)
        for inductance, ohms, step in loops)


def _reapplied(scene: Scene) -> tuple[float | None, float | None]:
    """The greatest voltage (V) that comes back when a diode has taken the current over, and when it ended by itself.

    None where no state surveyed does so; at the least the first, where nothing conducts in any state.
    """
    taken: float | None = None
    ended: float | None = None
    for group in scene.groups["any"]:
        volts, over = group.stresses["reapplied_voltage"], np.isfinite(group.solved.state.commutation)
        for volt, by_diode in zip(volts.tolist(), over.tolist(), strict=True):
            if by_diode and math.isfinite(volt):
                taken = max(taken or 0.0, volt)
            elif math.isfinite(volt):
                ended = max(ended or 0.0, volt)
    return (0.0 if taken is None and ended is None else taken), ended


def _discharging(scene: Scene) -> int:
    """How many snubbers' currents the thyristor that fires takes.

    In a common-cathode bridge its cathode lifts that of the other, whose snubber charges through it.
    """
    return 2 if scene.fixed is not None and scene.fixed.bridge == "common-cathode" else 1


def _with_snubber(
    scene: Scene, bare: thyristor.Demand, parts: tuple[Part, ...], loop: Loop
) -> thyristor.Demand:
    """Add overshoot and rise at turn-off, and at turn-on what the snubber and the freewheel diode's current ask."""
    stresses = {rating.name: rating.stress.value for part in parts for rating in part.ratings}
    return replace(bare, peak_voltage=max(bare.peak_voltage, stresses["switch voltage at turn-off"]),
                   reapplied_rise=stresses["rise of voltage at turn-off"],
                   rise_of_current=_discharging(scene) * stresses["current rise at turn-on"] + _line_rise(bare, loop))


def _line_rise(bare: thyristor.Demand, loop: Loop) -> float:
    """Rise of the line's own current, A/s, when it takes over from the freewheel path at the crest."""
    return bare.mains_peak / loop.inductance
