"""The heatsink: needed resistance, size class, stack, refusals."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.checks import check
from designer.errors import InputError
from designer.parts import extrusion
from designer.parts.heat_path import box_rise, case_to_sink
from designer.parts.heatsink import Demand, Device, choose, needed, stack, stall_junction
from designer.parts.plate import resistance, side

TRIAC = Device(name="Q1", loss=3.0, junction_limit=125.0, junction_to_case=2.1, case_to_sink=0.5, case_limit=None)
BOX = Demand(devices=(TRIAC,), ambient=45.0, box_rise=0.0)


def test_sink_of_the_drill_press() -> None:
    """3.0 W, 2.1 + 0.5 K/W, box 45 °C, junction at 105 °C (84 % of 125): at most 17 K/W (reference S1)."""
    step = needed(BOX, margins={"junction_temperature": 0.84})
    assert step.value == pytest.approx(17.4, abs=0.05)
    part, _ = choose(BOX, margins={"junction_temperature": 0.84})
    assert part.value is not None
    assert part.value.value == 15.0  # the next size class on the safe side


@pytest.mark.parametrize("count", [1, 2, 3])
def test_several_devices_on_one_sink(count: int) -> None:
    """110 °C at the junctions, air 50 °C, 10 W each over 4 K/W: 20 K left for the sink (derived)."""
    device = Device(name="Q", loss=10.0, junction_limit=125.0, junction_to_case=3.0, case_to_sink=1.0, count=count)
    demand = Demand(devices=(device,), ambient=50.0, box_rise=0.0)
    assert demand.loss == 10.0 * count
    assert needed(demand, margins={}).value == pytest.approx(20.0 / (10.0 * count))


def test_the_hottest_of_unlike_devices_counts() -> None:
    """The device with the least headroom sets the sink (derived: minimum over the devices)."""
    weak = Device(name="D1", loss=5.0, junction_limit=125.0, junction_to_case=6.0, case_to_sink=2.0)
    both = replace(BOX, devices=(TRIAC, weak))
    step = needed(both, margins={})
    assert step.note.startswith("D1")
    assert step.value == pytest.approx((110.0 - 45.0 - 5.0 * 8.0) / 8.0)


def test_the_case_limit_binds_where_it_is_low() -> None:
    """A 25 A class rated at 75 °C case (generic class, from memory) needs the larger sink."""
    device = Device(name="Q1", loss=10.0, junction_limit=125.0, junction_to_case=1.1, case_to_sink=0.3, case_limit=75.0)
    step = needed(Demand(devices=(device,), ambient=45.0, box_rise=0.0), margins={})
    assert step.value == pytest.approx((75.0 - 45.0 - 10.0 * 0.3) / 10.0)


def test_a_touchable_sink_stays_below_the_burn_threshold() -> None:
    """60 °C (ISO 13732-1 rounded down, from memory): (60 − 45)/3 = 5 K/W."""
    assert needed(replace(BOX, touchable=True), margins={}).value == pytest.approx(5.0)


@settings(max_examples=60, deadline=None)
@given(loss=st.floats(0.5, 12.0), ambient=st.floats(25.0, 50.0), rise=st.sampled_from([0.0, 10.0, 20.0]))
def test_whatever_is_chosen_passes_its_own_checks(loss: float, ambient: float, rise: float) -> None:
    """Rounding goes to the larger sink, so junction and surface pass (derived)."""
    demand = Demand(devices=(replace(TRIAC, loss=loss),), ambient=ambient, box_rise=rise)
    if needed(demand, margins={}).value >= 0.5:  # the largest size class
        part, _ = choose(demand, margins={})
        assert {c.verdict for c in check(part)} == {"pass"}


def test_the_stack_adds_up() -> None:
    """45 + 20 + 3·15 = 110; + 3·0.5; + 3·2.1 (derived)."""
    path = stack(replace(BOX, box_rise=20.0), device=TRIAC, resistance=15.0)
    assert [n.name for n in path] == ["junction, Q1", "case, Q1", "heatsink", "air in the box", "air outside"]
    assert [n.temperature for n in path] == pytest.approx([117.8, 111.5, 110.0, 65.0, 45.0])
    for hot, cold in pairwise(path):
        assert hot.resistance is not None
        assert hot.loss is not None
        assert hot.temperature - cold.temperature == pytest.approx(hot.resistance * hot.loss)


def test_a_users_sink_is_taken_and_may_fail() -> None:
    """40 K/W at 3 W puts the junction at 172.8 °C: fail, with the way out (derived)."""
    part, _ = choose(replace(BOX, given=40.0), margins={})
    verdicts = {c.rating: (c.verdict, c.remedy) for c in check(part)}
    assert verdicts["junction temperature"] == ("fail", "Take one of at most 15 K/W at sea level.")
    assert part.sources == ("your file",)


def test_no_sink_for_half_a_watt() -> None:
    """A TO-220 in free air takes about 0.5 W for 40 K (from memory: 50 to 65 K/W)."""
    part, _ = choose(replace(BOX, devices=(replace(TRIAC, loss=0.5),)), margins={})
    assert part.value is not None
    assert part.value.value == 65.0
    assert "no heatsink" in part.description


def test_refusals_carry_the_figure() -> None:
    """Nothing is clipped: no size is large enough, or the air is too warm already."""
    hot = replace(BOX, devices=(replace(TRIAC, loss=22.0),))
    with pytest.raises(InputError) as caught:
        choose(hot, margins={})
    assert str(caught.value).startswith(
        "parts.heatsink.thermal_resistance: found '0.355 K/W needed for 22 W', allowed 0.5 K/W or more."
    )
    with pytest.raises(InputError, match=r"ambient\.temperature: found '65 °C round the sink with 30 W"):
        choose(replace(BOX, box_rise=20.0, devices=(replace(TRIAC, loss=30.0),)), margins={})


def test_interfaces() -> None:
    """The upper end of the range counts (typical, from memory)."""
    assert case_to_sink("silicone-fibre pad", package="TO-220") == (
        2.0,
        "typical case-to-sink resistance, silicone-fibre pad, TO-220 (from memory)",
    )
    with pytest.raises(ValueError, match="butter under TO-220 is no interface; there are compound, dry metal"):
        case_to_sink("butter", package="TO-220")


def test_rise_in_the_box() -> None:
    """10 K ventilated, 20 K closed (common practice, no source); a small hot box warms more, holes or not (derived)."""
    assert box_rise(5.0, ventilated=True) == 10.0
    assert box_rise(5.0, ventilated=False) == 20.0
    assert box_rise(5.0, ventilated=False, volume=0.01) == 20.0
    assert box_rise(5.0, ventilated=True, volume=0.002) == 10.0
    small = 5.0 / (4.0 * 6 * 1e-6 ** (2 / 3))
    assert box_rise(5.0, ventilated=True, volume=1e-6) == box_rise(5.0, ventilated=False, volume=1e-6)
    assert box_rise(5.0, ventilated=True, volume=1e-6) == pytest.approx(small)
    assert box_rise(20.0, ventilated=False, volume=0.002) == pytest.approx(20.0 / (4.0 * 6 * 0.002 ** (2 / 3)))


def test_a_black_plate_of_100_mm() -> None:
    """100 × 100 mm upright black plate: about 3.6 to 4.2 K/W (computed from convection and radiation)."""
    for sink in (65.0, 75.0, 85.0):
        assert 3.6 <= resistance(0.1, sink=sink, air=40.0) <= 4.2


@given(loss=st.floats(0.5, 40.0), sink=st.floats(60.0, 100.0))
@settings(max_examples=30, deadline=None)
def test_the_plates_side_sheds_the_loss(loss: float, sink: float) -> None:
    """The root found gives back the loss (derived)."""
    found = side(loss, sink=sink, air=40.0)
    if 0.005 < found < 2.0:
        assert (sink - 40.0) / resistance(found, sink=sink, air=40.0) == pytest.approx(loss, rel=1e-4)


def test_a_short_stall_on_a_warm_sink() -> None:
    """20 W for 10 s on a sink at 95 °C (derived from the step of one heat capacity; fill: practice)."""
    device = replace(TRIAC, stall_loss=20.0, stall_time=10.0)
    demand = replace(BOX, devices=(device,))
    found = stall_junction(demand, device=device, resistance=15.0)
    capacity = 2.4e6 / 6.0 * 800e-6 / 15.0
    sink = 45.0 + 20.0 * 15.0 + (45.0 + 45.0 - 345.0) * math.exp(-10.0 / (15.0 * capacity))
    assert found == pytest.approx(sink + 20.0 * 2.6)
    part, _ = choose(replace(demand, given=15.0), margins={})
    verdicts = {c.rating: c.verdict for c in check(part)}
    assert verdicts["junction temperature at stall"] == "fail"


def test_an_endless_stall_is_the_steady_state() -> None:
    """After a long time the stack adds up with the stall's heat (derived)."""
    device = replace(TRIAC, stall_loss=4.0, stall_time=1e9)
    found = stall_junction(replace(BOX, devices=(device,)), device=device, resistance=10.0)
    assert found == pytest.approx(45.0 + 4.0 * (10.0 + 2.6))


@pytest.mark.parametrize("altitude", [500.0, 1000.0, 2000.0])
def test_a_size_class_loses_with_the_height_no_less_than_its_own_extrusion(altitude: float) -> None:
    """Sinks worked out from the channel equations at sea level and aloft: none loses more than the class is derated by.

    Fins at the best gap and wider, black and bare (Bar-Cohen and Rohsenow, Churchill and Chu: tests/parts/
    test_extrusion.py holds them); density of the standard atmosphere, ISO 2533 (from memory).
    """
    times = replace(BOX, altitude=altitude).aloft(1.0)
    assert 1.0 < times < 1.3
    for height in (0.05, 0.1, 0.2):
        for widening in (1.0, 1.5, 3.0):
            for emissivity in (0.05, 0.9):
                sea = extrusion.Place(air=40.0)
                gap = widening * extrusion.best_gap(height, sink=80.0, place=sea)
                size = extrusion.Size(height=height, width=5 * (gap + 2e-3) + 2e-3, fin_count=6, fin_height=25e-3,
                                      emissivity=emissivity)
                low, high = (extrusion.worked(size, sink=80.0, place=place).value
                             for place in (sea, replace(sea, altitude=altitude)))
                assert high <= low * times * (1 + 1e-3)


def test_the_density_of_the_standard_atmosphere() -> None:
    """Pressure at 2000 m over that at sea level: 794.95 hPa / 1013.25 hPa (ISO 2533 table, from memory)."""
    assert replace(BOX, altitude=2000.0).aloft(1.0) == pytest.approx(1013.25 / 794.95, rel=2e-4)


def test_a_high_place_takes_the_next_larger_sink() -> None:
    """(110 − 45)/3 − 2.6 = 19.07 K/W needed: 15 K/W do at sea level; at 2000 m they are 19.12, and 12 do (derived)."""
    low, _ = choose(BOX, margins={})
    high, stacks = choose(replace(BOX, altitude=2000.0), margins={})
    assert (low.value.value, high.value.value) == (15.0, 12.0)
    node = next(node for node in stacks[0] if node.name == "heatsink")
    assert node.resistance == pytest.approx(high.value.value * 1013.25 / 794.95, rel=2e-4)
    assert {c.verdict for c in check(high)} == {"pass"}
    assert "at 2000 m" in high.notes[0]
    assert "at 2000 m" not in low.notes[0]


def test_a_users_sink_is_counted_at_its_height_too() -> None:
    """[parts.heatsink] thermal_resistance is a figure of sea level; one by its dimensions is worked out aloft."""
    own, stacks = choose(replace(BOX, given=15.0, altitude=2000.0), margins={})
    assert own.value.value == 15.0
    assert stacks[0][2].temperature - BOX.ambient == pytest.approx(3.0 * 15.0 * 1013.25 / 794.95, rel=2e-4)
    size = extrusion.Size(height=0.1, width=0.1)
    sized, stacks = choose(replace(BOX, size=size, altitude=2000.0), margins={})
    assert stacks[0][2].temperature - BOX.ambient == pytest.approx(3.0 * sized.value.value, rel=1e-6)
