"""The sample sheets in a browser: quiet, self-contained, as narrow as a phone, and on A4 paper."""

from __future__ import annotations

import re

import pytest

from tests import house
from tests.browser import browser, found

SHEETS = sorted((house.ROOT / "reports").glob("*.html"))
pytestmark = pytest.mark.skipif(found() is None, reason="no chromium on this machine: .ci/run installs one")
every_sheet = pytest.mark.parametrize("sheet", SHEETS, ids=lambda path: path.stem)

PHONE = 390
#: ISO 216 A4, in points of 1/72 inch
A4 = (210 / 25.4 * 72, 297 / 25.4 * 72)
#: elements that reach past the window and are not inside a box that scrolls by itself
OVERFLOWING = """[...document.querySelectorAll('body *')].filter(e => {
    if (e.getBoundingClientRect().right <= document.documentElement.clientWidth + 1) return false;
    for (let p = e; p; p = p.parentElement)
        if (['auto', 'scroll', 'hidden'].includes(getComputedStyle(p).overflowX) && p !== document.body) return false;
    return true;
}).map(e => e.tagName + '.' + (e.getAttribute('class') || '')).slice(0, 5)"""


@pytest.fixture(scope="module")
def page():
    """One browser for all sheets."""
    with browser() as tab:
        yield tab


@every_sheet
def test_the_sheet_is_quiet_and_asks_for_nothing(page, sheet):
    """No error, no warning, no violation of its own policy; the file itself is all that is read."""
    page.open(sheet, width=PHONE)
    assert page.complaints() == []
    assert page.requests() == [sheet.resolve().as_uri()]
    assert "default-src 'none'" in page.value("document.querySelector('meta[http-equiv]').content")


@every_sheet
def test_the_sheet_fits_a_phone(page, sheet):
    """At 390 px nothing makes the page scroll sideways; wide tables scroll in their own box."""
    page.open(sheet, width=PHONE)
    assert page.value(OVERFLOWING) == []
    assert page.value("document.documentElement.scrollWidth") <= PHONE


@every_sheet
def test_the_sheet_prints_on_a4(page, sheet):
    """Every printed page is A4 upright (210 mm by 297 mm, source: ISO 216), to one point."""
    page.open(sheet, width=PHONE)
    boxes = re.findall(rb"/MediaBox ?\[0 0 ([\d.]+) ([\d.]+)\]", page.pdf())
    assert boxes
    for box in boxes:
        assert [float(side) for side in box] == pytest.approx(A4, abs=1.0)


def test_the_browser_tells_a_violation_and_a_wide_page(page, tmp_path):
    """Self-test: a script that the policy forbids, a picture from elsewhere and a wide box are all told."""
    policy = "<meta http-equiv=Content-Security-Policy content=\"default-src 'none'; style-src 'unsafe-inline'\">"
    bad = tmp_path / "bad.html"
    bad.write_text(f"<!doctype html><meta name=viewport content='width=device-width'>{policy}"
                   "<script>1</script><img src='other.png'><div style='width:900px'>wide</div>")
    page.open(bad, width=PHONE)
    told = " ".join(page.complaints())
    assert told.count("Content Security Policy") == 2
    assert page.value(OVERFLOWING) == ["DIV."]
    assert b"/MediaBox" in page.pdf()


def test_there_are_sheets():
    """A repository without sample sheets would pass the tests above by having nothing to look at."""
    assert SHEETS
