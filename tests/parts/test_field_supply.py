"""Supply of a separate field: voltage needed, series resistor on the safe side, drift with the winding's heat."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.checks import check
from designer.equations import field as eq
from designer.errors import InputError
from designer.parts.field_supply import Demand, choose, current, needed_voltage

LATHE = Demand(wanted=4.0, cold=1.95, hot=2.4, low=11.4, nominal=12.0, high=12.6)


def test_voltage_cold_and_hot() -> None:
    """I·(R_f + R_s) + drop (derived)."""
    cold, hot = needed_voltage(replace(LATHE, drop=1.6, source_resistance=0.1))
    assert cold.value == pytest.approx(4.0 * 2.05 + 1.6)
    assert hot.value == pytest.approx(4.0 * 2.5 + 1.6)


def test_the_resistor_keeps_the_wanted_current_hot() -> None:
    """0.6 Ω exactly; 0.56 Ω (E24, 5 %) leaves 4 A at its upper tolerance with the winding hot (derived)."""
    feed = choose(LATHE, margins={})
    part = feed.parts[0]
    assert (part.marking, feed.series) == ("R56 50 W", pytest.approx(0.56))
    assert current(LATHE, series=0.56 * 1.05, winding=2.4, voltage=12.0) >= 4.0
    assert {c.verdict for c in check(part)} == {"pass"}


def test_drift_from_cold_to_hot() -> None:
    """A voltage-fed winding loses 19 % of its current for +23.5 % of resistance, +60 K (derived: 1 − 1/1.235)."""
    assert eq.CURRENT_DRIFT(R_f2=1.235, R_f1=1.0, R_fx=0.0, R_fs=0.0) == pytest.approx(0.19, abs=5e-4)
    feed = choose(LATHE, margins={})
    assert feed.drift == pytest.approx(1 - feed.nominal_hot / feed.nominal_cold)
    assert feed.least < feed.nominal_hot < feed.nominal_cold < feed.greatest


def test_no_resistor_where_it_is_not_worth_one() -> None:
    """9.7 V for a need of 9.6 V: none; the currents are told all the same."""
    feed = choose(replace(LATHE, low=9.2, nominal=9.7, high=10.2), margins={})
    assert (feed.parts, feed.series) == ((), 0.0)
    assert feed.nominal_hot == pytest.approx(9.7 / 2.4)


def test_a_supply_too_low_is_told_with_what_it_takes() -> None:
    """8 V can't drive 4 A: refused with the voltages cold and hot."""
    with pytest.raises(InputError) as caught:
        choose(replace(LATHE, nominal=8.0), margins={})
    assert str(caught.value) == (
        "field_supply.voltage: found '8 V', allowed 7.8 V with the field cold, 9.6 V hot, for 4 A. "
        "Use a higher voltage, or accept less field: the motor is faster and gives less torque an ampere then.")


def test_a_field_on_the_mains_bus_is_refused() -> None:
    """4 A from 325 V would burn more than a kilowatt in the resistor (derived)."""
    with pytest.raises(InputError, match=r"field_supply\.voltage: found '\d{4} W in the series resistor at 325 V'"):
        choose(replace(LATHE, low=300.0, nominal=325.0, high=358.0), margins={})


@settings(max_examples=60, deadline=None)
@given(wanted=st.floats(0.1, 6.0), cold=st.floats(0.5, 50.0), warm=st.floats(1.0, 1.5), spare=st.floats(1.0, 3.0))
def test_whatever_is_chosen_never_weakens_the_field(wanted: float, cold: float, warm: float, spare: float) -> None:
    """At nominal voltage, hot, the current is at least the wanted one; the resistor bears the cold one (property)."""
    volts = wanted * cold * warm * spare
    demand = Demand(wanted=wanted, cold=cold, hot=cold * warm, low=0.95 * volts, nominal=volts, high=1.05 * volts)
    try:
        feed = choose(demand, margins={})
    except InputError:
        return
    assert feed.nominal_hot >= wanted * (1 - 1e-9)
    assert {c.verdict for part in feed.parts for c in check(part)} <= {"pass"}


def test_the_turning_point_of_the_lathe() -> None:
    """At 19.9 V, 1 N·m, 304 rpm at 4.5 and at 5 A of field: the speed is flat between (independent march of the case).

    Flux 0.271 and 0.287 V·s there, friction 26 mN·m; at 51.8 V and 4 A more field is slower (1499 to 1426 rpm).
    """
    slopes = [eq.SPEED_SLOPE(R_a=2.45, I_a=1.026 / flux, V_a=19.9, V_b=2.0, k_f=flux) for flux in (0.2713, 0.2869)]
    assert slopes[0] > 0 > slopes[1]
    assert eq.SPEED_SLOPE(R_a=2.45, I_a=1.03 / 0.2541, V_a=51.8, V_b=2.0, k_f=0.2541) < 0
