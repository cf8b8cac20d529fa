"""The dip of the mains at a start."""

from __future__ import annotations

import cmath
import math

import pytest

from designer.parts.flicker import FlickerLimit, start_change, start_rating
from designer.tables import read


def test_twenty_ampere_make_four_percent() -> None:
    """4 % of 230 V is 9.2 V: about 20 A at power factor 0.9 (computed from the reference impedance)."""
    assert 230.0 * start_change(20.0, nominal=230.0).value == pytest.approx(9.2, rel=0.03)


def test_the_drop_is_that_of_the_phasors() -> None:
    """Against the difference of the voltage magnitudes by complex arithmetic, small drop (derived)."""
    angle = math.acos(0.9)
    drop = (0.4 + 0.25j) * cmath.rect(5.0, -angle)
    assert start_change(5.0, nominal=230.0).value == pytest.approx((230.0 - abs(230.0 - drop)) / 230.0, rel=1e-2)


@pytest.mark.parametrize(("use", "limit"), [("general", 0.04), ("manual", 0.06), ("attended", 0.07)])
def test_limits(use: str, limit: float) -> None:
    """IEC 61000-3-3:2013 (from memory)."""
    assert start_rating(10.0, nominal=230.0, use=use).limit.value == limit
    assert {row.name: row.limit for row in read("flicker_limits", FlickerLimit)}[use] == limit


def test_another_use_is_named() -> None:
    """The message lists the uses."""
    with pytest.raises(ValueError, match="often is no use of IEC 61000-3-3; there are general, manual, attended"):
        start_rating(10.0, nominal=230.0, use="often")
