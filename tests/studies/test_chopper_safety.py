"""What a chopper's sheet owes the person at the bench: tries, wires, faults and refusals with their figures."""

from __future__ import annotations

from dataclasses import replace

import pytest

from designer.circuits import circuit
from designer.studies import chopper_control
from designer.studies import design as studies_design
from designer.studies.chopper_bench import first_power
from designer.studies.faults import faults
from designer.studies.solve import fixed_of
from designer.studies.stall import Stall
from tests.studies import cases


@pytest.fixture(scope="module")
def cart():
    """The garden cart on its battery: ready."""
    return cases.made("garden-cart")


def step(cart, title):
    """The step to first power whose title holds ``title``."""
    return next(one for one in cart.design.first_power if title in one.title)


def test_the_current_limit_is_not_tried_by_hand(cart):
    """At rest under its limit the motor has all its torque: 0.0902 V·s × 16.4 A × 18 × 0.88 at the wheels (derived)."""
    told = step(cart, "The power circuit").action
    assert "NEVER by hand (up to 23.5 N·m at the output)" in told
    assert "hold the shaft" not in told


def test_a_limit_that_the_bench_cannot_reach_is_tried_on_the_shunt(cart):
    """30 V drive (30 − 1.8)/0.42 = 67 A at most through the armature (derived): 80 A are tried on the shunt alone."""
    fixed = cart.found.fixed
    strong = replace(cart.found, fixed=replace(
        fixed, chopping=replace(fixed.chopping, current_limit=80.0)))
    told = first_power(strong, cart.project, cart.design.operating_point)
    action = next(one for one in told if "The power circuit" in one.title).action
    assert "80 A is not reached at 30 V" in action
    assert "across the shunt alone" in action


def test_no_lead_is_pulled_to_try_the_field_relay(cart):
    """A lead pulled at a winding that carries current bites (safety rules): the supply is switched off instead."""
    assert "pulled off" not in step(cart, "The field on its own supply").action
    relay = next(part for part in cart.design.parts if part.role == "field-relay")
    assert any("Never by pulling a lead at the winding" in note for note in relay.notes)


def test_the_motor_s_leads_carry_the_armature_s_current(cart):
    """A jam draws all of the limit in the armature (16.4 A), a fifth of it in the line: each has its own wire."""
    made = {part.role: part for part in cart.design.parts}
    held = cart.found.fixed.chopping.current_limit
    assert made["motor-wire"].ratings[0].stress.value == pytest.approx(held, rel=1e-3)
    assert made["motor-wire"].value.value > 4 * made["wire"].value.value
    assert made["field-wire"].ratings[0].stress.value == pytest.approx(5.369, rel=1e-3)   # 9.45 V, cold (derived)
    rows = {(row.start, row.end): row.conductor for row in cart.design.wiring}
    assert made["motor-wire"].marking in rows[("plus bus", "armature, first brush")]
    assert made["field-wire"].marking in rows[("field, second end", "field supply −")]


def test_a_field_left_on_at_rest_is_refused(cart):
    """4.1 A hot in 1.4 Ω burn at 6 K/W without the fan, and what takes the armature off leaves them on (derived)."""
    assert "field-at-rest" not in cases.refused(cart, cart.project)
    rest = replace(cart.found.thermal.surroundings.paths[1], standstill=1 / 6.0)
    thermal = replace(cart.found.thermal, surroundings=replace(
        cart.found.thermal.surroundings, paths=(cart.found.thermal.surroundings.paths[0], rest)))
    told = cases.refused(cart, cart.project, found=replace(cart.found, thermal=thermal))["field-at-rest"]
    assert told.figure.value > told.limit.value == pytest.approx(140.0)


def test_a_fixed_load_too_light_to_hold_a_motor_without_field():
    """On 1.5 × 2 mV·s of remanence 36 V drive it far past 4680 rpm where the wheels take next to nothing (derived)."""
    light = cases.project("garden-cart", ('torque = "4.5 N*m"', 'torque = "0.05 N*m"'),
                          ("field_loss_trip_time = \"20 ms\"\n", ""))
    told = studies_design.design(light)
    reason = next(reason for reason in told.reasons if reason.code == "field-loss")
    assert reason.message.startswith("Without field current, its fixed load on, the motor passes its speed limit")
    assert reason.figure.value > 2 * reason.limit.value
    names = [case.name for case in told.faults]
    assert "Field lost, load on: the load does not hold it, and it runs up on its remanence" in names


def test_a_fixed_load_that_holds_a_motor_without_field(cart):
    """4.5 N·m at the wheels are 0.28 N·m at the motor; 1.5 × 2 mV·s × 16.4 A give 0.05 N·m (derived): it stands."""
    lost = {case.name: case for case in cart.found.unloaded}
    assert lost["field lost, load on, at the setting"].speed == 0.0
    assert any(case.name == "Field lost, load on: it stops and draws its stall current" for case in cart.design.faults)


def test_the_first_guess_of_the_limit_counts_the_ripple():
    """Light load at 2 kHz: 358 V/(4·2 kHz·25 mH) = 1.79 A of ripple (derived) beside 0.13 A: it must not be cut."""
    light = cases.project("lathe", ("16 kHz", "2 kHz"), ('current_limit = "6.5 A"\n', ""),
                          ('torque = "1.0 N*m"', 'torque = "1 mN*m"'),
                          ('[[further_target]]\nspeed = "4000 rpm"\ntorque = "0.6 N*m"\n', ""),
                          ('[[further_target]]\nspeed = "8000 rpm"\ntorque = "0.3 N*m"\n', ""))
    fixed = chopper_control.prepared(circuit("chopper-armature"), fixed_of(light), light)
    assert fixed.chopping.current_limit == pytest.approx(2 * (1.79 + 0.13), rel=0.05)
    told = studies_design.design(light)
    assert "not-reachable" not in {reason.code for reason in told.reasons}
    shorted = next(case for case in told.faults if case.name.startswith("Stall, switch shorted")).figures
    # the small reservoir is sucked empty: 253 V on 2.344 Ω at 10 °C (derived: 2.45·(234.45 + 10)/(234.45 + 21))
    assert shorted["armature current, r.m.s."].value == pytest.approx(253 / 2.344, rel=0.01)
    assert shorted["line current, r.m.s."].value == pytest.approx(253 / 2.344, rel=0.01)


def test_a_stall_behind_a_shorted_transistor_is_the_fuse_s(cart):
    """90 A in 1.4 s: the thermal switch does not follow; 6 × (4 A)² / (90 A)² = 12 ms of the d.c. fuse do (derived)."""
    shorted = next(case for case in cart.design.faults if case.name.startswith("Stall, switch shorted"))
    assert shorted.ends_by == "the d.c. fuse"
    assert shorted.figures["d.c. fuse opens, at the latest"].value == pytest.approx(6 * 16 / 89.94**2, rel=0.01)
    held = next(case for case in cart.design.faults if case.name.startswith("Stall at the setting"))
    assert held.ends_by == "the thermal switch at 140 °C"
    assert not any("at the earliest" in name for name in held.figures)


@pytest.mark.parametrize("seconds, ends", [
    (20.0, "nothing in this design: the thermal switch at 140 °C does not follow so fast"),
    (float("inf"), "nothing: the windings stand it"), (None, "the thermal switch at 140 °C")])
def test_what_ends_a_stall(cart, seconds, ends):
    """No thermal switch follows a stall of less than 30 s (common practice, no source), or one that does not heat."""
    jam = Stall(name="a jam", line=2.0, rms=4.0, mean_absolute=3.0, peak=16.0, armature=16.0, torque=1.4,
                time=seconds, winding="armature", limit=190.0, step=None)
    told = faults(cart.found, cart.project, stalled=(jam,), link=None, sides=(), direct=cart.power.direct_link)
    assert told[0].ends_by == ends


def test_what_a_charging_resistor_takes_when_its_bypass_stays_open(cart):
    """42 V on 1.5 Ω with the bus short: 1.18 kW at 28 A (derived); the thermal fuse on it is what ends that."""
    told = next(case for case in cart.design.faults if case.name.startswith("Bypass does not close"))
    assert told.figures["heat in it, bus short"].value == pytest.approx(42**2 / 1.5)
    assert told.figures["current then"].value == pytest.approx(28.0)
    assert "thermal fuse" in told.ends_by


def test_the_lamp_step_ends_at_the_setting():
    """Behind the lamp the duty goes to the setting, not to the end of its range (safety rules)."""
    supply = studies_design.design(cases.project("lathe"))
    lamp = next(step for step in supply.first_power if "lamp" in step.title)
    assert "% at the most" in lamp.action


def test_resistors_that_burn_for_good_warm_the_box(cart):
    """The field's resistor gives 13.2 W (5.30 A cold, high supply) beside what sits on the heatsink (derived)."""
    resistor = next(part for part in cart.design.parts if part.role == "field-resistor")
    on_sink = sum(one.loss * one.count for side in cart.power.sides.values() for one in side.on_sink)
    assert cart.power.heat == pytest.approx(on_sink + resistor.ratings[0].stress.value)
    assert resistor.ratings[0].stress.value == pytest.approx(13.2, rel=0.01)


def test_a_fixed_load_counts_in_the_unsafe_field():
    """k·ω + R·T/k = V: 4.5 N·m at the wheels keep a cart of 160 rpm from 4680 rpm down to a weaker field (derived)."""
    quick = cases.project("garden-cart", ('speed = "140 rpm"', 'speed = "160 rpm"'))
    (reason,) = studies_design.design(quick).reasons
    assert "unsafe field below drop-out: 2.32 A" in reason.message      # 2.50 A by the speed voltage alone
