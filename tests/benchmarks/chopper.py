"""Chopper points a second: the closed form against scipy's ``solve_ivp`` at the same error.

Both give mean and r.m.s. current of the load within ``BOUND``, measured against exact decimals, for points that are
given by voltages, resistances, inductance, period and on-time.
``solve_ivp`` goes two ways. The shortest there is: one period from rest with its sensitivity to the start gives the
periodic start, one more period the integrals, extinction by event. And the plain one: period after period from rest
until the current repeats, here only on points with R·T/L above 0.3, since the others take thousands of periods.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable, Sequence

import numpy as np
from scipy.integrate import solve_ivp

from designer.waveforms.chopper import Loop, chopped
from tests.exact_chopper import exact

BOUND = 1e-12
AIM = 10_000.0
METHODS = ("RK45", "DOP853", "LSODA")


def grid(count: int, *, seed: int = 1, least: float = 1e-3) -> Loop:
    """Points of an armature on a mains bus: duties 2 to 98 %, half of them continuous, R·T/L from ``least`` to 1."""
    rng = np.random.default_rng(seed)
    period = np.full(count, 1 / 16e3)
    duty, resistance = rng.uniform(0.02, 0.98, count), rng.uniform(0.5, 8.0, count)
    speed_voltage = np.minimum(311 * duty * rng.uniform(0.5, 1.5, count), 305.0)
    return Loop(
        on_voltage=308 - speed_voltage, off_voltage=-3 - speed_voltage, on_resistance=1.04 * resistance,
        off_resistance=resistance, period=period, on_time=duty * period,
        inductance=resistance * period / 10 ** rng.uniform(math.log10(least), 0, count))


def package(loop: Loop) -> tuple[np.ndarray, np.ndarray]:
    """Mean and r.m.s. current, all points at once."""
    found = chopped(loop)
    return found.mean, found.rms


def _zero(t: float, y: Sequence[float]) -> float:
    return y[0] if t > 0 else 1.0


_zero.terminal, _zero.direction = True, -1  # type: ignore[attr-defined]


Point = tuple[float, ...]
Way = Callable[[Point, str, float], tuple[float, float]]


def _run(
    point: Point, start: Sequence[float], *, on: bool, whole: bool, how: tuple[str, float]
) -> Sequence[float]:
    """State at the end of a stretch: current, charge and square (``whole``), or current and its sensitivity."""
    on_voltage, off_voltage, on_resistance, off_resistance, L, period, on_time = point
    seconds, volts = (on_time, on_voltage) if on else (period - on_time, off_voltage)
    a, b = volts / L, (on_resistance if on else off_resistance) / L

    def sensitivity(_: float, y: Sequence[float]) -> tuple[float, float]:
        return a - b * y[0], -b * y[1]

    def integrals(_: float, y: Sequence[float]) -> tuple[float, float, float]:
        i = y[0]
        return a - b * i, i, i * i

    method, tolerance = how
    scale = abs(a) * seconds
    sizes = (scale, scale * period, scale**2 * period) if whole else (scale, 1.0)
    found = solve_ivp(
        integrals if whole else sensitivity, (0.0, seconds), start, method=method, rtol=tolerance,
        atol=[tolerance * 1e-2 * size for size in sizes], events=None if on or not whole else _zero)
    return found.y[:, -1]  # type: ignore[no-any-return]


def shooting(point: Point, method: str, tolerance: float) -> tuple[float, float]:
    """Mean and r.m.s. current of one point: the periodic start from one period with its sensitivity."""
    how = (method, tolerance)
    i, fade = _run(point, (0.0, 1.0), on=True, whole=False, how=how)
    i, fade = _run(point, (i, fade), on=False, whole=False, how=how)
    peak = _run(point, (max(i / (1 - fade), 0.0), 0.0, 0.0), on=True, whole=True, how=how)
    _, charge, square = _run(point, peak, on=False, whole=True, how=how)
    return charge / point[5], math.sqrt(square / point[5])


def repeating(point: Point, method: str, tolerance: float) -> tuple[float, float]:
    """Mean and r.m.s. current of one point: period after period from rest until the current repeats."""
    how, first, charge, square = (method, tolerance), 0.0, 0.0, 0.0
    for _ in range(math.ceil(-math.log(0.1 * BOUND) * point[4] / (point[3] * point[5]))):
        peak = _run(point, (first, 0.0, 0.0), on=True, whole=True, how=how)
        last, charge, square = _run(point, peak, on=False, whole=True, how=how)
        if abs(last - first) <= 0.1 * BOUND * peak[0]:
            break
        first = max(last, 0.0)
    return charge / point[5], math.sqrt(square / point[5])


def points(loop: Loop) -> list[Point]:
    """The points one by one on plain floats."""
    columns = (loop.on_voltage, loop.off_voltage, loop.on_resistance, loop.off_resistance, loop.inductance,
               loop.period, loop.on_time)
    return [tuple(float(x) for x in row) for row in zip(*columns, strict=True)]


def by_solve_ivp(way: Way, sample: Sequence[Point], method: str, tolerance: float) -> np.ndarray:
    """Mean and r.m.s. currents of a sample."""
    return np.array([way(point, method, tolerance) for point in sample]).T


def by_decimals(sample: Sequence[Point]) -> np.ndarray:
    """Mean and r.m.s. currents of a sample, exact."""
    rows = []
    for point in sample:
        _, (*_, on_charge, on_square, off_charge, off_square) = exact(point)
        rows.append(((on_charge + off_charge) / point[5], math.sqrt((on_square + off_square) / point[5])))
    return np.array(rows).T


def worst(found: Sequence[np.ndarray] | np.ndarray, right: np.ndarray) -> float:
    """Largest relative error in mean or r.m.s. current."""
    return float(np.max(np.abs(np.asarray(found) - right) / right))


def fastest(sample: Sequence[Point], right: np.ndarray) -> tuple[float, str, float, float]:
    """Seconds a point, method, tolerance and error of the fastest within the bound; each at its loosest."""
    rows = []
    for method in METHODS:
        for tolerance in 10.0 ** np.arange(-7.0, -13.6, -0.5):
            start = time.perf_counter()
            found = by_solve_ivp(shooting, sample, method, float(tolerance))
            seconds = (time.perf_counter() - start) / len(sample)
            if (off_by := worst(found, right)) <= BOUND:
                rows.append((seconds, method, float(tolerance), off_by))
                break
    return min(rows)


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")


def chopper_ratio(
    *, count: int = 1000, sample_size: int = 20, repeat: int = 5, say: Callable[[str], None] = _say
) -> float:
    """Print the rates and give the ratio to the shortest way of ``solve_ivp``."""
    many, few, heavy = grid(count), grid(sample_size, seed=2), grid(max(sample_size // 4, 2), seed=3, least=0.3)
    times = []
    for _ in range(repeat):
        start = time.perf_counter()
        package(many)
        times.append(time.perf_counter() - start)
    rate = count / min(times)
    own = worst(package(few), by_decimals(points(few)))
    say(f"Chopper points, error in mean and r.m.s. current within {BOUND:g}, measured on {sample_size} points:")
    say(f"  package    {rate:12.0f} points/s   {count} at once in {1000 * min(times):.3f} ms, measured error {own:.1e}")
    seconds, method, tolerance, off_by = fastest(points(few), by_decimals(points(few)))
    say(f"  solve_ivp  {1 / seconds:12.1f} points/s   shooting, {method}, rtol {tolerance:.1e}, "
        f"measured error {off_by:.1e}, ratio {rate * seconds:.0f} (aim {AIM:.0f})")
    start = time.perf_counter()
    off_by = worst(by_solve_ivp(repeating, points(heavy), method, tolerance), by_decimals(points(heavy)))
    plain = (time.perf_counter() - start) / len(heavy)
    say(f"  solve_ivp  {1 / plain:12.1f} points/s   until it repeats, the same method, measured error {off_by:.1e}, "
        f"ratio {rate * plain:.0f} (aim {AIM:.0f})")
    return rate * seconds


if __name__ == "__main__":
    chopper_ratio()
