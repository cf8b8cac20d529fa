"""Numbers for people, the CSV, the diagrams and the drawings taken into a page."""

from __future__ import annotations

import csv
import dataclasses
import io
import math

import pytest

from designer.project.kinds import CIRCUIT_KINDS
from designer.results import Check, Part, Quantity, Rating, ThermalNode
from designer.sheet import parts_csv
from designer.sheet.diagrams import BLOCKS, diagram, drawn
from designer.sheet.parts_list import COLUMNS, NOT_READY
from designer.sheet.pictures import labels
from designer.sheet.ratings import check_table
from designer.sheet.stack import ladder, spoken
from designer.sheet.svg import embed
from designer.sheet.text import allowed, delay, show, told, used, wait, words

OPTOCOUPLED = {
    "fuse": "F1\nT6.3AH250V", "switch": "Q1\n16 A", "driver": "U1\nrandom phase", "driver-resistor": "R1\n390 Ω",
    "gate-resistor": "R2\n330 Ω", "led-resistor": "R3\n270 Ω", "snubber-resistor": "R4\n100 Ω",
    "snubber-capacitor": "C1\n100 nF",
}
BREAKOVER = {
    "fuse": "F1\nT6.3AH250V", "switch": "Q1\n16 A", "breakover-device": "D1\n32 V", "potentiometer": "RP1\n220 kΩ",
    "timing-resistor": "R7\n10 kΩ", "timing-capacitor": "C3\n100 nF", "snubber-resistor": "R4\n100 Ω",
    "snubber-capacitor": "C1\n100 nF",
}


def triac_series(labels):
    """The diagram of a series motor on a triac."""
    return diagram(CIRCUIT_KINDS["triac-series"], labels)


@pytest.mark.parametrize(
    "quantity, text",
    [
        (Quantity(314.159265, "rad/s"), "3000 rpm"),  # derived: 3000 × 2π/60
        (Quantity(15375 * math.pi / 30, "rad/s"), "15375 rpm"),
        (Quantity(0.8, "N*m"), "0.8 N·m"),
        (Quantity(0.022, "N*m"), "22 mN·m"),
        (Quantity(4700.0, "ohm"), "4.7 kΩ"),
        (Quantity(-0.0, "A"), "0 A"),
        (Quantity(math.inf, "ohm"), "no limit"),
        (Quantity(math.nan, "ohm"), "not known"),
    ],
)
def test_quantities_read_as_at_the_bench(quantity, text):
    """Speeds in rpm, torques in N·m, no minus zero, number and unit on one line."""
    assert show(quantity).replace("\u00a0", " ") == text
    assert math.isinf(quantity.value) or math.isnan(quantity.value) or " " not in show(quantity)


def test_delay_gives_degrees_and_milliseconds():
    """102.7° at 50 Hz is 5.71 ms (needs, scenario S1, reference)."""
    assert delay(Quantity(math.radians(102.7), "rad"), Quantity(50.0, "Hz")) == "102.7° (5.71\u00a0ms)"
    assert delay(Quantity(math.radians(102.7), "rad"), None) == "102.7°"


@pytest.mark.parametrize(
    "seconds, text",
    [(0.2, "1 s"), (14.01, "15 s"), (119.5, "2 min"), (310.0, "5 min 10 s"), (math.inf, "does not end")],
)
def test_waits_round_up(seconds, text):
    """Whoever waits, waits longer, never shorter."""
    assert wait(seconds).replace("\u00a0", " ") == text


def test_shares_round_to_the_safe_side():
    """The share used is rounded up and the share allowed down; temperatures show kelvins left."""
    assert used(Quantity(7.01, "A"), Quantity(10.0, "A")) == "71\u00a0%"
    assert allowed(0.705, Quantity(10.0, "A")) == "70\u00a0%"
    assert used(Quantity(92.4, "degC"), Quantity(125.0, "degC")) == "32\u00a0K left"
    assert used(Quantity(1.0, "A"), Quantity(0.0, "A")) == "—"
    assert used(Quantity(math.inf, "A**2*s"), Quantity(36.0, "A**2*s")) == "beyond any"


def test_role_names_read_as_words():
    """Roles are shown with spaces and their capitals."""
    assert words("gate-resistor") == "gate resistor"
    assert words("x2-capacitor") == "X2 capacitor"
    assert words("C_s") == "C_s"


def test_csv_reads_back_part_by_part(ready):
    """Every part is there; each further rating has its own line; all cells are quoted."""
    text = parts_csv(ready)
    rows = list(csv.DictReader(io.StringIO(text)))
    assert text.splitlines()[0] == ",".join(f'"{name}"' for name in COLUMNS)
    assert {row["designator"] for row in rows} == {part.designator for part in ready.parts}
    assert len(rows) == sum(max(1, len(part.ratings)) for part in ready.parts)
    fuse = [row for row in rows if row["designator"] == "F1"]
    assert fuse[0]["marking"] == "T6.3AH250V"
    assert fuse[1]["rating"] == "breaking capacity"
    assert "\u00a0" not in text


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", " =", "\r=", "＝", "|"])
def test_csv_cells_never_start_a_formula(ready, start):
    """A spreadsheet must not take user text for a formula; quotes and line breaks survive."""
    text = f'{start}HYPERLINK("http://example.invalid")\nsecond, line'
    part = dataclasses.replace(ready.parts[0], description=text, ratings=())
    rows = list(csv.DictReader(io.StringIO(parts_csv(dataclasses.replace(ready, parts=(part,))))))
    assert rows[0]["description"] == f"'{start.strip()}HYPERLINK(\"http://example.invalid\") second, line"


def test_csv_of_a_design_that_is_not_ready_lists_no_part(not_ready):
    """Nothing to build from, in the CSV too."""
    assert list(csv.reader(io.StringIO(parts_csv(not_ready)))) == [[NOT_READY]]


@pytest.mark.parametrize("labels", [OPTOCOUPLED, BREAKOVER], ids=["optocoupled", "breakover"])
def test_diagram_carries_every_label(labels):
    """Each part that is given stands on the diagram with designator and value."""
    svg = triac_series(labels)
    for label in labels.values():
        for line in label.split("\n"):
            assert line in svg
    assert ("isolated logic side" in svg) == ("driver" in labels)


def test_diagram_draws_detector_and_thermal_switch():
    """The zero-cross detector hangs between the rails, its output on the logic side; the switch follows the fuse."""
    more = OPTOCOUPLED | {
        "gate-driver": "U7", "zero-cross-detector": "U2", "zero-cross-resistor": "R4, R5\n2 × 150 kΩ",
        "zero-cross-pull-up": "R6\n220 kΩ", "zero-cross-filter-resistor": "R8\n220 Ω",
        "zero-cross-filter-capacitor": "C9\n68 pF", "thermal-switch": "thermal switch\nin the motor",
    }
    svg = triac_series(more)
    for words_ in ("U7", "U2", "R4, R5: 2 × 150 kΩ", "R6", "R8: 220 Ω", "C9", "logic input", "thermal switch"):
        assert words_ in svg
    assert "thermal switch" not in triac_series(OPTOCOUPLED)


def test_diagram_draws_what_may_be_absent_only_where_it_is_given():
    """Varistor, X2 capacitor, bleeder and the second time constant are drawn with a label only."""
    more = BREAKOVER | {
        "varistor": "RV1", "x2-capacitor": "C2", "x2-bleeder": "R5", "timing-resistor-2": "R8",
        "timing-capacitor-2": "C4",
    }
    absent = ("RV1", "C2", "R5", "R8", "C4")
    assert not any(label in triac_series(BREAKOVER) for label in absent)
    assert all(label in triac_series(more) for label in absent)
    bare = {role: label for role, label in OPTOCOUPLED.items() if not role.startswith("snubber")}
    assert "snubber" not in triac_series(bare)


def test_three_wire_network_is_fed_from_the_line():
    """The three-wire network is drawn from before the motor, the two-wire one from the triac."""
    assert triac_series(BREAKOVER | {"network": "three-wire"}) != triac_series(BREAKOVER)


def test_labels_tell_parts_of_the_same_role_apart():
    """A second part of a role is numbered; a part that is not needed has no label."""
    first = Part(role="timing-resistor", designator="R_e", description="", value=Quantity(10e3, "ohm"))
    second = Part(role="timing-resistor", designator="R_2", description="", value=Quantity(15e3, "ohm"))
    none = Part(role="snubber", designator="", description="none needed", count=0)
    assert labels((first, second, none)) == {
        "timing-resistor": "R_e\n10 kΩ", "timing-resistor-2": "R_2\n15 kΩ",
    }


def test_diagram_takes_signs_that_the_drawing_library_reads_as_markup():
    """Ampersand, angle brackets and dollar signs in a label do no harm."""
    svg = triac_series(OPTOCOUPLED | {"fuse": "F1 <a> & $x$"})
    assert "F1 ‹a› and SxS" in svg


def test_diagrams_come_from_the_sides_of_a_circuit():
    """A circuit is drawn when each of its sides has a block; no circuit is known by name."""
    assert {name for name, kind in CIRCUIT_KINDS.items() if drawn(kind)} >= {
        "triac-series", "chopper-series", "chopper-armature", "rectifier"}
    assert not set(BLOCKS) & set(CIRCUIT_KINDS) - {"field-chopper"}


def test_heat_ladder_shows_and_says_every_node():
    """Temperatures, resistances and the loss stand in the drawing and in its words."""
    path = (
        ThermalNode(name="junction <1>", temperature=84.0, resistance=2.1, loss=3.0),
        ThermalNode(name="air", temperature=45.0),
    )
    assert all(text in ladder(path) for text in ("junction &lt;1&gt;", "84 °C", "2.1 K/W", "3 W", "45 °C"))
    assert spoken(path) == "junction <1> 84 °C, then 2.1 K/W carrying 3 W; air 45 °C."


def test_embedded_drawing_has_its_own_ids_and_words():
    """Ids, clips and uses are prefixed; head, metadata and page-wide style go; words are escaped."""
    svg = (
        '<?xml version="1.0"?><svg viewBox="0 0 1 1"><metadata>x</metadata>'
        '<defs><style type="text/css">*{stroke-linejoin: round}</style></defs>'
        '<g id="a"><path clip-path="url(#b)"/><use xlink:href="#c"/></g></svg>'
    )
    markup = embed(svg, name="w", title="A <b>", description="D & e").markup
    assert markup == (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1" role="img" aria-labelledby="w-title w-desc">'
        '<title id="w-title">A &lt;b&gt;</title><desc id="w-desc">D &amp; e</desc>'
        '<g id="w-a"><path clip-path="url(#w-b)"/><use href="#w-c"/></g></svg>'
    )


def test_what_is_no_drawing_is_refused():
    """Only an SVG with a viewBox can be taken in."""
    with pytest.raises(ValueError, match="wave: not an SVG drawing with a viewBox"):
        embed("<p>", name="wave", title="t", description="d")


def test_units_of_the_bench():
    """Cross-sections in mm², slopes in A/ms, A/µs and V/µs, inertia in kg·cm²; rounding of the solution is 0."""
    # derived: 1 m² = 1e6 mm²; 1 V/µs = 1e6 V/s; 1 kg·m² = 1e4 kg·cm²
    for quantity, text in (
        (Quantity(0.75e-6, "m**2"), "0.75 mm²"), (Quantity(97.43e6, "V/s"), "97.43 V/µs"),
        (Quantity(5503.0, "A/s"), "5.503 A/ms"), (Quantity(50e6, "A/s"), "50 A/µs"),
        (Quantity(2.6e-4, "kg*m**2"), "2.6 kg·cm²"), (Quantity(4e-16, "A"), "0 A"),
        (Quantity(4e-10, "N*m"), "0 N·m"), (Quantity(1e-3, "rad/s"), "0 rpm"),
        (Quantity(9954.4 * math.pi / 30, "rad/s"), "9954 rpm"),
    ):
        assert show(quantity).replace("\u00a0", " ") == text


def test_pure_numbers_read_as_percentages():
    """An efficiency or a speed band is told in percent."""
    assert told(Quantity(0.745, "1")) == "74.5\u00a0%"
    assert told(Quantity(3.628, "1")) == "363\u00a0%"


def test_what_passes_its_limit_is_over_not_left():
    """A temperature above its limit shows the kelvins over it; a trace is below 1 %, nothing is 0 %."""
    assert used(Quantity(139.2, "degC"), Quantity(105.0, "degC")) == "35\u00a0K over"
    assert used(Quantity(1e-6, "A"), Quantity(1.0, "A")) == "below 1\u00a0%"
    assert used(Quantity(0.0, "A"), Quantity(1.0, "A")) == "0\u00a0%"


def test_long_lists_of_harmonics_are_folded(ready):
    """Of 39 orders the worst five are shown, and every one that fails; the rest is one sentence."""
    def order(n, current):
        return Check(part="line current (class A)", rating=f"harmonic {n}", stress=Quantity(current, "A"),
                     limit=Quantity(1.0, "A"), margin=1.0, verdict="pass" if current <= 1 else "fail", source="s")

    checks = tuple(order(n, 0.01 * n) for n in range(2, 41))
    table = check_table(dataclasses.replace(ready, checks=checks))
    assert [row.rating for row in table.rows] == [f"harmonic {n}" for n in (40, 39, 38, 37, 36)]
    assert table.remarks == ("Line current (class A): the 34 other orders pass too, at most 35\u00a0% of the limit.",)
    failing = check_table(dataclasses.replace(ready, checks=tuple(order(n, 2.0) for n in range(2, 41))))
    assert len(failing.rows) == 39
    assert failing.remarks == ()


def test_every_check_has_a_name_and_a_limit(ready):
    """A rating of what has no designator is told by its role; one without a limit is no check."""
    pulse = Part(role="gate-pulse", designator="", description="", count=0, ratings=(
        Rating(name="time to latch", limit=Quantity(90e-6, "s"), stress=Quantity(45e-6, "s"), source="s"),))
    check = Check(part="", rating="time to latch", stress=Quantity(45e-6, "s"), limit=Quantity(90e-6, "s"), margin=0.5,
                  verdict="pass", source="s")
    endless = dataclasses.replace(check, rating="latching current", limit=Quantity(math.inf, "s"))
    table = check_table(dataclasses.replace(ready, parts=(*ready.parts, pulse), checks=(check, endless)))
    assert [(row.part, row.rating) for row in table.rows] == [("gate pulse", "time to latch")]
