"""Winding temperatures: heat paths, the fixed point against scipy's, runaway, duty."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, fixed_point

from designer.equations.motor import DUTY_FACTOR
from designer.errors import InputError
from designer.motor.warming import HIGHEST, Losses, Surroundings, WindingPath, settle, winding_path
from designer.studies.conditions import duty_share
from tests.pairs import S1, model

MOTOR = model(S1)      # 2.10 and 1.70 ohm at 21 °C, 2 V at the brushes
PATHS = (WindingPath(standstill=1 / 2.2, running=1 / 0.9, reference_speed=1200.0),
         WindingPath(standstill=1 / 2.5, running=1 / 1.4, reference_speed=1200.0))


def copper(ohms, celsius):
    """Resistance at a temperature, from 21 °C (IEC 60028: zero at −234.45 °C)."""
    return ohms * (234.45 + celsius) / (234.45 + 21.0)


def test_the_fan_cools_either_way_round():
    """A speed a rounding below zero, or backwards, is a speed: no root of a negative number."""
    assert PATHS[0].conductance(-5e-14) == pytest.approx(1 / 2.2)
    assert PATHS[0].conductance(-300.0) == PATHS[0].conductance(300.0)


def losses(current, *, iron=0.0, speed=300.0):
    """Losses of a current that falls as the resistance grows, one entry a point."""
    current = np.atleast_1d(np.asarray(current, float))

    def at(armature, field):
        amperes = current * np.sqrt(3.8 / (armature + field))
        return Losses(square=amperes**2, absolute=0.8 * amperes, field_square=amperes**2,
                      iron=np.full(current.shape, iron), speed=np.full(current.shape, speed))

    return at


def heat(current, temperatures, *, iron, speed, duty=1.0, ambient=40.0):
    """What the two windings come to from their own heat, °C, written out from the definitions."""
    r_a, r_f = copper(2.10, temperatures[0]), copper(1.70, temperatures[1])
    square = current**2 * 3.8 / (r_a + r_f)
    armature = r_a * square + 2.0 * 0.8 * math.sqrt(square) + iron
    ways = [1 / still + (1 / run - 1 / still) * (speed / 1200.0) ** 0.8 for still, run in ((2.2, 0.9), (2.5, 1.4))]
    return np.array([ambient + duty * armature / ways[0], ambient + duty * r_f * square / ways[1]])


@pytest.mark.parametrize("path", PATHS)
def test_conductance_at_rest_and_at_the_reference_speed(path):
    """Exactly the standstill value at 0 and the running one at its speed; between them (n/n_ref)^0.8 (derived)."""
    assert path.conductance(0.0) == path.standstill
    assert path.conductance(path.reference_speed) == pytest.approx(path.running, rel=1e-15)
    half = path.standstill + (path.running - path.standstill) * 0.5**0.8
    assert path.conductance(np.array([600.0])) == pytest.approx([half], rel=1e-15)
    assert path.conductance(3 * path.reference_speed) == path.conductance(path.reference_speed)   # not extrapolated


def test_paths_from_the_file():
    """Without a reading: none; without a running value the standstill one holds at every speed (safe side, derived)."""
    keys = dict.fromkeys(("thermal_resistance_armature", "thermal_resistance_armature_running",
                          "thermal_resistance_speed"))
    assert winding_path(SimpleNamespace(**keys), "armature") is None
    still = winding_path(SimpleNamespace(**keys | {"thermal_resistance_armature": 2.0}), "armature")
    assert still.conductance(np.array([0.0, 1e3])) == pytest.approx([0.5, 0.5], rel=1e-15)
    both = SimpleNamespace(thermal_resistance_armature=2.0, thermal_resistance_armature_running=0.5,
                           thermal_resistance_speed=900.0)
    assert winding_path(both, "armature") == WindingPath(standstill=0.5, running=2.0, reference_speed=900.0)


@pytest.mark.parametrize("duty, iron", [(1.0, 0.0), (0.4, 12.0)])
def test_settled_temperatures_are_the_fixed_point(duty, iron):
    """Both windings within 0.02 K of scipy.optimize.fixed_point on the same balance, several currents at once."""
    currents = np.array([0.5, 2.0, 4.0])
    around = Surroundings(ambient=40.0, paths=PATHS, duty=duty)
    warm = settle(MOTOR, around, losses(currents, iron=iron), 3)
    for at, current in enumerate(currents):
        truth = fixed_point(lambda t, i=current: heat(i, t, iron=iron, speed=300.0, duty=duty), [40.0, 40.0],
                            xtol=1e-10)
        assert [warm.armature[at], warm.field[at]] == pytest.approx(truth, abs=0.02)
    assert not warm.runaway.any()


def test_runaway_begins_where_the_root_is_lost():
    """A constant current heats R(T)·I² faster than the path sheds: the edge in amperes by scipy's brentq, to 0.5 %.

    Field alone: T = 40 + R_f(T)·I²·2.5 reaches 400 °C at the edge (the highest that counts).
    """
    def constant(current):
        square = np.array([current**2])
        return lambda *_: Losses(square=square, field_square=square, absolute=np.zeros(1), iron=np.zeros(1),
                                 speed=np.zeros(1))

    still = tuple(WindingPath(standstill=1 / 2.5, running=1 / 2.5, reference_speed=1.0) for _ in PATHS)
    cool = WindingPath(standstill=1e6, running=1e6, reference_speed=1.0)
    around = Surroundings(ambient=40.0, paths=(cool, still[1]))
    edge = brentq(lambda i: 40.0 + copper(1.70, HIGHEST) * i**2 * 2.5 - HIGHEST, 1.0, 20.0)
    below = settle(MOTOR, around, constant(0.995 * edge), 1)
    assert below.field[0] == pytest.approx(brentq(
        lambda t: 40.0 + copper(1.70, t) * (0.995 * edge) ** 2 * 2.5 - t, 40.0, HIGHEST), abs=0.1)
    above = settle(MOTOR, around, constant(1.005 * edge), 1)
    assert above.runaway.tolist() == [True]
    assert math.isinf(above.field[0])


def test_one_point_that_runs_away_leaves_the_others():
    """Points settle each for itself (derived)."""
    around = Surroundings(ambient=40.0, paths=PATHS)
    warm = settle(MOTOR, around, losses([2.0, 60.0]), 2)
    alone = settle(MOTOR, around, losses([2.0]), 1)
    assert warm.runaway.tolist() == [False, True]
    assert warm.armature[0] == pytest.approx(alone.armature[0], abs=0.02)


def crest_of(on, off, *, tau, at_rest):
    """Warmest moment of the periodic state, as a share of the continuous rise: solve_ivp, shot on its start."""
    def cycle(start):
        warm = solve_ivp(lambda t, y: (1 - y) / tau, (0, on), [start], rtol=1e-10, atol=1e-12).y[0, -1]
        if not off:
            return warm, warm
        return warm, solve_ivp(lambda t, y: -y / at_rest, (0, off), [warm], rtol=1e-10, atol=1e-12).y[0, -1]

    return cycle(brentq(lambda t: cycle(t)[1] - t, 0.0, 1.0 + 1e-9, xtol=1e-12))[0]


@pytest.mark.parametrize("on, off, tau, at_rest", [
    (60.0, 240.0, 480.0, 480.0), (600.0, 600.0, 300.0, 700.0), (10.0, 0.0, 500.0, 500.0)])
def test_duty_factor_is_the_warmest_moment(on, off, tau, at_rest):
    """τ·dT/dt = P − T under load, τ_off·dT/dt = −T at rest: the crest of the periodic state by solve_ivp, to 1e-6."""
    crest = crest_of(on, off, tau=tau, at_rest=at_rest)
    assert DUTY_FACTOR(t_on=on, t_off=off, tau_th=tau, tau_off=at_rest) == pytest.approx(crest, abs=1e-6)


def test_duty_of_a_file():
    """At rest the fan stands, so the winding cools more slowly, by the conductances of its worse path (solve_ivp)."""
    keys = {f"thermal_resistance_{name}": value for name, value in (
        ("armature", 2.2), ("armature_running", 0.9), ("field", 2.5), ("field_running", 1.4), ("speed", 1200.0))}
    given = SimpleNamespace(
        duty=SimpleNamespace(kind="periodic", on_time=120.0, off_time=300.0), target=SimpleNamespace(speed=200.0),
        motor=SimpleNamespace(thermal_time_constant=600.0, **keys), ratio=3.0)
    slower = max(float(path.conductance(600.0)) / path.standstill for path in PATHS)
    assert duty_share(given) == pytest.approx(crest_of(120.0, 300.0, tau=600.0 / slower, at_rest=600.0), abs=1e-6)


def test_duty_without_its_readings():
    """Continuous duty counts in full; a periodic one without its time constant is refused by key."""
    motor = SimpleNamespace(thermal_time_constant=None)
    assert duty_share(SimpleNamespace(duty=SimpleNamespace(kind="continuous"), motor=motor)) == 1.0
    with pytest.raises(InputError, match=r"motor\.thermal_time_constant.*a value"):
        duty_share(SimpleNamespace(duty=SimpleNamespace(kind="periodic", on_time=1.0, off_time=1.0), motor=motor))
