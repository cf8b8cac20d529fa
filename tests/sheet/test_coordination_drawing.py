"""The fuse's plot and the power's bar as drawn. Source: what was drawn is what the record holds (derived)."""

from __future__ import annotations

import re

import numpy as np
import pytest

from designer.sheet import balance_bar, coordination_plot
from designer.studies.balances import Balance
from designer.studies.coordination_lines import Line
from designer.studies.fuse_coordination import Coordination


def _record() -> Coordination:
    def two(x: tuple[float, float], y: tuple[float, float]) -> dict[str, np.ndarray]:
        return {"x": np.array(x), "y": np.array(y)}

    return Coordination(
        fuse="F1, T2A", conclusion="", answers=(),
        lines=(Line(name="fuse, opens at the earliest", kind="fuse", **two((3.0, 30.0), (100.0, 1e-3))),
               Line(name="fuse, opens at the latest", kind="fuse", **two((5.0, 60.0), (1800.0, 1e-2))),
               Line(name="running", kind="load", **two((1.0, 1.0), (1e-4, 1e4))),
               Line(name="start", kind="pulse", **two((2.0, 1.5), (0.1, 1.0))),
               Line(name="Q1 bears", kind="limit", **two((400.0, 16.0), (1e-4, 1e4))),
               Line(name="short", kind="short", **two((1500.0, 1500.0), (1e-4, 1e4)))))


def test_every_line_is_named() -> None:
    """The legend names each line once, the axes their quantities; no text of the user's is drawn."""
    svg = coordination_plot.plot(_record())
    for line in _record().lines:
        assert svg.count(f">{line.name}<") == 1
    assert "current, A r.m.s." in svg
    assert "10 000 s" in svg
    assert "<script" not in svg


def test_plot_is_the_same_each_time() -> None:
    """The same record gives the same bytes."""
    assert coordination_plot.plot(_record()) == coordination_plot.plot(_record())


def test_one_bound_alone() -> None:
    """A fuse of which only the clearing is known is one line without a band."""
    record = Coordination(fuse="F1", conclusion="", answers=(), lines=_record().lines[1:])
    assert "opens at the latest" in coordination_plot.plot(record)


def test_bar_is_in_proportion() -> None:
    """Each step is as wide as its share of the power taken in; small losses share one row (derived)."""
    given = Balance(at="at the target", input=200.0, losses=(("copper_loss_field", 50.0), ("brush_loss", 30.0),
                    ("switch_loss", 1.0), ("source_loss", 2.0)), useful=("output_power", 117.0))
    widths = [float(w) for w in re.findall(r'width="([\d.]+)" height="18"', balance_bar.bar(given))]
    assert [width / widths[0] for width in widths] == pytest.approx([1.0, 0.25, 0.15, 0.015, 0.585], abs=1e-3)
    assert [name for name, *_ in balance_bar.rows(given)] == [
        "copper loss field", "brush loss", "2 smaller losses", "output power"]


def test_what_does_not_add_up_is_drawn() -> None:
    """Power that no loss explains has a row of its own."""
    given = Balance(at="", input=100.0, losses=(("brush_loss", 30.0),), useful=("output_power", 60.0))
    assert ("not told apart", 10.0) in [row[:2] for row in balance_bar.rows(given)]
