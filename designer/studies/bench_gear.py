"""The bench's gear for first power: isolation or variable transformer, series lamp."""

from __future__ import annotations

import math

from designer.motor.model import Load
from designer.parts import test_gear
from designer.quantities import engineering
from designer.results import Quantity, Table
from designer.studies.groups import voltages
from designer.studies.sides import Scene
from designer.tables import marked


def gear(scene: Scene) -> tuple[Table, ...]:
    """Give the table; none on a direct supply."""
    if not scene.alternating:
        return ()
    return (Table(
        name="test-gear", title="Gear for first power", columns=("what", "figure", "remark"),
        rows=(*_transformer(scene), *_lamp(scene)),
        note="A variable autotransformer does not isolate. Its brush carries the same current at every setting: it is "
             "bought by amperes, whatever its volt-amperes say. A transformer's own switch-on takes 10 to 15 times its "
             "rated current for a half cycle (from memory): a slow fuse ahead of it, and one load on it. Behind an "
             "isolation transformer a residual-current device does nothing."),)


def _transformer(scene: Scene) -> tuple[tuple[Quantity | str, ...], ...]:
    line = scene.worst("line_current_rms")
    found = test_gear.supply(line.value, voltage=voltages(scene.project)[2], direct=scene.kind.line == "half-wave")
    rows: list[tuple[Quantity | str, ...]] = [
        ("apparent power of the line, highest mains", Quantity(found.apparent.value, "V*A"), line.at)]
    if found.size is None:
        return (*rows, ("isolation or variable transformer", "none", found.refused))
    peak = scene.worst("line_current_peak").value
    return (
        *rows,
        ("isolation transformer, at least", Quantity(found.size.power, "V*A"),
         marked(found.size.source, found.size.mark)),
        ("variable transformer, rated current at least", Quantity(line.value, "A"), "r.m.s., harmonics counted"),
        ("crest of the line current behind it", Quantity(peak, "A"),
         "the transformer's impedance lowers it, and flattens the crest of the voltage"))


def _lamp(scene: Scene) -> tuple[tuple[Quantity | str, ...], ...]:
    """The series lamp of a series motor on mains; others have theirs in the steps to first power."""
    if scene.kind.line == "half-wave":
        return (("series lamp", "none", "half-wave: a lamp in the motor's place, see the steps to first power"),)
    if scene.found is None or scene.kind.winding != "series" or scene.kind.line == "bus":
        return (("series lamp", "see the steps to first power", "it tells a short ahead of the bus or armature"),)
    found, project = scene.found, scene.project
    coupled = project.load.coupling == "fixed"
    cold = found.thermal.cold
    lamp = test_gear.series_lamp(
        found.fixed.motor, found.fixed.load if coupled else Load(), voltage=float(project.supply.voltage or 0.0),
        windings=sum(float(r) for r in found.fixed.motor.resistances(cold, cold)))
    if lamp is None:
        return (("series lamp", "none", f"none up to {test_gear.LAMPS[-1]:g} W turns this motor"),)
    lasting = scene.worst("line_current_rms").value
    told = (f"{100 * lamp.heats(lasting):.0f} % of the windings' heat at the load: "
            + ("a jammed rotor behind it stays cool for good" if test_gear.bearable(lamp, lasting)
               else "do not leave a jammed rotor on it"))
    limit = project.load.maximum_speed or math.inf
    return (
        ("series lamp, the smallest that turns this motor", Quantity(lamp.power, "W"),
         f"filament hot {engineering(lamp.resistance.value, 'ohm', 3)}"),
        ("current behind it with the rotor jammed or a short, at most", Quantity(lamp.stalled.value, "A"), told),
        ("speed unloaded behind it", Quantity(lamp.free, "rad/s"),
         "below half of the limit" if lamp.free <= 0.5 * limit < math.inf else "a lamp is no overspeed guard"))
