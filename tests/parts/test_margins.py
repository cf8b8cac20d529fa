"""Margins: default shares, stricter ones from the user, laxer ones refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from designer.errors import InputError
from designer.parts import margins as margins_module
from designer.parts.margins import junction_share, laxer, margins, share


@pytest.mark.parametrize("key, value", [
    ("switch_voltage", 0.80), ("switch_current", 0.70), ("switch_surge", 0.50), ("switch_i2t", 0.70),
    ("resistor_power", 0.50), ("film_voltage", 0.80), ("fuse_current", 1.00), ("fuse_current_ul", 0.75),
    ("fuse_pulse", 0.29), ("trip_factor", 2.0), ("plug_discharge_time", 1.0), ("discharge_time", 60.0),
])
def test_the_defaults_are_the_trades(key: str, value: float) -> None:
    """Derating figures as practised (common practice, no source; 0.75 and 0.29 read in fuse guides)."""
    assert share(key, {})[0] == value


def test_the_source_says_how_sure_it_is() -> None:
    """A rule of thumb is called one."""
    assert share("switch_current", {})[1] == "70 % of I_T(RMS) (common practice, no source)"


def test_the_users_stricter_margin_counts_and_says_so() -> None:
    """Stricter is lower for a share, higher for the trip factor."""
    assert share("switch_current", {"switch_current": 0.5}) == (
        0.5, "your file; default 70 %, 70 % of I_T(RMS) (common practice, no source)")
    assert share("trip_factor", {"trip_factor": 3.0})[0] == 3.0


@pytest.mark.parametrize("key, value, text", [
    ("switch_current", 0.75, "margins.switch_current: found '75 %', allowed above 0 and at most 70 %"),
    ("trip_factor", 1.5, "margins.trip_factor: found '1.5', allowed at least 2"),
    ("discharge_time", 61.0, "margins.discharge_time: found '61 s', allowed above 0 and at most 60 s"),
    ("switch_surge", 0.0, "margins.switch_surge: found '0 %', allowed above 0 and at most 50 %"),
])
def test_a_laxer_margin_is_refused(key: str, value: float, text: str) -> None:
    """Margins can be raised, not lowered."""
    with pytest.raises(InputError) as caught:
        share(key, {key: value})
    assert str(caught.value) == f"{text}. A margin can be made stricter, not laxer."


def test_laxer_knows_the_side() -> None:
    """The loader asks the same table."""
    assert laxer("trip_factor", 1.9)
    assert not laxer("trip_factor", 2.0)
    assert laxer("fuse_current", 1.01)
    assert not laxer("fuse_current", 0.9)


def test_junction_limits() -> None:
    """110 °C for 125 °C parts, 125 °C for 150 °C parts (common practice, no source)."""
    assert 125 * junction_share(125.0, {})[0] == pytest.approx(110.0)
    assert 150 * junction_share(150.0, {})[0] == pytest.approx(125.0)
    assert junction_share(150.0, {"junction_temperature": 0.7})[0] == 0.7


def test_every_margin_has_meaning_and_a_known_side() -> None:
    """The loader and the sheet can print each of them."""
    for key, margin in margins().items():
        assert margin.meaning, key
        assert margin.stricter in {"lower", "higher"}, key
        assert margin.unit in {"1", "s"}, key


def test_every_margin_is_read_by_some_code() -> None:
    """A key that the file may set and no calculation reads would be a promise not kept."""
    package = Path(margins_module.__file__).parents[1]
    code = "".join(path.read_text(encoding="utf-8") for path in package.rglob("*.py"))
    assert [key for key in margins() if f'"{key}"' not in code] == []
