"""Files whole or not at all, and JSON that is strict."""

import math
import os

import pytest

from designer.errors import InputError
from designer.output import Destination, json_text, write_all


def test_files_are_written_with_ordinary_rights(tmp_path):
    """UTF-8, line feeds, nothing left beside them."""
    path = tmp_path / "a.txt"
    write_all([Destination(path=path, text="Ω\n")])
    assert path.read_bytes() == "Ω\n".encode()
    assert os.listdir(tmp_path) == ["a.txt"]
    mask = os.umask(0)
    os.umask(mask)
    assert path.stat().st_mode & 0o777 == 0o666 & ~mask


def test_all_or_none(tmp_path):
    """When the second cannot be written, the first is not there either."""
    first, second = tmp_path / "a.txt", tmp_path / "missing" / "b.txt"
    with pytest.raises(InputError, match="No such file or directory"):
        write_all([Destination(path=first, text="a"), Destination(path=second, text="b")])
    assert os.listdir(tmp_path) == []


def test_an_older_file_stays_when_writing_fails(tmp_path):
    """What was there is not harmed."""
    first = tmp_path / "a.txt"
    first.write_text("old", encoding="utf-8")
    with pytest.raises(InputError, match="is a folder"):
        write_all([Destination(path=first, text="new"), Destination(path=tmp_path, text="b")])
    assert first.read_text(encoding="utf-8") == "old"


def test_places_do_not_clash(tmp_path):
    """Neither with the file that was read nor with each other."""
    path = tmp_path / "a.toml"
    with pytest.raises(InputError, match="the file that was read"):
        write_all([Destination(path=path, text="")], sources=[path])
    with pytest.raises(InputError, match="another output of the same run"):
        write_all([Destination(path=path, text=""), Destination(path=tmp_path / "." / "a.toml", text="")])


def test_outputs_that_no_longer_hold_are_taken_away(tmp_path):
    """Nobody builds from an old parts list."""
    stale = tmp_path / "old.csv"
    stale.write_text("x", encoding="utf-8")
    write_all([], stale=[stale, tmp_path / "never.csv"])
    assert os.listdir(tmp_path) == []


def test_json_is_strict_and_sorted():
    """Keys sorted, floats in full, nothing that is not finite."""
    assert json_text({"b": 0.1, "a": [1, "Ω"]}) == '{\n "a": [\n  1,\n  "Ω"\n ],\n "b": 0.1\n}\n'
    with pytest.raises(ValueError, match="Out of range float values"):
        json_text({"a": math.inf})
