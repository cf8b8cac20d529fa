"""The tolerance of a design as the sheet and the page of its own print it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from designer.sheet import spread_words
from designer.sheet.spread_words import Rows
from designer.sheet.svg import Drawing, embed
from designer.tolerance.corner import Corner
from designer.tolerance.draws import Spread

SETTLED = "The same at the corners: supply, frequency, ambient, friction, control parts; temperatures settled"
SURVEYED = "Least and greatest over the corners that the ratings are held to, each solved"


@dataclass(frozen=True, kw_only=True)
class Told:
    """Everything the section prints; without Monte Carlo the corners alone."""

    found: bool
    shares: tuple[str, ...] = ()
    plot: Drawing | None = None
    tables: tuple[Rows, ...] = ()
    notes: tuple[str, ...] = ()
    corners: Rows | None = None


def told(found: Spread | None, corners: Sequence[Corner] = (), *, plotted: bool = True) -> Told:
    """Shares, histograms, tables and notes; ``corners`` are those that the ratings are held to."""
    held = spread_words.corners(corners, name="surveyed", caption=SURVEYED) if corners else None
    if found is None:
        return Told(found=False, corners=held)
    tables = [spread_words.outputs(found)]
    tables += [table for one in found.outputs if (table := spread_words.ranked(found, one)) is not None]
    tables += [spread_words.corners(found.corners, name="settled", caption=SETTLED), spread_words.inputs(found)]
    return Told(found=True, shares=spread_words.shares(found), plot=_plot(found) if plotted else None,
                tables=tuple(tables), corners=held,
                notes=(*found.notes, f"Seed {found.seed} (PCG64): the same seed gives the same samples."))


def _plot(found: Spread) -> Drawing | None:
    if not any(len(one.counts) for one in found.outputs):
        return None
    from designer.sheet.spread_figures import histograms

    speed = found.outputs[0]
    return embed(
        histograms(found), name="spread", title="How the samples lie; full line: nominal, dashed: 5 and 95 %",
        description=f"Histograms of {len(found.outputs)} outputs over {found.samples} samples. The middle nine tenths "
        f"of the output speed lie between {spread_words.value(speed.percentiles[5.0], '', speed.unit)} and "
        f"{spread_words.value(speed.percentiles[95.0], '', speed.unit)}.")
