"""A start through a resistor: scipy's solve_ivp, with and without the armature's inductance, and a closed form."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.waveforms.starting import Shaft, Stage, start_run, steady_current

FLUX, VOLTS, INERTIA = 0.22, 46.0, 3.4e-3          # V·s, V, kg·m²; invented
STAGES = ((3.4, 6.5), (1.8, 7.0))                  # ohm of the path, A at which it ends


def fan(speed):
    """N·m of a fan with friction."""
    return 0.05 + 1e-5 * speed + 8.5e-6 * speed**2


@dataclass(frozen=True, kw_only=True)
class Marched:
    """What the brute march of one stage gives: s, rad/s, ∫i²dt."""

    time: float
    speed: float
    heating: float
    current: float


def marched(path: float, ends_at: float, *, speed: float, henry: float, current: float) -> Marched:
    """One stage by solve_ivp: current and speed, or speed alone where there is no inductance."""
    def amps(w: float) -> float:
        return (VOLTS - FLUX * w) / path

    def still(_, y):
        i = amps(y[0])
        return [(FLUX * i - fan(y[0])) / INERTIA, i * i]

    def full(_, y):
        return [(FLUX * y[2] - fan(y[0])) / INERTIA, y[2]**2, (VOLTS - FLUX * y[0] - path * y[2]) / henry]

    def end(_, y):
        return (y[2] if henry else amps(y[0])) - ends_at

    end.terminal, end.direction = True, -1
    begin = [speed, 0.0, current] if henry else [speed, 0.0]
    found = solve_ivp(full if henry else still, (0.0, 60.0), begin, events=end, rtol=1e-10, atol=1e-12,
                      method="LSODA")
    last = found.y[:, -1]
    return Marched(time=float(found.t[-1]), speed=float(last[0]), heating=float(last[1]),
                   current=float(last[2]) if henry else 0.0)


def started():
    """The package's own run."""
    shaft = Shaft(voltage=VOLTS, flux=FLUX, inertia=INERTIA, opposing=fan)
    return start_run(shaft, tuple(Stage(path=path, ends_at=ends) for path, ends in STAGES))


def test_two_stages_are_those_of_solve_ivp():
    """Time, speed and heat of each stage to 1e-7 (source: scipy solve_ivp, inductance left out)."""
    speed = 0.0
    for one, (path, ends) in zip(started(), STAGES, strict=True):
        told = marched(path, ends, speed=speed, henry=0.0, current=0.0)
        assert one.peak == pytest.approx((VOLTS - FLUX * speed) / path, rel=1e-7)
        assert one.time == pytest.approx(told.time, rel=1e-7)
        assert one.speed == pytest.approx(told.speed, rel=1e-7)
        assert one.heating == pytest.approx(told.heating, rel=1e-7)
        speed = told.speed


def test_the_armatures_inductance_changes_little():
    """With 4 mH the first stage takes as long to 1 %, and its peak is lower (source: scipy solve_ivp)."""
    one = started()[0]
    told = marched(STAGES[0][0], STAGES[0][1], speed=0.0, henry=4e-3, current=STAGES[0][1] + 0.1)
    assert one.time == pytest.approx(told.time, rel=0.01)
    assert one.heating == pytest.approx(told.heating, rel=0.02)


def test_without_load_the_resistor_takes_the_rotors_energy():
    """Path R, no load, from rest to ω: t = τ·ln(1/(1 − ω/ω∞)), heat = ½·J·ω∞²·(1 − (1 − ω/ω∞)²)/R (derived)."""
    path, ends = 3.4, 2.0
    shaft = Shaft(voltage=VOLTS, flux=FLUX, inertia=INERTIA, opposing=np.zeros_like)
    one = start_run(shaft, (Stage(path=path, ends_at=ends),))[0]
    left, tau, top = ends * path / VOLTS, INERTIA * path / FLUX**2, VOLTS / FLUX
    assert one.time == pytest.approx(tau * np.log(1 / left), rel=1e-9)
    assert path * one.heating == pytest.approx(0.5 * INERTIA * top**2 * (1 - left**2), rel=1e-9)


def test_steady_current_carries_the_load():
    """k·i is the load's torque at the speed that i leaves (derived: voltage law)."""
    shaft = Shaft(voltage=VOLTS, flux=FLUX, inertia=INERTIA, opposing=fan)
    current = steady_current(shaft, 3.4)
    assert FLUX * current == pytest.approx(fan((VOLTS - 3.4 * current) / FLUX), rel=1e-9)


def test_a_load_that_holds_it_is_told_as_never():
    """More torque at rest than the resistor lets through: at rest for good, and no end (derived)."""
    shaft = Shaft(voltage=VOLTS, flux=FLUX, inertia=INERTIA, opposing=lambda w: np.full_like(w, 5.0))
    assert steady_current(shaft, 3.4) == pytest.approx(VOLTS / 3.4)
    assert start_run(shaft, (Stage(path=3.4, ends_at=6.0),))[0].time == np.inf
