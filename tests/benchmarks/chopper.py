"""Chopper points a second: the closed form against scipy's ``solve_ivp`` at the same error.

Both give mean and r.m.s. current of the load within ``BOUND``, measured against exact decimals, for points that are
given by voltages, resistances, inductance, period and on-time.
``solve_ivp`` goes the shortest way there is: one period from rest with its sensitivity to the start gives the
periodic start, one more period the integrals; extinction by event.
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


def grid(count: int, seed: int = 1) -> Loop:
    """Points of an armature on a mains bus: duties 2 to 98 %, half of them continuous, R·T/L from 0.001 to 1."""
    rng = np.random.default_rng(seed)
    period = np.full(count, 1 / 16e3)
    duty, resistance = rng.uniform(0.02, 0.98, count), rng.uniform(0.5, 8.0, count)
    speed_voltage = np.minimum(311 * duty * rng.uniform(0.5, 1.5, count), 305.0)
    return Loop(
        on_voltage=308 - speed_voltage, off_voltage=-3 - speed_voltage, on_resistance=1.04 * resistance,
        off_resistance=resistance, inductance=resistance * period / 10 ** rng.uniform(-3, 0, count), period=period,
        on_time=duty * period)


def package(loop: Loop) -> tuple[np.ndarray, np.ndarray]:
    """Mean and r.m.s. current, all points at once."""
    found = chopped(loop)
    return found.mean, found.rms


def _zero(t: float, y: Sequence[float]) -> float:
    return y[0] if t > 0 else 1.0


_zero.terminal, _zero.direction = True, -1  # type: ignore[attr-defined]


def one_by_solve_ivp(point: tuple[float, ...], method: str, tolerance: float) -> tuple[float, float]:
    """Mean and r.m.s. current of one point."""
    on_voltage, off_voltage, on_resistance, off_resistance, L, period, on_time = point

    def run(start: Sequence[float], volts: float, ohms: float, seconds: float, whole: bool) -> Sequence[float]:
        a, b = volts / L, ohms / L

        def sensitivity(_: float, y: Sequence[float]) -> tuple[float, float]:
            return a - b * y[0], -b * y[1]

        def integrals(_: float, y: Sequence[float]) -> tuple[float, float, float]:
            i = y[0]
            return a - b * i, i, i * i

        scale = abs(a) * seconds
        sizes = (scale, scale * period, scale**2 * period) if whole else (scale, 1.0)
        floor = [tolerance * 1e-2 * size for size in sizes]
        found = solve_ivp(
            integrals if whole else sensitivity, (0.0, seconds), start, method=method, rtol=tolerance, atol=floor,
            events=_zero if whole and volts < 0 else None)
        return found.y[:, -1]  # type: ignore[no-any-return]

    i, fade = run((0.0, 1.0), on_voltage, on_resistance, on_time, False)
    i, fade = run((i, fade), off_voltage, off_resistance, period - on_time, False)
    first = max(i / (1 - fade), 0.0)
    peak = run((first, 0.0, 0.0), on_voltage, on_resistance, on_time, True)
    _, charge, square = run(peak, off_voltage, off_resistance, period - on_time, True)
    return charge / period, math.sqrt(square / period)


def points(loop: Loop) -> list[tuple[float, ...]]:
    """The points one by one on plain floats."""
    columns = (loop.on_voltage, loop.off_voltage, loop.on_resistance, loop.off_resistance, loop.inductance,
               loop.period, loop.on_time)
    return [tuple(float(x) for x in row) for row in zip(*columns, strict=True)]


def by_solve_ivp(sample: Sequence[tuple[float, ...]], method: str, tolerance: float) -> np.ndarray:
    """Mean and r.m.s. currents of a sample."""
    return np.array([one_by_solve_ivp(point, method, tolerance) for point in sample]).T


def by_decimals(sample: Sequence[tuple[float, ...]]) -> np.ndarray:
    """Mean and r.m.s. currents of a sample, exact."""
    rows = []
    for point in sample:
        _, (*_, on_charge, on_square, off_charge, off_square) = exact(point)
        rows.append(((on_charge + off_charge) / point[5], math.sqrt((on_square + off_square) / point[5])))
    return np.array(rows).T


def worst(found: Sequence[np.ndarray] | np.ndarray, right: np.ndarray) -> float:
    """Largest relative error in mean or r.m.s. current."""
    return float(np.max(np.abs(np.asarray(found) - right) / right))


def fastest(sample: Sequence[tuple[float, ...]], right: np.ndarray) -> tuple[float, str, float, float]:
    """Seconds a point, method, tolerance and error of the fastest within the bound; each at its loosest."""
    rows = []
    for method in METHODS:
        for tolerance in 10.0 ** np.arange(-7.0, -13.6, -0.5):
            start = time.perf_counter()
            found = by_solve_ivp(sample, method, float(tolerance))
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
    """Print both rates and give their ratio."""
    few, many = grid(sample_size, seed=2), grid(count)
    sample = points(few)
    right = by_decimals(sample)
    own = worst(package(few), right)
    times = []
    for _ in range(repeat):
        start = time.perf_counter()
        package(many)
        times.append(time.perf_counter() - start)
    rate = count / min(times)
    seconds, method, tolerance, off_by = fastest(sample, right)
    say(f"Chopper points, error in mean and r.m.s. current within {BOUND:g}, measured on {sample_size} points:")
    say(f"  package    {rate:12.0f} points/s   {count} at once in {1000 * min(times):.3f} ms, measured error {own:.1e}")
    say(f"  solve_ivp  {1 / seconds:12.1f} points/s   {method}, rtol {tolerance:.1e}, measured error {off_by:.1e}")
    say(f"  ratio: {rate * seconds:.0f} (aim {AIM:.0f})")
    return rate * seconds


if __name__ == "__main__":
    chopper_ratio()
