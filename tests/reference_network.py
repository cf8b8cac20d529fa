"""A motor behind thyristors and diodes as a network of single devices, by brute force, for the tests.

Nothing here knows of modes or paths: every device is a branch by itself, conducting (threshold + slope × current) or
not. Between two changes the mesh equations of the conducting branches are marched (scipy ``solve_ivp``, DOP853); a
change comes when a current falls to zero, a blocked voltage exceeds its threshold, or a gate opens or shuts; then every
set of conducting devices is tried and the one kept in which all currents flow forward and nothing else would conduct.
Written from the definitions alone and sharing no code with the package. SI units; angles in rad from the zero of the
ideal source. Slow on purpose.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np
from scipy.integrate import solve_ivp
from scipy.linalg import null_space

from tests.rectified_pairs import Job

RTOL, ATOL = 1e-10, 1e-12
HAIR = 1e-7                          # rad: how far ahead a set of conducting devices is tried
#: role -> name -> (from, to, half cycle whose gate it has: +1, −1, 0 both; None for a diode)
Layout = dict[str, tuple[str, str, str, int | None]]

LAYOUTS: dict[str, Layout] = {
    "half-wave": {"T": ("switch", "A", "P", 1)},
    "common-cathode": {"T1": ("switch", "A", "P", 1), "T2": ("switch", "B", "P", -1),
                       "D1": ("rectifier", "M", "A", None), "D2": ("rectifier", "M", "B", None)},
    "one-leg": {"T1": ("switch", "A", "P", 1), "T2": ("switch", "M", "A", -1),
                "D1": ("rectifier", "B", "P", None), "D2": ("rectifier", "M", "B", None)},
    "diodes-thyristor": {"D1": ("rectifier", "A", "Q", None), "D2": ("rectifier", "B", "Q", None),
                         "D3": ("rectifier", "M", "A", None), "D4": ("rectifier", "M", "B", None),
                         "T": ("switch", "Q", "P", 0)},
}


class Net:
    """Branches and nodes of one job; branch 0 is the source, branch 1 the motor, then the devices."""

    def __init__(self, job: Job) -> None:
        """Lay the branches out."""
        self.job, one = job, job.machine
        half = job.circuit.startswith("thyristor")
        layout = dict(LAYOUTS["half-wave" if half else job.bridge])
        if job.freewheeling:
            layout["F"] = ("freewheel", "M", "P", None)
        self.names, self.roles = list(layout), [row[0] for row in layout.values()]
        self.gates = [row[3] for row in layout.values()]
        ends = [("B", "A"), ("P", "M"), *((row[1], row[2]) for row in layout.values())]
        if half:
            ends = [tuple("B" if node == "M" else node for node in pair) for pair in ends]  # type: ignore[misc]
        nodes = sorted({node for pair in ends for node in pair})
        self.ends = [(nodes.index(a), nodes.index(b)) for a, b in ends]
        self.incidence = np.zeros((len(nodes), len(ends)))
        for n, (a, b) in enumerate(self.ends):
            self.incidence[a, n] += 1
            self.incidence[b, n] -= 1
        drops = [getattr(job, role) for role in self.roles]
        self.threshold = np.array([drop.threshold for drop in drops])
        series = job.field_current is None
        self.R = np.array([job.R_s, one.R_a + (one.R_f if series else 0.0), *(drop.slope for drop in drops)])
        self.omega, self.peak = 2 * math.pi * job.frequency, math.sqrt(2) * job.voltage
        self.series, self.speed = series, float(job.speed or 0.0)

    def k(self, i: float) -> float:
        """Speed constant, V·s."""
        curve = self.job.machine.curve
        x = max(i, 0.0) if self.series else float(self.job.field_current or 0.0)
        kept = curve.k_r if self.job.machine.remanence == "keep" or (x > 0 and
                                                                     self.job.machine.remanence != "drop") else 0.0
        return kept + curve.g(x)

    def inductance(self, i: float) -> float:
        """Of the motor, H."""
        one = self.job.machine
        if not self.series:
            return one.L_a
        share = min(1.0, one.curve.slope(max(i, 0.0)) / one.curve.initial_slope) if one.saturating else 1.0
        return one.L_a + 0.1 * one.L_f + 0.9 * one.L_f * share

    def open_gates(self, x: float) -> list[bool]:
        """Which devices may turn on at an angle: diodes always, thyristors inside their window."""
        out = []
        for sign in self.gates:
            if sign is None:
                out.append(True)
                continue
            at = [(x - (0.0 if s > 0 else math.pi)) % (2 * math.pi) for s in ([1, -1] if sign == 0 else [sign])]
            out.append(any(self.job.alpha - 1e-12 <= one < self.shut - 1e-12 for one in at))
        return out

    @property
    def shut(self) -> float:
        """Where the gate window ends."""
        end = math.pi - self.omega * self.job.guard
        return end if self.job.pulse is None else min(end, float(self.job.alpha or 0.0) + self.omega * self.job.pulse)


class Mode:
    """The mesh equations of one set of conducting devices."""

    def __init__(self, net: Net, on: tuple[int, ...]) -> None:
        """``on``: indices of devices."""
        self.net, self.on = net, on
        self.known: dict[tuple[bool, ...], tuple[np.ndarray, np.ndarray]] = {}
        self.branches = [0, 1, *(2 + n for n in on)]
        self.N = null_space(net.incidence[:, self.branches], rcond=1e-9)
        coils = [1] if net.job.L_s == 0 else [0, 1]
        NL = self.N[coils, :]
        W = null_space(NL) if self.N.size else np.zeros((self.N.shape[1], 0))
        U = null_space(W.T) if W.size else np.eye(self.N.shape[1])
        self.coils, self.W, self.U = coils, self.N @ W, self.N @ U     # in branch currents
        self.take = np.linalg.pinv(self.U[coils, :]) if self.U.size else np.zeros((self.U.shape[1], len(coils)))
        self.R = net.R[self.branches]
        self.Z = np.linalg.pinv(self.W.T @ (self.R[:, None] * self.W)) @ self.W.T if self.W.size else None
        self.fixed = np.concatenate([[0.0, 0.0], net.threshold[list(on)]])

    def state(self, x: float, y: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Currents of the branches, their slopes in A/rad (of the coils), their voltages."""
        net = self.net
        y = y[-len(self.coils):]
        a = self.take @ y
        flow = self.U @ a
        e = self.fixed.copy()
        e[0] = -net.peak * math.sin(x)
        e[1] = net.job.machine.V_b + net.k(float(y[-1])) * net.speed
        if self.Z is not None:
            flow = flow - self.W @ (self.Z @ (self.R * flow + e))
        L = np.zeros(len(e))
        L[0], L[1] = net.job.L_s, net.inductance(float(y[-1]))
        drop = self.R * flow + e
        rate = np.zeros(len(e))
        if self.U.size:
            rate = -self.U @ np.linalg.solve(self.U.T @ (L[:, None] * self.U), self.U.T @ drop)
        return flow, rate / net.omega, drop + L * rate

    def kirchhoff(self, y: np.ndarray, volts: np.ndarray) -> bool:
        """Whether the coils' currents can flow here, and all meshes close."""
        y = y[-len(self.coils):]
        here = self.U[self.coils, :] @ (self.take @ y) if self.U.size else 0 * y
        return bool(np.all(np.abs(here - y) < 1e-9) and (not self.N.size or np.all(np.abs(self.N.T @ volts) < 1e-7)))

    def joined(self) -> np.ndarray:
        """Which nodes hang together by source, motor and conducting devices."""
        incidence = self.net.incidence[:, self.branches]
        near = (incidence @ incidence.T != 0) | np.eye(len(incidence), dtype=bool)
        return np.linalg.matrix_power(near.astype(float), len(near)) > 0

    def rings(self, gates: list[bool]) -> tuple[np.ndarray, np.ndarray]:
        """Rings of blocked devices that could conduct: sums of thresholds, and weights on the branches' voltages."""
        net = self.net
        incidence = net.incidence[:, self.branches]
        level = np.linalg.pinv(incidence.T)        # potentials of the nodes, island by island
        joined = self.joined()
        loose = [n for n, gate in enumerate(gates) if gate and n not in self.on]
        sums, weights = [1e9], [np.zeros(len(self.branches))]
        for size in (1, 2, 3):
            for ring in itertools.permutations(loose, size):
                ends = [net.ends[2 + n] for n in ring]
                gaps = [(ends[m][1], ends[(m + 1) % size][0]) for m in range(size)]
                if all(joined[gap] for gap in gaps):
                    sums.append(float(sum(net.threshold[n] for n in ring)))
                    weights.append(np.sum([level[a] - level[b] for a, b in gaps], axis=0))
        return np.array(sums), np.array(weights)

    def slack(self, volts: np.ndarray, gates: list[bool]) -> float:
        """How far the nearest ring of blocked devices is from conducting, V."""
        key = tuple(gates)
        if key not in self.known:
            self.known[key] = self.rings(gates)
        sums, weights = self.known[key]
        return float(np.min(sums + weights @ volts))


@dataclass
class Leg:
    """One stretch between changes: angles, mode, its dense output, what turned off at its end."""

    start: float
    end: float
    mode: Mode
    wave: Callable[[float], np.ndarray]
    nodes: np.ndarray


@dataclass
class Run:
    """The march."""

    net: Net
    x: float = 0.0
    y: np.ndarray = field(default_factory=lambda: np.zeros(2))
    held: set[int] = field(default_factory=set)
    modes: dict[tuple[int, ...], Mode] = field(default_factory=dict)

    def mode(self, on: tuple[int, ...]) -> Mode:
        """Made once."""
        if on not in self.modes:
            self.modes[on] = Mode(self.net, on)
        return self.modes[on]

    def choose(self) -> Mode:
        """The set of devices in which all is consistent a hair ahead."""
        gates = self.net.open_gates(self.x + HAIR)
        free = [n for n, gate in enumerate(gates) if gate or n in self.held]
        for size in range(len(free) + 1):
            for on in itertools.combinations(free, size):
                mode = self.mode(on)
                try:
                    flow, rate, volts = mode.state(self.x, self.y)
                except np.linalg.LinAlgError:      # a loop of devices alone: nothing tells its current, so not this one
                    continue
                if not mode.kirchhoff(self.y, volts) or np.any(flow[2:] < -1e-9):
                    continue
                ahead = self.y + HAIR * rate[[0, 1]]
                flow, _, volts = mode.state(self.x + HAIR, ahead)
                if np.any(flow[2:] < -1e-10) or not mode.kirchhoff(ahead, volts):
                    continue
                if mode.slack(volts, gates) > -1e-8:
                    return mode
        raise ArithmeticError(f"no consistent state at {self.x}, {self.y}")

    def legs(self, until: float) -> Iterator[Leg]:
        """March to an angle."""
        alpha, shut = float(self.net.job.alpha or 0.0), self.net.shut
        turn = math.floor(self.x / (2 * math.pi) + 1e-9) * 2 * math.pi
        stops = sorted({turn + at + more for at in (alpha, shut, 0.0, math.pi) for more in (0.0, math.pi, 2 * math.pi)})
        while self.x < until - 1e-12:
            mode = self.choose()
            end = min([until, *(stop for stop in stops if stop > self.x + 1e-10)])
            yield self.march(mode, end)

    def march(self, mode: Mode, end: float) -> Leg:
        """One stretch."""
        gates, start = self.net.open_gates(self.x + HAIR), self.x

        def rates(x: float, y: np.ndarray) -> np.ndarray:
            rate = mode.state(x, y)[1]
            return np.array([rate[0] if self.net.job.L_s else 0.0, rate[1]])

        def current(n: int) -> Callable[[float, np.ndarray], float]:
            return lambda x, y: float(mode.state(x, y)[0][2 + n])

        events: list[Callable[[float, np.ndarray], float]] = [current(n) for n in range(len(mode.on))]
        events.append(lambda x, y: mode.slack(mode.state(x, y)[2], gates))
        for event in events:
            event.terminal, event.direction = True, -1.0  # type: ignore[attr-defined]
        found = solve_ivp(rates, (start, end), self.y, method="DOP853", rtol=RTOL, atol=ATOL, events=events,
                          max_step=0.15, dense_output=True)
        self.x, self.y = float(found.t[-1]), found.y[:, -1].copy()
        flow = mode.state(self.x, self.y)[0]
        self.held = {n for place, n in enumerate(mode.on) if flow[2 + place] > 1e-9}
        self.y[np.abs(self.y) < 1e-9] = 0.0
        return Leg(start=start, end=self.x, mode=mode, wave=found.sol, nodes=found.t)


def periodic(job: Job, *, periods: int = 200) -> tuple[Net, list[Leg]]:
    """March from rest, full periods of the source, until the currents repeat; give the last period's stretches."""
    run = Run(Net(job))
    before = np.full(2, np.inf)
    legs: list[Leg] = []
    for n in range(periods):
        legs = list(run.legs(2 * math.pi * (n + 1)))
        if np.all(np.abs(run.y - before) <= 5e-8 * max(1.0, float(np.max(np.abs(run.y))))):
            return run.net, legs
        before = run.y.copy()
    raise ArithmeticError("the currents do not repeat")


def measured(job: Job) -> dict[str, float]:
    """Every quantity of the contract that one full period gives, by the contract's names."""
    net, legs = periodic(job)
    return Meter(net, legs).quantities()


class Meter:
    """Quadrature on the dense output of one full period."""

    def __init__(self, net: Net, legs: list[Leg]) -> None:
        """Take eight Gauss points in every step."""
        self.net, self.legs = net, legs
        point, weight = np.polynomial.legendre.leggauss(8)
        angles, weights, flows = [], [], []
        for leg in legs:
            for a, b in itertools.pairwise(leg.nodes):
                for p, w in zip(point, weight, strict=True):
                    x = a + (b - a) * (p + 1) / 2
                    angles.append(x)
                    weights.append(w * (b - a) / 2)
                    flows.append(self.currents(leg, x))
        self.x, self.w = np.array(angles), np.array(weights) / (2 * math.pi)
        self.flow = np.array(flows).T
        self.k = np.array([net.k(i) for i in self.flow[1]])

    def currents(self, leg: Leg, x: float) -> np.ndarray:
        """Of all branches at an angle."""
        out = np.zeros(2 + len(self.net.names))
        out[leg.mode.branches] = leg.mode.state(x, leg.wave(x))[0]
        return out

    def mean(self, y: np.ndarray) -> float:
        """Over a full period."""
        return float(self.w @ y)

    def peak(self, branch: int) -> float:
        """The greatest magnitude, on a fine grid about the greatest point of quadrature, and at every change."""
        best = 0.0
        for leg in self.legs:
            inside = (self.x >= leg.start) & (self.x <= leg.end)
            grid = np.array([leg.start, *self.x[inside], leg.end])
            ends = [abs(self.currents(leg, x)[branch]) for x in (leg.start, leg.end)]
            seen = np.array([ends[0], *np.abs(self.flow[branch][inside]), ends[1]])
            top = int(np.argmax(seen))
            best = max(best, float(seen[top]))
            if 0 < top < len(grid) - 1 and seen[top] >= best:
                fine = np.linspace(grid[top - 1], grid[top + 1], 41)
                best = max(best, *(float(abs(self.currents(leg, x)[branch])) for x in fine))
        return best

    def of(self, name: str, branch: int) -> dict[str, float]:
        """Mean, mean magnitude, r.m.s., peak of one branch."""
        y = self.flow[branch]
        return {f"{name}_current_mean": self.mean(y), f"{name}_current_mean_absolute": self.mean(np.abs(y)),
                f"{name}_current_rms": math.sqrt(self.mean(y * y)), f"{name}_current_peak": self.peak(branch)}

    def quantities(self) -> dict[str, float]:
        """All of them."""
        net, one, w = self.net, self.net.job.machine, self.net.speed
        line, motor = self.flow[0], self.flow[1]
        out = self.of("line", 0) | self.of("armature", 1)
        for role in sorted(set(net.roles)):
            each = [self.of(role, 2 + n) for n, r in enumerate(net.roles) if r == role]
            out |= {name: max(row[name] for row in each) for name in each[0]}
            out[f"{role}_loss"] = sum(
                net.threshold[n] * self.mean(self.flow[2 + n]) + net.R[2 + n] * self.mean(self.flow[2 + n]**2)
                for n, r in enumerate(net.roles) if r == role)
        out["input_power"] = self.mean(net.peak * np.sin(self.x) * line)
        out["source_loss"] = net.job.R_s * self.mean(line**2)
        out["copper_loss_armature"] = one.R_a * self.mean(motor**2)
        exciting = self.mean(motor**2) if net.series else float(net.job.field_current or 0)**2
        out["copper_loss_field"] = one.R_f * exciting
        out["brush_loss"] = one.V_b * self.mean(motor)
        ratio = np.abs(self.k) / one.iron[2]
        iron = self.mean(one.iron[0] * ratio**1.6 + one.iron[1] * w * ratio**2) if w > 0 else 0.0
        out["iron_loss"] = iron * w
        a, b, c = one.friction
        out["friction_loss"] = (a + b * w + c * w * w) * w
        out["electromagnetic_torque"] = self.mean(self.k * motor)
        if w > 0:
            out["shaft_torque"] = out["electromagnetic_torque"] - iron - (a + b * w + c * w * w)
            out["shaft_power"] = out["shaft_torque"] * w
        out["apparent_power"] = net.job.voltage * out["line_current_rms"]
        out["power_factor"] = out["input_power"] / out["apparent_power"] if out["apparent_power"] else 0.0
        return out | self.spectrum(out) | self.turned_off()

    def spectrum(self, out: dict[str, float]) -> dict[str, float]:
        """Harmonics of the line, their angle and distortion."""
        lines = np.array([self.w @ (self.flow[0] * np.exp(-1j * n * self.x)) for n in range(1, 41)]) * math.sqrt(2)
        rest = out["line_current_rms"]**2 - out["line_current_mean"]**2 - abs(lines[0])**2
        return {f"harmonic {n + 1}": float(abs(line)) for n, line in enumerate(lines)} | {
            "displacement_factor": float(-lines[0].imag / abs(lines[0])),
            "line_current_distortion": math.sqrt(max(rest, 0.0)) / float(abs(lines[0]))}

    def turned_off(self) -> dict[str, float]:
        """Angles of the line's current of the positive half cycle; slope and voltage where it ends."""
        net, out = self.net, dict[str, float]()
        alpha = float(net.job.alpha or 0.0)
        for n, leg in enumerate(self.legs):
            after = self.legs[(n + 1) % len(self.legs)]
            middle = (leg.start + leg.end) / 2
            was = abs(self.currents(leg, middle)[0])
            then = float(self.currents(after, (after.start + after.end) / 2)[0])
            now = abs(then)
            at = leg.end - 2 * math.pi * math.floor((self.legs[0].start + 1e-9) / (2 * math.pi))
            if was < 1e-9 < now and alpha - 1e-9 <= at <= alpha + math.pi and then > 0:
                out["turn_on_angle"] = at
            if was > 1e-9 and then < 1e-9 and self.currents(leg, middle)[0] > 0:
                rate = leg.mode.state(leg.end, leg.wave(leg.end))[1][0] if net.job.L_s else self.slope(leg)
                out["turn_off_current_slope"] = abs(rate * net.omega)
                out["extinction_angle"] = at if at > alpha else at + 2 * math.pi
                out["reapplied_voltage"] = self.reapplied(after, leg.end)
        return out

    def slope(self, leg: Leg) -> float:
        """Slope of the line's current at the end of a stretch, from the left, A/rad."""
        h = (leg.end - leg.start) * 1e-4
        f = [self.currents(leg, leg.end - n * h)[0] for n in range(4)]
        return float((11 * f[0] - 18 * f[1] + 9 * f[2] - 2 * f[3]) / (6 * h))

    def reapplied(self, leg: Leg, at: float) -> float:
        """Magnitude of the voltage across the thyristor just after; no brush drop.

        Across all devices of the source's path, where it is open at more than one place, or where the thyristor of
        the other half cycle, its gate open already, takes over at the same instant.
        """
        net, mode = self.net, leg.mode
        flow, _, volts = mode.state(leg.start, leg.wave(leg.start))
        volts = volts.copy()
        volts[1] = volts[1] if abs(flow[1]) > 1e-9 else net.k(0.0) * net.speed
        first = next(n for n, sign in enumerate(net.gates) if sign is not None and sign >= 0)
        level = np.linalg.pinv(net.incidence[:, mode.branches].T) @ volts
        a, b = net.ends[2 + first]
        takes_over = any(net.gates[n] is not None for n in mode.on)
        if mode.joined()[a, b] and not takes_over:
            return float(abs(level[a] - level[b]))
        return float(abs(net.peak * math.sin(at) - volts[1]))
