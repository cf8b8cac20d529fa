"""The line choke: its classes, which one is taken, when one is kept, and what its part tells."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from designer.checks import check
from designer.equations import line_choke as eq
from designer.parts.line_choke import (
    KEEP,
    Bus,
    Row,
    Seen,
    candidates,
    inductances,
    least_resistance,
    lower,
    part,
    resistance,
    rows,
    upper,
)
from designer.tables import read


def seen(inductance: float, use: float, *, rms: float = 1.8, peak: float = 5.4) -> Seen:
    """A choke by how much of the limit its worst harmonic uses; the 9th, whose limit is 0.40 A."""
    return Seen(inductance=inductance, use=use, order=9, current=0.4 * use, rms=rms, peak=peak, at="full load")


SERIES = (seen(2.2e-3, 1.02), seen(3.3e-3, 0.98), seen(4.7e-3, 0.85))


def test_generic_classes() -> None:
    """R10 currents from 0.63 A, saturation at 1.8 times the rated r.m.s. current (common practice, no source)."""
    listed = read("line_chokes", Row)
    assert sorted({row.current for row in listed}) == [0.63, 1.0, 1.6, 2.5, 4.0, 6.3, 10.0, 16.0]
    assert all(row.saturation == pytest.approx(1.8 * row.current, rel=1e-3) for row in listed)
    assert {row.mark for row in listed} == {"practice"}
    assert max(row.inductance_high * row.current**2 for row in listed) < 1.0


def test_time_constants_follow_the_size() -> None:
    """25 ms at 0.17 J (from memory), with the root of the size; never above it, the lowest of each band (derived)."""
    for row in read("line_chokes", Row):
        size = eq.CHOKE_SIZE(L_ch=row.inductance_low, I_ch0=row.current)
        assert row.time_constant <= eq.TIME_CONSTANT(W_ch=size)
        assert row.time_constant == pytest.approx(eq.TIME_CONSTANT(W_ch=size), rel=0.1)     # two digits, rounded down


def test_preferred_inductances() -> None:
    """1 to 68 mH in E6 (IEC 60063), 20 % both ways (IEC 60063 pairing, from memory)."""
    assert inductances() == pytest.approx([
        1e-3, 1.5e-3, 2.2e-3, 3.3e-3, 4.7e-3, 6.8e-3, 10e-3, 15e-3, 22e-3, 33e-3, 47e-3, 68e-3])
    assert lower(10e-3) == pytest.approx(8e-3)
    assert upper(10e-3) == pytest.approx(12e-3)


def test_least_resistance_is_that_of_the_best_class() -> None:
    """No class that is sold in an inductance has less (derived)."""
    for value in inductances():
        sold = [resistance(value, row=row) for row in rows() if row.has(value)]
        assert least_resistance(value) == pytest.approx(min(sold))


def test_the_least_that_holds() -> None:
    """The first in order of inductance; without limits passed it is the smallest of all."""
    assert candidates(SERIES, held=None, margins={})[0][0].inductance == 3.3e-3
    assert candidates((seen(2.2e-3, 0.9), *SERIES[1:]), held=None, margins={})[0][0].inductance == 2.2e-3


def test_one_that_holds_is_kept() -> None:
    """A smaller one takes its place only with 3 % in hand, so that rounds of survey and choice end."""
    assert SERIES[1].use > KEEP
    assert candidates(SERIES, held=4.7e-3, margins={})[0][0].inductance == 4.7e-3
    better = (SERIES[0], replace(SERIES[1], use=0.96), SERIES[2])
    assert candidates(better, held=4.7e-3, margins={})[0][0].inductance == 3.3e-3
    assert candidates(SERIES, held=3.3e-3, margins={})[0][0].inductance == 3.3e-3


def test_the_class_by_current_and_saturation() -> None:
    """80 % of rated current and of saturation (common practice, no source): the peak of the pulse decides."""
    (_, row), = candidates((seen(4.7e-3, 0.9, rms=1.2, peak=2.0),), held=None, margins={})
    assert row.current == 1.6
    (_, row), = candidates((seen(4.7e-3, 0.9, rms=1.2, peak=4.0),), held=None, margins={})
    assert row.current == 4.0
    (_, row), = candidates((seen(4.7e-3, 0.9, rms=1.2, peak=4.0),), held=None, margins={"choke_saturation": 0.5})
    assert row.current == 6.3
    assert candidates((seen(4.7e-3, 0.9, rms=15.0, peak=40.0),), held=None, margins={}) == ()


def test_what_the_part_tells() -> None:
    """Marking, ratings that hold, the winding's heat by R·I², the ringing with the reservoir (both derived)."""
    (one, row), *_ = candidates(SERIES, held=None, margins={})
    made = part(one, row=row, bus=Bus(capacitance=470e-6, sag=5.6), margins={})
    assert made.role == "line-choke"
    assert made.marking == "3.3 mH 4 A"
    assert made.tolerance == "20 %"
    assert {c.verdict for c in check(made)} == {"pass"}
    assert [r.name for r in made.ratings] == [
        "harmonic 9 at the lower inductance", "r.m.s. current", "peak against saturation"]
    assert made.ratings[0].limit.value == pytest.approx(0.40)      # IEC 61000-3-2:2018 Table 1, order 9 (seen)
    by_name = {step.formula.name: step.value for step in made.worked}
    assert by_name["choke-winding-loss"] == pytest.approx(3.3e-3 / row.time_constant * 1.8**2)
    assert by_name["choke-and-reservoir-resonance"] == pytest.approx(1 / (2 * math.pi * math.sqrt(3.3e-3 * 470e-6)))
    assert "saturates" in made.if_wrong
    assert "the bus sags" in made.if_wrong
    assert any("5.6 V more under full load" in note for note in made.notes)
    assert any("computed without it" in note for note in made.notes)


def test_a_stricter_margin_on_the_harmonic() -> None:
    """The user's own share stands in the part's rating."""
    (one, row), *_ = candidates(SERIES, held=None, margins={})
    made = part(one, row=row, bus=Bus(capacitance=470e-6, sag=5.6), margins={"harmonics": 0.7})
    assert made.ratings[0].share == 0.7
    assert check(made)[0].verdict == "warn"
