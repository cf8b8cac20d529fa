"""The flux curve, its inductance and linkage, against definitions.md and scipy's splines."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from designer.motor.flux import FluxCurve, LinkageTable, Winding
from tests.pairs import S1_POINTS, S1_TEN
from tests.reference import Curve

CURVES = {
    "ten points of S1 (physics.md)": S1_TEN,
    "S1 sampled at 0.1 A (needs.md)": S1_POINTS,
    "example of the contract": ((0, 0.012), (0.5, 0.11), (1, 0.19), (2, 0.29), (4, 0.36), (8, 0.40)),
    "no row at 0 A": ((0.5, 0.10), (1.0, 0.18), (3.0, 0.30)),
    "one chord": ((0.0, 0.003), (5.0, 0.25)),
    "rises faster than at first": ((0.0, 0.002), (0.5, 0.02), (1.0, 0.06), (2.0, 0.16), (4.0, 0.24), (8.0, 0.30)),
    "flat at the end": ((0.0, 0.0), (1.0, 0.2), (2.0, 0.3), (3.0, 0.3)),
    "steeper at the end": ((0.0, 0.0), (1.0, 0.1), (2.0, 0.15), (3.0, 0.3)),
}
every_curve = pytest.mark.parametrize("points", CURVES.values(), ids=CURVES)


@every_curve
def test_the_odd_part_is_the_spline_of_the_definitions(points):
    """Reference: scipy CubicHermiteSpline on the mirrored points with the end-slope rule, and the tail."""
    curve, reference = FluxCurve.from_points(points), Curve(points)
    x = np.linspace(0.0, 3 * points[-1][0], 1501)
    assert curve.odd(x) == pytest.approx(np.array([reference.g(v) for v in x]), rel=1e-12, abs=1e-15)
    assert curve.odd(-x) == pytest.approx(-curve.odd(x), rel=1e-15, abs=0)
    assert curve.slope(x) == pytest.approx(np.array([reference.slope(v) for v in x]), rel=1e-10, abs=1e-14)
    assert curve.initial_slope == pytest.approx(reference.initial_slope, rel=1e-13)
    assert curve.remanence == reference.k_r


def test_slope_at_zero_is_the_first_chord():
    """Mirrored points make both chords at 0 A equal, so the weighted harmonic mean is the chord (derived)."""
    curve = FluxCurve.from_points(S1_TEN)
    assert curve.initial_slope == pytest.approx((0.046523 - 0.003) / 0.5, rel=1e-13)


@pytest.mark.parametrize("points, expected", [
    (((0.0, 0.0), (1.0, 0.2), (2.0, 0.3)), 0.1 * 0.5),       # falling chords: 0.1·(0.1/0.2)
    (((0.0, 0.0), (1.0, 0.1), (2.0, 0.3)), 0.2),             # rising chords: not above the last chord
    (((0.0, 0.0), (1.0, 0.2), (2.0, 0.2), (3.0, 0.3)), 0.0),  # flat before: 0
    (((0.0, 0.01), (2.0, 0.21)), 0.1),                       # one chord: its slope
])
def test_end_slope_rule(points, expected):
    """definitions.md: s_n = d_last·min(1, d_last/d_previous), 0 where d_previous is 0 (worked by hand)."""
    assert FluxCurve.from_points(points).end_slope == pytest.approx(expected, rel=1e-12, abs=1e-15)


def test_tail_ends_at_the_last_reading_plus_slope_times_current():
    """definitions.md: g → g_n + s_n·i_n far beyond the last point, and joins it with its slope (derived)."""
    curve = FluxCurve.from_points(S1_TEN)
    last = 12.0
    assert float(curve.odd(1e3)) == pytest.approx(0.3802 - 0.003 + curve.end_slope * last, rel=1e-12)
    assert float(curve.slope(last * (1 + 1e-9))) == pytest.approx(curve.end_slope, rel=1e-8)
    assert float(curve.slope(last * (1 - 1e-9))) == pytest.approx(curve.end_slope, rel=1e-6)


@pytest.mark.parametrize("remanence, at_plus, at_zero, at_minus", [
    ("drop", 0.2, 0.0, -0.2), ("keep", 0.21, 0.01, -0.19), ("follows-current", 0.21, 0.0, -0.21),
])
def test_the_three_ways_of_remanence(remanence, at_plus, at_zero, at_minus):
    """definitions.md, "Flux curve": only the odd part; added with one sign; added with the current's sign."""
    curve = FluxCurve.from_points(((0.0, 0.01), (1.0, 0.21), (2.0, 0.30)))
    assert curve.at(np.array([1.0, 0.0, -1.0]), remanence) == pytest.approx([at_plus, at_zero, at_minus], abs=1e-15)


@every_curve
def test_linkage_is_the_integral_of_the_inductance(points):
    """Reference: scipy quad of L_σ + (L_f0 − L_σ)·min(1, g′/g′(0)), piece by piece."""
    winding = Winding(curve=FluxCurve.from_points(points), constant=0.0258, main=0.0342)
    reference = Curve(points)
    knots = [0.0, *(i for i, _ in points if i > 0)]
    for top in (0.3 * knots[1], 0.9 * knots[-1], 2.5 * knots[-1]):
        def inductance(x):
            return 0.0258 + 0.0342 * min(1.0, reference.slope(x) / reference.initial_slope)

        inside = sorted({k for k in knots if k < top} | {top})
        fine = np.unique(np.concatenate([np.linspace(a, b, 9) for a, b in pairwise(inside)]))
        total = sum(quad(inductance, a, b, epsabs=1e-13)[0] for a, b in pairwise(fine))
        assert float(winding.linkage(top)) == pytest.approx(total, rel=1e-7)
        assert float(winding.inductance(top)) == pytest.approx(inductance(top), rel=1e-9)


@every_curve
def test_current_inverts_linkage(points):
    """Round trip, to the error the docstring states (derived)."""
    winding = Winding(curve=FluxCurve.from_points(points), constant=0.0258, main=0.0342)
    current = np.linspace(0.0, 2.5 * points[-1][0], 777)
    assert winding.current(winding.linkage(current)) == pytest.approx(current, rel=1e-7, abs=1e-7)


def test_table_for_marching_is_true_to_the_curve():
    """The straight pieces stay within 1e-6 of current and curve, 2e-8 V·s near zero (for a bound of 1e-5)."""
    winding = Winding(curve=FluxCurve.from_points(S1_TEN), constant=0.0266, main=0.0342)
    table = LinkageTable.build(winding, 2.0)
    linkage = np.linspace(1e-3, 1.99, 4999)
    (current, odd), _ = table.at(linkage)
    assert current == pytest.approx(winding.current(linkage), rel=1e-6, abs=1e-7)
    assert odd == pytest.approx(winding.curve.odd(winding.current(linkage)), rel=1e-6, abs=2e-8)


@st.composite
def readings(draw):
    """Curves that a project file may hold: two to eight rising currents, values not falling."""
    count = draw(st.integers(2, 8))
    steps = draw(st.lists(st.floats(0.05, 3.0), min_size=count, max_size=count))
    rises = draw(st.lists(st.floats(0.0, 0.2), min_size=count, max_size=count))
    first = draw(st.floats(0.0, 0.02))
    currents, values = np.cumsum(steps), first + np.cumsum(rises)
    if rises[0] < 1e-3:
        values = values + 1e-3
    return ((0.0, first), *zip(currents.tolist(), values.tolist(), strict=True))


@settings(max_examples=60, deadline=None, derandomize=True)
@given(readings())
def test_curves_never_fall_and_agree_with_the_reference(points):
    """PCHIP keeps rising readings rising, the tail included; values are those of scipy's spline."""
    curve, reference = FluxCurve.from_points(points), Curve(points)
    x = np.linspace(0.0, 2 * points[-1][0], 400)
    g = curve.odd(x)
    assert np.all(np.diff(g) >= -1e-15)
    assert g == pytest.approx(np.array([reference.g(v) for v in x]), rel=1e-10, abs=1e-14)
