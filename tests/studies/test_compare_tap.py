"""Whole field against tap: the polisher of needs.md, S5 (computed there), from its readings alone.

The reference angles and currents are the hidden truth's; the readings are off by up to a per cent, so the fitted
motor is held to 2° and 4 % (needs.md S5; what section 6 there asks of a fit), the whole-field row and the tap alike.
"""

from __future__ import annotations

import math
from functools import cache

import pytest

from designer.project import loads
from designer.studies.compare import compare
from designer.studies.compare_result import Comparison, Pair
from designer.studies.compare_tap import tap_project
from designer.studies.fitted import fitted
from tests.motor.fit_cases import tables

POLISHER = """
title = "Polisher"
[supply]
kind = "mains"
voltage = "230 V"
frequency = "50 Hz"
resistance = "0 ohm"
inductance = "0 H"
[motor]
winding_temperature = "21 °C"
running_temperature = "21 °C"
saturating_inductance = false
remanence = "follows-current"
maximum_speed = "30000 rpm"
maximum_speed_source = "assumed"
thermal_class = "H"
thermal_resistance_armature = "0.9 K/W"
thermal_resistance_field = "1.2 K/W"
inertia = "4 kg*cm**2"
insulation_resistance = "30 Mohm"
[[readings]]
kind = "standstill-ac"
winding = "field-tap"
voltage = "12 V"
current = "2.38 A"
frequency = "50 Hz"
[load]
torque = "0.5 N*m"
maximum_speed = "none"
coupling = "fixed"
can_jam = false
[target]
speed = "3000 rpm"
[[further_target]]
speed = "12000 rpm"
torque = "0.3 N*m"
[circuit]
kind = "triac-series"
[control]
feedback = "none"
[ambient]
temperature = "25 °C"
"""


@cache
def found() -> Comparison:
    """The comparison."""
    return compare(loads(POLISHER + tables(5), verb="compare"))


def pair() -> Pair:
    """Its rows of the tap."""
    return next(one for one in found().pairs if one.title.startswith("Whole field or tap"))


def test_tap_is_the_whole_field_with_fewer_turns():
    """Turns and constant are halved (needs.md S5): k at twice the current, resistance 1.28 ohm, 15.5 mH."""
    read = fitted(loads(POLISHER + tables(5), verb="compare"))
    tapped = tap_project(read.completed, read)
    assert tapped is not None
    whole, part = read.completed.motor.flux_curve, tapped.motor.flux_curve
    assert part[-1][0] / whole[-1][0] == pytest.approx(2, rel=0.02)
    assert part[-1][1] == whole[-1][1]
    assert tapped.motor.field_resistance == pytest.approx(1.28, rel=0.02)
    assert tapped.motor.field_inductance == pytest.approx(15.5e-3, rel=0.05)


def test_only_the_tap_reaches_the_fast_target():
    """12,000 rpm with 0.3 N·m is infeasible with the whole field and held on the tap (needs.md S5, computed there).

    At 230 V: at 207 V the tap's reach is not told there.
    """
    whole, tap = (dict(zip(pair().columns, cells, strict=True)) for _, cells in pair().rows)
    slow, fast = str(whole["targets held at every supply"]).split("; ")
    assert slow.endswith("held")
    assert "lacking" in fast
    assert str(tap["targets held at every supply"]).split("; ")[0].endswith("held")
    for row, degrees, amps in ((whole, 106.7, 2.91), (tap, 121.2, 3.84)):
        assert row["setting at the target"].value == pytest.approx(math.radians(degrees), abs=math.radians(2))
        assert row["armature current, r.m.s."].value == pytest.approx(amps, rel=0.04)


def test_both_say_how_fast_they_run_unloaded():
    """No load at full conduction: 18,900 rpm with the whole field, 22,700 on the tap (needs.md S5), to 10 %.

    The highest speed read is 3575 rpm, so friction there is an extrapolation (needs.md section 7, trap 1).
    """
    speeds = [cells[-1].value * 30 / math.pi for _, cells in pair().rows]
    assert speeds == pytest.approx([18900, 22700], rel=0.1)


def test_without_a_tap_there_is_no_such_question():
    """A file whose readings tell of no tap gives no pair."""
    read = fitted(loads(POLISHER + tables(5), verb="compare"))
    assert tap_project(read.completed, None) is None
