"""The template engine of the pages that need no filters of their own."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined


@cache
def environment() -> Environment:
    """The template engine: a missing value stops the page, and all text is escaped."""
    return Environment(loader=PackageLoader("designer.sheet", "templates"), undefined=StrictUndefined, autoescape=True,
                       trim_blocks=True, lstrip_blocks=True)
