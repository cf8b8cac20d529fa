"""Sampled loop, margins, tuning and load steps against python-control and a march of the loop sample by sample.

Sources: python-control (``margin``, ``sample_system``, ``stability_margins``), the aliased sum of the continuous
response, and a Runge–Kutta march of plant and regulator written here. Plants are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace

import control
import numpy as np
import pytest

from designer.control.loop import GAIN_STEPS, LEAST, Tuned, margins, tune
from designer.control.plant import Plant
from designer.control.sampled import Regulator, Sampled, load_step
from designer.results import Reason

TS = 0.01
PLAIN = Plant(label="plain", speed=300.0, command=0.3, setting=1.0, torque_by_command=2.5, torque_by_speed=-2e-3,
              drag_by_speed=-1e-5, inertia=2.5e-3, lag=0.0, delay=0.02)
LAGGING = replace(PLAIN, label="lagging", torque_by_command=20.0, torque_by_speed=-0.016, lag=0.011, delay=0.02)
DRIVEN = replace(PLAIN, label="driven", torque_by_speed=4e-3)                     # it runs away by itself
FIELD = replace(PLAIN, label="field", command_lag=0.03, lag=4e-3, lead=-6e-4, torque_by_speed=-0.02)
LATE = replace(PLAIN, label="late", delay=0.0137)
PI = Regulator(gain=0.012, integral_time=0.25, sample_time=TS)
SLOW = replace(PI, gain=2e-3, filter_time=0.015)
EVERY = pytest.mark.parametrize("plant", [PLAIN, LAGGING, DRIVEN, FIELD], ids=lambda plant: plant.label)


def book_loop(plant, regulator):
    """The open loop by python-control, for a dead time of whole samples."""
    a, b, _ = plant.matrices()
    states = len(a)
    wide = np.zeros((states + 1, states + 1))
    wide[:states, :states], wide[states, 0] = a, 1.0
    angle = control.ss(wide, np.append(b, 0.0)[:, None], np.eye(states + 1)[-1:], 0)
    z = control.tf([1, 0], [1], regulator.sample_time)
    whole = round(plant.delay / regulator.sample_time)
    taken = regulator.sample_time / (regulator.sample_time + regulator.filter_time)
    read = (z - 1) / (z * regulator.sample_time) * taken * z / (z - (1 - taken))
    pi = regulator.gain * (1 + regulator.sample_time / regulator.integral_time * z / (z - 1))
    return control.ss2tf(control.sample_system(angle, regulator.sample_time, "zoh")) * read * pi / z**whole


def crossings(loop):
    """Gain margins, phase margins (degrees) and crossovers; below 0.01 rad/s the book's polynomials are noise."""
    gains, phases, _, turns, crossovers, _ = control.stability_margins(loop, returnall=True, method="frd", epsw=1e-3)
    return gains[turns > 0.01], phases[crossovers > 0.01], crossovers[crossovers > 0.01]


def outermost(loop):
    """The greatest pole of the closed loop; the turned angle's, at 1, which its own zero cancels, is counted out."""
    poles = control.feedback(loop, 1).poles()
    poles = np.delete(poles, np.argmin(np.abs(poles - 1)))
    return float(np.abs(poles).max())


def march(plant, regulator, *, seconds, start=0.0, torque=0.0, fine=20):
    """The speed at every sample: Runge–Kutta on the plant's equations, the regulator as a program runs it.

    ``start`` (rad/s) the speed off its set point, ``torque`` (N·m) put on at the first sample.
    """
    own = plant.torque_by_speed - plant.drag_by_speed

    def rate(y, u):
        speed, pull, field, _ = y
        asked, moved = u, 0.0
        if plant.command_lag:
            moved = (u - field) / plant.command_lag
            asked = field
        wanted = own * speed + plant.torque_by_command * (asked + plant.lead * moved)
        held = pull if plant.lag else wanted
        return np.array([(held + plant.drag_by_speed * speed - torque) / plant.inertia,
                         (wanted - pull) / plant.lag if plant.lag else 0.0, moved, speed])

    def ahead(y, u, time):
        if time <= 0:
            return y
        for _ in range(fine):
            h = time / fine
            one = rate(y, u)
            two = rate(y + h / 2 * one, u)
            three = rate(y + h / 2 * two, u)
            y = y + h / 6 * (one + 2 * two + 2 * three + rate(y + h * three, u))
        return y

    y, before, read, integral = np.array([start, 0.0, 0.0, 0.0]), -start * regulator.sample_time, 0.0, 0.0
    whole = math.floor(plant.delay / regulator.sample_time + 1e-9)
    late = plant.delay - whole * regulator.sample_time
    asked, told = [0.0] * (whole + 2), []
    for _ in range(round(seconds / regulator.sample_time)):
        told.append(y[0])
        share = regulator.sample_time / (regulator.sample_time + regulator.filter_time)
        read += share * ((y[3] - before) / regulator.sample_time - read)
        before = y[3]
        integral += regulator.gain * regulator.sample_time / regulator.integral_time * -read
        asked = [-regulator.gain * read + integral, *asked[:-1]]
        y = ahead(ahead(y, asked[whole + 1], late), asked[whole], regulator.sample_time - late)
    return np.array(told)


@pytest.mark.parametrize("plant", [PLAIN, LAGGING, DRIVEN, FIELD, LATE, replace(LAGGING, delay=0.0041)],
                         ids=lambda plant: f"{plant.label} {plant.delay}")
def test_pulse_response_is_the_aliased_sum(plant):
    """What is sampled is the sum of all images of hold, plant, dead time and mean over a sample (definition)."""
    omega = np.geomspace(0.5, 0.95 * math.pi / TS, 12)
    images = 1j * (omega[:, None] + 2 * math.pi / TS * np.arange(-4000, 4001))
    hold = (1 - np.exp(-images * TS)) / images
    told = (hold * plant.response(images.imag) * hold / TS).sum(axis=1) / TS
    found = Sampled.of([plant], TS).response(np.exp(1j * omega * TS))[0]
    assert found == pytest.approx(told, rel=1e-6, abs=1e-9 * np.abs(told).max())


@EVERY
@pytest.mark.parametrize("regulator", [PI, SLOW], ids=["quick", "slow, filtered"])
def test_margins_are_those_of_python_control(plant, regulator):
    """Gain margin, phase margin and crossover of every crossing, to 0.2 %, and poles inside the circle alike."""
    found, loop = margins(regulator, [plant])[0], book_loop(plant, regulator)
    gains, phases, crossovers = crossings(loop)
    assert found.pole == pytest.approx(outermost(loop), rel=1e-6)
    assert (found.phase > 0) == found.stable
    assert abs(found.phase) == pytest.approx(math.radians(np.abs(phases).min()), rel=2e-3)
    assert found.crossover == pytest.approx(max(crossovers), rel=2e-3)
    assert found.gain == pytest.approx(min(g for g in gains if g >= 1), rel=2e-3)
    falls = [g for g in gains if g < 1]
    assert found.fall == pytest.approx(max(falls, default=0.0), rel=2e-2, abs=1e-3)


def test_slow_loop_is_the_continuous_one():
    """A crossover far below the sampling: ``control.margin`` with a Padé dead time that counts hold and mean."""
    found = margins(replace(PI, gain=3e-3, integral_time=1.0), [PLAIN])[0]
    dead = control.tf(*control.pade(PLAIN.delay + TS, 6))
    plant = control.tf([PLAIN.torque_by_command], [PLAIN.inertia, -PLAIN.torque_by_speed])
    regulator = 3e-3 * control.tf([1.0, 1], [1.0, 0])
    gain, phase, _, crossover = control.margin(regulator * plant * dead)
    assert math.degrees(found.phase) == pytest.approx(phase, abs=0.3)
    assert found.gain == pytest.approx(gain, rel=0.05)
    assert found.crossover == pytest.approx(crossover, rel=0.01)


@pytest.mark.parametrize("plant", [PLAIN, LAGGING, DRIVEN, FIELD, LATE], ids=lambda plant: plant.label)
def test_edge_of_stability(plant):
    """Marched sample by sample: 3 % below the gain margin the speed settles, 3 % above it it swings up."""
    regulator = replace(PI, gain=2e-3)
    edge = margins(regulator, [plant])[0].gain

    def swing(share):
        told = np.abs(march(plant, replace(regulator, gain=regulator.gain * edge * share), seconds=12.0, start=1.0))
        return told[600:800].max(), told[-200:].max()

    before, after = swing(0.97)
    assert after < 0.8 * before
    before, after = swing(1.03)
    assert after > 1.2 * before


def test_a_runaway_plant_needs_gain():
    """A plant that speeds up by itself: below the lower gain margin the marched speed leaves, above it it settles."""
    fall = margins(replace(PI, integral_time=2.0), [DRIVEN])[0].fall
    assert 0 < fall < 0.5

    def end(share):
        told = np.abs(march(DRIVEN, replace(PI, integral_time=2.0, gain=PI.gain * fall * share), seconds=30.0,
                            start=1.0))
        return told[2000:2400].max(), told[-400:].max()

    assert end(0.9)[1] > 1.2 * end(0.9)[0]
    assert end(1.15)[1] < 0.8 * end(1.15)[0]


@EVERY
def test_load_step_is_the_march(plant):
    """Dip and time to within a tenth of it, marched sample by sample from a torque put on."""
    regulator = replace(PI, gain=5e-3, integral_time=0.4) if plant is not LAGGING else replace(PI, gain=1.5e-3)
    told = march(plant, regulator, seconds=6.0, torque=0.2)
    dip = np.abs(told).max()
    found = load_step(Sampled.of([plant], TS), regulator, torque=np.array([0.2]), near=np.array([0.1 * dip]),
                      longest=6.0)
    last = np.flatnonzero(np.abs(told) > 0.1 * dip)[-1] + 1
    assert found.dip[0] == pytest.approx(dip, rel=1e-4)
    assert found.time[0] == pytest.approx(last * TS, abs=1.01 * TS)
    never = load_step(Sampled.of([plant], TS), regulator, torque=np.array([0.2]), near=np.array([0.1 * dip]),
                      longest=0.05)
    assert math.isinf(never.time[0])


@pytest.mark.parametrize("plants", [
    [PLAIN], [LAGGING], [DRIVEN], [FIELD], [PLAIN, replace(PLAIN, torque_by_command=6.0), DRIVEN],
    [PLAIN, replace(PLAIN, label="idle", state="idle", torque_by_speed=-1e-5, torque_by_command=1.2)],
    [PLAIN, replace(PLAIN, label="lost", state="lost", inertia=4.5e-4)]], ids=lambda plants: plants[-1].label)
def test_tuned_regulator_holds_every_corner(plants):
    """Every margin asked for is there by python-control's reckoning, and the next greater gain breaks one."""
    found = tune(plants, sample_time=TS)
    assert isinstance(found, Tuned)
    assert found.steps[-1].value == found.regulator.gain
    assert found.steps[-2].value == found.regulator.integral_time

    def spare(regulator):
        least = math.inf
        for plant in plants:
            loop = book_loop(plant, regulator)
            phase, gain = LEAST[plant.state]
            gains, phases, _ = crossings(loop)
            held = [max(g, 1 / g) / gain for g in gains]
            least = min(least, math.radians(np.abs(phases).min()) / phase, *held, 9.0 if outermost(loop) < 1 else 0.0)
        return least

    assert spare(found.regulator) >= 0.998
    assert spare(replace(found.regulator, gain=found.regulator.gain / GAIN_STEPS)) < 1
    assert found.by_phase.spare >= 0
    assert found.by_gain.spare_gain >= 1


def test_no_say_is_refused():
    """A corner where more command brings no torque is named, with the figure and a way out."""
    reason = tune([PLAIN, replace(PLAIN, label="turned", torque_by_command=-0.5)], sample_time=TS)
    assert isinstance(reason, Reason)
    assert reason.code == "loop-no-torque"
    assert "turned" in reason.message
    assert reason.figure is not None
    assert reason.figure.value == -0.5
    assert reason.way_out


@pytest.mark.parametrize("plants", [
    [replace(DRIVEN, torque_by_speed=0.25)],
    [replace(PLAIN, torque_by_speed=-1e-6), replace(PLAIN, label="high", torque_by_command=900.0)]],
    ids=["runs away faster than the dead time", "gain spreads too far"])
def test_what_no_regulator_holds_is_refused(plants):
    """A runaway of 100 1/s behind 30 ms, or a spread of 360: refused with the phase margin that is left, and why.

    No regulator of a coarse search over three decades of gain and integral time does better by python-control.
    """
    reason = tune(plants, sample_time=TS)
    assert isinstance(reason, Reason)
    assert reason.code == "loop-not-stable"
    assert reason.figure is not None
    assert reason.limit is not None
    assert reason.figure.value < reason.limit.value
    assert "differs by a factor of" in reason.message
    assert reason.way_out
    for gain in np.geomspace(1e-5, 1e-1, 9):
        for integral in np.geomspace(0.05, 5.0, 5):
            one = [book_loop(plant, replace(PI, gain=gain, integral_time=integral)) for plant in plants]
            held = [loop for loop in one if outermost(loop) < 1]
            if len(held) == len(one):
                told = [control.stability_margins(loop, method="frd")[:2] for loop in held]
                assert min(gain for gain, _ in told) < 2 or min(phase for _, phase in told) < 45
