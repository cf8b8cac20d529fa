"""Faults of what guards: the earth lead off, the speed signal of a trip lost, covered heatsink, a field lead pulled."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from designer.equations import fault as eq
from designer.equations.thermal import SINK_VOLUME
from designer.equations.varistor import COIL_ENERGY
from designer.motor.model import KELVIN
from designer.parts import plate
from designer.parts.extrusion import Size, radiating
from designer.parts.heatsink import heat_capacity
from designer.parts.heatsink_words import BARE_CASE
from designer.parts.plate import BLACK
from designer.results import FaultCase, Part, Quantity, ThermalNode
from designer.studies.fault_motor import kick
from designer.studies.field_only import winding_of
from designer.studies.groups import voltages
from designer.studies.sides import Power, Scene
from designer.studies.survey import speed_limit

#: ohm: least insulation that a frame may have, where none was read (the design is refused then)
UNREAD = 1e6
Y_UPPER = 0.2       # of a Y capacitor's value (IEC 60384-14 as sold)


def faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """Give what people meet when a guard is gone, and what a heatsink does without air."""
    if scene.alternating:
        yield _earth(scene, power)
    yield from _tacho(scene)
    if power is not None:
        yield from _covered(power)
        yield from _pulled(scene, power)


def _earth(scene: Scene, power: Power | None) -> FaultCase:
    """Frame without earth: what flows through a hand, with whole and with broken insulation."""
    project, high = scene.project, voltages(scene.project)[2]
    ohms = project.motor.insulation_resistance or UNREAD
    # the neutral open ahead: both Y capacitors hang on the line then
    filtered = sum(p.count * (1 + Y_UPPER) * p.value.value for p in (power.parts if power else ())
                   if p.role == "y-capacitor" and p.value is not None)
    current = float(eq.FRAME_CURRENT(
        V=high, f=float(project.supply.frequency or 0.0), R_ins=ohms,
        C_f=filtered + (project.motor.frame_capacitance or 0.0)))
    link = power.link if power else None
    told = {"voltage of the frame, at most": Quantity(high, "V"),
            "current through a hand, insulation whole": Quantity(current, "A"),
            "current through a person, insulation broken": Quantity(float(eq.BODY_CURRENT(V=high)), "A")}
    if link is not None:
        told["rating of the fuse, which does not see it"] = Quantity(link.rating, "A")
    return FaultCase(
        fault="earth-off", figures=told,
        name="Earth lead off" + (", and the neutral open: both Y capacitors on the line" if filtered else ""),
        ends_by="a residual-current device of 30 mA, where there is one: it trips only once a person is the path")


def _tacho(scene: Scene) -> Iterator[FaultCase]:
    """The speed signal of the overspeed trip lost."""
    found, protection, limit = scene.found, scene.project.protection, speed_limit(scene.project)
    if found is None or protection.overspeed_trip is None:
        return
    worst = max(found.unloaded, key=lambda case: case.speed)
    told = {"trip that is blind": Quantity(protection.overspeed_trip, "rad/s"),
            f"speed, {worst.name}": Quantity(worst.speed, "rad/s")}
    if limit is not None:
        told["speed limit"] = Quantity(limit, "rad/s")
    if worst.run is not None:
        told["time to it"] = Quantity(worst.run.time, "s")
    yield FaultCase(
        fault="tacho-lost", name="Speed signal lost (tacho lead, magnet, sensor): the overspeed trip is blind",
        figures=told, ends_by="the trip itself, only where no pulses while current flows count as a fault: build it so")


def _covered(power: Power) -> Iterator[FaultCase]:
    """The heatsink's fins closed by dust, a cloth or a cover: radiation alone is left."""
    sink = next((p for p in power.parts if p.role == "heatsink" and p.count and p.value is not None), None)
    if sink is None or sink.value is None or sink.value.value >= BARE_CASE:
        return
    size = power.sink.size if power.sink is not None else None
    at_limits = [one for stack in power.thermal if (one := _uncooled(sink, stack, size)) is not None]
    if not at_limits:
        return
    name, limit, told = min(at_limits, key=lambda one: one[1])
    yield FaultCase(
        fault="airflow-blocked", name="Air blocked at the heatsink: dust, a cloth, a closed cover", figures=told,
        ends_by="nothing needs to: the limit is not passed" if limit >= 0 else
        "nothing in this design: the device fails, most often shorted", first=name.removeprefix("junction, "))


def _uncooled(
    sink: Part, stack: tuple[ThermalNode, ...], size: Size | None,
) -> tuple[str, float, dict[str, Quantity]] | None:
    """A device on the covered sink: its name, the room (K) that is left to its limit, and the figures."""
    assert sink.value is not None
    junction, pair = stack[0], _nodes(stack)
    limit = next((r.limit.value for r in sink.ratings if r.name == "junction temperature"
                  and f"junction, {r.at}".startswith(junction.name)), None)
    if pair is None or limit is None or not pair[0].loss:
        return None
    node, below = pair
    edge, heat, air = float(SINK_VOLUME(R_sa=sink.value.value)) ** (1 / 3), float(node.loss or 0.0), below.temperature
    warm = float(eq.COVERED_SINK(
        T_a=air + KELVIN, P_sum=heat, eps=size.emissivity if size else BLACK,
        A_out=radiating(size) if size else _radiating(node, air, edge))) - KELVIN
    hot = warm + junction.temperature - node.temperature
    time = float(eq.NO_WAY_OUT(
        C_sink=heat_capacity(sink.value.value, size=size), dT=max(limit - junction.temperature, 0.0), P_sum=heat))
    return junction.name, limit - hot, {
        "heatsink before": Quantity(node.temperature, "degC"), "heatsink, covered": Quantity(warm, "degC"),
        f"{junction.name}, covered": Quantity(hot, "degC"), "its limit": Quantity(limit, "degC"),
        "time to it, were no heat to leave": Quantity(time, "s")}


def _radiating(node: ThermalNode, air: float, edge: float) -> float:
    """m²: the outer faces of a finned block of that edge (m), or of the plate that sheds as much, the smaller."""
    return min(6 * edge**2, 2 * plate.side(float(node.loss or 0.0), sink=node.temperature, air=air) ** 2)


def _nodes(stack: tuple[ThermalNode, ...]) -> tuple[ThermalNode, ThermalNode] | None:
    """The heatsink of a stack and what it gives its heat to; None where it has none."""
    return next(((one, after) for one, after in pairwise(stack) if one.name == "heatsink"), None)


def _pulled(scene: Scene, power: Power) -> Iterator[FaultCase]:
    """A lead of a field with its own feed pulled off while the current flows."""
    project = scene.project
    if scene.kind.winding not in ("separate", "field-only"):
        return
    current = _flowing(scene)
    coil = float(winding_of(project).inductance(0.0))       # unsaturated: the most that it can hold
    if not coil > 0 or not current > 0:
        return
    own = power.sides.get("field")
    yield FaultCase(
        fault="field-lead-pulled", name="A field lead pulled off while the current flows: an arc, a bite, and no field",
        figures={"field current": Quantity(current, "A"),
                 "energy": Quantity(float(COIL_ENERGY(L_coil=coil, i_coil=current)), "J"), **kick(coil, current)},
        ends_by="the field-current relay takes the armature off" if own else
        "the arc itself, until the energy is gone: the diode helps only as long as the winding is still on it")


def _flowing(scene: Scene) -> float:
    """The field's greatest current in running, A."""
    peak = scene.worst("field_current_peak").value
    return peak or scene.worst("field_current_rms").value
