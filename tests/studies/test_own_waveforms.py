"""The user's parts that shape the waveforms: the point is solved again with them, and tables of other circuits refused.

Sources: a march by scipy's ``solve_ivp`` (``test_choke_choice.March``); Ohm's law; the limits of IEC 61000-3-2.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.case import Choke
from designer.errors import InputErrors
from designer.parts import line_choke
from designer.studies.check import check
from designer.studies.design import design
from designer.studies.feeds import feed_of
from designer.studies.supply_only import solve_supply
from tests.studies import cases
from tests.studies.test_choke_choice import NAME, March

CHOKE = '\n[parts.line_choke]\ninductance = "{}"\nresistance = "1 ohm"\ncurrent = "{}"\nsaturation_current = "8 A"\n'
RESERVOIR = '\n[parts.reservoir]\ncapacitance = "470 uF"\nseries_resistance = "0.5 ohm"\nvoltage = "500 V"\n'
NTC = '\n[parts.inrush_limiter]\nresistance = "10 ohm"\nhot_resistance = "{}"\n'


@pytest.fixture(scope="module")
def own():
    """The supply checked with a choke of 22 mH, 1 Ω, 4 A."""
    return check(cases.project(NAME, more=CHOKE.format("22 mH", "4 A")))


def row(found, key):
    """One row of a check."""
    return next(one for one in found.own.rows if one.key == key)


def test_the_point_is_solved_with_the_users_choke(own) -> None:
    """The line's harmonics of the checked point are those of a march (solve_ivp) through 22 mH and 1 Ω."""
    project = own.project
    point = own.made.operating_point
    reservoir = next(p for p in own.made.parts if p.role == "reservoir").value
    assert reservoir is not None
    supply = project.supply
    feed = replace(feed_of(cases.project(NAME, more=CHOKE.format("22 mH", "4 A") + RESERVOIR)))
    assert feed.choke == Choke(inductance=22e-3, resistance=1.0)
    again = solve_supply(cases.project(NAME, more=CHOKE.format("22 mH", "4 A") + RESERVOIR))
    marched = March(feed, volts=supply.voltage, hertz=supply.frequency, load=project.load.current).settled()
    assert again["line_current_rms"] == pytest.approx(float(np.sqrt(np.sum(marched**2))), rel=2e-3)
    bare = solve_supply(cases.project(NAME, more=RESERVOIR))
    assert point["line_current_rms"] < 0.8 * bare["line_current_rms"]
    assert point["line_current_rms"] == pytest.approx(again["line_current_rms"], rel=0.02)   # its own bank and diodes


def test_its_copper_is_in_the_balance(own) -> None:
    """(R_source + 1 Ω)·I² is what stands before the bridge (Ohm's law); the part in the list is the user's."""
    point, choke = own.made.operating_point, next(p for p in own.made.parts if p.role == "line-choke")
    ohms = own.project.supply.source_resistance + 1.0
    assert point["source_loss"] == pytest.approx(ohms * point["line_current_rms"] ** 2, rel=1e-9)
    assert (choke.value.value, choke.marking) == (22e-3, "22 mH 4 A")
    assert own.sound


def test_its_rows_are_held_against_the_waveform_with_it(own) -> None:
    """Rated current and saturation are the user's; the stress is that with the choke, less than with the one chosen."""
    chosen = design(cases.project(NAME))
    told = {rating.name: rating.stress.value
            for part in chosen.parts if part.role == "line-choke" for rating in part.ratings}
    for key, limit, name in (("current", 4.0, "r.m.s. current"), ("saturation_current", 8.0,
                                                                  "peak against saturation")):
        held = row(own, key)
        assert held.limit.value == limit
        assert held.stress.value < told[name]
    assert row(own, "inductance").verdict == "pass"


def test_too_small_a_choke_fails_with_the_one_that_does() -> None:
    """0.5 mH lets some order pass class A: the row fails, the design is not ready, the next choice is named."""
    found = check(cases.project(NAME, more=CHOKE.format("0.5 mH", "4 A")))
    held = row(found, "inductance")
    assert held.verdict == "fail"
    assert held.stress.value > held.limit.value
    assert held.remedy == "Take one of 2.2 mH."
    assert not found.sound
    assert any("harmonic" in reason.message for reason in found.reasons)


def test_too_small_a_rated_current_fails() -> None:
    """0.5 A against what it carries; the limit is the user's, not the listed class's."""
    held = row(check(cases.project(NAME, more=CHOKE.format("22 mH", "0.5 A"))), "current")
    assert (held.verdict, held.limit.value) == ("fail", 0.5)


def test_what_the_file_leaves_out_is_a_listed_chokes() -> None:
    """Inductance alone: resistance by the class next to it; its rated current is not known, never passed."""
    made = line_choke.own_row(3e-3, resistance=None, current=1.2, saturation=None)
    near = next(one for one in line_choke.rows() if one.current == 1.6 and one.has(3.3e-3))
    assert (made.current, made.saturation, made.time_constant) == (1.2, near.saturation, near.time_constant)
    largest = line_choke.own_row(10e-3, resistance=2.0, current=None, saturation=None)
    assert largest.time_constant == pytest.approx(5e-3, rel=1e-12)     # 10 mH / 2 Ω
    assert largest.current == max(one.current for one in line_choke.rows() if one.has(10e-3))


def test_a_hot_ntc_stands_in_the_line() -> None:
    """2 Ω in the line while running: the march with 2 Ω more in its loop tells the same current (solve_ivp)."""
    text = RESERVOIR + NTC.format("2 ohm")
    point, project = solve_supply(cases.project(NAME, more=text)), cases.project(NAME, more=text)
    feed = feed_of(project)
    assert feed.limiter == 2.0
    loop = March(feed, volts=project.supply.voltage, hertz=project.supply.frequency, load=project.load.current)
    loop.r += 2.0
    marched = loop.settled()
    assert point["line_current_rms"] == pytest.approx(float(np.sqrt(np.sum(marched**2))), rel=2e-3)
    without = solve_supply(cases.project(NAME, more=RESERVOIR))
    assert point["bus_voltage_mean"] < without["bus_voltage_mean"]


def test_the_users_ntc_is_taken_as_it_is() -> None:
    """A motor's bus designed with an NTC of 12 Ω hot: it is the part, its hot peak is (√2·253 V)/(R_hot + R_source)."""
    found = check(cases.project(NAME, more=NTC.format("12 ohm").replace("10 ohm", "47 ohm")))
    part = next(p for p in found.made.parts if p.role == "inrush-limiter")
    hot = row(found, "hot_resistance")
    source = found.project.supply
    ohms = 12.0 + 1.1 * source.voltage / source.fault_current
    assert part.description == "NTC inrush limiter of your file"
    assert hot.stress.value == pytest.approx(2**0.5 * 1.1 * source.voltage / ohms, rel=1e-9)
    assert found.made.operating_point["source_loss"] == pytest.approx(
        (source.source_resistance + 12.0) * found.made.operating_point["line_current_rms"] ** 2, rel=1e-9)


def test_tables_of_another_circuit_are_refused_by_design_too() -> None:
    """A triac has no reservoir and no line choke: one message names both, and the tables that are taken."""
    with pytest.raises(InputErrors) as caught:
        design(cases.project("fan-fixed", more=CHOKE.format("22 mH", "4 A") + RESERVOIR))
    (fault,) = caught.value.faults
    told = str(fault)
    assert "[parts.reservoir], [parts.line_choke]: a part that this circuit, as designed, has not" in told
    assert "varistor" in told
    assert "switch" in told
    assert "Take the table out, or design the circuit that it belongs to." in told
