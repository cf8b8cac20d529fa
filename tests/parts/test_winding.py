"""Winding limits by class, and the time to them at a stall."""

from __future__ import annotations

import pytest

from designer.errors import InputError
from designer.parts.winding import current_density, heating_rate, limits, stall_time

# IEC 60335-1 Tables 3 and 8 (from memory): class, °C, rise, locked, first hour, later highest, later mean
CLASSES = [
    ("A", 105, 75, 150, 200, 175, 150),
    ("E", 120, 90, 165, 215, 190, 165),
    ("B", 130, 95, 175, 225, 200, 175),
    ("F", 155, 115, 190, 240, 215, 190),
    ("H", 180, 140, 210, 260, 235, 210),
    ("200", 200, 160, 230, 280, 255, 230),
    ("220", 220, 180, 250, 300, 275, 250),
    ("250", 250, 210, 280, 330, 305, 280),
]


@pytest.mark.parametrize("name, celsius, rise, locked, hour, highest, mean", CLASSES)
def test_limits_of_each_class(
    name: str,
    celsius: int,
    rise: int,
    locked: int,
    hour: int,
    highest: int,
    mean: int,
) -> None:
    """By letter or by temperature; running is 25 °C plus the rise (IEC 60335-1, from memory)."""
    found = limits(name)
    assert found == limits(str(celsius))
    assert (found.running, found.locked) == (25.0 + rise, locked)
    assert (found.first_hour, found.later_highest, found.later_mean) == (hour, highest, mean)
    assert found.source == "IEC 60335-1 Tables 3 and 8 (from memory)"


def test_an_unknown_class_is_refused() -> None:
    """The message lists the classes and says what to take when in doubt."""
    with pytest.raises(InputError, match=r"motor\.thermal_class: found 'C', allowed A, E, B, F, H, 200, 220, 250"):
        limits("C")


def test_density_in_a_wire() -> None:
    """7.2 A over two paths of 0.6 mm wire: 12.7 A/mm² (derived)."""
    assert current_density(7.2, wire_diameter=0.6e-3, parallel=2) == pytest.approx(12.73e6, rel=1e-3)


@pytest.mark.parametrize("density, rate", [(6e6, 0.23), (10e6, 0.65), (15e6, 1.46)])
def test_rate(density: float, rate: float) -> None:
    """0.23, 0.65 and 1.46 K/s (derived; copper near 97 °C)."""
    assert heating_rate(density, temperature=97.0) == pytest.approx(rate, abs=0.005)


def test_time_lies_between_the_rates_at_both_ends() -> None:
    """Warmer copper heats faster, so the time lies between the two constant-rate times (derived)."""
    time = stall_time(12e6, start=60.0, limit=190.0).value
    slow, fast = heating_rate(12e6, temperature=60.0), heating_rate(12e6, temperature=190.0)
    assert 130.0 / fast < time < 130.0 / slow


def test_no_time_is_left_beyond_the_limit() -> None:
    """A winding already above its limit has none (derived)."""
    assert stall_time(12e6, start=200.0, limit=190.0).value == 0.0


@pytest.mark.parametrize("letter, celsius", [("N", "200"), ("R", "220")])
def test_letters_of_the_hottest_classes(letter: str, celsius: str) -> None:
    """N is class 200, R class 220 (IEC 60085, from memory)."""
    assert limits(letter) == limits(celsius)
