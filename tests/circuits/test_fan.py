"""Roots by fans of values."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import designer
from designer.circuits.balance import find_setting, find_speed
from designer.circuits.case import Fixed, Points
from designer.circuits.chopper_armature import CIRCUIT
from designer.circuits.fan import fan_root, tried, turned
from designer.project import loads
from designer.studies.chopper_control import prepared
from designer.studies.solve import fixed_of

#: the same circuit, whose roots scipy's bracketing then finds one value at a time
ONE_BY_ONE = replace(CIRCUIT, closed_form=False)


def test_roots_of_bent_functions() -> None:
    """Roots of x³ = c are found to the tolerance at either slope, c over six decades (derived)."""
    c = np.geomspace(1e-3, 1e3, 13)
    ends = np.tile([0.0, 20.0], (13, 1))
    for sign in (1.0, -1.0):
        found = fan_root(lambda x, at, sign=sign: sign * (x**3 - c[at]), ends, sign * (ends**3 - c[:, None]),
                         tolerance=1e-9 * np.cbrt(c))
        assert found == pytest.approx(np.cbrt(c), rel=1e-9)


def test_root_at_an_end_and_at_a_kink() -> None:
    """A root just at the upper end of its bracket is that end, one at a kink the kink (derived)."""
    ends = np.array([[0.0, 2.0], [0.0, 3.0]])
    given = np.array([2.0, 1.0])
    found = fan_root(lambda x, at: np.minimum(x - given[at], 9 * (x - given[at])), ends,
                     np.array([[-18.0, 0.0], [-9.0, 2.0]]), tolerance=np.full(2, 1e-9))
    assert found == pytest.approx(given, abs=1e-9)


def test_all_in_one_go() -> None:
    """A fan is one call, a row a point; the bracket kept is the last at which the first sign is left."""
    calls: list[int] = []

    def excess(value: np.ndarray, at: np.ndarray) -> np.ndarray:
        calls.append(len(value))
        return np.asarray(value - at)

    values = np.array([[-1.0, 0.5, 1.0], [-1.0, 0.5, 1.5]])
    left = tried(excess, values)
    assert calls == [6]
    ends, at_ends = turned(values, left)
    assert ends.tolist() == [[-1.0, 0.5], [0.5, 1.5]]
    assert at_ends.tolist() == [[-1.0, 0.5], [-0.5, 0.5]]


@pytest.fixture(scope="module")
def cart() -> Fixed:
    """The motor and supply of an example on a d.c. supply, devices as a survey begins with."""
    project = loads((Path(designer.__file__).parent / "examples" / "garden-cart.toml").read_text())
    return replace(prepared(CIRCUIT, fixed_of(project), project), tolerance=1e-6)


def test_both_searches_agree_on_speeds(cart: Fixed) -> None:
    """Fans of speeds give what scipy's ``find_root`` gives, whatever the guess; 0 where it does not start."""
    points = Points.of(cart, {"voltage": 24.0, "setting": np.repeat([0.05, 0.3, 0.9], 3), "load": 1.0,
                              "speed": np.tile([0.0, 3.0, 5000.0], 3)})
    assert find_speed(CIRCUIT, cart, points) == pytest.approx(find_speed(ONE_BY_ONE, cart, points), rel=2e-6, abs=1e-5)
    stuck = find_speed(CIRCUIT, cart, replace(points, load=np.full(9, 1e3)))
    assert stuck.tolist() == [0.0] * 9


def test_both_searches_agree_on_settings(cart: Fixed) -> None:
    """Fans of duties give what scipy's ``find_root`` gives, and the same torque lacking where there is none."""
    points = Points.of(cart, {"voltage": 24.0, "speed": np.repeat([20.0, 60.0, 1e4], 3), "load": 1.0,
                              "setting": np.tile([0.0, 0.2, 0.9], 3)})
    setting, lacking = find_setting(CIRCUIT, cart, points)
    expected, missing = find_setting(ONE_BY_ONE, cart, points)
    assert setting == pytest.approx(expected, abs=2e-7, nan_ok=True)
    assert lacking == pytest.approx(missing, rel=1e-9)
    assert np.isnan(setting[6:]).all()
    assert np.isfinite(setting[:6]).all()
