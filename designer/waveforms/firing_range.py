"""What a firing network can reach: the resistance for an angle, the latest angle held, snap-on.

Everything is read from the periodic solution on a logarithmic grid of resistances, narrowed once; the
whole grid runs at once. Resistances here are those of potentiometer and end stop together.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from designer.results import Array
from designer.waveforms.firing_network import Firing, Network, Supply, fire
from designer.waveforms.network_modes import lanes_of

#: resistances looked at, ohm, and points of the grid (relative step 0.1 % after narrowing)
LOWEST, HIGHEST, GRID = 1e3, 3e6, 97
#: periods marched before a setting counts as settled; two seconds of mains
PERIODS = 100
#: a fall of the angle by more than this (rad) from one setting to the next means firing past the zero
_JUMP = 0.5
#: how far below the snap-on resistance its angle is read, so that the crest clears the grid of the march
_BELOW = 2e-3


@dataclass(frozen=True, kw_only=True)
class Reach:
    """Edges of the control range: resistance in Ω, angle in rad (the later half cycle; nan: not both fire).

    ``held``: turning down, the last setting that still fires; ``snap_on``: turning up from off, the
    first that fires, with the angle to which it jumps.
    """

    held_resistance: float
    held_angle: float
    snap_on_resistance: float
    snap_on_angle: float


def resistance_for(network: Network, *, supply: Supply, angle: float) -> float:
    """Give the resistance, Ω, at which the later half cycle fires at ``angle`` (rad); nan where none does,
    or where the network jumps past the zero before it gets there.

    The line between the last two settings looked at is taken as straight.
    """
    grid, angles, index = _edge(network, supply, angle)
    if index in (0, len(grid)) or not angle < angles[index] < np.inf:
        return float("nan")
    share = (angle - angles[index - 1]) / (angles[index] - angles[index - 1])
    return float(grid[index - 1] + share * (grid[index] - grid[index - 1]))


def reach(network: Network, *, supply: Supply) -> Reach:
    """Give the latest angle held and the snap-on; nan throughout for a network that never fires."""
    grid, angles, index = _edge(network, supply, np.pi)
    held = (float(grid[index - 1]), float(angles[index - 1])) if index else (float("nan"), float("nan"))
    snap = snap_on_resistance(network, supply=supply)
    if np.isnan(snap):
        return Reach(held_resistance=snap, held_angle=snap, snap_on_resistance=snap, snap_on_angle=snap)
    first = fire(
        replace(network, end_stop=0.0), supply=supply, potentiometer=snap * (1 - _BELOW), idle=True, most=PERIODS,
    )
    angle = float(later(first)[0])
    return Reach(
        held_resistance=held[0], held_angle=held[1], snap_on_resistance=snap,
        snap_on_angle=angle if np.isfinite(angle) else float("nan"),
    )


def snap_on_resistance(network: Network, *, supply: Supply) -> float:
    """Give the greatest resistance, Ω, at which the idle network's crest reaches breakover; nan if none."""
    limit = float(np.min([network.breakover_positive, network.breakover_negative]))

    def spare(logarithm: float) -> float:
        lanes = lanes_of(replace(network, end_stop=0.0), supply, float(np.exp(logarithm)))
        return float(np.abs(lanes.idle_phasor())[0, -1]) - limit

    low, high = np.log(LOWEST), np.log(HIGHEST)
    if spare(low) <= 0:
        return float("nan")
    return HIGHEST if spare(high) > 0 else float(np.exp(brentq(spare, low, high, xtol=1e-12)))


def later(firing: Firing) -> Array:
    """Give the later angle of the two half cycles, rad; infinite where one does not fire."""
    angle: Array = np.where(firing.fires, np.maximum(firing.positive, firing.negative), np.inf)
    return angle


def _edge(network: Network, supply: Supply, limit: float) -> tuple[Array, Array, int]:
    """A grid of resistances, their angles, and the first that passes ``limit`` or has jumped."""
    bare = replace(network, end_stop=0.0)
    low, high = LOWEST, HIGHEST
    for _ in range(2):
        grid = np.geomspace(low, high, GRID)
        angles = later(fire(bare, supply=supply, potentiometer=grid, most=PERIODS))
        finite = np.nan_to_num(angles, posinf=2 * np.pi)
        fails = (angles > limit) | np.r_[False, np.diff(finite) < -_JUMP]
        index = int(np.argmax(fails)) if fails.any() else GRID
        if index in (0, GRID):
            break
        low, high = float(grid[index - 1]), float(grid[index])
    return grid, angles, index
