"""What a spread says as rows of text: outputs, what matters most, inputs with their source, corners, shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from designer.results import Quantity
from designer.sheet.headline import written
from designer.sheet.text import share, show
from designer.tolerance.corner import Corner
from designer.tolerance.draws import SIGMAS, Influence, Input, Output, Spread

SHOWN = (1.0, 5.0, 50.0, 95.0, 99.0)     # percentiles printed
LEAST_SHARE = 0.005                      # of the variance: less is not worth a row


@dataclass(frozen=True, kw_only=True)
class Rows:
    """One table: caption, heads and cells."""

    id: str
    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    worded: bool = False     # cells of words, which may break


def value(number: float, name: str, unit: str) -> str:
    """A value of an output for people; a dash where there is none."""
    if not np.isfinite(number):
        return "—"
    return written(name, Quantity(number, unit), None)


def change(number: float, name: str, unit: str) -> str:
    """A difference with its sign; of temperatures in kelvin, of shares in percent points."""
    if not np.isfinite(number):
        return "—"
    sign = "−" if number < 0 else "+"
    if unit == "degC":
        return f"{sign}{abs(number):.2g}\u00a0K"
    if unit == "1":
        return f"{sign}{100 * abs(number):.2g}\u00a0%"
    return f"{sign}{show(Quantity(abs(number), unit), digits=3)}"


def outputs(found: Spread) -> Rows:
    """Every output: nominal, standard deviation, percentiles."""
    rows = tuple((one.words, value(one.nominal, one.name, one.unit),
                  change(one.deviation, one.name, one.unit).lstrip("+"),
                  *(value(one.percentiles[p], one.name, one.unit) for p in SHOWN)) for one in found.outputs)
    heads = ("output", "nominal", "standard deviation", *(f"{p:g} %" for p in SHOWN))
    return Rows(id="spread-outputs", caption=f"{found.samples} samples: that share of them lies below", heads=heads,
                rows=rows)


def ranked(found: Spread, one: Output) -> Rows | None:
    """What moves one output, the largest first; None where nothing does."""
    by, shown = {each.name: each for each in found.inputs}, [
        each for each in found.influences.get(one.name, ()) if each.share >= LEAST_SHARE]
    if not shown:
        return None
    rows = tuple((by[each.input].words, share(each.share), change(each.low, one.name, one.unit),
                  change(each.high, one.name, one.unit), f"{each.regression:+.2f}".replace("-", "−"),
                  f"{each.rank:+.2f}".replace("-", "−")) for each in shown)
    return Rows(id=f"spread-{one.name.replace('_', '-')}", caption=f"What moves it most: {one.words}",
                heads=("input", "part of the variance", "alone, 1 σ down", "alone, 1 σ up", "regression", "rank"),
                rows=rows)


def most(found: Spread, one: Output) -> Influence | None:
    """The input that matters most."""
    return next(iter(found.influences.get(one.name, ())), None)


def inputs(found: Spread) -> Rows:
    """Everything that spreads with its law, and where that comes from."""
    rows = tuple((one.words, _law(one), _end(one, one.low), _end(one, one.high), one.source) for one in found.inputs)
    return Rows(id="spread-inputs", caption="What spreads, and where that is from", worded=True, rows=rows,
                heads=("input", "law", "from", "to", "source"))


def _law(one: Input) -> str:
    return "uniform" if one.law == "uniform" else f"normal, cut at {SIGMAS:g} σ"


def _end(one: Input, end: float) -> str:
    if one.unit == "1":
        return f"× {end:.3g}"
    return show(Quantity(end, one.unit)).replace("-", "−")


def corners(some: Sequence[Corner], *, name: str, caption: str) -> Rows:
    """The least and the greatest of every output, and at which corner."""
    rows = tuple((one.words, value(one.least, "", one.unit), one.least_at, value(one.greatest, "", one.unit),
                  one.greatest_at) for one in some)
    return Rows(id=f"spread-{name}", caption=caption, heads=("output", "least", "at", "greatest", "at"), rows=rows,
                worded=True)


def _parts(some: Sequence[tuple[float, float]], sign: str = "") -> str:
    return f", {sign}".join(f"{share(band)}: {share(part)}" for band, part in some)


def shares(found: Spread) -> tuple[str, ...]:
    """How many of the builds stay near the target, and how many could be turned to it."""
    lines = []
    if found.changes and found.asked is not None:
        lines.append(f"{share(dict(found.changes)[found.asked])} of the samples change their speed from no load to "
                     f"full load by no more than {share(found.asked)} of the target's, the speed band that the file "
                     "asks for, with the setting held at nominal supply and the windings hot.")
    if found.changes:
        lines.append("Change from no load to full load within " + _parts(found.changes) + " of the samples.")
    if found.asked is not None:
        lines.append(f"{share(dict(found.bands)[found.asked])} of the samples stay within ±{share(found.asked)} about "
                     "the target's speed, with the load as written, the setting held, over the whole supply.")
    lines.append("About the target within ±" + _parts(found.bands, "±") + " of the samples, likewise.")
    lines.append(f"The target can be turned to in {share(found.reached)} of the samples.")
    speed = found.outputs[0]
    first = most(found, speed)
    if first is not None:
        name = next(one.words for one in found.inputs if one.name == first.input)
        lines.append(f"What moves the speed most: {name}, {share(first.share)} of the variance that a straight line "
                     f"explains ({share(found.explained[speed.name])} of all).")
    if found.resolved:
        lines.append(f"{found.resolved} states that the joint search left were found one by one.")
    if found.unsolved:
        lines.append(f"{found.unsolved} samples have no steady state: the motor stands, runs away, or burns.")
    return tuple(lines)
