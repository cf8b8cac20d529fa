"""The closed-form step response against scipy's integrator, and its limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from designer.waveforms.step_response import Loop, average_slope, time_to


def marched(loop: Loop, times: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Switch voltage and its slope by solve_ivp on current and capacitor voltage (brute force)."""
    ratio = (loop.load_resistance + loop.resistance) / loop.inductance

    def rates(_, x):
        return [(loop.step - x[1]) / loop.inductance - ratio * x[0], x[0] / loop.capacitance]

    run = solve_ivp(rates, (0.0, times[-1]), [loop.recovery_current, 0.0], t_eval=times, rtol=1e-11,
                    atol=1e-13, method="DOP853", max_step=times[-1] / 400)  # its dense output is coarser than its steps
    current, charge = run.y
    fall = rates(0.0, run.y)[0]
    return charge + loop.resistance * current, loop.resistance * np.asarray(fall) + current / loop.capacitance


# ohm, F, A, load ohm: ringing, critical, over-damped, with recovery current and load resistance
CASES = [
    (100.0, 100e-9, 0.0, 5.0), (39.0, 10e-9, 0.025, 5.4), (2000.0, 63e-9, 0.0, 0.0), (4700.0, 10e-9, 0.0, 3.0),
    (15e3, 100e-9, 0.05, 5.0), (330.0, 47e-9, 0.1, 0.0),
]


@pytest.mark.parametrize(("resistance", "capacitance", "recovery", "load"), CASES)
def test_voltage_slope_and_extremes_agree_with_the_integrator(resistance, capacitance, recovery, load):
    """Voltage, slope, peak and greatest slope to 1e-7 of scipy solve_ivp (63 mH, 340 V)."""
    loop = Loop(step=340.0, inductance=63e-3, load_resistance=load, resistance=resistance,
                capacitance=capacitance, recovery_current=recovery)
    span = 6 * math.pi * math.sqrt(63e-3 * capacitance)
    times = np.linspace(0.0, span, 4001)
    voltage, slope = marched(loop, times)
    assert loop.voltage(times) == pytest.approx(voltage, rel=1e-7, abs=1e-5)
    assert loop.slope(times) == pytest.approx(slope, rel=1e-6, abs=2e-7 * np.abs(slope).max())
    assert float(loop.peak()) == pytest.approx(max(voltage.max(), 340.0), rel=1e-5)
    assert float(loop.greatest_slope()) == pytest.approx(max(slope.max(), 0.0), rel=1e-4, abs=1.0)


def test_arrays_give_what_single_loops_give():
    """Broadcast fields do not mix lanes (regression of the package against itself, no source)."""
    resistances = np.array([10.0, 100.0, 5e3])
    many = Loop(step=300.0, inductance=50e-3, load_resistance=4.0, resistance=resistances, capacitance=22e-9)
    for index, resistance in enumerate(resistances):
        one = Loop(step=300.0, inductance=50e-3, load_resistance=4.0, resistance=resistance, capacitance=22e-9)
        assert many.peak()[index] == float(one.peak())
        assert many.greatest_slope()[index] == float(one.greatest_slope())


def test_without_snubber_resistance_the_peak_is_twice_the_step():
    """Undamped limit: peak 2·E, greatest slope E·w0 (exact)."""
    loop = Loop(step=300.0, inductance=50e-3, load_resistance=0.0, resistance=1e-9, capacitance=22e-9)
    assert float(loop.peak()) == pytest.approx(600.0, rel=1e-9)
    assert float(loop.greatest_slope()) == pytest.approx(300.0 / math.sqrt(50e-3 * 22e-9), rel=1e-9)


def test_near_critical_damping_is_smooth():
    """Peak and slope pass over critical damping without a step (exact limit, derived)."""
    critical = 2 * math.sqrt(50e-3 / 22e-9)
    peaks = [
        float(Loop(step=300.0, inductance=50e-3, load_resistance=0.0, resistance=critical * (1 + d),
                   capacitance=22e-9).peak()) for d in (-1e-6, 0.0, 1e-6)
    ]
    assert peaks[1] == pytest.approx((peaks[0] + peaks[2]) / 2, rel=1e-9)
    assert peaks[1] == pytest.approx(300.0 * 1.13534, rel=1e-5)   # derived table, damping 1


@settings(max_examples=60, deadline=None)
@given(st.floats(1.0, 2e4), st.floats(1e-9, 1e-6), st.floats(0.0, 0.2))
def test_no_sample_passes_the_extremes(resistance, capacitance, recovery):
    """Peak and greatest slope are never below a sample of the wave (exact)."""
    loop = Loop(step=325.0, inductance=60e-3, load_resistance=5.0, resistance=resistance,
                capacitance=capacitance, recovery_current=recovery)
    times = np.linspace(0.0, 20 * math.sqrt(60e-3 * capacitance), 500)
    assert loop.voltage(times).max() <= float(loop.peak()) * (1 + 1e-9)
    assert loop.slope(times).max() <= float(loop.greatest_slope()) * (1 + 1e-9)


def test_average_slope_is_share_over_time():
    """The 63 % figure is 0.63 of the step over the time to it (definition of data sheets)."""
    loop = Loop(step=300.0, inductance=50e-3, load_resistance=0.0, resistance=500.0, capacitance=22e-9)
    assert average_slope(loop) == pytest.approx(0.63 * 300.0 / time_to(loop, 0.63), rel=1e-12)
    assert float(loop.voltage(time_to(loop, 0.63))) == pytest.approx(189.0, rel=1e-9)


def test_a_share_already_passed_is_refused():
    """A recovery current that lifts the voltage past the share leaves no time to tell."""
    loop = Loop(step=300.0, inductance=50e-3, load_resistance=0.0, resistance=500.0, capacitance=22e-9,
                recovery_current=1.0)
    with pytest.raises(ValueError, match=r"does not rise through 0\.63 of the step"):
        time_to(loop, 0.63)
