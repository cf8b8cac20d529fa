"""What one period of a saturating motor behind a rectifier tells: integrals, extremes, angles."""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from designer.results import Array, Mask
from designer.waveforms.rectified import FREEWHEEL, SOURCE, Command, Rectification
from designer.waveforms.rectified_cycle import Cycle, Start, opens_while_flowing
from designer.waveforms.rectified_modes import END, Scene, Stretch, angles
from designer.waveforms.rectified_nodes import crest, integral

ANGLES = ("turn_on", "commutation", "extinction", "armature_extinction")
MASKS = ("continuous", "late", "missed", "lost")
SUMS = ("charge", "square", "pull", "source_charge", "source_square", "drawn", "freewheel_charge", "freewheel_square")
LATE = 1e-12           # rad


def nothing(count: int) -> Rectification:
    """Points that never fire."""
    values = {item.name: np.zeros(count) for item in fields(Rectification)}
    values |= {name: np.full(count, np.nan) for name in ANGLES}
    masks = {name: np.full(count, name == "missed") for name in MASKS}
    return Rectification(**(values | masks))


def tallied(scene: Scene, one: Cycle, command: Command) -> Rectification:
    """Sum up a period of points that all fire."""
    count, start = one.image.size, one.start
    total = {name: np.zeros(count) for name in SUMS}
    tops = {name: np.zeros(count) for name in ("crest", "source_crest", "freewheel_crest")}
    least = np.where(one.image > 0, np.inf, 0.0)
    for part in one.parts.values():
        _sum(scene, part, total)
        _extremes(part, tops, least)
    pulses = scene.circuit.pulses
    slope, reapplied = _turn_off(scene, one)
    tied = start.turn_on + 2 * np.pi / pulses <= one.extinction + 1e-9
    opening = one.parts.get("opening")
    overlap_on = np.zeros(count)
    if opening:
        overlap_on[opening.at] = opening.end - opening.start
    return Rectification(
        turn_on=start.turn_on, overlap_on=overlap_on, commutation=one.commutation, extinction=one.extinction,
        armature_extinction=one.armature_extinction, continuous=np.isnan(one.armature_extinction),
        late=(start.turn_on > command.alpha + LATE) & ~tied, missed=np.zeros(count, bool),
        lost=one.extinction - 2 * np.pi / pulses > command.alpha, first=start.current, slope=slope,
        reapplied=reapplied, least=np.maximum(least, 0.0),
        **{name: pulses * value for name, value in total.items()}, **tops)


def _sum(scene: Scene, part: Stretch, total: dict[str, Array]) -> None:
    c, at, nodes = scene.circuit, part.at, part.nodes
    motor, slope, odd, turn = nodes.current, nodes.current_rate, nodes.odd, nodes.odd_rate
    line, rise = part.line, part.line_rate

    def add(name: str, value: Array, rate: Array) -> None:
        total[name][at] += integral(part.width, value, (rate[0], rate[-1]))

    ends = [0, -1]
    add("charge", motor, slope[ends])
    add("square", motor * motor, (2 * motor * slope)[ends])
    add("pull", odd * motor, (odd * slope + turn * motor)[ends])
    if part.mode != FREEWHEEL:
        theta = angles(part.start, part.width, len(line) - 1)
        peak = c.peak[at]
        sine, cosine = peak * np.sin(theta), peak * np.cos(theta[ends])
        add("source_charge", line, rise[ends])
        add("source_square", line * line, (2 * line * rise)[ends])
        add("drawn", line * sine, rise[ends] * sine[ends] + line[ends] * cosine)
    if part.mode != SOURCE:
        other, fall = motor - line, slope - rise
        add("freewheel_charge", other, fall[ends])
        add("freewheel_square", other * other, (2 * other * fall)[ends])


def _extremes(part: Stretch, tops: dict[str, Array], least: Array) -> None:
    motor, slope, width = part.nodes.current, part.nodes.current_rate, part.width
    np.maximum.at(tops["crest"], part.at, crest(width, motor, slope))
    np.minimum.at(least, part.at, -crest(width, -motor, -slope))
    if part.mode != FREEWHEEL:
        np.maximum.at(tops["source_crest"], part.at, crest(width, part.line, part.line_rate))
    if part.mode != SOURCE:
        np.maximum.at(tops["freewheel_crest"], part.at, crest(width, motor - part.line, slope - part.line_rate))


def _turn_off(scene: Scene, one: Cycle) -> tuple[Array, Array]:
    """Slope of the source path's current at its end (A/s), and the reverse voltage that then stands there (V)."""
    c, count = scene.circuit, one.image.size
    slope, behind = np.zeros(count), np.zeros(count)
    for name in ("source", "source again", "closing", "opening"):
        part = one.parts.get(name)
        if part is None:
            continue
        last = np.flatnonzero(part.end == one.extinction[part.at])
        at = part.at[last]
        slope[at] = np.abs(part.line_rate[-1, last]) * c.omega[at]
        ended = (part.ended[last] == END) & (part.mode == SOURCE)
        flowing = c.freewheel_threshold[at] + c.freewheel_slope[at] * part.nodes.current[-1, last]
        behind[at] = np.where(ended, c.standing[at], -flowing)
    return slope, np.abs(c.peak * np.sin(one.extinction) - behind)


def latches(one: Cycle, command: Command) -> Mask:
    """True where the source path's current reaches the latching current before the gate window closes."""
    reached = np.full(one.image.size, not command.gate.latching)
    last = command.gate.last(command.alpha)
    for name in ("opening", "source"):
        part = one.parts.get(name)
        if part is None or not command.gate.latching:
            continue
        window = last[part.at]
        theta = angles(part.start, part.width, len(part.line) - 1)
        inside = np.where(theta <= window, part.line, 0.0).max(axis=0)
        place = np.clip((window - part.start) / part.width, 0.0, len(part.line) - 1.0)
        left = np.minimum(place.astype(np.intp), len(part.line) - 2)
        column = np.arange(window.size)
        low, high = part.line[left, column], part.line[left + 1, column]
        at_last = np.where(window >= part.start, low + (place - left) * (high - low), 0.0)
        reached[part.at] |= np.maximum(inside, at_last) >= command.gate.latching
    return reached


def never_lets_go(scene: Scene, first: Cycle, command: Command) -> Mask:
    """From rest: the current still flows through the controlled device when the source drives it again."""
    count = first.image.size
    if not scene.circuit.held:
        return np.zeros(count, bool)
    at_once = Command(alpha=np.zeros(count), gate=command.gate)
    tail = first.parts.get("freewheel")
    last = np.full(count, -np.inf)
    current = np.zeros(count)
    if tail:
        last[tail.at], current[tail.at] = tail.end, tail.nodes.current[-1]
    again = opens_while_flowing(scene, at_once, np.maximum(current, 0.0)) + 2 * np.pi / scene.circuit.pulses
    return np.asarray(last > again - LATE)


def rest_start(scene: Scene, command: Command, turn_on: Array) -> Start:
    """A period that starts without current."""
    none = np.zeros(turn_on.size)
    until = opens_while_flowing(scene, command, none) + 2 * np.pi / scene.circuit.pulses
    return Start(turn_on=turn_on, current=none, until=until)
