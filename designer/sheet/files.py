"""The files of a build: sheet, parts list, and the program's constants and arithmetic where a loop holds the speed."""

from __future__ import annotations

from pathlib import Path

from designer.results import Design
from designer.sheet.build import build_sheet
from designer.sheet.parts_list import parts_csv

Files = tuple[tuple[Path, str], ...]


def files_of(made: Design, sheet: Path) -> tuple[Files, tuple[Path, ...]]:
    """Give what to write beside ``sheet``, and what of an earlier, ready run must go: one would build from it.

    A design that is not ready gets its sheet alone.
    """
    parts, constants, arithmetic = (
        sheet.with_name(f"{sheet.stem}{end}") for end in ("-parts.csv", "-loop.h", "-loop.c"))
    files = [(sheet, build_sheet(made))]
    program = None if made.holding is None else made.holding.firmware
    if made.ready:
        files.append((parts, parts_csv(made)))
        if program is not None:
            from designer.sheet.firmware import header, source

            title = made.project.title or made.circuit_title
            files.append((constants, header(program, title=title)))
            files.append((arithmetic, source(program, header_name=constants.name)))
    wrote, made_here = {path for path, _ in files}, (parts, *(() if made.holding is None else (constants, arithmetic)))
    return tuple(files), tuple(path for path in made_here if path not in wrote)
