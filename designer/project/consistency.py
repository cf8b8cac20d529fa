"""What keys say against each other: stub until filled below."""

from __future__ import annotations

from collections.abc import Iterator

from designer.errors import InputError
from designer.project.model import Project


def contradictions(project: Project) -> Iterator[InputError]:
    """Give each fault."""
    yield from ()
