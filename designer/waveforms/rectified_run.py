"""One period of a linear motor behind a phase-controlled rectifier, mode after mode, from a given state.

The period runs from the firing angle to the same angle of the next pulse. What then flows in the source's path is
left of the pulse before: while it does the sine of a bridge stands with the other sign at that path.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from designer.results import Array, Indices, Mask
from designer.waveforms.rectified import FREEWHEEL, OFF, OVERLAP, SOURCE, Command, Rectified
from designer.waveforms.rectified_events import events, first
from designer.waveforms.rectified_pieces import Piece, piece

MOST_STEPS = 24        # modes in a period; a bound, not a setting
DONE = NOTHING = -1


@dataclass(frozen=True, kw_only=True)
class Run:
    """A period under way: where each point stands, and the angles of what has happened (nan where it has not)."""

    circuit: Rectified
    inductance: Array
    command: Command
    end: Array
    last: Array
    theta: Array
    motor: Array
    source: Array
    sign: Array
    mode: Array
    armed: Mask
    fired: Mask
    refired: Mask
    latched: Mask
    turn_on: Array
    overlap_on: Array
    commutation: Array
    extinction: Array
    armature_extinction: Array
    tail: Array                  # extinction of the pulse before, where it flows beyond the firing angle
    tail_commutation: Array
    first: Array
    pieces: list[Piece]


def run(circuit: Rectified, inductance: Array, command: Command, state: tuple[Array, Array],
        *, shut: Mask | None = None) -> Run:
    """March one period from ``state``, the motor's and the source path's current (A) at the firing angle.

    ``shut``: the points whose gate stays shut. A point that does not latch is marched again with its gate shut.
    """
    one = _begin(circuit, inductance, command, state, np.zeros(len(circuit), bool) if shut is None else shut)
    for _ in range(MOST_STEPS):
        open_ = one.mode != DONE
        if not open_.any():
            break
        for mode in (OVERLAP, SOURCE, FREEWHEEL, OFF):
            at = np.flatnonzero(one.mode == mode)
            if at.size:
                _off(one, at) if mode == OFF else _advance(one, mode, at)
    dead = one.fired & ~one.latched
    if shut is None and dead.any():
        return run(circuit, inductance, command, state, shut=dead)
    return one


def _begin(circuit: Rectified, inductance: Array, command: Command, state: tuple[Array, Array], shut: Mask) -> Run:
    count, (motor, source) = len(circuit), state
    flows = source > 0
    through = flows & (source >= motor * (1 - 1e-12)) | flows & (circuit.source_inductance == 0)
    mode = np.select([through, flows, (motor > 0) & circuit.freewheel], [SOURCE, OVERLAP, FREEWHEEL], OFF)
    never = np.full(count, np.nan)
    return Run(
        circuit=circuit, inductance=inductance, command=command,
        end=command.alpha + 2 * np.pi / circuit.pulses, last=command.gate.last(command.alpha),
        theta=command.alpha.copy(), motor=motor.copy(), source=np.where(through, motor, source),
        sign=np.where(flows & (circuit.pulses == 2), -1.0, 1.0), mode=mode, armed=~shut,
        fired=np.zeros(count, bool), refired=np.zeros(count, bool),
        latched=np.full(count, not command.gate.latching), turn_on=never, overlap_on=np.zeros(count),
        commutation=never.copy(), extinction=never.copy(), armature_extinction=never.copy(), tail=never.copy(),
        tail_commutation=never.copy(), first=np.zeros(count), pieces=[])


def _off(one: Run, at: Indices) -> None:
    """Nothing conducts: fire when the source exceeds what opposes it in the window, else wait for the end."""
    circuit, now = one.circuit, one.theta[at]
    share = (circuit.on_threshold + circuit.back)[at] / circuit.peak[at]
    opens = np.arcsin(np.clip(share, -1.0, 1.0))
    when = np.maximum(now, opens)
    fires = one.armed[at] & (share < 1.0) & (when < np.minimum(one.last[at], np.pi - opens))
    until = np.where(fires, when, one.end[at])
    rest = piece(circuit, one.inductance, OFF, places=at, begin=(now, one.motor[at] * 0, one.source[at] * 0,
                                                                one.sign[at]))
    one.pieces.append(rest.ended(until - now))
    one.theta[at], one.motor[at], one.source[at] = until, 0.0, 0.0
    one.armed[at] = False
    one.mode[at] = np.where(fires, SOURCE, DONE)
    _fire(one, at[fires])


def _fire(one: Run, at: Indices) -> None:
    # where it had fired before, that was the taking over of a current that soon ended: of the pulse before
    again = at[one.fired[at]]
    one.armature_extinction[again] += 2 * np.pi / one.circuit.pulses
    one.commutation[again], one.extinction[again], one.overlap_on[again] = np.nan, np.nan, 0.0
    one.turn_on[at], one.first[at], one.fired[at], one.armed[at] = one.theta[at], one.motor[at], True, False
    one.sign[at] = 1.0


def _advance(one: Run, mode: int, at: Indices) -> None:
    """Go to the first event of a conducting mode, or to the end of the period."""
    begin = one.theta[at], one.motor[at], one.source[at], one.sign[at]
    now = piece(one.circuit, one.inductance, mode, places=at, begin=begin)
    span = one.end[at] - one.theta[at]
    when = _when(one, mode, now, span)
    which = np.argmin(when, axis=0)
    length = np.minimum(when[which, np.arange(at.size)], span)
    which = np.where(when[which, np.arange(at.size)] <= span, which, NOTHING)
    if mode == FREEWHEEL:
        # a gate window that closes before the source exceeds what opposes it: the same once more, not armed
        late = (which == 1) & ~one.fired[at] & (one.theta[at] + length >= one.last[at])
        one.armed[at[late]] = False
        keep = np.flatnonzero(~late)
        now, at, length, which = now[keep], at[keep], length[keep], which[keep]
    now = now.ended(length)
    one.pieces.append(now)
    if one.command.gate.latching and mode != FREEWHEEL:
        _latch(one, now)
    basis = now.basis(length)
    one.theta[at] = np.where(which == NOTHING, one.end[at], now.start + length)
    one.motor[at], one.source[at] = np.maximum(now.motor.at(basis), 0.0), np.maximum(now.source.at(basis), 0.0)
    one.mode[at[which == NOTHING]] = DONE
    _HAPPENS[mode](one, at[which == 0], at[which == 1])


def _when(one: Run, mode: int, now: Piece, span: Array) -> Array:
    """Where each event of a mode comes first, rad from its start; infinite where it does not (rows: events)."""
    might, at = events(one, mode), now.places
    when = np.full((len(might), at.size), np.inf)
    todo = np.arange(at.size)
    if mode == FREEWHEEL:
        waits = one.armed[at] | (one.fired[at] & one.circuit.held)
        if waits.any():
            at_once = might[1](now)(np.zeros(at.size))[0] <= 0
            when[1][at_once], todo = 0.0, np.flatnonzero(~at_once)
        else:
            might = might[:1]
    if todo.size:
        rest = now if todo.size == at.size else now[todo]
        for row, event in zip(when, might, strict=False):
            row[todo] = first(event, rest, span[todo])
    return when


def _latch(one: Run, now: Piece) -> None:
    """Note which points reach the latching current before their gate window closes."""
    window = np.minimum(now.length, one.last[now.places] - now.start)
    x = np.maximum(window, 0.0)[:, None] * np.linspace(0.0, 1.0, 33)
    reached = now.source.at(now.basis(x)).max(axis=1) >= one.command.gate.latching
    one.latched[now.places] |= reached & (window >= 0) & one.fired[now.places]


def _after_overlap(one: Run, source_alone: Indices, source_ends: Indices) -> None:
    one.source[source_alone] = one.motor[source_alone]
    one.mode[source_alone] = SOURCE
    began = one.fired[source_alone] & np.isnan(one.commutation[source_alone])
    opening = source_alone[began]
    one.overlap_on[opening] = one.theta[opening] - one.turn_on[opening]
    never = source_ends[one.fired[source_ends] & np.isnan(one.commutation[source_ends])]
    one.overlap_on[never] = one.theta[never] - one.turn_on[never]
    one.commutation[never] = one.turn_on[never]
    _extinct(one, source_ends)
    one.mode[source_ends] = FREEWHEEL


def _after_source(one: Run, motor_ends: Indices, commutates: Indices) -> None:
    _rest(one, motor_ends)
    _extinct(one, motor_ends)
    # a gate that is still driven fires again what ended before the source had risen enough
    one.armed[motor_ends] |= one.fired[motor_ends] & (one.theta[motor_ends] < one.last[motor_ends])
    fired = one.fired[commutates]
    one.commutation[commutates[fired]] = one.theta[commutates[fired]]
    one.tail_commutation[commutates[~fired]] = one.theta[commutates[~fired]]
    bare = one.circuit.source_inductance[commutates] == 0
    one.mode[commutates] = np.where(bare, FREEWHEEL, OVERLAP)
    _extinct(one, commutates[bare])


def _after_freewheel(one: Run, motor_ends: Indices, fires: Indices) -> None:
    _rest(one, motor_ends)
    again = one.fired[fires]
    one.refired[fires[again]] = True
    one.mode[fires[again]] = DONE
    fires = fires[~again]
    _fire(one, fires)
    bare = one.circuit.source_inductance[fires] == 0
    one.mode[fires] = np.where(bare, SOURCE, OVERLAP)
    one.source[fires] = np.where(bare, one.motor[fires], 0.0)


def _rest(one: Run, at: Indices) -> None:
    """The motor's current is zero; told as of the pulse that it belongs to."""
    turn = np.where(one.fired[at], 0.0, 2 * np.pi / one.circuit.pulses)
    one.armature_extinction[at], one.motor[at], one.mode[at] = one.theta[at] + turn, 0.0, OFF


def _extinct(one: Run, at: Indices) -> None:
    fired = one.fired[at]
    one.extinction[at[fired]] = one.theta[at[fired]]
    one.tail[at[~fired]] = one.theta[at[~fired]]
    one.source[at], one.sign[at] = 0.0, 1.0


_HAPPENS = {OVERLAP: _after_overlap, SOURCE: _after_source, FREEWHEEL: _after_freewheel}
