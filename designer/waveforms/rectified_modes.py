"""One mode of a saturating motor behind a rectifier, for many points: from its start to the event that ends it.

Every mode is laid on evenly spaced nodes whose last is the event itself: Newton's steps on the event's angle go along
with those on the nodes. A rough look on wide steps gives the first guess of it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from designer.motor.flux import LinkageTable, Winding
from designer.results import Array, Indices
from designer.waveforms.rectified import FREEWHEEL, SOURCE, Rectified
from designer.waveforms.rectified_nodes import Loop, Nodes, first_true, settle

SCOUTS = 32            # steps of the rough look
EVENTS = 40            # Newton's steps on an event's angle: a bound, not a setting
END, CHANGE = 0, 1     # what ended a mode: the motor's current, or the change of paths that it may end with


@dataclass(frozen=True, kw_only=True)
class Scene:
    """The circuit of some points with its winding, and how near is near enough.

    ``motor``: linkage of the motor's winding; ``whole``: with the source's inductance, ``extra`` (H), in the loop.
    """

    circuit: Rectified
    winding: Winding
    motor: LinkageTable
    whole: LinkageTable
    extra: float
    near: float
    exact: float           # rad: moves of an event that no longer count

    def __getitem__(self, chosen: Indices) -> Scene:
        return Scene(circuit=self.circuit[chosen], winding=self.winding, motor=self.motor, whole=self.whole,
                     extra=self.extra, near=self.near, exact=self.exact)

    def inductance(self, current: Array) -> Array:
        """The motor's incremental inductance, H."""
        return self.winding.inductance(np.maximum(current, 0.0))

    def linkage(self, current: Array) -> Array:
        """The motor's flux linkage, V·s."""
        return self.winding.linkage(np.maximum(current, 0.0))


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """One mode of the points ``at``: from ``start`` to ``end`` (rad), its nodes, the line's current and rate there.

    ``ended``: ``END`` or ``CHANGE`` of every point.
    """

    mode: int
    at: Indices
    start: Array
    end: Array
    nodes: Nodes
    line: Array
    line_rate: Array
    ended: Indices

    def __getitem__(self, chosen: Indices) -> Stretch:
        return Stretch(mode=self.mode, at=self.at[chosen], start=self.start[chosen], end=self.end[chosen],
                       nodes=self.nodes[chosen], line=self.line[:, chosen], line_rate=self.line_rate[:, chosen],
                       ended=self.ended[chosen])

    @property
    def width(self) -> Array:
        """Between nodes, rad."""
        return (self.end - self.start) / (len(self.line) - 1)


def joined(parts: list[Stretch]) -> Stretch:
    """One mode of all points, in rising order, from that of some each."""
    at = np.concatenate([part.at for part in parts])
    order = np.argsort(at)
    nodes = Nodes(**{f.name: np.concatenate([getattr(p.nodes, f.name) for p in parts], axis=-1)[..., order]
                     for f in fields(Nodes)})
    rest = {name: np.concatenate([getattr(p, name) for p in parts], axis=-1)[..., order]
            for name in ("start", "end", "line", "line_rate", "ended")}
    return Stretch(mode=parts[0].mode, at=at[order], nodes=nodes, **rest)


@dataclass(frozen=True, kw_only=True)
class Guess:
    """Where a mode may end, with what, and its linkage (and line current) at the nodes."""

    end: Array
    ended: Indices
    linkage: Array
    line: Array


def angles(start: Array, width: Array, steps: int) -> Array:
    """The nodes' angles, rad."""
    return np.asarray(start + np.arange(steps + 1.0)[:, None] * width)


def spread(values: Array, reach: Array, steps: int) -> Array:
    """Give the first ``reach`` nodes of ``values`` (a share of a node counts) on ``steps`` steps, straight between."""
    place = np.arange(steps + 1.0)[:, None] * (reach / steps)
    left = np.minimum(place.astype(np.intp), len(values) - 2)
    column = np.arange(values.shape[1])
    low = values[left, column]
    return np.asarray(low + (place - left) * (values[left + 1, column] - low))


class Closing:
    """Tells when the moves of an event are small enough, or small and no longer falling (a table's kinks)."""

    def __init__(self, exact: float) -> None:
        """``exact``: moves (rad) that no longer count."""
        self.exact, self.before = exact, np.inf

    def done(self, move: Array) -> bool:
        """True when another step would change nothing that counts."""
        worst = float(np.abs(move).max(initial=0.0))
        ends = worst <= self.exact or (worst <= 10 * self.exact and worst >= 0.5 * self.before)
        self.before = worst
        return ends


def step(value: Array, slope: Array, span: Array) -> Array:
    """Newton's step to where a falling value is zero; a quarter of the span on (or back) where it does not fall."""
    falls = slope < 0
    return np.asarray(np.where(falls, -value / np.where(falls, slope, -1.0), 0.25 * span * np.sign(value)))


def source_nodes(scene: Scene, begin: tuple[Array, Array], end: Array, guess: Array) -> Nodes:
    """The whole loop from ``begin`` (angle, current) to ``end``."""
    c, (start, current) = scene.circuit, begin
    steps = len(guess) - 1
    width = (end - start) / steps
    theta = angles(start, width, steps)
    drive = c.peak / c.omega
    feed = drive * np.sin(theta) - (c.on_threshold + c.back) / c.omega, drive * np.cos(theta)
    loop = Loop(table=scene.whole, speed=c.speed / c.omega,
                resistance=(c.source_resistance + c.on_slope + c.resistance) / c.omega)
    return settle(loop, width, feed, first=scene.linkage(current) + scene.extra * current, guess=guess,
                  near=scene.near)


def surplus(scene: Scene, theta: Array, nodes: Nodes, node: int | slice) -> tuple[Array, Array]:
    """By how much the terminal voltage exceeds that of the freewheel path (V), and about its slope (V/rad)."""
    c = scene.circuit
    current = nodes.current[node]
    whole = scene.inductance(current) + scene.extra
    rate = nodes.rate[node] / whole
    share = scene.extra / whole
    # without inductance in the source all of the current changes over at once, and the path's slope counts
    fall = c.source_resistance + c.on_slope - (c.freewheel_slope if scene.extra == 0 else 0.0)
    above = c.peak * np.sin(theta) - fall * current - c.on_threshold + c.freewheel_threshold
    above = above - c.omega * scene.extra * rate
    slope = (1 - share) * c.peak * np.cos(theta) - fall * rate
    return np.asarray(above), np.asarray(slope)


def source(
    scene: Scene, begin: tuple[Array, Array], *, at: Indices, steps: int, known: Guess | None
) -> Stretch:
    """The source's path conducts until its current ends, or until the freewheel path takes over (``CHANGE``)."""
    start, free = begin[0], scene.circuit.freewheel
    guess = known or _source_guess(scene, begin, steps)
    end, ended, linkage = np.maximum(guess.end, start + scene.exact), guess.ended, guess.linkage
    closing = Closing(scene.exact)
    for count in range(EVENTS):
        nodes = source_nodes(scene, begin, end, linkage)
        linkage = nodes.linkage
        by_end = step(linkage[-1], nodes.rate[-1], end - start)
        above, slope = surplus(scene, end, nodes, -1)
        by_change = step(above, slope, end - start)
        move = np.where(ended == END, by_end, by_change)
        done = closing.done(move)
        if done or count > EVENTS // 2:
            other = _turned(scene, ended, (linkage[-1], above), free)
            if done and (other == ended).all():
                break
            ended = other
            move = np.where(ended == END, by_end, by_change)
        after = np.maximum(end + move, 0.5 * (start + end))
        end = np.minimum(after, start + 2 * np.pi)
    # a current that is gone just where the freewheel path would take it over has nothing to hand on
    ended = np.where(nodes.current[-1] <= 0, END, ended)
    return Stretch(mode=SOURCE, at=at, start=start, end=end, nodes=nodes, line=nodes.current,
                   line_rate=nodes.current_rate, ended=ended)


def _turned(scene: Scene, ended: Indices, now: tuple[Array, Array], free: bool) -> Indices:
    """What ends a mode, by what stands where it was thought to end."""
    linkage, above = now
    hair, volts = 1e-9 * scene.circuit.peak / scene.circuit.omega, 1e-9 * scene.circuit.peak
    turned = np.where((ended == CHANGE) & (linkage < -hair), END, ended)
    return np.asarray(np.where((ended == END) & (above < -volts), CHANGE, turned) if free else turned)


def _source_guess(scene: Scene, begin: tuple[Array, Array], steps: int) -> Guess:
    start, current = begin
    horizon = start + (2 * np.pi - np.maximum(start, 0.0) if scene.circuit.freewheel else 2 * np.pi)
    first = scene.linkage(current) + scene.extra * current
    nodes = source_nodes(scene, begin, horizon, np.broadcast_to(first, (SCOUTS + 1, start.size)).copy())
    width = (horizon - start) / SCOUTS
    out = first_true(nodes.linkage[1:] <= 0) + 1
    change = np.full(start.size, SCOUTS + 2)
    if scene.circuit.freewheel:
        above, _ = surplus(scene, angles(start, width, SCOUTS), nodes, slice(None))
        change = first_true(above[1:] < 0) + 1
    ended = np.where(change <= out, CHANGE, END)
    reach = np.minimum(np.minimum(out, change), SCOUTS).astype(float)
    return Guess(end=start + reach * width, ended=ended, linkage=spread(nodes.linkage, reach, steps),
                 line=np.zeros((0, 0)))


def freewheel(
    scene: Scene, begin: tuple[Array, Array, Array], *, at: Indices, steps: int, known: Guess | None
) -> Stretch:
    """The motor's current falls until it ends (``END``) or until the angle ``begin[2]`` (``CHANGE``)."""
    start, current, last = begin[0], begin[1], np.maximum(begin[2], begin[0] + 1e-9)
    c = scene.circuit
    loop = Loop(table=scene.motor, speed=c.speed / c.omega, resistance=(c.resistance + c.freewheel_slope) / c.omega)
    first = scene.linkage(current)
    against = np.broadcast_to(-(c.freewheel_threshold + c.back) / c.omega, (steps + 1, start.size))
    nothing = np.zeros_like(against)
    end = np.minimum(known.end, last) if known else last
    linkage = known.linkage if known else first * np.linspace(1.0, 0.0, steps + 1)[:, None]
    ended = known.ended if known else np.full(start.size, CHANGE)
    end = np.where(ended == CHANGE, last, end)
    closing = Closing(scene.exact)
    for count in range(EVENTS):
        nodes = settle(loop, (end - start) / steps, (against, nothing), first=first, guess=linkage, near=scene.near)
        linkage = nodes.linkage
        early = (ended == CHANGE) & (linkage[-1] <= 0)
        if early.any():
            node = first_true(linkage[1:] <= 0) + 1
            end = np.where(early, start + (end - start) * np.minimum(node, steps) / steps, end)
            linkage = np.where(early, spread(linkage, np.where(early, node, steps).astype(float), steps), linkage)
            ended = np.where(early, END, ended)
            continue
        move = np.where(ended == END, step(linkage[-1], nodes.rate[-1], end - start), 0.0)
        if closing.done(move) and (count or known):
            break
        after = np.maximum(end + move, 0.5 * (start + end))
        ended = np.where((ended == END) & (after > last), CHANGE, ended)
        end = np.minimum(after, last)
    none = np.zeros_like(nodes.current)
    return Stretch(mode=FREEWHEEL, at=at, start=start, end=end, nodes=nodes, line=none, line_rate=none, ended=ended)
