"""Braking by a resistor: the value holds the current, the body bears the pulse, the times are those of a march."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.equations import braking as eq
from designer.parts.braking import Demand, Shaft, choose, contact


def _shaft(**changes) -> Shaft:
    given = {"speed": 500.0, "flux": 0.2, "inertia": 1e-3, "brushes": 2.0, "path": 20.0,
             "opposing": lambda w: 0.02 + 1e-5 * w + 3e-8 * w * w}
    return Shaft(**(given | changes))


def _marched(shaft: Shaft, part: float) -> float:
    """Time (s) down to that part of the first speed, by solve_ivp in the time domain, written apart from the code."""
    def slope(_t, w):
        current = max(shaft.flux * w[0] - shaft.brushes, 0.0) / shaft.path
        return [-(shaft.flux * current + shaft.opposing(w[0])) / shaft.inertia]

    def there(_t, w):
        return w[0] - part * shaft.speed

    there.terminal = True
    found = solve_ivp(slope, (0.0, 1e4), [shaft.speed], events=there, rtol=1e-10, atol=1e-9, max_step=0.01)
    return float(found.t_events[0][0])


@pytest.mark.parametrize("part", [0.1, 0.0])
@pytest.mark.parametrize("path", [20.0, 100.0])
def test_time_is_that_of_a_march(part: float, path: float) -> None:
    """Constant, linear and square friction and the brushes' drop: quadrature over speed against solve_ivp."""
    shaft = _shaft(path=path)
    assert shaft.time_to(part * shaft.speed) == pytest.approx(_marched(shaft, part), rel=1e-5)


def test_run_down_without_is_longer_and_marched() -> None:
    """The same shaft with the armature open, against its closed form: arctan of a quadratic (derived)."""
    shaft = _shaft(opposing=lambda w: 0.02 + 3e-8 * w * w)
    root = math.sqrt(0.02 * 3e-8)
    assert shaft.opened().time_to(0.0) == pytest.approx(1e-3 / root * math.atan(root / 0.02 * 500.0), rel=1e-8)
    assert shaft.opened().time_to(0.0) > shaft.time_to(0.0)


def test_exponential_without_friction_never_ends() -> None:
    """No friction, no brushes: ω = ω₀·exp(−t/τ), so ln 10 · τ to a tenth, and no end (derived)."""
    shaft = _shaft(brushes=0.0, opposing=lambda w: np.zeros_like(w))
    tau = float(eq.BRAKING_TIME_CONSTANT(J_b=1e-3, R_a=5.0, R_br=15.0, k_b=0.2))
    assert shaft.time_to(50.0) == pytest.approx(math.log(10.0) * tau, rel=1e-9)
    assert math.isinf(shaft.time_to(0.0))
    assert math.isinf(shaft.opened().time_to(50.0))


def test_exponential_with_constant_torque() -> None:
    """Constant torque besides: t = τ·ln((ω₁ + ω_T)/(ω₂ + ω_T)), ω_T = T·R/k² (derived)."""
    shaft = _shaft(brushes=0.0, opposing=lambda w: 0.04 + 0.0 * w)
    tau, shift = 1e-3 * 20.0 / 0.2**2, 0.04 * 20.0 / 0.2**2
    assert shaft.time_to(0.0) == pytest.approx(tau * math.log((500.0 + shift) / shift), rel=1e-9)


def test_value_holds_the_current_at_its_lower_tolerance() -> None:
    """170 V, 6 A, 3 ohm: 25.3 ohm least, 28.1 with 10 % (derived); next of E12 is 33 ohm (IEC 60063)."""
    made = choose(Demand(voltage=170.0, allowed=6.0, armature=3.0, inertia=2e-3, speed=800.0), margins={})
    assert made.ohms == 33.0
    assert made.current.value == pytest.approx(170.0 / (3.0 + 29.7))
    assert made.current.value <= 6.0
    assert made.energy.value == pytest.approx(640.0)
    assert made.peak.value == pytest.approx((170.0 / 36.0) ** 2 * 33.0)
    assert made.mean is None


def test_pulse_is_as_hot_as_the_exponential() -> None:
    """Where E = k·ω the heat of the exponential over its first power is τ/2 (derived, and by quadrature)."""
    made = choose(Demand(voltage=170.0, allowed=6.0, armature=3.0, inertia=2e-3, speed=800.0), margins={})
    tau = 2e-3 * 36.0 / (170.0 / 800.0) ** 2
    assert made.pulse == pytest.approx(tau / 2)
    time = np.linspace(0.0, 20 * tau, 200001)
    power = (170.0 / 36.0 * np.exp(-time / tau)) ** 2 * 33.0
    assert np.trapezoid(power, time) == pytest.approx(made.pulse * made.peak.value, rel=1e-6)


def test_body_bears_two_stops_and_the_mean() -> None:
    """More stops an hour ask for a larger body; beyond the table there is none (common practice, no source)."""
    base = {"voltage": 170.0, "allowed": 6.0, "armature": 3.0, "inertia": 2e-3, "speed": 800.0}
    seldom, often, never = (choose(Demand(**base, stops=stops), margins={}) for stops in (6.0, 900.0, 3600.0))
    assert seldom.body is not None
    assert often.body is not None
    assert often.mean is not None
    assert often.mean.value == pytest.approx(160.0)
    assert often.body.power >= seldom.body.power
    assert never.body is None


def test_no_resistor_where_the_armature_is_enough() -> None:
    """A shorted armature that draws less than the limit asks for none, and has no body (derived)."""
    made = choose(Demand(voltage=20.0, allowed=6.0, armature=4.0, inertia=1e-4, speed=300.0), margins={})
    assert (made.ohms, made.body, made.peak.value) == (0.0, None, 0.0)
    assert made.current.value == pytest.approx(5.0)


def test_contact_by_what_it_makes_breaks_and_stands() -> None:
    """5.2 A, 12 ms, 170 V: DC-5 (15 ms) at 220 V; 30 V of a relay or 1 ms of a sealed one do not (from memory)."""
    demand = Demand(voltage=170.0, allowed=6.0, armature=3.0, inertia=2e-3, speed=800.0)
    made = contact(choose(demand, margins={}), demand, inductance=0.39, gap=175.0, margins={})
    assert made.row is not None
    assert (made.row.category, made.row.direct_voltage) == ("DC-5", 220.0)
    assert made.decay.value == pytest.approx(0.39 / 32.7)
    high = contact(choose(demand, margins={}), demand, inductance=0.39, gap=358.0, margins={})
    assert high.row is not None
    assert high.row.direct_voltage == 440.0         # open it stands the bus, whatever the speed voltage is


@pytest.mark.parametrize(("inductance", "gap"), [(0.6, 175.0), (0.3, 700.0)])
def test_no_contact_beyond_the_table(inductance: float, gap: float) -> None:
    """18 ms passes every category, 700 V every voltage: none is given rather than one that does not hold."""
    demand = Demand(voltage=170.0, allowed=6.0, armature=3.0, inertia=2e-3, speed=800.0)
    made = contact(choose(demand, margins={}), demand, inductance=inductance, gap=gap, margins={})
    assert made.row is None
    assert made.ratings == ()
