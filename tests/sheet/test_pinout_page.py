"""The page of a pinout: closed to the outside, cautions first, drawn, and nothing to wire unless it is settled."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest

from designer.project import loads
from designer.sheet.connector import connector, spoken
from designer.sheet.pinout_page import build_pinout
from designer.sheet.pinout_words import sure, with_error
from designer.studies.pinout import pinout
from tests import house

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
NASTY = "<script>alert(1)</script>&"
EXAMPLE = (house.PACKAGE / "examples" / "washer-pins.toml").read_text(encoding="utf-8")
DOUBT = EXAMPLE.replace('turning = ["2.9 ohm", "9.6 ohm", "2.4 ohm", "2.6 ohm"] ', 'resistance = "2.9 ohm"').replace(
    'repeated = ["2.8 ohm", "8.1 ohm"]', "")
FRAME = EXAMPLE.replace('["10", "frame"]', '["3", "frame"]')
TEXTS = {"settled": EXAMPLE, "doubt": DOUBT, "frame": FRAME}


def made(text: str) -> str:
    """The page of a project file."""
    return build_pinout(pinout(loads(text, verb="pinout")))


def tree(page: str) -> Element:
    """The page parsed strictly: any parse error raises."""
    return html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(page)


def words(element: Element | None) -> str:
    """All text inside an element, white space as one space."""
    assert element is not None
    return " ".join("".join(element.itertext()).replace("\u00a0", " ").split())


@pytest.fixture(scope="module", params=TEXTS)
def page(request):
    """A settled connector, one in doubt, one with a winding on the frame."""
    return made(TEXTS[request.param])


def test_the_page_is_closed_and_still(page):
    """A strict parser finds nothing wrong, the policy is the sheet's, nothing is loaded and no script runs."""
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


def test_cautions_stand_before_any_value(page):
    """First section; dead motor, earth, lost field; the deferral above it."""
    root = tree(page)
    first = root.find(".//main/section")
    assert first.attrib["id"] == "cautions"
    text = words(first)
    assert text.index("Read only a dead motor") < text.index("A lost field is a runaway")
    assert "It is not an approval" in words(root.find(".//div[@class='deferral']"))
    assert page.index('id="cautions"') < page.index('id="labels"')


@pytest.mark.parametrize("name", TEXTS)
def test_only_a_settled_connector_is_wired(name):
    """Wiring tables, or the reason and the next reading."""
    root = tree(made(TEXTS[name]))
    sections = [section.attrib["id"] for section in root.findall(".//main/section")]
    assert ("wiring" in sections) == (name == "settled")
    assert {"connector", "next", "against", "readings", "sources"} <= set(sections)
    stamp = words(next(p for p in root.iter("p") if "stamp" in p.attrib.get("class", "")))
    assert stamp == {"settled": "LABELLED", "doubt": "REFUSED", "frame": "REFUSED"}[name]


def test_the_settled_page_has_all_that_the_bench_needs():
    """Labels with confidence and its meaning, reversal, which part of the field, worked leads, sources with marks."""
    text = words(tree(made(EXAMPLE)))
    for told in ("field tap", "sure enough to wire", "A confidence is a probability", "swap exactly one winding",
                 "Series, reversed", "Separate excitation, forward", "Which part of the field",
                 "three pins on one winding",
                 "common practice, no source", "public reports of appliance motors"):
        assert told in text, told


def test_user_text_is_escaped():
    """Title and pin names stay text, in tables and in the drawing."""
    text = EXAMPLE.replace("Motor with a ten-way plug", NASTY).replace('"8"', f'"{NASTY}"')
    root = tree(made(text))
    assert words(root.find(".//h1")) == NASTY
    assert "<script" not in made(text)
    assert any(NASTY in words(cell) for cell in root.iter("th"))


def test_date_is_a_blank_unless_the_file_gives_one():
    """No clock is read."""
    assert "date: ______" in made(EXAMPLE)
    assert "2026-05-01" in made('date = "2026-05-01"\n' + EXAMPLE)


def test_the_drawing_shows_every_pin_and_every_label():
    """Contacts with their names, one label a winding, and the same in words."""
    found = pinout(loads(EXAMPLE, verb="pinout")).pinout
    svg = connector(found)
    assert re.findall(r'font-weight="bold">([^<]+)<', svg) == list(found.pins)
    for role in ("armature 6–7", "field 3–5", "tacho 1–2", "thermal switch 8–9", "earth 10"):
        assert role in svg
    assert "stroke-dasharray" not in svg
    assert "field tap on 4" in spoken(found)


def test_doubtful_labels_are_dashed():
    """What is not sure enough to be wired is seen at once."""
    assert "stroke-dasharray" in connector(pinout(loads(DOUBT, verb="pinout")).pinout)


@pytest.mark.parametrize(("value", "error", "told"), [
    (2.6, 0.17, "2.60 ± 0.17 Ω"), (0.2, 0.05, "0.20 ± 0.05 Ω"), (171.8, 2.4, "172 ± 2 Ω"),
    (220e3, 2200.0, "220 ± 2 kΩ"),
])
def test_resistances_with_their_error(value, error, told):
    """One unit, to the digit that the error leaves (derived: rounding)."""
    assert with_error(value, error).replace("\u00a0", " ") == told


def test_confidence_is_rounded_down():
    """The safe side: 0.8999 is not 90 %."""
    assert sure(0.8999).replace("\u00a0", " ") == "89 %, likely"
    assert sure(0.95).startswith("95")


def test_two_processes_with_other_hash_seeds_write_the_same_bytes():
    """The same file gives the same page, whatever the hash seed, locale and folder."""
    example = house.PACKAGE / "examples" / "washer-pins.toml"
    code = ("import sys; sys.path.insert(0, sys.argv[1]); from designer.project import load; "
            "from designer.sheet.pinout_page import build_pinout; from designer.studies.pinout import pinout; "
            "sys.stdout.buffer.write(build_pinout(pinout(load(sys.argv[2], 'pinout'))).encode())")
    pages = []
    for seed, folder in (("1", "/"), ("2", str(Path(__file__).parent))):
        environment = os.environ | {"PYTHONHASHSEED": seed, "LC_ALL": "C", "TZ": f"UTC-{seed}"}
        done = subprocess.run([sys.executable, "-c", code, str(house.ROOT), str(example)], cwd=folder, env=environment,
                              capture_output=True, check=True)
        pages.append(done.stdout)
    assert pages[0] == pages[1]
