"""The mains switch: generic classes, the user's device, ratings, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.checks import check
from designer.errors import InputError
from designer.parts.heatsink import Demand as SinkDemand
from designer.parts.heatsink import needed
from designer.parts.triac import Demand, candidates, choose, loss, on_sink
from designer.parts.triac_classes import Device, classes
from tests.shorts import short

DRILL = Demand(
    mains_peak=357.8,
    peak_voltage=450.0,
    mean_absolute_current=3.03,
    rms_current=4.18,
    surge_peak=30.0,
    stall_peak=26.0,
    turn_off_slope=2.0e3,
    reapplied_voltage=300.0,
    reapplied_rise=20e6,
    rise_of_current=10e6,
    shorts=short(100.0),
    at={"commutating slope": "253 V, hot"},
)

# generic triac classes, insulated: A, case °C, I_TSM, I²t, di/dt, latching, dv/dt, (di/dt)com, V_T0, r_T, R_jc (memory)
TRIACS = [
    (8, 100, 80, 36, 50e6, 0.110, 200e6, 4.0e3, 0.85, 0.050, 2.5),
    (12, 90, 120, 78, 50e6, 0.120, 200e6, 6.5e3, 0.85, 0.035, 2.3),
    (16, 85, 160, 144, 50e6, 0.120, 200e6, 8.5e3, 0.85, 0.025, 2.1),
    (25, 75, 250, 340, 50e6, 0.160, 500e6, 13e3, 0.85, 0.016, 1.1),
    (40, 80, 400, 1000, 50e6, 0.160, 500e6, 20e3, 0.85, 0.010, 0.9),     # surge, I²t and case read; rest memory
]
# generic thyristor classes: A, I_TSM, I²t, latching, r_T, R_jc (from memory)
THYRISTORS = [
    (8, 80, 40, 0.060, 0.046, 1.3),
    (12, 140, 98, 0.060, 0.030, 1.2),
    (16, 190, 180, 0.060, 0.024, 1.1),
    (25, 300, 450, 0.060, 0.014, 1.0),
    (40, 400, 800, 0.100, 0.010, 0.8),
]


def generic(amperes: float, kind: str = "triac") -> Device:
    """Give the generic class of that current, lowest voltage."""
    return next(d for d in classes(kind) if d["current"] == amperes)  # type: ignore[arg-type]


@pytest.mark.parametrize("row", TRIACS, ids=lambda r: f"{r[0]} A")
def test_triac_classes(row: tuple[float, ...]) -> None:
    """Every figure, on the safe end of its range (generic classes, from memory)."""
    device = generic(row[0])
    keys = (
        "current",
        "case_temperature",
        "surge_current",
        "i2t",
        "rise_of_current",
        "latching_current",
        "critical_dvdt",
        "commutating_slope",
        "threshold_voltage",
        "slope_resistance",
        "junction_to_case",
    )
    assert tuple(device[k] for k in keys) == pytest.approx(row)
    assert device["junction_temperature"] == 125.0
    assert device["gate_current"] == 0.05


@pytest.mark.parametrize("row", THYRISTORS, ids=lambda r: f"{r[0]} A")
def test_thyristor_classes(row: tuple[float, ...]) -> None:
    """Every figure, on the safe end of its range (generic classes, from memory)."""
    device = generic(row[0], "thyristor")
    keys = ("current", "surge_current", "i2t", "latching_current", "slope_resistance", "junction_to_case")
    assert tuple(device[k] for k in keys) == pytest.approx(row)


@pytest.mark.parametrize("row", TRIACS, ids=lambda r: f"{r[0]} A")
def test_surge_is_about_ten_times_the_rating(row: tuple[float, ...]) -> None:
    """I_TSM about 10 × I_T, I²t at least ½·I_TSM²·10 ms (computed cross-check)."""
    assert row[2] == pytest.approx(10 * row[0])
    assert row[3] >= 0.5 * row[2] ** 2 * 10e-3 * 0.999


def test_every_generic_value_says_where_it_comes_from() -> None:
    """Rules of thumb and memory are printed as such."""
    for device in (*classes("triac"), *classes("thyristor")):
        assert set(device.marks) == set(device.values)
        assert all("from memory" in mark for mark in device.marks.values())


def test_voltage_class_at_230_and_120_v() -> None:
    """800 V at 230 V (2.2 × 358 V), 600 V at 120 V (common practice, no source)."""
    assert {d["voltage"] for d in candidates(DRILL, given={}, margins={})} == {800.0}
    low = replace(DRILL, mains_peak=187.0, peak_voltage=240.0)
    assert {d["voltage"] for d in candidates(low, given={}, margins={})} == {600.0}


def test_candidates_go_up() -> None:
    """Smallest class first, so a study takes the first that holds."""
    assert [d["current"] for d in candidates(DRILL, given={}, margins={})] == [8.0, 12.0, 16.0, 25.0, 40.0]


def test_loss_of_the_drill_press() -> None:
    """0.85 V · 3.03 A + 25 mΩ · 4.18² A²: 3.0 W (reference S1)."""
    device = candidates(DRILL, given={"threshold_voltage": 0.85, "slope_resistance": 0.025}, margins={})[0]
    assert loss(device, mean_absolute_current=3.03, rms_current=4.18) == pytest.approx(3.0, abs=0.05)


def test_the_fuse_decides_the_class() -> None:
    """100 A²s over 70 % asks for 143 A²s: the 16 A class (derived)."""
    part = choose(DRILL, given={}, margins={})
    assert part.marking == "16 A 800 V"
    assert {c.verdict for c in check(part)} == {"pass"}
    assert choose(replace(DRILL, shorts=short(20.0)), given={}, margins={}).marking == "8 A 800 V"


@pytest.mark.parametrize(
    "change, marking",
    [
        ({"rms_current": 6.0}, "12 A 800 V"),
        ({"surge_peak": 45.0}, "12 A 800 V"),
        ({"stall_peak": 70.0}, "16 A 800 V"),
        ({"turn_off_slope": 6e3}, "16 A 800 V"),
        ({"reapplied_rise": 200e6}, "25 A 800 V"),
        ({"peak_voltage": 700.0}, "8 A 1000 V"),
    ],
)
def test_each_stress_can_bind(change: dict[str, float], marking: str) -> None:
    """70 % current, 50 % surge, 80 % slope, rise and voltage (common practice, no source)."""
    assert choose(replace(DRILL, shorts=(), **change), given={}, margins={}).marking == marking


def test_a_users_device_is_filled_from_the_nearest_class() -> None:
    """What the file gives counts; the rest comes from the 8 A class, the next not larger."""
    given_ = {"current": 10.0, "voltage": 800.0, "threshold_voltage": 0.9}
    (device,) = candidates(DRILL, given=given_, margins={})
    assert (device["current"], device["threshold_voltage"], device["surge_current"]) == (10.0, 0.9, 80.0)
    assert device.marks["current"] == "your file"
    assert device.marks["surge_current"].startswith("not given; taken from the generic 8 A, 800 V triac")


def test_a_users_device_is_returned_even_where_it_fails() -> None:
    """The checks say fail, with the way out; nothing is raised."""
    part = choose(replace(DRILL, peak_voltage=650.0), given={"voltage": 600.0, "current": 16.0}, margins={})
    verdicts = {c.rating: (c.verdict, c.remedy) for c in check(part)}
    assert verdicts["repetitive peak voltage"] == ("fail", "Take one of 1 kV (at least 812.5 V).")
    assert any("only with varistor and snubber" in note for note in part.notes)


def test_latching_against_a_short_gate_pulse() -> None:
    """120 mA must be passed before the gate ends (from memory); a train has no such limit."""
    part = choose(replace(DRILL, current_at_gate_end=0.1), given={"current": 16.0}, margins={})
    assert {c.rating: c.verdict for c in check(part)}["latching current"] == "fail"
    part = choose(replace(DRILL, current_at_gate_end=0.2), given={"current": 16.0}, margins={})
    assert {c.rating: c.verdict for c in check(part)}["latching current"] == "pass"


def test_stricter_margins_take_a_larger_class() -> None:
    """30 % of the current: 4.18 A asks for 13.9 A (derived)."""
    demand = replace(DRILL, shorts=())
    assert choose(demand, given={}, margins={"switch_current": 0.30}).marking == "16 A 800 V"


def test_the_corner_stands_with_its_stress() -> None:
    """The worst corner's name goes with the rating it belongs to."""
    part = choose(DRILL, given={}, margins={})
    assert {r.name: r.at for r in part.ratings}["commutating slope"] == "253 V, hot"


def test_thyristors_have_no_commutating_limit() -> None:
    """At 50 Hz a thyristor turns off in the other half cycle: an infinite limit passes (derived)."""
    part = choose(replace(DRILL, turn_off_slope=50e3), given={}, margins={}, kind="thyristor")
    assert {c.rating: c.verdict for c in check(part)}["commutating slope"] == "pass"


@settings(max_examples=60, deadline=None)
@given(rms=st.floats(0.1, 17.0), surge=st.floats(1.0, 120.0), slope=st.floats(10.0, 10e3))
def test_the_smallest_class_that_holds(rms: float, surge: float, slope: float) -> None:
    """Every check of the choice passes, and the next smaller class fails one (derived)."""
    demand = replace(DRILL, shorts=(), rms_current=rms, surge_peak=surge, stall_peak=surge, turn_off_slope=slope)
    part = choose(demand, given={}, margins={})
    assert {c.verdict for c in check(part)} == {"pass"}
    assert part.value is not None
    for row in TRIACS:
        if row[0] < part.value.value:
            assert rms > 0.7 * row[0] or surge > 0.5 * row[2] or slope > 0.8 * row[7]


@pytest.mark.parametrize(
    "change, text",
    [
        ({"rms_current": 30.0}, "parts.switch.current: found 'r.m.s. current 30 A', allowed at most 28 A in the"),
        ({"peak_voltage": 1300.0}, "supply.voltage: found '1300 V across the switch, 1625 V class needed', allowed"),
    ],
)
def test_refusals_carry_the_figure(change: dict[str, float], text: str) -> None:
    """Beyond the largest class the user is told what to change."""
    with pytest.raises(InputError) as caught:
        choose(replace(DRILL, **change), given={}, margins={})
    assert str(caught.value).startswith(text)


def test_a_key_of_a_transistor_is_refused() -> None:
    """gate_charge says nothing about a triac."""
    with pytest.raises(InputError, match=r"parts\.switch\.gate_charge"):
        candidates(DRILL, given={"gate_charge": 40e-9}, margins={})


def test_not_a_number_never_passes() -> None:
    """A stress that could not be computed keeps every class from being chosen."""
    with pytest.raises(InputError, match=r"parts\.switch\.current"):
        choose(replace(DRILL, surge_peak=math.nan), given={}, margins={})


@pytest.mark.parametrize(
    ("given_", "surge"),
    [
        ({"slope_resistance": 0.025}, 160.0),
        ({"slope_resistance": 0.040}, 120.0),
        ({"gate_current": 0.01}, 80.0),
        ({"current": 16.0}, 160.0),
        ({"current": 15.9}, 120.0),
        ({"current": 4.0}, 40.0),
    ],
)
def test_the_nearest_class(given_: dict[str, float], surge: float) -> None:
    """By current, else by slope resistance, else by what flows (derived)."""
    (device,) = candidates(DRILL, given=given_, margins={})
    assert device["surge_current"] == surge


def test_the_case_may_be_warmer_where_less_flows() -> None:
    """16 A class: 85 °C at 11.2 A (70 %), 110 °C at 4.18 A, in a straight line to 125 °C (derived)."""
    device = generic(16.0)

    def case(rms: float) -> float:
        found = on_sink(device, name="Q1", demand=replace(DRILL, rms_current=rms), margins={}).case_limit
        assert found is not None
        return found

    assert case(11.2) == pytest.approx(85.0)
    assert case(15.0) == pytest.approx(85.0)
    assert case(4.18) == pytest.approx(125.0 - 40.0 * 4.18 / 11.2)
    assert case(1e-9) == pytest.approx(125.0)


def test_the_drill_press_on_its_sink() -> None:
    """S1: box 45 °C, 3.0 W, 2.1 + 0.5 K/W, junction at 105 °C: sink at most 17 K/W (reference)."""
    (device,) = candidates(
        DRILL,
        given={"threshold_voltage": 0.85, "slope_resistance": 0.025, "junction_to_case": 2.1, "case_to_sink": 0.5},
        margins={},
    )
    sits = on_sink(device, name="Q1", demand=DRILL, margins={})
    margins = {"junction_temperature": 105.0 / 125.0}
    step = needed(SinkDemand(devices=(sits,), ambient=45.0, box_rise=0.0), margins=margins)
    assert step.value == pytest.approx(17.4, abs=0.3)


def test_a_device_below_the_smallest_class_does_not_inherit_its_strength() -> None:
    """4 A from the 8 A class: surge and slope a half, I²t a quarter, resistances twice (derived: chip area)."""
    base = generic(8.0)
    (device,) = candidates(DRILL, given={"current": 4.0}, margins={})
    factors = {"surge_current": 0.5, "commutating_slope": 0.5, "i2t": 0.25, "slope_resistance": 2.0,
               "junction_to_case": 2.0, "latching_current": 1.0, "threshold_voltage": 1.0}
    for key, factor in factors.items():
        assert device[key] == pytest.approx(factor * base[key])
        assert ("scaled by the current" in device.marks[key]) == (factor != 1.0)
    (own,) = candidates(DRILL, given={"current": 4.0, "i2t": 7.0}, margins={})
    assert (own["i2t"], own.marks["i2t"]) == (7.0, "your file")


def test_a_given_surge_bounds_the_i2t() -> None:
    """100 A for half a sine of 10 ms is 50 A²s, below the 144 A²s of the class (derived)."""
    (device,) = candidates(DRILL, given={"current": 16.0, "surge_current": 100.0}, margins={})
    assert device["i2t"] == pytest.approx(50.0)
    assert "at most that of the surge given" in device.marks["i2t"]


def test_a_lower_junction_limit_lowers_the_case() -> None:
    """110 °C instead of 125 °C: the 16 A class is rated at 70 °C instead of 85 °C; never raised (derived)."""
    (device,) = candidates(DRILL, given={"current": 16.0, "junction_temperature": 110.0}, margins={})
    assert device["case_temperature"] == pytest.approx(70.0)
    (hot,) = candidates(DRILL, given={"current": 16.0, "junction_temperature": 150.0}, margins={})
    assert hot["case_temperature"] == pytest.approx(85.0)
