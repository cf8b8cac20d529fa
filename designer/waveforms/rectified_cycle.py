"""One period of a saturating motor behind a rectifier, mode after mode, and the period that repeats.

The unknown is the motor's current at turn-on. A period maps it to that at the next turn-on; the map rises with a slope
between 0 and 1 (what is left of a small difference), so Newton's and then the secant's steps find where it repeats.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from designer.results import Array, Indices, Mask
from designer.waveforms.rectified import Command
from designer.waveforms.rectified_modes import CHANGE, END, Guess, Scene, Stretch, freewheel, overlap, source
from designer.waveforms.rectified_nodes import doubled

CYCLES = 80            # a bound, not a setting
STEEPEST = 1 - 1e-9    # slope of the map: no passive circuit reaches 1
HAIR = 1e-12           # rad


@dataclass(frozen=True, kw_only=True)
class Start:
    """Where a period starts: angle (rad) and motor current (A); ``until``: the next turn-on while current flows."""

    turn_on: Array
    current: Array
    until: Array

    def __getitem__(self, chosen: Indices) -> Start:
        return Start(turn_on=self.turn_on[chosen], current=self.current[chosen], until=self.until[chosen])


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """One period from ``start``: its modes by name, the motor's current at the next turn-on, and when what ended."""

    start: Start
    parts: dict[str, Stretch]
    image: Array
    decay: Array
    commutation: Array
    extinction: Array
    armature_extinction: Array


def opens(scene: Scene, command: Command) -> Array:
    """From rest: the first angle in the window at which the source exceeds what opposes it; nan where none is."""
    c = scene.circuit
    share = (c.on_threshold + c.back) / c.peak
    angle = np.arcsin(np.clip(share, -1.0, 1.0))
    when = np.maximum(command.alpha, angle)
    within = (share < 1.0) & (when < np.minimum(command.gate.last(command.alpha), np.pi - angle))
    return np.where(within, when, np.nan)


def opens_while_flowing(scene: Scene, command: Command, current: Array) -> Array:
    """The same while the freewheel path carries ``current``."""
    c = scene.circuit
    fall = c.freewheel_slope - (c.source_resistance + c.on_slope if scene.extra == 0 else 0.0)
    share = (c.on_threshold - c.freewheel_threshold - fall * current) / c.peak
    return np.maximum(command.alpha, np.arcsin(np.clip(share, -1.0, 1.0)))


def _guess(known: Cycle | None, name: str, at: Indices, steps: int) -> Guess | None:
    """What the period before says of a mode, on as many or half as many nodes; none where its points differ."""
    part = known.parts.get(name) if known else None
    if part is None or not np.array_equal(part.at, at):
        return None
    linkage, line = part.nodes.linkage, part.line
    if len(line) - 1 != steps:
        linkage = doubled(linkage, part.width, part.nodes.rate)
        line = doubled(line, part.width, part.line_rate)
    return Guess(end=part.end, ended=part.ended, linkage=linkage, line=line)


class _Walk:
    """A period under way: where every point stands."""

    def __init__(self, scene: Scene, start: Start, steps: int, known: Cycle | None) -> None:
        self.scene, self.steps, self.known = scene, steps, known
        self.theta, self.current = start.turn_on.copy(), start.current.copy()
        self.decay = np.zeros(start.turn_on.size)
        self.parts: dict[str, Stretch] = {}

    def go(self, name: str, at: Indices, *, until: Array | None = None) -> Stretch | None:
        """Lead the points ``at`` through a mode."""
        if not at.size:
            return None
        guess, some = _guess(self.known, name, at, self.steps), self.scene[at]
        begin = self.theta[at], self.current[at]
        if until is not None:
            part = freewheel(some, at, (*begin, until[at]), self.steps, guess)
        elif name in ("opening", "closing"):
            line = np.zeros(at.size) if name == "opening" else begin[1]
            part = overlap(some, at, (*begin, line), self.steps, guess)
        else:
            part = source(some, at, begin, self.steps, guess)
        self.theta[at], self.current[at] = part.end, part.nodes.current[-1]
        self.decay[at] += part.nodes.decay
        self.parts[name] = part
        return part


def cycle(scene: Scene, start: Start, again: Array, *, steps: int, known: Cycle | None = None) -> Cycle:
    """March one period; ``again``: where a gate held fires once more after a current that ended before it (or nan)."""
    count, walk = start.turn_on.size, _Walk(scene, start, steps, known)
    free, nan = scene.circuit.freewheel, np.full(start.turn_on.size, np.nan)
    commutation, extinction, armature = nan.copy(), nan.copy(), nan.copy()
    both = np.flatnonzero((start.current > 0) & (scene.extra > 0))
    opening = walk.go("opening", both) if free else None
    short = both[opening.ended == END] if opening else both[:0]
    commutation[short], extinction[short] = start.turn_on[short], walk.theta[short]
    changes = np.zeros(count, bool)
    alone = np.setdiff1d(np.arange(count), short)
    for name in ("source", "source again"):
        part = walk.go(name, alone)
        if part is None:
            break
        changes[alone] = part.ended == CHANGE
        extinction[alone] = armature[alone] = part.end
        walk.current[alone[part.ended == END]] = 0.0
        alone = alone[(part.ended == END) & (part.end < again[alone] - HAIR)]
        walk.theta[alone] = again[alone]
    over = np.flatnonzero(changes)
    commutation[over], armature[over] = walk.theta[over], np.nan
    if scene.extra > 0:
        walk.go("closing", over)
    extinction[over] = walk.theta[over]
    image = np.zeros(count)
    rest = np.union1d(over, short)
    tail = walk.go("freewheel", rest, until=start.until) if free else None
    if tail:
        ends = tail.ended == END
        armature[rest[ends]] = tail.end[ends]
        image[rest[~ends]] = np.maximum(tail.nodes.current[-1][~ends], 0.0)
    return Cycle(start=start, parts=walk.parts, image=image, decay=walk.decay, commutation=commutation,
                 extinction=extinction, armature_extinction=armature)


def periodic(
    scene: Scene, command: Command, start: Start | None, *, steps: int, tolerance: float, known: Cycle | None = None,
) -> Cycle:
    """Give the period that repeats, from rest or from a ``start`` that nearly does; all points do fire."""
    rest = opens(scene, command)
    turn = 2 * np.pi / scene.circuit.pulses
    now = start or Start(turn_on=rest, current=np.zeros(rest.size),
                         until=opens_while_flowing(scene, command, np.zeros(rest.size)) + turn)
    before: tuple[Array, Array] | None = None
    shift: tuple[Array, Array] | None = None
    for _ in range(CYCLES):
        one = cycle(scene, now, rest, steps=steps, known=known)
        slope = np.exp(-one.decay)
        if before is not None:
            moved = now.current - before[0]
            seen = np.abs(moved) > 1e-9 * (now.current + one.image)
            slope = np.where(seen, (one.image - before[1]) / np.where(seen, moved, 1.0), slope)
        before = now.current, one.image
        move = (one.image - now.current) / (1 - np.clip(slope, 0.0, STEEPEST))
        current = np.maximum(now.current + move, 0.0)
        late = one.extinction - turn
        wanted = np.maximum(opens_while_flowing(scene, command, current), late)
        wanted = np.where(current > 0, wanted, np.maximum(rest, late))
        step, shift = _damped(now.turn_on, wanted - now.turn_on, shift, late >= wanted)
        if _settled(one, current - now.current, step, tolerance):
            return one
        known = one
        turn_on = now.turn_on + step
        flowing = opens_while_flowing(scene, command, current)
        now = Start(turn_on=turn_on, current=current, until=np.maximum(flowing, np.where(current > 0, turn_on, 0.0)) + turn)
    return one


def _damped(
    turn_on: Array, left: Array, before: tuple[Array, Array] | None, tied: Mask
) -> tuple[Array, tuple[Array, Array]]:
    """The step of a turn-on angle tied to the extinction before it: the secant's; elsewhere what is left."""
    slope = np.full(left.size, -1.0)
    if before is not None:
        moved = turn_on - before[0]
        seen = tied & (np.abs(moved) > 1e-9)
        slope = np.where(seen, np.clip((left - before[1]) / np.where(seen, moved, 1.0), -2.2, -0.8), slope)
    return np.where(tied, -left / slope, left), (turn_on, left)


def _settled(one: Cycle, move: Array, step: Array, tolerance: float) -> bool:
    crest = np.zeros(move.size)
    for part in one.parts.values():
        np.maximum.at(crest, part.at, part.nodes.current.max(axis=0))
    near = np.abs(move) <= 0.03 * tolerance * np.maximum(crest, 1e-300)
    return bool(np.all(near & (np.abs(step) <= 0.1 * tolerance)))
