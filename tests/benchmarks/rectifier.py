"""Bridges with a reservoir, points a second: the closed form against scipy's ``solve_ivp`` at the same error.

Both give mean bus voltage, r.m.s. line current and drawn power of the periodic state within ``BOUND``, measured
against an independent reference at its tightest (``tests/reference_chopper.py``). ``solve_ivp`` goes two ways, both
spared the gaps, where the bus is a straight line. The shortest there is: one pulse from a turn-on to its extinction
by event, and a root (brentq) for the turn-on that comes back. And the plain one: half cycle after half cycle from a
reservoir charged to the crest, until the turn-on repeats. The points are buses whose pulses have gaps.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable, Sequence

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from designer.waveforms.rectifier import Bridge, charged
from tests.reference_chopper import Diode, Rectifier, rectified

BOUND = 1e-9
AIM = 10_000.0
METHODS = ("RK45", "DOP853", "LSODA")
Point = tuple[float, ...]


def grid(count: int, *, seed: int = 1) -> Bridge:
    """Points of a bus on 230 V ± 10 %, 0.1 to 3 A, 220 µF to 1 mF, from a stiff mains to the reference impedance."""
    rng = np.random.default_rng(seed)
    return Bridge(
        peak=math.sqrt(2) * 230 * rng.uniform(0.9, 1.1, count), omega=np.full(count, 2 * math.pi * 50),
        resistance=rng.uniform(0.15, 0.6, count), inductance=rng.uniform(0.1e-3, 1.0e-3, count),
        drop=np.full(count, 1.6), capacitance=10 ** rng.uniform(math.log10(220e-6), -3, count),
        series_resistance=rng.uniform(0.05, 0.3, count), load_current=rng.uniform(0.1, 3.0, count))


def package(bridge: Bridge) -> np.ndarray:
    """Mean bus voltage, r.m.s. line current, drawn power; all points at once."""
    found = charged(bridge)
    return np.array([found.mean, found.line_rms, found.drawn])


def points(bridge: Bridge) -> list[Point]:
    """The points one by one on plain floats."""
    columns = (bridge.peak, bridge.omega, bridge.resistance, bridge.inductance, bridge.drop, bridge.capacitance,
               bridge.series_resistance, bridge.load_current)
    return [tuple(float(x) for x in row) for row in zip(*columns, strict=True)]


def exact(sample: Sequence[Point]) -> np.ndarray:
    """The same figures by the independent reference."""
    rows = []
    for peak, omega, r, inductance, drop, capacitance, esr, load in sample:
        found = rectified(Rectifier(
            voltage=peak / math.sqrt(2), frequency=omega / (2 * math.pi), load=load, C=capacitance, esr=esr, R_s=r,
            L_s=inductance, diode=Diode(threshold=drop / 2)))
        rows.append((found.bus_mean, found.line_rms, found.input_power))
    return np.array(rows).T


def _extinct(t: float, y: Sequence[float]) -> float:
    return y[0] if t > _extinct.after else 1.0  # type: ignore[attr-defined]


_extinct.terminal, _extinct.direction, _extinct.after = True, -1, 0.0  # type: ignore[attr-defined]


class March:
    """One point by ``solve_ivp`` with a method and a relative tolerance."""

    def __init__(self, point: Point, method: str, tolerance: float) -> None:
        """Take a row of ``points``."""
        self.peak, omega, r, inductance, self.drop, capacitance, self.esr, self.load = point
        self.x, self.fall, self.loop = omega * inductance, self.load / (omega * capacitance), r + self.esr
        self.b, self.method, self.tolerance = omega * capacitance, method, tolerance

    def slopes(self, t: float, y: Sequence[float]) -> tuple[float, ...]:
        """Current, and bus less its rise by current, over the angle."""
        return (self.peak * math.sin(t) - self.drop - self.loop * y[0] - y[1]) / self.x, (y[0] - self.load) / self.b

    def whole(self, t: float, y: Sequence[float]) -> tuple[float, ...]:
        """With the integrals of i², i·v and the bus."""
        i, source = y[0], self.peak * math.sin(t)
        return (source - self.drop - self.loop * i - y[1]) / self.x, (i - self.load) / self.b, i * i, i * source, y[1]

    def pulse(self, start: float, right: Callable[..., tuple[float, ...]]) -> tuple[float, Sequence[float]]:
        """End of the pulse from ``start``, rad, and the state there."""
        _extinct.after = start + 1e-9  # type: ignore[attr-defined]
        sums = 3 if right == self.whole else 0
        scale = (1.0, 100.0, 10.0, 1000.0, 100.0)[:2 + sums]
        found = solve_ivp(
            right, (start, start + math.pi), [0.0, self.level(start), *[0.0] * sums], method=self.method,
            rtol=self.tolerance, atol=[self.tolerance * size for size in scale], events=_extinct)
        return float(found.t[-1]), found.y[:, -1]

    def level(self, start: float) -> float:
        """The bus at turn-on, V."""
        return self.peak * math.sin(start) - self.drop

    def gain(self, start: float) -> float:
        """What the bus has gained half a cycle after a turn-on, V."""
        end, y = self.pulse(start, self.slopes)
        return float(y[1]) - self.fall * (start + math.pi - end) - self.level(start)

    def figures(self, start: float) -> tuple[float, ...]:
        """Mean bus voltage, r.m.s. line current and drawn power from the turn-on."""
        end, (_, level, square, drawn, area) = self.pulse(start, self.whole)
        gap = start + math.pi - end
        mean = (area + gap * (level - gap * self.fall / 2)) / math.pi + self.esr * self.load
        return mean, math.sqrt(square / math.pi), drawn / math.pi


def shooting(point: Point, method: str, tolerance: float) -> tuple[float, ...]:
    """The figures of one point: the turn-on as a root."""
    march = March(point, method, tolerance)
    return march.figures(brentq(march.gain, 0.4, 1.55, xtol=1e-13))


def repeating(point: Point, method: str, tolerance: float) -> tuple[float, ...]:
    """The figures of one point: half cycle after half cycle from a charged reservoir until the turn-on repeats."""
    march, start, last = March(point, method, tolerance), 1.5, 0.0
    while abs(start - last) > 1e-10:
        last = start
        end, y = march.pulse(start, march.slopes)
        start = brentq(lambda a, end=end, top=float(y[1]): march.level(a) - top + march.fall * (a + math.pi - end),
                       end - math.pi, math.pi / 2, xtol=1e-14)
    return march.figures(start)


def worst(found: np.ndarray, right: np.ndarray) -> float:
    """Largest relative error of the three figures."""
    return float(np.max(np.abs(found - right) / right))


def fastest(sample: Sequence[Point], right: np.ndarray) -> tuple[float, str, float, float]:
    """Seconds a point, method, tolerance and error of the fastest within the bound; each at its loosest."""
    rows = []
    for method in METHODS:
        for tolerance in 10.0 ** np.arange(-6.0, -13.1, -0.5):
            start = time.perf_counter()
            found = np.array([shooting(point, method, float(tolerance)) for point in sample]).T
            seconds = (time.perf_counter() - start) / len(sample)
            if (off_by := worst(found, right)) <= BOUND:
                rows.append((seconds, method, float(tolerance), off_by))
                break
    return min(rows)


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")


def rectifier_ratio(
    *, count: int = 1000, sample_size: int = 10, repeat: int = 5, say: Callable[[str], None] = _say
) -> float:
    """Print the rates and give the ratio to the shortest way of ``solve_ivp``; nan where the bound is missed."""
    bridge = grid(count)
    sample = points(bridge[np.arange(sample_size)])
    right = exact(sample)
    off_by = worst(package(bridge[np.arange(sample_size)]), right)
    seconds = math.inf
    for _ in range(repeat):
        start = time.perf_counter()
        package(bridge)
        seconds = min(seconds, time.perf_counter() - start)
    rate = count / seconds if off_by <= BOUND else math.nan
    say(f"Bridge and reservoir; error in mean, r.m.s. and power within {BOUND:g}, measured on {sample_size} points:")
    say(f"  package    {rate:12.0f} points/s   {count} at once in {1e3 * seconds:.1f} ms, measured error {off_by:.1e}")
    each, method, tolerance, missed = fastest(sample, right)
    say(f"  solve_ivp  {1 / each:12.1f} points/s   shooting, {method}, rtol {tolerance:.1e}, "
        f"measured error {missed:.1e}, ratio {rate * each:.0f} (aim {AIM:.0f})")
    start, few = time.perf_counter(), sample[:max(2, sample_size // 4)]
    missed = worst(np.array([repeating(point, method, tolerance) for point in few]).T, right[:, :len(few)])
    plain = (time.perf_counter() - start) / len(few)
    say(f"  solve_ivp  {1 / plain:12.1f} points/s   until it repeats, the same method, measured error {missed:.1e}, "
        f"ratio {rate * plain:.0f} (aim {AIM:.0f})")
    return rate * each


if __name__ == "__main__":
    rectifier_ratio()
