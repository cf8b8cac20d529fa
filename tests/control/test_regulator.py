"""The regulator in floats against the whole-number one of the program, and its rules.

Sources: ``control.fixed_point.regulate`` (the C source's twin), written apart from it; the rules stand in physics.md,
Speed holding.
"""

from __future__ import annotations

import numpy as np
import pytest

from designer.control import fixed_point as fp
from designer.control.command import CommandLimit
from designer.control.regulator import SpeedRegulator
from designer.control.sampled import Regulator

FREE = CommandLimit(speeds=np.array([0.0, 500.0]), settings=np.zeros(2), commands=np.array([0.4, 1.0]))
ONE = Regulator(gain=2e-3, integral_time=0.2, sample_time=0.01)

#: at low speed a command gives several times the torque, so that its limit is lower there (invented)
EASED = CommandLimit(speeds=np.array([0.0, 150.0, 500.0]), settings=np.array([1.0, 0.8, 0.0]),
                     commands=np.array([0.1, 0.5, 1.0]))


def made(**changed):
    """A regulator to 300 rad/s in 1 s."""
    return SpeedRegulator(ONE, limit=FREE, **{"target": 300.0, "ramp": 1.0} | changed)


def test_ramp_reaches_the_target_and_stays():
    """The set point rises evenly and ends at the target (a soft start)."""
    one = made()
    for _ in range(50):
        one.step(0.0)
    assert one.reference == pytest.approx(150.0)
    for _ in range(100):
        one.step(0.0)
    assert one.reference == 300.0


def test_command_stays_inside_its_limit_at_the_speed_read():
    """At rest the limit there holds, whatever the integral would have (control is lost beyond it)."""
    one = made(ramp=0.0)
    assert max(one.step(0.0) for _ in range(1000)) == 0.4
    assert one.step(500.0) == 0.0 or one.step(500.0) <= 1.0


def test_integral_does_not_wind_up():
    """Long at its limit, then above the target: the command falls at once, by the rule of conditional integration."""
    one = made(ramp=0.0)
    for _ in range(500):
        one.step(0.0)
    assert one.integral <= 0.4
    assert one.step(320.0) < 0.4


def test_settled_regulator_keeps_its_command():
    """Without error the command stays as it was set."""
    one = made()
    one.settle(command=0.35, speed=300.0)
    assert [one.step(300.0) for _ in range(5)] == pytest.approx([0.35] * 5)


def test_gain_is_halved_where_a_command_gives_more_torque():
    """The limit at the target over that at the speed, in whole powers of two; not at all within a factor of two."""
    assert [EASED.easing(s, target=300.0) for s in (0.0, 100.0, 150.0, 200.0, 300.0, 500.0, 900.0)] == [
        2, 2, 0, 0, 0, 0, 0]
    free, eased = (SpeedRegulator(ONE, limit=limit, target=300.0, ramp=0.0) for limit in (FREE, EASED))
    for one in (free, eased):
        one.reference = 1.0
        one.rise = 0.0
    assert eased.step(0.0) == pytest.approx(free.step(0.0) / 4)


def test_like_the_program():
    """Over a start with a noisy reading the command is the whole-number regulator's, to its rounding."""
    unit, rng = 0.05, np.random.default_rng(7)
    bits, places = 12, fp.INTEGRAL_BITS
    step = ONE.gain * ONE.sample_time / ONE.integral_time
    words = fp.Words(
        speed_numerator=1, proportional=round(ONE.gain * unit * fp.FULL * 2**bits), proportional_bits=bits,
        integral=round(step * unit * fp.FULL * 2**places), integral_bits=places, set_point=round(300 / unit),
        ramp=round(300 / unit * ONE.sample_time * 2**fp.RAMP_BITS),
        ceiling_speed=tuple(round(s / unit) for s in (0, 150, 500)),
        ceiling=tuple(round(c * fp.FULL) for c in EASED.commands), eased=(2, 0, 0),
        output=tuple(range(fp.ENTRIES)), trip_speed=fp.SPEED_MOST,
        lost_steps=10**6, start_steps=10**6, shortest_interval=0)
    ours, theirs, speed = SpeedRegulator(ONE, limit=EASED, target=300.0, ramp=1.0), fp.State(), 0.0
    for _ in range(600):
        seen = round(max(speed + rng.normal(0, 2.0), 0.0) / unit)
        one, other = ours.step(seen * unit), fp.regulate(words, theirs, seen) / fp.FULL
        assert one == pytest.approx(other, abs=2e-3)
        speed += 0.01 * (one * 900 - speed)
