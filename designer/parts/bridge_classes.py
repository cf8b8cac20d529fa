"""Generic classes of single-phase bridges, told by ONE of the four diodes; every value with its mark."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType

from designer.equations.fuse import I2T_HALF_SINE, SMALLER_DEVICE
from designer.errors import InputError
from designer.tables import marked, read

#: key of [parts.rectifier] -> unit; what one diode is described by
UNITS: Mapping[str, str] = MappingProxyType({
    "voltage": "V", "current": "A", "surge_current": "A", "i2t": "A**2*s", "junction_temperature": "degC",
    "case_temperature": "degC", "junction_to_case": "K/W", "case_to_sink": "K/W", "threshold_voltage": "V",
    "slope_resistance": "ohm",
})
#: keys of [parts.rectifier] that say nothing at mains frequency
_FAST = frozenset({"recovery_time", "recovery_charge"})
#: what shrinks or grows with the chip: key -> power of the rated current
_BY_AREA: Mapping[str, float] = MappingProxyType({
    "surge_current": 1.0, "i2t": 2.0, "slope_resistance": -1.0, "junction_to_case": -1.0})
#: s, half cycle of a surge rating at 50 Hz
HALF_CYCLE = 10e-3
DIODES = 4


@dataclass(frozen=True, kw_only=True)
class Row:
    """One generic bridge: rated mean OUTPUT current (A) and drop (V) of one diode at it, the rest as in ``UNITS``.

    ``junction_to_case`` (K/W) is that of the whole bridge.
    """

    current: float
    voltage_drop: float
    threshold_voltage: float
    surge_current: float
    junction_to_case: float
    junction_temperature: float
    case_temperature: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class VoltageClass:
    """A repetitive peak reverse voltage that bridges are sold for, V."""

    voltage: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Device:
    """One diode of a bridge by its values (keys of ``UNITS``), each with where it comes from in ``marks``."""

    name: str
    values: Mapping[str, float]
    marks: Mapping[str, str]
    own: bool = False

    def __getitem__(self, key: str) -> float:
        """The value of ``key`` in its unit of ``UNITS``."""
        return self.values[key]


@cache
def classes() -> tuple[Device, ...]:
    """Give the generic classes, smallest first, each in every voltage class; all values marked."""
    return tuple(
        _generic(row, volts=step) for row in read("bridges", Row) for step in read("diode_voltages", VoltageClass))


def _generic(row: Row, *, volts: VoltageClass) -> Device:
    """One diode of the four: half of the output current; its heat path is four times that of the whole."""
    told = marked(row.source, row.mark)
    values = {
        "voltage": volts.voltage, "current": row.current / 2, "surge_current": row.surge_current,
        "i2t": float(I2T_HALF_SINE(I_p=row.surge_current, t=HALF_CYCLE)),
        "junction_temperature": row.junction_temperature, "case_temperature": row.case_temperature,
        "junction_to_case": DIODES * row.junction_to_case, "threshold_voltage": row.threshold_voltage,
        "slope_resistance": (row.voltage_drop - row.threshold_voltage) / row.current,
    }
    marks = {**dict.fromkeys(values, told), "voltage": marked(volts.source, volts.mark)}
    marks["i2t"] = f"half a sine of 10 ms at the surge rating; {told}"
    return Device(
        name=f"generic bridge {row.current:g} A, {volts.voltage:g} V", values=MappingProxyType(values),
        marks=MappingProxyType(marks))


def completed(base: Device, *, given: Mapping[str, float]) -> Device:
    """Give the user's own diodes: ``given`` by the keys of ``UNITS``, the rest from ``base`` and marked so.

    Values that hang on the size shrink with a rated current below that of ``base``; a given surge bounds the I²t
    that is not given. Raises ``InputError`` for ``parts.rectifier`` on a key that a bridge has not.
    """
    unknown = sorted(set(given) - set(UNITS) - _FAST)
    if unknown:
        raise InputError(f"parts.rectifier.{unknown[0]}", given[unknown[0]], ", ".join(sorted(UNITS)))
    values, marks = dict(base.values), dict(base.marks)
    current = given.get("current", base["current"])
    if 0 < current < base["current"]:
        for key, power in _BY_AREA.items():
            values[key] *= float(SMALLER_DEVICE(I_dev=current, I_class=base["current"], p_scale=power))
            marks[key] = f"scaled by the current, {marks[key]}"
    own = {key: value for key, value in given.items() if key in UNITS}
    values |= own
    if "surge_current" in own and "i2t" not in own:
        values["i2t"] = min(values["i2t"], float(I2T_HALF_SINE(I_p=own["surge_current"], t=HALF_CYCLE)))
        marks["i2t"] = f"at most that of the surge given, {marks['i2t']}"
    told = {key: f"not given; taken from the {base.name}: {mark}" for key, mark in marks.items()}
    return replace(
        base, name="your diodes", own=True, values=MappingProxyType(values),
        marks=MappingProxyType({**told, **dict.fromkeys(own, "your file")}))
