"""A single diode at mains frequency: freewheel diode across the motor, or one of a half-controlled bridge.

Plain rectifier diodes of slow recovery do: they commutate once or twice a cycle, at the slope that the source's
inductance allows. Safe side: the larger class. All figures are of ONE diode over a full period.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from types import MappingProxyType
from typing import Literal

from designer.equations.fuse import I2T_HALF_SINE
from designer.equations.reservoir import DIODE_RMS_RATING
from designer.equations.thermal import CASE_FOR_CURRENT, TWO_TERM_LOSS
from designer.errors import InputError
from designer.parts import bridge_classes, coordination, heatsink
from designer.parts.bridge_classes import HALF_CYCLE, Device, VoltageClass
from designer.parts.coordination import Bears, Short
from designer.parts.heat_path import case_to_sink
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

Role = Literal["flyback-diode", "rectifier-diode"]

_TABLES: Mapping[Role, str] = MappingProxyType({"flyback-diode": "freewheel", "rectifier-diode": "rectifier"})
_WORDS: Mapping[Role, str] = MappingProxyType({
    "flyback-diode": "freewheel diode", "rectifier-diode": "rectifier diode"})
_WRONG: Mapping[Role, str] = MappingProxyType({
    "flyback-diode": "The wrong way round: the first firing shorts the line through it. Open or left out: the motor "
                       "has no way on for its current, the angle loses its say or the torque falls away. Too small: "
                       "it burns at slow speeds, where it carries the current most of the time, and fails short.",
    "rectifier-diode": "The wrong way round, or shorted: the line is short in every second half cycle. Too small: it "
                       "burns on its own heat.",
})


@dataclass(frozen=True, kw_only=True)
class Row:
    """One generic class: mean current (A) at ``case_temperature``, drop (V) at it, surge of 10 ms (A), °C, K/W."""

    current: float
    voltage_drop: float
    threshold_voltage: float
    surge_current: float
    junction_to_case: float
    junction_temperature: float
    case_temperature: float
    package: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What ONE diode must withstand; SI. Each from its own worst corner, which ``at`` names by rating.

    ``crest``: of the highest mains. ``mean_current``, ``rms_current``: worst continuous state. ``surge_peak``: greatest
    peak at start or stall. ``stall_…``: currents of a stall and how long (s) it lasts until something ends it.
    ``shorts``: what the line fuse lets through when what stands beside it shorts the line through this diode.
    ``count`` equal diodes.
    """

    role: Role
    crest: float
    mean_current: float
    rms_current: float
    surge_peak: float
    stall_mean_current: float = 0.0
    stall_rms_current: float = 0.0
    stall_time: float = 0.0
    shorts: tuple[Short, ...] = ()
    count: int = 1
    at: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Diode:
    """A diode by its values, and the package that it comes in."""

    device: Device
    package: str

    def __getitem__(self, key: str) -> float:
        """The value of ``key`` in its unit of ``UNITS``."""
        return self.device[key]


@cache
def classes() -> tuple[Diode, ...]:
    """Give the generic classes, smallest first, each in every voltage class; all values marked."""
    return tuple(
        _generic(row, volts=step) for row in read("mains_diodes", Row) for step in read("diode_voltages", VoltageClass))


def _generic(row: Row, *, volts: VoltageClass) -> Diode:
    numbers = {
        "voltage": volts.voltage, "current": row.current, "surge_current": row.surge_current,
        "i2t": float(I2T_HALF_SINE(I_p=row.surge_current, t=HALF_CYCLE)),
        "junction_temperature": row.junction_temperature, "case_temperature": row.case_temperature,
        "junction_to_case": row.junction_to_case, "threshold_voltage": row.threshold_voltage,
        "slope_resistance": (row.voltage_drop - row.threshold_voltage) / row.current,
    }
    marks = dict.fromkeys(numbers, marked(row.source, row.mark)) | {"voltage": marked(volts.source, volts.mark)}
    device = Device(name=f"generic {row.current:g} A, {volts.voltage:g} V rectifier diode",
                    values=MappingProxyType(numbers), marks=MappingProxyType(marks))
    return Diode(device=device, package=row.package)


def candidates(demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float]) -> tuple[Diode, ...]:
    """Give the diodes worth solving with, smallest first: the user's alone, else the generic classes.

    ``given`` holds the numbers of ``[parts.freewheel]`` or ``[parts.rectifier]``; what is missing there is filled from
    the nearest class and marked so. Raises ``InputError`` for ``supply.voltage`` where no class blocks it.
    """
    allowed = min(share("diode_voltage", margins)[0], share("mains_peak", margins)[0])
    needed = given.get("voltage", demand.crest / allowed) * (1 - 1e-9)
    volts = min((d["voltage"] for d in classes() if d["voltage"] >= needed), default=None)
    top = max(d["voltage"] for d in classes())
    if volts is None and not given:
        raise InputError(
            "supply.voltage", f"a crest of {demand.crest:.0f} V, {needed:.0f} V class needed",
            f"classes up to {top:g} V",
            f"Use a lower mains voltage, or give your own diode in [parts.{_TABLES[demand.role]}].")
    fitting = tuple(d for d in classes() if d["voltage"] == (top if volts is None else volts))
    return (_own(fitting, demand=demand, given=given, margins=margins),) if given else fitting


def _own(
    fitting: tuple[Diode, ...], *, demand: Demand, given: Mapping[str, float], margins: Mapping[str, float]
) -> Diode:
    """The user's diode, completed from the class not larger than its current, else that carries the demand."""
    needed = demand.mean_current / share("diode_current", margins)[0]
    if "current" in given:
        smaller = [d for d in fitting if d["current"] <= given["current"]]
        base = smaller[-1] if smaller else fitting[0]
    else:
        base = next((d for d in fitting if d["current"] >= needed), fitting[-1])
    return replace(base, device=replace(
        bridge_classes.completed(base.device, given=given), name=f"your {_WORDS[demand.role]}"))


def choose(
    demand: Demand, *, given: Mapping[str, float], margins: Mapping[str, float]
) -> tuple[Part, Diode]:
    """Give the smallest class that holds every rating with its margin; the user's own diode as it is.

    The user's is returned even where a rating fails: the checks say so. Raises ``InputError`` for
    ``parts.freewheel.current`` or ``parts.rectifier.current`` where no generic class holds.
    """
    for diode in candidates(demand, given=given, margins=margins):
        made = part(diode, demand=demand, margins=margins)
        if given or all(map(holds, made.ratings)):
            return made, diode
    short = next(r for r in made.ratings if not holds(r))
    table = _TABLES[demand.role]
    raise InputError(
        f"parts.{table}.current", f"{short.name} {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} in the largest generic class",
        f"Lower the load, use a smaller or quicker fuse, or give the data of a larger diode in [parts.{table}]."
        + coordination.hint(short))


def bears(diode: Diode, *, name: str = "a diode") -> Bears:
    """Give what ONE diode bears of a short."""
    return Bears(name=name, i2t=diode["i2t"], surge=diode["surge_current"],
                 current=float(DIODE_RMS_RATING(I_F=diode["current"])))


def loss(diode: Diode, *, mean_current: float, rms_current: float) -> float:
    """Give the heat of ONE diode, W, from its mean and r.m.s. current over a full period."""
    return float(TWO_TERM_LOSS(
        V_T0=diode["threshold_voltage"], r_T=diode["slope_resistance"], I_abs=mean_current, I_rms=rms_current))


def on_sink(diode: Diode, *, name: str, demand: Demand, margins: Mapping[str, float]) -> heatsink.Device:
    """Give ``count`` equal diodes as they sit on the heatsink: heat, limits and resistances of one."""
    limit, allowed = diode["junction_temperature"], share("diode_current", margins)[0]
    rms = float(DIODE_RMS_RATING(I_F=diode["current"]))
    use = max(demand.mean_current / diode["current"], demand.rms_current / rms) / allowed
    case = float(CASE_FOR_CURRENT(
        T_j=limit + heatsink.ZERO, T_c0=diode["case_temperature"] + heatsink.ZERO, I_rms=min(1.0, use), k_I=1.0,
        I_T=1.0))
    interface = case_to_sink("insulated package with compound", package=diode.package)[0]
    return heatsink.Device(
        name=name, junction_limit=limit, junction_to_case=diode["junction_to_case"],
        case_to_sink=diode.device.values.get("case_to_sink", interface), case_limit=case - heatsink.ZERO,
        loss=loss(diode, mean_current=demand.mean_current, rms_current=demand.rms_current), count=demand.count,
        stall_loss=loss(diode, mean_current=demand.stall_mean_current, rms_current=demand.stall_rms_current),
        stall_time=demand.stall_time)


def part(diode: Diode, *, demand: Demand, margins: Mapping[str, float]) -> Part:
    """Give ``diode`` as a part, ``count`` of them, with its ratings against ``demand``."""
    heat = Step(formula=TWO_TERM_LOSS, inputs={
        "V_T0": diode["threshold_voltage"], "r_T": diode["slope_resistance"], "I_abs": demand.mean_current,
        "I_rms": demand.rms_current}, note=f"heat of one {_WORDS[demand.role]} at the worst continuous point")
    assumed = sorted({mark for mark in diode.device.marks.values() if mark != "your file"})
    return Part(
        role=demand.role, designator="D1", count=demand.count,
        description=f"{diode.device.name}, {diode.package}, insulated",
        value=Quantity(diode["current"], "A"), marking=f"{diode['current']:g} A {diode['voltage']:g} V",
        ratings=_ratings(diode, demand=demand, margins=margins),
        worked=(heat, *coordination.steps(bears(diode), met=demand.shorts)), if_wrong=_WRONG[demand.role],
        notes=(*_notes(diode, demand=demand), *(f"Values: {mark}." for mark in assumed)),
        sources=tuple(sorted(set(diode.device.marks.values()))))


def _notes(diode: Diode, *, demand: Demand) -> tuple[str, ...]:
    heat = loss(diode, mean_current=demand.mean_current, rms_current=demand.rms_current)
    notes = [f"One makes {engineering(heat, 'W', 3)}."]
    if demand.role == "flyback-diode":
        notes.append("Cathode to the plus side of the motor, at the end of its leads on the board: while the "
                     "thyristors are off the motor's current goes round through it. A plain rectifier diode does.")
    if demand.crest > 0.5 * diode["voltage"]:
        notes.append("The crest of the mains is above half of the voltage rating: only with a varistor "
                     "(common practice, no source).")
    return tuple(notes)


def _ratings(diode: Diode, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    rms = float(DIODE_RMS_RATING(I_F=diode["current"]))
    rows: list[tuple[str, float, str, float, str]] = [
        ("reverse voltage", diode["voltage"], "V", demand.crest, "diode_voltage"),
        ("mean current of one diode", diode["current"], "A", demand.mean_current, "diode_current"),
        ("r.m.s. current of one diode", rms, "A", demand.rms_current, "diode_current"),
        ("surge current at stall", diode["surge_current"], "A", demand.surge_peak, "diode_surge"),
    ]
    made = []
    for name, limit, unit, stress, key in rows:
        allowed, source = share(key, margins)
        made.append(Rating(
            name=name, limit=Quantity(limit, unit), stress=Quantity(stress, unit), share=allowed, source=source,
            at=demand.at.get(name, "")))
    return *made, *coordination.ratings(bears(diode), met=demand.shorts, margins=margins, key="diode_i2t")


