"""The contact of the second switch-off path: its ratings, and the time until the current is off.

Sources: IEC 60947-4-1, utilisation categories AC-3, DC-1, DC-3, DC-5 (from memory); the arc's time against an
integration of its equation by scipy, and against the closed form of its limits.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.checks import check
from designer.equations.second_path import DIRECT_ARC, SPEED_FROM_THE_BUS
from designer.errors import InputError
from designer.parts.contactor import ArmatureDemand, Row, choose_armature
from designer.parts.second_path import (
    LineDemand,
    LineRow,
    Suppressor,
    choose_direct,
    choose_line,
    direct_opening,
    line_opening,
    suppressor,
)
from designer.tables import read

MAINS = LineDemand(running=2.0, shorted=7.0, nominal=230.0, frequency=50.0)
DIRECT = ArmatureDemand(running=6.0, stalled=60.0, voltage=42.0, coil=36.0, mains=False, decay=8e-3, wheel=False)


def ratings(part):
    """Name -> rating."""
    return {rating.name: rating for rating in part.ratings}


@pytest.mark.parametrize(("shorted", "marking"), [
    (7.0, "8 A 250 V~, coil 230 V~"), (12.0, "12 A 250 V~, coil 230 V~"),
    (12.1, "9 A 400 V~, coil 230 V~"), (72.1, "12 A 400 V~, coil 230 V~")])
def test_a_shorted_switch_sizes_it(shorted: float, marking: str) -> None:
    """A relay breaks its own current, an AC-3 contactor 8 times its own and no more (IEC 60947-4-1, from memory)."""
    made = choose_line(replace(MAINS, shorted=shorted), margins={})
    assert made.part.marking == marking
    assert {c.verdict for c in check(made.part)} == {"pass"}


def test_carried_current_keeps_its_share() -> None:
    """80 % of the rated current for good (80 % rule, common practice, no source): 8 A do not do for 6.5 A."""
    assert choose_line(replace(MAINS, running=6.4), margins={}).part.marking.startswith("8 A")
    assert choose_line(replace(MAINS, running=6.5), margins={}).part.marking.startswith("12 A")


def test_the_charging_of_a_reservoir_is_made_too() -> None:
    """A relay makes its own current: a crest of √2 times that is the last; behind it the next one up (derived)."""
    assert choose_line(replace(MAINS, charging=11.3), margins={}).part.marking.startswith("8 A")
    made = choose_line(replace(MAINS, charging=30.0), margins={})
    assert made.part.marking.startswith("9 A 400 V")
    assert ratings(made.part)["crest made, reservoir empty"].limit.value == pytest.approx(math.sqrt(2) * 90.0)


def test_beyond_the_table_it_is_refused() -> None:
    """The largest listed is told, by what falls short of it."""
    with pytest.raises(InputError) as caught:
        choose_line(replace(MAINS, shorted=800.0), margins={})
    assert str(caught.value) == (
        "protection.overspeed_trip: found 'current broken, switch shorted 800 A', allowed at most 760 A in the largest "
        "contact listed. Less load, or a contactor outside this table: it must break the motor with the switch "
        "shorted.")


@pytest.mark.parametrize("frequency", [50.0, 60.0])
def test_an_alternating_arc_ends_at_the_next_zero(frequency: float) -> None:
    """Opened at any instant, |sin| has its next zero within half a period (searched on a fine grid)."""
    t = np.linspace(0.0, 1.0 / frequency, 20001)
    zeros = np.flatnonzero(np.diff(np.sign(np.sin(2 * np.pi * frequency * t + 1e-9)))) + 1
    longest = max(np.diff(np.concatenate(([0.0], t[zeros], [1.0 / frequency]))))
    step = line_opening(0.0101, frequency, "none")
    assert step.value - 0.0101 == pytest.approx(longest, rel=1e-3)


@pytest.mark.parametrize(("decay", "times"), [(1e-3, 1.5), (15e-3, 1.5), (8e-3, 3.0)])
def test_a_direct_arc_against_its_march(decay: float, times: float) -> None:
    """L·di/dt = V − R·i − m·V from V/R down to zero, marched by scipy (RK45), meets the closed form."""
    def slope(_, i):
        return [(1.0 - times - i[0]) / decay]           # i in V/R

    def zero(_, i):
        return i[0]

    zero.terminal = True
    run = solve_ivp(slope, (0.0, 10 * decay), [1.0], events=zero, rtol=1e-10, atol=1e-12)
    assert float(DIRECT_ARC(tau=decay, m_arc=times)) == pytest.approx(run.t_events[0][0], rel=1e-7)


def test_a_freewheel_diode_leaves_no_arc_of_the_motor() -> None:
    """With L/R = 0 nothing but the contact's own time is left; a longer L/R takes longer."""
    assert direct_opening(0.03, 0.0, "none").value == pytest.approx(0.03)
    assert direct_opening(0.03, 0.01, "none").value > direct_opening(0.03, 0.005, "none").value


def test_a_diode_at_the_coil_slows_it_most() -> None:
    """None, RC, varistor, diode with Zener, diode alone: each slower than the one before (from memory)."""
    order = [suppressor(kind).factor for kind in ("none", "rc", "varistor", "zener", "diode")]
    assert order == sorted(set(order))
    assert order[0] == 1.0
    assert line_opening(0.02, 50.0, "diode").value == pytest.approx(10 * 0.02 + 0.01)
    assert {row.supply for row in read("coil_suppressors", Suppressor)} == {"either", "alternating", "direct"}


def test_a_trip_that_is_said_to_be_quicker_than_the_contact_fails() -> None:
    """The file's trip_time is to current off: a contact that takes longer fails, and says what to state."""
    made = choose_line(replace(MAINS, acts=0.02), margins={})
    told = ratings(made.part)["time until the current is off"]
    assert told.stress.value == pytest.approx(1.5 * 0.010 + 0.010)
    assert [c.rating for c in check(made.part) if c.verdict == "fail"] == ["time until the current is off"]
    assert "protection.trip_time of 25 ms" in told.remedy
    held = choose_line(replace(MAINS, acts=0.03), margins={})
    assert {c.verdict for c in check(held.part)} == {"pass"}


def test_the_direct_contact_holds_the_time_constant() -> None:
    """8 ms: DC-5 (15 ms) does, DC-1 (1 ms) and DC-3 (2.5 ms) do not (IEC 60947-4-1, from memory)."""
    made = choose_direct(DIRECT, margins={}, why="why")
    held = ratings(made.part)
    assert held["time constant of what it breaks"].limit.value == 15e-3
    assert "DC-5" in made.part.description
    assert held["current broken at a stall"].limit.value == 64.0       # 4 × 16 A
    quick = replace(DIRECT, decay=2e-3, voltage=90.0, stalled=95.0, running=70.0)
    assert "DC-3" in choose_direct(quick, margins={}, why="").part.description


def test_a_time_constant_beyond_all_categories_fails_its_check() -> None:
    """20 ms: no category reaches it; the part is told with a failing rating and a way out, not taken in silence."""
    part, _ = choose_armature(replace(DIRECT, decay=20e-3), margins={})
    bad = [c for c in check(part) if c.verdict == "fail"]
    assert [c.rating for c in bad] == ["time constant of what it breaks"]
    assert "rated for this time constant" in bad[0].remedy


def test_behind_its_diode_no_time_constant_counts() -> None:
    """A freewheel diode on the motor's side takes the current over: the rating is not asked, nor its arc."""
    made = choose_direct(replace(DIRECT, wheel=True, decay=50e-3), margins={}, why="")
    assert "time constant of what it breaks" not in ratings(made.part)
    assert made.opening.inputs["t_arc"] == 0.0


def test_the_categories_stand_in_the_table_as_the_standard_has_them() -> None:
    """IEC 60947-4-1, verification of making and breaking: DC-1 1 ms, DC-3 2.5 ms, DC-5 15 ms; AC-3 10 and 8 times."""
    known = {"DC-1": 1e-3, "DC-3": 2.5e-3, "DC-5": 15e-3}
    rows = read("contactors", Row)
    assert all(row.time_constant == known[row.category] and row.category in row.meaning for row in rows)
    assert all(row.breaks <= (4.0 if row.category != "DC-1" else 1.5) for row in rows)
    assert all((row.makes, row.breaks) == (10, 8) for row in read("line_contacts", LineRow) if "AC-3" in row.meaning)
    assert all(row.poles >= 2 and row.release > 0 for row in read("line_contacts", LineRow))


@pytest.mark.parametrize(("resistance", "friction"), [(2.0, 0.0), (0.5, 0.0), (8.0, 0.02), (0.05, 0.0)])
def test_no_motor_gets_faster_than_the_reservoirs_energy(resistance: float, friction: float) -> None:
    """A reservoir emptied into a motor (C·du/dt = −i, L·di/dt = u − R·i − k·ω, J·dω/dt = k·i − T), marched by scipy.

    The bound is never passed, and the less is lost the nearer the march comes to it.
    """
    farads, volts, inertia, first = 660e-6, 355.0, 5e-4, 500.0
    k, henry = 0.15, 5e-3

    def slope(_, y):
        u, i, w = y
        return [-i / farads, (u - resistance * i - k * w) / henry, (k * i - friction) / inertia]

    run = solve_ivp(slope, (0.0, 0.5), [volts, 0.0, first], max_step=2e-4, rtol=1e-8)
    bound = float(SPEED_FROM_THE_BUS(omega_1=first, C_bus=farads, V_bus=volts, J_mot=inertia))
    assert np.max(run.y[2]) <= bound * (1 + 1e-9)
    # energy left nowhere but in rotor, coil and reservoir where nothing is lost: the balance itself (derived)
    if resistance == 0.05:
        assert np.max(run.y[2]) > first + 0.7 * (bound - first)
