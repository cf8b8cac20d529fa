"""Generic classes of triacs and thyristors for mains: every value with its mark."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal

from designer.tables import marked, read

Kind = Literal["triac", "thyristor"]

#: key of [parts.switch] -> unit; what a device is described by
UNITS: Mapping[str, str] = MappingProxyType({
    "voltage": "V", "current": "A", "surge_current": "A", "i2t": "A**2*s", "junction_temperature": "degC",
    "case_temperature": "degC", "junction_to_case": "K/W", "case_to_sink": "K/W", "latching_current": "A",
    "holding_current": "A", "gate_current": "A", "gate_voltage": "V", "commutating_slope": "A/s",
    "critical_dvdt": "V/s", "rise_of_current": "A/s", "threshold_voltage": "V", "slope_resistance": "ohm",
})


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


@cache
def classes(kind: Kind) -> tuple[Device, ...]:
    """Give the generic classes, smallest first, each in every voltage class; all values marked."""
    rows = read("triacs" if kind == "triac" else "thyristors", Row)
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
