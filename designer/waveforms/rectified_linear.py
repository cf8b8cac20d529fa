"""Periodic steady state of a linear motor behind a phase-controlled rectifier: closed forms per mode, one root a point.

The state is the motor's current at the firing angle, and what then still flows of the pulse before. A period maps it
to that of the next pulse; the fixed point is found by Broyden's steps, held between bounds.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from designer.results import Array, Indices, Mask
from designer.waveforms.rectified import FREEWHEEL, OFF, Command, Rectification, Rectified
from designer.waveforms.rectified_run import Run, run
from designer.waveforms.rectified_sums import sums

_EXACT = 3e-13         # of the current's scale
_ITERATIONS = 200
_PLAIN = 60            # after so many steps the map itself is followed


@dataclass(frozen=True, kw_only=True)
class Solved:
    """The periodic state of every point: its period, piece by piece, and whether the firing angle has a say."""

    period: Run
    lost: Mask


def rectified(circuit: Rectified, inductance: Array, command: Command) -> Rectification:
    """Give the steady state of every point of a motor of constant ``inductance`` (H).

    Without a freewheel path the half-wave current always ends. Where the freewheel path leads through the controlled
    device (``held``), the first pulse from rest tells: if its current does not end before the source drives it again,
    the device never lets go and the rectifier runs as if made of diodes. A latching current counts from rest too: what
    does not latch then never starts. A bridge that has no freewheel path at all
    is not one of these circuits: ``ValueError``.
    """
    return told(circuit, solve(circuit, inductance, command))


def solve(circuit: Rectified, inductance: Array, command: Command) -> Solved:
    """Find the periodic state of every point."""
    if circuit.pulses == 2 and not circuit.freewheel:
        raise ValueError("a half-controlled bridge has a freewheel path")
    count = len(circuit)
    if not circuit.freewheel:
        return Solved(period=run(circuit, inductance, command, (np.zeros(count), np.zeros(count))),
                      lost=np.zeros(count, bool))
    if circuit.held:
        return _held(circuit, inductance, command)
    period = _periodic(circuit, inductance, command)
    return Solved(period=period, lost=np.isfinite(period.tail))


def _held(circuit: Rectified, inductance: Array, command: Command) -> Solved:
    rest = np.zeros(len(circuit))
    lost = run(circuit, inductance, command, (rest, rest)).refired
    # what never lets go conducts from the source's zero on, whatever the gate does
    always = Command(alpha=np.where(lost, 0.0, command.alpha), gate=command.gate)
    return Solved(period=_periodic(replace(circuit, held=False), inductance, always), lost=lost)


def _periodic(circuit: Rectified, inductance: Array, command: Command) -> Run:
    count = len(circuit)
    state, todo = np.zeros((2, count)), np.arange(count)
    first = run(circuit, inductance, command, (state[0], state[1]))
    image = np.array((first.motor, first.source))
    todo = np.flatnonzero(image[0] > 0)
    if todo.size:
        period = 2 * np.pi / circuit.pulses
        kept = np.exp(-circuit.resistance / (circuit.omega * inductance) * period)[todo]
        search = _Search(circuit[todo], inductance[todo], command[todo], kept)
        state[:, todo] = search.fixed_point(image[:, todo])
        first = run(circuit, inductance, command, (state[0], state[1]))
    return first


class _Search:
    """Broyden's search for the state that a period maps to itself, all points at once."""

    def __init__(self, circuit: Rectified, inductance: Array, command: Command, kept: Array) -> None:
        self.circuit, self.inductance, self.command, self.kept = circuit, inductance, command, kept

    def image(self, state: Array, at: Indices) -> Array:
        """Where the states go in one period."""
        end = run(self.circuit[at], self.inductance[at], self.command[at], (state[0], state[1]))
        return np.array((end.motor, end.source))

    def fixed_point(self, image: Array) -> Array:
        """Begin with the image of rest; what is left of the state fades by about ``kept`` a period."""
        state = image * np.array((1 / (1 - self.kept), np.ones_like(self.kept)))
        state[1] = np.minimum(state[1], state[0])
        todo = np.arange(state.shape[1])
        inverse = np.zeros((2, 2, todo.size))       # of 1 − the map's slope
        inverse[0, 0], inverse[1, 1] = 1 / (1 - self.kept), 1.0
        left = self.image(state, todo) - state
        for turn in range(_ITERATIONS):
            step = np.einsum("ijn,jn->in", inverse[:, :, todo], left) if turn < _PLAIN else left
            new = state[:, todo] + step
            new[0] = np.maximum(new[0], 0.0)
            new[1] = np.clip(new[1], 0.0, new[0])
            step = new - state[:, todo]
            after = self.image(new, todo) - new
            state[:, todo] = new
            _learn(inverse, todo, step, left - after)
            scale = np.maximum(new[0] + np.abs(after[0]), 1e-9)
            open_ = np.abs(after).max(axis=0) > _EXACT * scale
            stuck = np.abs(step).max(axis=0) <= 2e-16 * scale
            todo, left = todo[open_ & ~stuck], after[:, open_ & ~stuck]
            if not todo.size:
                break
        return state


def _learn(inverse: Array, at: Indices, step: Array, fell: Array) -> None:
    """Broyden's correction of the inverse from a step and by how much the residual fell."""
    known = inverse[:, :, at]
    moved = np.einsum("ijn,jn->in", known, fell)
    back = np.einsum("in,ijn->jn", step, known)
    size = np.einsum("in,in->n", step, moved)
    good = np.abs(size) > 1e-3 * np.einsum("in,in->n", step, step) + 1e-300
    share = np.where(good, 1 / np.where(good, size, 1.0), 0.0)
    inverse[:, :, at] = known + np.einsum("in,jn->ijn", (step - moved) * share, back)


def told(circuit: Rectified, solved: Solved) -> Rectification:
    """Everything that one period tells."""
    period, lost = solved.period, solved.lost
    count, turn = len(circuit), 2 * np.pi / circuit.pulses
    extinction = np.where(np.isnan(period.extinction), period.tail + turn, period.extinction)
    commutation = np.where(np.isnan(period.commutation), period.tail_commutation + turn, period.commutation)
    continuous = period.fired & np.isnan(period.armature_extinction)
    once = np.maximum(period.command.alpha, np.nan_to_num(period.tail, nan=-9.0))
    slope, reapplied = _turn_off(circuit, period)
    total = sums(circuit, period.pieces, count)
    return Rectification(
        turn_on=period.turn_on, overlap_on=period.overlap_on, commutation=commutation, extinction=extinction,
        armature_extinction=np.where(period.fired, period.armature_extinction, np.nan), continuous=continuous,
        late=period.fired & (period.turn_on > once + 1e-12), missed=~period.fired, lost=lost, first=period.first,
        slope=slope, reapplied=reapplied, pull=np.zeros(count), **total)


def _turn_off(circuit: Rectified, period: Run) -> tuple[Array, Array]:
    """Slope of the source path's current at its end (A/s), and the reverse voltage that then stands there (V)."""
    slope, reapplied = np.zeros(len(circuit)), np.zeros(len(circuit))
    for part in period.pieces:
        if part.mode in (OFF, FREEWHEEL):
            continue
        at, end = part.places, part.start + part.length
        ends = (end == period.extinction[at]) & (part.sign > 0) | (end == period.tail[at])
        if not ends.any():
            continue
        chosen = np.flatnonzero(ends)
        at, some, c = at[chosen], part[chosen], circuit[at[chosen]]
        basis = some.basis(some.length)
        slope[at] = np.abs(some.source.slope(basis)) * c.omega
        bare = some.motor.at(basis) <= 1e-9 * np.abs(some.motor.base) if part.mode == 1 else np.zeros(at.size, bool)
        behind = np.where(bare, c.standing, -c.freewheel_threshold - c.freewheel_slope * some.motor.at(basis))
        reapplied[at] = np.abs(some.sign * c.peak * np.sin(end[chosen]) - behind)
    return slope, reapplied
