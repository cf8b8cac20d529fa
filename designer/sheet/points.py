"""The key points of the plots as tables: what somebody reads who can't see the curves."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from designer.results import Characteristic, Curve, OperatingPoint, Quantity
from designer.sheet.text import delay, show

SPREAD = 5
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


def waveform_points(point: OperatingPoint, frequency: Quantity | None) -> Table:
    """The waveforms just after each switching instant, and where the current and the switch's voltage peak."""
    wave = point.waveform
    axis = "angle" if "angle" in wave else "time"
    if axis not in wave:
        return Table(heads=(), rows=())
    x = wave[axis]
    columns = _columns(point)
    events: list[tuple[int, float, str]] = []
    for name, words in (("turn_on_angle", "just after turn-on"), ("extinction_angle", "just after extinction")):
        if name in point.quantities and axis == "angle":
            after = min(int(np.searchsorted(x, point[name], side="right")) + 1, len(x) - 1)
            events.append((after, point[name], words))
    for name, words, _ in columns:
        if name in ("line_current", "armature_current", "switch_voltage"):
            n = int(np.argmax(np.abs(wave[name])))
            events.append((n, float(x[n]), f"{words} at its greatest"))
    unit = "rad" if axis == "angle" else "s"
    rows = tuple(
        (words, delay(Quantity(at, unit), frequency) if unit == "rad" else show(Quantity(at, unit)),
         *(show(Quantity(float(wave[name][n]), u), digits=3) for name, _, u in columns))
        for n, at, words in sorted(events)
    )
    return Table(heads=("instant", "at", *(words for _, words, _ in columns)), rows=rows)


def _columns(point: OperatingPoint) -> list[tuple[str, str, str]]:
    """The curves to tabulate, without one that repeats another."""
    kept: list[tuple[str, str, str]] = []
    for column in _COLUMNS:
        curve = point.waveform.get(column[0])
        if curve is not None and not any(np.array_equal(curve, point.waveform[k]) for k, _, _ in kept):
            kept.append(column)
    return kept


def setting_points(given: Characteristic) -> Table:
    """Points of each curve of speed against setting, both ends and in between, a row a curve."""
    return _points(given.curves, (given.setting_unit, "rad/s"))


def load_points(given: Characteristic) -> Table:
    """Points of each curve of torque against speed, both ends and in between, a row a curve."""
    return _points(given.load_curves, ("rad/s", "N*m"))


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
