"""The drawing of the tacho's input: every part of its list stands on it, and the barrier is told.

Source: the parts list of the same design (derived).
"""

from __future__ import annotations

import pytest

from designer.sheet.pictures import pictures
from tests.studies import cases


@pytest.fixture(scope="module")
def held():
    """The drill press with its loop, ready."""
    return cases.made("drill-press-held").design


def test_every_part_of_the_input_is_drawn(held) -> None:
    """Each role of the tacho's parts has its designator on the drawing, except the supply behind the terminals."""
    drawing = pictures(held, None).tacho
    assert drawing is not None
    for part in held.parts:
        if part.role.startswith("tacho-") and part.role != "tacho-supply":
            assert part.designator.split(",")[0] in drawing.markup, part.role
    assert "live with the motor" in drawing.markup
    assert "tacho coil" in drawing.markup


def test_no_loop_no_drawing() -> None:
    """A design without a loop has none."""
    assert pictures(cases.made("fan-fixed").design, None).tacho is None
