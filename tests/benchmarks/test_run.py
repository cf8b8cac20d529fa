"""The benchmark runs; no test passes or fails on a time."""

import pytest

from tests.benchmarks import run


def test_it_runs_on_a_small_count(capsys):
    """Parts 1 and 2 print their rates and the ratio with its aim, whatever the numbers are."""
    few = ["--points", "16", "--sample", "3", "--roots", "2", "--repeat", "1"]
    assert run.main([*few, "--no-design", "--no-linear", "--no-circuits"]) == 0
    told = capsys.readouterr().out
    assert "ratio to the fastest of them:" in told
    assert "(aim 1000)" in told
    assert "speed from load and angle" in told


def test_its_own_right_side_is_that_of_the_reference():
    """The fast right side solves the same equation as the reference: 1e-7 at a tight tolerance (solve_ivp)."""
    case = run.cases(*run.grid(1))[0]
    found = run.one_by_solve_ivp(case, "DOP853", 1e-10)
    assert found == pytest.approx(run.exact([case])[:, 0], rel=1e-7)
