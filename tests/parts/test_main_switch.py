"""The main switch: both poles, bigger than the stall, staying open."""

from __future__ import annotations

import pytest

from designer.errors import InputError
from designer.parts.main_switch import Demand, choose


@pytest.mark.parametrize(("line", "stall", "amperes"), [
    (1.4, 5.3, 6.0),      # the stall fits the smallest (rated currents as sold: common practice, no source)
    (4.8, 5.9, 6.0),      # 80 % of 6 A carried
    (4.9, 5.9, 10.0),     # above it: the next
    (4.2, 10.8, 16.0),    # the stall decides
])
def test_the_smallest_that_carries_the_load_and_breaks_the_stall(line, stall, amperes):
    """Carried current within 80 % of the rating, stall within the rating (80 % rule: common practice, no source)."""
    part = choose(Demand(line_current=line, stall_current=stall, nominal=230.0), margins={})
    assert part.value is not None
    assert part.value.value == amperes


def test_a_stricter_margin_takes_a_larger_one():
    """The user's share of the contact current counts."""
    part = choose(Demand(line_current=4.0, stall_current=5.0, nominal=230.0), margins={"contact_current": 0.5})
    assert part.value is not None
    assert part.value.value == 10.0


def test_it_says_that_it_must_stay_open():
    """Restart after a dip is what the switch prevents."""
    part = choose(Demand(line_current=1.0, stall_current=3.0, nominal=120.0), margins={})
    assert "no-volt" in part.description
    assert any("stays open after a supply dip" in note for note in part.notes)


def test_nothing_breaks_more():
    """Beyond the table one message names what to do."""
    with pytest.raises(InputError, match=r"load\.torque: found '45 A at a stall, 230 V', allowed up to 40 A at 250 V"):
        choose(Demand(line_current=10.0, stall_current=45.0, nominal=230.0), margins={})
