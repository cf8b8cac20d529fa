"""A held speed on the full motor: the loop's answers on the drill press (S1) and the lathe (S4), and their figures.

Sources: tests/reference.py (scipy solve_ivp) at the settings that the loop gave; physics.md, Speed holding, for what a
loop must do; ``studies.guarding`` for the times to the speed limit (quadrature over steady states, another method).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.balance import find_setting
from designer.circuits.run_up import run_up
from designer.parts.fuse_gates import Link
from designer.sheet.simulation_plot import plot, spoken
from designer.studies.simulate import (
    Bench,
    ScenarioResult,
    faults,
    fuse_factor,
    simulate,
    stands_against,
    starts,
    steps,
)
from designer.studies.simulation import Machine, Run, Trace, smooth
from designer.studies.survey import speed_limit
from tests import reference
from tests.studies import cases


@pytest.fixture(scope="module")
def press():
    """The drill press geared 2:1 with its loop."""
    return cases.made("drill-press-held")


@pytest.fixture(scope="module")
def lathe():
    """The lathe with its loop."""
    return cases.made("lathe-held")


@pytest.fixture(scope="module")
def pressed(press):
    """All scenarios of the drill press by name."""
    return {one.name: one for one in simulate(press.found, press.project, press.design.holding)}


def bench(made):
    """The bench of a design."""
    return Bench(made.found, made.project, made.design.holding)


def test_starts_follow_the_ramp_into_the_band(pressed):
    """The ramp of 3 s leads into the band and the speed stays there, at every supply (physics.md, soft start)."""
    for name, one in pressed.items():
        if name.startswith("start"):
            assert one.settled < 3.2, name
            assert one.overshoot < 0.03, name
            assert abs(one.steady_error) < 1e-3, name


def test_start_against_the_reference_at_the_loops_own_settings(press):
    """The settings that the loop gave, fed to tests/reference.py half cycle by half cycle (solve_ivp): 90 % of the
    target is reached as soon, to 1 %, and the greatest current is the same to 1 %.
    """
    one = next(iter(starts(bench(press))))
    trace, points = one.trace, press.found.held.points
    found = bench(press)
    case = cases.case_of(press, points, 1)
    omega = 2 * math.pi * case.frequency
    load = press.found.fixed.load
    pull = load.ratio * load.efficiency
    case = replace(case, inertia=found.inertia, load=(
        load.torque / pull, load.viscous / (pull * load.ratio), load.square / (pull * load.ratio**2)))
    speed, off, times, speeds, peaks = 0.0, 0.0, [0.0], [0.0], []
    for number, alpha in enumerate(trace.setting):
        begin = number * math.pi
        now = replace(case, alpha=float(alpha))
        on = reference.turn_on(now, max(off, begin), speed)
        if on is not None and on[1] < begin + math.pi:
            speed, _ = reference.coast(now, max(off, begin), on[1], speed)
            segment = reference.conduct(now, on[0], on[1], speed)
            speed, off = segment.speed_off, segment.off
            peaks.append(segment.peak)
        else:
            speed, _ = reference.coast(now, max(off, begin), begin + math.pi, speed)
            off = begin + math.pi
        times.append(off / omega)
        speeds.append(speed)
        if speed > 0.95 * one.target:
            break
    theirs = float(np.interp(0.9 * one.target, speeds, times))
    ours = float(np.interp(0.9 * one.target, trace.speed, trace.time))
    assert ours == pytest.approx(theirs, rel=0.01)
    assert float(trace.peak[: len(times)].max()) == pytest.approx(max(peaks), rel=0.01)


def test_load_and_mains_steps_come_back(pressed):
    """Every step ends in the band without lasting error, and load on dips while load off rises (physics.md)."""
    held = {name: one for name, one in pressed.items() if "step" in name}
    assert len(held) == 4
    assert all(math.isfinite(one.settled) and abs(one.steady_error) < 1e-3 for one in held.values())
    assert held["load step, none to full"].dip < -0.01 < held["load step, none to full"].overshoot
    assert held["load step, full to none"].overshoot > 0.01
    assert held["mains step, nominal to low"].dip < held["mains step, nominal to high"].dip


def test_settled_loop_stands_at_the_setting_of_the_circuit(press):
    """After long enough the loop's mean setting is the one that circuit.solve finds for target and load, to 0.3°."""
    found = bench(press)
    points = found.points(1)
    run = found.settled(points)
    run.until(3.0)
    setting, _ = find_setting(found.circuit, found.fixed, points)
    assert float(run.trace().setting[-100:].mean()) == pytest.approx(float(setting[0]), abs=math.radians(0.3))
    assert float(run.trace().mean[-100:].mean()) == pytest.approx(found.target, rel=1e-3)


def test_switch_shorted_against_the_run_up(press, pressed):
    """From the target to the speed limit at full conduction, load lost: to 5 % of the quadrature over steady states."""
    one = next(result for name, result in pressed.items() if name.startswith("switch shorted"))
    limit = speed_limit(press.project)
    assert limit is not None
    case = next(c for c in press.found.unloaded if c.name == "load lost, switch shorted")
    expected = run_up(press.found.circuit, case.fixed, case.points, start=one.target, end=limit,
                      inertia=press.project.motor.inertia).time
    assert one.limit_time == pytest.approx(expected, rel=0.05)
    assert one.highest >= limit


def test_tacho_lost_is_cut_before_the_limit(pressed):
    """The loop sees rest and opens; the guard blocks the output in its time, and the limit is not passed."""
    one = next(result for name, result in pressed.items() if name.startswith("tacho lost"))
    assert one.cut is not None
    opened = one.trace.after(one.event)
    before = opened.time <= one.event + one.cut + 1e-6
    assert np.isnan(opened.setting[~before]).all()
    assert math.isinf(one.limit_time)
    assert float(opened.line_rms[opened.time > one.event + one.cut + 0.03].max()) == 0.0


def test_lathe_holds_and_its_limit_bounds_the_current(lathe):
    """S4: no armature current above the limit of its chopper while the loop works; the band is found again."""
    found, limit = bench(lathe), lathe.found.fixed.chopping.current_limit
    for one in (*starts(found), *steps(found)):
        assert one.peak <= limit * (1 + 1e-6), one.name
        assert math.isfinite(one.settled), one.name
        assert abs(one.steady_error) < 2e-3, one.name


def test_lathe_without_field_speeds_up_under_its_limit(lathe):
    """The field lost with the armature's duty as it was: the speed rises, told with what the current was."""
    one = next(result for result in faults(bench(lathe)) if result.name.startswith("field"))
    assert one.highest > 2 * one.target
    assert np.isnan(one.trace.after(one.event).command).all()


def test_a_figure_of_a_pulse():
    """∫i²dt of 4 A over 0.5 s is 8 A²s; as a pulse it is 4 A (derived), and a fuse of 4 A bears it for long."""
    time = np.linspace(0.01, 0.5, 50)
    flat = np.full(50, 4.0)
    trace = Trace(time=time, speed=flat, mean=flat, rms=flat, peak=flat, line_rms=flat, line_peak=flat,
                  command=flat, setting=flat)
    one = ScenarioResult(
        name="x", kind="fault", event=0.0, target=4.0, band=0.01, trace=trace, peak=4.0, line_peak=4.0,
        heating=trace.heating, settled=math.inf, overshoot=0.0, dip=0.0, steady_error=0.0,
        highest=4.0, limit_time=math.inf, limit=None)
    assert one.heating == pytest.approx(8.0)
    assert (one.pulse.rms, one.pulse.time) == pytest.approx((4.0, 0.5))
    assert fuse_factor(one, Link(rating=4.0, speed="T", breaking="H", capacity=1500.0, voltage=250.0)) > 1000


def test_what_does_not_come_off_is_refused(pressed):
    """Nothing stands against the drill press; a start stuck below its speed, a step that swings on, a limit passed with
    the loop at work each give their reason with the figure (safety.md: refuse what cannot be made safe).
    """
    every = tuple(pressed.values())
    assert not list(stands_against(every))
    start, step, lost = every[0], pressed["load step, none to full"], pressed["load lost, the loop working"]
    stuck = replace(start, settled=math.inf, steady_error=-0.9)
    swings = replace(step, settled=math.inf)
    fast = replace(lost, highest=2 * lost.limit)
    found = list(stands_against((stuck, swings, fast)))
    assert [one.code for one in found] == ["loop-start-unsettled", "loop-step-unsettled", "loop-overspeed"]
    assert found[0].figure.value == -0.9
    assert "rpm" in found[0].message
    assert found[2].limit.value == lost.limit


def test_shorted_switch_is_left_to_the_guard(pressed):
    """A run-away at full conduction passes the limit and is no reason of the loop's own."""
    one = next(result for name, result in pressed.items() if name.startswith("switch shorted"))
    assert not list(stands_against((one,)))


def test_at_rest_the_command_never_loses_control(press):
    """While the shaft stands no half cycle of a start is lost to the current of the one before (physics.md)."""
    found = bench(press)
    machine = Machine(found.circuit, found.fixed, found.points(2, cold=True, speed=0.0), inertia=found.inertia)
    run, lost = Run(machine, found.loop_now()), []
    march = machine.march.half_cycle

    def watched(*given, **named):
        half = march(*given, **named)
        lost.append(half.lost)
        return half

    machine.march.half_cycle = watched
    run.until(1.0)
    assert len(lost) == 100
    assert not any(lost)


def test_plots_name_every_line(pressed):
    """Each scenario stands in the legend and in the words for who cannot see; the drawing is the same each time."""
    some = [one for name, one in pressed.items() if "step" in name]
    drawn = plot(some, ratio=2.0)
    assert all(one.name in drawn and one.name in spoken(some) for one in some)
    assert drawn == plot(some, ratio=2.0)
    assert "output speed, rpm" in drawn


def test_smoothed_over_both_halves():
    """Unequal halves of a period count as their mean (derived)."""
    assert smooth([1.0, 3.0, 1.0, 3.0]).tolist() == [1.0, 2.0, 2.0, 2.0]
