"""The key points of the plots as tables: what somebody reads who can't see the curves."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from designer.results import Characteristic, Curve, Design, OperatingPoint, Quantity
from designer.sheet.text import RPM, delay, show, told, words

SPREAD = 5
#: figures of the control range: words, and factor and unit where the bench has one of its own
CONTROL = {
    "speed_per_setting": ("Speed per change of the firing angle", 1 / 6, "rpm per degree"),
    "speed_per_load_percent": ("Speed per change of the load", 1 / RPM, "rpm per % of the load"),
    "speed_per_mains_percent": ("Speed per change of the mains", 1 / RPM, "rpm per % of the voltage"),
    "speed_per_kelvin": ("Speed per change of the winding temperature", 1 / RPM, "rpm per kelvin"),
    "smallest_angle_at_stall": ("Smallest usable firing angle at stall", 0.0, ""),
    "smallest_angle_at_speed": ("Smallest usable firing angle at the target's speed", 0.0, ""),
    "largest_angle": ("Largest firing angle that still fires", 0.0, ""),
    "largest_angle_that_starts": ("Largest firing angle that starts the load", 0.0, ""),
}
_COLUMNS = (
    ("source_voltage", "supply voltage", "V"), ("motor_voltage", "motor voltage", "V"),
    ("line_current", "line current", "A"),
    ("armature_current", "armature current", "A"), ("switch_voltage", "switch voltage", "V"),
    ("torque", "torque", "N*m"),
)


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
    events: list[tuple[int, float, str]] = []
    for name, label in (("turn_on_angle", "just after turn-on"), ("extinction_angle", "just after extinction")):
        if name in point.quantities and axis == "angle":
            after = min(int(np.searchsorted(x, point[name], side="right")) + 1, len(x) - 1)
            events.append((after, point[name], label))
    for name, label, _ in columns:
        if name in ("line_current", "armature_current", "switch_voltage"):
            n = int(np.argmax(np.abs(wave[name])))
            events.append((n, float(x[n]), f"{label} at its greatest"))
    unit = "rad" if axis == "angle" else "s"
    rows = tuple(
        (label, delay(Quantity(at, unit), frequency) if unit == "rad" else show(Quantity(at, unit)),
         *(show(Quantity(float(wave[name][n]), u), digits=3) for name, _, u in columns))
        for n, at, label in sorted(events)
    )
    return Table(heads=("instant", "at", *(label for _, label, _ in columns)), rows=rows)


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
    for name, quantity in ({} if given is None else given.figures).items():
        label, factor, unit = CONTROL.get(name, (words(name).capitalize(), 0.0, ""))
        if unit:
            rows.append((label, f"{show(Quantity(quantity.value * factor, '1'), digits=3)} {unit}"))
        else:
            rows.append((label, delay(quantity, frequency) if quantity.unit == "rad" else show(quantity)))
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
            f"{show(Quantity(x, units[0]))}: {show(Quantity(y, units[1]), digits=3)}" for x, y in _spread(curve)
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
