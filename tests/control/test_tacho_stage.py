"""The tacho put together: counting, averaging and divider by the slowest target; the whole of S1; refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from designer.control.tacho_stage import Wanted, stage
from designer.errors import InputError
from designer.motor import fit_winding
from designer.motor.fit_bench import Bench
from tests.motor.fit_cases import RPM, reading

S1 = fit_winding.tacho(Bench(readings=[
    reading("tacho", speed=n * RPM, frequency=f, voltage=v) for n, f, v in ((1960, 261.0, 6.9), (3100, 413.0, 10.8))],
    given={}))
WANTED = Wanted(speeds=(3000 * RPM,), highest=20_250 * RPM, update=0.01, clock=16e6, bus_peak=358.0, mains=230.0)


def test_the_drill_press():
    """S1 (source: needs.md): 8 a turn, 3000 rpm, 20,250 rpm at full conduction without load: ready, a turn averaged."""
    made = stage(S1, WANTED)
    assert made.reasons == ()
    assert made.tacho.counting == "one-edge"
    assert made.timer.averaging == 8
    assert made.input.demand.frequency == pytest.approx(2700.0, rel=1e-9)
    assert made.input.demand.peak == pytest.approx(math.sqrt(2) * 6.9 * 20_250 / 1960, rel=0.05)
    assert made.timer.lowest <= 750 * RPM
    assert made.timer.measure(3000 * RPM) == pytest.approx(3000 * RPM, rel=1e-4)
    assert made.delay(3000 * RPM) == pytest.approx(9 / 16 * 0.02 + made.input.delay)
    rate, tick, age = made.worked[:3]
    assert rate.value == pytest.approx(400.0)
    assert tick.value < 1e-3 * 3000 * RPM
    assert age.value == pytest.approx(11.25e-3)
    assert made.worked[3:] == made.lowest.steps


def test_a_slow_target_takes_both_edges_and_fewer_of_them():
    """500 rpm: 66.7 Hz bring 0.67 edges in 10 ms, both edges 1.3; a whole turn would be 0.12 s (derived)."""
    made = stage(S1, replace(WANTED, speeds=(500 * RPM, 3000 * RPM)))
    assert made.reasons == ()
    assert made.tacho.counting == "both-edges"
    assert made.timer.averaging == 2
    assert made.timer.lowest <= 125 * RPM
    assert made.divider == 8


def test_a_target_too_slow_for_the_update_comes_back_as_a_reason():
    """200 rpm: half an edge in 10 ms even with both; 375 rpm is the lowest (derived)."""
    slow, = stage(S1, replace(WANTED, speeds=(200 * RPM,))).reasons
    assert slow.code == "tacho-too-slow"
    assert slow.limit.value == pytest.approx(375 * RPM)
    assert "18.8 ms" in slow.way_out


def test_noise_is_assumed_aloud_or_measured():
    """Without a measured noise the assumption is told; with one the thresholds follow it (house rule)."""
    doubled, told = stage(S1, WANTED).assumptions
    assert "twice the target" in doubled.text
    assert "measure it" in told.text
    measured = stage(S1, replace(WANTED, noise=0.3))
    assert measured.assumptions == (doubled,)
    assert measured.input.half_least >= 0.6


def test_what_the_readings_lack_is_refused():
    """No readings, and readings without volts: key and what to measure (contract)."""
    with pytest.raises(InputError, match="no reading of a tacho"):
        stage(None, WANTED)
    with pytest.raises(InputError, match="without voltage"):
        stage(replace(S1, volts=None), WANTED)
