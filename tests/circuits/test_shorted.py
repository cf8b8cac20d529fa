"""What stands for a shorted switch, circuit by circuit: the control has no say any more."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.case import Chopping, Drop, Feed, Fixed, Points
from designer.circuits.chopper_armature import CIRCUIT as CHOPPER
from designer.circuits.triac_series import CIRCUIT as TRIAC
from designer.motor.field_feed import FieldFeed
from designer.motor.model import Load
from designer.waveforms.phase_control import Gate
from tests import reference
from tests.pairs import S1, fixed, model, points

CHOPPED = Fixed(
    motor=model(S1), load=Load(), feed=Feed(alternating=False, resistance=0.3),
    switch=Drop(threshold=1.5, slope=0.05), freewheel=Drop(threshold=0.9), field=FieldFeed(held=3.0),
    chopping=Chopping(frequency=16e3, shortest=2e-6, current_limit=8.0), setting_cap=0.7)


def test_a_triac_with_a_held_gate_is_the_same_fully_on():
    """Nothing to change where the gate holds: the same object, so that states are solved together."""
    shared = fixed(S1)
    short, full = TRIAC.shorted(shared)
    assert short is shared
    assert full == 0.0 == TRIAC.setting_range(shared)[0]


@pytest.mark.parametrize("gate", [Gate(pulse=0.03), Gate(latching=60.0), Gate(pulse=0.03, latching=0.1, guard=0.2)])
def test_a_shorted_triac_does_not_ask_its_gate(gate):
    """With a gate that misses or never latches, shorted is full conduction all the same (scipy solve_ivp), to 1e-3."""
    shared = replace(fixed(S1, 1e-5), gate=gate)
    short, full = TRIAC.shorted(shared)
    at = points(short, [replace(S1, alpha=full)])
    assert (short.feed, short.switch) == (shared.feed, shared.switch)
    assert (short.motor, short.load) == (shared.motor, shared.load)
    truth = reference.steady(replace(S1, alpha=0.0))
    assert TRIAC.solve(short, at).rms[0] == pytest.approx(truth.rms, rel=1e-3)
    assert TRIAC.solve(short, at).torque[0] == pytest.approx(truth.torque, rel=1e-3)


@pytest.mark.parametrize("speed", [0.0, 300.0])
def test_a_shorted_transistor_puts_the_armature_on_the_bus(speed):
    """No drop, no limit, no cap: i = (V − V_b − k·ω)/(R_a + R_s), nothing in the diode (derived), to 1e-9."""
    short, full = CHOPPER.shorted(CHOPPED)
    assert full == 1.0 == CHOPPER.setting_range(short)[0]
    assert CHOPPER.setting_range(CHOPPED)[0] == 0.7
    at = Points.of(short, {"voltage": 200.0, "setting": full, "speed": speed})
    solved = CHOPPER.solve(replace(short, tolerance=1e-9), at)
    k = S1.curve.g(3.0) + S1.curve.k_r
    current = (200.0 - 2.0 - k * speed) / (2.10 + 0.3)
    assert current > CHOPPED.chopping.current_limit
    assert solved.armature_absolute[0] == pytest.approx(current, rel=1e-9)
    seen = CHOPPER.stresses(solved)
    assert seen["freewheel_current_rms"][0] == pytest.approx(0.0, abs=1e-9)
    assert seen["switch_loss"][0] == 0.0
    assert short.field == CHOPPED.field
    assert short.chopping.frequency == CHOPPED.chopping.frequency


def test_a_shorted_switch_gives_no_less_than_full_output():
    """At every speed the torque shorted is at least that of the greatest setting (derived: the drop is gone)."""
    short, full = CHOPPER.shorted(CHOPPED)
    at = Points.of(CHOPPED, {"voltage": 200.0, "setting": 0.7, "speed": np.linspace(0.0, 500.0, 6)})
    least = CHOPPER.solve(CHOPPED, at).torque
    assert np.all(CHOPPER.solve(short, at.at(setting=np.full(6, full))).torque >= least)
