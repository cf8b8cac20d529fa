"""The JSON Schema of the project file, for editors."""

from __future__ import annotations

from typing import Any

from designer.project.model import Project
from designer.quantities import shown


def schema() -> dict[str, Any]:
    """Give the JSON Schema (draft 2020-12): each key with meaning, unit, range and an example."""
    made: dict[str, Any] = _plain(Project.model_json_schema())
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "brushbench project file",
        **{key: value for key, value in made.items() if key != "title"},
    }


def _plain(node: Any) -> Any:
    """Without what TOML does not know: null, and the titles made from key names."""
    if isinstance(node, list):
        return [_plain(entry) for entry in node]
    if not isinstance(node, dict):
        return node
    node = dict(node)
    choices = [choice for choice in node.get("anyOf", []) if choice != {"type": "null"}]
    if choices and len(choices) < len(node["anyOf"]):
        del node["anyOf"]
        node = {**choices[0], **node} if len(choices) == 1 else {**node, "anyOf": choices}
    if node.get("default", ...) is None or isinstance(node.get("default"), dict):
        del node["default"]
    if "x-unit" in node:
        if isinstance(node.get("default"), (int, float)):
            node["default"] = shown(node["default"], node["x-unit"])
        spellings = ", ".join(node["x-units"])
        said = node.get("description", "").rstrip(".")
        node["description"] = f"{said}. Unit: {spellings}. Range: {node['x-range']}.".lstrip(". ")
    return {
        key: {name: _plain(entry) for name, entry in value.items()} if key in ("properties", "$defs") else _plain(value)
        for key, value in node.items()
        if not (key == "title" and isinstance(value, str))
    }
