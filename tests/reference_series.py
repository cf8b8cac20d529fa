"""An independent brute-force model of a series motor on a chopper, for the tests.

Written from the definitions alone and sharing no code with the package: scipy's ``solve_ivp`` (DOP853, tight
tolerance, extinction by event) marches L(i)·di/dt = V − R·i − k(i)·ω through on-time and off-time, and a root
finder closes the period. Direct supply, or a bus held at its mean. SI units.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from tests.reference import Curve
from tests.reference_chopper import IDEAL, Diode

RTOL, ATOL = 1e-11, 1e-14


@dataclass(frozen=True, kw_only=True)
class SeriesDrive:
    """A series motor on a chopper; ``leakage`` (H) is the part of L_f that does not saturate."""

    bus: float                       # V
    frequency: float                 # Hz
    duty: float
    speed: float                     # rad/s
    curve: Curve
    R_a: float
    R_f: float
    L_a: float
    L_f: float
    leakage: float | None = None
    saturating: bool = True
    remanence: str = "keep"
    brush: float = 2.0
    switch: Diode = IDEAL
    freewheel: Diode = IDEAL
    source_resistance: float = 0.0

    def constant(self, i: float) -> float:
        """k, V·s, while a current flows."""
        return self.curve.g(i) + (0.0 if self.remanence == "drop" else self.curve.k_r)

    def inductance(self, i: float) -> float:
        """H at a current."""
        if not self.saturating:
            return self.L_a + self.L_f
        leak = 0.1 * self.L_f if self.leakage is None else self.leakage
        return self.L_a + leak + (self.L_f - leak) * min(1.0, self.curve.slope(i) / self.curve.initial_slope)


@dataclass(frozen=True, kw_only=True)
class SeriesPeriod:
    """One period of the steady state, A, over the whole period; ``torque`` N·m; ``extinction`` s or nan."""

    continuous: bool
    first: float
    peak: float
    extinction: float
    mean: float
    rms: float
    switch_mean: float
    switch_rms: float
    torque: float


def _stage(drive: SeriesDrive, bus: float, time: float, first: float, *, on: bool) -> tuple[np.ndarray, float]:
    """Current, charge, ∫i², ∫k·i after ``time`` or at the end of the current, and when that was."""
    device = drive.switch if on else drive.freewheel
    driving = (bus if on else 0.0) - device.threshold - drive.brush
    resistance = drive.R_a + drive.R_f + device.slope

    def rhs(_: float, y: np.ndarray) -> list[float]:
        i = max(float(y[0]), 0.0)
        k = drive.constant(i)
        return [(driving - resistance * float(y[0]) - k * drive.speed) / drive.inductance(i), i, i * i, k * i]

    if time <= 0 or (first <= 0 and rhs(0.0, np.array([0.0]))[0] <= 0):
        return np.array([first, 0.0, 0.0, 0.0]), 0.0

    def extinct(_: float, y: np.ndarray) -> float:
        return float(y[0])

    extinct.terminal, extinct.direction = True, -1  # type: ignore[attr-defined]
    found = solve_ivp(rhs, (0.0, time), [first, 0.0, 0.0, 0.0], method="DOP853", rtol=RTOL, atol=ATOL,
                      events=None if on else extinct)
    return found.y[:, -1], float(found.t[-1])


def series_period(drive: SeriesDrive) -> SeriesPeriod:
    """The periodic state at the bus that the source leaves behind its resistance."""
    bus = drive.bus
    found = _at_bus(drive, bus)
    if drive.source_resistance > 0:
        bus = float(brentq(lambda v: drive.bus - drive.source_resistance * _at_bus(drive, v).switch_mean - v,
                           0.2 * drive.bus, drive.bus, xtol=1e-10, rtol=1e-13))
        found = _at_bus(drive, bus)
    return found


def _at_bus(drive: SeriesDrive, bus: float) -> SeriesPeriod:
    T = 1 / drive.frequency
    on_time = drive.duty * T

    def period(first: float) -> tuple[np.ndarray, np.ndarray, float]:
        on, _ = _stage(drive, bus, on_time, first, on=True)
        off, ended = _stage(drive, bus, T - on_time, float(on[0]), on=False)
        return on, off, ended

    on, off, ended = period(0.0)
    continuous, first = off[0] > 1e-9 and ended >= (T - on_time) * (1 - 1e-12), 0.0
    if continuous:
        top = bus / (drive.R_a + drive.R_f)
        first = float(brentq(lambda i: float(period(i)[1][0]) - i, 0.0, 1.01 * top, xtol=1e-13, rtol=1e-13))
        on, off, ended = period(first)
    both = on + off
    return SeriesPeriod(
        continuous=bool(continuous), first=first, peak=max(float(on[0]), first),
        extinction=math.nan if continuous else on_time + ended, mean=both[1] / T, rms=math.sqrt(both[2] / T),
        switch_mean=on[1] / T, switch_rms=math.sqrt(on[2] / T), torque=both[3] / T)
