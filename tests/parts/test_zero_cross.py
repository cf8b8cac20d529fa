"""The zero-cross detector: edges against the sine itself, safe sides, refusal."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from designer.errors import InputError
from designer.parts.zero_cross import GENERIC, Demand, choose, design

DEMAND = Demand(
    supply_rms_low=207.0, supply_rms_nominal=230.0, supply_rms_high=253.0, frequency=50.0, edge=0.4e-3,
    bridge_drop=1.4, drop_mismatch=0.1, logic_voltage=5.0, logic_high=3.5, optocoupler=GENERIC,
)


def by_role(demand):
    """The chosen parts by role."""
    return {part.role: part for part in choose(demand)}


def test_the_edges_are_where_the_diode_carries_the_threshold():
    """Early edge by root on V̂·sin = R·I + drop for each corner (scipy brentq), output current over ratio (derived)."""
    found = design(DEMAND)
    corners = ((253.0, 0.95, 3.0), (230.0, 1.0, math.sqrt(0.25 * 3.0)), (207.0, 1.05, 0.25))
    for edge, (rms, size, ratio) in zip(found.edges, corners, strict=True):
        output = 5.0 / (0.95 * found.pull_up)
        volts = size * found.total * output / ratio + 2.6

        def spare(time, rms=rms, volts=volts):
            return math.sqrt(2) * rms * math.sin(2 * math.pi * 50.0 * time) - volts

        assert edge == pytest.approx(brentq(spare, 0.0, 5e-3, xtol=1e-15), rel=1e-9)


def test_the_wanted_edge_holds_with_an_aged_optocoupler_at_low_mains():
    """The worst edge stays within the demand (package against itself)."""
    assert design(DEMAND).edges[2] <= DEMAND.edge * 1.06   # pull-up at its least passes a little more current
    assert design(DEMAND).edges[0] < design(DEMAND).edges[1] < design(DEMAND).edges[2]


def test_two_resistors_bear_high_mains():
    """V²/R at 253 V and R −5 %, half each, below half of the rating; voltage halved (standards' practice rows)."""
    part = by_role(DEMAND)["zero-cross-resistor"]
    power, voltage = part.ratings
    assert part.count == 2
    assert power.stress.value == pytest.approx(253.0**2 / (2 * 0.95 * part.value.value) / 2)
    assert power.stress.value <= 0.5 * power.limit.value
    assert voltage.stress.value == pytest.approx(math.sqrt(2) * 253.0 / 2)


def test_a_tighter_edge_takes_larger_bodies():
    """Nearer to the zero asks for more current, hence more dissipation (physics, no source)."""
    near, far = (design(replace(DEMAND, edge=edge)) for edge in (0.1e-3, 0.8e-3))
    assert near.edges[2] < far.edges[2]
    assert near.pull_up >= far.pull_up


def test_unlike_diodes_and_no_bridge_are_told_apart():
    """0.1 V between the paths moves one zero by 0.1/(V̂·w): about a microsecond (derived)."""
    found = design(DEMAND)
    slope = math.sqrt(2) * 230.0 * 2 * math.pi * 50.0
    assert found.half_cycle_difference == pytest.approx(0.1 / slope, rel=2e-3)


def test_centring_takes_the_threshold_out_of_the_error():
    """Both edges averaged leave half of the delay difference only (derived); one edge leaves the whole spread."""
    found = design(DEMAND)
    assert found.centred_error == pytest.approx((50e-6 + 20e-6) / 2)
    assert found.error > found.centred_error
    spread = np.ptp(found.edges)
    assert found.error <= spread + 70e-6


def test_the_filter_is_sized_for_the_edge_that_the_pull_up_makes():
    """R·C with the pull-up, not with 220 Ω alone, stays below 20 µs (derived)."""
    parts = by_role(DEMAND)
    rising = (design(DEMAND).pull_up + 220.0) * 1.05 * parts["zero-cross-filter-capacitor"].value.value
    assert rising <= 20e-6
    assert parts["zero-cross-filter-resistor"].value.value == 220.0


def test_the_lockout_stands_on_the_sheet():
    """80 % of the half period without a further edge (common practice, no source)."""
    assert any("80 % of a half period" in note for note in by_role(DEMAND)["zero-cross-detector"].notes)


def test_an_edge_below_the_drops_is_refused():
    """An edge that lies where the mains is below the diodes' drops cannot be had."""
    with pytest.raises(InputError, match=r"control\.zero_cross: found 'edge within 20 µs'"):
        choose(replace(DEMAND, edge=20e-6))
