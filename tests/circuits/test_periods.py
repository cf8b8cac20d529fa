"""One period on a common grid and its harmonics, against the marched reference and exact series."""

import math
from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.periods import NODES, ORDERS, HalfTrace, half_trace, half_traces, period, series
from tests import reference
from tests.pairs import S1, solve
from tests.reference import DEGREE

NONE = HalfTrace(angle=np.full(NODES + 1, math.nan), current=np.zeros(NODES + 1), odd=np.zeros(NODES + 1))


def sine_from(alpha):
    """A unit sine that conducts from ``alpha`` to π: what a resistive load draws."""
    angle = np.linspace(alpha, math.pi, NODES + 1)
    return HalfTrace(angle=angle, current=np.sin(angle), odd=np.zeros(NODES + 1))


def halves(case):
    """Both half cycles of the package's solution of a case."""
    solved = solve(case)
    return tuple(half_trace(path, solved.winding, half) for path, half in zip(
        solved.paths, (solved.state.positive, solved.state.negative), strict=True)), solved


@pytest.mark.parametrize("alpha", [0.0, 60 * DEGREE, 120 * DEGREE])
def test_series_of_a_cut_sine(alpha):
    """Fundamental a = (cos 2α − 1)/2π, b = (π − α + sin 2α / 2)/π and third order (exact integrals, derived)."""
    found = series((sine_from(alpha), sine_from(alpha)))
    assert found.a[0] == pytest.approx((math.cos(2 * alpha) - 1) / (2 * math.pi), abs=1e-10)
    assert found.b[0] == pytest.approx((math.pi - alpha + math.sin(2 * alpha) / 2) / math.pi, abs=1e-10)
    third = (math.cos(4 * alpha) - 1) / 4 - (math.cos(2 * alpha) - 1) / 2
    assert found.a[2] == pytest.approx(third / math.pi, abs=1e-9)
    assert found.mean == pytest.approx(0.0, abs=1e-15)
    assert found.rms[1::2] == pytest.approx(np.zeros(ORDERS // 2), abs=1e-14)


def test_series_of_one_half():
    """One half of a sine: mean 1/π, fundamental 1/2, second order 2/(3π) as amplitude (exact, derived)."""
    found = series((sine_from(0.0), NONE))
    assert found.mean == pytest.approx(1 / math.pi, rel=1e-10)
    assert found.b[0] == pytest.approx(0.5, rel=1e-10)
    assert math.sqrt(2) * found.rms[1] == pytest.approx(2 / (3 * math.pi), rel=1e-9)
    assert found.displacement_factor == pytest.approx(1.0)
    assert series((NONE, NONE)).displacement_factor == 0.0


CASES = {"S1 discontinuous": S1, "S1 control lost, past π": replace(S1, alpha=20 * DEGREE, speed=50.0)}


@pytest.mark.parametrize("case", CASES.values(), ids=list(CASES))
def test_period_is_the_marched_waveform(case):
    """Current at every node (scipy solve_ivp) to 1e-3 of the peak; r.m.s. of the grid and of the orders to 1e-3."""
    both, solved = halves(case)
    one = period(both)
    truth = reference.steady(case)
    assert (one.angle[0], one.angle[-1]) == pytest.approx((0.0, 2 * math.pi), abs=1e-12)
    assert np.all(np.diff(one.angle) >= 0)
    expected = np.zeros(one.angle.size)
    for segment in truth.segments:
        for turns in range(-3, 4):
            at = one.angle - 2 * math.pi * turns + 2 * math.pi * round(segment.on / (2 * math.pi))
            inside = (at > segment.on) & (at < segment.off)
            if inside.any():
                expected[inside] = segment.sign * segment.wave(at[inside])[0]
    assert one.current == pytest.approx(expected, abs=1e-3 * truth.peak)
    square = float(np.trapezoid(one.current**2, one.angle)) / (2 * math.pi)
    assert math.sqrt(square) == pytest.approx(truth.rms, rel=1e-3)
    assert math.sqrt(float(np.sum(series(both).rms ** 2))) == pytest.approx(truth.rms, rel=1e-3)
    assert set(np.unique(one.on)) <= {-1.0, 0.0, 1.0}
    conducting = one.on != 0
    assert np.abs(one.odd[conducting]) == pytest.approx(
        [S1.curve.g(abs(float(i))) for i in one.current[conducting]], abs=1e-3)
    assert solved.rms[0] == pytest.approx(truth.rms, rel=1e-5)


def test_many_traces_are_each_their_own():
    """Tracing several points at once gives each what it gets alone; a half that does not fire tells so (derived)."""
    solved = solve(S1)
    twice = np.array([0, 0])
    rows = half_traces(solved.paths[0][twice], solved.winding, solved.state.positive[twice])
    alone = half_trace(solved.paths[0], solved.winding, solved.state.positive)
    assert rows[1].current == pytest.approx(alone.current, rel=1e-12, abs=1e-12)
    assert alone.conducts
    assert not NONE.conducts
    silent = period((NONE, NONE))
    assert not silent.current.any()
    assert silent.angle.size >= 361
