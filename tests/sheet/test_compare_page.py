"""The page of a comparison: closed to the outside, cautions first, figures as they are, nothing to build from.

Source of the figures: the comparison itself; its own tests hold them against references.
"""

from __future__ import annotations

import dataclasses
from xml.etree.ElementTree import Element

import html5lib
import pytest

from designer.project import loads
from designer.results import Quantity, Reason
from designer.sheet.compare_page import build_compare
from designer.sheet.compare_text import WIDTH, compare_tables
from designer.sheet.compare_words import LINES
from designer.studies.compare_json import compare_json
from designer.studies.compare_rank import RULE, ordered
from designer.studies.compare_result import Candidate, Comparison, Pair, Standing
from tests import browser

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
NASTY = "<script>alert(1)</script>&"
FILE = f"""
title = "{NASTY}"
[supply]
kind = "mains"
voltage = "230 V"
frequency = "50 Hz"
[load]
torque = "0.4 N*m"
[target]
speed = "3000 rpm"
"""
needs_browser = pytest.mark.skipif(browser.found() is None, reason="no browser here")


def candidate(name: str, number: int, *, standing: Standing = Standing.FITS) -> Candidate:
    """An invented candidate whose figures differ by its number."""
    figures = {
        "setting_nominal": Quantity(0.4 + number / 50, "1"), "setting_low": Quantity(0.5, "1"),
        "setting_high": Quantity(0.3, "1"), "line_current_rms": Quantity(1.5 + number, "A"),
        "armature_current_rms": Quantity(1.2, "A"), "form_factor": Quantity(1.11, "1"),
        "copper_loss": Quantity(20.0 + number, "W"), "torque_ripple": Quantity(0.05, "N*m"),
        "speed_no_load": Quantity(900.0, "rad/s"), "speed_change": Quantity(0.5, "1"), "parts": Quantity(30, "1"),
        "harmonic_order": Quantity(3, "1"), "harmonic_current": Quantity(0.9, "A"),
        "harmonic_share": Quantity(0.39, "1"), "power_factor": Quantity(0.5, "1"),
    } if standing is not Standing.UNFIT else {"parts": Quantity(30, "1")}
    reasons = () if standing is Standing.FITS else (Reason(
        code="not-reachable", message="Full output does not reach the target.", figure=Quantity(0.3, "N*m"),
        limit=Quantity(0.4, "N*m"), way_out="Gear it."),)
    return Candidate(
        circuit=name, title=name.capitalize(), setting="duty", standing=standing, reasons=reasons, figures=figures,
        texts={"rcd": "type A", "field": "in series with the armature", "shorted": "Full output."},
        taken=("a generic switch",))


def comparison(*, fits: bool = True) -> Comparison:
    """Nine candidates, as many as there are circuits, and one question."""
    rows = [candidate(f"circuit-{n}", n, standing=Standing.FITS if fits and n < 6 else Standing(max(n % 5, 1)))
            for n in range(9)]
    return Comparison(
        project=loads(FILE), candidates=ordered(rows), rule=RULE,
        pairs=(Pair(title="Triac or chopper", columns=("copper loss",), rows=(("triac", (Quantity(20.0, "W"),)),),
                    note="Figures alone."),))


def tree(page: str) -> Element:
    """The page parsed strictly: any parse error raises."""
    return html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(page)


def words(element: Element | None) -> str:
    """All text inside an element, white space as one space."""
    assert element is not None
    return " ".join("".join(element.itertext()).replace("\u00a0", " ").split())


@pytest.fixture(scope="module", params=[True, False], ids=["fits", "none fits"])
def page(request):
    """A comparison in which one fits, and one in which none does."""
    return build_compare(comparison(fits=request.param))


def test_the_page_is_closed_and_still(page):
    """A strict parser finds nothing wrong, the policy is the sheet's, nothing is loaded, no script runs."""
    root = tree(page)
    assert root.find("head/meta[@http-equiv]").attrib["content"] == POLICY
    for element in root.iter():
        assert str(element.tag).rpartition("}")[2] not in {"script", "link", "iframe", "object", "embed", "form", "img"}
        for name, value in element.attrib.items():
            assert not str(name).startswith("on")
            if name in ("href", "src"):
                assert value.startswith("#")
    ids = [element.attrib["id"] for element in root.iter() if "id" in element.attrib]
    assert len(set(ids)) == len(ids)
    assert {e.attrib["href"][1:] for e in root.iter("a") if e.attrib["href"] != "#content"} <= set(ids)
    assert NASTY in words(root.find(".//h1"))


def test_cautions_stand_before_any_figure(page):
    """First section; nothing to build from, live, runaway; the deferral above it."""
    root = tree(page)
    first = root.find(".//main/section")
    assert first.attrib["id"] == "cautions"
    text = words(first)
    assert text.index("Nothing here is to be built from") < text.index("Runaway")
    assert "It is not an approval" in words(root.find(".//div[@class='deferral']"))
    assert page.index('id="cautions"') < page.index('id="ranked"')


def test_the_order_stands_with_its_reasons():
    """Every candidate has a row, with what sets it behind the first; the first is marked, the rule printed."""
    found = comparison()
    root = tree(build_compare(found))
    rows = root.findall(".//section[@id='order']//tbody/tr")
    assert [words(row.find("th")) for row in rows] == [one.circuit for one in found.candidates]
    assert [words(row.findall("td")[-1]) for row in rows][1:] == [one.lost_to for one in found.candidates[1:]]
    assert rows[0].attrib["class"] == "chosen"
    assert words(root.find(".//p[@class='stamp']")) == "FIRST: circuit-0"
    assert RULE in words(root.find(".//section[@id='order']"))


def test_where_none_fits_it_says_so():
    """The stamp, and no row marked as chosen."""
    root = tree(build_compare(comparison(fits=False)))
    assert words(root.find(".//p[@class='stamp no']")) == "NONE FITS"
    assert not root.findall(".//tr[@class='chosen']")


def test_figures_side_by_side_are_the_comparisons():
    """Each cell of the tables is that of its candidate; all labels that have a figure stand there."""
    found = comparison()
    root = tree(build_compare(found))
    tables = root.findall(".//section[@id='figures']//table")
    seen = {}
    for table in tables:
        heads = [words(cell) for cell in table.findall("thead/tr/th")]
        for row in table.findall("tbody/tr"):
            for head, cell in zip(heads, row.findall("td"), strict=True):
                seen[words(row.find("th")), head] = words(cell)
    for one in found.candidates:
        if "setting_nominal" in one.figures:
            assert seen["copper loss", one.circuit] == f"{one.figure('copper_loss'):g} W"
            assert seen["nearest class A harmonic", one.circuit] == "order 3: 900 mA, 39 %"
    assert "field lost (motor)" not in {label for label, _ in seen}    # nobody has it: no row


def test_every_reason_stands_with_figure_limit_and_way_out():
    """Under its circuit."""
    section = tree(build_compare(comparison())).find(".//section[@id='circuits']")
    reason, text = section.find(".//div[@class='reason']"), words(section)
    assert words(reason.find("h4")) == "Not reachable"
    assert words(reason.find("p")) == "Full output does not reach the target."
    assert [words(cell) for cell in reason.find("dl")] == [
        "figure", "0.3 N·m", "limit", "0.4 N·m", "way out", "Gear it."]
    assert "If the switch fails short: Full output." in text
    assert "Taken where the file does not say: a generic switch." in text


def test_the_terminal_has_all_of_it_within_its_width():
    """Caution first; every circuit, its reasons, its cells; no line longer than the terminal's."""
    found = comparison()
    text = compare_tables(found)
    assert text.startswith("Mains kills, and a runaway rotor maims.")
    assert max(map(len, text.splitlines())) <= WIDTH + 1
    for one in found.candidates:
        assert f"{one.circuit} ({one.title})" in text
    assert "Copper loss 21 W against 20 W." in text
    assert "not-reachable: " in text or "Full output does not reach the target." in text
    assert sum(line.label.strip() in text for line in LINES) >= 12


def test_json_has_every_figure():
    """Each candidate's quantities with their units, its place, its standing and what it lost to."""
    found = comparison()
    data = compare_json(found)
    assert data["first"] == "circuit-0"
    assert data["format"] == 1
    assert [row["place"] for row in data["candidates"]] == list(range(1, 10))
    for row, one in zip(data["candidates"], found.candidates, strict=True):
        assert set(row["quantities"]) == set(one.figures)
        assert (row["circuit"], row["lost_to_first"], row["fits"]) == (one.circuit, one.lost_to, one.fits)
    assert data["candidates"][0]["quantities"]["copper_loss"] == {"value": 20.0, "unit": "W"}
    assert compare_json(dataclasses.replace(comparison(fits=False)))["first"] is None


@needs_browser
def test_a_browser_shows_and_prints_it(tmp_path):
    """No complaint, nothing asked for, no sideways scrolling of the page at 390 px; prints on A4."""
    file = tmp_path / "compare.html"
    file.write_text(build_compare(comparison()), encoding="utf-8")
    with browser.browser() as tab:
        for width in (390, 1280):
            tab.open(file, width=width)
            assert tab.complaints() == []
            assert tab.requests() == [file.resolve().as_uri()]
            assert tab.value("document.documentElement.scrollWidth") <= width
        printed = tab.pdf()
    assert printed.startswith(b"%PDF")
    assert b"/MediaBox [0 0 594" in printed or b"/MediaBox [0 0 595" in printed
