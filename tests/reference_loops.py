"""An independent brute-force model of one or two chopped windings on one bus, for the tests.

Written from the definitions alone, sharing no code with the package: scipy's ``solve_ivp`` (DOP853, tight tolerance,
extinction by event) marches L(i)·di/dt = V − R·i − k(i)·ω, root finders close the period and agree with what feeds
the bus (a resistance, or the brute-force bridge of ``reference_chopper``). SI units.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from scipy.integrate import OdeSolution, solve_ivp
from scipy.optimize import brentq

from tests.reference_chopper import Diode

RTOL, ATOL = 1e-11, 1e-14
#: integrals: charge, ∫i², ∫k·i, ∫(k/k_n)^1.6, ∫(k/k_n)²
COUNT = 5


@dataclass(frozen=True, kw_only=True)
class Loop:
    """A winding behind its switch, a diode across it: ``constant`` (V·s) and ``inductance`` (H) of its current."""

    resistance: float
    inductance: Callable[[float], float]
    constant: Callable[[float], float] = lambda _: 0.0
    speed: float = 0.0               # rad/s
    brush: float = 0.0               # V
    switch: Diode
    freewheel: Diode
    frequency: float                 # Hz
    duty: float
    reference: float = 1.0           # flux reference of the iron, V·s


@dataclass(frozen=True, kw_only=True)
class Part:
    """On-time or off-time: where it begins, where its current ends (s), integrals, the current itself."""

    begin: float
    end: float
    last: float
    sums: np.ndarray
    march: OdeSolution | None = field(repr=False, default=None)

    def current(self, time: float) -> float:
        """A, within the part."""
        inside = self.march is not None and self.begin <= time <= self.end
        return float(self.march(time)[0]) if inside else 0.0  # type: ignore[misc]


def _part(loop: Loop, bus: float, span: tuple[float, float], first: float, *, on: bool) -> Part:
    device = loop.switch if on else loop.freewheel
    driving = (bus if on else 0.0) - device.threshold - loop.brush

    def rhs(_: float, y: np.ndarray) -> list[float]:
        i = float(y[0])
        k = loop.constant(max(i, 0.0))
        rise = driving - (loop.resistance + device.slope) * i - k * loop.speed
        share = k / loop.reference
        return [rise / loop.inductance(max(i, 0.0)), i, i * i, k * i, share**1.6, share**2]

    def extinct(_: float, y: np.ndarray) -> float:
        return float(y[0])

    extinct.terminal, extinct.direction = True, -1  # type: ignore[attr-defined]
    resting = loop.constant(0.0) / loop.reference
    rest = np.array([0.0, 0.0, 0.0, resting**1.6, resting**2])
    if span[1] <= span[0] or (first <= 0 and rhs(0.0, np.zeros(1 + COUNT))[0] <= 0):
        return Part(begin=span[0], end=span[0], last=0.0 if span[1] > span[0] else first,
                    sums=rest * (span[1] - span[0]))
    found = solve_ivp(rhs, span, [first, *[0.0] * COUNT], method="DOP853", rtol=RTOL, atol=ATOL,
                      events=None if on else extinct, dense_output=True)
    end = float(found.t[-1])
    ended = found.status == 1
    return Part(begin=span[0], end=end, last=0.0 if ended else float(found.y[0, -1]),
                sums=found.y[1:, -1] + rest * (span[1] - end), march=found.sol)


@dataclass(frozen=True, kw_only=True)
class Period:
    """The steady state of a loop at a bus voltage; figures by the last words of the contract's names."""

    loop: Loop
    on: Part
    off: Part
    first: float

    @property
    def continuous(self) -> bool:
        """Whether the current never ends."""
        return self.first > 0

    def _mean(self, what: int) -> float:
        return float(self.on.sums[what] + self.off.sums[what]) * self.loop.frequency

    @property
    def torque(self) -> float:
        """Mean electromagnetic torque, N·m."""
        return self._mean(2)

    def iron(self, hysteresis: float, eddy: float) -> float:
        """Mean iron torque, N·m."""
        return hysteresis * self._mean(3) + eddy * self.loop.speed * self._mean(4)

    @property
    def extremes(self) -> tuple[float, float]:
        """Least and greatest current: the current is monotonic between switchings."""
        ends = (self.first, self.on.last, self.off.last)
        return min(ends), max(ends)

    def winding(self) -> dict[str, float]:
        """Mean, r.m.s. and extremes of the winding's current, A."""
        low, high = self.extremes
        mean = self._mean(0)
        return {"mean": mean, "mean_absolute": mean, "rms": math.sqrt(self._mean(1)), "peak": high, "min": low,
                "ripple": high - low}

    def device(self, part: Part) -> dict[str, float]:
        """Of the switch (``on``) or the diode (``off``), over the whole period, A."""
        f = self.loop.frequency
        mean = float(part.sums[0]) * f
        return {"mean": mean, "mean_absolute": mean, "rms": math.sqrt(max(float(part.sums[1]) * f, 0.0))}

    def loss(self, part: Part, drop: Diode) -> float:
        """Conduction loss of the device of a part, W."""
        found = self.device(part)
        return drop.threshold * found["mean"] + drop.slope * found["rms"] ** 2


def period(loop: Loop, bus: float) -> Period:
    """The current that comes back after a period; none at turn-on where it ends within one."""
    time = 1 / loop.frequency
    turn = loop.duty * time

    def once(first: float) -> tuple[Part, Part]:
        on = _part(loop, bus, (0.0, turn), first, on=True)
        return on, _part(loop, bus, (turn, time), on.last, on=False)

    on, off = once(0.0)
    first = 0.0
    if off.last > 1e-12:
        top = bus / loop.resistance
        first = float(brentq(lambda i: once(i)[1].last - i, 0.0, 1.01 * top, xtol=1e-14, rtol=1e-14))
        on, off = once(first)
    return Period(loop=loop, on=on, off=off, first=first)


def drawn_rms(periods: tuple[Period, ...]) -> float:
    """R.m.s. of what the switches draw together less its mean, A; they turn on at the same instant.

    A steady current beside them changes nothing. The product of two currents over their common on-time is taken
    by Gauss quadrature of the marches, all else is marched.
    """
    mean = sum(p.device(p.on)["mean"] for p in periods)
    square = sum(p.device(p.on)["rms"] ** 2 for p in periods)
    if len(periods) == 2:
        one, two = periods
        nodes, weights = np.polynomial.legendre.leggauss(8)
        cuts = np.linspace(0.0, min(one.on.end, two.on.end), 41)
        for a, b in pairwise(cuts):
            time = (a + b) / 2 + (b - a) / 2 * nodes
            product = np.array([one.on.current(float(t)) * two.on.current(float(t)) for t in time])
            square += 2 * float(weights @ product) * (b - a) / 2 * one.loop.frequency
    return math.sqrt(max(square - mean**2, 0.0))


def agreed(supply: Callable[[float], float], drawn: Callable[[float], float], start: float) -> float:
    """The bus (V) at which the supply gives what is drawn: secants to 1e-11 of it."""
    a = start
    fa = supply(drawn(a)) - a
    b = a + 0.1 * fa
    for _ in range(40):
        if abs(b - a) < 1e-12 * start:
            return b
        fb = supply(drawn(b)) - b
        if abs(fb) < 1e-11 * start or fb == fa:
            return b
        a, fa, b = b, fb, b - fb * (b - a) / (fb - fa)
    raise RuntimeError("no agreement between bus and load")
