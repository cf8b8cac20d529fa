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

HALF = 10e-3                # s: the half sine of a device's surge rating
LEADS = 50e-6               # H, of a short close by at the least
#: A, ratings of fuses as sold, from memory: links for direct current, and those of IEC 60127-2
FUSES = {"dc-fuse": (1, 2, 4, 6, 8, 10, 12, 16, 20, 25, 32, 40),
         "fuse": (0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3)}
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
    _, nominal, high = voltages(project)
    line = seen.worst("line_current_rms")
    main, fused, varistor, x2 = (parts_of(design, role)[0] for role in (
        "main-switch", "fuse", "varistor", "x2-capacitor"))
    assert main.value
    assert fused.value
    assert varistor.value
    assert x2.value
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
    passed, time, peak = short(design)
    yield Need(part="switch", what="let-through", stress=passed, share=margin("switch_i2t"),
               limit=row["i2t"] * math.sqrt(time / HALF))
    yield Need(part="switch", what="peak let-through", stress=peak, share=margin("fault_peak"),
               limit=row["surge_current"] * (HALF / time) ** 0.25)
    yield from _turn_off(design, row, volts)


def let_through(design: Design) -> float:
    """A²s that a link lets through at ten times its rating: the gate of its sheet, and the arc."""
    fused = parts_of(design, "fuse")[0]
    assert fused.value is not None
    kind = fused.marking[0], fused.marking.split("A")[1][0]
    row = next(row for row in table("fuse_i2t") if (row["speed"], row["breaking"]) == kind)
    return float(row["gate_high"]) * float(row["arcing"]) * fused.value.value**2


def short(design: Design) -> tuple[float, float, float]:
    """A²s, s and A of the steepest short until the fuse has opened: a straight rise from the crest of high mains."""
    supply, high = design.scene.project.supply, voltages(design.scene.project)[2]
    ohms, henry = supply.source_resistance, supply.source_inductance
    running = math.hypot(ohms, 2 * math.pi * float(supply.frequency or 0.0) * henry)
    rise = math.sqrt(2) * high / max(henry * high / supply.fault_current / running, LEADS)
    passed = let_through(design)
    time = min((3 * passed / rise**2) ** (1 / 3), HALF)
    return passed, time, rise * time


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


def smallest(design: Design, role: str, classes: str) -> Design | None:
    """The same design with that part the smallest of its voltage; None where it is so already."""
    part = parts_of(design, role)[0]
    assert part.value is not None
    volts = voltage_of(part)
    amperes = min(float(row["current"]) for row in table(classes) if float(row.get("voltage", volts)) == volts)
    return None if amperes == part.value.value else _with(design, part, amperes)


def lower_fuse(design: Design, role: str) -> Design | None:
    """The same design with the fuse of the next smaller rating as sold; None where there is none."""
    part = parts_of(design, role)[0]
    assert part.value is not None
    smaller = [amperes for amperes in FUSES[role] if amperes < part.value.value]
    if not smaller:
        return None
    less = replace(part, value=replace(part.value, value=float(max(smaller))))
    return _instead(design, part, less)


def _with(design: Design, part: Part, amperes: float) -> Design:
    """The same design with another class of that part."""
    assert part.value is not None
    return _instead(design, part, replace(
        part, value=replace(part.value, value=amperes), marking=f"{amperes:g} A {voltage_of(part):g} V"))


def _instead(design: Design, part: Part, less: Part) -> Design:
    """The same design with another part in the place of one."""
    parts = tuple(less if one is part else one for one in design.parts)
    return replace(design, power=replace(design.power, parts=parts))


def one_class_less(design: Design, classes: str) -> Design | None:
    """The same design with its switch one class of current smaller; None where it is the smallest."""
    part = parts_of(design, "switch")[0]
    assert part.value is not None
    smaller = [float(row["current"]) for row in table(classes) if float(row["current"]) < part.value.value]
    if not smaller:
        return None
    return _with(design, part, max(smaller))


def diode_needs(design: Design) -> Iterator[Need]:
    """Freewheel diode, bridge and single rectifier diodes of a rectifier on phase angle."""
    seen, crest = Seen(design=design), math.sqrt(2) * voltages(design.scene.project)[2]
    for role, classes, kind, each in (("flyback-diode", "mains_diodes", "freewheel", 1.0),
                                      ("bridge", "bridges", "rectifier", 2.0),
                                      ("rectifier-diode", "mains_diodes", "rectifier", 1.0)):
        for part in parts_of(design, role):
            row = row_of(classes, part)
            rated = row["current"] / each       # of a bridge's rating one diode carries half
            for what, stress, limit, share, groups in (
                    ("mean current", "mean", rated, "diode_current", seen.running),
                    ("r.m.s. current", "rms", 0.5 * math.pi * rated, "diode_current", seen.running),
                    ("peak at stall", "peak", row["surge_current"], "diode_surge", seen.jammed)):
                yield Need(part=role, what=what, stress=seen.worst(f"{kind}_current_{stress}", groups), limit=limit,
                           share=margin(share), within=SURVEYED)
            yield Need(part=role, what="crest", stress=crest, limit=voltage_of(part), share=margin("diode_voltage"))
            passed, time, peak = short(design)
            yield Need(part=role, what="let-through", stress=passed, share=margin("diode_i2t"),
                       limit=0.5 * HALF * row["surge_current"] ** 2 * math.sqrt(time / HALF))
            yield Need(part=role, what="peak let-through", stress=peak, share=margin("fault_peak"),
                       limit=row["surge_current"] * (HALF / time) ** 0.25)


def chopper_needs(design: Design) -> Iterator[Need]:
    """Transistor and freewheel diode of a chopper on a d.c. supply, with its limit at the upper end."""
    seen, high = Seen(design=design), voltages(design.scene.project)[2]
    assert design.power.sides["chopper"].chopping is not None
    limited = design.power.sides["chopper"].chopping.current_limit
    peak = max(limited, seen.worst("switch_current_peak"))
    part, diode = (parts_of(design, role)[0] for role in ("switch", "flyback-diode"))
    row = row_of("transistors", part, voltage=voltage_of(part))
    yield Need(part="switch", what="r.m.s. current", stress=seen.worst("switch_current_rms"), limit=row["current"],
               share=margin("transistor_current"), within=SURVEYED)
    yield Need(part="switch", what="pulse", stress=peak, limit=row["pulse_current"], share=margin("pulse_current"))
    yield Need(part="switch", what="bus", stress=high, limit=voltage_of(part), share=margin("switch_voltage"))
    row = row_of("fast_diodes", diode, voltage=voltage_of(diode))
    yield Need(part="freewheel diode", what="mean current", stress=seen.worst("freewheel_current_mean"),
               limit=row["current"], share=margin("diode_current"), within=SURVEYED)
    yield Need(part="freewheel diode", what="peak", stress=peak, limit=row["surge_current"],
               share=margin("diode_surge"))
    yield Need(part="freewheel diode", what="bus", stress=high, limit=voltage_of(diode), share=margin("diode_voltage"))
    yield Need(part="switch", what="limit above the running peak", stress=seen.worst("armature_current_peak"),
               limit=limited, within=SURVEYED)


def bus_needs(design: Design) -> Iterator[Need]:
    """Main switch, fuse, reservoir, charging resistor and film capacitor of a d.c. supply."""
    seen, high = Seen(design=design), voltages(design.scene.project)[2]
    line = seen.worst("line_current_rms")
    main, fused, bank = (parts_of(design, role)[0] for role in ("main-switch", "dc-fuse", "reservoir"))
    assert main.value
    assert fused.value
    assert bank.value
    yield Need(part="main switch", what="carried", stress=line, limit=main.value.value,
               share=margin("contact_current"), within=SURVEYED)
    yield Need(part="fuse", what="carried", stress=line, limit=fused.value.value, within=SURVEYED)
    yield Need(part="fuse", what="voltage", stress=high, limit=float(fused.marking.split()[2]),
               share=margin("fuse_voltage"))
    yield Need(part="reservoir", what="voltage", stress=high, limit=float(bank.marking.split()[1]),
               share=margin("capacitor_voltage"))
    bears = next(rating.limit.value for rating in bank.ratings if rating.name == "ripple current")
    hertz = float(design.scene.project.circuit.switching_frequency or 0.0)
    eased = max(float(row["multiplier"]) for row in table("ripple_multipliers") if float(row["frequency"]) <= hertz)
    yield Need(part="reservoir", what="ripple", stress=seen.worst("capacitor_current_rms") / eased, limit=bears,
               share=margin("ripple_current"), within=SURVEYED)
    for part in parts_of(design, "bus-capacitor"):
        assert part.value is not None
        yield Need(part="film capacitor", what="voltage", stress=high, limit=float(part.marking.split()[1]),
                   share=margin("film_voltage"))
    for part in parts_of(design, "inrush-limiter"):
        energy = next((rating.limit.value for rating in part.ratings if rating.name == "energy of one charging"), None)
        if energy is not None:
            yield Need(part="charging resistor", what="energy", limit=energy, share=margin("inrush_energy"),
                       stress=0.5 * 1.2 * bank.count * bank.value.value * high**2)
