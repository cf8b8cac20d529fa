"""One period of a saturating motor behind a rectifier, mode after mode, and the period that repeats.

The unknown is the motor's current at turn-on. A period maps it to that at the next turn-on; the map rises with a slope
between 0 and 1 (what is left of a small difference), so Newton's and then the secant's steps find where it repeats.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from designer.results import Array, Indices, Mask
from designer.waveforms.rectified import Command
from designer.waveforms.rectified_modes import CHANGE, END, Guess, Scene, Stretch, freewheel, joined, source
from designer.waveforms.rectified_nodes import doubled
from designer.waveforms.rectified_overlap import overlap

CYCLES = 80            # a bound, not a setting
LEAST_MOVE = 1e-6      # of the current: a smaller step tells nothing of the map's slope
HAIR = 1e-12           # rad
ORDER = ("opening", "source", "source again", "closing", "freewheel")
PLAIN = ("image", "decay", "commutation", "extinction", "armature_extinction")


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

    def __getitem__(self, chosen: Indices) -> Cycle:
        place = np.full(self.image.size, -1, np.intp)
        place[chosen] = np.arange(chosen.size)
        parts = {}
        for name, part in self.parts.items():
            keep = np.flatnonzero(place[part.at] >= 0)
            if keep.size:
                parts[name] = replace(part[keep], at=place[part.at[keep]])
        return Cycle(start=self.start[chosen], parts=parts, **{name: getattr(self, name)[chosen] for name in PLAIN})


def merged(places: list[Indices], cycles: list[Cycle]) -> Cycle:
    """Give one cycle of all points from those of some each."""
    if len(cycles) == 1:
        return cycles[0]
    order = np.argsort(np.concatenate(places))
    start = Start(**{f.name: np.concatenate([getattr(one.start, f.name) for one in cycles])[order]
                     for f in fields(Start)})
    plain = {name: np.concatenate([getattr(one, name) for one in cycles])[order] for name in PLAIN}
    parts = {}
    for name in ORDER:
        some = [replace(one.parts[name], at=at[one.parts[name].at])
                for at, one in zip(places, cycles, strict=True) if name in one.parts]
        if some:
            parts[name] = joined(some)
    return Cycle(start=start, parts=parts, **plain)


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
    if len(line) - 1 != steps and 2 * (len(line) - 1) != steps:
        return None
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
        # the two paths share the current for a short while: fewer steps do
        steps = max(self.steps // 4, 4) if name in ("opening", "closing") else self.steps
        guess, some = _guess(self.known, name, at, steps), self.scene[at]
        begin = self.theta[at], self.current[at]
        if until is not None:
            part = freewheel(some, (*begin, until[at]), at=at, steps=steps, known=guess)
        elif name in ("opening", "closing"):
            line = np.zeros(at.size) if name == "opening" else begin[1]
            part = overlap(some, (*begin, line), at=at, steps=steps, known=guess)
        else:
            part = source(some, begin, at=at, steps=steps, known=guess)
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
    rest, count = opens(scene, command), len(scene.circuit)
    turn = 2 * np.pi / scene.circuit.pulses
    now = start or Start(turn_on=rest, current=np.zeros(count),
                         until=opens_while_flowing(scene, command, np.zeros(count)) + turn)
    search = _Search(count)
    places, cycles, todo = [], [], np.arange(count)
    for turns in range(CYCLES):
        one = cycle(scene[todo], now, rest[todo], steps=steps, known=known)
        late = one.extinction - turn
        current = search.current(todo, one, late > now.turn_on - HAIR)
        flowing = opens_while_flowing(scene[todo], command[todo], current)
        wanted = np.maximum(np.where(current > 0, flowing, rest[todo]), late)
        step = search.step(todo, now.turn_on, wanted, late >= wanted)
        good = _settled(one, current - now.current, step, tolerance) | (turns == CYCLES - 1)
        if good.any():
            chosen = np.flatnonzero(good)
            places.append(todo[chosen])
            cycles.append(one[chosen] if chosen.size < todo.size else one)
            if chosen.size == todo.size:
                break
        rest_ = np.flatnonzero(~good)
        known = one[rest_] if good.any() else one
        turn_on = np.clip(now.turn_on + step, command.alpha[todo], np.pi - HAIR)[rest_]
        todo = todo[rest_]
        until = np.maximum(flowing[rest_], np.where(current[rest_] > 0, turn_on, 0.0)) + turn
        now = Start(turn_on=turn_on, current=current[rest_], until=until)
    return merged(places, cycles)


class _Search:
    """What the steps so far have told of the map's slopes, by point."""

    def __init__(self, count: int) -> None:
        self.start, self.image, self.turn_on, self.left = (np.full(count, np.nan) for _ in range(4))

    def current(self, at: Indices, one: Cycle, tied: Mask) -> Array:
        """The next current at turn-on: by Newton's step first, by the secant's from then on.

        Where the turn-on angle is ``tied`` to the extinction before it and moves too, the secant would mislead.
        """
        now, image = one.start.current, one.image
        moved, lasting = now - self.start[at], np.exp(-one.decay)
        seen = (np.abs(moved) > LEAST_MOVE * (now + image)) & ~tied
        slope = np.where(seen, (image - self.image[at]) / np.where(seen, moved, 1.0), lasting)
        self.start[at], self.image[at] = now, image
        return np.asarray(np.maximum(now + (image - now) / (1 - np.clip(slope, 0.0, 0.5 * (1 + lasting))), 0.0))

    def step(self, at: Indices, turn_on: Array, wanted: Array, tied: Mask) -> Array:
        """The step of the turn-on angle; the secant's where it is tied to the extinction before it."""
        left = wanted - turn_on
        moved = turn_on - self.turn_on[at]
        seen = tied & (np.abs(moved) > 1e-9)
        slope = np.where(seen, np.clip((left - self.left[at]) / np.where(seen, moved, 1.0), -2.2, -0.8), -1.0)
        self.turn_on[at], self.left[at] = turn_on, left
        return np.asarray(np.where(tied, -left / slope, left))


def _settled(one: Cycle, move: Array, step: Array, tolerance: float) -> Mask:
    crest = np.zeros(move.size)
    for part in one.parts.values():
        np.maximum.at(crest, part.at, part.nodes.current.max(axis=0))
    near = np.abs(move) <= 0.03 * tolerance * np.maximum(crest, 1e-300)
    return np.asarray(near & (np.abs(step) <= 0.1 * tolerance))
