"""One conduction interval of many operating points at once, marched on flux linkage.

Between turn-on and extinction a series path obeys dλ/dt = v − R·i − V₀ − ω·g(i), with λ(i) and g(i)
of one winding. Classical fourth-order Runge–Kutta in the source's angle; integrals by the trapezoid
rule with end corrections (Euler–Maclaurin), the last partial step by its Hermite cubic. The march is
done with N and N/2 steps over the interval, whose length a few large steps tell first, and repeated on
the points whose two results differ by more than allowed.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from designer.motor.flux import LinkageTable, Winding
from designer.results import Array, Indices
from designer.waveforms.path import Interval, Path, empty, put
from designer.waveforms.rle import conduct_linear

CHUNK = 2048          # points marched together: their arrays stay in the processor's second cache
MOST_STEPS = 12288
#: steps over the interval at a bound of 1e-5: measured to hold it on a saturating motor
STEPS_AT_1E_5 = 56
#: steps over the longest possible interval, to find how long it is
SCOUT_STEPS = 8
#: largest step times the fastest decay: the Runge–Kutta step is unstable above 2.78 (lamp in series, high speed)
STABLE = 2.0
#: the curve's kinks make the march third order: halving the step then leaves a seventh of the change;
#: a quarter is taken, on the safe side
LEFT_AFTER_HALVING = 0.25


def conduct(
    path: Path, winding: Winding, turn_on: Array, *, tolerance: float, latching: float = np.inf
) -> Interval:
    """March every point from zero current at ``turn_on`` to its extinction.

    ``tolerance`` bounds the relative error of r.m.s. current and torque (estimated by halving the
    step); ``latching`` (A) is a current whose passing is noted. Points that cannot be brought within
    the bound in ``MOST_STEPS`` steps keep their best value. A motor whose curve is one straight line
    is solved in closed form as far as its current stays on that line.
    """
    if winding.curve.linear:
        exact = conduct_linear(path, winding, turn_on, latching=latching)
        bent = np.flatnonzero(exact.crest > winding.curve.last_current)
        if bent.size:
            put(exact, bent, _march(path[bent], winding, turn_on[bent], tolerance, latching))
        return exact
    return _march(path, winding, turn_on, tolerance, latching)


def _march(path: Path, winding: Winding, turn_on: Array, tolerance: float, latching: float) -> Interval:
    found = empty(len(path))
    table = LinkageTable.reaching(winding, 2.02 * float(np.max(path.peak / path.omega, initial=0.0)))
    steps = min(2 * round(STEPS_AT_1E_5 / 2 * (1e-5 / tolerance) ** (1 / 3)), MOST_STEPS)
    # for a pure inductance the interval is 2(π − turn-on); resistance and speed only shorten it
    longest = np.minimum(np.pi, 2 * (np.pi - turn_on))
    todo = np.flatnonzero(longest > 0)
    widest = STABLE / _fastest(path, table)
    scout = _chunked(path[todo], table, turn_on[todo], np.minimum(longest / SCOUT_STEPS, widest)[todo], np.inf)
    span = scout.extinction - turn_on[todo]
    coarse = _chunked(path[todo], table, turn_on[todo], np.minimum(span / (steps // 2), widest[todo]), latching)
    while todo.size:
        span = coarse.extinction - turn_on[todo]
        widest /= 2   # with the step, so that the two marches differ where stability sets it
        fine = _chunked(path[todo], table, turn_on[todo], np.minimum(span / steps, widest[todo]), latching)
        put(found, todo, fine)
        poor = LEFT_AFTER_HALVING * _difference(fine, coarse) > tolerance
        steps *= 2
        if steps > MOST_STEPS:
            break
        todo, coarse = todo[poor], fine[poor]
    return found


def _fastest(path: Path, table: LinkageTable) -> Array:
    """Give a bound on the rate, 1/rad, at which any difference in linkage decays: R/L and ω·g′/L."""
    resistive, turning = (float(row.max()) for row in table.rows[2:])
    return np.asarray((path.resistance * resistive + path.speed * turning) / path.omega + 1e-9)


def _difference(a: Interval, b: Interval) -> Array:
    """Largest relative difference of two marches in r.m.s. current, torque and extinction."""
    tiny = 1e-300
    square = np.abs(a.square - b.square) / (2 * np.abs(a.square) + tiny)
    pull = np.abs(a.pull - b.pull) / (np.abs(a.pull) + tiny)
    end = np.abs(a.extinction - b.extinction) / np.maximum(a.extinction - a.turn_on, tiny)
    return np.maximum(np.maximum(square, pull), end)


def _chunked(path: Path, table: LinkageTable, turn_on: Array, width: Array, latching: float) -> Interval:
    result = empty(len(path))
    # points of like length run together, so that a chunk ends early
    order = np.argsort(turn_on, kind="stable")
    for first in range(0, len(path), CHUNK):
        part = order[first : first + CHUNK]
        put(result, part, _Run(path[part], table, turn_on[part], width[part], latching).run())
    return result


def trace(path: Path, winding: Winding, half: Interval, *, nodes: int) -> tuple[Array, Array, Array]:
    """Give angle, current and the curve's odd part at evenly spaced nodes of every conducting point.

    Each array is (points, nodes + 1), from turn-on to extinction; rows that did not conduct are nan.
    """
    count = len(path)
    angle, current, odd = (np.full((count, nodes + 1), np.nan) for _ in range(3))
    fired = np.flatnonzero(np.isfinite(half.extinction))
    if fired.size:
        table = LinkageTable.reaching(winding, 2.02 * float(np.max(path.peak / path.omega)))
        start, end = half.turn_on[fired], half.extinction[fired]
        width = (end - start) / nodes
        between = 1 + int(np.max(width * _fastest(path[fired], table)) / STABLE)
        run = _Run(path[fired], table, start, width / between, np.inf)
        angle[fired] = start[:, None] + (end - start)[:, None] * np.linspace(0.0, 1.0, nodes + 1)
        values = table.at(run.linkage)[0]
        for step in range(nodes * between + 1):
            if step % between == 0:
                current[fired, step // between], odd[fired, step // between] = values
            run.linkage, run.sine, run.cosine = run.advance(run.rate(values, run.sine))
            values = table.at(run.linkage)[0]
        for ends in (0, -1):
            current[fired, ends] = odd[fired, ends] = 0.0
    return angle, current, odd


class _Run:
    """The state of one chunk on its way; arrays shrink as points end."""

    def __init__(
        self, path: Path, table: LinkageTable, turn_on: Array, width: Array, latching: float
    ) -> None:
        n = len(path)
        self.table, self.latching = table, latching
        self.out = replace(empty(n), turn_on=turn_on.copy())
        self.index = np.arange(n)
        self.alive = np.ones(n, bool)
        self.h = width
        self.angle = turn_on.copy()
        self.feed = path.peak / path.omega
        self.drop = path.opposing / path.omega
        self.pull = np.stack((path.resistance, path.speed)) / path.omega
        self.sine, self.cosine = np.sin(turn_on), np.cos(turn_on)
        self.turn = np.sin(width / 2), np.cos(width / 2)
        self.linkage = np.zeros(n)
        self.sums = np.zeros((4, n))
        self.crest = np.zeros(n)

    def rate(self, values: Array, sine: Array) -> Array:
        """Give dλ/dθ where current and odd part are the rows of ``values``."""
        opposed = self.pull * values
        return np.asarray(self.feed * sine - self.drop - opposed[0] - opposed[1])

    def rate_at(self, linkage: Array, sine: Array) -> Array:
        """Give dλ/dθ at a linkage."""
        return self.rate(self.table.at(linkage)[0], sine)

    def run(self) -> Interval:
        """March until every point has ended."""
        values, slopes = self.table.at(self.linkage)
        rate = self.rate(values, self.sine)
        # end correction of the trapezoid at turn-on, where i = g = 0: only ∫i and ∫i·sin have a slope
        self.sums[0] += self.h / 12 * rate * slopes[0]
        self.sums[3] += self.h / 12 * rate * slopes[0] * self.sine
        left = int(2 * np.pi / float(self.h.min(initial=np.pi))) + 2
        while self.index.size:
            if not left:
                raise ArithmeticError("a conduction interval of more than a full period: the march went astray")
            left -= 1
            values, slopes, rate = self.step(values, slopes, rate)
        return self.out

    def advance(self, rate: Array) -> tuple[Array, Array, Array]:
        """One Runge–Kutta step: the new linkage, and the sine and cosine of the angle it ends at."""
        h, lam = self.h, self.linkage
        sh, ch = self.turn
        middle = self.sine * ch + self.cosine * sh
        middle_cos = self.cosine * ch - self.sine * sh
        half = 0.5 * h
        k2 = self.rate_at(lam + half * rate, middle)
        k3 = self.rate_at(lam + half * k2, middle)
        end = middle * ch + middle_cos * sh
        k4 = self.rate_at(lam + h * k3, end)
        new = lam + h / 6 * (rate + 2 * (k2 + k3) + k4)
        return new, end, middle_cos * ch - middle * sh

    def step(self, values: Array, slopes: Array, rate: Array) -> tuple[Array, Array, Array]:
        """One step, then the points whose current passed zero are closed."""
        lam = self.linkage
        new, end, end_cos = self.advance(rate)
        after, new_slopes = self.table.at(new)
        new_rate = self.rate(after, end)
        over = (new <= 0) & self.alive
        turned = (rate > 0) & (new_rate <= 0)
        if turned.any():
            self._crest(np.flatnonzero(turned), (lam, rate, new, new_rate))
        if self.latching < np.inf:
            self._latch(values[0], after[0])
        if over.any():
            at = np.flatnonzero(over)
            self._close(at, (values[:, at], slopes[:, at], rate[at]), (new[at], new_rate[at]))
            self.alive &= ~over
        self.sine, self.cosine, self.linkage = end, end_cos, new
        self.angle = self.angle + self.h
        current = after[0]
        self.sums[0] += current
        self.sums[1:3] += current * after
        self.sums[3] += current * end
        return self._shrink(after, new_slopes, new_rate)

    def _shrink(self, values: Array, slopes: Array, rate: Array) -> tuple[Array, Array, Array]:
        living = np.count_nonzero(self.alive)
        if living and living > 0.8 * self.alive.size:
            return values, slopes, rate
        keep = self.alive
        for name in ("index", "alive", "h", "angle", "feed", "drop", "sine", "cosine", "linkage", "crest"):
            setattr(self, name, getattr(self, name)[keep])
        self.sums, self.pull = self.sums[:, keep], self.pull[:, keep]
        self.turn = self.turn[0][keep], self.turn[1][keep]
        return values[:, keep], slopes[:, keep], rate[keep]

    def _crest(self, at: Indices, ends: tuple[Array, ...]) -> None:
        y0, c1, c2, c3 = _cubic(self.h[at], *(end[at] for end in ends))
        # the stationary point that is a maximum, in the form that stays exact when c3 is small
        t = np.clip(-c1 / (c2 - np.sqrt(np.maximum(c2 * c2 - 3 * c1 * c3, 0.0))), 0.0, 1.0)
        current = self.table.at(y0 + t * (c1 + t * (c2 + t * c3)))[0][0]
        self.crest[at] = np.maximum(self.crest[at], current)

    def _latch(self, before: Array, after: Array) -> None:
        passed = (before < self.latching) & (after >= self.latching) & self.alive
        if passed.any():
            at = np.flatnonzero(passed)
            share = (self.latching - before[at]) / (after[at] - before[at])
            place = self.index[at]
            when = self.angle[at] + share * self.h[at]
            self.out.latched[place] = np.minimum(self.out.latched[place], when)

    def _close(
        self, at: Indices, start: tuple[Array, Array, Array], end: tuple[Array, Array]
    ) -> None:
        """Find the zero inside the step on its cubic, and add the last partial step to the sums."""
        (i, g), slopes, rate = start
        h, angle, sine = self.h[at], self.angle[at], self.sine[at]
        last = h * _zero(_cubic(h, self.linkage[at], rate, *end))
        end_sine = np.sin(angle + last)
        falling = self.table.rows[2, 0] * (self.feed[at] * end_sine - self.drop[at])   # di/dθ at zero current
        di, dg = rate * slopes
        zero = np.zeros(at.size)
        now = np.array((i, i * i, i * g, i * sine))
        rising = np.array((di, 2 * i * di, di * g + i * dg, di * sine + i * self.cosine[at]))
        ending = np.array((falling, zero, zero, falling * end_sine))
        total = h * (self.sums[:, at] - now / 2) - h * h / 12 * rising
        total += last / 2 * now + last * last / 12 * (rising - ending)
        out, place = self.out, self.index[at]
        out.extinction[place] = angle + last
        out.charge[place], out.square[place], out.pull[place], out.drawn[place] = total
        out.crest[place] = self.crest[at]
        out.slope[place] = -falling


def _cubic(h: Array, y0: Array, r0: Array, y1: Array, r1: Array) -> tuple[Array, ...]:
    """Linkage over a step as a cubic in the share t of it: y0 + t(c1 + t(c2 + t·c3))."""
    rise = y1 - y0
    return y0, h * r0, 3 * rise - h * (2 * r0 + r1), h * (r0 + r1) - 2 * rise


def _zero(cubic: tuple[Array, ...]) -> Array:
    """Where a cubic that starts above zero and ends below it passes zero on [0, 1]: Newton in a bracket."""
    y0, c1, c2, c3 = cubic
    low, high = np.zeros(y0.size), np.ones(y0.size)
    t = np.clip(y0 / -np.where(c1 + c2 + c3 < 0, c1 + c2 + c3, -1.0), 0.0, 1.0)
    for _ in range(40):
        y = y0 + t * (c1 + t * (c2 + t * c3))
        above = y > 0
        low, high = np.where(above, t, low), np.where(above, high, t)
        slope = c1 + t * (2 * c2 + 3 * t * c3)
        newton = t - y / np.where(slope == 0, 1.0, slope)
        inside = (newton >= low) & (newton <= high) & (slope != 0)
        after = np.where(inside, newton, 0.5 * (low + high))
        moved = np.max(np.abs(after - t), initial=0.0)
        t = after
        if moved < 1e-14:
            break
    return t
