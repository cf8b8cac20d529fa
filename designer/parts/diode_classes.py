"""Generic classes of freewheel diodes: Schottky, fast, ultrafast; every value with its mark."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType

from designer.equations.fuse import SMALLER_DEVICE
from designer.parts.commutation import Recovery
from designer.tables import marked, read

#: key of [parts.freewheel] -> unit
GIVEN: Mapping[str, str] = MappingProxyType({
    "voltage": "V", "current": "A", "surge_current": "A", "junction_temperature": "degC", "junction_to_case": "K/W",
    "case_to_sink": "K/W", "threshold_voltage": "V", "slope_resistance": "ohm", "recovery_time": "s",
    "recovery_charge": "C"})
#: what a diode is described by -> unit
UNITS: Mapping[str, str] = MappingProxyType({**GIVEN, "case_temperature": "degC"})
#: what shrinks or grows with the chip: key -> power of the rated current
_BY_AREA: Mapping[str, float] = MappingProxyType({
    "surge_current": 1.0, "slope_resistance": -1.0, "junction_to_case": -1.0})


@dataclass(frozen=True, kw_only=True)
class Row:
    """One generic class of the table, in SI.

    ``current`` is the mean at ``case_temperature``; ``voltage_drop`` that at ``current``, upper end.
    """

    kind: str
    voltage: float
    current: float
    case_temperature: float
    junction_temperature: float
    threshold_voltage: float
    voltage_drop: float
    surge_current: float
    recovery_time: float
    junction_to_case: float
    package: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Device:
    """A diode by its values (keys of ``UNITS``), each with where it comes from in ``marks``.

    ``kind``: ``"schottky"``, ``"fast"`` or ``"ultrafast"``. ``recovery_charge`` is there only where it is given.
    """

    kind: str
    name: str
    package: str
    values: Mapping[str, float]
    marks: Mapping[str, str]
    given: bool = False

    def __getitem__(self, key: str) -> float:
        """The value of ``key`` in its unit of ``UNITS``."""
        return self.values[key]

    @property
    def recovery(self) -> Recovery:
        """What a transistor that takes over from it meets."""
        return Recovery(time=self["recovery_time"], charge=self.values.get("recovery_charge"))


@cache
def classes() -> tuple[Device, ...]:
    """Give the generic classes in the order of the table; all values marked."""
    return tuple(map(_generic, read("fast_diodes", Row)))


def _generic(row: Row) -> Device:
    numbers = {key: value for key in UNITS if (value := getattr(row, key, None)) is not None}
    numbers["slope_resistance"] = (row.voltage_drop - row.threshold_voltage) / row.current
    word = "Schottky" if row.kind == "schottky" else row.kind
    return Device(
        kind=row.kind, name=f"generic {row.current:g} A, {row.voltage:g} V {word} diode", package=row.package,
        values=MappingProxyType(numbers), marks=MappingProxyType(dict.fromkeys(numbers, marked(row.source, row.mark))))


def completed(base: Device, *, given: Mapping[str, float]) -> Device:
    """Give the user's diode: ``given`` by the keys of ``GIVEN``, the rest from ``base`` and marked so.

    Values that hang on the size shrink with a rated current below that of ``base``.
    """
    values, marks = dict(base.values), dict(base.marks)
    current = given.get("current", base["current"])
    if 0 < current < base["current"]:
        for key, power in _BY_AREA.items():
            values[key] *= float(SMALLER_DEVICE(I_dev=current, I_class=base["current"], p_scale=power))
            marks[key] = f"scaled by the current, {marks[key]}"
    told = {key: f"not given; taken from the {base.name}: {mark}" for key, mark in marks.items()}
    return replace(
        base, name="your diode", given=True, values=MappingProxyType({**values, **given}),
        marks=MappingProxyType({**told, **dict.fromkeys(given, "your file")}))
