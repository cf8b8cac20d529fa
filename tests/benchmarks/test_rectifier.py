"""The bridge's benchmark runs; no test passes or fails on a time."""

import numpy as np
import pytest

from tests.benchmarks import rectifier


def test_it_runs_on_a_small_count():
    """Both rates and both ratios with their aim are printed, whatever the numbers are."""
    told: list[str] = []
    ratio = rectifier.rectifier_ratio(count=16, sample_size=2, repeat=1, say=told.append)
    assert ratio > 0
    assert [line.split()[0] for line in told] == ["Bridge", "package", "solve_ivp", "solve_ivp"]
    assert all("(aim 10000)" in line for line in told[2:])


def test_the_references_and_the_package_agree():
    """To 1e-9 of an independent reference at a tight tolerance (solve_ivp, DOP853)."""
    sample = rectifier.points(rectifier.grid(2, seed=3))
    right = rectifier.exact(sample)
    assert rectifier.package(rectifier.grid(2, seed=3)) == pytest.approx(right, rel=1e-10)
    for way in (rectifier.shooting, rectifier.repeating):
        found = np.array([way(point, "DOP853", 1e-11) for point in sample]).T
        assert found == pytest.approx(right, rel=1e-9)
