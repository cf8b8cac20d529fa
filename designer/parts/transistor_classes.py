"""Generic classes of switching transistors, field-effect and insulated-gate bipolar: every value with its mark."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType
from typing import Literal

from designer.equations.fuse import SMALLER_DEVICE
from designer.equations.switching import HOT_RESISTANCE
from designer.tables import marked, read

Kind = Literal["mosfet", "igbt"]
KINDS: tuple[Kind, ...] = ("mosfet", "igbt")
NAMES: Mapping[Kind, str] = MappingProxyType({"mosfet": "MOSFET", "igbt": "IGBT"})

#: key of [parts.switch] -> unit
GIVEN: Mapping[str, str] = MappingProxyType({
    "voltage": "V", "current": "A", "surge_current": "A", "junction_temperature": "degC", "junction_to_case": "K/W",
    "case_to_sink": "K/W", "threshold_voltage": "V", "slope_resistance": "ohm", "on_resistance": "ohm",
    "gate_charge": "C", "drive_voltage": "V", "output_capacitance": "F"})
#: what a device is described by -> unit; the file's keys and what only the classes tell
UNITS: Mapping[str, str] = MappingProxyType({
    **GIVEN, "case_temperature": "degC", "switching_energy": "J", "energy_voltage": "V", "energy_current": "A",
    "gate_threshold": "V", "plateau_voltage": "V", "gate_limit": "V", "input_capacitance": "F"})
#: what shrinks or grows with the chip: key -> power of the rated current
_BY_AREA: Mapping[str, float] = MappingProxyType({
    "surge_current": 1.0, "slope_resistance": -1.0, "on_resistance": -1.0, "gate_charge": 1.0,
    "output_capacitance": 1.0, "input_capacitance": 1.0, "junction_to_case": -1.0})


@dataclass(frozen=True, kw_only=True)
class Row:
    """One generic class of the table, in SI; what only the other kind has is None."""

    kind: str
    voltage: float
    current: float
    case_temperature: float
    junction_temperature: float
    pulse_current: float
    on_resistance_cold: float | None
    hot_factor: float | None
    threshold_voltage: float
    slope_resistance: float | None
    switching_energy: float | None
    energy_voltage: float | None
    energy_current: float | None
    gate_charge: float
    drive_voltage: float
    gate_threshold: float
    plateau_voltage: float
    gate_limit: float
    input_capacitance: float
    output_capacitance: float
    junction_to_case: float
    package: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Device:
    """A transistor by its values (keys of ``UNITS``), each with where it comes from in ``marks``.

    Drop when on: ``threshold_voltage`` + ``slope_resistance`` × current, both hot; a MOSFET has no
    threshold, and its ``on_resistance`` is the slope. ``surge_current`` is the pulse rating;
    ``current`` is continuous at ``case_temperature``.
    """

    kind: Kind
    name: str
    package: str
    values: Mapping[str, float]
    marks: Mapping[str, str]
    given: bool = False

    def __getitem__(self, key: str) -> float:
        """The value of ``key`` in its unit of ``UNITS``."""
        return self.values[key]


def scaled(base: Device, *, current: float) -> Device:
    """Give ``base`` shrunk to a rated ``current`` (A) below its own; as it is from there up.

    Charges, capacitances and pulse rating fall with the current, resistances (thermal too) rise.
    """
    if not 0 < current < base["current"]:
        return base
    factors = {key: float(SMALLER_DEVICE(I_dev=current, I_class=base["current"], p_scale=power))
               for key, power in _BY_AREA.items()}
    values = {key: value * factors.get(key, 1.0) for key, value in base.values.items()}
    marks = {key: f"scaled by the current, {mark}" if key in factors else mark for key, mark in base.marks.items()}
    return replace(base, values=MappingProxyType({**values, "current": current}), marks=MappingProxyType(marks))


def completed(base: Device, *, given: Mapping[str, float]) -> Device:
    """Give the user's transistor: ``given`` by the keys of ``GIVEN``, the rest from ``base`` and marked so.

    A MOSFET's slope and on-resistance are one number (hot): either key sets both.
    """
    own = scaled(base, current=given.get("current", base["current"]))
    stated = dict(given)
    if base.kind == "mosfet":
        slope = given.get("slope_resistance", given.get("on_resistance"))
        if slope is not None:
            stated = {**stated, "slope_resistance": slope, "on_resistance": slope}
    told = {key: f"not given; taken from the {base.name}: {mark}" for key, mark in own.marks.items()}
    return replace(
        own, name=f"your {NAMES[base.kind]}", values=MappingProxyType({**own.values, **stated}),
        marks=MappingProxyType({**told, **dict.fromkeys(stated, "your file")}), given=True)


@cache
def classes(kind: Kind) -> tuple[Device, ...]:
    """Give the generic classes of a kind, by voltage and then current; all values marked."""
    rows = (row for row in read("transistors", Row) if row.kind == kind)
    return tuple(_generic(row, kind=kind) for row in sorted(rows, key=lambda r: (r.voltage, r.current)))


def _generic(row: Row, *, kind: Kind) -> Device:
    numbers = {key: value for key in UNITS if (value := getattr(row, key, None)) is not None}
    numbers["surge_current"] = row.pulse_current
    if row.on_resistance_cold is not None and row.hot_factor is not None:
        hot = float(HOT_RESISTANCE(R_cold=row.on_resistance_cold, k_hot=row.hot_factor))
        numbers["on_resistance"] = numbers["slope_resistance"] = hot
    mark = marked(row.source, row.mark)
    return Device(
        kind=kind, name=f"generic {row.current:g} A, {row.voltage:g} V {NAMES[kind]}", package=row.package,
        values=MappingProxyType(numbers), marks=MappingProxyType(dict.fromkeys(numbers, mark)))
