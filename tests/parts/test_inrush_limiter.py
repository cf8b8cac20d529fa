"""Inrush: bounds against a march, the NTC and its hot restart, the bypassed resistor, its delay."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from designer.checks import check
from designer.errors import InputError
from designer.parts import bypass
from designer.parts.inrush_limiter import Demand, Disc, choose, energy, i2t, needed, ntc, peak, steady_current
from designer.tables import read

LATHE = Demand(
    crest=358.0, source_resistance=253.0 / 1500.0, capacitance=564e-6, running_current=2.2, allowed_peak=20.0,
    allowed_i2t=2.9, ambient=60.0, nominal=230.0, frequency=50.0, set_by="bridge and fuse")


def marched(resistance: float, *, inductance: float = 0.0, instant: float) -> tuple[float, float]:
    """Peak (A) and ∫i²dt (A²s) of charging 564 µF through a bridge from 358 V, 50 Hz (scipy solve_ivp)."""
    loop = resistance + LATHE.source_resistance

    def slopes(t: float, x: np.ndarray) -> tuple[float, float, float]:
        source = 358.0 * abs(math.sin(instant + 100 * math.pi * t))
        if inductance:
            drive = (source - x[0] - loop * x[1]) / inductance
            return max(x[1], 0.0) / 564e-6, drive if x[1] > 0 or drive > 0 else 0.0, max(x[1], 0.0) ** 2
        flows = max(source - x[0], 0.0) / loop
        return flows / 564e-6, 0.0, flows**2

    done = solve_ivp(slopes, (0.0, 0.06), [0.0, 0.0, 0.0], max_step=5e-5, rtol=1e-6, atol=1e-9)
    source = 358.0 * np.abs(np.sin(instant + 100 * math.pi * done.t))
    flows = done.y[1] if inductance else np.maximum(source - done.y[0], 0.0) / loop
    return float(np.max(flows)), float(done.y[2, -1])


@pytest.mark.parametrize("instant", [0.0, 1.0, math.pi / 2])
@pytest.mark.parametrize("inductance", [0.0, 1e-3])
def test_the_bounds_are_bounds(instant: float, inductance: float) -> None:
    """No instant and no inductance gives more than crest over R and ½·C·V²/R (scipy solve_ivp)."""
    most, heat = marched(10.0, inductance=inductance, instant=instant)
    assert most <= peak(LATHE, resistance=10.0).value * (1 + 1e-6)
    assert heat <= i2t(LATHE, resistance=10.0).value * (1 + 1e-6)


def test_the_peak_is_reached_at_the_crest() -> None:
    """Switched on at the crest without inductance the bound is the peak itself (scipy solve_ivp)."""
    assert marched(10.0, instant=math.pi / 2)[0] == pytest.approx(peak(LATHE, resistance=10.0).value, rel=1e-6)


def test_worked_figures() -> None:
    """470 µF at 358 V hold 30 J; 20 A ask for 18 Ω (computed)."""
    nominal = replace(LATHE, capacitance=470e-6, allowed_i2t=1e9)
    assert energy(nominal).value == pytest.approx(30.1, abs=0.05)
    assert needed(nominal).value == pytest.approx(17.9, abs=0.05)


def test_heat_asks_for_more_than_the_peak() -> None:
    """½·C·V²/W solved for R where that is the larger (derived)."""
    tight = replace(LATHE, allowed_peak=1000.0, allowed_i2t=1.0)
    assert needed(tight).value == pytest.approx(564e-6 * 358.0**2 / 2)
    assert needed(replace(tight, allowed_i2t=math.inf)).value == pytest.approx(0.358)


def test_a_hot_ntc_does_not_do_behind_a_socket() -> None:
    """R falls by a factor of 10 to 50 when warm (read in a public source): a relay and a resistor take over."""
    found = choose(LATHE, margins={})
    assert found.kind == "bypassed"
    assert [part.role for part in found.parts] == ["inrush-limiter", "inrush-bypass"]
    assert found.peak <= LATHE.allowed_peak
    assert found.i2t <= LATHE.allowed_i2t
    assert "A hot NTC of 0.25 Ω would let 855 A through where 20 A hold" in found.note
    assert {c.verdict for part in found.parts for c in check(part)} == {"pass"}


def test_an_ntc_does_where_the_rest_bears_it_hot() -> None:
    """Bridge and fuse that bear 1.5 kA need no relay; the hot resistance is what counts."""
    found = choose(replace(LATHE, allowed_peak=1500.0, allowed_i2t=3000.0), margins={})
    assert found.kind == "ntc"
    assert found.peak == pytest.approx(358.0 / (found.running_resistance + LATHE.source_resistance))


def test_no_limiter_where_the_source_is_weak() -> None:
    """A source that gives no more than is allowed needs nothing."""
    found = choose(replace(LATHE, source_resistance=40.0), margins={})
    assert (found.kind, found.parts) == ("none", ())
    assert found.peak == pytest.approx(358.0 / 40.0)


def test_every_hot_ntc_is_a_tenth_or_less_of_the_cold_one() -> None:
    """Factor 10 to 50 and beyond between cold and hot (read in a public source; the discs from memory)."""
    for disc in read("inrush_limiters", Disc):
        assert disc.resistance / disc.hot_resistance >= 10


def test_an_ntc_carries_less_in_a_hot_box() -> None:
    """Whole up to 65 °C, none at 170 °C (NTC data, from memory)."""
    disc = read("inrush_limiters", Disc)[0]
    assert steady_current(disc, ambient=60.0) == disc.current
    assert steady_current(disc, ambient=117.5) == pytest.approx(disc.current / 2)
    assert steady_current(disc, ambient=200.0) == 0.0
    part = ntc(disc, demand=LATHE, margins={})
    assert {c.rating for c in check(part) if c.verdict == "fail"} >= {"peak at a restart while hot"}


def test_the_delay_is_long_enough() -> None:
    """After it, closing draws no more than half of the allowed peak: RC charging marched (scipy solve_ivp)."""
    time, left = bypass.charging_time(LATHE, resistance=22.0)
    loop = 22.0 + LATHE.source_resistance
    done = solve_ivp(lambda t, v: max(358.0 * abs(math.sin(100 * math.pi * t)) - v[0], 0.0) / (loop * 564e-6),
                     (0.0, time), [0.0], max_step=5e-4, rtol=1e-7, atol=1e-7)
    assert left == pytest.approx((358.0 - float(done.y[0, -1])) / LATHE.source_resistance, rel=2e-2)
    assert left <= 0.5 * LATHE.allowed_peak


def test_the_delay_on_a_direct_supply() -> None:
    """τ·ln(V/ΔV) (derived)."""
    direct = replace(LATHE, frequency=0.0)
    goal = 0.5 * 20.0 * LATHE.source_resistance
    time, left = bypass.charging_time(direct, resistance=22.0)
    assert time == pytest.approx((22.0 + LATHE.source_resistance) * 564e-6 * math.log(358.0 / goal))
    assert left == pytest.approx(10.0)


def test_contacts_for_direct_current() -> None:
    """A relay of 250 V~ breaks 30 V d.c. only (from memory): above it a contactor stands in."""
    alternating, direct = bypass.contacts(direct=False), bypass.contacts(direct=True)
    assert {row.voltage for row in alternating} == {250.0}
    assert min(row.voltage for row in direct) == 30.0
    assert max(row.voltage for row in direct) == 450.0


def test_generic_parts() -> None:
    """5 J a rated watt of a wire-wound body; relays of 8 to 100 A (from memory, order of magnitude)."""
    assert {row.energy / row.power for row in read("charging_resistors", bypass.Body)} == {5.0}
    assert [row.current for row in read("relays", bypass.Relay)] == [8.0, 16.0, 30.0, 40.0, 63.0, 80.0, 100.0]


def test_refusals() -> None:
    """Without a prospective current nothing is known; a reservoir too large for any resistor; no contact."""
    with pytest.raises(InputError) as caught:
        choose(replace(LATHE, source_resistance=0.0), margins={})
    assert str(caught.value) == (
        "supply.prospective_current: found nothing, allowed the current that the supply gives into a short. "
        "Without it nothing tells what a closing contact, a fuse and a bridge must bear.")
    with pytest.raises(InputError, match=r"parts\.reservoir\.capacitance: found '1\.28e\+03 J in one charging"):
        choose(replace(LATHE, capacitance=20e-3), margins={})
    with pytest.raises(InputError, match=r"load\.torque: found '120 A in the line, 230 V'"):
        choose(replace(LATHE, running_current=120.0), margins={})


@settings(max_examples=40, deadline=None)
@given(capacitance=st.floats(20e-6, 3e-3), allowed=st.floats(10.0, 200.0), heat=st.floats(0.5, 200.0))
def test_whatever_is_chosen_limits(capacitance: float, allowed: float, heat: float) -> None:
    """What is left stays within what the rest bears, hot restart included, or it is refused (property)."""
    demand = replace(LATHE, capacitance=capacitance, allowed_peak=allowed, allowed_i2t=heat)
    try:
        found = choose(demand, margins={})
    except InputError:
        return
    assert found.peak <= allowed * (1 + 1e-9)
    assert found.i2t <= heat * (1 + 1e-9)
    assert {c.verdict for part in found.parts for c in check(part)} <= {"pass"}
