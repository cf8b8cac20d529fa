"""From a fault that pydantic found to the one that a user reads."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from designer.errors import InputError
from designer.project import source
from designer.project.model import Project

Loc = tuple[str | int, ...]


def path_of(loc: Loc, data: Any) -> Loc:
    """Give the location without the tags that pydantic puts in for the kinds of a union."""
    path: list[str | int] = []
    for position, step in enumerate(loc):
        inside = (isinstance(data, Mapping) and step in data) or (
            isinstance(data, list) and isinstance(step, int) and step < len(data)
        )
        is_tag = isinstance(data, Mapping) and not inside and step == data.get("kind") and position < len(loc) - 1
        if is_tag:
            continue
        path.append(step)
        data = data[step] if inside else None
    return tuple(path)


def _at(data: Any, path: Loc) -> Any:
    for step in path:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def told(detail: ErrorDetails, data: dict[str, Any], text: str) -> InputError:
    """Give one pydantic error as an ``InputError``; ``text`` is the file, for the line of a bare number."""
    path = path_of(detail["loc"], data)
    context = detail.get("ctx", {})
    kind, found = detail["type"], _at(data, path)
    key = source.written(path)
    if kind == "fault":
        hint = str(context["hint"])
        return InputError(key, context["found"], str(context["allowed"]), _with_line(hint, path, found, text))
    if kind == "extra_forbidden":
        return _unknown(path, text, data)
    if kind == "missing":
        return InputError(key, None, "a value: the table needs it", f"Add {path[-1]} to [{source.written(path[:-1])}].")
    if kind in ("literal_error", "union_tag_invalid", "union_tag_not_found"):
        return _not_listed(path, detail, found)
    hint = f'Write {path[-1]} = "{found}".' if isinstance(found, datetime.date) else ""
    return InputError(key, str(found) if hint else found, _wanted(kind, context), hint)


def _with_line(hint: str, path: Loc, found: object, text: str) -> str:
    """The hint of a bare number names the line on which it stands and the text to write there."""
    if not isinstance(found, (int, float)) or isinstance(found, bool):
        return hint
    line = source.line_of(text, path)
    if isinstance(path[-1], str):
        hint = hint.replace('Write a quoted number with its unit: "', f'Write {path[-1]} = "')
    return f"Line {line}: {hint[:1].lower()}{hint[1:]}" if line else hint


def _wanted(kind: str, context: Mapping[str, Any]) -> str:
    """What a key takes, for the plain errors of pydantic."""
    words = {
        "bool_type": "true or false",
        "string_type": "a text in quotation marks",
        "string_pattern_mismatch": "a text of the wanted form without control characters; a date as \"2026-05-01\"",
        "string_too_long": f"at most {context.get('max_length')} characters",
        "string_too_short": f"at least {context.get('min_length')} characters: say the reason in words",
        "tuple_type": "a list in square brackets",
        "model_type": "a table",
        "model_attributes_type": "a table",
        "too_long": f"at most {context.get('max_length')} entries",
        "too_short": f"at least {context.get('min_length')} entries",
    }
    return words.get(kind, "another kind of value")


def _not_listed(path: Loc, detail: ErrorDetails, found: object) -> InputError:
    """A word that is not in the closed list of its key."""
    context = detail.get("ctx", {})
    if detail["type"] != "literal_error":
        path, found = (*path, "kind"), found.get("kind") if isinstance(found, dict) else None
    listed = str(context.get("expected_tags") or context.get("expected") or "one of the kinds of readings")
    words = [part.strip().strip("'") for part in listed.replace(" or ", ", ").split(",")]
    near = difflib.get_close_matches(str(found), words, n=1)
    return InputError(source.written(path), found, ", ".join(words), f'Did you mean "{near[0]}"?' if near else "")


def _unknown(path: Loc, text: str, data: dict[str, Any]) -> InputError:
    """A key that its table does not have, with the nearest that it has."""
    name, keys = str(path[-1]), _keys_of(path[:-1], data)
    near = difflib.get_close_matches(name, keys, n=1)
    line = source.line_of(text, path)
    where = f"[{source.written(path[:-1])}]" if len(path) > 1 else "the file"
    hint = f"Did you mean {near[0]}?" if near else ""
    if not near:
        homes = [table for table, has in _tables().items() if name in has]
        hint = f"The key {name} belongs in [{homes[0]}]." if homes else ""
    at = f"Line {line}: " if line else ""
    allowed = f"a key of {where}" if hint else f"a key of {where}: {', '.join(keys)}"
    error = InputError(source.written(path), name, allowed, at + hint)
    error.near = source.written((*path[:-1], near[0])) if near else ""
    return error


def _model_of(annotation: Any, row: Any) -> type[BaseModel] | None:
    """The table's model within an annotation; of several kinds the one whose ``kind`` the row names."""
    found: list[type[BaseModel]] = []
    pending = [annotation]
    while pending:
        now = pending.pop(0)
        if isinstance(now, type) and issubclass(now, BaseModel):
            found.append(now)
        pending += list(getattr(now, "__args__", ()))
    if len(found) > 1 and isinstance(row, dict):
        for model in found:
            if row.get("kind") in getattr(model.model_fields["kind"].annotation, "__args__", ()):
                return model
    return found[0] if found else None


def _keys_of(path: Loc, data: dict[str, Any]) -> list[str]:
    """The keys that the table at ``path`` takes."""
    model: type[BaseModel] | None = Project
    for depth, step in enumerate(path):
        if isinstance(step, int) or model is None:
            continue
        field = model.model_fields.get(step)
        is_row = depth + 1 < len(path) and isinstance(path[depth + 1], int)
        row = _at(data, path[: depth + 2] if is_row else path[: depth + 1])
        model = _model_of(field.annotation, row) if field else None
    return list(model.model_fields) if model else []


def _tables() -> dict[str, set[str]]:
    """The keys of each table of the first level."""
    models = {name: _model_of(field.annotation, None) for name, field in Project.model_fields.items()}
    return {name: set(model.model_fields) for name, model in models.items() if model}
