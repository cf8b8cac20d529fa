"""The film capacitor at the switch: overshoot of the leads against a march, its current and rise, the choice."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.checks import check
from designer.equations import bus_film as eq
from designer.errors import InputError
from designer.parts.bus_film import Demand, Row, choose, least, overshoot
from designer.tables import read

LATHE = Demand(crest=358.0, edge_current=9.0, frequency=16e3, ripple=1.7, resistance=0.2, overshoot=18.0)


def ring(capacitance: float, resistance: float) -> tuple[float, float]:
    """Overshoot (V) and mean square (A²s) of the ring when 9 A in 200 nH are switched off (scipy solve_ivp)."""
    tau = 2 * 200e-9 / resistance
    done = solve_ivp(lambda _, x: (x[1] / capacitance, -(x[0] + resistance * x[1]) / 200e-9, x[1] ** 2),
                     (0.0, 12 * tau), [0.0, 9.0, 0.0], max_step=2e-8, rtol=1e-8, atol=1e-9)
    return float(np.max(done.y[0])), float(done.y[2, -1])


def test_the_overshoot_is_a_bound() -> None:
    """½·L·I² into ½·C·ΔV²: the march with damping stays below, and comes close (scipy solve_ivp)."""
    bound = eq.FILM_OVERSHOOT(I_edge=9.0, L_lead=200e-9, C_film=0.9e-6)
    marched, _ = ring(0.9e-6, 0.1)
    assert 0.8 * bound < marched <= bound


def test_the_heat_of_the_ring() -> None:
    """Each ring is worth I²·L/(2R) (derived), two a period; the march (scipy solve_ivp) agrees within 1 %."""
    _, square = ring(0.1e-6, 0.2)
    assert square == pytest.approx(9.0**2 * 200e-9 / (2 * 0.2), rel=1e-2)
    found = eq.FILM_CURRENT(I_edge=9.0, f_sw=16e3, L_lead=200e-9, R_damp=0.2)
    assert found == pytest.approx(math.sqrt(2 * 16e3 * square), rel=1e-2)


def test_the_choice() -> None:
    """Every rating holds; the class is above the bus and its overshoot at 80 % (common practice, no source)."""
    part = choose(LATHE, margins={})
    assert part.role == "bus-capacitor"
    assert part.value is not None
    assert part.value.value * 0.9 >= least(LATHE).value
    assert {c.verdict for c in check(part)} == {"pass"}
    assert "630 V d.c." in part.marking


def test_more_current_takes_more_capacitance() -> None:
    """Rise and heat ask for more, then for several side by side."""
    small, large = choose(LATHE, margins={}), choose(replace(LATHE, edge_current=60.0), margins={})
    assert small.value is not None
    assert large.value is not None
    assert large.count * large.value.value > small.count * small.value.value
    assert {c.verdict for c in check(large)} == {"pass"}


def test_generic_classes() -> None:
    """100 to 1000 V d.c., 5 to 20 V/µs, 2 to 6 A/µF (least of the ranges, from memory)."""
    assert [(row.voltage, row.rise, row.current) for row in read("film_capacitors", Row)] == [
        (100.0, 5e6, 2e6), (250.0, 8e6, 3e6), (400.0, 10e6, 4e6), (630.0, 15e6, 5e6), (1000.0, 20e6, 6e6)]


def test_refusals() -> None:
    """A bus above every class; a current that none takes."""
    with pytest.raises(InputError, match=r"supply\.voltage: found '900 V on the bus', allowed film capacitors up to"):
        choose(replace(LATHE, crest=900.0), margins={})
    with pytest.raises(InputError, match=r"circuit\.switching_frequency: found '1\.6e\+04 Hz with 2e\+03 A'"):
        choose(replace(LATHE, edge_current=2000.0), margins={})


def test_a_low_bus_is_not_asked_for_a_tenth_of_a_millifarad():
    """14.4 V, 16.4 A: 5 % would ask for 200 nH·(16.4/0.72)² = 104 µF; 2 V ask for 13.4 µF (derived)."""
    assert overshoot(14.4) == 2.0
    assert overshoot(358.0) == pytest.approx(17.9)
    demand = Demand(crest=14.4, edge_current=16.4, frequency=18e3, ripple=4.0, resistance=0.02,
                    overshoot=overshoot(14.4))
    assert least(demand).value == pytest.approx(13.4e-6, rel=0.01)
    assert choose(demand, margins={}).role == "bus-capacitor"
