"""Clearance and creepage against the standards' tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from designer.errors import InputError
from designer.parts.insulation import Clearance, altitude_factor, clearance, creepage, distances
from designer.tables import read


@pytest.mark.parametrize(
    "impulse, mm",
    [
        (1500, 0.5),
        (2500, 1.5),
        (4000, 3.0),
        (6000, 5.5),
        (8000, 8.0),
        (10000, 11.0),
    ],
)
def test_clearance_table(impulse: float, mm: float) -> None:
    """IEC 60335-1 Table 16 (seen)."""
    assert {r.impulse: r.clearance_mm for r in read("clearances", Clearance)}[impulse] == mm


@pytest.mark.parametrize(
    "nominal, basic, reinforced, origin",
    [
        (230.0, 1.5, 3.0, 3.0),
        (120.0, 0.5, 1.5, 1.5),
        (48.0, 0.5, 1.5, 0.5),
    ],
)
def test_clearance_of_mains(nominal: float, basic: float, reinforced: float, origin: float) -> None:
    """230 V: basic 1.5, reinforced 3.0 mm; 120 V reinforced 1.5 mm; category III one step up (IEC 60335-1)."""
    assert clearance(nominal, grade="basic") == pytest.approx(basic * 1e-3)
    assert clearance(nominal, grade="reinforced") == pytest.approx(reinforced * 1e-3)
    assert clearance(nominal, grade="basic", near_origin=True) == pytest.approx(origin * 1e-3)


@pytest.mark.parametrize(
    "working, mm",
    [
        (50, 1.2),
        (125, 1.5),
        (250, 2.5),
        (400, 4.0),
        (500, 5.0),
        (800, 6.3),
        (1000, 8.0),
        (325, 4.0),
        (251, 4.0),
    ],
)
def test_creepage_clean(working: float, mm: float) -> None:
    """IEC 60335-1 Table 17, pollution degree 2, material group III (seen); next row up, no interpolation."""
    assert creepage(working, grade="basic") == pytest.approx(mm * 1e-3)


@pytest.mark.parametrize("working, mm", [(50, 1.9), (125, 2.4), (250, 4.0), (400, 6.3), (500, 8.0)])
def test_creepage_with_brush_dust(working: float, mm: float) -> None:
    """IEC 60335-1 Table 17, pollution degree 3, material group IIIa (seen)."""
    assert creepage(working, grade="basic", dusty=True) == pytest.approx(mm * 1e-3)


@pytest.mark.parametrize("working, mm", [(125, 1.4), (250, 2.0), (400, 3.2), (500, 4.0)])
def test_creepage_functional(working: float, mm: float) -> None:
    """IEC 60335-1 Table 18, pollution degree 2, material group III (seen)."""
    assert creepage(working, grade="functional") == pytest.approx(mm * 1e-3)


@pytest.mark.parametrize("working, clean, dusty", [(250, 5.0, 8.0), (400, 8.0, 12.6)])
def test_reinforced_creepage_is_twice_basic(working: float, clean: float, dusty: float) -> None:
    """5.0 and 8.0 mm clean, 8.0 and 12.6 mm with dust (factor 2 from memory)."""
    assert creepage(working, grade="reinforced") == pytest.approx(clean * 1e-3)
    assert creepage(working, grade="reinforced", dusty=True) == pytest.approx(dusty * 1e-3)


@pytest.mark.parametrize(
    "metres, factor",
    [
        (0, 1.0),
        (2000, 1.00),
        (2500, 1.14),
        (3000, 1.14),
        (4000, 1.29),
        (5000, 1.48),
        (6000, 1.70),
        (7000, 1.95),
        (8000, 2.25),
        (9000, 2.62),
        (10000, 3.02),
        (15000, 6.67),
        (20000, 14.5),
    ],
)
def test_altitude_factor(metres: float, factor: float) -> None:
    """IEC 60664-1 Table A.2, clearance only (seen); the next higher row."""
    assert altitude_factor(metres)[0] == factor


def test_altitude_stretches_clearance_only() -> None:
    """230 V at 3000 m: 1.5 × 1.14 = 1.71, rounded up to 1.8 mm (derived)."""
    assert clearance(230.0, grade="basic", altitude=3000.0) == pytest.approx(1.8e-3)


@given(st.floats(10.0, 300.0), st.floats(10.0, 500.0), st.floats(0.0, 6000.0))
def test_grades_are_in_order(nominal: float, working: float, altitude: float) -> None:
    """Reinforced is never less than basic, nor creepage less than clearance (derived)."""
    functional, basic, reinforced = distances(nominal, working=working, altitude=altitude)
    assert functional.clearance <= basic.clearance < reinforced.clearance
    assert functional.creepage <= basic.creepage < reinforced.creepage
    assert all(d.creepage >= d.clearance for d in (functional, basic, reinforced))


def test_refusals() -> None:
    """Beyond the tables the user is told the figure."""
    with pytest.raises(InputError, match=r"supply\.voltage: found '600 V across the insulation', allowed up to 500"):
        creepage(600.0, grade="basic", dusty=True)
    with pytest.raises(InputError, match=r"ambient\.altitude: found '25000 m', allowed up to 20000 m"):
        altitude_factor(25000.0)
