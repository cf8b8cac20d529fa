"""The tacho as a speed signal: frequency and volts of published and bench figures, steps by brute force, refusals."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from designer.control.tacho import Reading, Tacho, lowest, tacho_of, too_slow
from designer.control.tacho_table import trade
from designer.control.tacho_timer import Captured, TachoTimer, prescaler
from designer.errors import InputError
from designer.motor import fit_winding
from designer.motor.fit_bench import Bench
from tests.motor.fit_cases import RPM, reading

EIGHT = Tacho(periods=8, volts=6.9 / (1960 * RPM))


def read(*rows):
    """What the readings (rpm, Hz, V) of a tacho tell."""
    rows = [reading("tacho", speed=n * RPM, frequency=f, voltage=v) for n, f, v in rows]
    return fit_winding.tacho(Bench(readings=rows, given={}))


@pytest.mark.parametrize(("periods", "speed", "hertz"), [
    (8, 15_000, 2000.0), (4, 3000, 200.0), (8, 1500, 200.0), (8, 3000, 400.0), (1, 3000, 50.0)])
def test_frequency_by_pole_pairs(periods, speed, hertz):
    """Source: f = n·p/60, 8 pulses at 15,000 rpm give 2 kHz (needs.md row 9); generator maker's table (Q1)."""
    assert Tacho(periods=periods).frequency(speed * RPM) == pytest.approx(hertz, rel=1e-12)


def test_the_drill_press_reads_eight_pulses():
    """S1 (source: needs.md): 261 Hz at 1960 rpm, 413 Hz at 3100 rpm, 6.9 V and 10.8 V: 8 a turn, volts by speed."""
    found = tacho_of(read((1960, 261.0, 6.9), (3100, 413.0, 10.8)))
    assert found.periods == 8
    assert found.frequency(1960 * RPM) == pytest.approx(261.0, rel=0.002)
    assert found.peak(3100 * RPM) < math.sqrt(2) * 10.8 < found.peak(3100 * RPM, most=True)
    assert found.volts == pytest.approx(6.9 / (1960 * RPM), rel=0.01)


@pytest.mark.parametrize(("counting", "pulses"), [("one-edge", 8), ("both-edges", 16), ("rectified", 16)])
def test_a_bridge_and_both_edges_double_the_count(counting, pulses):
    """A sine has one rising and one falling edge, and two half waves, each period (derived)."""
    turn = np.linspace(0.0, 2 * math.pi, 100_001) + 1e-4
    wave = np.sin(8 * turn)
    above = (np.abs(wave) if counting == "rectified" else wave) > (0.5 if counting == "rectified" else 0.0)
    steps = np.diff(above.astype(int))
    edges = np.count_nonzero(steps if counting == "both-edges" else steps > 0)
    assert edges == pulses
    assert Tacho(periods=8, counting=counting).pulses == edges


def test_a_count_is_off_by_one_step_at_most():
    """Edges counted in a window at any phase: the spread of readings is one step (brute force, derived)."""
    rng = np.random.default_rng(4)
    window = 0.02
    for speed in rng.uniform(100.0, 2000.0, 50):
        pitch = 2 * math.pi / EIGHT.pulses
        starts = rng.uniform(0.0, pitch, 400)
        counts = np.floor((starts + speed * window) / pitch)
        told = counts * pitch / window
        step = EIGHT.resolution(speed, window)
        assert np.all(np.abs(told - speed) <= step * (1 + 1e-9))
        assert np.ptp(told) <= step * (1 + 1e-9)
        assert np.ptp(told) == pytest.approx(step, rel=1e-9) or np.ptp(told) == 0.0


@pytest.mark.parametrize("averaging", [1, 8])
def test_timed_edges_are_off_by_one_step_at_most(averaging):
    """Edges at every phase of a slow clock, captured one by one (brute force): within one step, and near it."""
    timer = TachoTimer(clock=250e3, pulses=8, averaging=averaging)
    worst = 0.0
    for speed in np.random.default_rng(5).uniform(300.0, 1500.0, 300):
        span = 2 * math.pi * averaging / (8 * speed)
        first = np.random.default_rng(6).uniform(0.0, 1.0, 50) / timer.clock
        ticks = np.floor((first + span) * timer.clock) - np.floor(first * timer.clock)
        told = 2 * math.pi * averaging * timer.clock / (8 * ticks)
        step = EIGHT.timed_resolution(speed, clock=timer.clock, averaging=averaging)
        spare = span * timer.clock / (span * timer.clock - 1)      # the step's formula is the first order
        assert np.all(np.abs(told - speed) <= step * spare)
        worst = max(worst, float(np.max(np.abs(told - speed)) / step))
        assert speed <= timer.measure(speed) <= speed + step * spare
        assert timer.step(speed).value == step
    assert worst > 0.9


def test_counting_and_timing_cross_where_their_steps_are_equal():
    """Below the crossover timing is finer, above counting (derived: both formulas set equal)."""
    clock, window = 16e6 / 8, 0.01
    speed = EIGHT.crossover(clock=clock, window=window)
    at = {share: EIGHT.timed_resolution(share * speed, clock=clock) for share in (0.99, 1.0, 1.01)}
    assert at[0.99] < EIGHT.resolution(speed, window) < at[1.01]
    assert at[1.0] == pytest.approx(EIGHT.resolution(speed, window), rel=1e-12)


def test_one_turn_averaged_forgets_uneven_magnets():
    """Pitch errors of 5 % show in single intervals and vanish over a turn (derived: a turn is a turn)."""
    places = tuple((k + 0.05 * math.sin(3.0 * k)) / 8 for k in range(8))
    for averaging, limit in ((1, 0.12), (8, 1e-3)):
        timer = TachoTimer(clock=2e6, pulses=8, averaging=averaging, places=places)
        state, off = Captured(), []
        for k in range(1, 400):
            state = timer.update(state, angle=300.0 * 0.005 * k, time=0.005 * k)
            off.append(abs(state.reading / 300.0 - 1))
        spread = max(off[40:])
        assert spread < limit
        assert averaging == 8 or spread > 0.02


def test_the_age_of_a_reading_on_a_steady_rise():
    """Reading behind a speed that rises evenly, by brute force: mean lag over rise is the age (derived)."""
    rise, start = 200.0, 500.0
    timer = TachoTimer(clock=16e6, pulses=8, averaging=8, bits=32)
    state = Captured()
    lags, ages = [], []
    step = 37e-6
    for k in range(1, 12_000):
        time = k * step
        speed = start + rise * time
        state = timer.update(state, angle=start * time + rise * time**2 / 2, time=time)
        if time > 0.1:
            lags.append((speed - state.reading) / rise)
            ages.append(EIGHT.age(speed, averaging=8))
    assert np.mean(lags) == pytest.approx(np.mean(ages), rel=0.01)


def test_a_lost_tacho_reads_less_and_less_and_then_zero():
    """After the last edge the reading falls as one interval over the time waited, zero after a round (derived)."""
    timer = TachoTimer(clock=250e3, pulses=8, averaging=8)
    state, time = Captured(), 0.0
    for _ in range(50):
        time += 0.01
        state = timer.update(state, angle=300.0 * time, time=time)
    held = state.angle
    assert state.reading == pytest.approx(300.0, rel=0.01)
    told = []
    for _ in range(40):
        time += 0.01
        state = timer.update(state, angle=held, time=time)
        told.append(state.reading)
    assert all(late <= soon for soon, late in itertools.pairwise(told))
    assert told[9] == pytest.approx(2 * math.pi / 8 / 0.1, rel=0.05)
    assert told[-1] == 0.0


def test_an_interval_longer_than_the_timer_is_not_told():
    """The first interval after a standstill passes the timer's round and is dropped (derived)."""
    timer = TachoTimer(clock=16e6, pulses=8, averaging=4)
    state = timer.update(Captured(), angle=1.0, time=0.5)
    state = timer.update(state, angle=1.6, time=1.0)
    assert state.reading == 0.0
    assert timer.measure(0.9 * timer.lowest) == 0.0
    assert timer.lowest == pytest.approx(2 * math.pi * 16e6 / 65536 / 8)


def test_the_smallest_divider_that_spans_the_interval():
    """16 bit at 16 MHz go round in 4.096 ms; 25 ms (300 rpm, 8 pulses) need a divider of 8 (derived)."""
    assert prescaler(clock=16e6, pulses=8, bits=16, lowest=300 * RPM) == 8
    assert prescaler(clock=16e6, pulses=8, bits=16, lowest=1900 * RPM) == 1
    assert prescaler(clock=16e6, pulses=1, bits=8, lowest=1e-3) is None


READING = Reading(threshold=0.25, noise=0.1, update=0.01, clock=2e6)


def test_the_lowest_speed_is_the_greatest_of_three():
    """Each bound by hand: peak twice threshold and noise, one edge in 10 ms, 65536 ticks of 0.5 µs (derived)."""
    found = lowest(EIGHT, READING)
    volts = 2 * 0.35 / (math.sqrt(2) * 6.9 / (1960 * RPM))
    assert [step.value for step in found.steps] == pytest.approx(
        [volts, 2 * math.pi / 8 / 0.01, 2 * math.pi / 8 / 32.768e-3], rel=1e-12)
    assert found.speed == found.by_update.value
    assert found.bound == "the edges that each update needs"
    quick = lowest(EIGHT, Reading(threshold=0.25, noise=2.0, update=0.1, clock=2e6))
    assert quick.bound == "the tacho's volts"


def test_a_target_below_the_lowest_speed_is_refused_with_figure_and_way_out():
    """300 rpm with 8 pulses and 10 ms: 750 rpm is the lowest; gear, update, edges or magnets help (derived)."""
    slow, = too_slow(EIGHT, READING, (300 * RPM, 3000 * RPM))
    assert slow.code == "tacho-too-slow"
    assert "750 rpm" in slow.message
    assert "300" in slow.message
    assert slow.figure.value == pytest.approx(300 * RPM)
    assert slow.limit.value == pytest.approx(750 * RPM)
    for way in ("gear ratio 2.5 times", "25 ms or longer ([control] sample_time)", "both edges", "20 pulses a turn"):
        assert way in slow.way_out
    assert too_slow(EIGHT, READING, (3000 * RPM,)) == ()


def test_without_readings_it_says_what_to_measure():
    """Feedback by a tacho without its readings: key, what to read (contract: no default hides a reading)."""
    with pytest.raises(InputError) as told:
        tacho_of(None)
    assert told.value.key == "readings"
    assert "feedback" in str(told.value)
    assert "frequency and a.c. volts" in str(told.value)
    with pytest.raises(InputError, match="without voltage"):
        _ = Tacho(periods=8).least_volts
    with pytest.raises(InputError, match="unsure by half"):
        _ = Tacho(periods=8, volts=0.03, volts_spread=0.02).least_volts


def test_pulses_that_are_not_whole_are_refused():
    """7.4 pulses a turn is no tacho: the speed was another shaft's, or the counter saw two marks (derived)."""
    with pytest.raises(InputError) as told:
        tacho_of(read((1960, 7.4 * 1960 / 60, 6.9), (3100, 7.4 * 3100 / 60, 10.8)))
    assert told.value.key == "readings"
    assert "7.4" in str(told.value)
    assert "whole number" in str(told.value)
    assert "drum" in str(told.value)


def test_the_trade_of_update_and_resolution():
    """Each row by the formulas' meaning: 0.1 s at 300 rpm and 8 edges are 4 edges, 25 ms each (derived)."""
    table = trade(EIGHT, Reading(threshold=0.25, noise=0.1, update=0.1, clock=2e6), 300 * RPM)
    row = table.rows[table.chosen]
    assert row[0].value == 0.1
    assert row[1] == "4"
    assert float(row[2].removesuffix(" rpm")) == pytest.approx(2 * math.pi / 0.8 / RPM, rel=0.05)
    assert row[3].value == pytest.approx(0.05)
    assert float(row[4].removesuffix(" rpm")) == pytest.approx(300 / (0.1 * 2e6), rel=0.05)
    assert row[5].value == pytest.approx(2.5 * 0.025)
    assert row[7].value == pytest.approx(75 * RPM)
    for column, falls in ((2, True), (4, True), (5, False), (6, True), (7, True)):
        values = [float(row[column].removesuffix(" rpm")) if isinstance(row[column], str) else row[column].value
                  for row in table.rows]
        assert values == sorted(values, reverse=falls)


@pytest.mark.parametrize(("counting", "averaging"), [("one-edge", 1), ("one-edge", 8), ("both-edges", 2)])
def test_noise_shifts_edges_by_no_more_than_told(counting, averaging):
    """Crossings of sine and noise of random level found on a fine grid (brute force): within the bound, and near it."""
    tacho = Tacho(periods=8, counting=counting, volts=6.9 / (1960 * RPM))
    speed, threshold, noise = 500 * RPM, 0.4, 0.15
    peak, pace = tacho.peak(speed), tacho.coil_frequency(speed)
    told = tacho.noise_step(speed, threshold=threshold, noise=noise, averaging=averaging)
    span = averaging / tacho.frequency(speed)
    grid = np.linspace(-0.25, 0.25, 20_001) / pace
    rising = peak * np.sin(2 * math.pi * pace * grid)
    crossed = [grid[np.argmax(rising + level >= threshold)] for level in np.linspace(-noise, noise, 21)]
    off = [abs(speed * span / (span + last - first) - speed) for first in crossed for last in crossed]
    late = max(crossed) - min(crossed)
    assert max(off) <= told * span / (span - late) * 1.001       # the formula is the first order
    assert max(off) >= told * 0.95
