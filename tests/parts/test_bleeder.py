"""Bleeders: the resistance that discharges in time, on the safe side."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from designer.checks import check
from designer.equations import capacitor as eq
from designer.errors import InputError
from designer.parts.bleeder import Demand, bus_demand, choose, greatest, limit, time_with

PEAK = 253.0 * math.sqrt(2.0)
BUS = bus_demand(470e-6, tolerance=0.20, peak=PEAK, margins={})


def test_bus_of_470_microfarad() -> None:
    """470 µF + 20 %, 358 V to 60 V in 60 s: at most 59.6 kΩ (independent computation)."""
    assert greatest(BUS).value == pytest.approx(59.6e3, abs=50)


@pytest.mark.parametrize(
    "capacitance, start, end, time, ohms",
    [
        (470e-6, 325.0, 60.0, 60.0, 75e3),  # nominal: 75 kΩ at most (computed)
        (100e-9, 325.0, 34.0, 1.0, 4.4e6),  # 4.4 MΩ (computed)
        (470e-6, 358.0, 60.0, 5.0, 5.9e3),  # 5.9 kΩ: impractical heat (computed)
    ],
)
def test_rounded_figures(capacitance: float, start: float, end: float, time: float, ohms: float) -> None:
    """t = R·C·ln(V0/V) solved for R, two digits (computed)."""
    found = eq.DISCHARGE_RESISTANCE(t_dis=time, C_max=capacitance, V_start=start, V_end=end)
    assert found == pytest.approx(ohms, rel=0.012)


def test_bus_bleeder_is_built_of_two_strings() -> None:
    """56 kΩ in all of 4 × 56 kΩ; one open doubles the time (derived)."""
    part = choose(BUS, margins={})
    assert (part.count, part.marking) == (4, "56k")
    assert {c.verdict for c in check(part)} == {"pass"}
    whole = time_with(BUS, each=56e3, in_series=2, strings=2).value
    half = time_with(BUS, each=56e3, in_series=2, strings=1).value
    assert whole <= 60.0
    assert half == pytest.approx(2 * whole)
    assert f"With one resistor open: below 60 V after {math.ceil(half)} s." in part.notes


@settings(max_examples=60, deadline=None)
@given(capacitance=st.floats(20e-9, 1e-3), tolerance=st.floats(0.0, 0.2), peak=st.floats(100.0, 360.0))
def test_whatever_is_chosen_discharges_in_time(capacitance: float, tolerance: float, peak: float) -> None:
    """The exponential at the worst tolerances reaches the limit in time; every check passes (derived)."""
    part = choose(bus_demand(capacitance, tolerance=tolerance, peak=peak, margins={}), margins={})
    assert part.value is not None
    total = part.value.value * (part.count / 2) / 2 * 1.05
    left = peak * math.exp(-60.0 / (total * capacitance * (1 + tolerance)))
    assert left <= 60.0 * (1 + 1e-6)
    assert {c.verdict for c in check(part)} == {"pass"}


def test_voltage_after_agrees_with_marching() -> None:
    """dV/dt = −V/(RC) by solve_ivp (scipy)."""
    ohms, farads = 56e3, 564e-6
    marched = solve_ivp(lambda _, v: -v / (ohms * farads), (0.0, 60.0), [PEAK], rtol=1e-10, atol=1e-10)
    after = eq.VOLTAGE_AFTER(V_start=PEAK, t_dis=60.0, R_dis=ohms, C_max=farads)
    assert after == pytest.approx(float(marched.y[0, -1]), rel=1e-7)


def test_charging_i2t_is_the_integral() -> None:
    """C·V²/(2R) equals the integral of the squared charging current (numpy)."""
    ohms, farads = 18.0, 470e-6
    t = np.linspace(0.0, 30 * ohms * farads, 400_001)
    current = PEAK / ohms * np.exp(-t / (ohms * farads))
    assert eq.CHARGING_I2T(C_max=farads, V_start=PEAK, R_dis=ohms) == pytest.approx(
        float(np.trapezoid(current**2, t)), rel=1e-6
    )


def test_energy_of_the_bus() -> None:
    """470 µF at 358 V: 30 J (computed)."""
    assert eq.STORED_ENERGY(C_max=470e-6, V_start=358.0) == pytest.approx(30.0, abs=0.5)


def test_too_fast_a_discharge_is_refused() -> None:
    """5 s from 358 V takes 21 W: no listed resistors; the way out is active discharge (computed)."""
    with pytest.raises(InputError) as caught:
        choose(replace(BUS, time=1.0), margins={})
    assert str(caught.value).startswith("margins.discharge_time: found '1 s for 470 µF'")
    assert "discharge actively" in caught.value.hint


def test_the_users_time_counts() -> None:
    """[margins] discharge_time = 30 s halves the resistance (derived)."""
    strict = bus_demand(470e-6, tolerance=0.20, peak=PEAK, margins={"discharge_time": 30.0})
    assert greatest(strict).value == pytest.approx(greatest(BUS).value / 2)


def test_limits() -> None:
    """34 V in 1 s, free below 0.1 µF (IEC 60335-1 clause 22.5, seen); 60 V (machine practice, memory)."""
    plug, bus = limit("plug"), limit("bus")
    assert (plug.voltage, plug.time, plug.exempt_below) == (34.0, 1.0, 100e-9)
    assert (bus.voltage, bus.time) == (60.0, 60.0)


def test_voltage_of_one_resistor_in_series() -> None:
    """One 5 % high, one 5 % low: 52.5 % of the voltage (derived)."""
    assert eq.SERIES_SHARE(V_start=100.0, tol_R=0.05, n_ser=2.0) == pytest.approx(52.5)


def test_more_resistors_stand_in_series_when_the_voltage_asks() -> None:
    """1000 V over 0207 bodies: more than two in series (resistor classes from memory)."""
    high = Demand(
        role="bleeder",
        designator="R10",
        capacitance=1e-6,
        tolerance=0.1,
        peak=1000.0,
        heating_voltage=1000.0,
        end=60.0,
        time=60.0,
        source="test",
    )
    part = choose(high, margins={})
    assert part.count > 2
    assert {c.verdict for c in check(part)} == {"pass"}
