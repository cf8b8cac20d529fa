"""Wires through a stall: what they bear for its time, against a marched temperature and IEC 60364's adiabatic k."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.checks import check
from designer.errors import InputError
from designer.parts.conductors import Carried, Demand, hook_up, winding_leads
from designer.parts.wire_overload import NAME, Overload, Wire, bears

HEAT, RHO_20 = 3.45e6, 1.7241e-8        # J/(m³·K) of copper (tables, from memory); IEC 60028
HALF = Wire(area=0.5e-6, stated=5.0, factor=math.sqrt(60.0 / 75.0), running=2.3)


def marched(wire: Wire, current: float, time: float, *, rise: float) -> float:
    """Temperature (°C) after ``time`` of a wire that the stated current warms by ``rise`` K in the end (scipy).

    Air at 105 − 75·factor² °C; resistance with temperature; heat given off in proportion to the rise.
    """
    air = 105.0 - 75.0 * wire.factor**2
    watts = wire.stated**2 * RHO_20 * (234.45 + 30.0 + rise) / 254.45 / wire.area
    given_off = watts / rise

    def slope(t: float, y: np.ndarray) -> list[float]:
        ohms = RHO_20 * (234.45 + y[0]) / 254.45 / wire.area
        return [(current**2 * ohms - given_off * (y[0] - air)) / (HEAT * wire.area)]

    start = air + rise * (wire.running / wire.stated) ** 2
    return float(solve_ivp(slope, (0.0, time), [start], rtol=1e-9, atol=1e-9).y[0, -1])


@pytest.mark.parametrize("rise", [40.0, 75.0])
@pytest.mark.parametrize("time", [1.0, 10.0, 45.0, 300.0, 3600.0])
def test_the_insulation_stays_within_its_class(time: float, rise: float) -> None:
    """What it is said to bear leaves a marched wire at 105 °C or below, whatever its true steady rise (scipy)."""
    assert marched(HALF, bears(HALF, time=time), time, rise=rise) <= 105.0 * 1.002


def test_a_short_stall_is_adiabatic() -> None:
    """k = 226·√ln((234.5 + 105)/(234.5 + θ)) of IEC 60364-5-54 (from memory), a little less as ρ counts hot."""
    start = 45.0 + 75.0 * (2.3 / 5.0) ** 2
    k = 226.0 * math.sqrt(math.log((234.5 + 105.0) / (234.5 + start)))
    found = bears(HALF, time=0.5) * math.sqrt(0.5) / 0.5
    assert 0.93 * k < found < k


def test_without_an_end_it_is_the_steady_rating() -> None:
    """5 A times √(60/75) at 45 °C (derived); a long stall comes down to it."""
    assert bears(HALF, time=math.inf) == pytest.approx(5.0 * math.sqrt(60.0 / 75.0))
    assert bears(HALF, time=1e5) == pytest.approx(bears(HALF, time=math.inf))
    times = [1.0, 10.0, 100.0, 1000.0]
    assert [bears(HALF, time=t) for t in times] == sorted((bears(HALF, time=t) for t in times), reverse=True)


@pytest.mark.parametrize("time, mm2", [(1.0, 0.5), (45.0, 0.75), (math.inf, 1.5)])
def test_the_leads_follow_the_stall(time: float, mm2: float) -> None:
    """2.3 A in running, 11.1 A at a stall, 45 °C: the longer it lasts the thicker (marched above; steady: 13.4 A)."""
    carried = Carried(current=2.3, ambient=45.0, at="running",
                      overloads=(Overload(current=11.1, time=time, at="stall"),))
    part = winding_leads(carried, role="motor-wire", what="motor", margins={})
    assert part.value is not None
    assert part.value.value == pytest.approx(mm2 * 1e-6)
    held = next(c for c in check(part) if c.rating == NAME)
    assert (held.stress.value, held.verdict) == (11.1, "pass")
    assert held.at == ("stall, for good" if math.isinf(time) else f"stall, for {time:g} s")


def test_a_stall_that_no_wire_outlasts_is_refused() -> None:
    """4 mm² carry 26 A · √(60/75) = 23.3 A for good (derived): the figure, the state and the way out."""
    carried = Carried(current=2.3, ambient=45.0, at="running",
                      overloads=(Overload(current=40.0, time=math.inf, at="stall at the setting"),))
    with pytest.raises(InputError, match=r"40 A in the motor's leads \(stall at the setting\)., allowed what 4 mm² "
                                         r"bears for that long: 23\.3 A. Cool the box"):
        winding_leads(carried, role="motor-wire", what="motor", margins={})


def test_the_line_wire_follows_too() -> None:
    """5.2 A that a 2.5 A fuse need not see at 35 °C: 0.5 mm² carries 4.83 A (derived), 0.75 mm² bears it for good."""
    demand = Demand(current=1.6, fuse_rating=2.5, let_through=25.0, ambient=35.0)
    assert hook_up(demand, margins={}).marking == "0.5 mm²"
    stalled = Demand(current=1.6, fuse_rating=2.5, let_through=25.0, ambient=35.0,
                     overloads=(Overload(current=5.2, time=math.inf, at="stall"),))
    part = hook_up(stalled, margins={})
    assert part.marking == "0.75 mm²"
    assert next(c for c in check(part) if c.rating == NAME).verdict == "pass"
