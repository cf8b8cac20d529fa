"""Source's path and freewheel path of a saturating motor share its current: after firing, and at the end of a pulse."""

from __future__ import annotations

import numpy as np

from designer.results import Array, Indices, Mask
from designer.waveforms.rectified import OVERLAP
from designer.waveforms.rectified_modes import (
    CHANGE,
    END,
    EVENTS,
    SCOUTS,
    Closing,
    Guess,
    Scene,
    Stretch,
    angles,
    spread,
    step,
)
from designer.waveforms.rectified_nodes import Loop, Nodes, first_true, follow, settle

WIDEN = 2.0            # of a look's reach, where the overlap does not end in it


def both_nodes(
    scene: Scene, begin: tuple[Array, Array, Array], end: Array, guess: Guess
) -> tuple[Nodes, Array, Array]:
    """Motor and line from ``begin`` (angle, motor's current, line's) to ``end``; ``guess`` gives both at the nodes.

    The freewheel path's slope is all that couples the two: they are solved in turn.
    """
    c, (start, current, line) = scene.circuit, begin
    steps = len(guess.linkage) - 1
    width = (end - start) / steps
    theta = angles(start, width, steps)
    reactance = c.omega * scene.extra
    level = c.freewheel_threshold - c.on_threshold
    forced, turning = (c.peak * np.sin(theta) + level) / reactance, c.peak * np.cos(theta) / reactance
    loop = Loop(table=scene.motor, speed=c.speed / c.omega, resistance=(c.resistance + c.freewheel_slope) / c.omega)
    pull = (c.source_resistance + c.on_slope + c.freewheel_slope) / reactance
    first, linkage = scene.linkage(current), guess.linkage
    share, along, rate = c.freewheel_slope, guess.line, np.zeros_like(guess.line)
    for _ in range(EVENTS):
        feed = (share * along - c.freewheel_threshold - c.back) / c.omega, share * rate / c.omega
        nodes = settle(loop, width, feed, first=first, guess=linkage, near=scene.near)
        linkage, before = nodes.linkage, along
        along, rate = follow(width, (forced + share * nodes.current / reactance,
                                     turning + share * nodes.current_rate / reactance), pull, first=line)
        moved = np.abs(along - before).max(axis=0) * share * (end - start) / (c.omega * np.maximum(first, 1e-12))
        if not float(moved.max(initial=0.0)) > 0.01 * scene.exact:
            break
    return nodes, along, rate


def overlap(
    scene: Scene, begin: tuple[Array, Array, Array], *, at: Indices, steps: int, known: Guess | None
) -> Stretch:
    """Both paths conduct until the line's current is zero (``END``) or is the motor's (``CHANGE``)."""
    start = begin[0]
    guess = known or _overlap_guess(scene, begin, steps)
    end, ended = np.maximum(guess.end, start + 1e-12), guess.ended
    closing = Closing(scene.exact)
    for _ in range(EVENTS):
        nodes, line, rate = both_nodes(scene, begin, end, guess)
        gap, nearing = nodes.current[-1] - line[-1], nodes.current_rate[-1] - rate[-1]
        value, slope = np.where(ended == END, line[-1], gap), np.where(ended == END, rate[-1], nearing)
        move = step(value, slope, end - start)
        if closing.done(move):
            break
        end = np.clip(end + move, 0.5 * (start + end), start + 2 * np.pi)
        guess = Guess(end=end, ended=ended, linkage=nodes.linkage, line=line)
    return Stretch(mode=OVERLAP, at=at, start=start, end=end, nodes=nodes, line=line, line_rate=rate, ended=ended)


def _overlap_guess(scene: Scene, begin: tuple[Array, Array, Array], steps: int) -> Guess:
    """Look over widening reaches until the overlap ends in one."""
    start, line = begin[0], begin[2]
    reach = _reach(scene, begin)
    end, ended = start + reach, np.where(line <= 0, CHANGE, END)
    linkage, along = (np.empty((steps + 1, start.size)) for _ in range(2))
    todo = np.arange(start.size)
    while todo.size:
        some = begin[0][todo], begin[1][todo], line[todo]
        nodes, now, node, change, found = _looked(scene[todo], some, reach[todo])
        end[todo], ended[todo] = start[todo] + reach[todo] * node / SCOUTS, np.where(change, CHANGE, END)
        linkage[:, todo] = spread(nodes.linkage, node.astype(float), steps)
        along[:, todo] = spread(now, node.astype(float), steps)
        todo = todo[~found & (reach[todo] < 2 * np.pi)]
        reach[todo] *= WIDEN
    return Guess(end=end, ended=ended, linkage=linkage, line=along)


def _reach(scene: Scene, begin: tuple[Array, Array, Array]) -> Array:
    """About how far an overlap goes, rad: without resistance the line's current follows the cosine."""
    c, (start, current, line) = scene.circuit, begin
    fall = c.omega * scene.extra * current / c.peak
    cosine = np.clip(np.cos(start) + np.where(line <= 0, -fall, fall), -1.0, 1.0)
    about = np.where(line <= 0, np.arccos(cosine), 2 * np.pi - np.arccos(cosine)) - start
    return np.asarray(1.3 * np.maximum(about, 0.0) + 1e-6)


def _looked(
    scene: Scene, begin: tuple[Array, Array, Array], reach: Array
) -> tuple[Nodes, Array, Indices, Mask, Mask]:
    """Nodes on wide steps, line current, node after the event, whether that is a change, whether it is there."""
    start, current, line = begin
    shape = SCOUTS + 1, start.size
    first = Guess(end=start + reach, ended=np.zeros(start.size, np.intp), line=np.broadcast_to(line, shape),
                  linkage=np.broadcast_to(scene.linkage(current), shape).copy())
    nodes, now, _ = both_nodes(scene, begin, first.end, first)
    out = first_true(now[1:] <= 0) + 1
    change = np.where(line <= 0, first_true(now[1:] >= nodes.current[1:]) + 1, SCOUTS + 2)
    node = np.minimum(out, change)
    return nodes, now, np.minimum(node, SCOUTS), change <= out, node <= SCOUTS
