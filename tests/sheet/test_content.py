"""What the sheet says, in which order, and what it keeps back when a design is not ready."""

from __future__ import annotations

import dataclasses
import re

import pytest

from designer.parts.residual_current import BY_LINE
from designer.project.kinds import CIRCUIT_KINDS
from designer.results import Quantity
from designer.sheet import build_sheet
from designer.sheet.cautions import CAUTIONS, cautions
from designer.sheet.cautions import DEFERRAL as SAID

DEFERRAL = tuple(line.format(work="mains") for line in SAID)


def section(page: str, name: str) -> str:
    """The text of one section, tags taken out and no-break spaces made spaces; empty where it is absent."""
    found = re.search(rf'<section id="{name}".*?</section>', page, re.DOTALL)
    return plain(found.group(0)) if found else ""


def plain(markup: str) -> str:
    """Markup as text on one line."""
    text = re.sub(r"<[^>]*>", " ", markup).replace("&#39;", "'").replace("\u00a0", " ")
    return " ".join(text.split())


def order(page: str) -> list[str]:
    """The sections of a page in order."""
    return re.findall(r'<section id="([^"]*)"', page)


def test_cautions_stand_before_every_value(ready_page):
    """Nothing that could be built from, and no figure outside the cautions, comes before them."""
    page = ready_page
    assert order(page)[:2] == ["cautions", "verdict"]
    before = plain(page[page.index("<body>"): page.index('<section id="verdict"')])
    for value in ("102.7", "T6.3AH250V", "390 Ω", "4.18 A", "READY"):
        assert value not in before


def test_local_codes_are_named_at_the_top_and_where_mains_is_first_connected(ready_page):
    """The deferral stands above the cautions, and in the first step that is on mains."""
    page = ready_page
    top = plain(page[: page.index('<section id="cautions"')])
    steps = section(page, "first-power")
    fourth = steps[steps.index("Mains behind a 200 W"):]
    for line in DEFERRAL:
        assert line in top
        assert line in fourth
        assert line not in steps[: steps.index("Mains behind a 200 W")]


def test_local_codes_head_the_steps_where_no_step_is_marked(ready):
    """Where no step says that it is the first on mains, the deferral stands before all of them."""
    steps = tuple(dataclasses.replace(step, mains=False) for step in ready.first_power)
    text = section(build_sheet(dataclasses.replace(ready, first_power=steps)), "first-power")
    assert text.index(DEFERRAL[1]) < text.index("Nothing connected")


def test_ready_sheet_holds_all_that_is_needed_to_build(ready_page):
    """Parts with marking, stress and share; diagram values; wiring; steps with bands and blanks."""
    page = ready_page
    assert section(page, "verdict").endswith("is no approval.")
    assert "T6.3AH250V" in section(page, "circuit")
    assert "2 × 680 kΩ" in section(page, "circuit")
    parts = section(page, "parts")
    assert "r.m.s. current 16 A: sees 7.9 A, 50 % (may use 70 %)" in parts
    assert "junction temperature 125 °C: sees 92 °C, 33 K left (may use 110 °C)" in parts
    assert "green-yellow" in section(page, "wiring")
    steps = section(page, "first-power")
    assert "Unloaded, this step would reach 8300 rpm." in steps
    assert "speed 1350 rpm 1830 rpm" in steps
    assert page.count('<td class="blank">') >= 6
    assert "102.7° (5.71 ms)" in section(page, "figures")
    assert "rad/s" not in plain(page)


def test_not_ready_sheet_gives_reasons_and_stresses(not_ready_page):
    """Each reason with figure, limit, way out and nearest point; failed ratings too; the stresses."""
    page = not_ready_page
    verdict = section(page, "verdict")
    assert "NOT READY" in verdict
    for text in (
        "The load can come off", "Figure 15375 rpm", "Limit 12000 rpm", "Way out Fix the coupling",
        "Nearest feasible point firing angle 111° (6.17 ms), output speed 1700 rpm",
        "F1: breaking capacity exceeded", "Figure 1.5 kA, at mains socket", "Limit 35 A",
    ):
        assert text in verdict
    assert "breaking capacity 1.5 kA 35 A 4286 % 100 % fail" in section(page, "stresses")
    assert "waveforms" in order(page)
    assert "characteristic" in order(page)


def test_not_ready_sheet_holds_nothing_to_build_from(not_ready, not_ready_page):
    """No parts list, no diagram values, no wiring, no steps to first power, and no worked part values."""
    page = not_ready_page
    assert not {"circuit", "wiring", "parts", "heat", "first-power"} & set(order(page))
    assert '<svg xmlns="http://www.w3.org/2000/svg" viewBox' in page
    text = plain(page)
    for part in not_ready.parts:
        for value in (part.description, part.marking, part.if_wrong):
            assert not value or value not in text, value
    for value in ("T6.3AH250V", "680 kΩ", "green-yellow", "series lamp", "Bleeder time constant", "Step 1"):
        assert value not in text


def test_a_failed_check_alone_makes_it_not_ready(ready, not_ready):
    """A rating that fails stops the sheet even where no reason was written."""
    page = build_sheet(dataclasses.replace(ready, checks=not_ready.checks))
    assert "NOT READY" in section(page, "verdict")
    assert "parts" not in order(page)


def test_cautions_carry_the_computed_figures(ready_page):
    """Discharge, run-down and unloaded speeds are filled in; waits are rounded up."""
    text = section(ready_page, "cautions")
    for words in (
        "below 34 V in 1 s, through the bleeder R5, R6.", "With one bleeder resistor open: 5 min 10 s",
        "After a stop it runs on: 15 s", "Setting held, load off: 15375 rpm",
        "load off: 21200 rpm. Limit: 22000 rpm", "Crest voltage: 358 V",
        "residual-current device of type A: an earth fault behind this circuit gives a phase-cut sine",
    ):
        assert words in text


def test_a_missing_figure_is_told_not_hidden(not_ready):
    """Without a figure a caution says what to do instead."""
    bare = dataclasses.replace(not_ready, headline={})
    text = section(build_sheet(bare), "cautions")
    assert "take it as destructive" in text
    assert "for a time not computed here. The guard stays shut" in text
    assert "Limit: not known" in text


def test_ready_without_a_safety_figure_is_refused(ready):
    """A ready sheet with a hole in its cautions is not printed."""
    kept = {name: value for name, value in ready.headline.items() if name != "unloaded_speed"}
    with pytest.raises(ValueError, match="headline figures for its cautions: unloaded_speed"):
        build_sheet(dataclasses.replace(ready, headline=kept))


@pytest.mark.parametrize("circuit", CIRCUIT_KINDS)
def test_each_circuit_gets_the_cautions_of_its_kind(not_ready, circuit):
    """Field loss where the field is fed apart, direct current where contacts would have to break it."""
    point = dataclasses.replace(not_ready.operating_point, circuit=circuit)
    design = dataclasses.replace(not_ready, operating_point=point)
    given = {caution.code: " ".join(caution.lines) for caution in cautions(design)}
    assert {"live", "charge", "earth", "not-for"} <= set(given)
    assert ("motor-leads" in given) == ("output-live" not in given) == (circuit != "rectifier")
    separate = circuit in ("chopper-field", "dual-chopper") or circuit.endswith("-armature")
    assert ("field-loss" in given) == separate
    assert ("half-wave" in given) == circuit.startswith("thyristor")
    assert ("direct-current-contacts" in given) == (circuit != "triac-series")
    assert ("people" in given) == (circuit not in ("rectifier", "field-chopper"))
    assert "{" not in "".join(given.values())


def test_a_smoothed_bus_asks_for_more_than_type_a():
    """Choppers on a bus: type F, A at the least (IEC 62423, matched from memory)."""
    assert BY_LINE["bus"].type == "type F (type A at the least)"
    assert BY_LINE["phase-cut"].type == "type A"
    assert {kind.line for kind in CIRCUIT_KINDS.values()} == set(BY_LINE)


def test_caution_codes_are_unique():
    """Each caution has its own code."""
    codes = [caution.code for caution in CAUTIONS]
    assert len(codes) == len(set(codes))


def test_worked_lines_show_formula_numbers_and_source(ready_page):
    """A worked line is MathML with its symbols, validity and source."""
    page = ready_page
    worked = section(page, "worked")
    assert "R5, R6, X2 bleeder" in worked
    assert "Source: IEC 60028" in worked
    assert '<math display="block">' in page
    assert "2.914" in worked  # derived: 2.1 Ω × (234.45 + 120)/(234.45 + 21)


def test_an_unsolved_point_still_gives_a_sheet(not_ready):
    """Where the target can't be reached there is no waveform, and the sheet says so."""
    point = dataclasses.replace(not_ready.operating_point, waveform={}, quantities={})
    empty = dataclasses.replace(not_ready.characteristic, curves=(), load_curves=(), figures={})
    page = build_sheet(dataclasses.replace(not_ready, operating_point=point, characteristic=empty))
    assert "No waveform: the target was not reached" in section(page, "waveforms")
    assert "No characteristic was computed." in section(page, "characteristic")


def test_further_points_stand_beside_the_target(ready):
    """Further targets of the same build are compared with the target, quantity by quantity."""
    other = dataclasses.replace(
        ready.operating_point,
        quantities=dict(ready.operating_point.quantities) | {"output_speed": Quantity(125.6637, "rad/s")},
    )
    text = section(build_sheet(dataclasses.replace(ready, further_points=(other,))), "figures")
    assert "output speed 3000 rpm 1200 rpm" in text


def test_fault_finding_fits_the_circuit(ready_page, not_ready_page):
    """Fault finding is for a built circuit, and only for its kind."""
    text = section(ready_page, "faults")
    assert "Stall at the setting current, r.m.s.: 7.2 A to 155 °C: 48 s" in text
    assert "driver of the zero-cross kind" in text
    assert "Transistor" not in text
    assert "potentiometer" not in text
    assert "Runs on a lamp" not in section(not_ready_page, "faults")


def test_motor_constants_are_printed_where_they_are_given(ready, ready_page):
    """The constants that the figures rest on can be measured again."""
    assert "armature resistance 2.1 Ω" in section(ready_page, "motor")
    assert "motor" not in order(build_sheet(dataclasses.replace(ready, constants={})))


def test_control_range_is_told_in_units_of_the_bench(ready_page):
    """−60 rad/s per rad is −60 × (30/π) × (π/180) = −10 rpm a degree (derived); angles carry their delay."""
    text = section(ready_page, "characteristic")
    assert "Speed per change of the firing angle −10 rpm per degree" in text
    assert "Smallest usable firing angle at stall 78.6° (4.37 ms)" in text
    assert "low to high mains" in text


def test_an_open_loop_shows_what_the_load_does_to_its_speed(ready):
    """The setting held: the speed at each share of the load, and how far off the target."""
    rpm = 0.10471975511965977   # derived: 2π/60
    rows = tuple((Quantity(share, "1"), Quantity(0.8 * share, "N*m"), Quantity(speed * rpm, "rad/s"))
                 for share, speed in ((0.0, 14382), (0.5, 5546), (1.0, 3000), (1.5, 0.0)))
    text = section(build_sheet(dataclasses.replace(ready, sag=rows)), "characteristic")
    assert "0 % 0 N·m 14382 rpm 379 %" in text
    assert "50 % 0.4 N·m 5546 rpm 84.9 %" in text
    assert "150 % 1.2 N·m 0 rpm it stalls" in text


def test_a_capacitor_without_bleeder_is_told(ready):
    """Where nothing discharges the capacitor, the caution says so instead of giving a time."""
    never = Quantity(float("inf"), "s")
    headline = dict(ready.headline) | {"discharge_time": never, "discharge_time_bleeder_open": never}
    text = section(build_sheet(dataclasses.replace(ready, headline=headline)), "cautions")
    assert "it keeps its charge after unplugging, and the plug's pins bite." in text


def test_the_mean_of_an_alternating_current_is_left_out(ready):
    """It is zero, and a zero beside the other currents only misleads; where current is direct it is told."""
    given = {name: Quantity(0.0, "A") for name in ("armature_current_mean", "field_current_mean")}
    text = section(build_sheet(dataclasses.replace(ready, headline=dict(ready.headline) | given)), "figures")
    assert ", mean" not in text


def test_a_remark_without_words_has_no_heading(ready):
    """An empty text is no remark."""
    page = build_sheet(dataclasses.replace(ready, texts=dict(ready.texts) | {"inrush": "", "saturation": "Some."}))
    text = section(page, "assumptions")
    assert "Saturation Some." in text
    assert "Inrush" not in text
