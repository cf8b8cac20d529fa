"""Invented motors with known constants: the five scenarios' readings, and synthetic benches with usual errors."""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np

from designer.motor.fit_bench import Bench
from designer.motor.fit_errors import usual_errors

RPM = math.pi / 30


@dataclass(frozen=True, kw_only=True)
class Truth:
    """The hidden constants of an invented motor: k = k_r + K·i/(1 + i/I_s), friction T_0 + b·ω + c·ω²."""

    R_a: float
    R_f: float
    L_a: float
    L_f: float
    K: float
    I_s: float
    k_r: float
    friction: tuple[float, float, float]
    V_b: float = 2.0

    def k(self, current):
        """Speed constant at a field current."""
        return self.k_r + self.K * current / (1 + current / self.I_s)

    def torque(self, speed):
        """Friction at a speed."""
        constant, linear, square = self.friction
        return constant + linear * speed + square * speed**2

    def unloaded(self, field, volts):
        """Armature current and speed without load, fed apart: k·(V − V_b − k·ω)/R = T(ω), the positive root."""
        k = self.k(field)
        constant, linear, square = self.friction
        a, b, c = square, linear + k * k / self.R_a, constant - k * (volts - self.V_b) / self.R_a
        speed = -2 * c / (b + math.sqrt(b * b - 4 * a * c))
        return self.torque(speed) / k, speed


#: needs.md section 6, "Truth" of S1 to S5
TRUTHS = {
    1: Truth(R_a=2.10, R_f=1.70, L_a=22e-3, L_f=38e-3, K=0.0943, I_s=6.0, k_r=0.003, friction=(0.022, 1.5e-5, 2.0e-8)),
    2: Truth(R_a=1.15, R_f=0.95, L_a=6e-3, L_f=11e-3, K=0.0240, I_s=14.0, k_r=0.001, friction=(0.012, 1e-5, 1e-8)),
    3: Truth(R_a=9.5, R_f=7.2, L_a=40e-3, L_f=80e-3, K=0.134, I_s=1.6, k_r=0.003, friction=(0.006, 6e-6, 4e-9)),
    4: Truth(R_a=2.45, R_f=1.95, L_a=25e-3, L_f=44e-3, K=0.108, I_s=5.5, k_r=0.004, friction=(0.025, 1.6e-5, 2.2e-8)),
    5: Truth(R_a=1.85, R_f=2.60, L_a=20e-3, L_f=60e-3, K=0.125, I_s=4.2, k_r=0.003, friction=(0.024, 1.4e-5, 2e-8)),
}
#: needs.md section 6: frequency; armature at rest (A, V); a.c. (winding, V, A); rows (If, Vf, Va, Ia, rpm);
#: series d.c. runs held out (V, rpm, A). The a.c. runs held out there do not follow from the truth and stand nowhere.
READ = {
    1: (50, ((1, 4.12), (2, 6.18), (3, 8.33)), (("armature", 12.0, 1.66), ("field", 12.0, 1.00)), (
        (0.50, 0.85, 15.1, 0.58, 2425), (0.50, 0.85, 24.9, 0.71, 4440), (1.00, 1.70, 20.0, 0.31, 1960),
        (1.00, 1.70, 30.0, 0.34, 3100), (1.49, 2.56, 29.9, 0.23, 2290), (1.98, 3.38, 29.9, 0.18, 1810),
        (3.00, 5.10, 30.0, 0.13, 1385), (4.03, 6.81, 29.9, 0.10, 1140)), ((12, 1591, 0.52), (24, 3587, 0.58))),
    2: (60, ((1, 3.16), (2, 4.28), (3, 5.47)), (("armature", 12.0, 4.73), ("field", 12.0, 2.82)), (
        (0.50, 0.48, 6.0, 1.12, 2020), (1.00, 0.95, 8.0, 0.62, 2145), (1.00, 0.95, 12.0, 0.75, 3745),
        (1.99, 1.91, 12.0, 0.34, 2140), (3.02, 2.86, 20.1, 0.26, 2760), (4.01, 3.80, 19.8, 0.20, 2230),
        (5.02, 4.75, 30.0, 0.18, 2945)), ()),
    3: (50, ((0.3, 4.87), (0.6, 7.67), (0.9, 10.59)), (("armature", 12.0, 0.76), ("field", 12.0, 0.46)), (
        (0.100, 0.72, 10.0, 0.481, 2080), (0.201, 1.44, 15.0, 0.333, 3530), (0.299, 2.15, 20.1, 0.248, 4050),
        (0.401, 2.87, 25.0, 0.210, 4355), (0.599, 4.33, 29.9, 0.151, 4150), (0.800, 5.73, 30.0, 0.119, 3415)), ()),
    4: (50, ((1, 4.47), (2, 6.87), (3, 9.39)), (("armature", 12.0, 1.46), ("field", 12.0, 0.86)), (
        (0.50, 0.97, 14.9, 0.56, 2070), (0.50, 0.97, 24.9, 0.65, 3840), (1.00, 1.94, 20.1, 0.30, 1720),
        (1.00, 1.94, 30.0, 0.33, 2690), (1.51, 2.93, 30.0, 0.22, 1995), (2.00, 3.87, 30.1, 0.17, 1625),
        (3.00, 5.86, 30.1, 0.13, 1240), (4.00, 7.77, 30.1, 0.11, 1035), (4.00, 7.77, 59.8, 0.12, 2175)),
        ((12, 1361, 0.51), (24, 3178, 0.56))),
    5: (50, ((1, 3.87), (2, 5.68), (3, 7.58)), (("armature", 12.0, 1.83), ("field", 12.0, 0.63)), (
        (0.50, 1.29, 15.0, 0.47, 1980), (0.50, 1.30, 24.9, 0.53, 3575), (1.00, 2.61, 20.0, 0.26, 1610),
        (1.00, 2.59, 30.0, 0.28, 1270), (1.50, 3.88, 30.0, 0.19, 1850), (1.99, 5.19, 30.0, 0.16, 1545),
        (3.00, 7.77, 29.9, 0.12, 1195), (4.01, 10.44, 30.2, 0.10, 1030)), ()),
}
#: needs.md S5: rows with the tap fed
TAPPED = ((1.00, 1.28, 20.1, 0.51, 2740), (2.00, 2.56, 20.0, 0.26, 1605), (3.00, 3.81, 19.9, 0.19, 1205))


def tables(scenario: int) -> str:
    """The ``[[readings]]`` of a scenario as a project file writes them."""
    frequency, rest, coils, rows, held = READ[scenario]
    made = [f'kind = "standstill-dc"\nwinding = "armature"\nvoltage = "{v} V"\ncurrent = "{i} A"' for i, v in rest]
    made += [f'kind = "standstill-ac"\nwinding = "{w}"\nvoltage = "{v} V"\ncurrent = "{i} A"\n'
             f'frequency = "{frequency} Hz"' for w, v, i in coils]
    for tap, some in (("", rows), ("\ntap = true", TAPPED if scenario == 5 else ())):
        made += [f'kind = "separate-excitation"\nfield_current = "{f} A"\nfield_voltage = "{u} V"\n'
                 f'armature_voltage = "{v} V"\narmature_current = "{i} A"\nspeed = "{n} rpm"{tap}'
                 for f, u, v, i, n in some]
    made += [f'kind = "series-run"\nsupply = "dc"\nvoltage = "{v} V"\ncurrent = "{i} A"\nspeed = "{n} rpm"\n'
             "hold_out = true" for v, n, i in held]
    return "".join(f"[[readings]]\n{text}\n" for text in made)


def reading(kind, **values):
    """One reading as the fit sees it."""
    return SimpleNamespace(kind=kind, hold_out=False, uncertainty_percent=None, **values)


def drawn(rng) -> tuple[Truth, float]:
    """A motor drawn from what such motors are like, and its largest field current."""
    def positive(centre, spread):
        while (value := rng.normal(centre, spread)) <= 0:
            pass
        return value

    top = float(rng.uniform(1.0, 6.0))
    bend = positive(0.5, 0.5)
    flux = float(np.exp(rng.uniform(math.log(0.05), math.log(0.3))))
    rest = positive(0.02, 0.02) * flux
    held = float(np.exp(rng.uniform(math.log(0.005), math.log(0.03))))
    return Truth(
        R_a=float(rng.uniform(0.8, 3.0)) * 4 / top, R_f=float(rng.uniform(0.8, 3.0)) * 4 / top, L_a=0.02, L_f=0.04,
        K=(flux - rest) * (1 + bend) / top, I_s=top / bend, k_r=rest, V_b=positive(2.0, 0.4),
        friction=(held, positive(0.75, 0.75) * held / 1000, positive(0.75, 0.75) * held / 1e6)), top


def bench(truth: Truth, top: float, rng=None) -> Bench:
    """Readings of a motor as one would take them, each quantity with its usual error where ``rng`` is given."""
    made = []

    def read(kind, **exact):
        values = {}
        for name, value in exact.items():
            error = usual_errors().get((kind, name))
            if error is None or rng is None:
                values[name] = value
            else:
                values[name] = rng.normal(value, math.hypot(error.relative * value, error.absolute))
        made.append(reading(kind, **values))

    film = 0.0 if rng is None else rng.normal(0.0, 0.4)
    for share in (0.25, 0.5, 0.75):
        amps = share * top
        read("standstill-dc", winding="armature", current=amps, voltage=truth.V_b + film + truth.R_a * amps)
        read("standstill-dc", winding="field", current=amps, voltage=truth.R_f * amps)
    for share, volts in ((0.125, 20), (0.125, 30), (0.25, 20), (0.25, 30), (0.375, 30), (0.5, 30), (0.75, 30), (1, 30)):
        amps, speed = truth.unloaded(share * top, volts)
        read("separate-excitation", field_current=share * top, field_voltage=truth.R_f * share * top, tap=False,
             armature_voltage=float(volts), armature_current=amps, speed=speed)
    return Bench(readings=made, given={})
