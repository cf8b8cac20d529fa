"""Every chosen part held against its stress, apart from the package's checks.

Limits: the row of the table of classes that the part's marking names. Shares: ``margins.csv``, read here. Stresses:
the greatest over the states themselves, those inside the box that no part was chosen from among them, and plain
arithmetic on the parts' own values at the bad ends of their tolerances.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

import numpy as np

from designer.results import Part
from designer.studies.groups import Group, voltages
from tests.properties.designs import Design

EQUAL = 1e-6                # relative: rounding of a survey's figures
#: of a state inside the box over the corners: the survey solves to 1e-4, its speeds to 3e-5
SURVEYED = 1e-3


@dataclass(frozen=True, kw_only=True)
class Need:
    """One limit of one part: ``stress`` has to stay within ``share`` × ``limit``, but for ``within``, relative."""

    part: str
    what: str
    stress: float
    limit: float
    share: float = 1.0
    within: float = EQUAL

    @property
    def held(self) -> bool:
        """True where the part bears it with its margin."""
        return self.stress <= self.share * self.limit * (1 + self.within)


@cache
def table(name: str) -> tuple[Mapping[str, str], ...]:
    """The rows of a table of the package as they stand in the file."""
    text = files("designer.tables").joinpath(f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@cache
def margin(key: str) -> float:
    """The share of a limit that may be used, from the table."""
    return next(float(row["value"]) for row in table("margins") if row["key"] == key)


def row_of(name: str, part: Part, **more: float) -> dict[str, float]:
    """The class of a part by its rated current (its value), and whatever else tells classes apart."""
    assert part.value is not None
    wanted = {"current": part.value.value, **more}
    found = next(row for row in table(name) if all(float(row[key]) == value for key, value in wanted.items()))
    return {key: float(value) for key, value in found.items() if _number(value)}


def _number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


@dataclass(frozen=True, kw_only=True)
class Seen:
    """The states of a design by what they are: running for good, jammed, all."""

    design: Design

    @property
    def running(self) -> tuple[Group, ...]:
        """Loaded states: surveyed, and inside the box."""
        return (*self.design.scene.groups["running"], self.design.states.fresh)

    @property
    def every(self) -> tuple[Group, ...]:
        """All states, jammed and unloaded ones too."""
        return (*self.design.scene.groups["any"], self.design.states.fresh)

    @property
    def jammed(self) -> tuple[Group, ...]:
        """At rest."""
        return self.design.scene.groups["stall"]

    def worst(self, name: str, groups: tuple[Group, ...] | None = None) -> float:
        """The greatest of a stress."""
        groups = self.running if groups is None else groups
        return max(float(np.nanmax(np.nan_to_num(group.stresses[name]))) for group in groups
                   if name in group.stresses and len(group.labels))


def parts_of(design: Design, role: str) -> list[Part]:
    """The parts of a role that are bought."""
    return [part for part in design.parts if part.role == role and part.count]


def voltage_of(part: Part) -> float:
    """The voltage class printed on a device: ``16 A 800 V``."""
    return float(part.marking.split()[2])


def line_needs(design: Design) -> Iterator[Need]:
    """Main switch, fuse, varistor, X2 capacitor and its bleeder on mains."""
    seen, project = Seen(design=design), design.scene.project
    low, nominal, high = voltages(project)
    line, stalled = seen.worst("line_current_rms"), seen.worst("line_current_rms", seen.jammed[:1])
    main, fused, varistor, x2 = (parts_of(design, role)[0] for role in (
        "main-switch", "fuse", "varistor", "x2-capacitor"))
    assert main.value and fused.value and varistor.value and x2.value
    rated = fused.value.value
    yield Need(part="main switch", what="carried", stress=line, limit=main.value.value,
               share=margin("contact_current"), within=SURVEYED)
    speed, letter = fused.marking[0], fused.marking.split("A")[1][0]
    warm = next(row for row in table("fuse_ambient") if row["speed"] == speed)
    factor = 1 - float(warm["slope"]) * max(design.power.box - float(warm["reference"]), 0.0)
    yield Need(part="fuse", what="carried", stress=line, limit=rated * factor, share=margin("fuse_current"),
               within=SURVEYED)
    breaks = next(row for row in table("fuse_breaking") if row["letter"] == letter)
    yield Need(part="fuse", what="breaking capacity", stress=project.supply.fault_current,
               limit=max(float(breaks["current"]), float(breaks["multiple"]) * rated), share=margin("fuse_breaking"))
    yield Need(part="fuse", what="voltage", stress=nominal, limit=float(breaks["voltage"]),
               share=margin("fuse_voltage"))
    yield Need(part="varistor", what="continuous voltage", stress=max(high, 1.1 * nominal), limit=varistor.value.value,
               share=margin("varistor_voltage"))
    yield Need(part="X2 capacitor", what="a.c. voltage", stress=high, limit=float(x2.marking.split()[2]),
               share=margin("x2_voltage"))
    yield from _discharge(design, x2, high)
    for cord in parts_of(design, "supply-cord"):
        yield Need(part="cord", what="fuse against the wire", stress=rated, limit=_cord(cord))
    del low, stalled


def _cord(part: Part) -> float:
    assert part.value is not None
    area = 1e6 * part.value.value
    return max(float(row["current_to"]) for row in table("supply_cords") if abs(float(row["area_mm2"]) - area) < 1e-6)


def _discharge(design: Design, x2: Part, high: float) -> Iterator[Need]:
    """The plug's pins at 34 V in 1 s: the exponential of the greatest capacitance and the resistors' upper end."""
    assert x2.value is not None
    farads = 1.1 * (x2.value.value + sum(part.value.value for part in parts_of(design, "snubber-capacitor")
                                         if part.value))
    row = next(row for row in table("discharge_limits") if row["name"] == "plug")
    bleeders = parts_of(design, "x2-bleeder")
    if not bleeders:
        yield Need(part="X2 capacitor", what="capacitance without bleeder", stress=farads / 1.1,
                   limit=float(row["exempt_below"]))
        return
    bleeder = bleeders[0]
    assert bleeder.value is not None
    ohms = 1.05 * bleeder.count * bleeder.value.value
    yield Need(part="bleeder", what="time to 34 V", limit=margin("plug_discharge_time"),
               stress=ohms * farads * math.log(math.sqrt(2) * high / float(row["voltage"])))
    body = _body(bleeder)
    yield Need(part="bleeder", what="power", limit=body["power"], share=margin("resistor_power"),
               stress=high**2 / (0.95 * bleeder.count**2 * bleeder.value.value))
    yield Need(part="bleeder", what="voltage", limit=body["voltage"], share=margin("resistor_voltage"),
               stress=math.sqrt(2) * high / bleeder.count * 1.05)


def _body(part: Part) -> dict[str, float]:
    """The row of a resistor by the power that its description names."""
    text = part.description
    row = next(row for row in table("resistors") if f"{float(row['power']):g} W" in text)
    return {"power": float(row["power"]), "voltage": float(row["voltage"])}


def switch_needs(design: Design, classes: str) -> Iterator[Need]:
    """Triac or thyristor: crest, r.m.s. and surge currents, slopes, and the let-through of the fuse."""
    seen, part = Seen(design=design), parts_of(design, "switch")[0]
    row, volts = row_of(classes, part), voltage_of(part)
    crest = math.sqrt(2) * voltages(design.scene.project)[2]
    currents = {"r.m.s. current": ("switch_current_rms", "current", "switch_current", seen.running),
                "peak at stall": ("switch_current_peak", "surge_current", "switch_surge", seen.jammed),
                "slope at turn-off": ("turn_off_current_slope", "commutating_slope", "commutating_slope", seen.every)}
    for what, (stress, limit, share, groups) in currents.items():
        if all(stress in group.stresses for group in groups):
            yield Need(part="switch", what=what, stress=seen.worst(stress, groups), limit=row[limit],
                       share=margin(share), within=SURVEYED)
    yield Need(part="switch", what="crest", stress=crest, limit=volts, share=margin("mains_peak"))
    yield Need(part="switch", what="let-through", stress=let_through(design), limit=row["i2t"],
               share=margin("switch_i2t"))
    yield from _turn_off(design, row, volts)


def let_through(design: Design) -> float:
    """A²s that a link lets through at ten times its rating: the gate of its sheet, and the arc."""
    fused = parts_of(design, "fuse")[0]
    assert fused.value is not None
    kind = fused.marking[0], fused.marking.split("A")[1][0]
    row = next(row for row in table("fuse_i2t") if (row["speed"], row["breaking"]) == kind)
    return float(row["gate_high"]) * float(row["arcing"]) * fused.value.value**2


def _turn_off(design: Design, row: Mapping[str, float], volts: float) -> Iterator[Need]:
    """The voltage that comes back: the undamped ring with the device's own capacitance where there is no snubber."""
    seen = Seen(design=design)
    if any(part.role == "snubber-capacitor" for part in design.parts) or not all(
            "reapplied_voltage" in group.stresses for group in seen.every):
        return
    step = seen.worst("reapplied_voltage", seen.every)
    assert design.scene.found is not None
    henry = float(design.scene.found.corners.solved.winding.inductance(0.0))
    yield Need(part="switch", what="ring after turn-off", stress=2 * step, limit=volts,
               share=margin("switch_voltage"), within=SURVEYED)
    yield Need(part="switch", what="rise after turn-off", stress=step / math.sqrt(henry * 100e-12),
               limit=row["critical_dvdt"], share=margin("dvdt"), within=SURVEYED)


def sink_needs(design: Design) -> Iterator[Need]:
    """Each junction and the sink's surface, from the heat of each state on the resistances of the chain."""
    sinks, hung = parts_of(design, "heatsink"), design.power.sink
    if not sinks or hung is None:
        return
    assert sinks[0].value is not None
    seen, ohms = Seen(design=design), sinks[0].value.value
    total = max(float(np.max(sum(group.stresses[name] for name in ("switch_loss", "freewheel_loss", "rectifier_loss")
                                 if name in group.stresses))) for group in seen.running)
    surface = design.power.box + ohms * total
    yield Need(part="heatsink", what="surface", stress=surface, limit=100.0, share=margin("sink_temperature"),
               within=SURVEYED)
    for device in hung.devices:
        key = "junction_temperature_hot" if device.junction_limit > 125 else "junction_temperature"
        heat = _heat(seen, device.name, device.count)
        yield Need(part="heatsink", what=f"junction of {device.name}", limit=device.junction_limit,
                   stress=surface + heat * (device.junction_to_case + device.case_to_sink), share=margin(key),
                   within=SURVEYED)


def _heat(seen: Seen, name: str, count: int) -> float:
    """W of one device: the loss of its kind in the worst state, shared by its like."""
    kind = "freewheel_loss" if name.startswith(("freewheel", "D1")) else (
        "rectifier_loss" if name.startswith(("rectifier", "bridge", "diode")) else "switch_loss")
    if not any(kind in group.stresses for group in seen.running):
        return 0.0
    return seen.worst(kind) / count


def broken(needs: Iterator[Need]) -> list[str]:
    """What does not hold, in words; and an error where nothing was asked."""
    asked = list(needs)
    assert asked
    return [f"{need.part}, {need.what}: {need.stress:.5g} against {need.share:g} of {need.limit:.5g}"
            for need in asked if not need.held]


def one_class_less(design: Design, classes: str) -> Design | None:
    """The same design with its switch one class of current smaller; None where it is the smallest."""
    part = parts_of(design, "switch")[0]
    assert part.value is not None
    smaller = [float(row["current"]) for row in table(classes) if float(row["current"]) < part.value.value]
    if not smaller:
        return None
    amperes = max(smaller)
    less = replace(part, value=replace(part.value, value=amperes), marking=f"{amperes:g} A {voltage_of(part):g} V")
    parts = tuple(less if one is part else one for one in design.parts)
    return replace(design, power=replace(design.power, parts=parts))
