"""From file to ``Project``: every fault of the file told together, one a key."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from designer.errors import InputError, InputErrors
from designer.project import source
from designer.project.consistency import contradictions
from designer.project.faults import Loc, path_of, told
from designer.project.model import Project
from designer.project.requirements import lacking
from designer.project.source import written
from designer.project.tabular import add_rows

MOST_FAULTS = 10
_MAY_BE_EMPTY = {"title", "note", "position"}


def load(path: str | Path, verb: str = "") -> Project:
    """Read a project file; with ``verb``, also hold it against what that verb needs.

    Raises ``InputErrors`` with all faults together, at most ten, one a key.
    """
    file = Path(path)
    return loads(source.read_text(file), name=file.name, verb=verb, folder=file.parent)


def loads(text: str, *, name: str = "project file", verb: str = "", folder: Path | None = None) -> Project:
    """Read the text of a project file, as ``load`` does; files that it names are looked up in ``folder``."""
    data, faults = source.parse_leniently(text, name)
    blanks = list(_blanks(data, ()))
    origins, unread = add_rows(data, folder)
    faults += unread
    project, more = _validated(data, text)
    blamed = {written(path) for path in blanks} | {fault.key for fault in faults}
    faults += [fault for fault in more if fault.key not in blamed]
    if project is not None:
        blamed |= {key for fault in faults for key in (fault.key, fault.near) if key}
        faults += [fault for fault in contradictions(project) if not _covered(fault.key, blamed)]
        needed = lacking(project, verb) if verb else ()
        needs = [fault for fault in needed if not _covered(fault.key, blamed)]
        if blanks:
            faults.insert(0, _unfilled(blanks, needs, text, name))
        faults += needs if not blanks else [fault for fault in needs if not _absent(fault)]
    if faults:
        raise InputErrors(_placed(_one_a_key(faults)[:MOST_FAULTS], origins))
    assert project is not None
    return project


def _blanks(data: Any, path: Loc) -> Iterator[Loc]:
    """Take out what a file straight from `new` leaves to fill, and give the paths."""
    if not isinstance(data, dict):
        return
    for key, value in list(data.items()):
        if isinstance(value, list):
            for row, entry in enumerate(value):
                yield from _blanks(entry, (*path, key, row))
        elif isinstance(value, dict):
            yield from _blanks(value, (*path, key))
        if (value == "" and key not in _MAY_BE_EMPTY) or (value == [] and key == "flux_curve"):
            del data[key]
            yield (*path, key)


def _absent(fault: InputError) -> bool:
    """True where a key that is needed does not stand in the file at all."""
    return fault.found in (None, "neither")


def _unfilled(blanks: list[Loc], needs: list[InputError], text: str, name: str) -> InputError:
    """One fault that lists every blank, and what the verb needs besides."""
    listed = []
    for path in blanks:
        line = source.line_of(text, path)
        listed.append(f"{written(path)} (line {line})" if line else written(path))
    key = written(blanks[0]) if len(blanks) == 1 else name
    found = "a blank" if len(blanks) == 1 else f"{len(blanks)} blanks"
    absent = [fault.key for fault in needs if _absent(fault)]
    added = f" and add {', '.join(absent)}" if absent else ""
    return InputError(key, found, "a value in each", f"Fill in {', '.join(listed)}{added}.")


def _covered(key: str, blamed: Iterable[str]) -> bool:
    """True where the key, or a table that holds it, or a key within it, was already told."""
    return any(
        key == other or key.startswith((f"{other}.", f"{other}[")) or other.startswith((f"{key}.", f"{key}["))
        for other in blamed
    )


def _placed(faults: list[InputError], origins: dict[int, str]) -> list[InputError]:
    """The faults, those of a CSV file's row with the place of that row."""
    for fault in faults:
        match = re.match(r"readings\[(\d+)\]", fault.key)
        if match and int(match[1]) in origins:
            fault.hint = f"{origins[int(match[1])]}. {fault.hint}".rstrip()
    return faults


def _one_a_key(faults: Iterable[InputError]) -> list[InputError]:
    seen: dict[str, InputError] = {}
    for fault in faults:
        seen.setdefault(fault.key, fault)
    return list(seen.values())


def _validated(data: dict[str, Any], text: str) -> tuple[Project | None, list[InputError]]:
    """The project, of the sound keys alone where some are faulty, and the faults."""
    faults: list[InputError] = []
    for _ in range(20):
        try:
            return Project.model_validate(data, context={"file": True}), faults
        except ValidationError as error:
            details = error.errors(include_url=False)
            faults += [told(detail, data, text) for detail in details]
            for path in [path_of(detail["loc"], data) for detail in details]:
                _prune(data, path)
    return None, faults


def _prune(data: Any, path: Loc) -> None:
    """Take the faulty key out, a table that lacks a key as a whole, so that the rest can be read."""
    for depth, step in enumerate(path):
        if not isinstance(data, dict) or step not in data:
            return
        below = data[step]
        if depth == len(path) - 1 or not isinstance(below, dict) or path[depth + 1] not in below:
            del data[step]
            return
        data = below
