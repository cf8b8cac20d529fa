"""The trade of the switching frequency: each column by hand, each reason against one, which is recommended."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.errors import InputError
from designer.parts.frequency_choice import HEARING, Demand, frequencies, trade
from designer.waveforms.chopper import Loop, chopped

#: S4 of needs.md: 311 V, 25 mH, 300 rpm needs 0.061 of duty, 8000 rpm 0.381; driver's shortest pulse 1 µs
LATHE = Demand(
    bus_voltage=358.0, inductance=25e-3, duty_low=0.061, duty_high=0.381, mean_current=2.7,
    switching_energy=200e-6, loss_allowed=8.0, driver_on_time=1e-6, clock=16e6, quiet=True,
)


def by_frequency(demand=LATHE, margins=None):
    """The rows by kHz."""
    return {row.frequency / 1000: row for row in trade(demand, margins=margins or {})}


def test_frequencies_and_who_hears_them():
    """2 to 32 kHz; all hear up to 12, some 16 and 18, none from 20 kHz on (common practice, no source)."""
    listed = [(row.frequency / 1000, row.hearing) for row in frequencies()]
    assert listed == [(2, "all"), (4, "all"), (8, "all"), (12, "all"), (16, "some"), (18, "some"), (20, "none"),
                      (25, "none"), (32, "none")]
    assert {hearing for _, hearing in listed} == set(HEARING)


def test_columns_of_the_lathe_at_16_khz():
    """On-time 3.8 µs at 0.061 and 16 kHz (needs.md, computed there); the others by hand (derived)."""
    row = by_frequency()[16.0]
    assert row.shortest_on_time == pytest.approx(3.8e-6, abs=0.05e-6)
    assert row.ripple == pytest.approx(358 * 0.381 * 0.619 / (16e3 * 25e-3), rel=1e-12)
    assert row.ripple_share == pytest.approx(row.ripple / 2.7)
    assert row.switching_loss == pytest.approx(3.2)
    assert (row.steps, row.duty_step) == (1000, pytest.approx(1 / 61))
    assert row.hearing == "some"
    assert [step.formula.name for step in row.worked] == [
        "chopper-ripple-straight", "switching-loss-at-a-frequency", "chopper-shortest-on-time", "timer-steps",
        "duty-step"]
    assert row.source.endswith("(common practice, no source)")


def test_lowest_that_suits_is_recommended():
    """Quiet: 16 kHz; where noise does not matter a lower one; one row alone is recommended."""
    assert [f for f, row in by_frequency().items() if row.recommended] == [16.0]
    loud = by_frequency(dataclasses.replace(LATHE, quiet=False))
    assert [f for f, row in loud.items() if row.recommended] == [8.0]
    assert loud[8.0].hearing == "all"


def test_each_reason_names_figure_and_limit():
    """Noise, ripple, short pulse, loss and timer, each at the end of the trade where it bites."""
    rows = by_frequency(dataclasses.replace(LATHE, switching_energy=300e-6))
    assert rows[2.0].ruled_out == (
        "heard as a whine",
        "ripple 1.689 A is 62.5 % of the mean current; at most 30 % (up to 30 %: r.m.s. is then 0.4 % above the "
        "mean (common practice, no source))")
    assert rows[25.0].ruled_out == ()
    assert rows[32.0].ruled_out == (
        "switching loss 9.6 W; the heat path takes 8 W beside conduction",
        "shortest on-time 1.906 µs: the driver's 1 µs is 52.5 % of it; at most 50 % (half (common practice, no "
        "source))")
    coarse = by_frequency(dataclasses.replace(LATHE, clock=4e6))
    assert coarse[16.0].ruled_out == (
        "250 timer steps: one changes the smallest duty by 6.56 %; at most 5 % (speed in steps of a twentieth at the "
        "slowest setting (common practice, no source))",)


def test_nothing_suits():
    """A driver of 5 µs can't make 300 rpm at any quiet frequency (needs.md S4): none is recommended, all say why."""
    rows = by_frequency(dataclasses.replace(LATHE, driver_on_time=5e-6))
    assert not any(row.recommended for row in rows.values())
    assert all(row.ruled_out for row in rows.values())
    assert "131 % of it" in rows[16.0].ruled_out[0]


def test_the_files_own_frequency_gets_a_row():
    """10 kHz stands between 8 and 12 and is heard like 8; one of the table is only marked."""
    rows = by_frequency(dataclasses.replace(LATHE, asked=10e3))
    assert list(rows) == [2, 4, 8, 10, 12, 16, 18, 20, 25, 32]
    assert (rows[10.0].asked, rows[10.0].hearing) == (True, "all")
    marked = by_frequency(dataclasses.replace(LATHE, asked=18e3))
    assert [f for f, row in marked.items() if row.asked] == [18.0]
    assert by_frequency(dataclasses.replace(LATHE, asked=1e3))[1.0].hearing == "all"


def test_timer_too_slow_for_a_single_step():
    """No step at all: ruled out, no division by zero."""
    row = by_frequency(dataclasses.replace(LATHE, clock=10e3))[16.0]
    assert (row.steps, row.duty_step) == (0, math.inf)
    assert "0 timer steps: one changes the smallest duty by inf %" in row.ruled_out[0]


def test_margins_of_the_file_are_stricter_only():
    """6 % of ripple rules out 16 kHz; 40 % is refused."""
    rows = by_frequency(margins={"armature_ripple": 0.06})
    assert [f for f, row in rows.items() if row.recommended] == [25.0]
    assert "at most 6 % (your file; default 30 %, up to 30 %" in rows[16.0].ruled_out[0]
    with pytest.raises(InputError, match=r"margins\.armature_ripple: found '40 %', allowed above 0 and at most 30 %"):
        by_frequency(margins={"armature_ripple": 0.4})


@pytest.mark.parametrize("low, high", [(0.0, 0.5), (0.6, 0.5), (0.1, 1.2)])
def test_duties_that_are_no_range(low, high):
    """Told with both."""
    with pytest.raises(ValueError, match=rf"duties {low:g} to {high:g} are no range within 0 to 1"):
        trade(dataclasses.replace(LATHE, duty_low=low, duty_high=high), margins={})


@given(st.floats(0.02, 0.98), st.floats(0.0, 0.5), st.floats(2e3, 32e3))
@settings(max_examples=40, deadline=None)
def test_ripple_is_never_below_the_exact_one(low, width, frequency):
    """Against the closed waveform at every duty in use (derived)."""
    high = min(low + width, 0.98)
    demand = dataclasses.replace(LATHE, duty_low=low, duty_high=high, asked=frequency)
    row = next(r for r in trade(demand, margins={}) if r.asked)
    D = np.linspace(low, high, 7)
    same = np.ones(7)
    found = chopped(Loop(
        on_voltage=358 - 0.9 * 358 * D, off_voltage=-0.9 * 358 * D, on_resistance=2.45 * same,
        off_resistance=2.45 * same, inductance=25e-3 * same, period=same / frequency, on_time=D / frequency))
    assert found.ripple.max() <= row.ripple * (1 + 1e-12)
