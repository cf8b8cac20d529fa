"""From bench readings to the constants of a motor: resistances, brush drop, flux curve, friction, inertia.

One weighted least squares over all readings together, so that an error of the brush drop shows in the flux curve too.
Readings that the others contradict are named with their likely slip; where a slip is found, the fit is made without
them, and the fit with them stands beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from designer.motor.fit_bench import SEPARATE, Bench, KeptOut, problem, turning
from designer.motor.fit_curve import Law, Shape, Table, clusters
from designer.motor.fit_solver import Solution, solve
from designer.motor.fit_suspects import Suspect, furthest, suspect
from designer.results import Array

ASIDE = 25.0        # by how much a reading set aside must be worth its while, in squares
IRON_SHOWS = 25.0   # by how much iron loss must lower the sum of squares before it is told apart
STRAIN = 2.5        # standard deviations of the sum of squares: beyond it another shape is tried
LEAST_NODES = 4     # field currents without which a departure from the law cannot be told


@dataclass(frozen=True, kw_only=True)
class Fit:
    """The joint fit: solution, suspects, readings kept out, and the fit of all readings where suspects are set aside.

    ``widened`` is the factor on every uncertainty where the readings scatter more than their errors say.
    """

    solution: Solution
    suspects: tuple[Suspect, ...] = ()
    kept_out: tuple[KeptOut, ...] = ()
    with_all: Solution | None = None
    widened: float = 1.0

    def has(self, name: str) -> bool:
        """True where ``name`` was fitted."""
        return self.solution.problem.layout.has(name)

    @property
    def turning(self) -> bool:
        """True where readings of the turning motor gave a flux curve and friction."""
        return self.has("remanence")

    @property
    def lawful(self) -> bool:
        """True where the flux curve follows the saturating law."""
        return isinstance(self.solution.problem.layout.shape, Law)

    @property
    def read_at(self) -> Array:
        """The field currents at which the turning motor was read, A, rising; a tap's as those of the whole field."""
        found = []
        for block in self.solution.problem.blocks:
            if "speed" in block.quantities and "time" not in block.quantities:
                turns = self.solution.value("tap_ratio") if "tap_ratio" in block.needs else 1.0
                column = block.measured[:, 0 if block.quantities == SEPARATE else 1]
                found.append(turns * column)
        return np.array(clusters(np.concatenate(found))) if found else np.array([])

    @property
    def fastest(self) -> float:
        """The highest speed at which the motor was read, rad/s; 0 where it did not turn."""
        return max((float(block.measured[:, block.quantities.index("speed")].max())
                    for block in self.solution.problem.blocks if "speed" in block.quantities), default=0.0)

    def value(self, name: str) -> tuple[float, float]:
        """Give a constant and its standard uncertainty (SI)."""
        return self.solution.value(name), self.solution.uncertainty(name)

    def curve(self, current: Array) -> tuple[Array, Array]:
        """Give the speed constant and its standard uncertainty, V·s, at field currents (A, ≥ 0)."""
        layout, values = self.solution.problem.layout, self.solution.values
        k, _, columns = layout.curve(values, np.asarray(current, float))
        return k, self.spread(columns)

    def friction(self, speed: Array, k: float = 0.0) -> tuple[Array, Array]:
        """Give the torque of friction (with iron at ``k``) and its standard uncertainty, N·m, at speeds in rad/s."""
        omega = np.asarray(speed, float)
        layout, values = self.solution.problem.layout, self.solution.values
        torque, _, _, columns = layout.friction(values, omega, np.full_like(omega, k))
        return torque, self.spread(columns)

    def spread(self, columns: Array) -> Array:
        """Give the standard uncertainty of quantities with these slopes against the parameters (a row each)."""
        square = np.einsum("ij,jk,ik->i", columns, self.solution.covariance, columns)
        return np.asarray(np.sqrt(np.maximum(square, 0.0)))


def fit(bench: Bench) -> Fit | None:
    """Fit all that the readings of a bench tell together; None where no reading tells any of it.

    Raises ``InputError`` where the motor turned and its armature's resistance is neither read nor given.
    """
    if not problem(bench, Law())[0].blocks:
        return None
    best = _searched(bench, Law())
    if turning(bench) and _strains(best):
        currents = [r.field_current for _, r in bench.of("separate-excitation", {"tap": False})]
        currents += [r.current for _, r in bench.of("series-run", {"supply": "dc"})]
        nodes = clusters(np.array(currents, float))
        if len(nodes) >= LEAST_NODES:
            table = _searched(bench, Table(nodes=nodes))
            best = min(best, table, key=lambda made: _cost(made, len(currents)))
        best = _with_iron(bench, best)
    return replace(_widened(best), kept_out=bench.through_film)


def _strains(made: Fit) -> bool:
    """True where the readings leave more than their errors say, so that there is something else to tell."""
    loose = any(not s.set_aside for s in made.suspects)
    return loose or made.solution.squares > made.solution.freedom + STRAIN * np.sqrt(2.0 * made.solution.freedom)


def _cost(made: Fit, rows: int) -> float:
    """Sum of squares, with what parameters and readings set aside must be worth (Bayesian information criterion)."""
    count = len(made.solution.problem.layout.names) * np.log(2.0 * max(rows, 2))
    return float(made.solution.squares + count + ASIDE * sum(s.set_aside for s in made.suspects))


def _searched(bench: Bench, shape: Shape, *, iron: bool = False) -> Fit:
    """Fit, and take out one by one what the others contradict and a slip explains."""
    made, start = problem(bench, shape, iron=iron)
    rough = solve(replace(made, robust=True), start)
    first = found = solve(replace(made, frozen=tuple(rough.values.tolist())), rough.values)
    suspects: list[Suspect] = []
    told: set[int] = set()
    while len(suspects) <= len(bench.readings) // 3:
        far = furthest(found, told, rough.values)
        if far is None:
            break
        place, without = far
        named = suspect(found, place, without, bench.readings[place])
        suspects.append(named)
        told.add(place)
        if named.set_aside:
            found = without
    if all(s.set_aside for s in suspects):      # one that is kept would take the errors along
        found = solve(replace(found.problem, frozen=None), found.values)
    return Fit(solution=found, suspects=tuple(suspects),
               with_all=first if any(s.set_aside for s in suspects) else None)


def _with_iron(bench: Bench, plain: Fit) -> Fit:
    """Tell iron loss apart from friction where the readings plainly show it."""
    layout = plain.solution.problem.layout
    rows = [b for b in plain.solution.problem.blocks if b.quantities in (SEPARATE, ("field_current", "time", "speed"))]
    if sum(len(b.places) for b in rows) < LEAST_NODES + 2:
        return plain
    iron = _searched(bench, layout.shape, iron=True)
    better = plain.solution.squares - iron.solution.squares
    return iron if better > IRON_SHOWS and len(iron.suspects) <= len(plain.suspects) else plain


def _widened(made: Fit) -> Fit:
    """Widen every uncertainty where the readings scatter more than their errors say, beyond chance."""
    ratio = made.solution.squares / made.solution.freedom
    limit = 1.0 + 3.1 * np.sqrt(2.0 / made.solution.freedom)   # one in a thousand, about
    if ratio <= limit:
        return made
    return replace(made, widened=float(np.sqrt(ratio)),
                   solution=replace(made.solution, covariance=made.solution.covariance * ratio))
