"""The cycle-by-cycle limit at stall: cycle after cycle marched, the root, its limits and the formulas of the sheet."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.equations import chopper_parts as formulas
from designer.waveforms.chopper import Loop, chopped
from designer.waveforms.cycle_limit import limited, longest_on_time

NAMES = [field.name for field in dataclasses.fields(Loop)]
#: S4 of needs.md at standstill on its bus at high mains (358 V): 2.45 ohm, 25 mH, 16 kHz, with device drops
STALL = {
    "on_voltage": 358 - 0.9 - 2.0, "off_voltage": -0.8 - 2.0, "on_resistance": 2.55, "off_resistance": 2.47,
    "inductance": 25e-3, "period": 1 / 16e3, "on_time": 0.381 / 16e3,
}
#: a motor of low resistance and inductance, where a slow driver loses the limit
STIFF = STALL | {"on_resistance": 0.6, "off_resistance": 0.55, "inductance": 2e-3}


def loop(**numbers):
    """A loop of one or more points; scalars are repeated."""
    arrays = np.broadcast_arrays(*(np.asarray(numbers[name], float) for name in NAMES))
    return Loop(**{name: np.atleast_1d(array).copy() for name, array in zip(NAMES, arrays, strict=True)})


def one(array):
    """The number of the only point."""
    return float(array[0])


def cycles(p, limit, shortest, count):
    """Peak and mean of the last of ``count`` cycles, marched from rest with the comparator's rule."""
    i, peak, mean = 0.0, 0.0, 0.0
    for _ in range(count):
        mean = 0.0
        target, tau = p["on_voltage"] / p["on_resistance"], p["inductance"] / p["on_resistance"]
        reach = 0.0 if i >= limit else math.inf
        if i < limit < target:
            reach = tau * math.log((target - i) / (target - limit))
        on = max(min(p["on_time"], reach), shortest)
        peak = target + (i - target) * math.exp(-on / tau)
        mean += target * on + (i - target) * tau * -math.expm1(-on / tau)
        target, tau = p["off_voltage"] / p["off_resistance"], p["inductance"] / p["off_resistance"]
        off = min(p["period"] - on, tau * math.log((peak - target) / -target))
        i = max(target + (peak - target) * math.exp(-off / tau), 0.0) if off == p["period"] - on else 0.0
        mean += target * off + (peak - target) * tau * -math.expm1(-off / tau)
    return peak, mean / p["period"]


@pytest.mark.parametrize("point, limit, shortest", [
    (STALL, 8.0, 1e-6), (STALL, 1.0, 1e-6), (STALL, 200.0, 1e-6), (STALL, 8.0, 8e-6), (STIFF, 15.0, 1e-6),
    (STIFF, 15.0, 2e-6), (STIFF, 5.0, 6e-6), (STIFF, 60.0, 3e-6), (STIFF | {"off_voltage": -40.0}, 2.0, 5e-6),
])
def test_against_cycles_marched_one_by_one(point, limit, shortest):
    """After many cycles from rest the state is the periodic one (derived: exponentials of each stretch)."""
    peak, mean = cycles(point, limit, shortest, 6000)
    found = limited(loop(**point), limit=np.array([limit]), shortest=np.array([shortest]))
    assert one(found.peak) == pytest.approx(peak, rel=1e-9)
    assert one(found.mean) == pytest.approx(mean, rel=1e-9)
    assert one(found.holds) == (peak <= limit * (1 + 1e-9))


def test_limit_holds_with_a_quick_driver_and_not_with_a_slow_one():
    """Quick: the peak is the limit. Slow: the current of the shortest on-time stands above it (derived)."""
    both = loop(**{name: np.array([value, value]) for name, value in STIFF.items()})
    found = limited(both, limit=np.array([15.0, 15.0]), shortest=np.array([1e-6, 6e-6]))
    assert found.holds.tolist() == [True, False]
    assert found.acts.all()
    assert found.peak[0] == pytest.approx(15.0, rel=1e-12)
    assert found.peak[0] <= 15.0 * (1 + 1e-14)
    assert found.peak[1] > 15.0
    assert found.peak[1] == chopped(loop(**(STIFF | {"on_time": 6e-6}))).peak[0]
    assert found.longest[0] == found.longest[1]


def test_longest_shortest_on_time_is_the_boundary():
    """A driver a millionth quicker than ``longest`` holds, one a millionth slower does not (derived)."""
    longest = one(limited(loop(**STIFF), limit=np.array([15.0]), shortest=np.array([0.0])).longest)
    for share, holds in ((1 - 1e-6, True), (1.0, True), (1 + 1e-6, False)):
        found = limited(loop(**STIFF), limit=np.array([15.0]), shortest=np.array([share * longest]))
        assert one(found.holds) == holds


def test_formulas_of_the_sheet_are_near():
    """Straight flanks and one resistance: rise and fall are equal at the longest shortest on-time (derived)."""
    drops = {"V": 357.1, "V_fw": 0.8, "V_br": 2.0}
    p = STIFF | {"off_resistance": 0.6, "inductance": 20e-3}
    t = formulas.LONGEST_SHORTEST(R=0.6, I_lim=15.0, f_s=16e3, **drops)
    found = limited(loop(**p), limit=np.array([15.0]), shortest=np.array([0.0]))
    assert one(found.longest) == pytest.approx(t, rel=2e-3)
    up = formulas.RISE_AT_STALL(V=357.1, V_br=2.0, R=0.6, I_lim=15.0, t_min=t, L=20e-3)
    down = formulas.FALL_AT_STALL(R=0.6, I_lim=15.0, V_drop=2.8, f_s=16e3, t_min=t, L=20e-3)
    assert up == pytest.approx(down, rel=1e-12)
    mean = formulas.CURRENT_AT_SHORTEST(f_s=16e3, t_min=6e-6, R=0.6, **drops)
    stands = limited(loop(**p), limit=np.array([15.0]), shortest=np.array([6e-6]))
    assert one(stands.mean) == pytest.approx(mean, rel=1e-9)
    assert formulas.CURRENT_AT_SHORTEST(f_s=16e3, t_min=t, R=0.6, **drops) == pytest.approx(15.0, rel=1e-12)


def test_overshoot_of_the_comparator():
    """325 V, 25 mH and 2 µs pass the threshold by 26 mA; without resistance that is an upper bound (derived)."""
    over = formulas.LIMIT_OVERSHOOT(V_drive=325.0, t_delay=2e-6, L=25e-3)
    assert over == pytest.approx(0.026, rel=1e-12)
    rise = 325 / 2.45 * -math.expm1(-2.45 * 2e-6 / 25e-3)
    assert 0.999 * over < rise < over


def test_limit_above_what_can_flow_never_acts():
    """On-time of the setting untouched; the longest shortest on-time is the whole period (exact)."""
    found = limited(loop(**STALL), limit=np.array([200.0]), shortest=np.array([1e-6]))
    assert one(found.on_time) == STALL["on_time"]
    assert one(found.longest) == STALL["period"]
    assert one(found.holds)
    assert not one(found.acts)


def test_more_than_half_the_period_is_marked():
    """Peak limits alternate above half the period (derived: deviation × −D/(1 − D) a cycle); told, not hidden."""
    speedy = STALL | {"on_voltage": 100.0, "off_voltage": -258.0, "on_time": STALL["period"]}
    found = limited(loop(**speedy), limit=np.array([2.0]), shortest=np.array([1e-6]))
    assert one(found.subharmonic)
    assert one(found.peak) == pytest.approx(2.0)
    at_stall = limited(loop(**STALL), limit=np.array([8.0]), shortest=np.array([1e-6]))
    assert not one(at_stall.subharmonic)


def test_without_resistance_the_limit_still_finds_its_on_time():
    """Two loops without resistance: the peak of the discontinuous current is straight (exact)."""
    ideal = loop(**(STALL | {"on_resistance": 0.0, "off_resistance": 0.0, "off_voltage": -300.0}))
    assert one(longest_on_time(ideal, limit=np.array([0.1]))) == pytest.approx(0.1 * 25e-3 / 355.1, rel=1e-12)


@given(st.floats(0.2, 150.0), st.floats(1e-7, 5e-5), st.floats(1e-4, 1.0), st.floats(0.0, 0.98))
@settings(max_examples=100, deadline=None)
def test_peak_is_the_limit_or_the_longer_on_time(limit, shortest, inductance, duty):
    """Never above the limit when it is said to hold; never below the setting's own peak unless it acts (derived)."""
    p = loop(**(STALL | {"inductance": inductance, "on_time": duty / 16e3}))
    found = limited(p, limit=np.array([limit]), shortest=np.array([shortest]))
    if one(found.holds):
        assert one(found.peak) <= limit * (1 + 1e-12)
    else:
        assert one(found.peak) >= limit
        assert one(found.on_time) == shortest
    if one(found.acts) and one(found.holds) and shortest < one(found.longest):
        assert one(found.peak) == pytest.approx(limit, rel=1e-9)


@pytest.mark.parametrize("limit, shortest, said", [
    (0.0, 1e-6, "the limit must be above zero"), (5.0, 1.0, "the shortest on-time must lie within the period"),
])
def test_nonsense_is_refused(limit, shortest, said):
    """The fault is named."""
    with pytest.raises(ValueError, match=said):
        limited(loop(**STALL), limit=np.array([limit]), shortest=np.array([shortest]))
