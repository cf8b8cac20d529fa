"""The key points of the plots as tables: what somebody reads who can't see the curves."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from designer.results import Array, Characteristic, Curve, Design, OperatingPoint, Quantity
from designer.sheet.text import RPM, delay, show, told, words

SPREAD = 5
#: figures of the control range: words, which may name the setting
CONTROL = {
    "speed_per_setting": "Speed per change of the {setting}",
    "speed_per_load_percent": "Speed per change of the load",
    "speed_per_mains_percent": "Speed per change of the supply voltage",
    "speed_per_supply_percent": "Speed per change of the supply voltage",
    "speed_per_kelvin": "Speed per change of the winding temperature",
    "smallest_angle_at_stall": "Smallest usable firing angle at stall",
    "smallest_angle_at_speed": "Smallest usable firing angle at the target's speed",
    "largest_angle": "Largest firing angle that still fires",
    "largest_angle_that_starts": "Largest firing angle that starts the load",
    "smallest_setting": "Smallest usable {setting}",
    "smallest_setting_at_stall": "Smallest usable {setting} at stall",
    "smallest_setting_at_speed": "Smallest usable {setting} at the target's speed",
    "smallest_setting_that_starts": "Smallest {setting} that starts the load",
    "largest_setting": "Largest usable {setting}",
    "largest_setting_at_stall": "Largest usable {setting} at stall",
    "largest_setting_at_speed": "Largest usable {setting} at the target's speed",
    "largest_setting_that_starts": "Largest {setting} that starts the load",
}
#: slopes of the control range: factor to the unit of the bench, and that unit
_SLOPES = {
    "speed_per_load_percent": (1 / RPM, "rpm per % of the load"),
    "speed_per_mains_percent": (1 / RPM, "rpm per % of the voltage"),
    "speed_per_supply_percent": (1 / RPM, "rpm per % of the voltage"),
    "speed_per_kelvin": (1 / RPM, "rpm per kelvin"),
}
#: the slope against the setting, by the setting's unit
_PER_SETTING = {
    "rad": (math.radians(1) / RPM, "rpm per degree"), "1": (0.01 / RPM, "rpm per % of the setting"),
    "A": (1 / RPM, "rpm per ampere"),
}
_COLUMNS = (
    ("source_voltage", "supply voltage", "V"), ("bus_voltage", "bus voltage", "V"),
    ("motor_voltage", "motor voltage", "V"), ("line_current", "line current", "A"),
    ("armature_current", "armature current", "A"), ("field_current", "field current", "A"),
    ("switch_current", "switch current", "A"), ("freewheel_current", "freewheel current", "A"),
    ("capacitor_current", "capacitor current", "A"), ("switch_voltage", "switch voltage", "V"),
    ("torque", "torque", "N*m"),
)
_PEAKS = frozenset({"line_current", "armature_current", "switch_voltage"})


@dataclass(frozen=True, kw_only=True)
class Table:
    """A small table: its heads, and rows whose first cell heads the row."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


NONE = Table(heads=(), rows=())


def waveform_points(point: OperatingPoint, frequency: Quantity | None) -> Table:
    """The waveforms just after each switching instant, and where the current and the switch's voltage peak."""
    wave = point.waveform
    axis = "angle" if "angle" in wave else "time"
    if axis not in wave:
        return NONE
    x = wave[axis]
    columns = _columns(point)
    events = [*_instants(point, x, axis)]
    for name, label, _ in columns:
        if name in _PEAKS:
            n = int(np.argmax(np.abs(wave[name])))
            events.append((n, float(x[n]), f"{label} at its greatest"))
    if "bus_voltage" in wave and axis == "angle":
        for find, words_ in ((np.argmin, "valley"), (np.argmax, "crest")):
            n = int(find(wave["bus_voltage"]))
            events.append((n, float(x[n]), f"{words_} of the bus"))
    unit = "rad" if axis == "angle" else "s"
    rows = tuple(
        (label, delay(Quantity(at, unit), frequency) if unit == "rad" else show(Quantity(at, unit)),
         *(show(Quantity(float(wave[name][n]), u), digits=3) for name, _, u in columns))
        for n, at, label in sorted(events)
    )
    return Table(heads=("instant", "at", *(label for _, label, _ in columns)), rows=rows)


def instants(point: OperatingPoint) -> tuple[tuple[float, str, str], ...]:
    """The switching instants on the axis of the waveform: where, in short, and in words."""
    if "angle" in point.waveform:
        named = (("turn_on_angle", "on", "just after turn-on"), ("extinction_angle", "off", "just after extinction"))
        return tuple((point[name], short, long) for name, short, long in named if name in point.quantities)
    found = [(0.0, "on", "just after turn-on")] if "duty" in point.quantities else []
    if {"duty", "switching_frequency"} <= set(point.quantities):
        found.append((point["duty"] / point["switching_frequency"], "off", "just after turn-off"))
    if "extinction_time" in point.quantities and math.isfinite(point["extinction_time"]):
        found.append((point["extinction_time"], "out", "just after the current has ended"))
    return tuple(found)


def _instants(point: OperatingPoint, x: Array, axis: str) -> Iterator[tuple[int, float, str]]:
    """The point of the waveform just after each switching instant."""
    for at, _, label in instants(point):
        step = 1 if axis == "angle" else 0
        yield min(int(np.searchsorted(x, at, side="right")) + step, len(x) - 1), at, label


def _columns(point: OperatingPoint) -> list[tuple[str, str, str]]:
    """The curves to tabulate, without one that repeats another."""
    kept: list[tuple[str, str, str]] = []
    for column in _COLUMNS:
        curve = point.waveform.get(column[0])
        if curve is not None and not any(np.array_equal(curve, point.waveform[k]) for k, _, _ in kept):
            kept.append(column)
    return kept


def control_figures(given: Characteristic | None, frequency: Quantity | None) -> list[tuple[str, str]]:
    """The slope, the sensitivities and the ends of the control range, in words and units of the bench."""
    rows = []
    if given is None:
        return []
    slopes = _SLOPES | {"speed_per_setting": _PER_SETTING.get(given.setting_unit, (1 / RPM, "rpm per unit"))}
    for name, quantity in given.figures.items():
        label = CONTROL.get(name, words(name).capitalize()).format(setting=given.setting_name)
        if name in slopes:
            factor, unit = slopes[name]
            rows.append((label, f"{show(Quantity(quantity.value * factor, '1'), digits=3)} {unit}"))
        else:
            rows.append((label, delay(quantity, frequency) if quantity.unit == "rad" else told(quantity)))
    return rows


def sag_points(design: Design) -> Table:
    """The output speed that each share of the load leaves, the setting held at nominal mains."""
    target = design.headline.get("output_speed")
    rows = []
    for part, torque, speed in design.sag:
        off = "it stalls" if speed.value <= 0 else "—"
        if target is not None and target.value > 0 and speed.value > 0:
            off = f"{show(Quantity(100 * (speed.value / target.value - 1), '1'), digits=3)} %"
        rows.append((told(part), show(torque, digits=3), show(speed), off))
    heads = ("share of the load", "torque at the output", "output speed", "off the target")
    return Table(heads=heads, rows=tuple(rows))


def setting_points(given: Characteristic | None) -> Table:
    """Points of each curve of speed against setting, both ends and in between, a row a curve."""
    return NONE if given is None else _points(given.curves, (given.setting_unit, "rad/s"))


def load_points(given: Characteristic | None) -> Table:
    """Points of each curve of torque against speed, both ends and in between, a row a curve."""
    return NONE if given is None else _points(given.load_curves, ("rad/s", "N*m"))


def _points(curves: tuple[Curve, ...], units: tuple[str, str]) -> Table:
    rows = []
    for curve in curves:
        cells = [
            f"{told(Quantity(x, units[0]))}: {show(Quantity(y, units[1]), digits=3)}" for x, y in _spread(curve)
        ]
        rows.append((curve.name, *cells, *["—"] * (SPREAD - len(cells))))
    return Table(heads=("curve", *(f"point {n + 1}" for n in range(SPREAD))), rows=tuple(rows))


def _spread(curve: Curve) -> list[tuple[float, float]]:
    """At most ``SPREAD`` points of a curve, spread over where it exists."""
    exists = [n for n in range(len(curve.x)) if math.isfinite(curve.x[n]) and math.isfinite(curve.y[n])]
    if not exists:
        return []
    chosen = sorted({exists[round(k * (len(exists) - 1) / (SPREAD - 1))] for k in range(SPREAD)})
    return [(float(curve.x[n]), float(curve.y[n])) for n in chosen]
