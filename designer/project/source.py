"""Text of a project file to TOML tables, with the line of each key for messages."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

from designer.errors import InputError, InputErrors

_LARGEST = 2_000_000
_MOST = 10
_HEADER = re.compile(r"\s*(\[\[?)\s*([A-Za-z0-9_.\- \"']+?)\s*\]\]?\s*(?:#.*)?$")
_ASSIGNED = re.compile(r"\s*([A-Za-z0-9_.\-\"']+)\s*=")
_UNQUOTED = re.compile(r"(\s*)([A-Za-z0-9_.\-]+)\s*=\s*([^\s\"'\[{#][^\"'#\[\]{}]*?)\s*(#.*)?$")

Path_ = tuple[str | int, ...]


def read_text(path: Path) -> str:
    """The file's text; ``InputError`` where it cannot be read or is not UTF-8 (a byte order mark is accepted)."""
    name = path.name or str(path)
    try:
        with path.open("rb") as stream:
            data = stream.read(_LARGEST + 1)
    except OSError as error:
        reason = error.strerror or "cannot be read"
        raise InputError(name, reason, "a project file that can be read", "Check the name and the folder.") from None
    if len(data) > _LARGEST:
        raise InputError(name, f"more than {_LARGEST} bytes", "a project file of ordinary size")
    return decode(data, name)


def decode(data: bytes, name: str) -> str:
    """The text of UTF-8 bytes; ``InputError`` with the line and the text to write otherwise."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            raise InputError(name, "UTF-16", "UTF-8 text", "Save the file again as UTF-8.") from None
        line = data.count(b"\n", 0, error.start) + 1
        written = data.split(b"\n")[line - 1].decode("cp1252", "replace").strip()
        found = f"byte 0x{data[error.start]:02x} in line {line}"
        raise InputError(
            name, found, "UTF-8 text",
            f"Save the file as UTF-8, so that line {line} reads: {_plain(written)}",
        ) from None


def _plain(written: str) -> str:
    """The line with the signs that older code pages write differently, as plain letters."""
    for sign, plain in (("°", "deg"), ("µ", "u"), ("·", "*"), ("²", "**2")):
        written = written.replace(f"{sign}C", "degC") if sign == "°" else written
        written = written.replace(sign, plain)
    return written


def parse(text: str, name: str) -> dict[str, Any]:
    """The tables of a TOML text; ``InputErrors`` with every unquoted quantity, or the syntax error."""
    tables, faults = parse_leniently(text, name)
    if faults:
        raise InputErrors(faults)
    return tables


def parse_leniently(text: str, name: str) -> tuple[dict[str, Any], list[InputError]]:
    """The tables, with unquoted values quoted for the while, and the faults that this hides."""
    faults: list[InputError] = []
    while True:
        try:
            return tomllib.loads(text), faults
        except tomllib.TOMLDecodeError as error:
            quoted = _quoted(text, error)
            if quoted is None:
                raise InputErrors([*faults[: _MOST - 1], _syntax(text, error, name)]) from None
            text, fault = quoted
            faults.append(fault)
            if len(faults) >= _MOST:
                return {}, faults
        except RecursionError:
            raise InputError(name, "tables nested too deep", "a project file") from None
        except ValueError:
            raise InputError(name, "a number with too many digits", "numbers of ordinary length") from None


def _line_of_error(text: str, error: tomllib.TOMLDecodeError) -> int:
    match = re.search(r"at line (\d+)", str(error))
    return int(match[1]) if match else text.rstrip("\n").count("\n") + 1


def _quoted(text: str, error: tomllib.TOMLDecodeError) -> tuple[str, InputError] | None:
    """The text with the line's unquoted value quoted, and the fault; None where that is not what is wrong."""
    line = _line_of_error(text, error)
    lines = text.split("\n")
    for number in (line, line - 1):
        match = _UNQUOTED.fullmatch(lines[number - 1].rstrip("\r")) if 0 < number <= len(lines) else None
        if match and not _is_toml(match[3]):
            key = written((*_table_at(lines, number), match[2]))
            lines[number - 1], fault = _rewritten(match[2], match[3], key=key, number=number)
            return "\n".join(lines), fault
    return None


def _rewritten(name: str, value: str, *, key: str, number: int) -> tuple[str, InputError]:
    """The line as it should be written, and the fault that says so."""
    if value.lower() in ("true", "false"):
        write, allowed = f"{name} = {value.lower()}", "true or false in small letters"
    elif re.fullmatch(r"[0-9]+,[0-9]+", value):
        whole, _, decimals = value.partition(",")
        write, allowed = f"{name} = {whole}.{decimals}", "a decimal point: a comma has two readings"
        hint = f"Line {number}: write {write} or {name} = {whole}{decimals}"
        return write, InputError(key, value, allowed, hint)
    else:
        write, allowed = f'{name} = "{value}"', "a text in quotation marks"
    return write, InputError(key, value, allowed, f"Line {number}: write {write}")


def written(path: Path_) -> str:
    """Give the path as messages print it: ``readings[3].speed``, rows from 0."""
    text = ""
    for step in path:
        name = step if isinstance(step, int) or re.fullmatch(r"[\w-]{1,60}", step) else repr(step)[:60]
        text += f"[{name}]" if isinstance(step, int) else f".{name}" if text else str(name)
    return text


def _is_toml(value: str) -> bool:
    try:
        tomllib.loads(f"x = {value}")
    except ValueError:
        return False
    return True


def _syntax(text: str, error: tomllib.TOMLDecodeError, name: str) -> InputError:
    line = _line_of_error(text, error)
    lines = text.split("\n")
    written = lines[line - 1].strip()[:80] if line <= len(lines) else ""
    what = re.sub(r"\s*\(at [^)]*\)", "", str(error))
    return InputError(name, written, "TOML", f"Line {line}: {what}.")


def _table_at(lines: list[str], number: int) -> Path_:
    """Path of the table that line ``number`` (from 1) stands in."""
    headers = list(_headers(lines[:number]))
    return headers[-1][1] if headers else ()


def _headers(lines: list[str]) -> Iterator[tuple[int, Path_]]:
    """Each table header's line (from 1) and path, arrays of tables with their index from 0."""
    counts: dict[str, int] = {}
    for number, line in enumerate(lines, start=1):
        match = _HEADER.fullmatch(line.rstrip("\r"))
        if match is None:
            continue
        parts = [part.strip().strip("\"'") for part in match[2].split(".")]
        name = ".".join(parts)
        if match[1] == "[[":
            counts[name] = counts.get(name, -1) + 1
            yield number, (*parts, counts[name])
        else:
            yield number, tuple(parts)


def line_of(text: str, path: Path_) -> int | None:
    """Line (from 1) on which the key of ``path`` stands, else that of the nearest table above it."""
    lines = text.split("\n")
    starts: list[tuple[int, Path_]] = [(0, ()), *_headers(lines), (len(lines) + 1, ())]
    best: tuple[int, int] | None = None
    for (start, table), (end, _) in pairwise(starts):
        if path[: len(table)] != table:
            continue
        if start and (best is None or len(table) > best[0]):
            best = (len(table), start)
        for number in range(start + 1, end):
            match = _ASSIGNED.match(lines[number - 1])
            keys = tuple(part.strip("\"'") for part in match[1].split(".")) if match else ()
            if keys and path[len(table): len(table) + len(keys)] == keys:
                depth = len(table) + len(keys)
                if best is None or depth > best[0]:
                    best = (depth, number)
    return best[1] if best else None
