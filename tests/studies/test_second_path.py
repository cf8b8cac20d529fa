"""The second switch-off path of whole designs: where it stands, what it breaks, how it is wired, what fails with it.

Sources: a trip that does not depend on the controlled switch, latching, no restart (safe practice, common practice, no
source); speed after the mains is off against an independent march by scipy of the rotor on torques solved afresh.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.checks import check
from designer.project import loads
from designer.project.kinds import CIRCUIT_KINDS
from designer.results import Design
from designer.sheet.diagrams import diagram
from designer.sheet.facts import kind_of
from designer.sheet.pictures import labels, said
from designer.studies import design as studies_design
from designer.studies.design import design
from designer.studies.sides.second_path import speed_at_opening, with_second_path
from designer.studies.survey import speed_limit
from tests.studies import cases

#: example -> speed of the trip, changes
TRIPPED: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "fan-fixed": ("12000 rpm", ()), "coil-winder": ("14000 rpm", ()),
    "buffing-spindle": ("14000 rpm", ()), "extractor": ("11000 rpm", ()), "lathe": ("17000 rpm", ()),
    "garden-cart": ("4000 rpm", ()), "platform-cart": ("4000 rpm", ()), "two-chopper-cart": ("4000 rpm", ()),
    "aisle-fan": ("5000 rpm", ())}
ON_MAINS = ("fan-fixed", "coil-winder", "buffing-spindle", "extractor", "lathe")
IN_THE_LEAD = ("garden-cart",)
TAPPED = ("platform-cart", "two-chopper-cart")
ROLES = ("second-path-relay", "armature-contactor")


def text(name: str, *pairs: tuple[str, str], time: str = "90 ms") -> str:
    """An example with an overspeed trip."""
    speed, own = TRIPPED[name]
    told = cases.text_of(name, *own, *pairs)
    trip = f'[protection]\noverspeed_trip = "{speed}"\ntrip_time = "{time}"\n'
    return told.replace("[protection]\n", trip) if "[protection]\n" in told else f"{told}\n{trip}"


@cache
def built(name: str, *pairs: tuple[str, str], time: str = "90 ms") -> Design:
    """The design of it."""
    return design(loads(text(name, *pairs, time=time)))


def of(made: Design) -> dict[str, str]:
    """Role -> designator."""
    return {part.role: part.designator for part in made.parts}


def contact(made: Design):
    """The one part that switches the motor off."""
    (part,) = [part for part in made.parts if part.role in ROLES]
    return part


def stress(part, name: str) -> float:
    """What a rating of a part meets."""
    return next(rating.stress.value for rating in part.ratings if rating.name == name)


@pytest.mark.parametrize("name", sorted(TRIPPED))
def test_every_circuit_with_a_trip_has_one_contact_that_holds(name: str) -> None:
    """One part, every rating held; its time to current off is told, and no less than half a period or the arc."""
    made = built(name)
    assert made.ready, [reason.message for reason in made.reasons]
    part = contact(made)
    assert {c.verdict for c in check(part)} == {"pass"}
    takes = made.headline["second_path_opening"].value
    assert 0.01 < takes <= 0.09
    assert (part.role == "second-path-relay") == (name in ON_MAINS)
    assert {"armature-stop", "armature-start"} <= set(of(made))


@pytest.mark.parametrize("name", [*ON_MAINS, *IN_THE_LEAD, *TAPPED])
def test_it_breaks_the_stall_of_a_shorted_switch(name: str) -> None:
    """No less than any fault row's stall with the switch shorted or fully on (the stalls told by the sheet itself)."""
    made, part = built(name), contact(built(name))
    rows = [case.figures for case in made.faults if case.fault == "stall"]
    key = "line current, r.m.s." if name in ON_MAINS else "armature current, r.m.s."
    broken = stress(part, "current broken, switch shorted" if name in ON_MAINS else "current broken at a stall")
    assert broken >= max(row[key].value for row in rows) * (1 - 1e-9)


def test_a_shorted_battery_chopper_is_ohms_law() -> None:
    """Highest battery over the cold armature, brush drop off: what the contact makes and breaks (derived)."""
    made, part = built("garden-cart"), contact(built("garden-cart"))
    motor, supply = made.project.motor, made.project.supply
    assert motor.armature_resistance is not None
    bound = supply.highest_voltage / (0.7 * motor.armature_resistance)      # cold copper, no drop: never more
    assert 0.3 * bound < stress(part, "current broken at a stall") < bound


@pytest.mark.parametrize("name", ON_MAINS)
def test_the_rails_are_reached_over_both_poles_alone(name: str) -> None:
    """Nothing leads to line or neutral rail but the contact's own poles, which the fuse and the switch feed."""
    made, k = built(name), of(built(name))["second-path-relay"]
    for pole, rail in ((1, "line rail"), (2, "neutral rail")):
        ahead = ("plug", "S1", of(made)["fuse"], "thermal switch", k)
        assert [wire.start for wire in made.wiring if wire.end == rail and wire.start.startswith(ahead)] == [
            f"{k}, pole {pole}, out"]
        assert sum(wire.end == f"{k}, pole {pole}, in" for wire in made.wiring) == 2 - (pole == 1)


@pytest.mark.parametrize("name", [*IN_THE_LEAD, *TAPPED])
def test_in_the_lead_nothing_goes_round_it(name: str) -> None:
    """The armature's first brush is fed by the contactor alone."""
    made, k = built(name), of(built(name))["armature-contactor"]
    assert [wire.start for wire in made.wiring if wire.end == "armature, first brush"] == [f"{k}, out"]


@pytest.mark.parametrize("name", [*ON_MAINS, *IN_THE_LEAD, *TAPPED])
def test_the_coil_runs_over_stop_trip_and_start(name: str) -> None:
    """From the supply to the coil: every stopping contact in series, and only the start button is bridged."""
    made, roles = built(name), of(built(name))
    k = contact(made).designator
    ways = {wire.start: wire.end for wire in made.wiring
            if not wire.end.endswith("auxiliary contact") and "gate enable" not in wire.start}
    at, path = f"{roles['armature-stop']}, first contact, other end", []
    while at in ways:
        path.append(ways[at])
        at = {f"{roles['armature-start']}, one end": f"{roles['armature-start']}, other end",
              f"{k}, coil": f"{k}, coil, other end"}.get(ways[at], f"{ways[at]}, other end")
    assert "overspeed trip, opening contact" in path
    assert ("thermal contact of the motor" in path) == ('breaks = "contactor-coil"' in cases.text_of(name))
    assert any("field-relay" in roles and step.startswith(roles["field-relay"]) for step in path) == (
        "field-relay" in roles)
    assert f"{k}, coil" in path
    latch = [wire for wire in made.wiring if wire.end == f"{k}, first auxiliary contact"]
    assert [wire.start for wire in latch] == [f"{roles['armature-start']}, one end"]
    assert not any("coil of S1" in wire.end for wire in made.wiring)


def test_the_fed_end_of_the_coil_lies_ahead_of_the_contact() -> None:
    """A coil behind its own contact could never pull in; one behind the main switch drops out with the supply."""
    for name in (*ON_MAINS, *IN_THE_LEAD, *TAPPED):
        made, roles = built(name), of(built(name))
        fed = next(wire.start for wire in made.wiring if wire.end == f"{roles['armature-stop']}, first contact")
        k = contact(made).designator
        assert fed in (f"{k}, pole 1, in", f"{roles['main-switch']}, out")


def test_a_starters_contactor_is_the_second_path() -> None:
    """No second one: the trip opens the contactor that is there, and its time is told."""
    made = built("aisle-fan")
    chain = next(wire for wire in made.wiring if wire.end.startswith(f"{of(made)['armature-stop']}, "))
    assert "overspeed trip, opening contact" in chain.end
    assert made.headline["second_path_opening"].value > 1.5 * 0.03


@pytest.mark.parametrize("name", ["aisle-fan", "platform-cart"])
def test_a_trip_quicker_than_anothers_contactor_is_refused(name: str) -> None:
    """trip_time is to current off, so it is no shorter than the contactor alone takes."""
    made = built(name, time="20 ms")
    told = next(reason for reason in made.reasons if reason.code == "trip-too-quick")
    assert told.figure.value == pytest.approx(0.02)
    assert told.limit == made.headline["second_path_opening"]


@pytest.mark.parametrize("name", ["fan-fixed", "garden-cart"])
def test_a_trip_quicker_than_its_own_contact_is_refused(name: str) -> None:
    """The check of the part itself fails, with what to state instead."""
    made = built(name, time="20 ms")
    assert any("time until the current is off" in reason.message and "protection.trip_time of" in reason.way_out
               for reason in made.reasons)


def test_a_light_rotor_moves_it_behind_the_reservoir() -> None:
    """The reservoir's energy is a rotor's own at its limit: half of C·V² over J decides where the contact stands."""
    heavy, light = built("lathe"), built("lathe", ('inertia = "5 kg*cm**2"', 'inertia = "1.2 kg*cm**2"'))
    assert contact(heavy).role == "second-path-relay"
    assert contact(light).role == "armature-contactor"
    assert "would leave the bus's energy to the motor" in " ".join(contact(light).notes)
    assert stress(contact(light), "time constant of what it breaks") <= 15e-3       # IEC 60947-4-1 DC-5, from memory


def test_the_energy_bound_of_the_lathe() -> None:
    """√(ω² + C·V²/J) from the file's own figures: at the trip's speed or above, below the limit (derived)."""
    made, part = built("lathe"), contact(built("lathe"))
    bank = next(one for one in made.parts if one.role == "reservoir")
    assert bank.value is not None
    crest = math.sqrt(2.0) * made.project.supply.highest_voltage
    farads = 1.2 * bank.value.value * bank.count
    trip, inertia = made.project.protection.overspeed_trip, made.project.motor.inertia
    least = math.sqrt(trip**2 + farads * crest**2 / inertia)
    told = stress(part, "speed from the reservoir's energy")
    assert least * (1 - 1e-3) <= told <= speed_limit(made.project)


def test_the_speed_at_opening_against_a_march(monkeypatch: pytest.MonkeyPatch) -> None:
    """J·dω/dt = T(ω) from the trip's speed, T solved on a grid and marched by scipy: never faster than told."""
    surveys = []
    real = studies_design.survey
    monkeypatch.setattr(studies_design, "survey", lambda *a, **k: surveys.append(real(*a, **k)) or surveys[-1])
    project = loads(text("fan-fixed"))
    design(project)
    found = surveys[-1]
    told = speed_at_opening(found, project)
    trip, acts = project.protection.overspeed_trip, project.protection.trip_time
    fastest = trip
    for case in found.unloaded:
        grid = np.linspace(trip, 1.2 * speed_limit(project), 60)
        many = case.points[np.zeros(len(grid), int)].at(speed=grid)
        solved = found.circuit.solve(case.fixed, many)
        torque = (solved.torque - solved.iron_torque
                  - many.friction * case.fixed.motor.friction(grid))
        run = solve_ivp(lambda _, w, t=torque, g=grid: np.interp(w, g, t) / project.motor.inertia, (0.0, acts), [trip],
                        rtol=1e-8, max_step=acts / 50)
        fastest = max(fastest, float(run.y[0, -1]))
    assert fastest * (1 - 1e-4) <= told <= max(fastest * 1.1, trip)


@pytest.mark.parametrize("name", ["fan-fixed", "garden-cart"])
def test_its_faults_are_told(name: str) -> None:
    """Welded: with the speed that then follows; the start button stuck: with the current at rest."""
    kinds = {case.fault: case for case in built(name).faults}
    assert any(key.startswith("speed, ") for key in kinds["second-path-welded"].figures)
    assert kinds["start-stuck"].figures


@pytest.mark.parametrize("name", ["fan-fixed", "lathe", "garden-cart"])
def test_it_is_drawn(name: str) -> None:
    """Its designator and rating stand in the diagram."""
    made = built(name)
    drawn = diagram(kind_of(made), labels(made.parts) | said(made))
    shown = labels(made.parts)[contact(made).role]
    assert all(word in drawn for word in shown.split("\n"))


def test_without_a_trip_nothing_changes() -> None:
    """No trip and no loop: no such side; a supply by itself never has one."""
    kind = CIRCUIT_KINDS["triac-series"]
    assert with_second_path(kind, cases.project("fan-fixed")) is kind
    assert with_second_path(kind, loads(text("fan-fixed"))).sides[-1] == "second-path"
    assert "second-path-relay" not in {part.role for part in design(cases.project("fan-fixed")).parts}


def test_own_contact_is_held_against_it() -> None:
    """[parts.second_path_relay]: a datasheet's figures against the stresses; one that breaks too little fails."""
    own = '\n[parts.second_path_relay]\ncurrent = "16 A"\nbreaking_current = "10 A"\nrelease_time = "35 ms"\n'
    made = design(loads(text("fan-fixed") + own))
    told = [reason.message for reason in made.reasons if reason.code == "own-part"]
    assert len(told) == 1
    assert "breaking_current" in told[0]
