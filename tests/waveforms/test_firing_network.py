"""The firing network's periodic solution against scipy's integrator, event by event, and its limits."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.equations import breakover
from designer.waveforms.firing_network import Network, Supply, fire
from designer.waveforms.firing_range import later, reach, resistance_for, snap_on_resistance

ANGLES, ENDS = np.array([0.0, 1.0, 2.0, np.pi]), np.pi + np.array([0.5, 0.45, 0.3, 0.0])
MOTOR = Supply(rms=230.0, frequency=50.0, on_drop=1.2, firing_angles=ANGLES, extinctions=ENDS)
LAMP = replace(MOTOR, extinctions=np.full(4, np.pi))
SINGLE = Network(
    wiring="two-wire", end_stop=3.3e3, capacitance=100e-9, breakover_positive=32.0, breakover_negative=32.0,
    fold_back=6.0, sustain_current=1e-3,
)
DOUBLE = replace(SINGLE, capacitance=47e-9, first_capacitance=100e-9, second_resistance=15e3)


class Brute:
    """The same network marched by solve_ivp, one event after the other, in true signs."""

    def __init__(self, network, supply, resistance):
        """Start from empty capacitors."""
        self.n, self.s, self.r = network, supply, resistance
        self.x = np.zeros(1 if network.first_capacitance is None else 2)
        self.held, self.ends, self.sign = 0.0, -1.0, 1.0

    def half(self, number):
        """March half cycle ``number``; give its firing angle."""
        zero, self.sign = number * np.pi, 1.0 - 2.0 * (number % 2)
        at, fired, spill = zero, None, self.ends
        while at < zero + np.pi - 1e-12:
            feed, stop = self.feed(at, fired is not None, spill, zero)
            run = solve_ivp(lambda t, x, u=feed: self.rates(x, u(t)), (at, stop), self.x, events=self.events(feed),
                            rtol=1e-10, atol=1e-10, max_step=0.05)
            at, self.x = run.t[-1], run.y[:, -1].copy()
            if run.status != 1:
                continue
            if self.held:
                self.held = 0.0
                continue
            over = np.sign(self.x[-1])
            self.x[-1] -= over * self.n.fold_back
            if fired is None and (self.n.wiring == "three-wire" or at >= spill):
                fired = at - zero
            feed, _ = self.feed(at, fired is not None, spill, zero)
            self.held = over if over * self.fed(self.x, feed(at)) > self.n.sustain_current else 0.0
        self.ends = -1.0 if fired is None else zero + np.interp(fired, self.s.firing_angles, self.s.extinctions)
        return np.nan if fired is None else fired

    def feed(self, at, fired, spill, zero):
        """Supply voltage of the network from now on, and until when."""
        crest, drop, sign = math.sqrt(2) * self.s.rms, self.s.on_drop, self.sign
        if self.n.wiring == "two-wire" and at < spill:
            return (lambda t: -sign * drop), min(spill, zero + np.pi)
        if self.n.wiring == "two-wire" and fired:
            return (lambda t: sign * drop), zero + np.pi
        return (lambda t: crest * np.sin(t)), zero + np.pi

    def fed(self, x, u):
        """Current into the last capacitor's node."""
        return (u - x[0]) / self.r if len(x) == 1 else (x[0] - x[1]) / self.n.second_resistance

    def rates(self, x, u):
        """Capacitor voltages per radian."""
        omega, last = 2 * np.pi * self.s.frequency, 0.0 if self.held else self.fed(x, u) / self.n.capacitance
        if len(x) == 1:
            return [last / omega]
        return [((u - x[0]) / self.r - self.fed(x, u)) / self.n.first_capacitance / omega, last / omega]

    def events(self, feed):
        """Breakover of either sign, or the end of the device's conduction."""
        if self.held:
            held = self.held
            found = [lambda t, x: self.n.sustain_current - held * self.fed(x, feed(t))]
        else:
            found = [lambda t, x: x[-1] - self.n.breakover_positive,
                     lambda t, x: -x[-1] - self.n.breakover_negative]
        for event in found:
            event.terminal, event.direction = True, 1.0
        return found


@pytest.mark.parametrize(("network", "wiring", "track"), [
    (SINGLE, "two-wire", 20e3), (SINGLE, "two-wire", 130e3), (SINGLE, "three-wire", 80e3),
    (DOUBLE, "two-wire", 80e3), (DOUBLE, "three-wire", 20e3), (DOUBLE, "three-wire", 130e3),
])
def test_periodic_angles_agree_with_the_integrator(network, wiring, track):
    """Angles of both half cycles to 1e-7 rad of scipy solve_ivp after 20 periods, sides of the device apart."""
    part = replace(network, wiring=wiring, breakover_positive=33.5, breakover_negative=30.5)
    found = fire(part, supply=MOTOR, potentiometer=track)
    brute = Brute(part, MOTOR, part.end_stop + track)
    angles = [brute.half(number) for number in range(40)]
    assert found.settled.all()
    assert [float(found.positive[0]), float(found.negative[0])] == pytest.approx(angles[-2:], abs=1e-7)


def test_the_first_firing_is_that_of_the_steady_sine():
    """Started idle, the first half cycle of a single R-C on the mains fires where the phasor says (O1's formula).

    One period is marched; its first half cycle starts from the never-discharged state. 230 V, 50 Hz,
    0.6 µF, 20 kΩ, 25 V: Gupta and Singhal, Example 2.27 (companion notebook seen), 92.588° recomputed.
    """
    part = replace(SINGLE, wiring="three-wire", end_stop=0.0, capacitance=0.6e-6, breakover_positive=25.0,
                   breakover_negative=1e9)   # so that nothing fires before the first positive half cycle
    found = fire(part, supply=LAMP, potentiometer=20e3, idle=True, most=1)
    assert math.degrees(float(found.positive[0])) == pytest.approx(92.588, abs=6e-4)


def test_the_snap_on_of_a_single_network_is_its_closed_form():
    """The idle network starts at the resistance that the phasor's crest gives (derived)."""
    closed = float(breakover.SNAP_ON_RESISTANCE(V=230.0, f=50.0, C_t=100e-9, V_BO=32.0))
    assert snap_on_resistance(SINGLE, supply=MOTOR) == pytest.approx(closed, rel=1e-10)
    near = fire(replace(SINGLE, end_stop=0.0), supply=MOTOR, potentiometer=closed * np.array([0.998, 1.002]), idle=True)
    assert near.fires.tolist() == [True, False]


def test_hysteresis_is_there_and_a_second_capacitor_lessens_it():
    """A single R-C holds past its snap-on and jumps; a double one does so much less (physics, no source)."""
    single, double = (reach(part, supply=LAMP) for part in (SINGLE, DOUBLE))
    gaps = [r.held_resistance / r.snap_on_resistance - 1 for r in (single, double)]
    assert gaps[0] > 0.04
    assert 0 < gaps[1] < gaps[0] / 2
    assert single.held_angle > single.snap_on_angle + math.radians(10)


def test_turning_down_step_by_step_ends_on_the_state_from_discharged_capacitors():
    """The held state is the same by small steps of the knob as from empty capacitors (derived: map rises)."""
    brute, number = Brute(SINGLE, LAMP, 0.0), 0
    for track in np.linspace(150e3, 300e3, 7):
        brute.r = SINGLE.end_stop + track
        for _ in range(24):
            angle = brute.half(number)
            number += 1
    direct = fire(SINGLE, supply=LAMP, potentiometer=300e3)
    assert angle == pytest.approx(float(direct.positive[0]), abs=1e-4)


def test_resistance_for_an_angle_fires_there():
    """The found resistance gives the wanted angle back, in both wirings and orders (package against itself)."""
    for part in (SINGLE, replace(SINGLE, wiring="three-wire"), DOUBLE):
        found = resistance_for(part, supply=MOTOR, angle=1.6)
        angle = later(fire(part, supply=MOTOR, potentiometer=found - part.end_stop))
        assert float(angle[0]) == pytest.approx(1.6, abs=1e-4)


def test_an_angle_past_the_jump_has_no_resistance():
    """A three-wire double network fires past the zero before 1.6 rad: no resistance, not a wrong one."""
    part = replace(DOUBLE, wiring="three-wire")
    assert math.isnan(resistance_for(part, supply=MOTOR, angle=1.6))


def test_a_breakover_above_the_crest_never_fires():
    """12 V mains never reach a 32 V device: no angle, no snap-on (exact)."""
    low = replace(MOTOR, rms=12.0)
    assert not fire(SINGLE, supply=low, potentiometer=1e3).fires.any()
    assert math.isnan(snap_on_resistance(SINGLE, supply=low))
    assert math.isnan(reach(SINGLE, supply=low).held_angle)


def test_current_of_an_idle_network_is_its_phasor():
    """Not firing, the r.m.s. current is V/|Z| (exact)."""
    found = fire(replace(SINGLE, end_stop=0.0, breakover_positive=1e3, breakover_negative=1e3), supply=MOTOR,
                 potentiometer=100e3, idle=True)
    exact = 230.0 / math.hypot(100e3, 1 / (2 * math.pi * 50.0 * 100e-9))
    assert float(found.network_current[0]) == pytest.approx(exact, rel=1e-9)


def test_settings_do_not_mix():
    """Many settings at once give what each gives alone (package against itself)."""
    tracks = np.array([10e3, 100e3, 250e3, 400e3])
    many = fire(DOUBLE, supply=MOTOR, potentiometer=tracks)
    alone = [float(fire(DOUBLE, supply=MOTOR, potentiometer=track).positive[0]) for track in tracks]
    assert many.positive == pytest.approx(alone, abs=1e-9, nan_ok=True)
