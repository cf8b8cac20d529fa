"""The armature's own contactor, where the field hangs behind the main switch.

Sources: the order "field proved before the armature closes, and off after it" is that of safe practice with
separately excited machines (common practice, no source); ratings of contactors from memory (tables/contactors.csv).
"""

from __future__ import annotations

from functools import cache

import pytest

from designer.checks import check
from designer.errors import InputError
from designer.parts.contactor import ArmatureDemand, choose_armature
from designer.project.kinds import CIRCUIT_KINDS
from designer.results import Design
from designer.studies.design import design
from designer.studies.sides.armature_contactor import tapped
from tests.studies import cases

DC = 'kind = "dc"\nvoltage = "12 V"'
RECTIFIED = 'kind = "transformer-rectifier"\nvoltage = "15 V"\npower = "60 W"'
LATHE = 'kind = "transformer-rectifier"\nvoltage = "12 V"\npower = "100 W"\ndrop = "1.6 V"'
REVERSED = 'bridge = "common-cathode"\nreversing = true'
ASKED = {
    "lathe": ((DC, LATHE),), "blower": ((DC, RECTIFIED),), "two-chopper-cart": (),
    "extractor": ((DC, RECTIFIED), ('bridge = "common-cathode"', REVERSED)),
}


@cache
def built(name: str) -> Design:
    """An example with its field behind the main switch."""
    return design(cases.project(name, *ASKED[name]))


def designators(made: Design) -> dict[str, str]:
    """Role -> designator."""
    return {part.role: part.designator for part in made.parts}


@pytest.mark.parametrize("name", sorted(ASKED))
def test_every_circuit_with_a_tapped_field_has_one(name: str) -> None:
    """Half-wave, bridge, chopper and two choppers: a contactor that carries, makes and breaks, every rating held."""
    made = built(name)
    assert made.ready, [reason.message for reason in made.reasons]
    part = next(part for part in made.parts if part.role == "armature-contactor")
    assert {c.verdict for c in check(part)} == {"pass"}
    stress = {rating.name: rating.stress.value for rating in part.ratings}
    stalled = made.headline["stall_current_armature"].value
    assert stress["current broken at a stall"] == pytest.approx(stalled, rel=1e-9)
    assert stress["current made at rest"] == stress["current broken at a stall"] >= stress["carried current"]
    # √2 × the highest mains, or the battery's highest voltage: what stands across an open contact (derived)
    supply = made.project.supply
    crest = supply.highest_voltage * (2**0.5 if supply.is_mains else 1.0)
    assert stress["d.c. voltage"] >= crest * (1 - 1e-12)
    assert {"armature-stop", "armature-start"} <= set(designators(made))


@pytest.mark.parametrize("name", sorted(ASKED))
def test_the_armature_is_reached_over_the_contactor_alone(name: str) -> None:
    """No conductor reaches the first brush but from the contactor, over the changeover where there is one."""
    made, of = built(name), designators(built(name))
    k, swap = of["armature-contactor"], of.get("reversing-contact")
    first = f"{swap}, pole 1, common" if swap else "armature, first brush"
    assert [wire.start for wire in made.wiring if wire.end == first] == [f"{k}, out"]
    assert sum(wire.end == f"{k}, in" for wire in made.wiring) == 1
    starts = [wire.start for wire in made.wiring if wire.end.startswith("armature, ")]
    assert all(start.startswith((f"{k}, out", f"{swap}, pole")) for start in starts)


@pytest.mark.parametrize("name", sorted(ASKED))
def test_the_coil_runs_over_stop_field_relay_and_start(name: str) -> None:
    """From the supply to the coil in one chain; the holding contact bridges the start button, never the relay."""
    made, of = built(name), designators(built(name))
    ways = {wire.start: wire.end for wire in made.wiring if not wire.end.startswith(f"{of['armature-contactor']}, fir")}
    source = next(wire.start for wire in made.wiring if wire.end == f"{of['armature-stop']}, first contact")
    assert source in ("line rail", f"{of['main-switch']}, out")
    at, path = f"{of['armature-stop']}, first contact, other end", []
    while at in ways:
        path.append(ways[at])
        at = {f"{of['field-relay']}, first contact": f"{of['field-relay']}, first contact, other end",
              f"{of['armature-start']}, one end": f"{of['armature-start']}, other end",
              f"{of['armature-contactor']}, coil": f"{of['armature-contactor']}, coil, other end"}.get(ways[at], "")
    assert [step.split(",")[0] for step in path[:-1]] == [
        of["field-relay"], of["armature-start"], of["armature-contactor"]]
    assert path[-1] in ("neutral rail", "supply −")
    held = next(wire for wire in made.wiring if wire.end.endswith("first auxiliary contact"))
    assert held.start == f"{of['armature-start']}, one end"
    gate = next(wire for wire in made.wiring if wire.start == "logic, gate enable")
    assert all(f"{of[role]}, second" in gate.end for role in ("armature-stop", "field-relay", "armature-contactor"))


def test_the_freewheel_diode_stays_on_the_motors_side() -> None:
    """Opened under current, the contact leaves the armature its diode: it breaks the source alone."""
    made, of = built("extractor"), designators(built("extractor"))
    assert any(wire.start == f"{of['flyback-diode']}, cathode" and wire.end == f"{of['armature-contactor']}, out"
               for wire in made.wiring)


@pytest.mark.parametrize("name", sorted(ASKED))
def test_it_is_tried_before_the_motor_turns(name: str) -> None:
    """The step stands after the field's own and before any that drives the armature; order on and off is told."""
    made = built(name)
    titles = [step.title for step in made.first_power]
    at = titles.index("The armature waits for its field")
    assert at == titles.index("The field on its own supply") + 1
    assert all(step.unloaded_speed is None for step in made.first_power[:at + 1])
    order = made.texts["armature_order"]
    assert order.index("field comes on") < order.index("close the contactor") < order.index("Off: the stop button")
    assert any("Armature contactor welded" in case.name for case in made.faults)


def test_a_field_on_its_own_supply_needs_none() -> None:
    """It is on before the main switch, which the relay then holds; a series motor has no field apart."""
    assert not tapped(CIRCUIT_KINDS["chopper-armature"], cases.project("lathe"))
    assert not tapped(CIRCUIT_KINDS["triac-series"], cases.project("drill-press"))
    assert tapped(CIRCUIT_KINDS["dual-chopper"], cases.project("two-chopper-cart"))


def test_a_changeover_does_not_double_the_leads() -> None:
    """Each end of the armature is the end of one conductor a direction; nobody is told to swap leads by hand."""
    made = built("extractor")
    ends = [wire.end for wire in made.wiring if wire.end.startswith("armature, ")]
    assert sorted(ends) == sorted(2 * ["armature, first brush", "armature, second brush"])
    assert not any("to reverse" in wire.note for wire in made.wiring)


def test_beyond_the_table_it_is_refused() -> None:
    """No contactor above 450 V d.c. is listed (from memory)."""
    demand = ArmatureDemand(running=5.0, stalled=9.0, voltage=600.0, coil=400.0, mains=True, decay=0.01, wheel=True)
    with pytest.raises(InputError) as caught:
        choose_armature(demand, margins={})
    assert str(caught.value) == (
        "circuit.kind: found '9 A to break at 600 V direct in the armature', allowed up to 200 A at 450 V in the "
        "largest listed. A lower setting or current limit, or a field on a d.c. supply of its own, which is on before "
        "the main switch.")
