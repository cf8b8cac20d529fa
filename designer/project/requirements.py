"""What each verb needs: stub until filled below."""

from __future__ import annotations

from collections.abc import Iterator

from designer.errors import InputError, InputErrors
from designer.project.model import Project


def lacking(project: Project, verb: str) -> Iterator[InputError]:
    """Give each fault."""
    yield from ()


def require(project: Project, verb: str) -> None:
    """Raise ``InputErrors`` naming the keys that ``verb`` needs and lacks."""
    faults = list(lacking(project, verb))
    if faults:
        raise InputErrors(faults[:10])
