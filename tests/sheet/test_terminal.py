"""A design as text for a terminal."""

from __future__ import annotations

from designer.sheet.terminal import WIDTH, design_tables


def test_cautions_and_verdict_come_before_every_value(ready):
    """The warning and the deferral stand first, then the verdict, then figures, parts and ratings."""
    text = design_tables(ready)
    places = [text.index(words) for words in (
        "The whole circuit is live", "It is not an approval", ": READY", "Line current, r.m.s.", "\nParts\n",
        "\nRatings\n")]
    assert places == sorted(places)
    assert "390 Ω, 390R, fusible metal-oxide, 1 W" in text
    assert "R5, R6   2 × 680 kΩ" in text
    assert "\u00a0" not in text
    assert all(len(line) <= WIDTH for line in text.split("\nParts\n")[0].splitlines())


def test_a_design_that_is_not_ready_lists_its_reasons_and_no_part(not_ready):
    """Each reason with figure, limit and way out; nothing to build from."""
    text = design_tables(not_ready)
    assert "NOT READY" in text
    assert "[15375 rpm, limit 12000 rpm]" in text
    assert "way out: Fix the coupling" in text
    assert "\nParts\n" not in text
    assert "390R" not in text
    assert "fail  F1, breaking capacity: 1.5 kA of 35 A (4286 %, may use 100 %)" in text
