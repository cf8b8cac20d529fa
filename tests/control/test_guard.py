"""The guard's times against brute force: edges of an accelerating shaft, samples after a lost edge, a ramp from rest.

Sources: counting of edges and steps written here; ``scipy.integrate.solve_ivp`` for the command of the ramp.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.control.guard import SHORT_IN_A_ROW, Guard, Loop, Race, guard


def made(**changes: float) -> Guard:
    """An invented loop: 8 edges a turn, target 3000 rpm."""
    given = {"pulses": 8, "slowest": 30.0, "sample_time": 0.01, "gain": 2e-3, "integral_time": 0.3, "target": 314.0,
             "ramp": 2.0, "break_away": 0.2, "blocked": 0.01, "opening": 0.015}
    return guard(Loop(**(given | changes)), running=320.0)  # type: ignore[arg-type]


@pytest.mark.parametrize("phase", np.linspace(0.0, 0.95, 8))
@pytest.mark.parametrize("acceleration", [0.0, 500.0, 5000.0])
def test_overspeed_is_seen_within_the_time_told(phase: float, acceleration: float) -> None:
    """Whatever the shaft's place when it passes the trip, so many short intervals have passed within that time."""
    found = made()
    pitch, trip = 2 * math.pi / found.loop.pulses, found.trip_speed
    times = np.linspace(-0.5 * trip / 5000.0, 0.05, 2_000_001)
    before = times < 0
    speed = np.where(before, trip * (1 - 1e-6), trip * (1 + 1e-6)) + acceleration * times * ~before
    angle = phase * pitch + np.concatenate(([0.0], np.cumsum(speed[1:] * np.diff(times))))
    angle -= np.interp(0.0, times, angle) - phase * pitch
    edges = np.interp(np.arange(math.ceil(angle[0] / pitch), angle[-1] // pitch) * pitch, angle, times)
    short = np.diff(edges) < pitch / trip
    seen = next(edges[k + 1] for k in range(1, len(short)) if short[k - 1] and short[k])
    assert SHORT_IN_A_ROW == 2
    assert 0 < seen <= found.fast.value * (1 + 1e-6)


@pytest.mark.parametrize("after", [1e-6, 0.3, 0.999])
def test_lost_pulses_trip_within_the_time_told(after: float) -> None:
    """The edges stop anywhere between two steps: the trip comes in the time told, and not a step sooner."""
    found = made()
    last, step, count, silent = after * found.loop.sample_time, found.loop.sample_time, 0, 0
    while silent < found.lost.inputs["N_lost"]:
        count += 1
        silent = 0 if last > (count - 1) * step else silent + 1
    took = count * step - last
    assert found.lost.value - step * (1 + 1e-9) <= took <= found.lost.value


def test_lost_time_spans_two_intervals_of_the_slowest_speed() -> None:
    """A shaft that turns slowly but well is not taken for a lost tacho."""
    slow = made(slowest=5.0)
    assert slow.lost_time >= 2 * 2 * math.pi / (8 * 5.0)


def test_break_away_against_the_regulator_integrated() -> None:
    """A PI at rest under a ramp reaches the command of breaking away when the closed form says so."""
    found = made()
    loop = found.loop
    slope = loop.target / loop.ramp

    def rises(time: float, state: np.ndarray) -> list[float]:
        return [loop.gain / loop.integral_time * slope * time]

    def broken(time: float, state: np.ndarray) -> float:
        return float(loop.gain * slope * time + state[0] - loop.break_away)

    broken.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(rises, (0.0, 10.0), [0.0], events=broken, rtol=1e-10, atol=1e-12)
    assert found.start.value == pytest.approx(run.t_events[0][0], rel=1e-6)
    assert found.start_time == pytest.approx(max(0.3, 2 * run.t_events[0][0]), rel=1e-6)


def test_a_race_is_won_by_the_factor_or_not_at_all() -> None:
    """Time to the limit over seeing and switching off: 90 ms against 20 + 15 ms is 2.57 times."""
    race = Race(fault="shorted", since="the trip", sees="edges", acts="the relay", up=0.09, seen=0.02, off=0.015)
    assert race.step.value == pytest.approx(0.09 / 0.035)
    assert race.won(2.0)
    assert not race.won(3.0)
    assert Race(fault="", since="", sees="", acts="", up=math.inf, seen=1.0, off=1.0).won(9.0)
