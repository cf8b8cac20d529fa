"""Speed as ratios against general-purpose tools, measured in one run: ``python -m tests.benchmarks.run``.

1. Operating points (angle and speed given, saturating motor): points per second of the package and of
   scipy's ``solve_ivp``, both at the loosest setting whose measured error stays within 1e-5 in r.m.s.
   current and torque. The error is measured against ``solve_ivp`` at a relative tolerance of 1e-10.
2. Roots over load and speed, timed apart.
3. Linear cases, choppers and bridges with a reservoir, against ``solve_ivp`` at the same error.
4. Every circuit and supply against an independent march of single points.
5. ``design`` on examples, and ``compare`` over all circuits with its page, in a fresh process, against importing
   the libraries they stand on. Both run with their bytecode cached, as they do from the second time on.
"""

from __future__ import annotations

import argparse
import dataclasses
import math
import os
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import scipy
from scipy.integrate import solve_ivp

from designer.circuits.balance import find_setting, find_speed
from designer.circuits.case import Fixed, Points
from designer.circuits.triac_series import CIRCUIT
from tests.benchmarks.chopper import chopper_ratio
from tests.benchmarks.circuits import circuits_ratio
from tests.benchmarks.rectifier import rectifier_ratio
from tests.pairs import S1, S1_TEN, fixed
from tests.reference import DEGREE, RPM, Case, Curve, conduct

BOUND = 1e-5
AIM_POINTS, AIM_DESIGN, AIM_COMPARE = 1000.0, 2.5, 3.0
EXAMPLES = Path(__file__).parents[2] / "designer" / "examples"
COMPARED = "drill-press"
DESIGNED = ("fan-fixed", "lathe", "garden-cart", "reservoir-supply")
LIBRARIES = (
    "import numpy, scipy.optimize, sympy, pint, pydantic, jinja2, matplotlib.figure, schemdraw; "
    "pint.UnitRegistry().volt"
)
MANY = 50           # points in the sample: a thorough round, each circuit marched at three settings instead of one
METHODS = ("RK23", "RK45", "DOP853", "LSODA")
MOTOR = dataclasses.replace(
    S1, curve=Curve(S1_TEN), remanence="drop", saturating=True,
    R_s=0.4, L_s=0.25 / (100 * math.pi), V_T0=0.85, r_T=0.025,
)


def grid(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Firing angles from 85° to 160° and speeds up to 12000 rpm, spread evenly (Halton points)."""
    n = np.arange(1, count + 1)

    def halton(base: int) -> np.ndarray:
        result, part, left = np.zeros(count), 1.0, n.copy()
        while left.any():
            part /= base
            result += part * (left % base)
            left //= base
        return result

    return (85 + 75 * halton(2)) * DEGREE, 12000 * RPM * halton(3)


def package(shared: Fixed, angles: np.ndarray, speeds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """R.m.s. current and torque by the package, all points at once."""
    many = Points.of(shared, {"voltage": 230.0, "frequency": 50.0, "setting": angles, "speed": speeds})
    found = CIRCUIT.solve(shared, many)
    return found.rms, found.torque


def right_side(case: Case) -> Callable[[float, Sequence[float]], tuple[float, float, float]]:
    """di/dθ, i² and torque on plain floats: the curve's cubic found by bisection, everything bound before."""
    turn = 2 * math.pi * case.frequency
    crest, drop, w = math.sqrt(2) * case.voltage, case.V_b + case.V_T0, case.speed
    total = case.R_s + case.R_a + case.R_f + case.r_T
    g, slope, sine = case.curve.g, case.curve.slope, math.sin
    least = case.L_s + case.L_a + 0.1 * case.L_f
    per_slope = 0.9 * case.L_f / case.curve.initial_slope
    most = 0.9 * case.L_f

    def rhs(angle: float, y: Sequence[float]) -> tuple[float, float, float]:
        i = y[0] if y[0] > 0.0 else 0.0
        k = g(i)
        saturating = per_slope * slope(i)
        inductance = least + (saturating if saturating < most else most)
        return (crest * sine(angle) - drop - total * i - k * w) / (turn * inductance), i * i, k * i

    return rhs


def off(angle: float, y: Sequence[float]) -> float:
    """Extinction."""
    return y[0]


off.terminal, off.direction = True, -1  # type: ignore[attr-defined]


def one_by_solve_ivp(case: Case, method: str, tolerance: float) -> tuple[float, float]:
    """R.m.s. current and torque of one point: half a cycle from turn-on to extinction."""
    found = solve_ivp(
        right_side(case), (case.alpha, case.alpha + 2 * math.pi), (0.0, 0.0, 0.0), method=method,
        rtol=tolerance, atol=1e-2 * tolerance, events=off,
    )
    _, square, pull = found.y_events[0][0] if len(found.y_events[0]) else found.y[:, -1]
    return math.sqrt(square / math.pi), pull / math.pi


def cases(angles: np.ndarray, speeds: np.ndarray) -> list[Case]:
    """The points as the reference takes them."""
    return [dataclasses.replace(MOTOR, alpha=float(a), speed=float(w)) for a, w in zip(angles, speeds, strict=True)]


def exact(sample: Sequence[Case]) -> np.ndarray:
    """R.m.s. current and torque by the tight reference."""
    rows = [conduct(case, 1, case.alpha, case.speed).integrals for case in sample]
    return np.array([(math.sqrt(row["x2"] / math.pi), row["torque"] / math.pi) for row in rows]).T


def error(found: Sequence[np.ndarray], right: np.ndarray) -> float:
    """Largest relative error in r.m.s. current or torque."""
    return float(np.max(np.abs(np.asarray(found) - right) / right))


def loosest_package(angles: np.ndarray, speeds: np.ndarray, right: np.ndarray) -> tuple[float, float]:
    """The loosest tolerance whose measured error is within the bound, and that error."""
    for tolerance in (1e-3, 5e-4, 2e-4, 1e-4, 5e-5, 2e-5, 1e-5, 1e-6):
        worst = error(package(fixed(MOTOR, tolerance), angles, speeds), right)
        if worst <= BOUND:
            return tolerance, worst
    raise SystemExit("the package misses the bound")


def loosest_solve_ivp(sample: Sequence[Case], right: np.ndarray) -> list[tuple[float, str, float, float]]:
    """Seconds a point, method, tolerance and error: for each method the loosest that meets the bound."""
    rows = []
    for method in METHODS:
        for tolerance in 10.0 ** np.arange(-3.0, -9.6, -0.5):
            start = time.perf_counter()
            found = np.array([one_by_solve_ivp(case, method, tolerance) for case in sample]).T
            seconds = (time.perf_counter() - start) / len(sample)
            worst = error(found, right)
            if worst <= BOUND:
                rows.append((seconds, method, float(tolerance), worst))
                break
    return sorted(rows)


def best(function: Callable[[], object], repeat: int) -> float:
    """The shortest wall time of some runs, s."""
    times = []
    for _ in range(repeat):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return min(times)


def say(line: str = "") -> None:
    """One line of the report."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def operating_points(count: int, sample_size: int, repeat: int) -> float:
    """Part 1; gives the ratio."""
    angles, speeds = grid(sample_size)
    sample = cases(angles, speeds)
    right = exact(sample)
    tolerance, worst = loosest_package(angles, speeds, right)
    shared = fixed(MOTOR, tolerance)
    many = grid(count)
    seconds = best(lambda: package(shared, *many), repeat)
    rate = count / seconds
    say("Operating points, angle and speed given, saturating motor;")
    say(f"error in r.m.s. current and torque within {BOUND:g}, measured on {sample_size} points:")
    say(f"  package    {rate:12.0f} points/s   {count} at once in {seconds:.3f} s, tolerance {tolerance:g}, "
        f"measured error {worst:.1e}")
    rows = loosest_solve_ivp(sample, right)
    for each, method, loose, off_by in rows:
        say(f"  solve_ivp  {1 / each:12.1f} points/s   {method}, rtol {loose:.1e}, measured error {off_by:.1e}, "
            f"ratio {rate * each:.0f}")
    ratio = rate * rows[0][0]
    say(f"  ratio to the fastest of them: {ratio:.0f} (aim {AIM_POINTS:.0f})")
    return ratio


def roots(count: int, repeat: int) -> None:
    """Part 2: speed from load and angle, angle from load and speed."""
    angles, speeds = grid(count)
    shared = fixed(dataclasses.replace(MOTOR, load=(0.3, 0.0, 0.0)), BOUND)
    given = {"voltage": 230.0, "frequency": 50.0, "setting": 85 * DEGREE + 0.4 * (angles - 85 * DEGREE), "speed": 0.0}
    by_speed = best(lambda: find_speed(CIRCUIT, shared, Points.of(shared, given)), repeat)
    given |= {"setting": 0.0, "speed": 1000 * RPM + 0.5 * speeds}
    by_angle = best(lambda: find_setting(CIRCUIT, shared, Points.of(shared, given)), repeat)
    say(f"Roots, {count} at once, to {BOUND:g} of the range:")
    say(f"  speed from load and angle   {count / by_speed:12.0f} points/s")
    say(f"  angle from load and speed   {count / by_angle:12.0f} points/s")


def fresh(arguments: Sequence[str], folder: str) -> Callable[[], None]:
    """A run of the interpreter from nothing but bytecode in ``folder``; exit 1 (not ready) is a result as well."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}

    def go() -> None:
        done = subprocess.run([sys.executable, *arguments], capture_output=True, text=True, check=False,
                              env=kept | {"PYTHONPYCACHEPREFIX": folder})
        if done.returncode > 1:
            raise RuntimeError(f"exit {done.returncode}: {done.stderr.strip()[-500:]}")

    return go


def processes(repeat: int) -> dict[str, float]:
    """Part 5, in seconds of processor time; the ratio of each verb and example, nan where the verb cannot run."""
    ratios = {}
    with tempfile.TemporaryDirectory() as folder:
        def seconds(arguments: Sequence[str]) -> float:
            go, times = fresh(arguments, folder), []
            go()
            for _ in range(repeat):
                before = os.times()
                go()
                after = os.times()
                times.append(after.children_user + after.children_system - before.children_user
                             - before.children_system)
            return min(times)

        imports = seconds(["-c", LIBRARIES])
        say(f"Importing the libraries, in a fresh process: {imports:.2f} s")
        for verb, name, aim in (*(("design", name, AIM_DESIGN) for name in DESIGNED),
                                ("compare", COMPARED, AIM_COMPARE)):
            page = f"{folder}/{verb}-{name}.html"
            try:
                whole = seconds(["-m", "designer", verb, str(EXAMPLES / f"{name}.toml"), "-o", page])
            except RuntimeError as failed:
                say(f"{verb} {name}: did not run ({failed})")
                whole = math.nan
            ratios[f"{verb} {name}"] = whole / imports
            say(f"  {verb} {name} with its page: {whole:.2f} s, ratio {whole / imports:.2f} (aim {aim:g} or less)")
    return ratios


def main(arguments: Sequence[str] | None = None) -> int:
    """Run all five parts and print them."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--points", type=int, default=8192, help="points at once (default 8192)")
    parser.add_argument("--sample", type=int, default=100, help="points on which the error is measured (default 100)")
    parser.add_argument("--roots", type=int, default=256, help="roots at once (default 256)")
    parser.add_argument("--repeat", type=int, default=3, help="runs of which the shortest counts (default 3)")
    parser.add_argument("--no-design", action="store_true", help="leave out the fresh processes")
    parser.add_argument("--no-linear", action="store_true", help="leave out choppers and bridges")
    parser.add_argument("--no-circuits", action="store_true", help="leave out the round of all circuits")
    chosen = parser.parse_args(arguments)
    say(f"Python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}")
    operating_points(chosen.points, chosen.sample, chosen.repeat)
    roots(chosen.roots, chosen.repeat)
    if not chosen.no_linear:
        chopper_ratio(repeat=chosen.repeat, say=say)
        rectifier_ratio(repeat=chosen.repeat, say=say)
    if not chosen.no_circuits:
        circuits_ratio(count=min(chosen.points, 512), sample_size=1 if chosen.sample < MANY else 3,
                       repeat=chosen.repeat, say=say)
    if not chosen.no_design:
        processes(chosen.repeat)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
