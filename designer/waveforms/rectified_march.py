"""Periodic steady state of a saturating series motor behind a phase-controlled rectifier, many points at once.

Flux linkage by dλ/dt = terminal voltage − R·i(λ) − ω·g(i(λ)) − constant drops, mode after mode on nodes that end at
the events; the periodic state by Newton on the current at turn-on. Everything is done with N and 2N steps a mode, and
again with twice as many on the points whose r.m.s. current or torque moves by more than allowed.
"""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from designer.motor.flux import LinkageTable, Winding
from designer.results import Array, Indices, Mask
from designer.waveforms.rectified import Command, Rectification, Rectified
from designer.waveforms.rectified_cycle import Cycle, cycle, opens, periodic
from designer.waveforms.rectified_linear import rectified as rectified_linear
from designer.waveforms.rectified_modes import Scene
from designer.waveforms.rectified_tally import latches, never_lets_go, nothing, rest_start, tallied

CELLS = 65536          # nodes times points worked on together: more of them, and the processor's cache overflows
MOST_STEPS = 8192
STEPS_AT_1E_5 = 32     # a mode, on the finer of the first two grids compared
#: the curve's kinks make the march third order: half of the change is taken as left, as where a kink lies is chance
LEFT_AFTER_HALVING = 0.5
LOOKS = 32             # steps of the first look at a period from rest
ROUGH = 1e-4           # tolerance of the first grid
TINY = 1e-300
TABLES = 12            # how often the table is made larger: a bound, not a setting


def rectified(circuit: Rectified, winding: Winding, command: Command, *, tolerance: float) -> Rectification:
    """Give the steady state of every point of a series motor with the motor's own ``winding``.

    ``tolerance`` bounds the relative error of r.m.s. current and torque (estimated by halving the steps). A motor
    whose curve is one straight line is solved in closed form as far as its current stays on that line. Points that
    cannot be brought within the bound in ``MOST_STEPS`` steps a mode keep their best value. Raises ``ValueError`` for
    a bridge without a freewheel path.
    """
    if circuit.pulses == 2 and not circuit.freewheel:
        raise ValueError("a half-controlled bridge has a freewheel path")
    if winding.curve.linear:
        return _straight(circuit, winding, command, tolerance)
    return _marched(circuit, winding, command, tolerance)


def _straight(circuit: Rectified, winding: Winding, command: Command, tolerance: float) -> Rectification:
    """The speed voltage of the current acts as a resistance on a straight line."""
    slope, count = winding.curve.initial_slope, len(circuit)
    alike = replace(circuit, resistance=circuit.resistance + slope * circuit.speed)
    exact = rectified_linear(alike, np.full(count, float(winding.inductance(0.0))), command)
    exact = replace(exact, pull=slope * exact.square)
    bent = np.flatnonzero(exact.crest > winding.curve.last_current)
    if bent.size:
        put(exact, bent, _marched(circuit[bent], winding, command[bent], tolerance))
    return exact


def put(into: Rectification, where: Indices, values: Rectification) -> None:
    """Write ``values`` into the places ``where`` of ``into``."""
    for item in fields(Rectification):
        getattr(into, item.name)[where] = getattr(values, item.name)


def _marched(circuit: Rectified, winding: Winding, command: Command, tolerance: float) -> Rectification:
    found = nothing(len(circuit))
    for extra in np.unique(circuit.source_inductance):
        at = np.flatnonzero(circuit.source_inductance == extra)
        size = max(CELLS // (2 * _steps(tolerance)), 1)
        for first in range(0, at.size, size):
            some = at[first : first + size]
            _part(found, some, (circuit[some], winding, command[some]), (float(extra), tolerance))
    return found


def _steps(tolerance: float) -> int:
    """Steps of a mode on the coarser of the two grids that are compared first."""
    return max(4 * int(STEPS_AT_1E_5 / 8 * (1e-5 / tolerance) ** 0.3 + 0.5), 12)


def _part(
    found: Rectification, places: Indices, what: tuple[Rectified, Winding, Command], bound: tuple[float, float]
) -> None:
    """Solve some points and write them into ``found``."""
    circuit, winding, command = what
    tolerance, steps = bound[1], _steps(bound[1])
    scene = scene_of(circuit, winding, bound[0], tolerance)
    at, scene, command, lost = _firing(scene, command)
    if not at.size:
        return
    places = places[at]
    scene, one = _begun(scene, command, max(steps // 2, 4), tolerance)
    one = periodic(scene, command, one.start, steps=steps, tolerance=tolerance, known=one)
    coarse = tallied(scene, one, command)
    while True:
        steps *= 2
        one = periodic(scene, command, one.start, steps=steps, tolerance=tolerance, known=one)
        fine = tallied(scene, one, command)
        fine.lost[:] |= lost
        put(found, places, fine)
        poor = np.flatnonzero(LEFT_AFTER_HALVING * _difference(fine, coarse) > tolerance)
        if not poor.size or 2 * steps > MOST_STEPS:
            break
        places, scene, command, lost = places[poor], scene[poor], command[poor], lost[poor]
        one, coarse = one[poor], fine[poor]


def _firing(scene: Scene, command: Command) -> tuple[Indices, Scene, Command, Mask]:
    """The points that fire and latch, their command, and which of them never let go."""
    turn_on = opens(scene, command)
    fires = np.flatnonzero(np.isfinite(turn_on))
    some, asked = scene[fires], command[fires]
    if not fires.size or not (command.gate.latching or scene.circuit.held):
        return fires, some, asked, np.zeros(fires.size, bool)
    first = cycle(some, rest_start(some, asked, turn_on[fires]), turn_on[fires], steps=LOOKS)
    latched = np.flatnonzero(latches(first, asked))
    lost = never_lets_go(some, first, asked)[latched]
    fires, some, asked = fires[latched], some[latched], asked[latched]
    return fires, some, Command(alpha=np.where(lost, 0.0, asked.alpha), gate=asked.gate), lost


def scene_of(
    circuit: Rectified, winding: Winding, extra: float, tolerance: float, *, reach: float | None = None
) -> Scene:
    """The scene of points with one source inductance ``extra`` (H).

    Its tables go to the linkage ``reach`` (V·s), else as far as one pulse from rest can.
    """
    top = 2.02 * float(np.max(circuit.peak / circuit.omega, initial=0.0)) if reach is None else reach
    table = LinkageTable.reaching(winding, top)
    return _reaching(Scene(circuit=circuit, winding=winding, extra=extra, near=min(0.1 * tolerance**0.5, 1e-3),
                           exact=max(1e-2 * tolerance, 1e-12), motor=table, whole=table), top)


def _reaching(scene: Scene, reach: float) -> Scene:
    """The same with tables up to the linkage ``reach``, V·s."""
    whole = replace(scene.winding, constant=scene.winding.constant + scene.extra)
    return replace(scene, motor=LinkageTable.reaching(scene.winding, reach),
                   whole=LinkageTable.reaching(whole, reach))


def _begun(scene: Scene, command: Command, steps: int, tolerance: float) -> tuple[Scene, Cycle]:
    """The period on few nodes, with tables that reach just beyond its linkage."""
    reach = 2.02 * float(np.max(scene.circuit.peak / scene.circuit.omega))
    for _ in range(TABLES):
        one = periodic(scene, command, None, steps=steps, tolerance=max(tolerance, ROUGH))
        top = max(float(part.nodes.linkage.max()) for part in one.parts.values())
        if top <= reach:
            break
        reach = 1.5 * top
        scene = _reaching(scene, reach)
    return _reaching(scene, 1.1 * top), one


def _difference(fine: Rectification, coarse: Rectification) -> Array:
    """Relative change of r.m.s. current and torque."""
    square = np.abs(fine.square - coarse.square) / (2 * np.abs(fine.square) + TINY)
    pull = np.abs(fine.pull - coarse.pull) / (np.abs(fine.pull) + TINY)
    return np.asarray(np.maximum(square, pull))
