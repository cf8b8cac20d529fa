"""The field's energy: decay with diode, resistor and clamp against a march; the diode chosen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.checks import check
from designer.equations import field as eq
from designer.errors import InputError
from designer.parts.field_discharge import Demand, Row, decay, diode, rows, table, ways

LATHE = Demand(current=5.0, resistance=1.95, inductance=44e-3, high=12.6)


@pytest.mark.parametrize("resistor, clamp", [(0.0, 0.7), (39.0, 0.7), (0.0, 200.0)])
def test_decay_agrees_with_marching(resistor: float, clamp: float) -> None:
    """L·di/dt = −R·i − V by solve_ivp (scipy), at the time of the closed form a tenth is left."""
    time = decay(LATHE, resistor=resistor, clamp=clamp).value
    done = solve_ivp(lambda _, i: -((1.95 + resistor) * i + clamp) / 44e-3, (0.0, time), [5.0], rtol=1e-10, atol=1e-12)
    assert float(done.y[0, -1]) == pytest.approx(0.5, rel=1e-6)


def test_energy_into_the_clamp() -> None:
    """V·∫i dt of the march (scipy solve_ivp); the rest heats the winding."""
    end = 44e-3 / 1.95 * np.log(1 + 5.0 * 1.95 / 200.0)
    done = solve_ivp(lambda _, x: (-(1.95 * x[0] + 200.0) / 44e-3, 200.0 * x[0]), (0.0, end), [5.0, 0.0], rtol=1e-11)
    assert eq.DISCHARGED_ENERGY(V_cl=200.0, L_f=44e-3, R_loop=1.95, I_0=5.0) == pytest.approx(
        float(done.y[1, -1]), rel=1e-8)


def test_faster_means_a_higher_spike() -> None:
    """Diode, diode with resistor, clamp: each faster than the one before, 0.7 V against the spike allowed (derived)."""
    slow, middle, fast = ways(LATHE)
    assert slow.time > middle.time > fast.time
    assert (slow.spike, middle.spike, fast.spike) == (0.7, pytest.approx(200.0), pytest.approx(200.0))
    assert slow.energy + 0.0 < middle.energy < fast.energy < 0.5 * 44e-3 * 25.0


def test_the_table_takes_the_diode() -> None:
    """The slowest is the safe one: the field outlasts the armature's supply."""
    made = table(LATHE)
    assert made.chosen == 0
    assert [row[0] for row in made.rows] == ["diode", "diode and resistor", "clamp"]


def test_the_diode() -> None:
    """5 A at 70 % of the mean rating, as if it lasted; the decay's I²t beside it (common practice, no source)."""
    part = diode(LATHE, margins={})
    assert part.marking == "12 A 100 V"
    assert {c.verdict for c in check(part)} == {"pass"}
    heat = next(r for r in part.ratings if r.name == "I²t of one switch-off")
    assert heat.stress.value == pytest.approx(25.0 * 44e-3 / 1.95 / 2)
    assert diode(replace(LATHE, high=325.0), margins={}).marking == "12 A 600 V"


def test_generic_diodes() -> None:
    """1, 3, 6 A axial with 30, 150, 300 A; 12 and 25 A on metal (least of the ranges, from memory)."""
    assert [(row.current, row.surge_current) for row in rows()] == [
        (1.0, 30.0), (3.0, 150.0), (6.0, 300.0), (12.0, 150.0), (25.0, 250.0)]
    assert isinstance(rows()[0], Row)


def test_a_field_beyond_every_diode_is_refused() -> None:
    """100 A: told with what the largest bears."""
    with pytest.raises(InputError, match=r"field_supply\.voltage: found '13 V, 100 A', allowed up to 800 V and 17"):
        diode(replace(LATHE, current=100.0), margins={})
