"""One period of a linear motor behind a phase-controlled rectifier, mode after mode, from a given state.

The period runs from the firing angle to the same angle of the next pulse. What then flows in the source's path is
left of the pulse before: while it does the sine of a bridge stands with the other sign at that path.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from designer.results import Array, Indices, Mask
from designer.waveforms.rectified import FREEWHEEL, OFF, OVERLAP, SOURCE, Command, Rectified
from designer.waveforms.rectified_pieces import Piece, Valued, falling_root, piece, wide

MOST_STEPS = 24        # modes in a period; a bound, not a setting
DONE = -1
_GRID = (np.arange(1, 21) / 20.0) ** 2      # close at first, where short overlaps end


@dataclass
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
    one.turn_on[at], one.first[at], one.fired[at], one.armed[at] = one.theta[at], one.motor[at], True, False
    one.sign[at] = 1.0


def _advance(one: Run, mode: int, at: Indices) -> None:
    """Go to the first event of a conducting mode, or to the end of the period."""
    begin = one.theta[at], one.motor[at], one.source[at], one.sign[at]
    now = piece(one.circuit, one.inductance, mode, places=at, begin=begin)
    span = one.end[at] - one.theta[at]
    events = _events(one, mode, now)
    when = np.array([_first(event, span) for event in events])
    if mode == FREEWHEEL:
        at_once = events[1](np.zeros(at.size))[0] <= 0
        when[1][at_once] = 0.0
    which = np.argmin(when, axis=0)
    length = np.minimum(when[which, np.arange(at.size)], span)
    which = np.where(when[which, np.arange(at.size)] <= span, which, len(events))
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
    one.theta[at] = np.where(which == len(events), one.end[at], now.start + length)
    one.motor[at], one.source[at] = np.maximum(now.motor.at(basis), 0.0), np.maximum(now.source.at(basis), 0.0)
    one.mode[at[which == len(events)]] = DONE
    _HAPPENS[mode](one, at[which == 0], at[which == 1])


def _first(event: Valued, span: Array) -> Array:
    """Where an event falls through zero first within ``span`` (rad from the start); infinite where it does not."""
    x = span[:, None] * _GRID
    below = event(x)[0] <= 0
    index = np.argmax(below, axis=1)
    any_ = below.any(axis=1)
    if not any_.any():
        return np.full(len(span), np.inf)
    rows = np.arange(len(span))
    low = np.where(index > 0, x[rows, np.maximum(index - 1, 0)], 0.0)
    return np.where(any_, falling_root(event, low=low, high=x[rows, index]), np.inf)


def _events(one: Run, mode: int, now: Piece) -> list[Valued]:
    """What may end a mode, each as a function above zero while it lasts."""
    if mode == OVERLAP:
        return [lambda x: _difference(now, x), lambda x: _from_rest(now, x)]
    if mode == SOURCE:
        return [lambda x: _from_rest(now, x)] + ([lambda x: _commutes(one, now, x)] if one.circuit.freewheel else [])
    armed = one.armed[now.places] | (one.fired[now.places] & one.circuit.held)
    return [lambda x: _current(now, x), lambda x: _waits(one, now, x, armed)]


def _current(now: Piece, x: Array) -> tuple[Array, Array]:
    basis = now.basis(x)
    return now.motor.at(basis), now.motor.slope(basis)


def _from_rest(now: Piece, x: Array) -> tuple[Array, Array]:
    """The source path's current; where it begins at zero, over x: that zero is not its end."""
    basis = now.basis(x)
    current, slope = now.source.at(basis), now.source.slope(basis)
    initial = now.source.base + now.source.cosine
    rest = wide(initial <= 1e-13 * (np.abs(now.source.base) + np.abs(now.source.cosine)), x)
    over = np.maximum(x, 1e-300)
    return np.where(rest, current / over, current), np.where(rest, (slope - current / over) / over, slope)


def _difference(now: Piece, x: Array) -> tuple[Array, Array]:
    """The freewheel path's current in overlap."""
    basis = now.basis(x)
    noise = wide(1e-14 * (np.abs(now.motor.base) + np.abs(now.motor.cosine)), x)    # at commutation it begins at zero
    return (np.asarray(now.motor.at(basis) - now.source.at(basis) + noise),
            np.asarray(now.motor.slope(basis) - now.source.slope(basis)))


def _commutes(one: Run, now: Piece, x: Array) -> tuple[Array, Array]:
    """By how much the terminal voltage exceeds that of the freewheel path."""
    c, basis = one.circuit[now.places], now.basis(x)
    angle = wide(now.start, x) + x
    volts, volts_slope = (wide(now.sign * c.peak, x) * trig(angle) for trig in (np.sin, np.cos))
    slope = now.motor.slope(basis)
    reactance = c.omega * c.source_inductance
    loop = c.omega * one.inductance[now.places] + reactance
    second = (volts_slope - wide(c.source_resistance + c.on_slope + c.resistance, x) * slope) / wide(loop, x)
    # without inductance in the source all of the current changes over at once, and the path's slope counts
    resistance = c.source_resistance + c.on_slope - c.freewheel_slope * (reactance == 0)
    level = wide(c.freewheel_threshold - c.on_threshold, x)
    return (volts + level - wide(resistance, x) * now.motor.at(basis) - wide(reactance, x) * slope,
            volts_slope - wide(resistance, x) * slope - wide(reactance, x) * second)


def _waits(one: Run, now: Piece, x: Array, armed: Mask) -> tuple[Array, Array]:
    """By how much the freewheel path's voltage still keeps the source's path from conducting."""
    c, basis = one.circuit[now.places], now.basis(x)
    again = np.where(one.fired[now.places], -1.0, 1.0)
    angle = wide(now.start, x) + x
    slope_on = c.freewheel_slope - (c.source_resistance + c.on_slope) * (c.source_inductance == 0)
    volts, volts_slope = (wide(again * c.peak, x) * trig(angle) for trig in (np.sin, np.cos))
    value = wide(c.on_threshold - c.freewheel_threshold, x) - volts - wide(slope_on, x) * now.motor.at(basis)
    slope = -volts_slope - wide(slope_on, x) * now.motor.slope(basis)
    shut = wide(~armed, x)
    return np.where(shut, 1.0, value), np.where(shut, -1.0, slope)


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
    _extinct(one, motor_ends)
    one.motor[motor_ends] = 0.0
    one.armature_extinction[motor_ends] = one.theta[motor_ends]
    one.mode[motor_ends] = OFF
    fired = one.fired[commutates]
    one.commutation[commutates[fired]] = one.theta[commutates[fired]]
    one.tail_commutation[commutates[~fired]] = one.theta[commutates[~fired]]
    bare = one.circuit.source_inductance[commutates] == 0
    one.mode[commutates] = np.where(bare, FREEWHEEL, OVERLAP)
    _extinct(one, commutates[bare])


def _after_freewheel(one: Run, motor_ends: Indices, fires: Indices) -> None:
    one.motor[motor_ends] = 0.0
    one.armature_extinction[motor_ends] = one.theta[motor_ends]
    one.mode[motor_ends] = OFF
    again = one.fired[fires]
    one.refired[fires[again]] = True
    one.mode[fires[again]] = DONE
    fires = fires[~again]
    _fire(one, fires)
    bare = one.circuit.source_inductance[fires] == 0
    one.mode[fires] = np.where(bare, SOURCE, OVERLAP)
    one.source[fires] = np.where(bare, one.motor[fires], 0.0)


def _extinct(one: Run, at: Indices) -> None:
    fired = one.fired[at]
    one.extinction[at[fired]] = one.theta[at[fired]]
    one.tail[at[~fired]] = one.theta[at[~fired]]
    one.source[at], one.sign[at] = 0.0, 1.0


_HAPPENS = {OVERLAP: _after_overlap, SOURCE: _after_source, FREEWHEEL: _after_freewheel}
