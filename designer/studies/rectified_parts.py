"""The power parts of a rectifier on phase angle from what was surveyed: thyristors, diodes, motor leads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from designer.circuits.case import Drop
from designer.parts import bridge, bridge_classes, conductors, heatsink, mains_diode, thyristor, triac
from designer.parts.coordination import Bears, Short
from designer.results import Part
from designer.studies.groups import given_of
from designer.studies.rectified_thyristors import Thyristors, crest, thyristors_of
from designer.studies.sides import Scene
from designer.studies.stall import stall_ends
from designer.studies.stall_leads import on_motor


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

    def behind(self, shorts: tuple[Short, ...], *, margins: Mapping[str, float]) -> tuple[Part, ...]:
        """Give thyristors and diodes with their checks against the shorts that the fuse lets through."""
        one = self.thyristors
        made = [thyristor.part(one.device, demand=replace(one.demand, shorts=shorts), margins=margins,
                               mean_current=one.mean_current, count=one.count)]
        for of in (self.rectifiers, self.freewheel):
            if of is not None:
                made.append(mains_diode.part(of.diode, demand=replace(of.demand, shorts=shorts),
                                             margins=margins))
        if self.module is not None:
            device, demand = self.module
            made.append(bridge_part(device, replace(demand, shorts=shorts), margins))
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
    def bears(self) -> tuple[Bears, ...]:
        """What each kind of device bears of a short."""
        diodes = [mains_diode.bears(of.diode, name=name) for of, name in (
            (self.freewheel, "freewheel diode"), (self.rectifiers, "rectifier diode")) if of is not None]
        module = () if self.module is None else (bridge.bears(self.module[0]),)
        return (triac.bears(self.thyristors.device, name="thyristor"), *diodes, *module)

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
    return Chosen(thyristors=thyristors_of(scene, thyristors), freewheel=freewheel, rectifiers=single,
                  module=_module(scene) if diodes == bridge_classes.DIODES else None)


def stalled(scene: Scene, name: str) -> float:
    """A stress of the stall at the setting, A."""
    return float(scene.groups["stall"][0].stresses[name][0])


def _diodes(scene: Scene, *, role: mains_diode.Role, name: str, count: int) -> Diodes:
    given = given_of(getattr(scene.project.parts, name), bridge_classes.UNITS)
    mean, rms = scene.worst(f"{name}_current_mean"), scene.worst(f"{name}_current_rms")
    surge = scene.worst(f"{name}_current_peak", "stall")
    demand = mains_diode.Demand(
        role=role, crest=crest(scene), mean_current=mean.value, rms_current=rms.value, surge_peak=surge.value,
        stall_mean_current=stalled(scene, f"{name}_current_mean"),
        stall_rms_current=stalled(scene, f"{name}_current_rms"),
        stall_time=stall_ends(scene.project, scene.stalled[0]), shorts=scene.shorts, count=count,
        at={"mean current of one diode": mean.at, "r.m.s. current of one diode": rms.at,
            "surge current at stall": surge.at})
    return Diodes(diode=mains_diode.choose(demand, given=given, margins=scene.margins)[1], demand=demand)


def _module(scene: Scene) -> tuple[bridge.Device, bridge.Demand]:
    """Four diodes in one body; what they bear at a stall counts as their surge."""
    mean, rms = scene.worst("rectifier_current_mean"), scene.worst("rectifier_current_rms")
    demand = bridge.Demand(
        crest=crest(scene), mean_current=mean.value, rms_current=rms.value,
        peak_current=scene.worst("rectifier_current_peak").value,
        inrush_peak=scene.worst("rectifier_current_peak", "stall").value, shorts=scene.shorts,
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


def motor_leads(scene: Scene) -> Part:
    """The motor's leads: the freewheel path's current too, which the line fuse does not see, running and stalled."""
    worst = scene.worst("armature_current_rms")
    made = conductors.winding_leads(
        conductors.Carried(current=worst.value, ambient=scene.box, at=worst.at, overloads=on_motor(scene)),
        role="motor-wire", what="motor", margins=scene.margins)
    return replace(made, description=made.description.replace("for the bus voltage", "for mains"))
