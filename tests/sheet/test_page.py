"""The page as a page: valid, closed to the outside, readable by all, and the same each time."""

from __future__ import annotations

import dataclasses
import os
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest

from designer.results import Wire
from designer.sheet import build_sheet
from tests import house

POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
)
LOADING = {"src", "href", "action", "formaction", "srcset", "poster", "data", "background", "cite", "ping"}
NASTY = "<script>alert(\"1\")</script> & 'quoted' {{ 7 }} </style>"


def tree(page: str) -> Element:
    """The page parsed strictly: any parse error raises."""
    return html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(page)


def local(name: object) -> str:
    """A tag or attribute name without its namespace."""
    return re.sub(r"^\{.*\}", "", str(name)).split(":")[-1]


def words(element: Element) -> str:
    """All text inside an element, no-break spaces as spaces."""
    return "".join(element.itertext()).replace("\u00a0", " ")


@pytest.fixture(scope="session", params=["ready_page", "not_ready_page", "chopper_page", "battery_page", "supply_page"])
def page(request):
    """The sheet of each kind of design, ready and not."""
    return request.getfixturevalue(request.param)


def test_page_parses_without_an_error(page):
    """A strict parser of the HTML standard finds nothing wrong."""
    assert tree(page).tag == "html"


def test_nothing_is_loaded_and_nothing_runs(page):
    """No element loads from anywhere, no script, no event attribute; links stay inside the page."""
    for element in tree(page).iter():
        assert local(element.tag) not in {"script", "link", "iframe", "object", "embed", "base", "form"}
        for name, value in element.attrib.items():
            assert not local(name).startswith("on"), name
            if local(name) in LOADING:
                assert value.startswith("#"), f"{element.tag} {name}={value}"
            assert not re.search(r"url\((?!#)", value), value
    style = page[page.index("<style>"): page.index("</style>")]
    assert "url(" not in style
    assert "@import" not in style


def test_policy_stands_in_the_head_before_the_style(page):
    """The content security policy is the one that the safety rules ask for."""
    head = tree(page).find("head")
    metas = [m for m in head.iter("meta") if m.get("http-equiv") == "Content-Security-Policy"]
    assert [m.get("content") for m in metas] == [POLICY]
    assert page.index("Content-Security-Policy") < page.index("<style>")


def test_language_and_headings_are_in_order(page):
    """One h1, no level skipped, a language."""
    root = tree(page)
    assert root.get("lang") == "en"
    levels = [int(e.tag[1]) for e in root.iter() if re.fullmatch(r"h[1-6]", str(e.tag))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_ids_are_unique_and_every_reference_has_its_target(page):
    """Two inlined drawings share no id; labels, links, clips and markers point at something."""
    root = tree(page)
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    for element in root.iter():
        for name, value in element.attrib.items():
            wanted = re.findall(r"url\(#([^)]*)\)", value)
            if local(name) == "href":
                wanted.append(value[1:])
            if name in ("aria-labelledby", "aria-describedby"):
                wanted += value.split()
            assert set(wanted) <= set(ids), f"{element.tag} {name}={value}"


def test_every_table_has_a_caption_and_scoped_heads_and_scrolls_by_itself(page):
    """Wide tables scroll in their own box, which the keyboard reaches."""
    root = tree(page)
    parents = {child: parent for parent in root.iter() for child in parent}
    for table in root.iter("table"):
        assert words(table.find("caption")).strip()
        assert all(head.get("scope") in ("col", "row") for head in table.iter("th"))
        box = parents[table]
        assert "scroll" in box.get("class", "")
        assert box.get("tabindex") == "0"


def test_every_drawing_says_in_words_what_it_shows(page):
    """An SVG is an image with title and description; the plots have their key points as a table."""
    root = tree(page)
    drawings = [e for e in root.iter() if local(e.tag) == "svg"]
    assert drawings
    for drawing in drawings:
        assert drawing.get("role") == "img"
        named = {e.get("id"): words(e) for e in drawing if local(e.tag) in ("title", "desc")}
        assert set(drawing.get("aria-labelledby").split()) == set(named)
        assert all(len(text) > 15 for text in named.values())
    captions = [words(caption) for caption in root.iter("caption")]
    assert "Key points of the waveforms" in captions
    assert ("Points of the upper plot" in captions) == ('id="characteristic"' in page)


def test_contents_lead_to_every_section(page):
    """The table of contents is a list of links, one a section, in order."""
    root = tree(page)
    links = [a.get("href") for a in root.find(".//nav").iter("a")]
    assert links == [f"#{s.get('id')}" for s in root.iter("section")]


def test_what_the_user_wrote_stays_text(ready):
    """Title, date and any other text of the user's reach the page escaped, in every place."""
    project = type(ready.project)(**(vars(ready.project) | {"title": NASTY, "date": NASTY}))
    design = dataclasses.replace(
        ready, project=project, texts={"summary": NASTY, "computed_from": NASTY},
        wiring=(Wire(start=NASTY, end=NASTY, conductor=NASTY, note=NASTY),),
        parts=(dataclasses.replace(ready.parts[0], description=NASTY, if_wrong=NASTY), *ready.parts[1:]),
    )
    page = build_sheet(design)
    root = tree(page)
    assert not list(root.iter("script"))
    assert page.count("</style>") == 1
    assert "<script" not in page
    assert words(root.find(".//h1")) == NASTY
    assert words(root.find("head/title")) == f"Build sheet: {NASTY}"


def test_date_is_a_blank_unless_the_project_gives_one(ready, ready_page):
    """No clock is read: a date is printed only when the file has it."""
    assert "date: ______" in ready_page
    project = type(ready.project)(**(vars(ready.project) | {"date": "2026-05-01"}))
    page = build_sheet(dataclasses.replace(ready, project=project))
    assert "date: ______" not in page
    assert "2026-05-01" in page


def test_two_processes_with_other_hash_seeds_write_the_same_bytes(ready_page):
    """The same design gives the same page, whatever the hash seed, locale and folder."""
    code = (
        "import sys; sys.path[:0] = sys.argv[1:]; import conftest; from designer.sheet import build_sheet;"
        " sys.stdout.buffer.write(build_sheet(conftest.drill_press()).encode())"
    )
    pages = []
    for seed, folder in (("1", "/"), ("2", str(Path(__file__).parent))):
        environment = os.environ | {"PYTHONHASHSEED": seed, "LC_ALL": "C", "TZ": f"UTC-{seed}"}
        done = subprocess.run(
            [sys.executable, "-c", code, str(Path(__file__).parent), str(house.ROOT)], cwd=folder, env=environment,
            capture_output=True, check=True,
        )
        pages.append(done.stdout)
    assert pages[0] == pages[1]
    assert pages[0].decode() == ready_page


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb (WCAG 2.1, definition of relative luminance)."""
    channels = [int(colour[n: n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("text", ["ink", "soft", "blue", "rust"])
@pytest.mark.parametrize("ground", ["paper", "tint", "warm"])
def test_text_stands_out_from_its_ground(ready_page, text, ground):
    """Contrast of 4.5 to 1 or more (WCAG 2.1, criterion 1.4.3)."""
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", ready_page))
    bright, dark = luminance(colours[ground]), luminance(colours[text])
    assert (bright + 0.05) / (dark + 0.05) >= 4.5


def test_print_repeats_the_hazard_line_and_table_heads(page):
    """On paper the hazard line and the heads of tables come again on each page, in A4."""
    printed = page[page.index("@media print"): page.index("</style>")]
    assert ".running { display: table-header-group; break-inside: avoid" in printed
    assert "thead { display: table-header-group; }" in printed
    assert "@page { size: A4;" in page
    root = tree(page)
    assert "DANGER" in words(root.find(".//div[@class='running']"))
