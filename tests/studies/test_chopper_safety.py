"""What a chopper's sheet owes the person at the bench: tries, wires, faults and refusals with their figures."""

from __future__ import annotations

from dataclasses import replace

import pytest

from designer.studies.chopper_bench import first_power
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
