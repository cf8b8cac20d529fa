"""The chopper's parts together: they hang on each other, and each holds what the others make of it."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest

from designer.checks import check
from designer.errors import InputError
from designer.parts import stray_clamp, transistor
from designer.parts.commutation import State
from designer.project import loads
from designer.project.model import Project
from designer.studies.chopper_control import chopping_of, drops
from designer.studies.chopper_parts import EDGES, Chosen, Seen, choose
from designer.studies.facts import numbered
from designer.studies.sides import Names, side
from designer.waveforms.chopper import Loop
from designer.waveforms.cycle_limit import limited

# scenario S4, 1500 rpm at 1.0 N·m on 253 V mains, and a 48 V vehicle while its battery is charged (derived)
LATHE = Seen(
    crest=358.0, state=State(bus=358.0, mean_current=0.68, rms_current=1.66, turn_on_current=3.97,
                             turn_off_current=4.13),
    stall=State(bus=358.0, mean_current=0.6, rms_current=2.2, turn_on_current=7.2, turn_off_current=7.3),
    stall_time=20.0, peak=4.2, diode=(3.37, 3.7), stalled_diode=(6.7, 6.9), on_time=9e-6, frequency=16e3,
    inductance=25e-3, resistance=2.45, opposing=2.0)
CART = replace(
    LATHE, crest=56.0, state=State(bus=56.0, mean_current=15.0, rms_current=18.0, turn_on_current=20.0,
                                   turn_off_current=22.0),
    stall=None, stall_time=0.0, stalled_diode=(0.0, 0.0), peak=24.0, diode=(8.0, 13.0), inductance=1e-3,
    resistance=0.1)


def lathe(limit: str = "", *, more: str = "") -> Project:
    """The example's project with a current limit of its own, or none."""
    text = files("designer").joinpath("examples", "lathe.toml").read_text(encoding="utf-8")
    text, changed = re.subn('^current_limit = .*$', f'current_limit = "{limit}"' if limit else "", text, flags=re.M)
    assert changed == 1
    return loads(text + more)


@pytest.fixture(scope="module")
def chosen() -> Chosen:
    """The lathe's parts."""
    return choose(LATHE, lathe())


@pytest.fixture(scope="module")
def cart() -> Chosen:
    """The vehicle's parts."""
    return choose(CART, lathe())


@pytest.mark.parametrize("which", ["chosen", "cart"])
def test_every_rating_holds(which: str, request: pytest.FixtureRequest) -> None:
    """Whatever is chosen passes all its checks, with the limit and the clamp that go with it."""
    made: Chosen = request.getfixturevalue(which)
    assert [(c.part, c.rating) for part in made.parts() for c in check(part) if c.verdict == "fail"] == []


def test_what_a_bus_of_325_v_takes(chosen: Chosen) -> None:
    """600 V transistor and ultrafast 600 V diode (common practice, no source)."""
    assert chosen.device["voltage"] == 600.0
    assert (chosen.diode.kind, chosen.diode["voltage"]) == ("ultrafast", 600.0)


def test_what_a_battery_takes(cart: Chosen) -> None:
    """100 V MOSFET and a Schottky diode; the edge is slowed, since stray inductance leaves little room."""
    assert (cart.device.kind, cart.device["voltage"]) == ("mosfet", 100.0)
    assert cart.diode.kind == "schottky"
    assert cart.demand.edge in EDGES[1:]
    assert cart.clamp.peak_voltage <= 80.0 * (1 + 1e-9)


@pytest.mark.parametrize("which", ["chosen", "cart"])
def test_demands_agree(which: str, request: pytest.FixtureRequest) -> None:
    """Limit, clamp and recovery that the parts were held to are those of the parts chosen."""
    made: Chosen = request.getfixturevalue(which)
    assert made.demand.peak_current == made.diode_demand.peak_current == made.limit.high
    assert made.demand.peak_voltage == made.clamp.peak_voltage
    assert made.demand.recovery == made.diode.recovery
    assert made.demand.edge == made.gate_demand.edge
    assert chopping_of(made, 16e3).current_limit == made.limit.high
    assert drops(made)["switch"].slope == made.device["slope_resistance"] + made.limit.shunt


def test_the_same_twice(chosen: Chosen) -> None:
    """The search ends where it began: the round of a design comes to rest."""
    assert choose(LATHE, lathe()).limit == chosen.limit


def test_no_class_that_holds_loses_less(chosen: Chosen) -> None:
    """The one taken has the least loss of all transistors that hold in its place (brute force)."""
    own = transistor.loss(chosen.device, demand=chosen.demand)
    for device in transistor.candidates(chosen.demand, given={}, margins={}):
        made = transistor.part(device, demand=chosen.demand, margins={})
        if all(c.verdict != "fail" for c in check(made)):
            assert transistor.loss(device, demand=chosen.demand) >= own * (1 - 1e-9)


def test_the_stall_is_held_as_the_march_says(chosen: Chosen) -> None:
    """The longest on-time that the limit's rating is held against is that of the stalled cycle (marched)."""
    one = np.ones(1)
    loop = Loop(
        on_voltage=one * (358.0 - 2.0 - chosen.device["threshold_voltage"]),
        off_voltage=-one * (2.0 + chosen.diode["threshold_voltage"]),
        on_resistance=one * (2.45 + chosen.device["slope_resistance"] + chosen.limit.shunt),
        off_resistance=one * (2.45 + chosen.diode["slope_resistance"]), inductance=25e-3 * one, period=one / 16e3,
        on_time=one / 16e3)
    held = limited(loop, limit=one * chosen.limit.high, shortest=one * chosen.limit.shortest)
    assert held.holds[0]
    assert chosen.limit_demand.stall_on_time == pytest.approx(float(held.longest[0]))
    assert held.peak[0] <= chosen.limit.high * (1 + 1e-9)


def test_a_winding_that_limits_by_itself_needs_no_shortest_on_time() -> None:
    """With 100 Ω in the loop the bus drives less than the limit: nothing to hold (derived)."""
    demand = choose(replace(LATHE, resistance=100.0), lathe()).limit_demand
    assert demand.stall_on_time == float("inf")


def test_own_devices_are_taken_as_they_are() -> None:
    """Datasheet values of the file stay, and their checks tell what fails."""
    more = ('[parts.switch]\nvoltage = "400 V"\ncurrent = "10 A"\non_resistance = "0.9 ohm"\n'
            '[parts.freewheel]\nvoltage = "600 V"\ncurrent = "15 A"\nrecovery_time = "35 ns"\n')
    made = choose(LATHE, lathe(more=more))
    assert made.device.name == "your MOSFET"
    assert made.diode["recovery_time"] == pytest.approx(35e-9)
    verdicts = {c.rating: c.verdict for c in check(made.parts()[0])}
    assert verdicts["repetitive peak voltage"] == "fail"


def test_the_files_limit() -> None:
    """A limit of the file is aimed at; one below the running peak is refused."""
    assert choose(LATHE, lathe("9 A")).limit.nominal == pytest.approx(9.0, rel=0.03)
    with pytest.raises(InputError, match=r"control\.current_limit: found '4\.2 A, which with its tolerance may act"):
        choose(LATHE, lathe("4.2 A"))


def test_an_own_transistor_without_room_for_a_clamp() -> None:
    """400 V on a bus of 358 V: taken as it is, without a clamp, and its check fails."""
    more = '[parts.switch]\nvoltage = "400 V"\ncurrent = "10 A"\non_resistance = "0.9 ohm"\n'
    (clamp,) = choose(LATHE, lathe(more=more)).clamp.parts
    assert clamp.description == "Clamp: none has room below the transistor's rating"
    assert [c.verdict for c in check(clamp)] == ["fail"]


def test_near_the_top_of_the_classes() -> None:
    """A bus of 600 V takes 1200 V transistors, and no class above is asked for."""
    made = choose(replace(LATHE, crest=600.0, state=replace(LATHE.state, bus=600.0), stall=None), lathe())
    assert made.device["voltage"] == 1200.0


def test_a_bus_that_nothing_blocks_is_refused() -> None:
    """Above the 1200 V class there is no part."""
    with pytest.raises(InputError, match=r"supply\.voltage: found "):
        choose(replace(LATHE, crest=900.0, state=replace(LATHE.state, bus=900.0)), lathe())


def test_every_part_is_wired(chosen: Chosen) -> None:
    """Each designator of the side stands in the wiring table."""
    parts = numbered(chosen.parts())
    rows = list(side("chopper").wires(Names(parts=parts), lathe(), {}))
    text = " ".join(part for row in rows for part in row)
    for part in parts:
        if part.count:
            assert all(name in text.replace(",", " ").split() for name in part.designator.split(", ")), part.designator


def test_clamp_is_wired_where_there_is_one(cart: Chosen) -> None:
    """Diode, capacitor and resistor of the clamp, or none of them."""
    roles = {part.role for part in cart.parts() if part.count}
    assert {"clamp-capacitor", "clamp-resistor", "clamp-diode"} <= roles
    rows = list(side("chopper").wires(Names(parts=numbered(cart.parts())), lathe(), {}))
    assert any("clamp" not in row[0] and "within a centimetre" in row[3] for row in rows)


def test_loop_inductance_is_the_one_assumed(cart: Chosen) -> None:
    """100 nH of commutation loop, told as an assumption (common practice, no source)."""
    worked = next(p for p in cart.clamp.parts if p.role == "clamp-capacitor").worked
    assert worked[0].inputs["L_st"] == stray_clamp.STRAY_INDUCTANCE == 100e-9


@pytest.mark.parametrize("seen", [
    replace(LATHE, peak=0.0), replace(LATHE, on_time=0.0), replace(LATHE, on_time=float("inf"))])
def test_nothing_to_choose_by_is_refused(seen: Seen) -> None:
    """A bus that collapses, or a load that needs no current, leaves nothing to choose parts by."""
    with pytest.raises(InputError, match=r"target\.speed: found 'a greatest current of .* allowed a point at which"):
        choose(seen, lathe())
