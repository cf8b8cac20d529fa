"""The plots of a fit: speed constant and friction with their readings, errors and bands, and the residuals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from designer.motor.fit import Fit
from designer.motor.fit_bench import SEPARATE
from designer.motor.fit_rows import Block
from designer.motor.fit_solver import whitened
from designer.results import Array
from designer.sheet.figures import BLUE, GREY, INK, RUST, STYLE, as_svg
from designer.sheet.text import RPM
from designer.studies.fitted import Characterised

if TYPE_CHECKING:
    from matplotlib.axes import Axes

BAND = "#cfdfe8"
COVER = 2.0     # standard uncertainties of the band: 95 %


@dataclass(frozen=True, kw_only=True)
class Rows:
    """Readings of the turning motor as points: places, field current (A, of the whole field), k, torque, errors."""

    places: tuple[int, ...]
    current: Array
    speed: Array
    constant: Array
    constant_error: Array
    torque: Array
    torque_error: Array
    residuals: Array


def rows_of(made: Fit, blocks: tuple[Block, ...]) -> Rows:
    """Give every turning reading of ``blocks`` as a point of the flux curve and of the friction."""
    layout, values = made.solution.problem.layout, made.solution.values
    parts = []
    for block in blocks:
        if block.quantities != SEPARATE:
            continue
        field, volts, amps, speed = block.measured.T
        turns = made.value("tap_ratio")[0] if "tap_ratio" in block.needs else 1.0
        voltage = volts - made.value("brush_drop")[0] - made.value("armature_resistance")[0] * amps
        k = layout.curve(values, turns * field)[0]
        spread = np.sqrt(np.diagonal(block.covariance(block.equations(layout, values, block.measured)),
                                     axis1=1, axis2=2))
        residuals = whitened(block, layout, values)[0]
        parts.append((block.places, turns * field, speed, voltage / speed, spread[:, 0] / speed, k * amps,
                      spread[:, 1], residuals))
    joined = [np.concatenate([np.asarray(part[n], float) for part in parts]) for n in range(1, 8)]
    places = tuple(place for part in parts for place in part[0])
    return Rows(places=places, current=joined[0], speed=joined[1], constant=joined[2], constant_error=joined[3],
                torque=joined[4], torque_error=joined[5], residuals=joined[6])


def flux_and_friction(found: Characterised) -> str:
    """The flux curve and the friction with 95 % bands, and the readings with their standard errors, as an SVG text."""
    import matplotlib
    from matplotlib.figure import Figure

    made, aside = _fit(found), _aside(found)
    good = rows_of(made, made.solution.problem.blocks)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.4, 7.4))
        figure.subplots_adjust(left=0.11, right=0.98, top=0.95, bottom=0.07, hspace=0.32)
        upper, lower = figure.subplots(2, 1)
        last = float(made.read_at[-1])
        grid = np.linspace(0.0, (2.0 if made.lawful else 1.0) * last, 200)
        k, spread = made.curve(grid)
        _band(upper, grid, k, spread)
        upper.axvline(last, color=GREY, linestyle=(0, (1, 2)))
        upper.errorbar(good.current, good.constant, yerr=good.constant_error, fmt="o", color=RUST, markersize=4,
                       label="readings ± standard error")
        upper.set_xlabel("field current, A (dotted: the largest read)")
        upper.set_ylabel("speed constant, V·s")
        fast = np.linspace(0.0, 2.5 * made.fastest, 200)
        torque, wide = made.friction(fast)
        _band(lower, fast / RPM, 1e3 * torque, 1e3 * wide)
        lower.axvline(made.fastest / RPM, color=GREY, linestyle=(0, (1, 2)))
        lower.errorbar(good.speed / RPM, 1e3 * good.torque, yerr=1e3 * good.torque_error, fmt="o", color=RUST,
                       markersize=4, label="readings ± standard error")
        lower.set_xlabel("speed, rpm (dotted: the highest read)")
        lower.set_ylabel("friction torque, mN·m")
        if aside is not None:
            upper.plot(aside.current, aside.constant, "x", color=INK, markersize=8, label="set aside")
            lower.plot(aside.speed / RPM, 1e3 * aside.torque, "x", color=INK, markersize=8, label="set aside")
        for axes in (upper, lower):
            axes.set_xlim(left=0)
            axes.set_ylim(bottom=0)
            axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=4, fontsize=8.0, borderaxespad=0.1)
        return as_svg(figure)


def residuals(found: Characterised) -> str:
    """How far each turning reading lies from the fit, in its own standard errors, by its place in the file."""
    import matplotlib
    from matplotlib.figure import Figure

    made, aside = _fit(found), _aside(found)
    good = rows_of(made, made.solution.problem.blocks)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.4, 3.0))
        figure.subplots_adjust(left=0.11, right=0.98, top=0.86, bottom=0.18)
        axes = figure.subplots(1, 1)
        axes.axhspan(-COVER, COVER, color=BAND)
        axes.axhline(0, color=INK, linewidth=0.6)
        for column, mark, words in ((0, "o", "volts"), (1, "s", "torque")):
            axes.plot(good.places, good.residuals[:, column], mark, color=(BLUE, RUST)[column], markersize=5,
                      label=words)
        if aside is not None:
            axes.plot(aside.places, np.clip(aside.residuals[:, 0], -8, 8), "x", color=INK, markersize=8,
                      label="set aside (held at ±8)")
        axes.set_xlabel("reading, by its place in the file from 0")
        axes.set_ylabel("standard errors off")
        axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=3, fontsize=8.0, borderaxespad=0.1)
        return as_svg(figure)


def _fit(found: Characterised) -> Fit:
    if found.fit is None or not found.fit.turning:
        raise ValueError("nothing was fitted that could be drawn")
    return found.fit


def _aside(found: Characterised) -> Rows | None:
    """The readings set aside, as points."""
    made = _fit(found)
    places = {one.place for one in found.suspects if one.set_aside}
    if made.with_all is None:
        return None
    kept = tuple(block.keeping(np.array([place in places for place in block.places]))
                 for block in made.with_all.problem.blocks if block.quantities == SEPARATE)
    kept = tuple(block for block in kept if block.places)
    return rows_of(made, kept) if kept else None


def _band(axes: Axes, x: Array, y: Array, spread: Array) -> None:
    axes.fill_between(x, np.maximum(y - COVER * spread, 0), y + COVER * spread, color=BAND, label="95 % band")
    axes.plot(x, y, "-", color=BLUE, label="fit")
