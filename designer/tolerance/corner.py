"""What the corners say of one output."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Corner:
    """The least and the greatest of an output over the corners, and at which."""

    words: str
    unit: str
    least: float
    least_at: str
    greatest: float
    greatest_at: str
