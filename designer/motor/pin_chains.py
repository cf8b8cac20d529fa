"""What a group of joined pins can be: windings in a row, in which order, and which of them is what.

Pins that are joined lie on a chain of windings in series; two pins are a chain of one. Each order of the
pins, each place of the armature and each set of roles is one hypothesis. Its resistances come from the
readings by weighted least squares, the leads an unknown of their own with what is known of them. Its
weight is the sum of

- the misfit of the readings, −χ²/2 (a pair that spans the armature may miss by as much as it moves);
- the fit of each resistance to its role, and of each turned pair to having brushes in it or not;
- the priors of pin_priors.csv for windings that are joined inside the motor.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, permutations, product

import numpy as np

from designer.motor.pin_lead import Lead
from designer.motor.pin_roles import fits, movement, roles, unmoved
from designer.motor.pin_table import PinTable, Reading, priors
from designer.results import Array

_KEPT, _DEPTH = 60, 12.0       # hypotheses of one group, and how far in logarithm below its best
_MOST_ORDERED = 6              # pins of which every order is tried
_AGAIN = 0.3                   # share of what brushes move by which the least readings of two pairs may differ
_WIDE = 1e6                    # ohm: of the leads' and chain's prior nothing is known
_ALONE = ("field", "tacho", "thermal-switch", "winding", "suppressor", "unknown")
_JOINED = ("field", "thermal-switch", "winding", "unknown")
Label = tuple[str, tuple[str, ...]]


@dataclass(frozen=True, kw_only=True)
class Chain:
    """One hypothesis: pins in their order, role and resistance (ohm, leads subtracted) of each winding between."""

    pins: tuple[str, ...]
    roles: tuple[str, ...]
    ohms: tuple[float, ...]
    sigmas: tuple[float, ...]
    weight: float
    misfit: float = 0.0

    @cached_property
    def labels(self) -> tuple[Label, ...]:
        """What hangs on which pins: neighbouring field windings are one field, the pins within it its taps."""
        if self.roles == ("tacho-hall",):
            return (("tacho-hall", self.pins),)
        found: list[Label] = []
        for place, role in enumerate(self.roles):
            if role in ("field", "winding") and place and self.roles[place - 1] == role:
                start = found.pop()
                taps = (f"{role}-tap", (self.pins[place],))
                found += [taps, (role, (start[1][0], self.pins[place + 1]))]
            else:
                found.append((role, self.pins[place: place + 2]))
        return tuple(found)

    @cached_property
    def counts(self) -> Counter[str]:
        """How many windings of each role, a tapped one counted once."""
        return Counter(role for role, _ in self.labels)

    @cached_property
    def measured(self) -> dict[str, list[tuple[float, float]]]:
        """Resistance and uncertainty of each armature and field, by role."""
        found: dict[str, list[tuple[float, float]]] = {}
        for role, pins in self.labels:
            if role in ("armature", "field"):
                found.setdefault(role, []).append(self.ohms_between(*pins))
        return found

    def ohms_between(self, first: str, last: str) -> tuple[float, float]:
        """Resistance between two of its pins and its standard uncertainty, in ohm."""
        a, b = sorted((self.pins.index(first), self.pins.index(last)))
        return math.fsum(self.ohms[a:b]), math.sqrt(math.fsum(s * s for s in self.sigmas[a:b]))


def chains(table: PinTable, group: tuple[str, ...], lead: Lead) -> tuple[Chain, ...]:
    """Every hypothesis about a group that is not out of the question, the likeliest first."""
    if len(group) == 1:
        return (Chain(pins=group, roles=(), ohms=(), sigmas=(), weight=0.0),)
    inside = [r for r in table.across(group, group) if r.pair[0] in group and math.isfinite(r.value)]
    readings = sorted({r.pair: r for r in inside}.values(), key=lambda r: (r.value, r.pair))
    found = []
    if len(group) > 2 and min(r.value for r in readings) >= roles()["tacho-hall"].low:
        found.append(_sensor(table, group, readings))
    for order in _orders(group, readings):
        for armature in (None, *range(len(order) - 1)):
            fitted = _fitted(table, order, readings, armature, lead)
            found += list(_weighed(table, order, readings, armature, fitted))
    best = max(chain.weight for chain in found)
    likely = [chain for chain in found if chain.weight > best - _DEPTH]
    return tuple(sorted(likely, key=lambda c: (-c.weight, c.roles, c.ohms))[:_KEPT])


def _sensor(table: PinTable, group: tuple[str, ...], readings: list[Reading]) -> Chain:
    """Pins that read only kiloohms: the inputs of a sensor with electronics, which no rule of resistors binds."""
    weight = math.fsum(fits("tacho-hall", r.value, table.sigma(r.value)) for r in readings)
    return Chain(pins=group, roles=("tacho-hall",), ohms=(readings[0].value,), sigmas=(0.0,), weight=weight)


def _orders(group: tuple[str, ...], readings: list[Reading]) -> Iterator[tuple[str, ...]]:
    """The orders of the pins along the chain, each once and not also backwards.

    Above six pins only the one by distance from an end of the greatest reading is tried.
    """
    if len(group) > _MOST_ORDERED:
        start = readings[-1].pair[0]
        far = {r.pair[0] if r.pair[1] == start else r.pair[1]: r.value for r in readings if start in r.pair}
        yield tuple(sorted(group, key=lambda pin: (pin != start, far.get(pin, math.inf))))
        return
    yield from (order for order in permutations(group) if group.index(order[0]) < group.index(order[-1]))


def _spans(order: tuple[str, ...], reading: Reading) -> tuple[int, int]:
    a, b = sorted(order.index(pin) for pin in reading.pair)
    return a, b


def _fitted(table: PinTable, order: tuple[str, ...], readings: list[Reading], armature: int | None,
            lead: Lead) -> tuple[Array, Array, float]:
    """Resistance of each winding, its standard uncertainty, and the log-density of the misfit."""
    count = len(order) - 1
    film = _AGAIN * max(max(r.finite) - min(r.finite) for r in readings)
    rows, values, sigmas, loose = [], [], [], 0.0
    for reading in readings:
        a, b = _spans(order, reading)
        crosses = armature is not None and a <= armature < b
        value = reading.least if crosses else reading.value
        sigma = table.sigma(value)
        wide = math.hypot(sigma, film) if crosses and len(readings) > 1 else sigma
        loose -= math.log(wide / sigma)
        rows.append([*(1.0 if a <= place < b else 0.0 for place in range(count)), 1.0])
        values.append(value)
        sigmas.append(wide)
    rows.append([0.0] * count + [1.0])
    values.append(lead.value)
    sigmas.append(lead.uncertainty)
    rows += [[1.0 if place == own else 0.0 for place in range(count + 1)] for own in range(count)]
    values += [0.0] * count
    sigmas += [_WIDE] * count
    scale = 1 / np.array(sigmas)
    matrix, right = np.array(rows) * scale[:, None], np.array(values) * scale
    covariance = np.linalg.inv(matrix.T @ matrix)
    ohms = covariance @ (matrix.T @ right)
    misfit = float(np.sum((matrix @ ohms - right)[: len(readings) + 1] ** 2))
    return ohms[:count], np.sqrt(np.diag(covariance)[:count]), loose - misfit / 2


def _weighed(table: PinTable, order: tuple[str, ...], readings: list[Reading], armature: int | None,
             fitted: tuple[Array, Array, float]) -> Iterator[Chain]:
    """The role sets of one order and place of the armature."""
    ohms, sigmas, misfit = fitted
    lone = len(order) == 2
    choices = [("armature",) if place == armature else _ALONE if lone else _JOINED for place in range(len(ohms))]
    crossed = [armature is not None and a <= armature < b for a, b in (_spans(order, r) for r in readings)]
    moves = [movement(r, table.sigma(r.value)) for r in readings]
    fit = [{role: fits(role, float(r), float(s)) for role in set(options)}
           for options, r, s in zip(choices, ohms, sigmas, strict=True)]
    for chosen in product(*choices):
        weight = misfit + math.fsum(f[role] for f, role in zip(fit, chosen, strict=True))
        weight += math.fsum(m.brushes if over else unmoved(m, chosen[0] if lone else "")
                            for m, over in zip(moves, crossed, strict=True))
        weight += math.fsum(math.log(priors()["tap" if a == b else "joint"])
                            for a, b in pairwise(chosen))
        yield Chain(pins=order, roles=chosen, ohms=tuple(map(float, ohms)), sigmas=tuple(map(float, sigmas)),
                    weight=weight, misfit=-2 * misfit)
