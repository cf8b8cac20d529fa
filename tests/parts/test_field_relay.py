"""The field-current relay: in below the weakest right field, out above the unsafe one, in time."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.checks import check
from designer.errors import InputError
from designer.parts.field_relay import Demand, Kind, choose
from designer.tables import read

LATHE = Demand(least=3.85, greatest=5.0, unsafe=0.6, allowed_time=0.15, opening=0.03)


def test_the_plainest_that_parts_them() -> None:
    """(0.90 − 0.15) × the least current in, 40 % of that out (from memory; common practice, no source)."""
    part, found = choose(LATHE, margins={})
    assert found.pick_up == pytest.approx(0.75 * 3.85)
    assert found.drop_out == pytest.approx(0.4 * 0.75 * 3.85)
    assert "plain relay" in part.description
    assert {c.verdict for c in check(part)} == {"pass"}


@pytest.mark.parametrize("unsafe, kind", [(1.0, "reed"), (2.0, "comparator")])
def test_a_closer_unsafe_field_asks_for_a_better_relay(unsafe: float, kind: str) -> None:
    """The drop-out less its spread stays above the unsafe field with a fifth in hand (common practice, no source)."""
    part, found = choose(replace(LATHE, unsafe=unsafe), margins={})
    assert kind in part.description
    assert found.drop_out > unsafe


def test_too_slow_or_too_close_is_refused() -> None:
    """A field that is unsafe close below the right one; a time that no relay meets."""
    with pytest.raises(InputError, match=r"circuit\.field_current: found 'unsafe field below drop-out: 3\.5 A'"):
        choose(replace(LATHE, unsafe=3.5), margins={})
    with pytest.raises(InputError, match=r"time to act: 31 ms', allowed at most 20 ms with the best of 4 relays"):
        choose(replace(LATHE, allowed_time=0.02), margins={})


def test_generic_kinds() -> None:
    """Return ratios 0.4, 0.6, 0.9; release 20, 3, 20 ms, 1 ms straight on the gate enable (from memory)."""
    assert [(k.return_ratio, k.release) for k in read("current_relays", Kind)] == [
        (0.4, 0.02), (0.6, 0.003), (0.9, 0.02), (0.9, 0.001)]


@settings(max_examples=60, deadline=None)
@given(least=st.floats(0.05, 10.0), part=st.floats(0.0, 1.0))
def test_order_of_the_currents(least: float, part: float) -> None:
    """Unsafe < drop-out < pick-up < least right field, spreads counted, or refused (property)."""
    try:
        _, found = choose(Demand(least=least, greatest=1.5 * least, unsafe=part * least), margins={})
    except InputError:
        return
    assert part * least < found.drop_out < found.pick_up < least
