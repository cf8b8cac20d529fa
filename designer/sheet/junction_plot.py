"""Junction temperatures through a stall against time, one curve a device, with the limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from designer.quantities import engineering
from designer.sheet.figures import BLUE, GREY, INK, RUST, STYLE, as_svg

if TYPE_CHECKING:
    from designer.studies.junction_curves import JunctionCurve

_LOOKS = (("-", BLUE), ("--", INK), ("-.", GREY), (":", INK))


def plot(given: tuple[JunctionCurve, ...]) -> str:
    """The highest junction temperature of the pulse under way, against the time since the stall began, as SVG."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.4, 3.4))
        figure.subplots_adjust(left=0.1, right=0.975, top=0.88, bottom=0.16)
        axes = figure.subplots()
        axes.set_xscale("log")
        for n, curve in enumerate(given):
            dash, colour = _LOOKS[n % len(_LOOKS)]
            axes.plot(curve.time, curve.temperature, dash, color=colour, label=curve.name)
        for n, limit in enumerate(sorted({curve.limit for curve in given})):
            names = ", ".join(curve.name for curve in given if curve.limit == limit)
            axes.axhline(limit, color=RUST, linewidth=1.2, linestyle=(0, (6, 2 + 2 * n)), label=f"limit of {names}")
        axes.set_xlim(min(float(curve.time[0]) for curve in given), max(float(curve.time[-1]) for curve in given))
        axes.xaxis.set_major_formatter(lambda value, _: engineering(value, "s", 3))
        axes.set_xticks([], minor=True)
        axes.set_xlabel("time since the stall began")
        axes.set_ylabel("junction, °C")
        axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=3, fontsize=8.0, borderaxespad=0.1)
        return as_svg(figure)


def spoken(given: tuple[JunctionCurve, ...]) -> str:
    """The curves in words, for who can't see them."""
    return "; ".join(
        f"{curve.name}: {curve.temperature[0]:.0f} °C after {engineering(float(curve.time[0]), 's', 2)}, "
        f"{curve.temperature[-1]:.0f} °C after {engineering(float(curve.time[-1]), 's', 3)}, limit {curve.limit:.0f} °C"
        for curve in given) + "."
