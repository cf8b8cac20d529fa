"""Generic classes of triacs and thyristors for mains: every value with its mark."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType
from typing import Literal

from designer.equations.fuse import I2T_HALF_SINE, SMALLER_DEVICE
from designer.tables import marked, read

Kind = Literal["triac", "thyristor", "sensitive thyristor"]
#: kind -> its table
TABLES: Mapping[Kind, str] = MappingProxyType({
    "triac": "triacs", "thyristor": "thyristors", "sensitive thyristor": "sensitive_thyristors"})

#: key of [parts.switch] -> unit; what a device is described by
UNITS: Mapping[str, str] = MappingProxyType({
    "voltage": "V", "current": "A", "surge_current": "A", "i2t": "A**2*s", "junction_temperature": "degC",
    "case_temperature": "degC", "junction_to_case": "K/W", "case_to_sink": "K/W", "latching_current": "A",
    "holding_current": "A", "gate_current": "A", "gate_voltage": "V", "commutating_slope": "A/s",
    "critical_dvdt": "V/s", "rise_of_current": "A/s", "threshold_voltage": "V", "slope_resistance": "ohm",
})


#: what shrinks or grows with the chip: key -> power of the rated current
_BY_AREA: Mapping[str, float] = MappingProxyType({
    "surge_current": 1.0, "i2t": 2.0, "commutating_slope": 1.0, "slope_resistance": -1.0, "junction_to_case": -1.0})
#: s, half cycle of a surge rating at 50 Hz
HALF_CYCLE = 10e-3


@dataclass(frozen=True, kw_only=True)
class Row:
    """One generic class of the tables, in SI: least rating and greatest need of the range."""

    current: float
    case_temperature: float
    junction_temperature: float
    surge_current: float
    i2t: float
    rise_of_current: float
    gate_current: float
    gate_voltage: float
    holding_current: float
    latching_current: float
    critical_dvdt: float
    commutating_slope: float
    threshold_voltage: float
    slope_resistance: float
    junction_to_case: float
    junction_to_case_bare: float
    package: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class VoltageClass:
    """A repetitive peak voltage that devices are sold for, V."""

    voltage: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Device:
    """A switch by its values (keys of ``UNITS``), each with where it comes from in ``marks``."""

    kind: Kind
    name: str
    package: str
    values: Mapping[str, float]
    marks: Mapping[str, str]

    def __getitem__(self, key: str) -> float:
        """The value of ``key`` in its unit of ``UNITS``."""
        return self.values[key]


def scaled(base: Device, *, current: float) -> Device:
    """Give ``base`` shrunk to a rated ``current`` (A) below its own; as it is from there up.

    Surge and commutating slope fall with the current, I²t with its square; slope resistance and
    junction-to-case resistance rise.
    """
    if not 0 < current < base["current"]:
        return base
    factors = {key: float(SMALLER_DEVICE(I_dev=current, I_class=base["current"], p_scale=power))
               for key, power in _BY_AREA.items()}
    values = {key: value * factors.get(key, 1.0) for key, value in base.values.items()}
    marks = {key: f"scaled by the current, {mark}" if key in factors else mark for key, mark in base.marks.items()}
    return replace(base, values=MappingProxyType(values), marks=MappingProxyType(marks))


def completed(base: Device, *, given: Mapping[str, float]) -> Device:
    """Give the user's device: ``given`` by the keys of ``UNITS``, the rest from ``base`` and marked so.

    A given surge bounds the I²t that is not given (half a sine of 10 ms), a lower junction limit the case
    temperature of the rating.
    """
    small = scaled(base, current=given.get("current", base["current"]))
    values, marks = {**small.values, **given}, dict(small.marks)
    if "surge_current" in given and "i2t" not in given:
        values["i2t"] = min(values["i2t"], float(I2T_HALF_SINE(I_p=given["surge_current"], t=HALF_CYCLE)))
        marks["i2t"] = f"at most that of the surge given, {marks['i2t']}"
    cooler = min(values["junction_temperature"] - base["junction_temperature"], 0.0)
    if "case_temperature" not in given and cooler < 0:
        values["case_temperature"] = base["case_temperature"] + cooler
        marks["case_temperature"] = f"lowered with the junction's limit, {marks['case_temperature']}"
    told = {key: f"not given; taken from the {base.name}: {mark}" for key, mark in marks.items()}
    return replace(
        base, name=f"your {base.kind}", values=MappingProxyType(values),
        marks=MappingProxyType({**told, **dict.fromkeys(given, "your file")}))


@cache
def classes(kind: Kind) -> tuple[Device, ...]:
    """Give the generic classes, smallest first, each in every voltage class; all values marked."""
    rows = read(TABLES[kind], Row)
    volts = read("voltage_classes", VoltageClass)
    return tuple(_generic(row, volts=step, kind=kind) for row in rows for step in volts)


def _generic(row: Row, *, volts: VoltageClass, kind: Kind) -> Device:
    numbers = {key: getattr(row, key) for key in UNITS if key not in ("voltage", "case_to_sink")}
    numbers["voltage"] = volts.voltage
    marks = {key: marked(row.source, row.mark) for key in numbers}
    marks["voltage"] = marked(volts.source, volts.mark)
    return Device(
        kind=kind, name=f"generic {row.current:g} A, {volts.voltage:g} V {kind}", package=row.package,
        values=MappingProxyType(numbers), marks=MappingProxyType(marks))
