"""What README.md and DEVELOPERS.md say is there."""

from __future__ import annotations

import re

import pytest

from designer.cli import VERBS
from tests import house

README = (house.ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (house.ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def commands() -> list[str]:
    """The lines of README's shell blocks."""
    blocks = re.findall(r"^```sh\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
    return [line for block in blocks for line in block.splitlines()]


def test_two_commands_do_everything_on_a_fresh_machine():
    """One command makes a sheet, one passes the tests, and each sets up what it needs; .ci/run runs both."""
    sheet, tests = commands()
    assert "brushbench design" in sheet
    assert "pytest" in tests
    for command in (sheet, tests):
        assert command.startswith("python3 -m venv .venv && .venv/bin/pip install -e ")


def test_every_verb_that_is_shown_exists():
    """README names no verb that is not built, and shows each that is."""
    shown = set(re.findall(r"brushbench ([a-z]+) ", "\n".join(re.findall(r"^\$ .*", README, re.MULTILINE))))
    assert shown == {verb.name for verb in VERBS}


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README.md", "DEVELOPERS.md"])
def test_every_path_that_is_named_exists(text):
    """A moved file takes its mention along."""
    named = set(re.findall(r"`((?:designer|tests|equations|project|parts|sheet|circuits|tables)/[\w./-]+)`", text))
    named |= set(re.findall(r"(designer/examples/[\w.-]+\.toml)", text))
    missing = [p for p in named if not any((base / p).exists() for base in (house.ROOT, house.PACKAGE))]
    assert [path for path in missing if "TOPIC" not in path] == []


def test_every_library_has_its_reason():
    """Each dependency stands in DEVELOPERS.md with what it is for."""
    project = (house.ROOT / "pyproject.toml").read_text(encoding="utf-8")
    required = re.findall(r'^    "([a-z0-9-]+)>=', project, re.MULTILINE)
    table = DEVELOPERS.partition("## Why each library")[2].partition("##")[0]
    assert [name for name in required if not re.search(rf"\b{name}\b", table)] == []
