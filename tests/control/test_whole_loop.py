"""The tuned regulator on the brute-force triac motor, half cycle by half cycle: does the linear plant tell the truth?

Source: tests/reference.py (scipy's solve_ivp of current and shaft, no code shared) with the regulator written out here.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.triac_series import CIRCUIT as TRIAC
from designer.control.command import command_table
from designer.control.loop import Tuned, margins, tune
from designer.control.plant import Band, corners, plants
from designer.control.sampled import Sampled, load_step
from tests import reference
from tests.pairs import S1, fixed, points
from tests.reference import RPM

INERTIA, HALF = 2.45e-3, 0.01
TARGET = 3000 * RPM


@pytest.fixture(scope="module")
def made():
    """Table, plants of the band, and the regulator of the invented drill press."""
    shared = fixed(S1, 1e-5)
    table = command_table(TRIAC, shared, points(shared, [S1]))
    band = Band(voltages=(("low", 207.0), ("nominal", 230.0), ("high", 253.0)), frequency=50.0,
                windings=(("as read", S1.R_a, S1.R_f),), frictions=(1.0,), can_be_lost=False)
    linear = plants(TRIAC, shared, corners(shared, band, [(TARGET, 1.0)], inertia=INERTIA, own=INERTIA),
                    table=table, sample_time=HALF)
    tuned = tune(linear.plants, sample_time=HALF)
    assert isinstance(tuned, Tuned)
    return table, linear.plants, tuned.regulator


def marched(table, regulator, *, volts, before, after, cycles=120, gain=1.0):
    """Speeds off the target at the zeros of the mains; the load (N·m) changes at the first.

    The regulator answers a half cycle after its reading.
    """
    case = replace(S1, voltage=volts, inertia=INERTIA, load=(before, 0.0, 0.0), speed=TARGET)   # steady until now
    angle = reference.find_angle(replace(case, inertia=None), 50 * reference.DEGREE)
    command = asked = float(table.command_at(angle))
    integral, speed, told, last = command, TARGET, [TARGET], TARGET
    case = replace(case, load=(after, 0.0, 0.0))
    off = 0.0
    for n in range(cycles):
        zero = n * math.pi
        one = replace(case, alpha=float(table.setting_at(command)))
        segment, _ = reference.next_segment(one, max(zero, off), speed)
        if segment is not None and segment.on < zero + math.pi:
            off, speed = segment.off, segment.speed_off
        begin, off = max(zero, off), max(off, zero + math.pi)
        speed, _ = reference.coast(one, begin, off, speed)
        told.append(speed)
        error = TARGET - 0.5 * (last + speed)
        last = speed
        integral += gain * regulator.step * error
        command, asked = asked, min(max(gain * regulator.gain * error + integral, 0.0), 1.0)
    return np.array(told) - TARGET


@pytest.mark.parametrize("volts, name", [(207.0, "low"), (230.0, "nominal"), (253.0, "high")])
def test_dip_of_a_load_step(made, volts, name):
    """A tenth of the load put on at full load: dip and time as the linear loop tells, to 10 % and two samples.

    The marched regulator answers in the half cycle after the one in which it reckons, at its firing angle: counted here
    is one half cycle and the place of the current in the next.
    """
    table, linear, regulator = made
    plant = next(one for one in linear if one.label.startswith(f"full load, {name}"))
    told = marched(table, regulator, volts=volts, before=0.76, after=0.84)
    dip = -told.min()
    found = load_step(Sampled.of([plant], HALF), regulator, torque=np.array([0.08]), near=np.array([0.2 * dip]),
                      longest=1.2)
    assert found.dip[0] == pytest.approx(dip, rel=0.10)
    last = (np.flatnonzero(np.abs(told) > 0.2 * dip)[-1] + 1) * HALF
    assert found.time[0] == pytest.approx(last, abs=3 * HALF)


def test_edge_of_stability_of_the_whole_motor(made):
    """A gain 15 % below the margin told settles on the marched motor; one half above it swings on.

    The counted dead time is on the safe side, so that the true edge lies a little above the one told.
    """
    table, linear, regulator = made
    plant = next(one for one in linear if one.label.startswith("full load, high"))
    edge = margins(regulator, [plant])[0].gain
    swing = {}
    for share in (0.85, 1.5):
        told = np.abs(marched(table, regulator, volts=253.0, before=0.79, after=0.81, cycles=160, gain=edge * share))
        swing[share] = told[20:50].max(), told[-30:].max()
    assert swing[0.85][1] < 0.5 * swing[0.85][0]
    assert swing[1.5][1] > 0.8 * swing[1.5][0]
