"""The gate pulse: latching time against the integrator, guard, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from scipy.integrate import solve_ivp

from designer.equations import firing
from designer.errors import InputError
from designer.parts.gate_pulse import Demand, choose, current, latching_time, latest_latching_angle

DEMAND = Demand(
    supply_rms_low=207.0, frequency=50.5, inductance=63e-3, resistance=5.4, speed_resistance=69.0,
    opposing_voltage=3.0, latching_current=80e-3, earliest_angle=1.0, latest_angle=2.6, guard=0.8e-3,
    edge_error=0.1e-3, mode="train", pulse=None,
)


def marched(demand, angle):
    """Time to the latching current by solve_ivp (brute force)."""
    omega, crest = 2 * math.pi * demand.frequency, math.sqrt(2) * demand.supply_rms_low
    resistance = demand.resistance + demand.speed_resistance

    def latched(t, i):
        return i[0] - demand.latching_current

    latched.terminal = True
    run = solve_ivp(
        lambda t, i: [(crest * math.sin(angle + omega * t) - demand.opposing_voltage - resistance * i[0])
                      / demand.inductance], (0.0, (math.pi - angle) / omega), [0.0], events=latched,
        rtol=1e-10, atol=1e-14, max_step=1e-5,
    )
    return run.t_events[0][0]


@pytest.mark.parametrize("angle", [0.3, 1.0, 1.57, 2.3, 2.6, 2.8])
def test_latching_time_agrees_with_the_integrator(angle):
    """Closed form and root to 1e-8 of scipy solve_ivp."""
    assert latching_time(DEMAND, angle=angle) == pytest.approx(marched(DEMAND, angle), rel=1e-8)


def test_at_the_crest_it_is_the_published_step():
    """On a very slow sine it is the step of R and L: 20 Ω, 0.2 H, 200 V, 0.1 A: 100.503 µs.

    Source: Bimbhra, Example 4.6 (companion notebook seen).
    """
    slow = replace(DEMAND, supply_rms_low=200.0 / math.sqrt(2), frequency=1e-3, inductance=0.2, resistance=20.0,
                   speed_resistance=0.0, opposing_voltage=0.0, latching_current=0.1)
    assert 1e6 * latching_time(slow, angle=math.pi / 2) == pytest.approx(100.503, abs=5e-4)
    assert latching_time(slow, angle=math.pi / 2) == pytest.approx(
        float(firing.LATCHING_TIME(L=0.2, R=20.0, I_L=0.1, E=200.0)), rel=1e-6)


def test_the_latest_angle_is_the_edge_of_latching():
    """A thousandth earlier latches, a thousandth later does not (package against itself)."""
    edge = latest_latching_angle(DEMAND)
    assert not math.isnan(latching_time(DEMAND, angle=edge - 1e-3))
    assert math.isnan(latching_time(DEMAND, angle=edge + 1e-3))
    assert edge < DEMAND.window_end


def test_a_pulse_that_starts_below_the_back_emf_waits_for_it():
    """Started at 0 rad against 100 V the time counts from the start of the pulse (derived)."""
    high = replace(DEMAND, opposing_voltage=100.0)
    wait = math.asin(100.0 / (math.sqrt(2) * 207.0)) / (2 * math.pi * 50.5)
    assert latching_time(high, angle=0.0) > wait
    assert math.isnan(latching_time(replace(DEMAND, opposing_voltage=300.0), angle=1.0))


def test_the_current_starts_from_zero():
    """No current at the firing angle (exact)."""
    assert current(DEMAND, angle=1.2, theta=1.2) == pytest.approx(0.0, abs=1e-15)


def test_the_width_is_twice_the_worst_and_rounded_up():
    """Twice the longer of both ends' times, up to the next 5 µs (common practice, no source)."""
    part = choose(DEMAND)
    worst = max(latching_time(DEMAND, angle=angle) for angle in (1.0, 2.6))
    assert 2 * worst <= part.value.value < 2 * worst + 5.001e-6


@pytest.mark.parametrize(("change", "message"), [
    ({"guard": 0.5e-3}, r"circuit\.gate_guard: found '0\.5 ms', allowed 0\.6 ms or more\. A gate that outlives"),
    ({"latest_angle": 2.9}, r"circuit\.firing_angle: found '166\.2°', allowed up to 16\d\.\d+°"),
    ({"latching_current": 50.0}, r"circuit\.firing_angle: .*none latches"),
    ({"mode": "pulse", "pulse": 10e-6}, r"circuit\.gate_pulse: found '10 µs', allowed \d+\.\d+ µs or more"),
])
def test_what_cannot_latch_or_outlives_the_zero_is_refused(change, message):
    """Guard, latest angle and a given pulse: key, found, allowed, way out (guard from public threads, seen)."""
    with pytest.raises(InputError, match=message):
        choose(replace(DEMAND, **change))


def test_a_short_pulse_is_refused_with_the_bleeder_that_would_latch():
    """The message prints Bimbhra's Example 4.12: 300 V, 60 Ω, 2 H, 40 µs, 36 mA: 9.999 kΩ (notebook seen)."""
    example = replace(
        DEMAND, supply_rms_low=300.0 / math.sqrt(2), inductance=2.0, resistance=60.0, speed_resistance=0.0,
        opposing_voltage=0.0, latching_current=36e-3, earliest_angle=1.5, latest_angle=math.pi / 2, mode="pulse",
        pulse=40e-6,
    )
    with pytest.raises(InputError, match=r"A resistance of 9\.999 kΩ across the motor would latch it too"):
        choose(example)


def test_a_given_pulse_that_is_long_enough_stands():
    """The user's own width is kept and rated against the latching time (package against itself)."""
    part = choose(replace(DEMAND, mode="pulse", pulse=100e-6))
    assert part.value.value == 100e-6
    assert part.ratings[0].share == 1.0
