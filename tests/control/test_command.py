"""The command's table and its limit against brute-force marches of the triac circuit, and closed forms.

Sources: tests/reference.py (scipy's solve_ivp, no code shared), definitions.md for the angles at which S1 is lost,
closed forms derived here. The motors are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.bridge_armature import CIRCUIT as BRIDGE_ARMATURE
from designer.circuits.case import Fixed, Points
from designer.circuits.chopper_armature import CIRCUIT as CHOPPER_ARMATURE
from designer.circuits.chopper_field import CIRCUIT as CHOPPER_FIELD
from designer.circuits.chopper_series import CIRCUIT as CHOPPER_SERIES
from designer.circuits.triac_series import CIRCUIT as TRIAC
from designer.circuits.triac_series import LATEST
from designer.control.command import (
    CLEAR,
    STEEPEST,
    STEPS,
    CommandLimit,
    command_limit,
    command_table,
    least_angles,
    start_refused,
)
from designer.results import Reason
from tests import reference
from tests.control.test_plant import BENT, BUS, STRAIGHT, direct
from tests.pairs import S1, fixed, points
from tests.reference import DEGREE, RPM

SPEEDS = np.array([0, 1000, 3000, 6000, 12000]) * RPM


def at_speeds(shared: Fixed, speeds: np.ndarray, **changes: float) -> Points:
    """S1 on 230 V 50 Hz at several speeds."""
    given = {"voltage": 230.0, "frequency": 50.0, "setting": 0.0, "speed": speeds}
    return Points.of(shared, given | changes)


@pytest.mark.parametrize("speed", [1000, 3000, 9000])
def test_equal_steps_of_command_are_equal_steps_of_torque(speed):
    """Marched torque at the target speed lies on a straight line over the command, to 0.1 % of the greatest.

    But for the first entries, where little torque would make the table steeper than allowed.
    """
    case = replace(S1, speed=speed * RPM)
    table = command_table(TRIAC, fixed(case), points(fixed(case), [case]))
    slope = np.abs(np.diff(table.settings)) * STEPS / abs(table.settings[-1] - table.settings[0])
    first = np.flatnonzero(slope < 0.999 * STEEPEST)[0]
    assert 0 < table.commands[first] < 0.15
    assert slope[: max(first - 1, 0)] == pytest.approx(STEEPEST, rel=2e-3)
    assert slope.max() <= STEEPEST * (1 + 1e-9)
    at = np.linspace(first + 1, STEPS, 6).astype(int)
    torque = np.array([reference.steady(replace(case, alpha=float(a))).torque for a in table.settings[at]])
    line = torque[0] + (torque[-1] - torque[0]) * (table.commands[at] - table.commands[at[0]]) / (
        table.commands[at[-1]] - table.commands[at[0]])
    assert torque == pytest.approx(line, abs=1e-3 * torque[-1])
    assert torque[0] < 0.03 * torque[-1]


def test_ends_of_the_table():
    """Command 0 lies ahead of the gate guard, 1 at the edge of lost control, by its clearance (reference)."""
    shared = fixed(replace(S1, guard=2e-3))
    table = command_table(TRIAC, shared, at_speeds(shared, np.array([3000 * RPM])))
    assert table.settings[0] == pytest.approx(LATEST - 100 * math.pi * 2e-3, rel=1e-12)
    assert table.settings[-1] == pytest.approx(reference.control_lost(S1) + CLEAR, abs=2e-4)
    assert (np.diff(table.settings) < 0).all()
    both = command_table(TRIAC, shared, at_speeds(shared, np.array([3000, 9000]) * RPM))
    fast = reference.control_lost(replace(S1, speed=9000 * RPM))
    assert both.settings[-1] == pytest.approx(fast + CLEAR, abs=2e-4)


def test_there_and_back():
    """``command_at`` undoes ``setting_at`` (rule), and holds at the ends; slopes are those of the pieces beside."""
    shared = fixed(S1)
    table = command_table(TRIAC, shared, at_speeds(shared, np.array([3000 * RPM])))
    commands = np.linspace(0, 1, 1001)
    assert table.command_at(table.setting_at(commands)) == pytest.approx(commands, abs=1e-9)
    assert table.command_at(np.array([4.0, -1.0])).tolist() == [0.0, 1.0]
    below, above = table.slopes_at(np.array([10 / STEPS, 10.5 / STEPS]))
    pieces = np.diff(table.settings) * STEPS
    assert below == pytest.approx(pieces[[9, 10]], rel=1e-9)
    assert above == pytest.approx(pieces[[10, 10]], rel=1e-9)


def test_armature_fed_apart_takes_equal_steps_of_voltage():
    """Half-controlled bridge with freewheel diode, ideal: mean voltage V_m/π·(1 + cos α) in equal steps (derived)."""
    shared = replace(direct(STRAIGHT, separate=True), freewheeling=True, tolerance=1e-6)
    shared = replace(shared, feed=replace(shared.feed, alternating=True), chopping=None)
    target = Points.of(shared, {"voltage": 230.0, "frequency": 50.0, "setting": 0.0, "speed": 500.0, "load": 1.0})
    table = command_table(BRIDGE_ARMATURE, shared, target)
    share = (1 + np.cos(table.settings)) / (1 + math.cos(table.settings[-1]))
    assert share == pytest.approx(table.commands, abs=2e-3)


def test_duty_and_field_current():
    """An armature's duty and a field current are taken as they are; a series motor's duty is bent (rule)."""
    shared = direct(STRAIGHT, separate=True)
    target = Points.of(shared, {"voltage": BUS, "setting": 0.0, "speed": 400.0})
    low, high = sorted(CHOPPER_ARMATURE.setting_range(shared))
    table = command_table(CHOPPER_ARMATURE, shared, target)
    assert table.settings == pytest.approx(np.linspace(low, high, STEPS + 1), rel=1e-12)
    limit = command_limit(CHOPPER_ARMATURE, shared, target, table=table, speeds=np.array([0.0, 400.0]))
    assert limit.commands.tolist() == [1.0, 1.0]
    bent = direct(BENT, separate=False)
    own = command_table(CHOPPER_SERIES, bent, Points.of(bent, {"voltage": BUS, "setting": 0.0, "speed": 400.0}))
    torque = CHOPPER_SERIES.solve(bent, Points.of(bent, {
        "voltage": BUS, "setting": own.settings, "speed": 400.0})).torque
    at = own.commands > 0.1
    slope = np.diff(torque[at] / torque[-1]) * STEPS
    assert slope == pytest.approx(np.full(len(slope), slope.mean()), rel=0.03)


def test_angles_at_which_control_is_lost():
    """Against the march, and as definitions.md tells for S1: 69°, 50°, 28°, 9.5° from 1000 to 12000 rpm.

    At rest definitions.md gives 78.6°, the angle of the bare impedance, which the brush drop lowers by half a degree.
    """
    shared = fixed(S1)
    found = least_angles(TRIAC, shared, at_speeds(shared, SPEEDS)) - CLEAR
    marched = [reference.control_lost(replace(S1, speed=w)) for w in SPEEDS]
    assert found == pytest.approx(marched, abs=2e-4)
    assert found[1:] / DEGREE == pytest.approx([69, 50, 28, 9.5], abs=0.5)
    bare = fixed(replace(S1, V_b=0.0))
    at_rest = least_angles(TRIAC, bare, at_speeds(bare, np.zeros(1)))[0] - CLEAR
    assert at_rest == pytest.approx(math.atan2(100 * math.pi * 60e-3, 3.8), abs=2e-4)
    assert at_rest / DEGREE == pytest.approx(78.6, abs=0.05)


@pytest.mark.parametrize("speed", [0.0, 1500 * RPM])
def test_at_the_limit_every_half_cycle_fires_when_called(speed):
    """Marched from no current at the limit's angle every turn-on is the angle asked for; below the edge none later is.

    The worst of the mains band counts.
    """
    shared = fixed(S1)
    table = command_table(TRIAC, shared, at_speeds(shared, np.array([3000 * RPM])))
    band = Points.of(shared, {"voltage": np.array([207.0, 230.0, 253.0]), "frequency": 50.0, "setting": 0.0,
                              "speed": 0.0})
    limit = command_limit(TRIAC, shared, band, table=table, speeds=np.array([speed]))

    def delays(angle, volts):
        after, told, case = 0.0, [], replace(S1, alpha=angle, speed=speed, voltage=volts)
        for n in range(12):
            segment, _ = reference.next_segment(case, after, speed)
            after = segment.off
            told.append(segment.on - n * math.pi - angle)
        return np.array(told)

    for volts in (207.0, 230.0, 253.0):
        assert delays(float(limit.settings[0]), volts) == pytest.approx(np.zeros(12), abs=1e-9)
    assert delays(float(limit.settings[0]) - CLEAR - 0.02, 253.0)[-1] > 1e-3


def test_limit_between_two_speeds_is_the_lower():
    """Rule: never more than either entry beside the speed allows; the ends hold on."""
    limit = CommandLimit(speeds=np.array([0.0, 100.0, 200.0]), settings=np.zeros(3), commands=np.array([0.4, 0.7, 0.6]))
    assert limit.at(np.array([-1.0, 0.0, 50.0, 100.0, 150.0, 200.0, 900.0])).tolist() == [
        0.4, 0.4, 0.4, 0.7, 0.6, 0.6, 0.6]


def test_a_field_is_weakened_no_further_than_it_helps():
    """T = k·(V − k·ω)/R has its greatest at k = V/(2·ω) (derived): the limit's field is that, to a table's step."""
    shared = direct(BENT, separate=False, field_floor=0.2)
    target = Points.of(shared, {"voltage": 200.0, "setting": 0.0, "speed": 500.0})
    table = command_table(CHOPPER_FIELD, shared, target)
    speeds = np.array([0.0, 200.0, 400.0, 600.0, 900.0])
    limit = command_limit(CHOPPER_FIELD, shared, target, table=table, speeds=speeds)
    curve = shared.motor.curve
    grid = np.linspace(0.2, 8.0, 4001)
    turning = np.array([0.2 if 200 / (2 * w) < curve.at(0.2, "keep") else
                        np.interp(200 / (2 * w), curve.at(grid, "keep"), grid) for w in speeds[1:]])
    step = 7.8 / STEPS
    assert limit.settings[0] == table.settings[0]
    assert limit.settings[1:] == pytest.approx(turning, abs=1.01 * step)


def test_a_start_that_cannot_be_controlled_is_refused():
    """A gate window that closes before the edge of lost control at rest: both angles are told, and a way out."""
    wide = fixed(replace(S1, guard=(math.pi - 75 * DEGREE) / (100 * math.pi)))
    fine = fixed(S1)
    for shared, refused in ((fine, False), (wide, True)):
        target = at_speeds(shared, np.array([3000 * RPM]))
        table = command_table(TRIAC, shared, target)
        limit = command_limit(TRIAC, shared, target, table=table, speeds=np.array([0.0, 100.0]))
        reason = start_refused(limit, table)
        assert (reason is not None) == refused
    assert isinstance(reason, Reason)
    assert reason.figure is not None
    assert reason.figure.value == pytest.approx(75 * DEGREE, abs=1e-4)
    assert reason.way_out
