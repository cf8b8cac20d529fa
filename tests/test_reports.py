"""The sample sheets in reports/ are what the examples give today."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import html5lib
import pytest

from designer.sheet.reports import COMPARED, EXAMPLES, comparison, examples, report, verb_of
from tests import house

REPORTS = house.ROOT / "reports"
LOOPS = ("drill-press-held-loop", "lathe-held-loop")     # ready examples whose speed a loop holds
NUMBER = re.compile(r"[-−]?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
every_design = pytest.mark.parametrize(
    "example", [path for path in examples() if verb_of(path) == "design"], ids=lambda path: path.stem)
every_example = pytest.mark.parametrize("example", examples(), ids=lambda path: path.stem)


@cache
def made(example: Path) -> dict[str, str]:
    """The files of one example, made once."""
    return report(example)


def pieces(html: str) -> Iterator[str]:
    """Tags, attributes and text in order; of a drawing only its words, since its paths move with libraries."""
    def walk(node, drawing: bool) -> Iterator[str]:
        name = node.tag if isinstance(node.tag, str) else "comment"
        drawing = drawing or name.rpartition("}")[2] == "svg"  # html5lib names its namespace
        if not drawing:
            yield f"<{name} {sorted(node.attrib.items())}>"
        if node.text and node.text.strip():
            yield " ".join(node.text.split())
        for child in node:
            yield from walk(child, drawing)
            if child.tail and child.tail.strip():
                yield " ".join(child.tail.split())

    yield from walk(html5lib.parse(html, namespaceHTMLElements=False), False)


def differences(old: str, new: str) -> list[str]:
    """Places where two texts differ by more than 1e-6 in a number, or at all elsewhere."""
    if NUMBER.sub("#", old) != NUMBER.sub("#", new):
        return [f"{old!r} became {new!r}"]
    pairs = zip(NUMBER.findall(old), NUMBER.findall(new), strict=True)
    values = ((a, b, float(a.replace("−", "-")), float(b.replace("−", "-"))) for a, b in pairs)
    return [f"{a} became {b} in {new!r}" for a, b, x, y in values if not math.isclose(x, y, rel_tol=1e-6)]


def page_differences(old: str, new: str) -> list[str]:
    """The first differences between two pages."""
    before, after = list(pieces(old)), list(pieces(new))
    found = [d for a, b in zip(before, after, strict=False) for d in differences(a, b)]
    if len(before) != len(after):
        found.append(f"{len(before)} pieces became {len(after)}")
    return found[:10]


def table(text: str) -> list[list[str]]:
    """The cells of a CSV file."""
    return list(csv.reader(io.StringIO(text, newline="")))


@every_example
def test_the_sheet_is_up_to_date(example):
    """Text, cells and attributes agree, numbers to 1e-6 (regression, no source): else make the reports again."""
    stored = (REPORTS / f"{example.stem}.html").read_text(encoding="utf-8")
    assert page_differences(stored, made(example)[f"{example.stem}.html"]) == []


@every_design
def test_the_parts_list_is_up_to_date(example):
    """Every cell agrees, numbers to 1e-6 (regression, no source)."""
    name = f"{example.stem}-parts.csv"
    stored, fresh = table((REPORTS / name).read_bytes().decode("utf-8")), table(made(example)[name])
    assert [len(row) for row in stored] == [len(row) for row in fresh]
    pairs = [pair for a, b in zip(stored, fresh, strict=True) for pair in zip(a, b, strict=True)]
    assert [found for a, b in pairs for found in differences(a, b)] == []


@pytest.mark.parametrize("name", LOOPS)
def test_the_program_is_up_to_date(name):
    """The loop's files agree, whole numbers to one count, which another library's rounding may move (regression)."""
    example = EXAMPLES / f"{name.removesuffix('-loop')}.toml"
    for end in (".h", ".c"):
        stored, fresh = (REPORTS / f"{name}{end}").read_text(encoding="utf-8"), made(example)[f"{name}{end}"]
        assert NUMBER.sub("#", stored) == NUMBER.sub("#", fresh)
        pairs = zip(NUMBER.findall(stored), NUMBER.findall(fresh), strict=True)
        assert [(a, b) for a, b in pairs if abs(float(a.replace("−", "-")) - float(b.replace("−", "-"))) > 1] == []


@pytest.mark.parametrize("name", COMPARED)
def test_the_comparison_is_up_to_date(name):
    """As the sheets (regression, no source)."""
    stored = (REPORTS / f"compare-{name}.html").read_text(encoding="utf-8")
    (fresh,) = comparison(EXAMPLES / f"{name}.toml").values()
    assert page_differences(stored, fresh) == []


def test_no_report_lacks_its_example():
    """What stands in reports/ comes from examples/, and nothing else stands there."""
    ends = {"design": (".html", "-parts.csv"), "pinout": (".html",)}
    wanted = {f"{example.stem}{end}" for example in examples() for end in ends[verb_of(example)]}
    wanted |= {f"compare-{name}.html" for name in COMPARED}
    wanted |= {f"{name}{end}" for name in LOOPS for end in (".h", ".c")}
    assert {path.name for path in REPORTS.iterdir() if not path.name.startswith(".")} == wanted


def test_the_comparison_can_fail():
    """Self-test: a changed number, word, attribute and row are told; a redrawn curve is not."""
    page = "<p class='a'>4.7 kΩ</p><svg><path d='M 0 1'/><text>speed</text></svg>"
    assert page_differences(page, page) == []
    assert page_differences(page, page.replace("M 0 1", "M 0 2")) == []
    assert page_differences(page, page.replace("4.7", "4.7000001")) == []
    for old, new in (("4.7", "4.8"), ("'a'", "'b'"), ("speed", "torque"), ("</p>", "</p><p>more</p>")):
        assert page_differences(page, page.replace(old, new)) != []
