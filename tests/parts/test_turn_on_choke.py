"""The choke ahead of thyristors: its discharge against ``solve_ivp`` (scipy), its choice, and what it refuses."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.equations import turn_on_choke as eq
from designer.errors import InputError
from designer.parts import turn_on_choke
from designer.parts.margins import holds

CREST, CAPACITY = math.sqrt(2) * 253.0, 100e-9


def demand(**changes):
    """A line of 2 A on 253 V, a thyristor of 50 A/µs (invented)."""
    usual = {"crest": CREST, "rise": 50e6, "rms": 2.0, "peak": 5.0, "stall_peak": 12.0}
    return turn_on_choke.Demand(**(usual | changes))


def discharge(inductance, *, fall=None):
    """Capacitor through choke into thyristor and free-wheeling diode, to the crest of the current; SI.

    ``fall``: s in which the thyristor's voltage goes to zero in a straight line; None: at once.
    """
    def slopes(at, state):
        volts, amps = state
        left = 0.0 if fall is None else CREST * max(1 - at / fall, 0.0)
        return [-amps / CAPACITY, (volts - left) / inductance]

    end = 0.75 * math.pi * math.sqrt(inductance * CAPACITY)
    return solve_ivp(slopes, (0.0, end), [CREST, 0.0], rtol=1e-10, atol=1e-9, max_step=end / 2000)


@pytest.mark.parametrize("inductance", [8e-6, 26.4e-6, 54e-6])
def test_rise_and_peak_of_the_discharge(inductance):
    """Greatest rise, peak and time of the peak of the discharge against solve_ivp, to 1e-5."""
    found = discharge(inductance)
    rises = np.diff(found.y[1]) / np.diff(found.t)
    assert float(eq.CHOKE_RISE(V_c=CREST, L_c=inductance)) == pytest.approx(rises.max(), rel=1e-5)
    assert float(eq.CHOKE_PEAK(V_c=CREST, C_x=CAPACITY, L_c=inductance)) == pytest.approx(found.y[1].max(), rel=1e-5)
    assert float(eq.CHOKE_PEAK_TIME(C_x=CAPACITY, L_c=inductance)) == pytest.approx(
        found.t[found.y[1].argmax()], rel=1e-3)


def test_a_thyristor_that_falls_slowly_rises_less():
    """With a voltage that falls within 0.2 µs (solve_ivp) the rise stays under the bound that the choice takes."""
    found = discharge(26.4e-6, fall=0.2e-6)
    rises = np.diff(found.y[1]) / np.diff(found.t)
    assert rises.max() < float(eq.CHOKE_RISE(V_c=CREST, L_c=26.4e-6))


def test_value_is_the_least_preferred_one():
    """E6 with 20 % (IEC 60063): 33 µH leaves V/(0.8·33 µH) of half of 0.8·50 A/µs; 22 µH would pass it (derived)."""
    first = turn_on_choke.inductances(demand())[0]
    assert first == pytest.approx(33e-6)
    assert turn_on_choke.rise(demand(), first) == pytest.approx(CREST / (0.8 * 33e-6))
    assert CREST / (0.8 * 33e-6) < 0.5 * 0.8 * 50e6 < CREST / (0.8 * 22e-6)


def test_every_rating_holds_and_the_class_is_the_smallest():
    """R.m.s. current, running and stalled peak hold with their shares; the class below fails one of them."""
    made = turn_on_choke.choose(demand(), 33e-6)
    assert all(map(holds, made.ratings))
    assert made.marking == "33 µH 6.3 A"
    smaller = turn_on_choke.choose(demand(stall_peak=9.0), 33e-6)
    assert smaller.marking == "33 µH 4 A"
    heat = next(step for step in made.worked if step.formula.name == "choke-winding-loss")
    assert heat.value == pytest.approx(33e-6 / 2e-3 * 4.0)      # L/τ·I², derived


def test_a_current_beyond_every_class():
    """What no class carries is refused with both figures and the way out."""
    with pytest.raises(InputError) as raised:
        turn_on_choke.choose(demand(rms=40.0), 33e-6)
    assert str(raised.value.found) == "40 A r.m.s., 12 A at a stall"
    assert "up to 25 A" in str(raised.value.allowed)
