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
from designer.motor.pin_roles import Movement, fits, movement, roles
from designer.motor.pin_table import PinTable, Reading, priors
from designer.results import Array, Mask

_KEPT, _DEPTH = 40, 12.0       # hypotheses of one group, and how far in logarithm below its best
_MOST_ORDERED = 5              # pins of which every order is tried, and every set of roles
_FITTED = 30                   # orders and places of the armature that are looked at further
_AGAIN = 0.3                   # share of what brushes move by which the least readings of two pairs may differ
_WIDE = 1e3                    # times the greatest reading: as much as nothing known of a winding beforehand
_ALONE = ("field", "tacho", "thermal-switch", "winding", "suppressor", "unknown")
_JOINED = ("field", "thermal-switch", "winding", "unknown")
Label = tuple[str, tuple[str, ...]]


@dataclass(frozen=True, kw_only=True, eq=False)
class Chain:
    """One hypothesis: pins in their order, role and resistance (ohm, leads subtracted) of each winding between."""

    pins: tuple[str, ...]
    roles: tuple[str, ...]
    ohms: tuple[float, ...]
    sigmas: tuple[float, ...]
    weight: float

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


@dataclass(frozen=True, kw_only=True)
class _Fitted:
    """One order of the pins with one place of the armature: which readings cross it, resistances, log of the misfit."""

    pins: tuple[str, ...]
    armature: int | None
    crossed: tuple[bool, ...]
    ohms: tuple[float, ...]
    sigmas: tuple[float, ...]
    misfit: float


@dataclass(frozen=True, kw_only=True)
class _Case:
    """The same with the roles worth trying and their log-densities; ``bound`` is the best weight it can have."""

    made: _Fitted
    fit: tuple[dict[str, float], ...]
    bound: float


def chains(table: PinTable, group: tuple[str, ...], lead: Lead) -> tuple[Chain, ...]:
    """Every hypothesis about a group that is not out of the question, the likeliest first."""
    if len(group) == 1:
        return (Chain(pins=group, roles=(), ohms=(), sigmas=(), weight=0.0),)
    inside = [r for r in table.across(group, group) if r.pair[0] in group and math.isfinite(r.value)]
    readings = sorted({r.pair: r for r in inside}.values(), key=lambda r: (r.value, r.pair))
    found: list[Chain] = []
    if len(group) > 2 and min(r.value for r in readings) >= roles()["tacho-hall"].low:
        found.append(_sensor(table, group, readings))
    moves = [movement(r, table.sigma(r.value)) for r in readings]
    fitted = [made for order in _orders(group, readings) for made in _fitted(table, order, readings, lead)]
    known = [(made.misfit + _moved(made, moves, ""), made) for made in fitted]
    best = max(weight for weight, _ in known)
    cases = [_case(made, weight) for weight, made in known if weight > best - 3 * _DEPTH]
    best = max(case.bound for case in cases)
    for case in sorted(cases, key=lambda case: -case.bound)[:_FITTED]:
        if case.bound > best - _DEPTH:
            found += _weighed(case, moves)
    best = max(chain.weight for chain in found)
    likely = [chain for chain in found if chain.weight > best - _DEPTH]
    return tuple(sorted(likely, key=lambda c: (-c.weight, c.roles, c.ohms))[:_KEPT])


def _sensor(table: PinTable, group: tuple[str, ...], readings: list[Reading]) -> Chain:
    """Pins that read only kiloohms: the inputs of a sensor with electronics, which no rule of resistors binds."""
    weight = math.fsum(fits("tacho-hall", r.value, table.sigma(r.value)) for r in readings)
    return Chain(pins=group, roles=("tacho-hall",), ohms=(readings[0].value,), sigmas=(0.0,), weight=weight)


def _orders(group: tuple[str, ...], readings: list[Reading]) -> Iterator[tuple[str, ...]]:
    """The orders of the pins along the chain, each once and not also backwards.

    Above five pins only the one by distance from an end of the greatest reading is tried.
    """
    if len(group) > _MOST_ORDERED:
        start = readings[-1].pair[0]
        far = {r.pair[0] if r.pair[1] == start else r.pair[1]: r.value for r in readings if start in r.pair}
        yield tuple(sorted(group, key=lambda pin: (pin != start, far.get(pin, math.inf))))
        return
    yield from (order for order in permutations(group) if group.index(order[0]) < group.index(order[-1]))


def _fitted(table: PinTable, order: tuple[str, ...], readings: list[Reading], lead: Lead) -> Iterator[_Fitted]:
    """Resistances and the log-density of their misfit for one order, without armature and with it at each place."""
    count = len(order) - 1
    values, leasts = (np.array(column) for column in zip(*((r.value, r.least) for r in readings), strict=True))
    spans = [sorted(order.index(pin) for pin in r.pair) for r in readings]
    within = np.array([[a <= place < b for place in range(count)] for a, b in spans])
    film = _AGAIN * max(max(r.finite) - min(r.finite) for r in readings)
    for armature in (None, *range(count)):
        crossed = within[:, armature] if armature is not None else np.zeros(len(readings), dtype=bool)
        seen = np.where(crossed, leasts, values)
        sigma = np.hypot(table.spread, priors()["reading-share"] * seen)
        wide = np.hypot(sigma, np.where(crossed, film, 0.0)) if count > 1 else sigma
        ohms, sigmas, misfit = _solved(within, seen, wide, lead)
        yield _Fitted(pins=order, armature=armature, crossed=tuple(map(bool, crossed)), ohms=ohms, sigmas=sigmas,
                      misfit=misfit - float(np.sum(np.log(wide / sigma))))


def _solved(within: Mask, seen: Array, wide: Array, lead: Lead) -> tuple[tuple[float, ...], tuple[float, ...], float]:
    """Weighted least squares: resistance of each winding, its standard uncertainty, −χ²/2."""
    count = within.shape[1]
    if count == 1:
        return (float(seen[0]) - lead.value,), (math.hypot(float(wide[0]), lead.uncertainty),), 0.0
    rows = np.zeros((len(seen) + 1 + count, count + 1))
    rows[:len(seen), :count], rows[:len(seen) + 1, count] = within, 1.0
    rows[len(seen) + 1:, :count] = np.eye(count)
    right = np.concatenate([seen, [lead.value], np.zeros(count)])
    scale = 1 / np.concatenate([wide, [lead.uncertainty], np.full(count, _WIDE * float(np.max(seen)))])
    matrix, right = rows * scale[:, None], right * scale
    covariance = np.linalg.inv(matrix.T @ matrix)
    ohms = covariance @ (matrix.T @ right)
    misfit = float(np.sum((matrix @ ohms - right)[: len(seen) + 1] ** 2))
    spread = np.sqrt(np.diag(covariance)[:count])
    return tuple(map(float, ohms[:count])), tuple(map(float, spread)), -misfit / 2


def _moved(made: _Fitted, moves: list[Movement], alone: str) -> float:
    """Log-likelihood of what turning did, with the brushes in the pairs that cross the armature."""
    return math.fsum(m.brushes if over else m.tacho if alone == "tacho" else m.steady
                     for m, over in zip(moves, made.crossed, strict=True))


def _case(made: _Fitted, known: float) -> _Case:
    """The roles that are worth trying at one place of the armature, and how good it can get at most."""
    lone = len(made.pins) == 2
    options = [("armature",) if n == made.armature else _ALONE if lone else _JOINED for n in range(len(made.ohms))]
    fit = [{role: fits(role, r, s) for role in each}
           for each, r, s in zip(options, made.ohms, made.sigmas, strict=True)]
    if not lone:  # of a long chain the likeliest role of each piece alone
        depth = 0.0 if len(made.pins) > _MOST_ORDERED else _DEPTH / 2
        fit = [{role: f for role, f in each.items() if f >= max(each.values()) - depth} for each in fit]
    return _Case(made=made, fit=tuple(fit), bound=known + math.fsum(max(each.values()) for each in fit))


def _weighed(case: _Case, moves: list[Movement]) -> Iterator[Chain]:
    """The role sets of one case."""
    made = case.made
    tap, joint = (math.log(priors()[name]) for name in ("tap", "joint"))
    still = _moved(made, moves, "")
    for chosen in product(*case.fit):
        weight = made.misfit + math.fsum(f[role] for f, role in zip(case.fit, chosen, strict=True))
        weight += _moved(made, moves, "tacho") if chosen == ("tacho",) else still
        weight += math.fsum(tap if a == b else joint for a, b in pairwise(chosen))
        yield Chain(pins=made.pins, roles=chosen, ohms=made.ohms, sigmas=made.sigmas, weight=weight)
