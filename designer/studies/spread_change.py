"""How far the speed of each sample falls from no load to full load, with the setting held at nominal supply."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from designer.project.model import Project
from designer.results import Array
from designer.tolerance.joint import Found, Model, Start, found, started


def no_load(model: Model) -> Model:
    """The same shaft with nothing on it."""
    fixed = model.fixed
    return replace(model, fixed=replace(fixed, load=replace(fixed.load, torque=0.0, viscous=0.0, square=0.0)))


def at_nominal_supply(draws: Mapping[str, Array], project: Project) -> dict[str, Array]:
    """The draws with the supply as written; all else as drawn."""
    count = len(next(iter(draws.values())))
    written = {"voltage": project.supply.voltage, "frequency": project.supply.frequency}
    return {name: np.full(count, float(written[name] or 0.0)) if name in written else values
            for name, values in draws.items()}


def speed_change(
    model: Model, draws: Mapping[str, Array], start: Start, guess: Array, *, free: float
) -> tuple[Array, int]:
    """Give (no-load − full-load speed), rad/s of the motor's shaft, of every draw, nan where one of them is none.

    The windings stay as hot without load as the load has made them, as ``speed_band`` is judged for the nominal
    machine. ``draws`` are complete, at nominal supply, the first of them the nominal machine, whose speed without load
    is about ``free`` (rad/s); ``guess`` is near full load. With it goes how many states were found one by one.
    """
    loaded = found(model, draws, start, guess, unknown="speed")
    bare = no_load(model)
    speed, change = loaded.state[:, 0], np.full(len(guess), np.nan)
    good = np.flatnonzero(np.isfinite(speed) & (speed > 0))
    if not np.isfinite(free) or not free > 0 or not good.size or good[0] != 0:
        return change, len(loaded.missed)
    some = {name: values[good] for name, values in draws.items()}
    some |= {"armature_hot": loaded.state[good, 1], "field_hot": loaded.state[good, 2]}
    near = np.array([free, *loaded.state[0, 1:]])
    first = started(bare, some, near, unknown="speed")
    unloaded: Found = found(bare, some, first, _guessed(loaded.state[good], free), unknown="speed")
    change[good] = unloaded.state[:, 0] - speed[good]
    return change, len(loaded.missed) + len(unloaded.missed)


def _guessed(loaded: Array, free: float) -> Array:
    """Speeds without load in proportion to those with it; the first row is the nominal machine."""
    return np.column_stack((free * loaded[:, 0] / loaded[0, 0], loaded[:, 1:]))
