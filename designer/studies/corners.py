"""The least and the greatest of what a design does over its corners, and at which corner."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from designer.results import Array
from designer.studies.groups import Group
from designer.studies.survey import Survey
from designer.tolerance.corner import Corner


def corner_of(words: str, unit: str, values: Array, labels: Sequence[str]) -> Corner:
    """The least and the greatest of ``values`` with their labels; nan where none is known."""
    if not np.isfinite(values).any():
        return Corner(words=words, unit=unit, least=np.nan, least_at="", greatest=np.nan, greatest_at="")
    low, high = int(np.nanargmin(values)), int(np.nanargmax(values))
    return Corner(words=words, unit=unit, least=float(values[low]), least_at=labels[low],
                  greatest=float(values[high]), greatest_at=labels[high])


def surveyed_corners(survey: Survey) -> tuple[Corner, ...]:
    """The least and the greatest at the corners that every rating is held to, load as written unless said."""
    group: Group = survey.corners
    loaded, ratio = group.loaded, survey.fixed.load.ratio
    free = np.flatnonzero(group.points.load == 0)
    rows: list[tuple[str, str, Any, Sequence[str]]] = [
        ("output speed, loaded", "rad/s", loaded.points.speed / ratio, loaded.labels),
        ("output speed, no load", "rad/s", group.points.speed[free] / ratio, [group.labels[k] for k in free]),
        ("armature current, loaded, r.m.s.", "A", np.sqrt(loaded.solved.armature_square), loaded.labels),
        ("line current, loaded, r.m.s.", "A", np.sqrt(loaded.solved.line_square), loaded.labels),
    ]
    return tuple(corner_of(*row) for row in rows if len(row[3]))
