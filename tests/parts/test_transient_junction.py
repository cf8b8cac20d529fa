"""Transient junction temperature: chain, pulse trains, and the stall of a device on its heatsink.

Sources: scipy solve_ivp of the chain's own equations; exact limits (derived); M. H. Rashid, Power Electronics, 4th
ed., Example 17.1 (companion notebook seen, digits from memory) for the pulses that stand in tests/published.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.parts import heatsink
from designer.parts.transient_junction import (
    Train,
    chain,
    conducting,
    impedance,
    peak_rise,
    rise_at,
)

TERMS = chain(1.5, given=((0.2, 0.6e-3), (0.5, 8e-3), (0.8, 0.12)))
BEFORE = Train(mean=4.0, period=10e-3, width=6e-3)
DURING = Train(mean=15.0, period=10e-3, width=8e-3)


def _power(train: Train, time: float) -> float:
    within = math.fmod(time, train.period)
    return train.peak * math.sin(math.pi * within / train.width) if within < train.width else 0.0


def _marched(start: list[float], train: Train, periods: int) -> tuple[np.ndarray, float]:
    """Rises of the terms after so many periods, and the highest sum in the last one (scipy solve_ivp)."""
    resistances = np.array([term.resistance for term in TERMS])
    times = np.array([term.time_constant for term in TERMS])
    state, highest = np.array(start), 0.0
    for _ in range(periods):
        highest = 0.0
        for begin, end, on in ((0.0, train.width, 1.0), (train.width, train.period, 0.0)):
            marched = solve_ivp(lambda t, y, on=on: (on * resistances * _power(train, t) - y) / times, (begin, end),
                                state, method="DOP853", rtol=1e-11, atol=1e-12, dense_output=True)
            fine = np.linspace(begin, end, 20_001)
            highest = max(highest, float(marched.sol(fine).sum(axis=0).max()))
            state = marched.y[:, -1]
    return state, highest


def test_pulses_agree_with_marching() -> None:
    """Running pulses, then a stall of 5 pulses: instants and peak to 1e-6 of a march (scipy solve_ivp)."""
    settled, _ = _marched([r.resistance * BEFORE.mean for r in TERMS], BEFORE, 150)
    after, highest = _marched(list(settled), DURING, 5)
    found = rise_at(TERMS, before=BEFORE, during=DURING, time=5 * DURING.period * (1 + 1e-12))
    assert found == pytest.approx(float(after.sum()), rel=1e-6)
    assert peak_rise(TERMS, before=BEFORE, during=DURING, time=50e-3) == pytest.approx(highest, rel=1e-6)


def test_constant_power_is_the_chain_itself() -> None:
    """From cold, a constant power gives Z(t) times the power; for good the steady resistance (derived)."""
    cold, hot = Train(mean=0.0), Train(mean=20.0)
    for time in (1e-4, 3e-3, 0.5):
        assert peak_rise(TERMS, before=cold, during=hot, time=time) == pytest.approx(
            20.0 * impedance(TERMS, time=time), rel=1e-12)
    assert peak_rise(TERMS, before=cold, during=hot, time=100.0) == pytest.approx(20.0 * 1.5, rel=1e-9)


def test_mean_of_a_settled_train() -> None:
    """Over one period of a settled train the mean rise is the steady resistance times the mean power (derived)."""
    times = np.linspace(0.0, DURING.period, 4001)
    rises = [rise_at(TERMS, before=DURING, during=DURING, time=min(float(t), 0.9999999 * DURING.period))
             for t in times]
    assert float(np.trapezoid(rises, times)) / DURING.period == pytest.approx(1.5 * DURING.mean, rel=1e-5)


def test_pulses_pass_the_mean() -> None:
    """The peak of a settled train lies above the rise of its mean, below that of its peak held (exact limits)."""
    peak = peak_rise(TERMS, before=Train(mean=0.0), during=DURING, time=5.0)
    assert 1.5 * DURING.mean < peak < 1.5 * DURING.peak


def test_generic_chain_adds_up() -> None:
    """The generic chain's terms add up to the junction-to-case resistance, a given one is scaled up to it (derived)."""
    assert sum(term.resistance for term in chain(1.1)) == pytest.approx(1.1, rel=1e-12)
    assert sum(term.resistance for term in chain(1.1, given=((0.5, 1e-3),))) == pytest.approx(1.1, rel=1e-12)
    assert sum(term.resistance for term in chain(1.1, given=((2.0, 1e-3),))) == pytest.approx(2.0, rel=1e-12)


@pytest.mark.parametrize("share", [1.0, 0.6, 0.25])
def test_conducting_share_of_half_sines(share: float) -> None:
    """Half sines over a share of the period are told by mean and r.m.s. alone (numeric means, numpy)."""
    angle = np.linspace(0.0, 1.0, 200_001)
    current = np.where(angle < share, np.sin(math.pi * angle / share), 0.0)
    mean, square = float(np.trapezoid(current, angle)), float(np.trapezoid(current**2, angle))
    assert conducting(mean, rms=math.sqrt(square)) == pytest.approx(share, rel=1e-6)


def test_stall_on_a_sink_by_pulses() -> None:
    """A stall's peak: sink by its capacity, case at once, chip by pulses; above what the mean alone gives (derived)."""
    device = heatsink.Device(name="Q1", loss=3.0, junction_limit=125.0, junction_to_case=1.5, case_to_sink=0.5,
                             stall_loss=12.0, stall_time=5.0, pulses=2, pulse_share=0.8)
    demand = heatsink.Demand(devices=(device,), ambient=40.0, box_rise=10.0, frequency=50.0)
    pulsed = heatsink.stall_junction(demand, device=device, resistance=4.0)
    steady = heatsink.stall_junction(
        heatsink.Demand(devices=(device,), ambient=40.0, box_rise=10.0), device=device, resistance=4.0)
    chip = peak_rise(chain(1.5), before=demand.train(device, 3.0), during=demand.train(device, 12.0), time=5.0)
    assert pulsed - steady == pytest.approx(chip - 12.0 * 1.5, abs=1e-6)
    assert pulsed > steady
