"""The power parts of a rectifier on phase angle from what was surveyed: thyristors, diodes, snubbers, motor leads."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.case import Drop
from designer.equations.snubber import RECOVERY_CURRENT
from designer.parts import bridge, bridge_classes, conductors, heatsink, mains_diode, thyristor, thyristor_snubber
from designer.parts.margins import holds, share
from designer.parts.triac_classes import UNITS as SWITCH_KEYS
from designer.results import Part
from designer.studies.groups import given_of, voltages
from designer.studies.sides import Scene
from designer.studies.stall import stall_ends

LEAD_INDUCTANCE = 50e-6       # H, supply and leads: order of magnitude, common practice, no source
DEVICE_CAPACITANCE = 100e-12  # F, of a blocking thyristor: order of magnitude, from memory
LEAST_STEP = 2.0              # V: two drops come back at the least when a diode takes over


@dataclass(frozen=True, kw_only=True)
class Thyristors:
    """The thyristors chosen: ``mean_current`` (A) of one, how many, and their snubbers."""

    device: thyristor.Device
    demand: thyristor.Demand
    mean_current: float
    count: int
    snubbers: tuple[Part, ...]


@dataclass(frozen=True, kw_only=True)
class Diodes:
    """Single diodes of one kind, ``demand`` tells what and how many."""

    diode: mains_diode.Diode
    demand: mains_diode.Demand


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """All power parts: thyristors, freewheel diode, the two single diodes or the four of a bridge."""

    thyristors: Thyristors
    freewheel: Diodes | None
    rectifiers: Diodes | None
    module: tuple[bridge.Device, bridge.Demand] | None

    def behind(self, let_through: float, *, margins: Mapping[str, float]) -> tuple[Part, ...]:
        """Give thyristors and diodes with their checks against what the fuse lets through (A²s)."""
        one = self.thyristors
        made = [thyristor.part(one.device, demand=replace(one.demand, let_through=let_through), margins=margins,
                               mean_current=one.mean_current, count=one.count)]
        for of in (self.rectifiers, self.freewheel):
            if of is not None:
                made.append(mains_diode.part(of.diode, demand=replace(of.demand, let_through=let_through),
                                             margins=margins))
        if self.module is not None:
            device, demand = self.module
            made.append(bridge_part(device, replace(demand, let_through=let_through), margins))
        return tuple(made)

    def on_sink(self, *, margins: Mapping[str, float]) -> tuple[heatsink.Device, ...]:
        """Give all that stands on the heatsink."""
        one = self.thyristors
        made = [thyristor.on_sink(one.device, name="thyristor", demand=one.demand, margins=margins, count=one.count)]
        for of, name in ((self.rectifiers, "rectifier diode"), (self.freewheel, "freewheel diode")):
            if of is not None:
                made.append(mains_diode.on_sink(of.diode, name=name, demand=of.demand, margins=margins))
        if self.module is not None:
            made.append(bridge.on_sink(self.module[0], demand=self.module[1], margins=margins))
        return tuple(made)

    @property
    def every(self) -> tuple[Mapping[str, float], ...]:
        """The values of each kind of device."""
        diodes = [of.diode.device.values for of in (self.freewheel, self.rectifiers) if of is not None]
        module = () if self.module is None else (self.module[0].values,)
        return (self.thyristors.device.values, *diodes, *module)

    @property
    def drops(self) -> dict[str, Drop]:
        """The conducting drops for the next survey."""
        told = {"switch": self.thyristors.device.values}
        if self.freewheel is not None:
            told["freewheel"] = self.freewheel.diode.device.values
        if self.rectifiers is not None:
            told["rectifier"] = self.rectifiers.diode.device.values
        if self.module is not None:
            told["rectifier"] = self.module[0].values
        return {role: Drop(threshold=v["threshold_voltage"], slope=v["slope_resistance"]) for role, v in told.items()}

    @property
    def marks(self) -> tuple[str, ...]:
        """Where the devices' values come from, but for the user's own."""
        found = set(self.thyristors.device.marks.values())
        for of in (self.freewheel, self.rectifiers):
            found |= set() if of is None else set(of.diode.device.marks.values())
        found |= set() if self.module is None else set(self.module[0].marks.values())
        return tuple(sorted(found - {"your file"}))


def choose(scene: Scene, *, thyristors: int, diodes: int) -> Chosen:
    """Choose all power parts: so many thyristors, so many diodes of the bridge (none, two single ones, or four in one).

    Raises ``InputError`` where a part cannot be had, with the figure.
    """
    freewheel = None
    if scene.fixed is not None and scene.fixed.freewheeling:
        freewheel = _diodes(scene, role="flyback-diode", name="freewheel", count=1)
    single = _diodes(scene, role="rectifier-diode", name="rectifier", count=diodes) if diodes == 2 else None
    return Chosen(thyristors=_thyristors(scene, thyristors), freewheel=freewheel, rectifiers=single,
                  module=_module(scene) if diodes == bridge_classes.DIODES else None)


def stalled(scene: Scene, name: str) -> float:
    """A stress of the stall at the setting, A."""
    return float(scene.groups["stall"][0].stresses[name][0])


def crest(scene: Scene) -> float:
    """The crest of the highest mains, V."""
    return math.sqrt(2) * voltages(scene.project)[2]


def _diodes(scene: Scene, *, role: mains_diode.Role, name: str, count: int) -> Diodes:
    given = given_of(getattr(scene.project.parts, name), bridge_classes.UNITS)
    mean, rms = scene.worst(f"{name}_current_mean"), scene.worst(f"{name}_current_rms")
    surge = scene.worst(f"{name}_current_peak", "stall")
    demand = mains_diode.Demand(
        role=role, crest=crest(scene), mean_current=mean.value, rms_current=rms.value, surge_peak=surge.value,
        stall_mean_current=stalled(scene, f"{name}_current_mean"),
        stall_rms_current=stalled(scene, f"{name}_current_rms"),
        stall_time=stall_ends(scene.project, scene.stalled[0]), let_through=scene.let_through, count=count,
        at={"mean current of one diode": mean.at, "r.m.s. current of one diode": rms.at,
            "surge current at stall": surge.at})
    return Diodes(diode=mains_diode.choose(demand, given=given, margins=scene.margins)[1], demand=demand)


def _module(scene: Scene) -> tuple[bridge.Device, bridge.Demand]:
    """Four diodes in one body; what they bear at a stall counts as their surge."""
    mean, rms = scene.worst("rectifier_current_mean"), scene.worst("rectifier_current_rms")
    demand = bridge.Demand(
        crest=crest(scene), mean_current=mean.value, rms_current=rms.value,
        peak_current=scene.worst("rectifier_current_peak").value,
        inrush_peak=scene.worst("rectifier_current_peak", "stall").value, let_through=scene.let_through,
        at={"mean current of one diode": mean.at, "r.m.s. current of one diode": rms.at})
    device = bridge.choose(demand, given=given_of(scene.project.parts.rectifier, bridge_classes.UNITS),
                           margins=scene.margins)[1]
    return device, demand


def bridge_part(device: bridge.Device, demand: bridge.Demand, margins: Mapping[str, float]) -> Part:
    """Give the four diodes with words that fit a bridge without a reservoir."""
    made = bridge.part(device, demand=demand, margins=margins)
    ratings = tuple(
        replace(rating, name="surge current at stall") if rating.name == "surge current at switch-on" else rating
        for rating in made.ratings if rating.name != "I²t of switch-on")
    notes = tuple(note for note in made.notes if not note.startswith("Each pulse"))
    return replace(made, ratings=ratings, notes=notes, if_wrong=(
        "Too low a voltage or too small a surge: one diode fails short, and the next half cycle shorts the line "
        "through the one beside it. Too small a current: it burns on its own heat."))


def _thyristors(scene: Scene, count: int) -> Thyristors:
    """The smallest class that holds with its snubber; the user's own device where it is given."""
    given, stalls = given_of(scene.project.parts.switch, SWITCH_KEYS), scene.stalled
    mean, rms = scene.worst("switch_current_mean"), scene.worst("switch_current_rms")
    slope = scene.worst("turn_off_current_slope", "any")
    bare = thyristor.Demand(
        mains_peak=crest(scene), peak_voltage=crest(scene), mean_absolute_current=mean.value, rms_current=rms.value,
        surge_peak=stalls[1].peak, stall_peak=max(stall.peak for stall in stalls), turn_off_slope=slope.value,
        reapplied_voltage=scene.worst("reapplied_voltage", "any").value, reapplied_rise=0.0, rise_of_current=0.0,
        let_through=scene.let_through, stall_mean_absolute_current=stalls[0].mean_absolute,
        stall_rms_current=stalls[0].rms, stall_time=stall_ends(scene.project, stalls[0]),
        at={"r.m.s. current": rms.at, "mean current": mean.at})
    found: Thyristors | None = None
    for device in thyristor.candidates(bare, given=given, margins=scene.margins):
        parts = thyristor_snubber.choose(_snubber_demands(scene, bare, device), count=count, flux=_flux(scene))
        found = Thyristors(device=device, demand=_with_snubber(scene, bare, parts), mean_current=mean.value,
                           count=count, snubbers=parts)
        made = thyristor.part(device, demand=found.demand, margins=scene.margins, mean_current=mean.value, count=count)
        if given or all(holds(r) for r in made.ratings):
            return found
    thyristor.choose(found.demand if found else bare, given=given, margins=scene.margins, mean_current=mean.value,
                     count=count)   # raises, with what falls short
    raise AssertionError("the choice above does not return where no class holds")


def _flux(scene: Scene) -> float | None:
    """The flux of a separate field at its greatest current, V·s; None of a series motor."""
    assert scene.found is not None
    assert scene.fixed is not None
    if scene.fixed.field is None:
        return None
    motor, current = scene.fixed.motor, float(np.nanmax(scene.found.held.points.field_current))
    return float(motor.curve.at(current, motor.remanence))


def _snubber_demands(
    scene: Scene, bare: thyristor.Demand, device: thyristor.Device
) -> tuple[thyristor_snubber.Demand, ...]:
    """The loops that the thyristor's current leaves: a diode took it over, or it ended by itself in the motor's."""
    assert scene.fixed is not None
    fixed, motor, supply = scene.fixed, scene.fixed.motor, scene.project.supply
    windings = motor.series_winding().inductance(scene.worst("armature_current_peak", "any").value)
    own = float(motor.armature_inductance if fixed.field is not None else windings)
    resistance = float(np.min(scene.groups["running"][0].solved.model.resistance))
    taken, ended = _reapplied(scene)
    loops = [(LEAD_INDUCTANCE, 0.0, taken)] if taken is not None else []
    loops += [(LEAD_INDUCTANCE + own, resistance, ended)] if ended is not None else []
    return tuple(thyristor_snubber.Demand(
        supply_rms_high=voltages(scene.project)[2], frequency=float(supply.frequency or 0.0),
        step_voltage=max(step, LEAST_STEP), inductance=inductance, resistance=supply.source_resistance + ohms,
        recovery_current=float(RECOVERY_CURRENT(slope_i=bare.turn_off_slope)), voltage_rating=device["voltage"],
        commutating_dvdt=None, critical_dvdt=device["critical_dvdt"], turn_off_slope=bare.turn_off_slope,
        turn_off_slope_limit=device["commutating_slope"],
        turn_on_slope_limit=(device["rise_of_current"] - _line_rise(bare) / share("rise_of_current", scene.margins)[0])
        / _discharging(scene),
        device_capacitance=DEVICE_CAPACITANCE, lead_inductance=max(supply.source_inductance, LEAD_INDUCTANCE),
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


def _with_snubber(scene: Scene, bare: thyristor.Demand, parts: tuple[Part, ...]) -> thyristor.Demand:
    """Add overshoot and rise at turn-off, and at turn-on what the snubber and the freewheel diode's current ask."""
    stresses = {rating.name: rating.stress.value for part in parts for rating in part.ratings}
    return replace(bare, peak_voltage=max(bare.peak_voltage, stresses["switch voltage at turn-off"]),
                   reapplied_rise=stresses["rise of voltage at turn-off"],
                   rise_of_current=_discharging(scene) * stresses["current rise at turn-on"] + _line_rise(bare))


def _line_rise(bare: thyristor.Demand) -> float:
    """Rise of the line's own current, A/s, when it takes over from the freewheel path at the crest."""
    return bare.mains_peak / LEAD_INDUCTANCE


def motor_leads(scene: Scene) -> Part:
    """The motor's leads: they carry the freewheel path's current too, which the line fuse does not see."""
    worst = scene.worst("armature_current_rms")
    made = conductors.leads(worst.value, role="motor-wire", what="motor", ambient=scene.box, margins=scene.margins,
                            at=worst.at)
    return replace(made, description=made.description.replace("for the bus voltage", "for mains"))
