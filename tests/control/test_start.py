"""Shortest start against closed forms and scipy's solve_ivp on steady torques; the motors are invented."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.circuits.case import Points
from designer.circuits.chopper_armature import CIRCUIT as CHOPPER
from designer.circuits.triac_series import CIRCUIT as TRIAC
from designer.control.command import command_limit, command_table
from designer.control.start import quickest_start, ramp_refused
from tests.control.test_plant import BUS, R_A, STRAIGHT, K, direct
from tests.pairs import S1, fixed
from tests.reference import RPM, steady


def test_fully_on_in_closed_form():
    """Duty 1 on a stiff bus: t = −J·R/k²·ln(1 − ω/ω_end) (derived); ω_end = V/k − R·T/k²."""
    shared = direct(STRAIGHT, separate=True)
    point = Points.of(shared, {"voltage": BUS, "setting": 0.0, "speed": 400.0, "load": 1.0})
    table = command_table(CHOPPER, shared, point)
    limit = command_limit(CHOPPER, shared, point, table=table, speeds=np.array([0.0, 500.0]))
    found = quickest_start(CHOPPER, shared, point, table=table, limit=limit, reach=(400.0, 2e-3))
    end = BUS / K - R_A / K**2
    assert found == pytest.approx(-2e-3 * R_A / K**2 * math.log(1 - 400 / end), rel=1e-9)
    too_much = replace(point, load=np.array([1.01 * K * BUS / R_A]))
    assert math.isinf(quickest_start(CHOPPER, shared, too_much, table=table, limit=limit, reach=(400.0, 2e-3)))


def test_along_the_edge_of_lost_control():
    """S1 at 207 V from rest to 3000 rpm: J·dω/dt by solve_ivp on torques marched at the limit's angles, to 1 %."""
    shared = fixed(S1, 1e-5)
    point = Points.of(shared, {"voltage": 207.0, "frequency": 50.0, "setting": 0.0, "speed": 3000 * RPM})
    table = command_table(TRIAC, shared, point)
    speeds = np.linspace(0.0, 3000 * RPM, 7)
    limit = command_limit(TRIAC, shared, point, table=table, speeds=speeds)
    found = quickest_start(TRIAC, shared, point, table=table, limit=limit, reach=(3000 * RPM, 2.45e-3))
    grid = np.linspace(0.0, 3000 * RPM, 61)
    drag = 0.022 + 1.5e-5 * grid + 2e-8 * grid**2 + 0.8
    torque = np.array([steady(replace(S1, voltage=207.0, speed=w, alpha=float(table.setting_at(limit.at(w))))).torque
                       for w in grid])

    def there(_, y):
        return y[0] - 3000 * RPM

    there.terminal = True
    run = solve_ivp(lambda _, y: [np.interp(y[0], grid, torque - drag) / 2.45e-3], (0, 10), [0.0], events=there,
                    rtol=1e-8, max_step=1e-3)
    assert found == pytest.approx(float(run.t_events[0][0]), rel=0.01)


def test_a_ramp_too_short_is_refused():
    """Both times are told, and a way out; a ramp as long as the start is no fault (rule)."""
    assert ramp_refused(0.5, 0.5) is None
    reason = ramp_refused(0.4, 0.5)
    assert reason is not None
    assert (reason.figure.value, reason.limit.value) == (0.4, 0.5)
    assert "400 ms" in reason.message
    assert "control.ramp" in reason.way_out
