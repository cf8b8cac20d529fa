"""Faults of a chopper's control: the shortest on-time into a stalled motor, and a current sensor that tells nothing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from designer.circuits.case import Points
from designer.circuits.on_bus import how_chopped
from designer.equations.fault import SHORTEST_RISE
from designer.results import FaultCase, Quantity
from designer.studies.chopped_path import inductance
from designer.studies.groups import crest_of
from designer.studies.sides import Power, Scene


def faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """Give the current that creeps up where no on-time is short enough, and full duty without a limit."""
    found, fixed = scene.found, scene.fixed
    if power is None or found is None or fixed is None or "chopper" not in scene.kind.sides:
        return
    chopping = how_chopped(fixed)
    limit, crest = chopping.current_limit, crest_of(scene.project)
    if chopping.shortest > 0:
        creeps = creep(scene)
        holds = not math.isfinite(limit) or creeps <= limit
        told = {"shortest on-time": Quantity(chopping.shortest, "s"),
                "rise in it": Quantity(float(SHORTEST_RISE(
                    t_min=chopping.shortest, V_bus=crest, L_loop=inductance(fixed, limit))), "A"),
                "current it creeps up to": Quantity(creeps, "A")}
        if math.isfinite(limit):
            told["current limit"] = Quantity(limit, "A")
        yield FaultCase(
            fault="shortest-on-time", name="Stalled, every period at its shortest on-time: "
            + ("the current settles, and the limit holds it" if holds else "the current creeps past the limit"),
            figures=told, first="" if not holds else "nothing: as told of the stall at the setting",
            ends_by="itself: what an off-time lets go equals what the on-time brings, below the limit" if holds else
            "the d.c. fuse, if at all: a lower frequency, or pulses skipped while the current is over the limit")
    if math.isfinite(limit):
        held, sags = found.look.direct, unlimited(scene)
        yield FaultCase(
            fault="current-sensor-stuck", name="Current sensor stuck at nothing, full duty, stalled: no limit at all",
            figures={"current at rest, the bus held": Quantity(held, "A"),
                     "in the long run, by what the supply gives": Quantity(sags, "A"),
                     "limit that is missing": Quantity(limit, "A"), "times the limit": Quantity(held / limit, "1")},
            ends_by="the d.c. fuse, after the transistor")


def creep(scene: Scene) -> float:
    """Greatest current (A) at rest, each period on for the shortest time, no limit; bus at its crest, windings cold."""
    return _at_rest(scene, shortest=True)


def unlimited(scene: Scene) -> float:
    """Greatest current (A) at rest at full duty without limit; highest supply, windings cold."""
    return _at_rest(scene, shortest=False)


def _at_rest(scene: Scene, *, shortest: bool) -> float:
    assert scene.found is not None
    assert scene.fixed is not None
    fixed, chopping = scene.fixed, how_chopped(scene.fixed)
    free = replace(fixed, chopping=replace(chopping, current_limit=np.inf), setting_cap=None)
    share = chopping.shortest * chopping.frequency if shortest else 1.0
    points: Points = scene.found.stall.points[[0]].at(setting=np.array([share]))
    solved = scene.circuit.solve(free, points)
    return float(np.nan_to_num(solved.peak[0] if shortest else solved.current.greatest[0], nan=np.inf))
