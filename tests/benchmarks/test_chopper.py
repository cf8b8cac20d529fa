"""The chopper's benchmark runs; no test passes or fails on a time."""

import pytest

from tests.benchmarks import chopper


def test_it_runs_on_a_small_count():
    """Both rates and both ratios with their aim are printed, whatever the numbers are."""
    told: list[str] = []
    ratio = chopper.chopper_ratio(count=16, sample_size=4, repeat=1, say=told.append)
    assert ratio > 0
    assert [line.split()[0] for line in told] == ["Chopper", "package", "solve_ivp", "solve_ivp"]
    assert all("(aim 10000)" in line for line in told[2:])


def test_both_ways_of_the_reference_and_the_package_agree():
    """To 1e-9 of exact decimals at a tight tolerance (solve_ivp, DOP853)."""
    loop = chopper.grid(3, seed=3, least=0.3)
    right = chopper.by_decimals(chopper.points(loop))
    for way in (chopper.shooting, chopper.repeating):
        found = chopper.by_solve_ivp(way, chopper.points(loop), "DOP853", 1e-11)
        assert found == pytest.approx(right, rel=1e-9)
    assert chopper.package(loop) == pytest.approx(right, rel=1e-12)
