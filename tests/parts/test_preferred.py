"""Preferred values against IEC 60063 as listed, and against a general-purpose library."""

from __future__ import annotations

from itertools import pairwise

import eseries
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.errors import InputError
from designer.parts import preferred

NAMES = ("E3", "E6", "E12", "E24", "E48", "E96", "E192")

# IEC 60063:2015, public transcription (seen); E48 to E192 computed by its rule
LISTED = {
    "E3": "10 22 47",
    "E6": "10 15 22 33 47 68",
    "E12": "10 12 15 18 22 27 33 39 47 56 68 82",
    "E24": "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91",
    "E48": (
        "100 105 110 115 121 127 133 140 147 154 162 169 178 187 196 205 215 226 237 249 261 274 287 301 "
        "316 332 348 365 383 402 422 442 464 487 511 536 562 590 619 649 681 715 750 787 825 866 909 953"
    ),
    "E96": (
        "100 102 105 107 110 113 115 118 121 124 127 130 133 137 140 143 147 150 154 158 162 165 169 174 "
        "178 182 187 191 196 200 205 210 215 221 226 232 237 243 249 255 261 267 274 280 287 294 301 309 "
        "316 324 332 340 348 357 365 374 383 392 402 412 422 432 442 453 464 475 487 499 511 523 536 549 "
        "562 576 590 604 619 634 649 665 681 698 715 732 750 768 787 806 825 845 866 887 909 931 953 976"
    ),
}
ONLY_E192 = (
    "101 104 106 109 111 114 117 120 123 126 129 132 135 138 142 145 149 152 156 160 164 167 172 176 "
    "180 184 189 193 198 203 208 213 218 223 229 234 240 246 252 258 264 271 277 284 291 298 305 312 "
    "320 328 336 344 352 361 370 379 388 397 407 417 427 437 448 459 470 481 493 505 517 530 542 556 "
    "569 583 597 612 626 642 657 673 690 706 723 741 759 777 796 816 835 856 876 898 920 942 965 988"
)
LISTED["E192"] = " ".join(sorted((LISTED["E96"] + " " + ONLY_E192).split(), key=int))


@pytest.mark.parametrize("name", NAMES)
def test_each_series_is_the_standards_list(name: str) -> None:
    """Every value of a decade, digit by digit (IEC 60063:2015, public transcription)."""
    assert preferred.series_values(name) == tuple(int(v) for v in LISTED[name].split())


@pytest.mark.parametrize("name", NAMES)
def test_each_series_agrees_with_the_library(name: str) -> None:
    """The eseries library lists the same values."""
    assert preferred.series_values(name) == tuple(eseries.series(eseries.ESeries[name]))


def test_the_exception_and_the_quirks() -> None:
    """920 where the formula has 919; E24 keeps its eight historic values (IEC 60063, seen)."""
    assert 920 in preferred.series_values("E192")
    assert 919 not in preferred.series_values("E192")
    formula = [round(10 * 10 ** (k / 24)) for k in range(24)]
    differing = [e for e, f in zip(preferred.series_values("E24"), formula, strict=True) if e != f]
    assert differing == [27, 30, 33, 36, 39, 43, 47, 82]


@pytest.mark.parametrize("name, common", [
    ("E48", {10, 11, 75}),
    ("E96", {10, 11, 13, 15, 20, 75}),
    ("E192", {10, 11, 12, 13, 15, 16, 18, 20, 24, 47, 75}),
])
def test_few_values_of_e24_are_in_the_finer_series(name: str, common: set[int]) -> None:
    """So the nearest 1 % value to 33 is 33.2 (computed from IEC 60063)."""
    assert {v for v in preferred.series_values("E24") if 10 * v in preferred.series_values(name)} == common
    assert preferred.nearest(33.0, series="E96") == 33.2
    assert preferred.nearest(82.0, series="E96") == 82.5


@settings(max_examples=200, deadline=None)
@given(value=st.floats(1e-12, 1e9), name=st.sampled_from(NAMES))
def test_the_two_sides_enclose_the_value_as_the_library_says(value: float, name: str) -> None:
    """at_least and at_most agree with eseries to the last digit, over 21 decades."""
    key = eseries.ESeries[name]
    high, low = preferred.at_least(value, series=name), preferred.at_most(value, series=name)
    assert low <= value * (1 + 1e-9)
    assert high >= value * (1 - 1e-9)
    if high != pytest.approx(value, rel=2e-9):
        assert high == pytest.approx(eseries.find_greater_than_or_equal(key, value), rel=1e-9)
    if low != pytest.approx(value, rel=2e-9):
        assert low == pytest.approx(eseries.find_less_than_or_equal(key, value), rel=1e-9)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("power", [-12, -9, -7, -3, 0, 1, 3, 6])
def test_a_preferred_value_stays_itself(name: str, power: int) -> None:
    """No value is pushed to its neighbour by a binary fraction."""
    for number in preferred.series_values(name):
        value = float(f"{number}e{power}")
        assert preferred.at_least(value, series=name) == value
        assert preferred.at_most(value, series=name) == value
        assert preferred.nearest(value, series=name) == value


@pytest.mark.parametrize("name, worst", [
    ("E3", 0.375), ("E6", 0.20), ("E12", 0.111), ("E24", 0.071), ("E48", 0.026), ("E96", 0.015),
    ("E192", 0.0097),
])
def test_the_largest_gap_is_the_published_one(name: str, worst: float) -> None:
    """Worst relative error at the arithmetic midpoint (computed from IEC 60063)."""
    values = (*preferred.series_values(name), 10 * preferred.series_values(name)[0])
    gap = max((b - a) / (a + b) for a, b in pairwise(values))
    assert gap == pytest.approx(worst, rel=0.03)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_no_value_for_what_is_no_positive_number(bad: float) -> None:
    """Nothing is clipped in silence."""
    with pytest.raises(ValueError, match="needs a positive number"):
        preferred.at_least(bad)


def test_an_unknown_series_is_named() -> None:
    """The message lists the series there are."""
    with pytest.raises(ValueError, match="E13 is no series of IEC 60063; there are E3, E6, E12, E24, E48"):
        preferred.at_most(1.0, series="E13")


@pytest.mark.parametrize("needed, rating", [
    (0.0301, 0.032), (0.032, 0.032), (0.7, 0.8), (1.0, 1.0), (1.01, 1.25), (3.0, 3.15), (3.15, 3.15),
    (6.31, 8.0),
])
def test_fuse_ratings_go_up(needed: float, rating: float) -> None:
    """The next R10 rating carries the current (IEC 60127-2 ratings, from memory)."""
    assert preferred.fuse_rating_at_least(needed) == rating


def test_no_miniature_fuse_above_ten_ampere() -> None:
    """Beyond the largest one the user is told the figure."""
    with pytest.raises(InputError, match=r"parts\.fuse\.rating: found '11 A needed', allowed up to 10 A"):
        preferred.fuse_rating_at_least(11.0)
