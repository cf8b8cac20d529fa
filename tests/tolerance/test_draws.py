"""Laws, draws, and what the samples say. Sources: scipy.stats for the laws, closed forms for the rest."""

import math

import numpy as np
import pytest
from scipy.stats import spearmanr, truncnorm

from designer.tolerance.draws import Input, changed, drawn, influences, output, spread_of

EVEN = Input(name="even", words="even", unit="V", law="uniform", low=207.0, high=253.0, source="test")
BELL = spread_of("bell", share=0.05, words="bell", source="test")


def test_the_uniform_law_is_even_between_its_ends():
    """Ends, middle, and the deviation width/√12 (source: the law's own integral)."""
    assert EVEN.at(np.array([0.0, 0.5, 1.0])) == pytest.approx([207.0, 230.0, 253.0], rel=1e-15)
    assert EVEN.deviation == pytest.approx(46.0 / math.sqrt(12), rel=1e-14)


def test_the_normal_law_is_cut_at_three_sigma():
    """Source: scipy.stats.truncnorm."""
    law, places = truncnorm(-3, 3, loc=1.0, scale=0.05), np.linspace(0, 1, 21)
    assert BELL.at(places) == pytest.approx(law.ppf(places), abs=1e-12)
    assert BELL.deviation == pytest.approx(law.std(), rel=1e-9)


def test_an_inductance_has_steps_of_equal_probability():
    """So that each step can be solved with its own windings."""
    steps = drawn((spread_of("inductance", share=0.05, words="", source="test"),), 1000, 3)["inductance"]
    values, counts = np.unique(steps, return_counts=True)
    assert len(values) == 5
    assert counts.min() > 150


def test_a_seed_gives_its_samples_again():
    """Byte for byte; another seed gives others."""
    first, again, other = (drawn((EVEN, BELL), 500, seed) for seed in (7, 7, 8))
    assert all(first[name].tobytes() == again[name].tobytes() for name in first)
    assert all(first[name].tobytes() != other[name].tobytes() for name in first)


def test_one_input_is_changed_at_a_time():
    """The centre first, then each alone one deviation down and up."""
    rows = changed((EVEN, BELL))
    assert rows["even"] == pytest.approx([230, 230 - EVEN.deviation, 230 + EVEN.deviation, 230, 230], rel=1e-14)
    assert rows["bell"] == pytest.approx([1, 1, 1, 1 - BELL.deviation, 1 + BELL.deviation], rel=1e-14)


def test_a_straight_line_gives_its_own_coefficients():
    """Of y = 3·a − 4·b in deviations: weights 3/5 and −4/5, shares 36 and 64 %; ranks as scipy.stats gives them."""
    samples = drawn((EVEN, BELL), 20000, 1)

    def line(at):
        return 3 * (at["even"] - 230) / EVEN.deviation - 4 * (at["bell"] - 1) / BELL.deviation

    found, explained = influences((EVEN, BELL), samples, line(samples), name="y", alone=line(changed((EVEN, BELL))))
    assert explained == pytest.approx(1.0, abs=1e-12)
    assert [one.input for one in found] == ["bell", "even"]
    assert [one.regression for one in found] == pytest.approx([-0.8, 0.6], abs=0.01)
    assert [one.share for one in found] == pytest.approx([0.64, 0.36], abs=0.015)
    assert [(one.low, one.high) for one in found] == [pytest.approx((4, -4)), pytest.approx((-3, 3))]
    for one in found:
        assert one.rank == pytest.approx(spearmanr(samples[one.input], line(samples)).statistic, abs=1e-12)


def test_samples_without_a_value_are_counted_apart():
    """And change neither mean nor percentiles."""
    made = output("y", np.array([1.0, np.nan, 3.0, 5.0]), words="y", unit="A", nominal=3.0)
    assert (made.mean, made.missing, made.percentiles[50.0]) == (3.0, 1, 3.0)
    assert made.deviation == pytest.approx(2.0, rel=1e-14)
    assert made.counts.sum() == 3
