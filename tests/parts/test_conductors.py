"""Cord, hook-up wire and printed track."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from designer.checks import check
from designer.equations.conductor import SHORT_AREA
from designer.errors import InputError
from designer.parts.conductors import Demand, ambient_factor, cord, hook_up, hook_up_factor, leads, track_width

DRILL = Demand(current=4.2, fuse_rating=0.0, let_through=100.0, ambient=55.0)
FUSE = "fuse rating against the wire"


@pytest.mark.parametrize(
    "amperes, mm2",
    [
        (2.0, 0.75),
        (3.0, 0.75),
        (3.1, 0.75),
        (6.0, 0.75),
        (6.1, 1.0),
        (10.0, 1.0),
        (16.0, 1.5),
        (25.0, 2.5),
        (32.0, 4.0),
        (40.0, 6.0),
        (63.0, 10.0),
    ],
)
def test_cord(amperes: float, mm2: float) -> None:
    """IEC 60335-1 Table 11 (seen); 0.5 mm² only for a cord of 2 m or less."""
    part = cord(replace(DRILL, current=amperes))
    assert part.value is not None
    assert part.value.value == pytest.approx(mm2 * 1e-6)
    assert {c.verdict for c in check(part)} == {"pass"}


def test_short_cord() -> None:
    """0.5 mm² up to 3 A where the cord is 2 m or shorter (IEC 60335-1 Table 11, seen)."""
    part = cord(replace(DRILL, current=2.5, cord_length=2.0))
    assert part.marking == "3 × 0.5 mm²"
    assert part.notes[0] == "only if the cord is 2 m or shorter"
    with pytest.raises(InputError, match=r"load\.torque: found '64 A', allowed up to 63 A"):
        cord(replace(DRILL, current=64.0))


@pytest.mark.parametrize(
    "celsius, factor",
    [
        (20, 1.0),
        (30, 1.0),
        (31, 0.94),
        (35, 0.94),
        (40, 0.87),
        (45, 0.79),
        (50, 0.71),
        (55, 0.61),
        (60, 0.50),
    ],
)
def test_ambient_factor(celsius: float, factor: float) -> None:
    """DIN VDE 0298-4:2023-06, 70 °C PVC (seen); the next warmer row."""
    assert ambient_factor(celsius)[0] == factor


def test_no_pvc_above_60_degrees() -> None:
    """The table ends there."""
    with pytest.raises(InputError, match=r"ambient\.temperature: found '65 °C round the wires', allowed up to 60"):
        ambient_factor(65.0)


@pytest.mark.parametrize("amperes, mm2", [(4.0, 0.5), (4.2, 0.75), (6.5, 0.75), (6.6, 1.0), (9.0, 1.5), (12.3, 2.5),
                                           (17.0, 4.0)])
def test_hook_up_wire(amperes: float, mm2: float) -> None:
    """5, 8, 10, 15, 20, 26 A for 0.5 to 4 mm² (practice) times √((105 − 55)/75) = 0.816 at 55 °C (derived)."""
    part = hook_up(replace(DRILL, current=amperes), margins={})
    assert part.value is not None
    assert part.value.value == pytest.approx(mm2 * 1e-6)
    assert {c.verdict for c in check(part)} == {"pass"}


def test_the_wire_s_factor_has_no_step_upwards() -> None:
    """Wire of 105 °C stated at 30 °C: 1 up to there, 0.775 at 60 °C, falling to nothing at 105 °C (derived)."""
    found = [hook_up_factor(0.5 * k).value for k in range(0, 210)]
    assert found[60] == 1.0
    assert hook_up_factor(60.0).value == pytest.approx((45.0 / 75.0) ** 0.5)
    assert all(later <= sooner for sooner, later in pairwise(found))
    assert max(sooner - later for sooner, later in pairwise(found)) < 0.04
    with pytest.raises(InputError, match=r"ambient\.temperature: found '105 °C round the wires', allowed below 105 °C"):
        hook_up_factor(105.0)


@pytest.mark.parametrize("amperes, cord_mm2, wire_mm2", [(3.15, 0.75, 0.5), (5.0, 1.0, 0.75), (6.3, 1.5, 0.75),
                                                       (10.0, 2.5, 1.5), (16.0, 4.0, 2.5), (25.0, 10.0, 4.0)])
def test_no_fuse_larger_than_the_wire_carries(amperes: float, cord_mm2: float, wire_mm2: float) -> None:
    """IEC 60364-4-43 (from memory): rating of the fuse at most what the wire carries, here at 55 °C.

    Cord: Table 11 times 0.61 (DIN VDE 0298-4, seen); hook-up wire: times 0.816, beyond 21.2 A it fails.
    """
    demand = replace(DRILL, current=1.0, fuse_rating=amperes)
    for part, mm2 in ((cord(demand), cord_mm2), (hook_up(demand, margins={}), wire_mm2)):
        assert part.value is not None
        assert part.value.value == pytest.approx(mm2 * 1e-6)
        held = {c.rating: c for c in check(part)}[FUSE]
        assert held.stress.value == amperes
        assert held.verdict == ("fail" if part.role == "wire" and amperes == 25.0 else "pass")
        if held.verdict == "fail":
            assert held.remedy == "A fuse of at most 21.2 A, or thicker wire chosen by hand."


def test_an_unknown_let_through_fails_the_wire_too() -> None:
    """Infinite let-through: no traceback, a check that fails with what to give (derived)."""
    part = hook_up(replace(DRILL, fuse_rating=5.0, let_through=math.inf), margins={})
    held = {c.rating: c for c in check(part)}["cross-section in a short"]
    assert held.verdict == "fail"
    assert held.remedy == "A quicker fuse; one of unknown let-through: give its i2t in [parts.fuse]."


def test_no_cord_above_60_degrees() -> None:
    """PVC of 70 °C: the table of ambient factors ends (DIN VDE 0298-4, seen)."""
    with pytest.raises(InputError, match=r"ambient\.temperature: found '65 °C round the wires'"):
        cord(replace(DRILL, ambient=65.0))


def test_the_short_can_ask_for_more() -> None:
    """0.5 mm² stands (115 · 0.5)² = 3306 A²s (IEC 60364-5-54 k = 115, from memory)."""
    assert SHORT_AREA(W_let=3306.25) == pytest.approx(0.5e-6)
    assert hook_up(replace(DRILL, current=1.0, let_through=3300.0), margins={}).marking == "0.5 mm²"
    assert hook_up(replace(DRILL, current=1.0, let_through=3400.0), margins={}).marking == "0.75 mm²"


def test_refused_beyond_the_wires() -> None:
    """21.2 A is what 4 mm² carries at 55 °C: 26 A times 0.816 (derived)."""
    with pytest.raises(InputError, match=r"what 4 mm² carries: 21\.2 A"):
        hook_up(replace(DRILL, current=21.3), margins={})
    with pytest.raises(InputError, match=r"21\.3 A in the motor's leads., allowed what 4 mm² carries: 21\.2 A"):
        leads(21.3, role="motor-wire", what="motor", ambient=55.0, at="", margins={})


def test_leads_go_by_the_windings_own_current() -> None:
    """16.4 A of an armature at 50 °C: 26 A times √((105 − 50)/75) = 22.3 A, 2.5 mm² bear 17.1 A (derived)."""
    part = leads(16.4, role="motor-wire", what="motor", ambient=50.0, at="stall", margins={})
    assert part.marking == "2.5 mm²"
    assert check(part)[0].limit.value == pytest.approx(20.0 * (55.0 / 75.0) ** 0.5)
    assert leads(17.2, role="motor-wire", what="motor", ambient=50.0, at="stall", margins={}).marking == "4 mm²"


@pytest.mark.parametrize("amperes, mm", [(1.0, 0.20), (5.0, 1.8), (10.0, 4.7)])
def test_track(amperes: float, mm: float) -> None:
    """Outer layer, 35 µm, 20 K: 0.20, 1.8, 4.7 mm (computed from IPC-2221); rounded up to 0.1 mm."""
    found = 1e3 * track_width(amperes)
    assert mm - 0.005 <= found <= mm + 0.11


def test_an_inner_track_is_wider() -> None:
    """Half the constant asks for 2^(1/0.725) = 2.6 times the area (derived from IPC-2221)."""
    assert track_width(10.0, inside=True) / track_width(10.0) == pytest.approx(2.6, rel=0.02)
