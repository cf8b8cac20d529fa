"""All sides of a circuit together: one box, one heatsink, one line fuse that saves them all."""

from __future__ import annotations

import math
from dataclasses import replace

from designer.errors import InputError
from designer.parts import extrusion, fuse, heatsink
from designer.parts.fuse_gates import Link
from designer.parts.heat_path import box_rise
from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.results import Part, Reason, ThermalNode
from designer.studies.sides import Power, Scene, SideParts, side
from designer.studies.sides.mains import beside, front, line_demand

WARM_FOR_GOOD = ("bleeder", "field-resistor", "reference-resistor")
SWITCHES = ("Q1", "thyristor")     # names on the sink of what [parts.switch] tells of
CONTROL_LOSS = 2.0           # W of the control side in the box: common practice, no source
Nodes = tuple[tuple[ThermalNode, ...], ...]


def power(scene: Scene, *, loss: float) -> tuple[Power | None, tuple[Reason, ...]]:
    """Choose every part; what cannot be had becomes a reason, and the power side is then None.

    ``loss``: W that the devices bring into the box, from the survey.
    """
    try:
        return _power(scene, loss), ()
    except InputError as error:
        return None, (no_part(error, scene.kind),)


def _power(scene: Scene, loss: float) -> Power:
    box = scene.ambient + _rise(scene.project, loss + CONTROL_LOSS)
    scene = replace(scene, box=box)
    demand = line_demand(scene) if scene.alternating else None
    sides = _sides(scene, demand)
    more = sum(made.line_current for made in sides.values())
    if demand is not None and more > 0:      # a field on the same mains: the fuse is another, and what it lets through
        demand = beside(demand, more)
        sides = _sides(scene, demand)
    devices = tuple(device for made in sides.values() for device in made.on_sink)
    hung = _hung(scene, devices)
    sink, nodes = _sink(scene, hung)
    ahead, link, through = front(scene, demand, tuple(sides.values()))
    parts = [*ahead]
    for made in sides.values():
        parts += [*made.behind(through), *made.parts]
    return Power(parts=(*parts, *sink), thermal=nodes, link=link, sides=sides, box=box, sink=hung,
                 heat=sum(device.loss * device.count for device in devices) + _resistors(parts))


def _sides(scene: Scene, demand: fuse.Demand | None) -> dict[str, SideParts]:
    """The parts of every side behind a line fuse of that demand."""
    if demand is not None:
        scene = replace(scene, shorts=fuse.mildest(demand, margins=scene.margins))
    sides: dict[str, SideParts] = {}
    for name in scene.kind.sides:
        if name != "mains":
            sides[name] = side(name).parts(scene)
            scene = replace(scene, surge=max(scene.surge, sides[name].surge))
    return sides


def _resistors(parts: list[Part]) -> float:
    """W of the resistors that burn for good in the box: bleeders, and what stands in series with a field."""
    return sum(part.count * rating.stress.value for part in parts if part.role in WARM_FOR_GOOD
               for rating in part.ratings if rating.name == "power")


def _hung(scene: Scene, devices: tuple[heatsink.Device, ...]) -> heatsink.Demand | None:
    """What hangs on the heatsink that all devices share; None where none needs one."""
    if not devices:
        return None
    own, switch = scene.project.parts.heatsink, scene.project.parts.switch
    if switch is not None and switch.foster:
        devices = tuple(replace(one, foster=switch.foster) if one.name in SWITCHES else one for one in devices)
    return heatsink.Demand(
        devices=devices, ambient=scene.ambient, box_rise=scene.box - scene.ambient,
        given=own.thermal_resistance if own else None, at=scene.worst("switch_current_rms").at,
        frequency=float(scene.project.supply.frequency or 0.0) if scene.alternating else 0.0,
        size=extrusion.of_file(own), altitude=scene.project.ambient.altitude)


def _sink(scene: Scene, hung: heatsink.Demand | None) -> tuple[tuple[Part, ...], Nodes]:
    """The heatsink that all devices share, if any needs one."""
    if hung is None:
        return (), ()
    sink, nodes = heatsink.choose(hung, margins=scene.margins)
    return (sink,), nodes


def _rise(project: Project, loss: float) -> float:
    enclosure = project.ambient.enclosure
    return box_rise(loss, ventilated=bool(enclosure and enclosure.ventilated),
                    volume=enclosure.volume if enclosure else None)


def no_part(error: InputError, kind: CircuitKind) -> Reason:
    """The reason that stands for a part that cannot be had, by the key that the user can change."""
    key = "load.torque" if error.key == "load.current" and kind.drives_motor else error.key
    found = "nothing given" if error.found is None else error.found
    return Reason(code="no-part", message=f"No part can be had ({key}): {found}; allowed {error.allowed}.",
                  way_out=error.hint)


def fuse_opens(link: Link | None, current: float) -> tuple[float, float]:
    """Earliest and latest time, s, after which the line fuse opens at a current; never without one."""
    from designer.parts.fuse_gates import opening_time

    return (math.inf, math.inf) if link is None else opening_time(link, current=current)
