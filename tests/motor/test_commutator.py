"""Wire, brushes and commutator against usual limits, and a winding's heat over a duty cycle."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.equations import commutator as eq
from designer.motor.commutator import Cycle, bar_voltages, limit


def _marched(cycle: Cycle, on: float, off: float, *, cycles: int = 60) -> tuple[float, float]:
    """Peak and least rise of the last cycle, by solve_ivp piece by piece."""
    rise = peak = 0.0
    for _ in range(cycles):
        loaded = solve_ivp(lambda _t, x: (cycle.end - x) / cycle.loaded, (0, on), [rise], rtol=1e-9, atol=1e-9)
        peak = float(loaded.y[0, -1])
        rest = solve_ivp(lambda _t, x: -x / cycle.rest, (0, off), [peak], rtol=1e-9, atol=1e-9)
        rise = float(rest.y[0, -1])
    return peak, rise


@pytest.mark.parametrize(("on", "off"), [(60.0, 120.0), (300.0, 300.0), (20.0, 400.0)])
def test_periodic_temperature(on: float, off: float) -> None:
    """Peak and least of the settled cycle are those of a march over sixty cycles (scipy solve_ivp)."""
    cycle = Cycle(end=150.0, allowed=75.0, loaded=400.0, rest=900.0)
    peak, least = _marched(cycle, on, off)
    assert cycle.peak(on, off) == pytest.approx(peak, rel=1e-5)
    assert cycle.trough(on, off).value == pytest.approx(least, rel=1e-5)


def test_longest_time_and_rest_wanted() -> None:
    """Marched for the longest time the limit is reached; with the rest wanted the peak is the limit (solve_ivp)."""
    cycle = Cycle(end=150.0, allowed=75.0, loaded=400.0, rest=900.0)
    longest = cycle.longest
    assert longest is not None
    once = solve_ivp(lambda _t, x: (150.0 - x) / 400.0, (0, longest.value), [0.0], rtol=1e-10, atol=1e-10)
    assert float(once.y[0, -1]) == pytest.approx(75.0, rel=1e-6)
    rest = cycle.off_after(100.0)
    assert rest is not None
    assert _marched(cycle, 100.0, rest.value)[0] == pytest.approx(75.0, rel=1e-5)
    assert cycle.off_after(longest.value) is None


def test_runs_without_end() -> None:
    """A rise below the one allowed has no longest time (derived)."""
    assert Cycle(end=50.0, allowed=75.0, loaded=400.0, rest=900.0).longest is None


def test_surface_speed_of_a_vacuum_cleaner() -> None:
    """25 mm at 30 000 rpm is 39 m/s (trade table of commutator speeds, computed there)."""
    speed = float(eq.SURFACE_SPEED(d_c=0.025, n_m=30000 * 2 * math.pi / 60))
    assert speed == pytest.approx(39.0, abs=0.5)


def test_brush_limits_are_those_of_the_tables() -> None:
    """45 A/in² and 4000 ft/min of carbon-graphite, rounded; 15 A/cm², 50 m/s appliance grade (from memory)."""
    brush, speed = limit("brush"), limit("commutator-speed")
    assert brush.usual == pytest.approx(45 / 0.0254**2, rel=0.01)
    assert speed.usual == pytest.approx(4000 * 0.3048 / 60, rel=0.02)
    assert (brush.most, speed.most) == (15e4, 50.0)


def test_densities_and_bar_voltage_by_hand() -> None:
    """Two paths of 0.4 mm carry half each; half of 24 bars between the brushes; pole arc 0.65 (derived)."""
    assert float(eq.WIRE_DENSITY(I_w=2.0, a_w=2, d_w=4e-4)) == pytest.approx(1.0 / (math.pi * 2e-4**2))
    assert float(eq.BRUSH_DENSITY(I_b=4.0, w_b=5e-3, t_b=8e-3)) == pytest.approx(1e5)
    evenly, mean, peak = bar_voltages(24, across=325.0, speed_voltage=120.0)
    assert np.allclose([evenly.value, mean.value, peak.value], [325 / 12, 10.0, 10 / 0.65])
