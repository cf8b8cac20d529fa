"""The main switch of a direct-current supply: d.c. ratings only."""

from __future__ import annotations

from dataclasses import replace

import pytest

from designer.checks import check
from designer.errors import InputError
from designer.parts.contactor import Demand, Row, choose
from designer.tables import read

BATTERY = Demand(line_current=6.0, stall_current=9.0, voltage=26.4)


def test_a_relay_does_at_24_volts() -> None:
    """Carried current at 80 %, the stall within the rating, 30 V d.c. (from memory; common practice, no source)."""
    part, row = choose(BATTERY, margins={})
    assert part.marking == "10 A 30 V d.c."
    assert row.poles_in_series == 1
    assert {c.verdict for c in check(part)} == {"pass"}


@pytest.mark.parametrize("volts, poles", [(53.0, 2.0), (100.0, 3.0), (120.0, 4.0)])
def test_poles_in_series_above_it(volts: float, poles: float) -> None:
    """An arc needs several gaps: poles in series (from memory)."""
    part, row = choose(replace(BATTERY, voltage=volts), margins={})
    assert row.poles_in_series == poles
    assert "poles in series" in part.marking


def test_a_magnet_at_a_high_bus() -> None:
    """325 V direct: a sealed contactor with a blow-out magnet (from memory)."""
    assert "blow-out magnet" in choose(replace(BATTERY, voltage=325.0), margins={})[0].description


def test_beyond_the_table_it_is_refused() -> None:
    """Told with the largest listed."""
    with pytest.raises(InputError) as caught:
        choose(replace(BATTERY, voltage=600.0), margins={})
    assert str(caught.value) == (
        "supply.voltage: found '9 A at a stall, 600 V direct', allowed up to 200 A at 450 V in the largest listed. "
        "Lower the supply or the current limit, or take a d.c. contactor outside this table.")


def test_generic_contactors() -> None:
    """No row without a stated direct voltage and opening time (from memory)."""
    assert all(row.direct_voltage > 0 and 0.01 <= row.opening <= 0.06 for row in read("contactors", Row))
