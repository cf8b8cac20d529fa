"""From a salvaged commutator motor to a safe fixed-speed supply.

The public face: ``load`` reads a project file, ``characterise`` fits a motor to its readings, ``solve`` finds
one operating point, ``design`` works out everything the build sheet prints, ``check`` holds the user's own parts
against the stresses, ``compare`` holds a target against every circuit, ``spread`` tells how far builds lie apart,
``explain`` tells one formula. Each is imported when it is first used, so that ``import designer`` costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from designer.project.loading import load
    from designer.studies.characterise import characterise
    from designer.studies.check import check
    from designer.studies.compare import compare
    from designer.studies.design import design
    from designer.studies.explain import explain
    from designer.studies.solve import solve
    from designer.studies.spread import spread

__all__ = ["characterise", "check", "compare", "design", "explain", "load", "solve", "spread"]

_HOMES = {
    "characterise": "designer.studies.characterise",
    "check": "designer.studies.check",
    "compare": "designer.studies.compare",
    "design": "designer.studies.design",
    "explain": "designer.studies.explain",
    "load": "designer.project.loading",
    "solve": "designer.studies.solve",
    "spread": "designer.studies.spread",
}


def __getattr__(name: str) -> Any:
    """Import a public function when it is first asked for."""
    if name not in _HOMES:
        raise AttributeError(f"designer has no {name!r}; it has {', '.join(__all__)}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    """Give the public names alone."""
    return sorted(__all__)
