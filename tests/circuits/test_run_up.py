"""Speeding up and running down, against scipy solve_ivp on the same torque and on the full motor."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.circuits.run_up import run_down, run_up
from designer.circuits.triac_series import CIRCUIT
from designer.motor.model import Load
from tests import reference
from tests.pairs import S1, fixed, points
from tests.reference import RPM

UNLOADED = replace(S1, load=(0.0, 0.0, 0.0))


def torque_law(shared, one, top):
    """Net torque and r.m.s. current against speed, from steady states of the package at 81 Chebyshev speeds."""
    grid = 0.5 * top * (1 - np.cos(np.linspace(0, math.pi, 81)))
    many = one[np.zeros(grid.size, int)].at(speed=grid)
    solved = CIRCUIT.solve(shared, many)
    drag = shared.motor.friction_torque + shared.motor.viscous_friction * grid + shared.motor.windage * grid**2
    net = solved.torque - drag - one.load[0] * shared.load.torque
    return grid, net, solved.rms


@pytest.mark.parametrize("alpha, start, end, load", [
    (0.0, 3000, 12000, 0.0), (1.79, 1000, 9000, 0.0), (0.9, 5, 4000, 0.8),
])
def test_run_up_integrates_its_torque_law(alpha, start, end, load):
    """Time and ∫i²dt by solve_ivp of J·dω/dt = T(ω) on the interpolated law, to 0.2 %."""
    case = replace(S1, alpha=alpha, load=(load, 0.0, 0.0), voltage=253.0)
    shared = fixed(case, 1e-5)
    one = points(shared, [case])
    found = run_up(CIRCUIT, shared, one, start=start * RPM, end=end * RPM, inertia=4.5e-4)
    grid, net, rms = torque_law(shared, one, 1.02 * end * RPM)

    def there(t, y):
        return y[0] - end * RPM

    there.terminal = True
    run = solve_ivp(lambda t, y: [np.interp(y[0], grid, net) / 4.5e-4, np.interp(y[0], grid, rms) ** 2],
                    (0, 30), [start * RPM, 0.0], events=there, rtol=1e-8, max_step=0.01)
    assert found.time == pytest.approx(float(run.t_events[0][0]), rel=2e-3)
    assert found.heating == pytest.approx(float(run.y_events[0][0][1]), rel=2e-3)


def test_run_up_of_the_whole_motor():
    """physics.md, check vectors: 0.36 s (independent march) from 3000 to 12000 rpm at 253 V, full conduction,
    no load, 4.5 kg·cm²; current and shaft together by scipy solve_ivp, to 5 %.
    """
    case = replace(UNLOADED, alpha=0.0, voltage=253.0, speed=3000 * RPM, inertia=4.5e-4)
    shared = fixed(case, 1e-4)
    found = run_up(CIRCUIT, shared, points(shared, [case]), start=3000 * RPM, end=12000 * RPM, inertia=4.5e-4)
    run = reference.run(case, lambda t, w: w > 12100 * RPM)
    truth = float(np.interp(12000 * RPM, run.speed, run.time))
    assert found.time == pytest.approx(truth, rel=0.05)
    assert found.time == pytest.approx(0.36, rel=0.05)


def test_a_speed_that_is_never_reached():
    """Beyond the steady speed the torque is gone: infinite time, infinite heating (derived)."""
    shared = fixed(S1, 1e-4)
    found = run_up(CIRCUIT, shared, points(shared, [S1]), start=100.0, end=400.0, inertia=4.5e-4)
    assert math.isinf(found.time)
    assert math.isinf(found.heating)


@pytest.mark.parametrize("load, share, friction", [(Load(), 0.0, 0.7), (Load(torque=0.05, square=1e-7), 1.0, 1.0)])
def test_run_down(load, share, friction):
    """From 3000 rpm to rest by friction and load: solve_ivp to its zero crossing, to 1e-6."""
    shared = replace(fixed(S1), load=load)
    found = run_down(shared, start=3000 * RPM, inertia=6.5e-4, friction=friction, load=share)

    def slowing(t, y):
        w = y[0]
        drag = friction * (0.022 + 15e-6 * w + 20e-9 * w * w) + share * (load.torque + load.square * w * w)
        return [-drag / 6.5e-4]

    def rest(t, y):
        return y[0]

    rest.terminal = True
    run = solve_ivp(slowing, (0, 100), [3000 * RPM], events=rest, rtol=1e-10, atol=1e-9)
    assert found == pytest.approx(float(run.t_events[0][0]), rel=1e-6)


def test_run_down_without_a_constant_brake():
    """Drag that fades with the speed never quite stops it: infinite (derived)."""
    case = replace(S1, friction=(0.0, 15e-6, 20e-9))
    assert math.isinf(run_down(fixed(case), start=300.0, inertia=1e-3))
