"""The project file: ``load`` reads it, ``require`` holds it against what a verb needs."""

from designer.project.loading import load, loads
from designer.project.model import Project
from designer.project.requirements import require

__all__ = ["Project", "load", "loads", "require"]
