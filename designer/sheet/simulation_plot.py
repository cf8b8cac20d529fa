"""The plots of a simulated loop: speed and current against time, a scenario a column, readable without colour."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from designer.sheet.figures import BLUE, GREY, INK, RUST, STYLE, as_svg
from designer.sheet.text import RPM

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from designer.studies.simulate import ScenarioResult

_DASHES = (("-", BLUE), ("--", RUST), ("-.", INK), (":", GREY))
_LONGEST = 6.0       # s: a run-away goes on beyond the plot
_NEAR = 0.5          # of the target: where no speed falls below it, zero is not shown
_ROOM = 1.12         # over the greatest value shown


def plot(results: Sequence[ScenarioResult], *, ratio: float = 1.0) -> str:
    """Speed at the output (``ratio`` turns of the motor a turn of it) above, motor current below, as an SVG text.

    Every result is one line of each strip, time from its event on; the target's band is shaded, the speed limit drawn
    where it is near, a dot stands where the guard blocks the output.
    """
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        height = 4.9 + 0.2 * ((len(results) + 1) // 2)
        figure = Figure(figsize=(7.4, height))
        figure.subplots_adjust(left=0.1, right=0.97, top=1 - (0.12 + 0.2 * ((len(results) + 1) // 2)) / height,
                               bottom=0.5 / height, hspace=0.12)
        upper, lower = figure.subplots(2, 1, sharex=True)
        for result, (dash, colour) in zip(results, _DASHES * len(results), strict=False):
            _lines(upper, lower, result, style=(dash, colour), ratio=ratio)
        _band(upper, results[0], ratio)
        upper.set_ylabel("output speed, rpm")
        lower.set_ylabel("motor current, A r.m.s.")
        lower.set_xlabel("time, s")
        lower.set_ylim(bottom=0)
        upper.set_ylim(bottom=_bottom(upper, results, ratio))
        _limit(upper, results[0], ratio)
        first = min(float(r.trace.time[0]) - r.event for r in results)
        lower.set_xlim(min(first, 0.0), min(max(float(r.trace.time[-1]) - r.event for r in results), _LONGEST))
        upper.legend(loc="lower left", bbox_to_anchor=(-0.08, 1.0), ncols=2, fontsize=8.0, borderaxespad=0.1,
                     handlelength=3.2)
        return as_svg(figure)


def _lines(upper: Axes, lower: Axes, result: ScenarioResult, *, style: tuple[str, str], ratio: float) -> None:
    trace, (dash, colour) = result.trace, style
    time = trace.time - result.event
    upper.plot(time, trace.mean / (RPM * ratio), dash, color=colour, label=result.name)
    lower.plot(time, trace.rms, dash, color=colour)
    if result.cut is not None:
        at = int((time <= result.cut).sum()) - 1
        upper.plot(time[at:at + 1], trace.mean[at:at + 1] / (RPM * ratio), "o", color=INK, markersize=6)
        upper.annotate("output blocked", (time[at], trace.mean[at] / (RPM * ratio)), (6, -12),
                       textcoords="offset points", fontsize=8.0)


def _band(axes: Axes, result: ScenarioResult, ratio: float) -> None:
    """The band about the target, shaded."""
    middle = result.target / (RPM * ratio)
    axes.axhspan(middle * (1 - result.band), middle * (1 + result.band), facecolor="#cfdfe8", edgecolor=GREY,
                 linewidth=0.5)


def _bottom(axes: Axes, results: Sequence[ScenarioResult], ratio: float) -> float:
    """Zero, or a little below the least speed where all stay about the target."""
    target = results[0].target
    least, most = (float(of([of(r.trace.mean) for r in results])) for of in (min, max))
    if least < _NEAR * target or most > (2 - _NEAR) * target:
        return 0.0
    return max(axes.get_ylim()[0], (least - (_ROOM - 1) * (most - least)) / (RPM * ratio))


def _limit(axes: Axes, result: ScenarioResult, ratio: float) -> None:
    """The speed limit, where it is not far above what is drawn."""
    if result.limit is None or not math.isfinite(result.limit):
        return
    at = result.limit / (RPM * ratio)
    if at <= 1.5 * axes.get_ylim()[1]:
        axes.set_ylim(top=max(axes.get_ylim()[1], at * _ROOM))
        axes.axhline(at, color=RUST, linewidth=1.2, linestyle=(0, (6, 2)))
        axes.annotate("speed limit", (0.01, at), (0, 3), xycoords=("axes fraction", "data"),
                      textcoords="offset points", fontsize=8.0, color=RUST)


def spoken(results: Sequence[ScenarioResult]) -> str:
    """The plot in words, for who can't see it."""
    names = "; ".join(result.name for result in results)
    return f"Speed and motor current against time. Lines: {names}. The table beside the plot gives the figures."
