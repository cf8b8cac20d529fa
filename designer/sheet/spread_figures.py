"""Histograms of a Monte Carlo, one strip an output."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from designer.sheet.figures import BLUE, INK, RUST, STYLE, as_svg
from designer.sheet.text import RPM
from designer.tolerance.draws import Output, Spread

if TYPE_CHECKING:
    from matplotlib.axes import Axes

#: unit -> factor and unit as drawn
SHOWN = {"rad/s": (1 / RPM, "rpm"), "rad": (180 / math.pi, "°"), "1": (100.0, "%"), "degC": (1.0, "°C")}
ACROSS = 2


def histograms(found: Spread) -> str:
    """Every output's samples as bars, with the nominal state and 5 and 95 % marked, as an SVG text."""
    import matplotlib
    from matplotlib.figure import Figure

    shown = [one for one in found.outputs if len(one.counts)]
    down = -(-len(shown) // ACROSS)
    with matplotlib.rc_context(STYLE):
        height = 2.1 * down + 0.3
        figure = Figure(figsize=(7.4, height))
        figure.subplots_adjust(left=0.09, right=0.98, top=1 - 0.12 / height, bottom=0.5 / height, hspace=0.52,
                               wspace=0.24)
        places = figure.subplots(down, ACROSS, squeeze=False).ravel()
        for axes, one in zip(places, shown, strict=False):
            _bars(axes, one)
        for axes in places[len(shown):]:
            axes.set_visible(False)
        return as_svg(figure)


def _bars(axes: Axes, one: Output) -> None:
    factor, unit = SHOWN.get(one.unit, (1.0, one.unit))
    edges = one.edges * factor
    axes.stairs(one.counts, edges, fill=True, color="#cfdfe8")
    axes.stairs(one.counts, edges, color=BLUE, linewidth=1.0)
    axes.axvline(one.nominal * factor, color=INK, linewidth=1.2)
    for percent in (5.0, 95.0):
        axes.axvline(one.percentiles[percent] * factor, color=RUST, linewidth=1.2, linestyle=(0, (4, 2)))
    axes.set_xlabel(f"{one.words}, {unit}")
    axes.set_ylim(bottom=0)
    axes.locator_params(axis="x", nbins=6)
    axes.locator_params(axis="y", nbins=4)
