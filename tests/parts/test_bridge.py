"""The bridge: generic classes, the user's own diodes, surges short and long, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.checks import check
from designer.equations import reservoir as eq
from designer.errors import InputError
from designer.parts import heatsink
from designer.parts.bridge import Demand, candidates, choose, loss, on_sink
from designer.parts.bridge_classes import Row, VoltageClass, classes, completed
from designer.tables import read
from tests.shorts import short

LATHE = Demand(
    crest=358.0, mean_current=0.41, rms_current=1.51, peak_current=9.0, inrush_peak=18.0, inrush_i2t=2.5,
    shorts=short(78.0))


def test_classes_lie_in_the_ranges() -> None:
    """8 to 35 A, 1.0 to 1.1 V a diode, I_FSM 150 to 400 A, 1.5 to 2.5 K/W (generic bridges, from memory)."""
    rows = read("bridges", Row)
    assert [row.current for row in rows] == [8.0, 15.0, 25.0, 35.0]
    assert [row.surge_current for row in rows] == [150.0, 200.0, 300.0, 400.0]
    assert [row.junction_to_case for row in rows] == [2.5, 2.2, 1.8, 1.5]
    assert {row.voltage_drop for row in rows} == {1.1}
    assert [row.voltage for row in read("diode_voltages", VoltageClass)] == [100.0, 200.0, 400.0, 600.0, 800.0, 1000.0]


def test_one_diode_of_a_class() -> None:
    """Half of the output current, V_F at the rated current, I²t of half a sine (derived)."""
    first = classes()[0]
    assert first["current"] == 4.0
    assert first["threshold_voltage"] + 8.0 * first["slope_resistance"] == pytest.approx(1.1)
    assert first["i2t"] == pytest.approx(150.0**2 * 10e-3 / 2)


def test_a_bridge_for_230_volts() -> None:
    """Twice the crest of 253 V (rating rule, common practice, no source): the 800 V class, the smallest one."""
    part, device = choose(LATHE, given={}, margins={})
    assert part.marking == "8 A 800 V"
    assert {c.verdict for c in check(part)} == {"pass"}
    assert device["voltage"] == 800.0


def test_behind_a_transformer_80_percent_do() -> None:
    """No surges of the mains: 80 % rule alone (common practice, no source)."""
    low = replace(LATHE, crest=37.0, mains_fed=False)
    assert choose(low, given={}, margins={})[1]["voltage"] == 100.0


def test_heat_is_the_two_term_law_four_times() -> None:
    """Two-term law for one diode; the sink sees four of them (derived)."""
    device = classes()[0]
    one = loss(device, mean_current=0.41, rms_current=1.51)
    assert one == pytest.approx(0.85 * 0.41 + device["slope_resistance"] * 1.51**2)
    assert on_sink(device, demand=LATHE, margins={}).loss == pytest.approx(4 * one)


def test_the_whole_bridge_on_the_sink() -> None:
    """Junction over case is that of the whole bridge, as the class states it (2.5 K/W, from memory)."""
    part = on_sink(classes()[0], demand=LATHE, margins={})
    assert part.junction_to_case == pytest.approx(2.5)
    assert part.case_limit == pytest.approx(150.0 - 50.0 * 1.51 / (0.7 * 4.0 * math.pi / 2), abs=0.1)
    sink, _ = heatsink.choose(heatsink.Demand(devices=(part,), ambient=40.0, box_rise=20.0), margins={})
    assert {c.verdict for c in check(sink)} == {"pass"}


def test_a_short_surge_may_be_higher_and_carries_less_heat() -> None:
    """Equal I²t of half sines; I²t with the square root of the time below 10 ms (from memory)."""
    short = replace(LATHE, inrush_peak=200.0, inrush_i2t=40.0)          # 2 ms
    rows = {r.name: r for r in choose(short, given={"current": 4.0, "surge_current": 150.0}, margins={})[0].ratings}
    assert rows["surge current at switch-on"].limit.value == pytest.approx(150.0 * math.sqrt(5.0))
    assert rows["I²t of switch-on"].limit.value == pytest.approx(112.5 / math.sqrt(5.0))
    long = replace(LATHE, inrush_peak=20.0, inrush_i2t=40.0)            # 200 ms
    rows = {r.name: r for r in choose(long, given={}, margins={})[0].ratings}
    assert rows["surge current at switch-on"].limit.value == 150.0


def test_no_scaling_below_a_millisecond() -> None:
    """The surge formula holds from 1 ms on: a spike of 0.1 ms gets no more than one of 1 ms (derived)."""
    spike = replace(LATHE, inrush_peak=400.0, inrush_i2t=8.0)           # 0.1 ms
    part, _ = choose(spike, given={"current": 4.0, "surge_current": 150.0}, margins={})
    row = next(r for r in part.ratings if r.name == "surge current at switch-on")
    assert row.limit.value == pytest.approx(150.0 * math.sqrt(10.0))


def test_the_fuse_asks_for_a_larger_bridge() -> None:
    """78 A²s need 112 A²s at 70 %; 400 A²s need the 25 A class's neighbour (common practice, no source)."""
    assert choose(replace(LATHE, shorts=short(300.0)), given={}, margins={})[0].marking == "25 A 800 V"


def test_the_users_diodes_are_taken_as_they_are() -> None:
    """Drop from the file, the rest from the class that carries the load, marked so; a failing rating is told."""
    own = {"threshold_voltage": 0.8, "slope_resistance": 15e-3}
    device = candidates(LATHE, given=own, margins={})[0]
    assert (device["threshold_voltage"], device["slope_resistance"]) == (0.8, 15e-3)
    assert device.marks["slope_resistance"] == "your file"
    assert device.marks["i2t"].startswith("not given; taken from the generic bridge 15 A")
    part, _ = choose(LATHE, given={**own, "voltage": 300.0}, margins={})
    assert {c.rating for c in check(part) if c.verdict == "fail"} == {"reverse voltage"}


def test_a_small_diode_shrinks_what_is_not_given() -> None:
    """A diode of 1 A beside a class of 4 A: a quarter of the surge, a sixteenth of the I²t (derived)."""
    device = completed(classes()[0], given={"current": 1.0})
    assert device["surge_current"] == pytest.approx(150.0 / 4)
    assert device["i2t"] == pytest.approx(112.5 / 16)
    assert device["slope_resistance"] == pytest.approx(4 * classes()[0]["slope_resistance"])


def test_refusals() -> None:
    """No class above 1000 V; no class for 100 A; a key that a bridge has not."""
    with pytest.raises(InputError) as caught:
        choose(replace(LATHE, crest=600.0), given={}, margins={})
    assert str(caught.value) == (
        "supply.voltage: found 'a crest of 600 V, 1200 V class needed', allowed classes up to 1000 V. "
        "Use a lower mains voltage, or give your own diodes in [parts.rectifier].")
    with pytest.raises(InputError, match=r"parts\.rectifier\.current: found 'mean current of one diode 50 A'"):
        choose(replace(LATHE, mean_current=50.0), given={}, margins={})
    with pytest.raises(InputError, match=r"parts\.rectifier\.gate_current"):
        choose(LATHE, given={"gate_current": 0.01}, margins={})


def test_half_sine_of_equal_peak_and_heat() -> None:
    """½·I²·t solved for t: 20 A and 2 A²s are 10 ms (derived)."""
    assert eq.SURGE_LENGTH(W_surge=2.0, I_surge=20.0) == pytest.approx(10e-3)


@settings(max_examples=60, deadline=None)
@given(mean=st.floats(0.05, 10.0), form=st.floats(1.6, 4.5), crest=st.floats(20.0, 480.0))
def test_whatever_is_chosen_holds(mean: float, form: float, crest: float) -> None:
    """Every rating passes, or the demand is refused (property)."""
    demand = Demand(crest=crest, mean_current=mean, rms_current=form * mean, peak_current=8 * mean)
    try:
        part, _ = choose(demand, given={}, margins={})
    except InputError:
        return
    assert {c.verdict for c in check(part)} == {"pass"}
