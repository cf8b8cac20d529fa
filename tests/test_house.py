"""Rules of the house, read from the source, so that code not yet written obeys them too."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pytest

from tests import house

EVERY_MODULE = pytest.mark.parametrize(
    "path", house.sources(), ids=lambda path: path.relative_to(house.ROOT).as_posix())
EVERY_TEST = pytest.mark.parametrize(
    "path", house.test_files(), ids=lambda path: path.relative_to(house.ROOT).as_posix())

#: name of a function -> why it may take a keyword bag
KEYWORD_BAGS = {
    "__call__": "a formula's inputs are its symbols; an unknown name is refused",
    "worked": "likewise", "worked_text": "likewise",
}


def parsed(path: Path) -> ast.Module:
    """The syntax tree of a file."""
    return ast.parse(path.read_text(encoding="utf-8"))


@EVERY_MODULE
def test_every_module_is_in_a_known_room(path):
    """A new room at the top of the package has its place in the order first."""
    assert house.room(path) == "" or house.room(path) in house.RANK


@EVERY_MODULE
def test_no_room_knows_a_later_one(path):
    """File, motor, operating point, stresses, parts, checks, sheet: nobody looks ahead."""
    assert house.import_faults(parsed(path), house.room(path)) == []


@pytest.mark.parametrize("path", sorted((house.PACKAGE / "studies").glob("*.py")), ids=lambda path: path.name)
def test_the_studies_know_no_circuit_by_name(path):
    """What one circuit alone needs stands in its sides, or in a module that belongs to it and is listed."""
    assert house.circuit_faults(parsed(path), path.name) == []


@EVERY_MODULE
def test_modules_and_functions_are_read_at_one_sitting(path):
    """At most 300 lines a module, 40 code lines a function, 6 arguments."""
    text = path.read_text(encoding="utf-8")
    assert house.size_faults(ast.parse(text), len(text.splitlines())) == []


@EVERY_MODULE
def test_habits(path):
    """Docstrings on all that is public; no bare except, print, star import or keyword bag."""
    allowed = tuple(f"{name}: **" for name in KEYWORD_BAGS) if path.name == "formula.py" else ()
    faults = house.habit_faults(parsed(path), house.room(path))
    assert [fault for fault in faults if not fault.startswith(allowed or ("\0",))] == []


@EVERY_MODULE
def test_records_do_not_change(path):
    """Dataclasses are frozen, and keyword-only where fields could be mixed up."""
    assert house.dataclass_faults(parsed(path)) == []


@EVERY_TEST
def test_tests_state_rule_and_source(path):
    """Each test has a docstring, each file that compares numbers a source, no check accepts any error."""
    text = path.read_text(encoding="utf-8")
    assert house.test_file_faults(ast.parse(text), text) == []


def test_the_top_level_is_as_agreed():
    """Only the agreed files and folders stand beside the package."""
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "designer", "tests", "reports",
              ".ci", ".gitignore"}
    run = subprocess.run(["git", "ls-files"], cwd=house.ROOT, capture_output=True, text=True, check=False)
    if run.returncode:
        pytest.skip("not a git work tree: nothing tells tracked files from others")
    assert {line.partition("/")[0] for line in run.stdout.splitlines()} - agreed == set()


def test_no_file_names_a_registry_or_a_path_of_one_machine():
    """The repository works anywhere: no home folder, no registry host in any text file."""
    wrong = re.compile(r"/home/\w|/work/\w|/tmp/\w|pypi\.org|pythonhosted|registry\.npm|deb\.debian")
    texts = [*house.sources(), *house.test_files(), *house.ROOT.glob("*.md"), *house.ROOT.glob(".ci/*")]
    found = [f"{path.name}: {match.group()}" for path in texts if path != Path(__file__)
             for match in wrong.finditer(path.read_text(encoding="utf-8"))]
    assert found == []


@pytest.mark.parametrize(("here", "snippet", "told"), [
    ("equations", "import pint", "pint belongs in quantities"),
    ("equations", "from jinja2 import Template", "belongs in sheet"),
    ("studies", "def f():\n    import matplotlib.figure", "matplotlib.figure belongs in sheet"),
    ("motor", "from designer.studies.solve import solve", "motor comes before studies"),
    ("parts", "from designer import checks", "parts comes before checks"),
    ("circuits", "import designer.sheet.svg", "circuits comes before sheet"),
])
def test_the_import_rule_can_fail(here, snippet, told):
    """Self-test: a look ahead is found at the top, inside a function and from the package."""
    assert any(told in fault for fault in house.import_faults(ast.parse(snippet), here))


@pytest.mark.parametrize(("name", "snippet", "faults"), [
    ("survey.py", "from designer.circuits.triac_series import CIRCUIT", 1),
    ("survey.py", "def f():\n    from designer.circuits import chopper_armature", 1),
    ("survey.py", "from designer.circuits import circuit\nfrom designer.circuits.case import Points", 0),
    ("survey.py", "from designer.circuits.run_up import run_up\nimport designer.circuits.bus_point", 0),
    ("ripple.py", "from designer.circuits.triac_series import CIRCUIT", 0),
    ("ripple.py", "from designer.circuits.rectifier import CIRCUIT", 1),
])
def test_the_circuit_rule_can_fail(name, snippet, faults):
    """Self-test: a study that names a circuit is told; what all circuits share, and what is listed, passes."""
    assert len(house.circuit_faults(ast.parse(snippet), name)) == faults


def test_the_import_rule_lets_types_and_earlier_rooms_pass():
    """Self-test: a room may know those before it, and name a later one's type for the checker."""
    snippet = "from designer.errors import InputError\nif TYPE_CHECKING:\n    from designer.studies import x"
    assert house.import_faults(ast.parse(snippet), "motor") == []


@pytest.mark.parametrize(("rule", "snippet", "told"), [
    ("habit", '"""M."""\ntry:\n    f()\nexcept:\n    g()', "bare except"),
    ("habit", '"""M."""\ntry:\n    f()\nexcept Exception:\n    g()', "except Exception hides"),
    ("habit", '"""M."""\nprint(1)', "print"),
    ("habit", '"""M."""\nfrom x import *', "star import"),
    ("habit", '"""M."""\ndef f(**kwargs):\n    "Doc."', "f: **kwargs"),
    ("habit", '"""M."""\ndef f():\n    pass', "f: no docstring"),
    ("habit", '"""M."""\nclass A:\n    "Doc."\n    def m(self):\n        pass', "m: no docstring"),
    ("habit", "x = 1", "the module has no docstring"),
    ("size", "x = 1\n" * 301, "301 lines; 300 is the most"),
    ("size", "def f():\n" + "    x = 1\n" * 41, "f: 42 code lines; 40 is the most"),
    ("size", "def f(a, *, b, c, d, e, f, g):\n    x = 1", "f: more than 6 arguments"),
    ("size", "def f(a, b, c, d, e=1):\n    x = 1", "f: 5 arguments by place; 4 is the most"),
    ("record", "@dataclass\nclass A:\n    x: int", "A: not frozen"),
    ("record", "@dataclass(frozen=True)\nclass A:\n    x: int\n    y: int", "A: 2 fields, not keyword-only"),
    ("test", "def test_a():\n    assert x", "test_a: no docstring"),
    ("test", "assert x == approx(1)", "compares numbers and names no source"),
    ("test", "with pytest.raises(Exception):\n    f()", "raises(Exception)"),
])
def test_each_rule_of_the_house_can_fail(rule, snippet, told):
    """Self-test: a snippet that breaks one rule is told as just that."""
    tree = ast.parse(snippet)
    faults = {
        "habit": lambda: house.habit_faults(tree, "parts"),
        "size": lambda: house.size_faults(tree, len(snippet.splitlines())),
        "record": lambda: house.dataclass_faults(tree),
        "test": lambda: house.test_file_faults(tree, snippet),
    }[rule]()
    assert any(told in fault for fault in faults), faults
