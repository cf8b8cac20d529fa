"""Files written whole or not at all, and JSON that is strict and always the same."""

from __future__ import annotations

import json
import os
import tempfile
import time
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TextIO

from designer.errors import InputError


@dataclass(frozen=True, kw_only=True)
class Destination:
    """A file to write and its text."""

    path: Path
    text: str


def json_text(data: Any) -> str:
    """Give strict JSON, keys sorted, floats in full; ``ValueError`` on what is not finite."""
    return json.dumps(data, ensure_ascii=False, allow_nan=False, sort_keys=True, indent=1) + "\n"


def write_all(files: Sequence[Destination], *, sources: Iterable[Path] = (), stale: Iterable[Path] = ()) -> None:
    """Write every file or none: each under a passing name beside its place, then all moved there.

    ``sources`` are files that were read and must not be written over; ``stale`` are earlier outputs
    that no longer hold and are taken away. Raises ``InputError`` naming the file that cannot be written.
    """
    _refuse_clashes(files, sources)
    ready: list[tuple[str, Destination]] = []
    now = Path()
    try:
        for file in files:
            now = file.path
            ready.append((_passing(file), file))
        for passing, file in ready:
            now = file.path
            os.replace(passing, file.path)
        for now in stale:
            now.unlink(missing_ok=True)
    except OSError as error:
        reason = error.strerror or "cannot be written"
        raise InputError(str(now), reason, "a file that can be written", "Nothing was kept half-written.") from None
    finally:
        for passing, _ in ready:
            with suppress(FileNotFoundError):
                os.unlink(passing)


def _passing(file: Destination) -> str:
    """Write the text under a passing name in the same folder and give that name."""
    if file.path.is_dir():
        raise IsADirectoryError(0, "is a folder")
    handle, name = tempfile.mkstemp(prefix=f".{file.path.name}.", dir=file.path.parent)
    whole = False
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(file.text)
            stream.flush()
            os.fsync(stream.fileno())
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(name, 0o666 & ~mask)
        whole = True
    finally:
        if not whole:
            os.unlink(name)
    return name


def _refuse_clashes(files: Sequence[Destination], sources: Iterable[Path]) -> None:
    """Refuse two outputs on one place, and an output on the file that was read."""
    taken = {path.resolve(): "the file that was read" for path in sources}
    for file in files:
        place = file.path.resolve()
        if place in taken:
            raise InputError(str(file.path), taken[place], "a place of its own for each output")
        taken[place] = "another output of the same run"


class Progress:
    """Tells on a stream how many states have been solved, once that takes longer than people wait in silence."""

    SILENT, BETWEEN = 2.0, 2.0     # s before the first line, and between lines

    def __init__(self, stream: TextIO) -> None:
        """Nothing told yet."""
        self._stream, self._done, self._start, self._last = stream, 0, 0.0, 0.0

    def told(self, states: int) -> None:
        """Count ``states`` more."""
        now = time.monotonic()
        self._start = self._start or now
        self._done += states
        if now - self._start >= self.SILENT and now - self._last >= self.BETWEEN:
            self._last = now
            self._stream.write(f"tolerance: {self._done} states solved in {now - self._start:.0f} s\n")
            self._stream.flush()
