"""Flux linkage of many operating points over one conduction interval, on evenly spaced nodes.

dλ/dθ = f = F(θ) − G(λ) of every point is solved on all nodes at once, by λ1 = λ0 + w·(f0 + f1)/2 +
w²·(f0′ − f1′)/12 from node to node (fourth order, stable at any width w: Hairer, Nørsett and Wanner,
Solving Ordinary Differential Equations, from memory). i(λ) and g(λ) are straight pieces, so one round
of Newton's method is one look-up of all nodes, then a·λ + b along them. Wide steps first, from a rough
scout; halving the steps begins from the wider ones' answer, so that one round is mostly enough.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from designer.motor.flux import LinkageTable
from designer.results import Array, Indices
from designer.waveforms.path import Path

SCOUT_STEPS = 10      # over the longest possible interval, to find about how long it is
MARGIN = 1.03         # nodes reach beyond the end that was guessed by this
SHORTEST, LONGEST = 0.75, 0.985   # where on its nodes an interval may end, else new nodes are laid
ROUNDS = 60           # of Newton, and of laying nodes: a bound, not a setting
TINY = 1e-300


class Desk:
    """The table, how near is near enough, and arrays that are written over again and again.

    Fresh memory for every array would cost as much as all the arithmetic. What a track holds is written over
    by the second solving after its own: index it to keep it.
    """

    def __init__(self, table: LinkageTable, near: float) -> None:
        """``near``: the move of a node, as a share of the crest, at which a solution is settled."""
        self.table, self.near = table, near
        self.side = 0
        self._kept: dict[str, Array] = {}

    def room(self, name: str, *shape: int) -> Array:
        """An array of this shape with anything in it."""
        size = math.prod(shape)
        flat = self._kept.get(name)
        if flat is None or flat.size < size:
            flat = self._kept[name] = np.empty(size)
        return flat[:size].reshape(shape)

    def lasting(self, name: str, *shape: int) -> Array:
        """Likewise, one that lasts until the second solving after this."""
        return self.room(f"{name}{self.side}", *shape)


@dataclass(frozen=True, kw_only=True)
class Track:
    """Points on their way, with the ``width`` between their nodes (rad).

    By (node, point): sine and cosine of the source's angle, linkage λ (V·s), half its change per width
    (``rate``), and the table's ``rows``: current = row 0 + row 2·λ, odd part = row 1 + row 3·λ.
    ``moved`` is how far, as a share of its crest, the linkage lay from what it was begun with.
    """

    path: Path
    turn_on: Array
    width: Array
    sine: Array
    cosine: Array
    linkage: Array
    rate: Array
    rows: Array
    moved: Array

    def __getitem__(self, chosen: Indices) -> Track:
        # the points are the last axis of every array
        arrays = {f.name: getattr(self, f.name)[..., chosen] for f in fields(self) if f.name != "path"}
        return Track(path=self.path[chosen], **arrays)

    def halved(self, desk: Desk) -> Track:
        """The same interval with twice the nodes."""
        desk.side ^= 1
        half = self.width / 2
        share = 0.5 / np.cos(half)   # of the sum of two neighbours' sines: the sine between them
        bend = self.rate[:-1] - self.rate[1:]
        bend *= 0.5
        shape = 2 * len(self.sine) - 1, len(half)
        sine, cosine, guess = (desk.lasting(name, *shape) for name in ("sine", "cosine", "guess"))
        _weave(sine, self.sine, share)
        _weave(cosine, self.cosine, share)
        _weave(guess, self.linkage, 0.5, bend)
        return settled(self.path, desk, (self.turn_on, half), source=(sine, cosine), guess=guess)


def joined(tracks: Sequence[Track]) -> Track:
    """One after the other."""
    arrays = {
        f.name: np.concatenate([getattr(track, f.name) for track in tracks], axis=-1)
        for f in fields(Track) if f.name != "path"
    }
    path = Path(**{f.name: np.concatenate([getattr(track.path, f.name) for track in tracks]) for f in fields(Path)})
    return Track(path=path, **arrays)


def fitted(path: Path, desk: Desk, turn_on: Array, *, steps: int) -> Track:
    """Lay ``steps`` steps over each interval, its end a little before the last, and solve them."""
    # for a pure inductance the interval is 2(π − turn-on); resistance and speed only shorten it
    width = np.minimum(np.pi, 2 * (np.pi - turn_on)) / SCOUT_STEPS
    linkage = _scouted(path, desk.table, turn_on, width)
    length = MARGIN * width * _end(linkage, none=SCOUT_STEPS)
    for _ in range(ROUNDS):
        track = laid(path, desk, (turn_on, length / steps), (width, linkage), steps=steps)
        width, linkage = track.width, track.linkage
        end = _end(linkage, none=1.3 * steps)
        off = (end < SHORTEST * steps) | (end > LONGEST * steps)
        if not off.any():
            return track
        length = np.where(off, MARGIN * width * end, length)
    raise ArithmeticError("the end of a conduction interval was not found")


def laid(
    path: Path, desk: Desk, nodes: tuple[Array, Array], known: tuple[Array, Array], *, steps: int
) -> Track:
    """Solve on ``steps`` steps from ``nodes`` (turn-on, width), beginning with ``known`` (width, linkage)."""
    turn_on, width = nodes
    counted = np.arange(steps + 1.0)[:, None]
    place = counted * (width / known[0])
    at = np.minimum(place.astype(np.intp), len(known[1]) - 2)
    column = np.arange(len(path))
    low, high = known[1][at, column], known[1][at + 1, column]
    low += (place - at) * (high - low)
    few = counted[::4] if steps % 4 == 0 else counted
    angle = turn_on + few * width
    sine, cosine = np.sin(angle), np.cos(angle)
    for times in (2.0, 1.0) if steps % 4 == 0 else ():
        share = 0.5 / np.cos(times * width)
        between = np.empty((2, 2 * len(sine) - 1, len(path)))
        _weave(between[0], sine, share)
        _weave(between[1], cosine, share)
        sine, cosine = between
    desk.side ^= 1
    return settled(path, desk, nodes, source=(sine, cosine), guess=low)


def settled(
    path: Path, desk: Desk, nodes: tuple[Array, Array], *, source: tuple[Array, Array], guess: Array
) -> Track:
    """Solve all nodes from a guess; ``nodes`` are turn-on and width, ``source`` sine and cosine.

    Stops once no node has moved by more than ``desk.near`` of the crest in a round; as the right digits
    double, what is left is about the square of that. Stops too where a round no longer halves the move (as
    may be with steps that are far too wide): what is wrong then shows when the steps are halved.
    """
    width, shape = nodes[1], guess.shape
    feed, turn = (desk.room(name, *shape) for name in ("feed", "turn"))
    pair = desk.room("pair", 2, *shape)
    spare = pair[0]
    move = desk.room("move", (shape[0] + 1) // 2, shape[1])
    push, fall = desk.lasting("push", *shape), desk.room("fall", *shape)
    span = 0.5 * width / path.omega
    swing, turns, pulls = span * path.peak, span * path.resistance, span * path.speed
    np.multiply(source[0], swing, out=feed)
    feed -= span * path.opposing
    np.multiply(source[1], swing * width / 6, out=turn)
    linkage, before, first = guess, np.inf, guess
    for count in range(ROUNDS):
        rows = desk.table.rows_at(linkage, desk.lasting("rows", 4, *shape), pair)
        np.multiply(rows[0], turns, out=push)
        push += np.multiply(rows[1], pulls, out=spare)
        np.subtract(feed, push, out=push)
        np.multiply(rows[2], turns, out=fall)
        fall += np.multiply(rows[3], pulls, out=spare)
        new = _stepped(desk, desk.lasting(f"linkage{count % 2}", *shape), push, fall, turn)
        np.subtract(new[::2], linkage[::2], out=move)
        np.abs(move, out=move)
        moves = move.max(axis=0) / np.maximum(new[::2].max(axis=0), TINY)
        if not count:
            first = moves
        linkage, worst = new, float(moves.max())
        if worst <= desk.near or (count > 1 and worst >= 0.5 * before):
            break
        before = worst
    fall *= linkage
    push -= fall
    return Track(path=path, turn_on=nodes[0], width=width, sine=source[0], cosine=source[1], linkage=linkage,
                 rate=push, rows=rows, moved=first)


def _stepped(desk: Desk, out: Array, push: Array, fall: Array, turn: Array) -> Array:
    """Linkage from zero on, where f/2 = ``push`` − ``fall``·λ is half its change per width and
    f′/12 = ``turn`` − ``fall``·f/6.
    """
    third, over, ahead, keep, add = (desk.room(name, *push.shape) for name in ("third", "over", "ahead", "keep", "add"))
    np.multiply(fall, 1 / 3, out=third)
    np.multiply(third, fall, out=over)
    over += 1
    np.subtract(over, fall, out=keep)
    over += fall
    third *= push
    np.subtract(turn, third, out=third)
    np.add(push, third, out=ahead)
    np.subtract(push, third, out=add)
    keep, add, over = keep[:-1], add[1:], over[1:]
    keep /= over
    add += ahead[:-1]
    add /= over
    out[0] = 0.0
    for now, after, factor, term in zip(out, out[1:], keep, add, strict=False):
        np.multiply(now, factor, out=after)
        after += term
    return out


def _scouted(path: Path, table: LinkageTable, turn_on: Array, width: Array) -> Array:
    """A rough linkage by the trapezoid rule, made straight at each step's start."""
    sine = np.sin(turn_on + np.arange(SCOUT_STEPS + 1.0)[:, None] * width)
    span = width / path.omega
    feed = span * path.peak * sine - span * path.opposing
    feed = 0.5 * (feed[:-1] + feed[1:])
    pull = np.array((path.resistance, path.speed)) * span
    linkage = np.zeros((SCOUT_STEPS + 1, len(path)))
    for now, after, fed in zip(linkage, linkage[1:], feed, strict=False):
        rows = table.rows_at(now).reshape(2, 2, -1)
        rows *= pull
        push, fall = rows[:, 0] + rows[:, 1]
        # the rate in the middle of the step: at its start less half of what the step takes off
        np.divide(fed - push - fall * now, 1 + 0.5 * fall, out=after)
        after += now
    return linkage


def _end(linkage: Array, *, none: float) -> Array:
    """Where the linkage first falls to zero, in nodes; ``none`` where it does not."""
    below = linkage[1:] <= 0
    first = below.argmax(axis=0)
    column = np.arange(linkage.shape[1])
    before, after = linkage[first, column], linkage[first + 1, column]
    # from zero straight to below it: nodes too wide by far
    share = np.where(before > 0, before / np.where(before > after, before - after, 1.0), 0.5)
    return np.where(after <= 0, first + share, none)


def _weave(result: Array, nodes: Array, share: Array | float, more: Array | None = None) -> None:
    """Write the nodes with ``share`` times two neighbours' sum, plus ``more``, between them."""
    result[::2] = nodes
    between = result[1::2]
    np.add(nodes[:-1], nodes[1:], out=between)
    if more is not None:
        between += more
    between *= share
