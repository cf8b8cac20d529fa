"""The chopper's closed form: against solve_ivp, against exact arithmetic, in its limits, and its balances."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from designer.waveforms.chopper import Loop, chopped, edge, trace
from tests.exact_chopper import exact

NAMES = [field.name for field in dataclasses.fields(Loop)]
#: S4 of needs.md with device drops: 311 V, 2.45 ohm, 25 mH, 16 kHz
PLAIN = {
    "on_voltage": 311 - 0.9 - 2.0 - 40.0, "off_voltage": -0.8 - 2.0 - 40.0, "on_resistance": 2.55,
    "off_resistance": 2.47, "inductance": 25e-3, "period": 1 / 16e3, "on_time": 0.167 / 16e3,
}
SLOW = PLAIN | {"inductance": 1e-3, "period": 1e-3}


def loop(**numbers):
    """A loop of one or more points; scalars are repeated."""
    arrays = np.broadcast_arrays(*(np.asarray(numbers[name], float) for name in NAMES))
    return Loop(**{name: np.atleast_1d(array).copy() for name, array in zip(NAMES, arrays, strict=True)})


def one(array):
    """The number of the only point."""
    return float(array[0])


def marched(p):
    """First, peak, extinction, charges and squares of one point by solve_ivp (DOP853), the start by brentq."""
    def run(i, volts, ohms, time):
        if time <= 0:
            return i, 0.0, 0.0, time, False
        def rhs(t, y):
            return (volts - ohms * y[0]) / p["inductance"], y[0], y[0] ** 2
        def zero(t, y):
            return y[0] if t > 0 or y[0] > 0 else 1.0
        zero.terminal, zero.direction = True, -1
        s = solve_ivp(rhs, (0, time), (i, 0.0, 0.0), method="DOP853", rtol=1e-13, atol=1e-16, events=zero)
        ended = s.status == 1
        return (*s.y[:, -1], float(s.t[-1]), ended)

    def period(first):
        peak, on_q, on_s, *_ = run(first, p["on_voltage"], p["on_resistance"], p["on_time"])
        last, off_q, off_s, after, ended = run(
            peak, p["off_voltage"], p["off_resistance"], p["period"] - p["on_time"])
        return (0.0 if ended else last), peak, p["on_time"] + after, on_q, on_s, off_q, off_s, ended

    first = 0.0
    if period(0.0)[0] > 0:
        # the map is straight: two runs give its fixed point
        a, b = period(0.0)[0], period(1.0)[0]
        first = a / (1 - (b - a))
    return first, *period(first)[1:]


POINTS = {
    "S4, 1500 rpm": PLAIN,
    "S4, 300 rpm": PLAIN | {"on_voltage": 311 - 14.0, "off_voltage": -14.0, "on_time": 0.064 / 16e3},
    "stall, ideal": PLAIN | {"on_voltage": 311.0, "off_voltage": 0.0, "on_time": 0.02 / 16e3},
    "long period": SLOW | {"on_time": 0.4e-3},
    "long period, discontinuous": SLOW | {"on_time": 0.05e-3},
    "very long period, discontinuous": SLOW | {"period": 20e-3, "on_time": 4e-3},
    "very long period, continuous": SLOW | {"period": 4e-3, "on_time": 3.9e-3},
    "light": PLAIN | {"on_voltage": 20.0, "off_voltage": -288.0, "on_time": 0.5 / 16e3},
    "nearly open": PLAIN | {"on_time": 0.999 / 16e3},
    "different slopes": SLOW | {"on_resistance": 8.0, "off_resistance": 0.4, "on_time": 0.2e-3},
    "without resistance, discontinuous": PLAIN | {"on_resistance": 0.0, "off_resistance": 0.0, "on_time": 0.1 / 16e3},
}


@pytest.mark.parametrize("name", POINTS)
def test_against_solve_ivp(name):
    """Each operating point, to 1e-9 of a brute force by scipy's solve_ivp (DOP853, rtol 1e-13)."""
    point = POINTS[name]
    first, peak, end, on_q, on_s, off_q, off_s, ended = marched(point)
    found = chopped(loop(**point))
    assert one(found.continuous) == (not ended)
    assert one(found.first) == pytest.approx(first, rel=1e-9, abs=1e-12)
    assert one(found.peak) == pytest.approx(peak, rel=1e-9)
    assert one(found.on_charge) == pytest.approx(on_q, rel=1e-9)
    assert one(found.on_square) == pytest.approx(on_s, rel=1e-9)
    assert one(found.off_charge) == pytest.approx(off_q, rel=1e-9)
    assert one(found.off_square) == pytest.approx(off_s, rel=1e-9)
    if ended:
        assert one(found.extinction) == pytest.approx(end, rel=1e-9)
    else:
        assert np.isnan(found.extinction).all()


def at_edge():
    """A long period, its on-time at the edge of continuous conduction."""
    duty = one(edge(loop(**SLOW)).duty)
    return SLOW | {"on_time": duty * SLOW["period"]}


@pytest.mark.parametrize("share", [1 - 1e-9, 1.0, 1 + 1e-9])
def test_at_the_boundary(share):
    """Just below, at and just above the edge all quantities agree with solve_ivp to 1e-8 and run on into each other."""
    point = at_edge()
    point["on_time"] *= share
    _, peak, _, on_q, _, off_q, off_s, _ = marched(point)
    found = chopped(loop(**point))
    assert one(found.first) == pytest.approx(0.0, abs=1e-6)
    assert one(found.peak) == pytest.approx(peak, rel=1e-8)
    assert one(found.on_charge) == pytest.approx(on_q, rel=1e-8)
    assert one(found.off_charge) == pytest.approx(off_q, rel=1e-8)
    assert one(found.off_square) == pytest.approx(off_s, rel=1e-8)


def test_edge_against_a_root_of_the_march():
    """Duty of the edge: scipy's brentq on the current left after a period without clamp (derived)."""
    p = SLOW

    def left(D):
        on, off = D * p["period"], (1 - D) * p["period"]
        fade = np.exp(-p["off_resistance"] * off / p["inductance"])
        peak = p["on_voltage"] / p["on_resistance"] * -np.expm1(-p["on_resistance"] * on / p["inductance"])
        return peak * fade + p["off_voltage"] / p["off_resistance"] * (1 - fade)

    at = edge(loop(**p))
    assert one(at.duty) == pytest.approx(brentq(left, 0, 1, xtol=1e-15), rel=1e-12)


def test_headroom_brings_any_point_to_the_edge():
    """Opposed by the headroom the current just touches zero; the mean there is that of the edge (derived)."""
    many = loop(**(SLOW | {"on_time": np.linspace(0.02e-3, 0.98e-3, 13)}))
    at = edge(many)
    found = chopped(many.opposed(at.headroom))
    assert np.abs(found.first).max() < 1e-9
    assert np.nanmin(np.append(found.extinction / many.period, 1.0)) > 1 - 1e-9
    assert found.mean == pytest.approx(at.mean)
    assert ((at.headroom > 0) == chopped(many).continuous).all()
    there = edge(many.opposed(at.headroom)).duty
    assert there == pytest.approx(many.on_time / many.period, rel=1e-9)


def test_edge_where_nothing_opposes_or_nothing_drives():
    """Duty 0 where the diode's current is not opposed, nan where the bus drives no current (exact)."""
    at = edge(loop(**(SLOW | {"on_voltage": np.array([300.0, -5.0]), "off_voltage": np.array([0.0, -300.0])})))
    assert at.duty[0] == 0.0
    assert np.isnan(at.duty[1])


def test_against_exact_arithmetic():
    """Error below 1e-12 from R·T/L = 1e-9 to 100 (standard library's decimal, 60 digits, is the source)."""
    rng = np.random.default_rng(1)
    n = 400
    x, D = 10 ** rng.uniform(-9, 2, n), rng.uniform(0.005, 0.995, n)
    T, R = 1 / 16e3, rng.uniform(0.1, 10, n)
    e = np.where(rng.random(n) < 0.5, 320 * D * rng.uniform(0.2, 1.0, n), rng.uniform(0, 316, n)).clip(max=316)
    many = loop(on_voltage=318 - e, off_voltage=-e - 1, on_resistance=R, off_resistance=R * rng.uniform(0.5, 1, n),
                inductance=R * T / x, period=T, on_time=D * T)
    found = chopped(many)
    assert 0.3 < found.continuous.mean() < 0.9
    for i in range(n):
        continuous, numbers = exact([float(getattr(many, name)[i]) for name in NAMES])
        assert found.continuous[i] == continuous
        end = many.period[i] if continuous else found.extinction[i]
        got = (found.first[i], found.peak[i], end, found.on_charge[i], found.on_square[i], found.off_charge[i],
               found.off_square[i])
        assert got == pytest.approx(numbers, rel=1e-12, abs=1e-300)


resistances = st.one_of(st.just(0.0), st.floats(1e-6, 100.0))
points = st.fixed_dictionaries({
    "on_voltage": st.floats(0.1, 400.0), "off_voltage": st.floats(-400.0, -0.1), "on_resistance": resistances,
    "off_resistance": resistances, "inductance": st.floats(1e-5, 10.0), "period": st.floats(1e-5, 1e-1),
    "share": st.one_of(st.just(0.0), st.floats(1e-9, 1.0)),
})


@given(points)
@settings(max_examples=300, deadline=None)
def test_balances(p):
    """Volt-seconds and energy balance in each part of the period (derived: L·di/dt = V − R·i integrated)."""
    share = p.pop("share")
    point = p | {"on_time": share * p["period"]}
    try:
        found = chopped(loop(**point))
    except ArithmeticError:
        assert p["on_resistance"] * p["off_resistance"] == 0
        return
    first, peak, last = one(found.first), one(found.peak), one(found.first)
    if not found.continuous[0]:
        assert (first, last) == (0.0, 0.0)
    L = p["inductance"]
    conducts = p["period"] if found.continuous[0] else np.nan_to_num(one(found.extinction))
    on, off = point["on_time"], max(conducts - point["on_time"], 0.0)
    volts = p["on_voltage"] * on * (peak > 0), p["off_voltage"] * off
    drops = p["on_resistance"] * one(found.on_charge), p["off_resistance"] * one(found.off_charge)
    scale = abs(volts[0]) + abs(volts[1]) + sum(drops) + L * max(first, peak)
    assert volts[0] - drops[0] == pytest.approx(L * (peak - first), abs=1e-12 * scale)
    assert volts[1] - drops[1] == pytest.approx(L * (last - peak), abs=1e-12 * scale)
    given_, taken = p["on_voltage"] * one(found.on_charge), p["off_voltage"] * one(found.off_charge)
    heat = p["on_resistance"] * one(found.on_square), p["off_resistance"] * one(found.off_square)
    scale = abs(given_) + abs(taken) + sum(heat) + L * max(first, peak) ** 2
    assert given_ - heat[0] == pytest.approx(L / 2 * (peak**2 - first**2), abs=1e-12 * scale)
    assert taken - heat[1] == pytest.approx(L / 2 * (last**2 - peak**2), abs=1e-12 * scale)
    assert one(found.least) <= one(found.mean) * (1 + 1e-12) <= one(found.rms) * (1 + 2e-12)
    assert one(found.rms) <= one(found.greatest) * (1 + 1e-12)
    assert one(found.mean) == pytest.approx(one(found.switch_mean) + one(found.diode_mean), rel=1e-14)


def test_limits():
    """Full on-time gives direct current V/R, none gives none, a bus below the speed voltage none (exact limits)."""
    found = chopped(loop(**(PLAIN | {"on_time": np.array([PLAIN["period"], 0.0])})))
    assert found.first[0] == pytest.approx(PLAIN["on_voltage"] / PLAIN["on_resistance"], rel=1e-14)
    assert found.rms[0] == pytest.approx(found.mean[0], rel=1e-13)
    assert found.ripple[0] == pytest.approx(0.0, abs=1e-12)
    assert found.diode_mean[0] == 0.0
    assert found.continuous.tolist() == [True, False]
    assert np.isnan(found.extinction).all()
    assert (found.mean[1], found.rms[1], found.peak[1], found.least[1]) == (0.0, 0.0, 0.0, 0.0)
    below = chopped(loop(**(PLAIN | {"on_voltage": np.array([0.0, -20.0]), "off_voltage": -300.0})))
    assert not below.continuous.any()
    assert not below.rms.any()
    assert np.isnan(below.extinction).all()


def test_an_overhauling_load_circulates_through_the_diode():
    """With off_voltage above 0 current flows without the bus: off_voltage/off_resistance (exact limit)."""
    found = chopped(loop(**(PLAIN | {"on_voltage": 330.0, "off_voltage": 20.0, "on_time": np.array([0.0, 1e-6])})))
    assert found.continuous.all()
    assert found.mean[0] == pytest.approx(20.0 / PLAIN["off_resistance"], rel=1e-12)
    assert found.switch_mean[0] == 0.0
    assert found.mean[1] > found.mean[0]
    slope = loop(**(PLAIN | {"on_voltage": 25.0, "off_voltage": 20.0, "on_resistance": 50.0, "on_time": 1e-5}))
    backward = chopped(slope)
    assert one(backward.first) > one(backward.peak)
    assert one(backward.greatest) == one(backward.first)
    assert one(backward.ripple) == pytest.approx(one(backward.first) - one(backward.peak))


def test_no_steady_state_without_resistance():
    """Volt-seconds up exceed those down and nothing limits the current: said, not computed."""
    ideal = loop(**(PLAIN | {"on_resistance": 0.0, "off_resistance": 0.0, "on_time": 0.5 / 16e3}))
    with pytest.raises(ArithmeticError, match=r"no steady state: a loop without resistance .* \(point 0\)"):
        chopped(ideal)


@pytest.mark.parametrize("name, value, said", [
    ("inductance", 0.0, "inductance must be above zero"),
    ("period", -1.0, "period must be above zero"),
    ("on_time", 1.0, "on-time must lie within the period"),
    ("on_time", float("nan"), "on-time must lie within the period"),
    ("on_resistance", -0.1, "resistance must not be negative"),
    ("off_voltage", 400.0, "the bus is below the switch threshold"),
])
def test_what_is_no_chopper_is_refused(name, value, said):
    """The fault and the first point that has it are named."""
    with pytest.raises(ValueError, match=rf"{said}.*\(point 1\)"):
        chopped(loop(**(PLAIN | {name: np.array([PLAIN[name], value])})))


def test_points_are_chosen_from_both_records():
    """A mask and indices choose the same points of loop and result (derived)."""
    many = loop(**(SLOW | {"on_time": np.linspace(0, SLOW["period"], 9)}))
    found, chosen = chopped(many), np.array([1, 4])
    again = chopped(many[chosen])
    assert again.mean == pytest.approx(found[chosen].mean, rel=1e-15)
    assert len(many[chosen]) == len(again) == 2
    assert len(found[found.continuous]) == int(found.continuous.sum())


@pytest.mark.parametrize("name", POINTS)
def test_trace_draws_the_same_current(name):
    """At least 361 points over one full period, every switching instant one of them; means agree (derived)."""
    point = POINTS[name]
    one_loop = loop(**point)
    found = chopped(one_loop)
    time, current = trace(one_loop, found, 0, nodes=2001)
    few, _ = trace(one_loop, found, 0)
    assert len(few) >= 361
    assert (time[0], time[-1]) == (0.0, point["period"])
    assert (np.diff(time) > 0).all()
    assert point["on_time"] in few
    assert current[0] == pytest.approx(one(found.first), abs=1e-12)
    assert current.max() == pytest.approx(one(found.greatest), rel=1e-12)
    assert current[-1] == pytest.approx(one(found.first), rel=1e-9, abs=1e-12)
    if np.isfinite(found.extinction[0]):
        assert one(found.extinction) in few
        assert (current[time >= one(found.extinction)] == 0).all()
    assert np.trapezoid(current, time) / point["period"] == pytest.approx(one(found.mean), rel=1e-5)


def test_trace_of_a_single_stretch():
    """Always on and always off: still 361 points, one value (exact)."""
    many = loop(**(PLAIN | {"on_time": np.array([0.0, PLAIN["period"]])}))
    found = chopped(many)
    for at, level in ((0, 0.0), (1, PLAIN["on_voltage"] / PLAIN["on_resistance"])):
        time, current = trace(many, found, at)
        assert len(time) == 361
        assert current == pytest.approx(np.full(361, level), rel=1e-12)
