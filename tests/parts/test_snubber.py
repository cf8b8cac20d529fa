"""The snubber's choice: limits met by the integrator too, the smallest capacitor, refusals."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.errors import InputError
from designer.parts import snubber
from designer.parts.snubber import Demand, bare_ratings, choose, worst

# a 230 V motor with a four-quadrant switch; generic values from memory
DEMAND = Demand(
    supply_rms_high=253.0, frequency=50.0, step_voltage=340.0, inductance=63e-3, resistance=5.0,
    recovery_current=0.025, voltage_rating=800.0, commutating_dvdt=5e6, critical_dvdt=200e6,
    turn_off_slope=2500.0, turn_off_slope_limit=7000.0, turn_on_slope_limit=50e6, device_capacitance=60e-12,
    lead_inductance=0.8e-3, flux_slope=0.22, friction_torque=0.015,
)


def chosen(demand):
    """The chosen resistance and capacitance."""
    resistor, capacitor = choose(demand)
    return resistor.value.value, capacitor.value.value


def marched(demand, resistance, capacitance):
    """Peak and greatest slope by solve_ivp (brute force)."""
    def rates(_, x):
        return [(demand.step_voltage - x[1] - (demand.resistance + resistance) * x[0]) / demand.inductance,
                x[0] / capacitance]

    span = 4 * math.pi * math.sqrt(demand.inductance * capacitance)
    times = np.linspace(0.0, span, 20001)
    run = solve_ivp(rates, (0.0, span), [demand.recovery_current, 0.0], t_eval=times, rtol=1e-10, atol=1e-12)
    voltage = run.y[1] + resistance * run.y[0]
    return voltage.max(), np.gradient(voltage, times).max()


@pytest.mark.parametrize("change", [
    {}, {"step_voltage": 250.0}, {"inductance": 120e-3}, {"commutating_dvdt": 10e6, "recovery_current": 0.0},
])
def test_both_limits_hold_at_every_corner_of_the_parts(change):
    """Peak and dv/dt stay within 80 % of the ratings for every tolerance, by scipy solve_ivp."""
    demand = replace(DEMAND, **change)
    resistance, capacitance = chosen(demand)
    for r, c in product((0.95, 1.05), (0.9, 1.1)):
        peak, slope = marched(demand, r * resistance, c * capacitance)
        assert peak <= 0.8 * demand.voltage_rating
        assert slope <= 0.8 * demand.commutating_dvdt * 1.001
    peak, slope = worst(demand, resistance, capacitance)
    found = [marched(demand, r * resistance, c * capacitance) for r, c in product((0.95, 1.05), (0.9, 1.1))]
    assert peak == pytest.approx(max(p for p, _ in found), rel=1e-4)
    assert slope == pytest.approx(max(s for _, s in found), rel=1e-2)


def test_the_next_smaller_capacitor_holds_the_limits_with_no_resistor():
    """Rounding is to the smallest capacitor that does it: 68 nF below 100 nF fails for every E12 value (IEC 60063)."""
    _, capacitance = chosen(DEMAND)
    assert capacitance == 100e-9
    for resistance in (n * 10**d for n in (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82) for d in (0, 1, 2)):
        peak, slope = worst(DEMAND, resistance, 68e-9)
        assert peak > 0.8 * 800.0 or slope > 0.8 * 5e6


def test_a_three_quadrant_switch_needs_none_where_even_the_bare_ring_holds():
    """One part of count 0 with the figures: twice the step, undamped slope (derived)."""
    demand = replace(DEMAND, commutating_dvdt=None, step_voltage=200.0)
    (part,) = choose(demand)
    assert part.count == 0
    assert "none needed" in part.description
    slope, peak, rise = (rating.stress.value for rating in part.ratings)
    assert slope == 2500.0
    assert peak == pytest.approx(400.0)
    assert rise == pytest.approx(200.0 / math.sqrt(63e-3 * 60e-12))


def test_a_three_quadrant_switch_gets_one_where_the_bare_ring_does_not_hold():
    """At 340 V the undamped ring passes 80 % of 800 V: a small snubber, held to the critical dv/dt (derived)."""
    demand = replace(DEMAND, commutating_dvdt=None)
    assert any(rating.stress.value > rating.share * rating.limit.value for rating in bare_ratings(demand))
    resistor, capacitor = choose(demand)
    assert capacitor.value.value < 100e-9
    names = [rating.name for rating in capacitor.ratings]
    assert "critical dv/dt" in names
    assert "commutating dv/dt" not in names
    assert all(r.stress.value <= r.share * r.limit.value for part in (resistor, capacitor) for r in part.ratings)


def test_turn_on_binds_the_resistor_from_below():
    """V over R·0.2 µs stays below the share of di/dt: 39 Ω at least for 50 A/µs at 358 V (from memory)."""
    resistor, _ = choose(DEMAND)
    rise = next(rating for rating in resistor.ratings if rating.name == "current rise at turn-on")
    assert rise.stress.value <= 0.8 * 50e6
    with pytest.raises(InputError, match=r"parts\.switch\.commutating_dvdt: .*whose limits an R-C can hold"):
        choose(replace(DEMAND, turn_on_slope_limit=1e4))


def test_a_stiff_loop_with_a_four_quadrant_switch_is_refused_with_the_way_out():
    """5 mH at 340 V cannot be held to 5 V/µs: the message names the three-quadrant switch."""
    with pytest.raises(InputError, match="Take a three-quadrant switch with a high commutating slope"):
        choose(replace(DEMAND, inductance=5e-3))


def test_loss_leakage_and_torque_are_told():
    """2·f·C·V² at the crest with C +10 %, leakage through the motor, its torque (practice rows, computed)."""
    resistor, capacitor = choose(DEMAND)
    power = next(rating for rating in resistor.ratings if rating.name == "power")
    assert power.stress.value == pytest.approx(2 * 50 * 110e-9 * 2 * 253.0**2, rel=1e-9)
    leak = next(step for step in capacitor.worked if step.formula.name == "snubber-off-current")
    assert leak.value == pytest.approx(253.0 * 2 * math.pi * 50 * 110e-9, rel=2e-3)
    torque = next(rating for rating in capacitor.ratings if rating.name == "torque with the switch off")
    assert torque.stress.value == pytest.approx(0.22 * leak.value**2, rel=1e-12)
    assert "only a switch in both poles" in " ".join(capacitor.notes).lower()


def test_the_capacitor_may_be_discharged_from_the_crest():
    """A soft start or a potentiometer passes 90°, so the crest of 253 V counts at any range (derived)."""
    assert DEMAND.turn_on_voltage == pytest.approx(math.sqrt(2) * 253.0)


def test_a_stricter_margin_of_the_user_is_held():
    """`[margins] dvdt` at 65 % lets no more than that share of the rating through (package against itself)."""
    resistance, capacitance = chosen(replace(DEMAND, margins={"dvdt": 0.65}))
    assert worst(DEMAND, resistance, capacitance)[1] <= 0.65 * 5e6
    with pytest.raises(InputError, match=r"margins\.dvdt: .*can be made stricter, not laxer"):
        choose(replace(DEMAND, margins={"dvdt": 0.9}))


def test_no_x2_capacitor_is_made_for_600_volts():
    """Beyond the classes of X2 voltage the supply is refused (IEC 60384-14 classes, practice)."""
    with pytest.raises(InputError, match=r"supply\.voltage: .*No X2 capacitor is made for this voltage"):
        snubber._x2_rating(replace(DEMAND, supply_rms_high=600.0))
