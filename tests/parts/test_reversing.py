"""Reversing: one swap turns the torque, the current where it is done while turning, contacts and interlock."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest
from scipy.integrate import solve_ivp

from designer.checks import check
from designer.equations.formula import Formula
from designer.errors import InputError
from designer.motor.model import motor_model
from designer.parts import reversing as rv
from designer.results import Step
from designer.studies.sides import Names
from designer.studies.sides.reversing import SIDE
from tests.reference import Curve

POINTS = [(0.0, 0.004), (1.0, 0.095385), (2.0, 0.1624), (4.0, 0.254105), (8.0, 0.356)]
MOTOR = motor_model(SimpleNamespace(**{
    "speed_constant_at": None, "flux_curve": POINTS, "saturating_inductance": False, "field_leakage_inductance": None,
    "armature_resistance": 2.45, "field_resistance": 1.95, "armature_inductance": 25e-3, "field_inductance": 44e-3,
    "remanence": "keep", "brush_drop": 2.0, "winding_temperature": 21.0, "friction_torque": 0.025,
    "viscous_friction": 0.0, "windage": 0.0, "inertia": 5e-4, "hysteresis_torque": None,
    "eddy_torque_coefficient": None, "flux_reference": None}), alternating=False)
COLD = (2.45, 1.95)


def demand(**changes):
    """Contacts of the lathe."""
    given = {"running": 4.9, "stalled": 7.6, "nominal": 230.0, "mains": True, "run_down": 24.0,
             "plugging": rv.plugged(MOTOR, voltage=325.0, speed=157.0, field=4.0, cold=COLD)}
    return rv.Demand(**{**given, **changes})


def test_exactly_one_swap_turns_the_torque():
    """sgn(T) = sgn(k)·sgn(i_a): armature or field, not both (derived)."""
    assert rv.torque_sign(rv.FORWARD) == 1
    assert rv.torque_sign(rv.REVERSE) == -1
    assert rv.torque_sign(rv.FORWARD, field_swapped=True) == -1
    assert rv.torque_sign(rv.REVERSE, field_swapped=True) == 1
    assert (rv.FORWARD.plus, rv.FORWARD.minus) == (rv.REVERSE.minus, rv.REVERSE.plus)


def test_plugging_a_separate_motor():
    """(V + E − V_b)/R with E = k·ω (derived): 325 V and 0.2541·157 V behind 2.45 Ω."""
    step = rv.plugged(MOTOR, voltage=325.0, speed=157.0, field=4.0, cold=COLD)
    assert step.value == pytest.approx((325.0 + 0.254105 * 157.0 - 2.0) / 2.45, rel=1e-6)
    free = rv.plugged(MOTOR, voltage=0.0, speed=157.0, field=4.0, cold=COLD)
    assert free.value == pytest.approx((0.254105 * 157.0 - 2.0) / 2.45, rel=1e-6)


@pytest.mark.parametrize(("voltage", "speed"), [(325.0, 50.0), (30.0, 10.0), (0.0, 200.0)])
def test_plugging_a_series_motor_excites_itself(voltage, speed):
    """L·di/dt = V − V_b + k(i)·ω − R·i run to its end (scipy solve_ivp) from the current that flowed, 8 A: to 1e-4.

    Without supply too: 200 rad/s are enough for it to hold its own field through the freewheel path.
    """
    curve = Curve(POINTS)
    run = solve_ivp(lambda t, i: [(voltage - 2.0 + (curve.g(i[0]) + 0.004) * speed - 4.4 * i[0]) / 0.07],
                    (0, 30), [8.0], rtol=1e-9, atol=1e-9, method="LSODA")
    step = rv.plugged(MOTOR, voltage=voltage, speed=speed, field=None, cold=COLD)
    assert step.value == pytest.approx(float(run.y[0, -1]), rel=1e-4)


def test_no_current_where_nothing_drives_one():
    """At rest without supply the brushes' drop is not passed."""
    assert rv.plugged(MOTOR, voltage=0.0, speed=0.0, field=None, cold=COLD).value == 0.0
    assert rv.plugged(MOTOR, voltage=0.0, speed=1.0, field=0.5, cold=COLD).value == 0.0


def test_the_changeover_carries_and_never_breaks():
    """8 A contacts for 4.9 A (80 % rule) and a stall of 7.6 A; what it may break is told as little."""
    part = rv.choose(demand(), margins={})
    assert part.marking == "2 changeover 8 A 250 V~"
    assert {c.verdict for c in check(part)} == {"pass"}
    told = " ".join(part.notes)
    assert "breaks 30 V direct at most" in told
    assert "stays across the field" in told
    assert "36 s" in told        # 1.5 × 24 s (common practice, no source)
    assert rv.timer(24.0) == 36.0


def test_an_unknown_run_down_asks_for_a_speed_relay():
    """No inertia: a timer would be a guess."""
    told = rv.interlock(math.inf)
    assert told.startswith("A zero-speed relay")
    assert "timer" not in told


def test_brushes_off_the_neutral_are_told():
    """As read, or as a thing to look for."""
    assert "as read" in rv.shift(True)
    assert "compare the speeds both ways" in rv.shift(False)


def test_what_no_contact_carries_is_refused():
    """90 A: the figure and the largest contact, 80 % of 100 A."""
    with pytest.raises(InputError, match=r"circuit\.reversing: found 'carried current 90 A', allowed at most 80 A"):
        rv.choose(demand(running=90.0), margins={})


@pytest.mark.parametrize(("running", "marking"), [
    (24.1, "2 interlocked contactors 40 A 250 V~"), (32.1, "2 interlocked contactors 63 A 250 V~"),
    (60.0, "2 interlocked contactors 80 A 250 V~"), (80.0, "2 interlocked contactors 100 A 250 V~")])
def test_above_relays_two_interlocked_contactors(running, marking):
    """80 % of 40, 63, 80, 100 A (80 % rule, common practice, no source): no contactor changes over by itself."""
    part = rv.choose(demand(running=running, stalled=running), margins={})
    assert part.marking == marking
    assert "interlocked mechanically" in part.description


def test_the_step_is_a_formula():
    """Printed as a worked line."""
    step = demand().plugging
    assert isinstance(step, Step)
    assert isinstance(step.formula, Formula)


def test_the_armatures_freewheel_diode_stays_on_the_circuits_side():
    """Derived: across the armature itself it stands with its cathode on minus in reverse, and shorts the supply."""
    notes = " ".join(rv.choose(demand(), margins={}).notes)
    assert "stays on the circuit's side of this changeover" in notes
    assert "A field's discharge diode stays across the field" in notes


def test_an_interlocked_pair_is_wired_as_two():
    """Forward by the one, reverse by the other, each coil over the other's opening contact (safe practice)."""
    part = rv.choose(demand(running=40.0, stalled=60.0), margins={})
    project = SimpleNamespace(supply=SimpleNamespace(is_mains=True))
    rows = list(SIDE.wires(Names(parts=(part,)), project, {}))
    assert [row[0].rsplit(", ", 1)[1] for row in rows[:4]] == 2 * ["forward contactor"] + 2 * ["reverse contactor"]
    assert "each over the other's opening auxiliary contact" in rows[-1][3]
    single = list(SIDE.wires(Names(parts=(rv.choose(demand(), margins={}),)), project, {}))
    assert [row[0].rsplit(", ", 1)[1] for row in single[:4]] == 2 * ["at rest"] + 2 * ["pulled in"]
    assert [row[1] for row in rows[:4]] == [row[1] for row in single[:4]]
