"""What the readings of the inductances say, told by `solve` and on the sheet."""

from __future__ import annotations

import math

import pytest

from designer.studies.solve import reading_notes, solve
from tests.studies import cases

SERIES = '''

[[readings]]
kind = "standstill-ac"
winding = "series"
voltage = "{voltage} V"
current = "1 A"
frequency = "50 Hz"
'''


@pytest.mark.parametrize(("share", "told"), [(1.0, []), (1.09, []), (1.25, ["brush-shift"]), (0.8, ["brush-shift"])])
def test_a_series_reading_that_departs_is_told_as_brush_shift(share, told):
    """More than 10 % from the sum of both windings is told, and the series value is used (definitions: inductance).

    The reading is made from S1's own constants: 60 mH and 3.8 ohm (derived: Z = √(R² + (ωL)²)).
    """
    impedance = math.hypot(3.8, 2 * math.pi * 50 * 0.060 * share)
    project = cases.project("drill-press-reference", more=SERIES.format(voltage=f"{impedance:.9f}"))
    point = solve(project)
    assert [warning.code for warning in point.warnings if warning.code == "brush-shift"] == told


def test_the_sheet_asks_for_the_reading_that_is_missing():
    """Where the curve takes off more than half of the field inductance unconfirmed, `design` says so as `solve` does.

    Rule of the project's definitions.
    """
    made = cases.made("drill-press")
    codes = {warning.code for warning in made.design.warnings}
    assert "not-measured" in codes
    notes = reading_notes(made.design.project, made.found.fixed.motor, made.design.operating_point)
    assert [note.code for note in notes] == ["not-measured"]
