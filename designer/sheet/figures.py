"""The plots of the sheet: one period of the waveforms, and the control characteristic.

Drawn with matplotlib's ``Figure`` alone, as SVG that is the same byte for byte each time. No text
of the user's goes into a plot.
"""

from __future__ import annotations

import io
import math
import re
from typing import TYPE_CHECKING, Any

import numpy as np

from designer.results import Array, Characteristic, Curve, OperatingPoint, Quantity
from designer.sheet.points import instants
from designer.sheet.text import RPM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, BLUE, RUST, GREY = "#16242e", "#1f5a7a", "#a8431f", "#6d7a82"
_DASHES: tuple[tuple[str, str], ...] = (("-", BLUE), ("--", RUST), ("-.", INK), (":", GREY))
STYLE: Any = {
    "svg.fonttype": "none", "svg.hashsalt": "sheet", "text.parse_math": False,
    "font.family": "sans-serif", "font.sans-serif": ["DejaVu Sans"], "font.size": 9.0,
    "axes.edgecolor": INK, "axes.labelcolor": INK, "xtick.color": INK, "ytick.color": INK, "text.color": INK,
    "axes.spines.top": False, "axes.spines.right": False, "axes.grid": True, "grid.color": "#d3d8d6",
    "grid.linewidth": 0.6, "lines.linewidth": 1.6, "legend.frameon": False, "axes.axisbelow": True,
}
#: the strips of the waveform plot, top to bottom: axis text, then curve name, its words, dash and colour
STRIPS = (
    ("voltage, V", (
        ("source_voltage", "supply", ":", INK), ("motor_voltage", "motor", "-", BLUE),
        ("armature_voltage", "armature", "--", RUST), ("bus_voltage", "bus", "-.", GREY),
    )),
    ("current, A", (
        ("line_current", "line", "-", BLUE), ("armature_current", "armature", "--", RUST),
        ("field_current", "field", "-.", INK), ("switch_current", "switch", "-", GREY),
        ("freewheel_current", "freewheel", ":", INK), ("capacitor_current", "capacitor", ":", RUST),
    )),
    ("switch, V", (("switch_voltage", "across the switch", "-", BLUE),)),
)
_BAND = re.compile(r"nominal (\w+)$")      # "full load, nominal mains" and its edges at low and high
#: the control setting as drawn: factor and unit
_SETTING = {"rad": (180 / math.pi, "°"), "1": (100.0, "%")}


def waveforms(point: OperatingPoint, frequency: Quantity | None) -> str:
    """One full period of voltages, currents and the switch's voltage, as an SVG text."""
    import matplotlib
    from matplotlib.figure import Figure

    strips = [(label, shown) for label, names in STRIPS if (shown := _distinct(point, names))]
    with matplotlib.rc_context(STYLE):
        height = 1.9 * len(strips) + 0.6
        figure = Figure(figsize=(7.4, height))
        # room in inches: an automatic layout would draw everything once more to find it
        figure.subplots_adjust(left=0.1, right=0.96, top=1 - 0.3 / height, bottom=0.6 / height, hspace=0.24)
        rows = figure.subplots(len(strips), 1, sharex=True, squeeze=False)[:, 0]
        x, label = _abscissa(point)
        for axes, (text, curves) in zip(rows, strips, strict=True):
            for name, words, dash, colour in curves:
                axes.plot(x, point.waveform[name], dash, color=colour, label=words)
            axes.set_ylabel(text)
            axes.axhline(0, color=INK, linewidth=0.6)
            _legend(axes)
        _mark_instants(rows, point)
        rows[-1].set_xlabel(label)
        rows[-1].set_xlim(x[0], x[-1])
        if "angle" in point.waveform:
            rows[-1].set_xticks(range(0, 361, 45), [_tick(d, frequency) for d in range(0, 361, 45)])
        return as_svg(figure)


def characteristic(
    given: Characteristic, *, target: tuple[Quantity, Quantity] | None, limit: Quantity | None,
) -> str:
    """Speed against the setting, and torque against speed with the setting held, one above the other.

    ``target`` is the setting and the speed wanted. Curves whose names end in "low" and "high" with
    the supply's name make the band of the one that ends in "nominal" with it.
    """
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.4, 7.2))
        figure.subplots_adjust(left=0.11, right=0.985, top=0.955, bottom=0.07, hspace=0.3)
        upper, lower = figure.subplots(2, 1)
        scale, unit = _SETTING.get(given.setting_unit, (1.0, given.setting_unit))
        _curves(upper, given.curves, scale=(scale, 1 / RPM))
        upper.set_xlabel(f"{given.setting_name}, {unit}")
        upper.set_ylabel("output speed, rpm")
        _curves(lower, given.load_curves, scale=(1 / RPM, 1.0))
        lower.set_xlabel("output speed, rpm, setting held")
        lower.set_ylabel("output torque, N·m")
        for axes in (upper, lower):
            axes.set_ylim(bottom=0)
        if target is not None:
            at = (target[0].value * scale, target[1].value / RPM)
            upper.plot(*at, "o", color=INK, markersize=7)
            upper.annotate("target", at, (8, 8), textcoords="offset points")
        _limit(upper, lower, limit)
        return as_svg(figure)


def _distinct(point: OperatingPoint, curves: tuple[tuple[str, str, str, str], ...]) -> list[Any]:
    """The curves of a strip that exist, without repeats (a series motor has one current)."""
    kept: list[tuple[str, str, str, str]] = []
    for curve in curves:
        values = point.waveform.get(curve[0])
        if values is None or any(np.array_equal(values, point.waveform[other[0]]) for other in kept):
            continue
        kept.append(curve)
    return kept


def _abscissa(point: OperatingPoint) -> tuple[Array, str]:
    if "angle" in point.waveform:
        return np.degrees(point.waveform["angle"]), "angle from the zero of the mains"
    factor, unit = _times(point.waveform["time"])
    return point.waveform["time"] * factor, f"time, {unit}"


def _times(time: Array) -> tuple[float, str]:
    """Microseconds, or milliseconds where the period is long."""
    return (1e6, "µs") if time[-1] < 2e-3 else (1e3, "ms")


def _tick(degrees: int, frequency: Quantity | None) -> str:
    if frequency is None:
        return f"{degrees}°"
    return f"{degrees}°\n{degrees / 360 / frequency.value * 1e3:.3g} ms"


def _mark_instants(rows: Array, point: OperatingPoint) -> None:
    """Dotted lines at the switching instants, named in the topmost strip."""
    by_angle = "angle" in point.waveform
    factor, height = (180 / math.pi, 0.02) if by_angle else (_times(point.waveform["time"])[0], 0.5)
    for instant, words, _ in instants(point):
        at = instant * factor
        for axes in rows:
            axes.axvline(at, color=GREY, linewidth=1.0, linestyle=(0, (1, 2)))
        rows[0].annotate(words, (at, height), (3, 0), xycoords=("data", "axes fraction"),
                         textcoords="offset points", fontsize=8.0)


def _curves(axes: Axes, curves: tuple[Curve, ...], *, scale: tuple[float, float]) -> None:
    """Draw the curves; those at low and high supply are the edges of a shaded band."""
    by_name = {curve.name: curve for curve in curves}
    styles = iter(_DASHES * 4)
    for curve in curves:
        low, high = _edges(curve, by_name)
        if low is not None and high is not None:
            around = np.vstack([np.column_stack([low.x, low.y]), np.column_stack([high.x, high.y])[::-1]])
            around = around[np.isfinite(around).all(axis=1)] * scale
            label = f"low to high {curve.name.split()[-1]}"
            axes.fill(*around.T, facecolor="#cfdfe8", edgecolor=GREY, linewidth=0.6, label=label)
    banded = {edge.name for curve in curves for edge in _edges(curve, by_name) if edge is not None}
    for curve in curves:
        if curve.name not in banded:
            dash, colour = next(styles)
            axes.plot(curve.x * scale[0], curve.y * scale[1], dash, color=colour, label=curve.name)
    if curves:
        _legend(axes)


def _edges(curve: Curve, by_name: dict[str, Curve]) -> tuple[Curve | None, Curve | None]:
    """The curves at low and high supply that belong to one at nominal supply."""
    found = _BAND.search(curve.name)
    if found is None:
        return None, None
    stem, word = curve.name[: found.start()], found.group(1)
    return by_name.get(f"{stem}low {word}"), by_name.get(f"{stem}high {word}")


def _legend(axes: Axes) -> None:
    """The names of the curves, above the plot where no curve runs through them."""
    axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=4, fontsize=8.0, borderaxespad=0.1)


def _limit(upper: Axes, lower: Axes, limit: Quantity | None) -> None:
    """The speed limit, unless it lies far above all that is drawn."""
    if limit is None or not math.isfinite(limit.value):
        return
    at = limit.value / RPM
    if at <= 2 * upper.get_ylim()[1]:
        upper.set_ylim(top=max(upper.get_ylim()[1], 1.1 * at))
        upper.axhline(at, color=RUST, linewidth=1.2, linestyle=(0, (6, 2)))
        upper.annotate("speed limit", (0.01, at), (0, 3), xycoords=("axes fraction", "data"),
                      textcoords="offset points", fontsize=8.0, color=RUST)
    if at <= 2 * lower.get_xlim()[1]:
        lower.axvline(at, color=RUST, linewidth=1.2, linestyle=(0, (6, 2)))
        lower.annotate("speed limit", (at, 0.03), (-3, 0), xycoords=("data", "axes fraction"), ha="right",
                       textcoords="offset points", fontsize=8.0, color=RUST)


def as_svg(figure: Figure) -> str:
    """The figure as SVG text, without a date or a maker's name in it."""
    target = io.StringIO()
    nothing: Any = {"Date": None, "Creator": None, "Format": None, "Type": None}
    figure.savefig(target, format="svg", metadata=nothing)
    return target.getvalue()
