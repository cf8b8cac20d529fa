"""The one reading that would tell most: covariance expected after each candidate, by Fisher information.

Candidates lie within the bench's supplies and the motor's limits. For each, what it would read is predicted from the
present fit, and its equations, whitened with its usual errors, shrink the covariance as a true reading would.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

import numpy as np

from designer.motor.fit import Fit
from designer.motor.fit_bench import SEPARATE, TURNING, WINDINGS
from designer.motor.fit_errors import errors_of
from designer.motor.fit_rows import Block, ohms, running
from designer.motor.fit_solver import whitened
from designer.results import Array

FIELDS = (0.05, 0.1, 0.2, 0.35, 0.6, 1.0)      # of the field supply's current
VOLTS = (0.33, 0.5, 0.75, 1.0)                 # of the armature supply's voltage
AMPS = (0.3, 0.6, 1.0)                         # of a supply's current, rotor held
STEP = 1e-4                                    # of a standard uncertainty, for slopes of the answers
FASTEST = 2e4                                  # rad/s

Answers = Callable[[Fit], Mapping[str, float]]


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What the bench can do: V and A of the armature's and the field's supply, and the highest speed, rad/s."""

    armature_voltage: float
    armature_current: float
    field_voltage: float
    field_current: float
    speed: float


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A reading that could be taken: kind, what is set (SI), and what it would say."""

    kind: str
    settings: tuple[tuple[str, float], ...]
    winding: str = ""
    block: Block
    expected: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Next:
    """The best candidate: whose uncertainty it shrinks, and that uncertainty (a share) before and after."""

    candidate: Candidate
    answer: str
    before: float
    after: float


def next_reading(made: Fit, limits: Limits, answers: Answers) -> Next | None:
    """Give the candidate that shrinks the worst relative uncertainty of the answers most; None without any."""
    values = answers(made)
    slopes = _slopes(made, answers, values)
    spread = {name: math.sqrt(max(float(slope @ made.solution.covariance @ slope), 0.0)) / abs(values[name])
              for name, slope in slopes.items() if values[name]}
    if not spread:
        return None
    worst = max(spread, key=lambda name: spread[name])
    tried = [(_after(made, candidate, slopes[worst]) / abs(values[worst]), candidate)
             for candidate in candidates(made, limits)]
    if not tried:
        return None
    after, best = min(tried, key=lambda one: one[0])
    return Next(candidate=best, answer=worst, before=spread[worst], after=after)


def _slopes(made: Fit, answers: Answers, values: Mapping[str, float]) -> dict[str, Array]:
    """Slopes of every answer against the parameters, by steps of a small part of their uncertainty."""
    sigma = np.sqrt(np.diag(made.solution.covariance))
    found = {name: np.zeros(len(sigma)) for name in values}
    for place, size in enumerate(STEP * sigma):
        if size == 0:
            continue
        moved = made.solution.values.copy()
        moved[place] += size
        for name, value in answers(replace(made, solution=replace(made.solution, values=moved))).items():
            found[name][place] = (value - values[name]) / size
    return found


def _after(made: Fit, candidate: Candidate, slope: Array) -> float:
    """The standard uncertainty of an answer after the candidate was read."""
    covariance = made.solution.covariance
    _, rows = whitened(candidate.block, made.solution.problem.layout, made.solution.values)
    told = rows.reshape(-1, rows.shape[-1])
    gain = covariance @ told.T
    left = covariance - gain @ np.linalg.solve(np.eye(len(told)) + told @ gain, gain.T)
    return math.sqrt(max(float(slope @ left @ slope), 0.0))


def candidates(made: Fit, limits: Limits) -> Iterator[Candidate]:
    """Give every reading that the bench can take and this fit can predict."""
    layout = made.solution.problem.layout
    for winding, volts, amps in (("armature", limits.armature_voltage, limits.armature_current),
                                 ("field", limits.field_voltage, limits.field_current)):
        needs = WINDINGS[winding]
        if all(layout.has(name) for name in needs):
            for share in AMPS:
                current = share * amps
                voltage = current * made.value(needs[0])[0] + sum(made.value(n)[0] for n in needs[1:2])
                if voltage <= volts:
                    yield Candidate(
                        kind="standstill-dc", winding=winding, settings=(("current", current),),
                        expected=(("voltage", voltage),),
                        block=_block("standstill-dc", {"voltage": voltage, "current": current}, ohms(needs), needs))
    if not made.turning:
        return
    for part in FIELDS:
        for share in VOLTS:
            row = unloaded(made, part * limits.field_current, share * limits.armature_voltage)
            if row is not None and row["speed"] <= limits.speed and row["armature_current"] <= limits.armature_current:
                yield Candidate(
                    kind="separate-excitation",
                    settings=(("field_current", row["field_current"]), ("armature_voltage", row["armature_voltage"])),
                    expected=(("speed", row["speed"]), ("armature_current", row["armature_current"])),
                    block=_block("separate-excitation", row, running(series=False), TURNING))


def _block(kind: str, row: dict[str, float], equations: Any, needs: tuple[str, ...]) -> Block:
    quantities = SEPARATE if kind == "separate-excitation" else ("voltage", "current")
    reading = SimpleNamespace(kind=kind, uncertainty_percent=None, **row)
    return Block(kind=kind, places=(-1,), quantities=quantities, needs=needs, equations=equations,
                 measured=np.array([[row[name] for name in quantities]]), errors=errors_of([reading], quantities))


def unloaded(made: Fit, field: float, volts: float) -> dict[str, float] | None:
    """Predict speed (rad/s) and armature current (A) without load at a field current and armature voltage.

    None where the motor does not start, or has no end to its speed.
    """
    k = float(made.curve(np.array([field]))[0][0])
    left, resistance = volts - made.value("brush_drop")[0], made.value("armature_resistance")[0]
    if k <= 0 or left <= 0:
        return None
    low, high = 0.0, left / k
    for _ in range(60):
        middle = (low + high) / 2
        if k * (left - k * middle) / resistance > float(made.friction(np.array([middle]), k)[0][0]):
            low = middle
        else:
            high = middle
    if low == 0.0 or low > FASTEST:
        return None
    return {"field_current": field, "armature_voltage": volts, "armature_current": (left - k * low) / resistance,
            "speed": low}
