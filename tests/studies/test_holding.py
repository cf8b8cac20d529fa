"""A speed held by a loop, on the drill press (S1) and the lathe (S4) of the shared scenarios, with feedback.

Sources: marches of ``tests.reference`` (scipy solve_ivp), closed forms of a chopped armature, ``gcc`` elsewhere.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from designer.control.guard import Race
from designer.errors import InputError, InputErrors
from designer.results import Reason
from designer.sheet.files import files_of
from designer.studies import design as studies_design
from designer.studies.closed_loop import BLIND, LOOP_BAND, STARTS
from designer.studies.export import design_json
from designer.studies.guarding import races
from designer.studies.holding import Holding
from designer.studies.survey import speed_limit
from tests import reference
from tests.reference import RPM
from tests.studies import cases
from tests.studies.cases import Made

TACHO = """
[[readings]]
kind = "tacho"
speed = "1960 rpm"
frequency = "261 Hz"
voltage = "6.9 V"
[[readings]]
kind = "tacho"
speed = "3100 rpm"
frequency = "413 Hz"
voltage = "10.8 V"
"""
HELD = (('feedback = "none"', 'feedback = "tacho"'),)


@pytest.fixture(scope="session")
def geared() -> Made:
    """The drill press geared 2:1 with its loop: ready."""
    return cases.made("drill-press-held")


@pytest.fixture(scope="session")
def lathe() -> Made:
    """The lathe with its loop: ready."""
    return cases.made("lathe-held")


@pytest.fixture(scope="session")
def straight():
    """S1 as the scenario has it, without gear, with feedback."""
    return studies_design.design(cases.project("drill-press", *HELD, more=TACHO))


def test_s1_holds_its_band_over_load_and_mains(straight) -> None:
    """S1 with feedback: 3000 rpm at every corner of mains, frequency, windings, friction and load (needs.md S1)."""
    assert not [reason for reason in straight.reasons if reason.code in ("speed-band", "stalls-in-band")]
    table = next(t for t in straight.loop_tables if t.name == "speed-held")
    held = [row[3].value for row in table.rows[:5]]
    open_loop = [row[2].value for row in table.rows[:5]]
    assert held == pytest.approx([3000 * RPM] * 5, rel=LOOP_BAND)
    assert open_loop[0] > 4 * 3000 * RPM        # without the loop it runs away (needs.md: 14,382 rpm)


@pytest.mark.parametrize("at", sorted(np.random.default_rng(31).choice(32, 5, replace=False).tolist()))
def test_corners_of_the_loop_against_the_reference(geared, at: int) -> None:
    """At five corners (seed 31) a march at the setting found gives the torque that friction and load ask there."""
    points = geared.found.corners.points
    assert float(points.speed[at]) == pytest.approx(6000 * RPM, rel=1e-9)
    case = cases.case_of(geared, points, at)
    truth = reference.steady(case)
    load = float(points.load[at]) * float(geared.found.fixed.load.at_motor(float(points.speed[at])))
    assert truth.torque == pytest.approx(case.friction_torque(case.speed) + load, rel=1e-3)


def test_s4_holds_its_band_over_load_and_mains(lathe) -> None:
    """S4 with feedback: every corner at 1500 rpm; voltage and current by the chopped armature's closed forms."""
    found = lathe.found
    points, solved = found.corners.points, found.corners.solved
    assert points.speed == pytest.approx(np.full(len(points), 1500 * RPM), rel=LOOP_BAND)
    motor = found.fixed.motor
    k = np.array([float(motor.curve.at(i)) for i in points.field_current])
    torque = points.friction * motor.friction(points.speed) + points.load * found.fixed.load.at_motor(points.speed)
    assert solved.armature_absolute * k == pytest.approx(torque, rel=1e-3)


def test_the_limit_of_the_command_gives_the_start_its_torque(geared) -> None:
    """The hardest setting at rest gives twice the greatest torque asked for at a quarter of the target (the march)."""
    found = geared.found
    stalled = found.stall.points
    rest = cases.case_of(geared, found.held.points, 0)
    truth = reference.steady(replace(rest, alpha=float(stalled.setting[0]), speed=BLIND * 6000 * RPM))
    motor, load = found.fixed.motor, found.fixed.load
    asked = float(motor.friction(6000 * RPM) + load.at_motor(6000 * RPM)) + motor.friction_torque
    assert truth.torque == pytest.approx(STARTS * asked, rel=2e-2)


def test_the_guard_wins_every_race_of_a_ready_design(geared, lathe) -> None:
    """Each fault's time to the limit is twice the guard's or more (safety.md, factor of the margins)."""
    for made in (geared, lathe):
        loop = made.design.holding
        assert isinstance(loop, Holding)
        assert loop.guard is not None
        told = races(made.found, made.project, loop.guard)
        assert len(told) >= 3
        assert all(isinstance(race, Race) and race.won(2.0) for race in told)
        assert loop.guard.trip_speed < float(speed_limit(made.project) or 0.0)


def test_a_shorted_switch_against_the_march(geared) -> None:
    """From the trip to the limit with the switch shorted and the load lost: the time by stepping the march's torque."""
    loop = geared.design.holding
    race = next(r for r in races(geared.found, geared.project, loop.guard) if r.fault == "load lost, switch shorted")
    case = next(c for c in geared.found.unloaded if c.name == "load lost, switch shorted")
    start, end = loop.guard.trip_speed, float(speed_limit(geared.project) or 0.0)
    one = cases.case_of(geared, case.points)
    speeds = np.linspace(start, end, 9)
    accelerations = []
    for speed in speeds:
        at = replace(one, speed=float(speed), alpha=0.0, guard=0.0, V_T0=case.fixed.switch.threshold,
                     r_T=case.fixed.switch.slope)
        accelerations.append((reference.steady(at).torque - at.friction_torque(float(speed))) / 4.5e-4)
    time = float(np.trapezoid(1 / np.array(accelerations), speeds))
    assert race.up == pytest.approx(time, rel=1e-2)


def test_a_guard_that_is_too_slow_is_refused() -> None:
    """A chuck that stands no more than 3300 rpm leaves no room between running and limit: refused with the figure."""
    made = studies_design.design(cases.project(
        "drill-press-held", ('maximum_speed = "6000 rpm"', 'maximum_speed = "3300 rpm"')))
    codes = {reason.code: reason for reason in made.reasons}
    assert "trip-out-of-place" in codes
    assert codes["trip-out-of-place"].figure.value > codes["trip-out-of-place"].limit.value
    tight = studies_design.design(cases.project(
        "drill-press-held", ('maximum_speed = "6000 rpm"', 'maximum_speed = "3600 rpm"')))
    slow = next(reason for reason in tight.reasons if reason.code == "guard-too-slow")
    assert slow.figure.value < slow.limit.value
    assert slow.way_out


def test_refusals_name_their_key() -> None:
    """No tacho reading, and a sample time that is no whole number of half cycles, are told by their keys."""
    with pytest.raises((InputError, InputErrors)) as told:
        studies_design.design(cases.project("drill-press", *HELD))
    assert "readings" in str(told.value)
    with pytest.raises((InputError, InputErrors)) as told:
        studies_design.design(cases.project("drill-press-held", ('ramp = "3 s"', 'ramp = "3 s"\nsample_time = "7 ms"')))
    assert "control.sample_time" in str(told.value)


def test_half_cycle_steps_at_60_hz_and_more() -> None:
    """The file's own sample time is taken where it is a whole number of half cycles."""
    made = studies_design.design(cases.project(
        "drill-press-held", ('ramp = "3 s"', 'ramp = "3 s"\nsample_time = "20 ms"')))
    assert made.holding.sample_time == pytest.approx(0.02)


def test_the_jam_ends_with_the_guard(geared) -> None:
    """A jam lasts from the output coming on to the second path open, and the devices are held to that time."""
    loop = geared.design.holding
    times = loop.guard.start_time + loop.sample_time + max(loop.guard.loop.blocked, loop.guard.loop.opening)
    assert loop.guard.jam == pytest.approx(times)
    stalled = next(f for f in geared.design.faults if f.fault == "jam-under-loop")
    assert stalled.figures["lasts at most"].value == pytest.approx(times)
    assert math.isfinite(times)


def test_first_power_proves_signal_and_trips_before_any_power(geared, lathe) -> None:
    """Signal and dry trips stand before the first power, the loop's first start after the lamp, proofs last."""
    for made in (geared, lathe):
        titles = [step.title for step in made.design.first_power]
        signal, dry = (next(n for n, t in enumerate(titles) if t.startswith(words)) for words in (
            "The tacho's signal", "Trips, dry"))
        first = next(n for n, t in enumerate(titles) if t.startswith("First start of the loop"))
        mains = next(n for n, step in enumerate(made.design.first_power) if step.mains)
        assert signal < dry < mains < first < len(titles) - 1
        assert titles[-1].startswith("Proof of the guard")
        limit = float(speed_limit(made.project) or 0.0)
        steps = made.design.first_power[first:first + 2]
        assert all(step.unloaded_speed is None or step.unloaded_speed.value <= 0.5 * limit * (1 + 1e-9)
                   for step in steps)


def test_the_program_stands_beside_a_ready_sheet_alone(geared, tmp_path) -> None:
    """Header and source beside a ready sheet; of one that is not ready they are taken away, with the parts list."""
    sheet = tmp_path / "press.html"
    files, stale = files_of(geared.design, sheet)
    names = {path.name for path, _ in files}
    assert names == {"press.html", "press-parts.csv", "press-loop.h", "press-loop.c"}
    assert stale == ()
    refused = replace(geared.design, reasons=(Reason(code="test", message="not ready"),))
    files, stale = files_of(refused, sheet)
    assert [path.name for path, _ in files] == ["press.html"]
    assert {path.name for path in stale} == {"press-parts.csv", "press-loop.h", "press-loop.c"}
    assert "firmware" in design_json(geared.design)
    assert "firmware" not in design_json(refused)
    assert "speed_loop" in design_json(refused)


def test_a_field_alone_holds_no_speed() -> None:
    """A loop on the field of an armature that stands on its supply is refused by its key."""
    with pytest.raises((InputError, InputErrors), match=r"control\.feedback.*chopper-field"):
        studies_design.design(cases.project("aisle-fan", ("[control]", '[control]\nfeedback = "tacho"'), more=TACHO))


@pytest.mark.parametrize("name", ["geared", "lathe"])
def test_every_scenario_comes_back_into_its_band(name: str, geared, lathe) -> None:
    """Start, load step, supply step and load lost on the full motor end within the band, below the trip."""
    made = {"geared": geared, "lathe": lathe}[name]
    trial, loop = made.design.trial, made.design.holding
    own = [one for one in trial.results if one.kind != "fault"]
    assert len(own) >= 8
    for one in own:
        assert math.isfinite(one.settled), one.name
        assert abs(one.steady_error) <= 0.02
        assert one.highest < loop.guard.trip_speed
    assert not trial.reasons


def test_a_start_is_held_against_the_switch(geared) -> None:
    """The peak of every start stands as a share of the switch's surge rating with its margin (safety.md)."""
    table = next(t for t in geared.design.loop_tables if t.name == "loop-scenarios")
    at = table.columns.index("of the switch's peak")
    switch = next(part for part in geared.design.parts if part.role == "switch")
    least = min(r.share * r.limit.value for r in switch.ratings if r.name.startswith("surge current"))
    for row, one in zip(table.rows, geared.design.trial.results, strict=True):
        assert float(str(row[at]).removesuffix(" %")) == pytest.approx(100 * one.peak / least, rel=0.06)


def test_the_speed_as_a_voltage_is_told(lathe) -> None:
    """For an analogue loop: full scale below the supply at the fastest target, and ripple against lag."""
    told = {t.name: t for t in lathe.design.loop_tables}
    assert "8000 rpm" in told["tacho-volts-parts"].note
    ripples = [row[1].value for row in told["tacho-volts"].rows]
    assert ripples == sorted(ripples, reverse=True)
