"""An independent march of a linear motor behind a rectifier, for the tests: scipy's ``solve_ivp``, modes by events.

Written from the definitions, sharing no code with the package. From rest, pulse after pulse, until the current at the
firing angle repeats. SI units, rad; angles count from the zero of the ideal source ahead of a pulse.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from scipy.integrate import solve_ivp

NAMES = ("charge", "square", "source_charge", "source_square", "drawn", "freewheel_charge", "freewheel_square")


@dataclass(frozen=True, kw_only=True)
class Rig:
    """Source, paths and motor by the letters of the definitions; ``E`` is brush drop and speed voltage together."""

    E: float
    alpha: float
    V: float = 325.0
    w: float = 2 * math.pi * 50
    R: float = 3.1
    L: float = 28e-3
    R_s: float = 0.0
    L_s: float = 0.0
    V_T: float = 0.0
    r_T: float = 0.0
    V_F: float = 0.0
    r_F: float = 0.0
    freewheel: bool = True
    pulses: int = 1


@dataclass
class March:
    """The state on its way, and what the pulse under way has told."""

    rig: Rig
    rtol: float = 1e-10
    theta: float = 0.0
    i: float = 0.0
    s: float = 0.0
    sign: float = 1.0
    mode: str = "off"
    fired: bool = False
    sums: np.ndarray = field(default_factory=lambda: np.zeros(7))
    angles: dict[str, float] = field(default_factory=dict)

    def volts(self, x: float) -> float:
        """The source's sine as it stands at the path that conducts."""
        return self.sign * self.rig.V * math.sin(x)

    def slopes(self, x: float, i: float, s: float) -> tuple[float, float]:
        """Slopes of motor and source path, A/rad."""
        r = self.rig
        if self.mode == "source":
            one = (self.volts(x) - r.V_T - r.E - (r.R_s + r.r_T + r.R) * i) / (r.w * (r.L + r.L_s))
            return one, one
        motor = (-r.V_F - r.r_F * (i - s) - r.E - r.R * i) / (r.w * r.L)
        if self.mode == "freewheel":
            return motor, 0.0
        return motor, (self.volts(x) - r.V_T + r.V_F - (r.R_s + r.r_T) * s + r.r_F * (i - s)) / (r.w * r.L_s)

    def leg(self, end: float, *events) -> int:
        """March to the first of ``events`` (x, i, s) that falls through zero, or to the end (−1)."""
        def rates(x, y):
            i, s = y[0], {"source": y[0], "freewheel": 0.0}.get(self.mode, y[1])
            a, b = self.slopes(x, i, s)
            return [a, b, i, i * i, s, s * s, self.volts(x) * s, i - s, (i - s) ** 2]

        marks = []
        for event in events:
            mark = lambda x, y, event=event: event(x, y[0], y[1])  # noqa: E731
            mark.terminal, mark.direction = True, -1.0
            marks.append(mark)
        found = solve_ivp(rates, (self.theta, end), [self.i, self.s, *[0.0] * 7], method="DOP853", rtol=self.rtol,
                          atol=1e-12, events=marks)
        last = found.y[:, -1]
        self.sums = self.sums + last[2:]
        self.theta, self.i = float(found.t[-1]), float(last[0])
        self.s = {"source": self.i, "freewheel": 0.0}.get(self.mode, float(last[1]))
        hits = [n for n, times in enumerate(found.t_events) if times.size]
        return hits[0] if hits else -1

    def pulse(self) -> None:
        """From one firing angle to the next."""
        end = self.rig.alpha + 2 * math.pi / self.rig.pulses
        self.theta, self.fired, self.sums, self.angles = self.rig.alpha, False, np.zeros(7), {}
        self.sign = -1.0 if self.s > 0 and self.rig.pulses == 2 else 1.0
        if self.mode not in ("source", "overlap"):
            self.mode = "freewheel" if self.i > 0 else "off"
        while self.theta < end - 1e-14:
            getattr(self, f"in_{self.mode}")(end)

    def fire(self, mode: str) -> None:
        """Note it."""
        self.fired, self.sign, self.mode = True, 1.0, mode
        self.angles |= {"turn_on": self.theta}

    def in_off(self, end: float) -> None:
        """Nothing flows."""
        share = (self.rig.V_T + self.rig.E) / self.rig.V
        opens = math.asin(min(share, 1.0))
        when = max(self.theta, opens)
        if self.fired or when >= math.pi - opens:
            self.theta = end
            return
        self.theta = when
        self.fire("source")

    def in_freewheel(self, end: float) -> None:
        """The freewheel path carries all."""
        r = self.rig
        slope = r.r_F - (0.0 if r.L_s else r.R_s + r.r_T)
        waits = lambda x, i, s: r.V_T - r.V_F - r.V * math.sin(x) - slope * i  # noqa: E731
        ready = not self.fired and waits(self.theta, self.i, 0.0) <= 0
        events = (lambda x, i, s: i,) if self.fired else (lambda x, i, s: i, waits)
        hit = 1 if ready else self.leg(end, *events)
        if hit == 0:
            self.i, self.mode = 0.0, "off"
            self.angles["armature_extinction"] = self.theta + (0 if self.fired else 2 * math.pi / r.pulses)
        if hit == 1:
            self.fire("overlap" if r.L_s else "source")
            self.s = 0.0

    def in_overlap(self, end: float) -> None:
        """Both paths conduct."""
        hit = self.leg(end, lambda x, i, s: i - s + 1e-13, lambda x, i, s: s + 1e-13)
        if hit == 0:
            self.mode, self.s = "source", self.i
            self.angles["overlap_on"] = self.theta - self.angles.get("turn_on", math.nan)
        if hit == 1:
            self.ended("freewheel")

    def in_source(self, end: float) -> None:
        """The source's path carries all."""
        r = self.rig

        def level(x, i, s):
            slope = self.slopes(x, i, i)[0]
            return (self.volts(x) - r.V_T - (r.R_s + r.r_T) * i - r.w * r.L_s * slope + r.V_F
                    + (0.0 if r.L_s else r.r_F * i))

        hit = self.leg(end, lambda x, i, s: i, *((level,) if r.freewheel else ()))
        if hit == 0:
            self.i = 0.0
            if self.fired:
                self.angles["armature_extinction"] = self.theta
            self.ended("off")
        if hit == 1:
            if self.fired:
                self.angles["commutation"] = self.theta
            self.mode = "overlap"
            if not r.L_s:
                self.ended("freewheel")

    def ended(self, mode: str) -> None:
        """The source path's current is zero."""
        if self.fired:
            self.angles["extinction"] = self.theta
        self.s, self.sign, self.mode = 0.0, 1.0, mode


def periodic(rig: Rig) -> tuple[dict[str, float], dict[str, float]]:
    """Integrals over a full period of the source (A·rad, A²·rad, V·A·rad), and the angles, of the steady state."""
    march = March(rig=rig)
    for _ in range(2000):
        before = march.i
        march.pulse()
        if abs(march.i - before) <= 1e-11 * max(march.i, 1e-3):
            break
    return dict(zip(NAMES, (rig.pulses * march.sums).tolist(), strict=True)), march.angles
