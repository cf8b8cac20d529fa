"""The stalls that wires must outlast: currents and how long they last."""

from __future__ import annotations

import math
from collections.abc import Iterator

from designer.parts import dc_fuse
from designer.parts.fuse_gates import ADIABATIC, Link, opening_time
from designer.parts.wire_overload import Overload
from designer.studies.sides import Scene
from designer.studies.stall import SHORTEST_STALL, Stall

HALF = 10e-3       # s, half a period of 50 Hz


def on_motor(scene: Scene) -> tuple[Overload, ...]:
    """Give the armature's current at each stall until the winding's limit: the leads must not burn before it.

    Whether or not the load can jam: a bearing can. Where nothing tells the time, the stall at the setting counts for
    good; one at full output is then left to the fuse.
    """
    return tuple(Overload(current=stall.armature, time=time, at=stall.name)
                 for n, (stall, time) in enumerate(_lasting(scene)) if n == 0 or math.isfinite(time))


def on_line(scene: Scene, link: Link | dc_fuse.Link) -> tuple[Overload, ...]:
    """Give the line's current at each stall until the winding's limit or until ``link`` has surely opened."""
    return tuple(Overload(current=stall.line, time=min(time, _opens(link, stall.line)), at=stall.name)
                 for n, (stall, time) in enumerate(_lasting(scene))
                 if n == 0 or math.isfinite(min(time, _opens(link, stall.line))))


def _opens(link: Link | dc_fuse.Link, current: float) -> float:
    """Latest time, s, at which the fuse has cleared; a hard short below its half cycle is held by its let-through.

    Of a link for direct current only its clearing I²t is told: it counts from 10 times the rating.
    """
    if isinstance(link, dc_fuse.Link):
        return link.let_through / current**2 if current >= ADIABATIC * link.rating else math.inf
    return max(opening_time(link, current=current)[1], HALF)


def _lasting(scene: Scene) -> Iterator[tuple[Stall, float]]:
    for stall in scene.stalled:
        yield stall, math.inf if stall.time is None else max(stall.time, SHORTEST_STALL)
