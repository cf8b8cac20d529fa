"""A printed number of a published example, and how close a recomputation must come to it."""

from __future__ import annotations

from dataclasses import dataclass

import pytest


@dataclass(frozen=True, kw_only=True)
class Row:
    """One printed number: ``source`` with its mark, the digits as printed, and what this package gives.

    ``verdict`` is that of check-values.md: "agrees" (within half the last printed digit), "rounding"
    (the source rounded on the way: within 1.5 last digits or 0.4 %), "DISAGREES" or "rejected" (the
    printed number is wrong and must not be met), "recomputed" (not printed: six digits, derived).
    """

    source: str
    quantity: str
    printed: str
    value: float
    verdict: str = "agrees"

    @property
    def name(self) -> str:
        """The row's name in a test report."""
        return f"{self.source}: {self.quantity}"

    def check(self) -> None:
        """Hold the value against the printed digits."""
        number, digit = float(self.printed), last_digit(self.printed)
        if self.verdict == "agrees":
            assert self.value == pytest.approx(number, rel=1e-9, abs=0.5000001 * digit)
        elif self.verdict == "rounding":
            assert self.value == pytest.approx(number, rel=0.004, abs=1.5 * digit)
        elif self.verdict == "recomputed":
            assert self.value == pytest.approx(number, rel=1e-9, abs=0.51 * digit)
        else:
            assert abs(self.value - number) > max(1.5 * digit, 0.004 * abs(number))


def last_digit(printed: str) -> float:
    """The weight of the last digit of a decimal as printed."""
    mantissa, _, exponent = printed.lower().partition("e")
    places = len(mantissa.partition(".")[2])
    return float(10.0 ** (int(exponent or 0) - places))


def every(rows: tuple[Row, ...]) -> pytest.MarkDecorator:
    """Parametrize a test over rows, with the source as the name."""
    return pytest.mark.parametrize("row", rows, ids=[row.name for row in rows])
