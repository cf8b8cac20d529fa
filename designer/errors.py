"""The one error a user meets."""

from __future__ import annotations

from collections.abc import Iterable

_LONGEST = 120


class InputError(ValueError):
    """Which key, what stood there, what may stand there, what to do about it.

    ``key`` is the path in the project file (``motor.armature_resistance``), ``found`` what was
    read (``None``: nothing), ``allowed`` the values that the key takes, ``hint`` the next thing to
    do. ``near`` is the key that was probably meant, where ``key`` is a misspelling.
    """

    near: str = ""

    def __init__(self, key: str, found: object, allowed: str, hint: str = "") -> None:
        """Keep the four texts."""
        super().__init__(key, found, allowed, hint)
        self.key, self.found, self.allowed, self.hint = key, found, allowed, hint

    def __str__(self) -> str:
        """Give the one line that the user reads."""
        found = "nothing" if self.found is None else repr(self.found)
        if len(found) > _LONGEST:
            found = f"{found[:_LONGEST]}…"
        return f"{self.key}: found {found}, allowed {self.allowed}. {self.hint}".rstrip()


class InputErrors(InputError):
    """All faults of one file, told together."""

    def __init__(self, faults: Iterable[InputError]) -> None:
        """Keep the faults; the first one stands for all."""
        self.faults = tuple(faults)
        first = self.faults[0]
        super().__init__(first.key, first.found, first.allowed, first.hint)

    def __str__(self) -> str:
        """Give one line a fault."""
        return "\n".join(str(fault) for fault in self.faults)


class Unreachable(InputError):
    """The file reads as a design, but what it asks for has no solution: exit status 1 instead of 2.

    ``key`` is the key that the user can change, ``found`` what it asks for, ``allowed`` what can be
    reached, ``hint`` the way out.
    """
