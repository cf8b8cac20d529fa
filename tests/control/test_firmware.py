"""The program's constants and arithmetic: compiled C against its twin in Python, and both against exact numbers.

Sources: the C language as gcc compiles it; exact arithmetic by ``fractions``; definitions of a timer.
"""

from __future__ import annotations

import random
import shutil
import subprocess
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from designer.control import fixed_point as fp
from designer.control.command import CommandLimit, CommandTable
from designer.control.firmware import RPM, WORD, Demand, Firmware, bound, firmware
from designer.errors import InputError
from designer.sheet.firmware import header, source

GCC = shutil.which("gcc")
needs_gcc = pytest.mark.skipif(GCC is None, reason="no gcc on this machine")
STRICT = ("-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic", "-Wconversion", "-Wshadow")


def phase(**changes: object) -> Demand:
    """A triac on 50 Hz: invented figures."""
    commands = np.linspace(0.0, 1.0, fp.ENTRIES)
    made = Demand(
        clock=16e6, bits=16, pulses=8, averaging=8, gain=4e-3, integral_time=0.25, sample_time=0.01, ramp=2.0,
        target=3000 * RPM, slowest=300 * RPM, trip_speed=4200 * RPM, lost_time=0.05, start_time=0.3,
        table=CommandTable(setting="firing_angle", commands=commands, settings=np.linspace(2.95, 1.2, fp.ENTRIES)),
        limit=CommandLimit(speeds=np.array([0.0, 100.0, 200.0, 400.0]), settings=np.array([1.5, 1.4, 1.3, 1.2]),
                           commands=np.array([0.1, 0.3, 0.25, 1.0])),
        frequency=50.0, gate_guard=5e-4)
    return replace(made, **changes)  # type: ignore[arg-type]


def chopper(**changes: object) -> Demand:
    """A chopper at 16 kHz: invented figures."""
    duties = CommandTable(setting="duty", commands=np.linspace(0.0, 1.0, fp.ENTRIES),
                          settings=np.linspace(0.0, 0.9, fp.ENTRIES))
    return phase(table=duties, frequency=None, switching_frequency=16e3, sample_time=0.002, **changes)


DEMANDS = {"phase": phase(), "60 Hz": phase(frequency=60.0), "chopper": chopper(),
           "fast": phase(target=12000 * RPM, trip_speed=18000 * RPM, gain=3e-4),
           "wide timer": phase(bits=32, clock=64e6)}


@pytest.mark.parametrize("name", DEMANDS)
def test_whole_numbers_come_from_the_exact_ones(name: str) -> None:
    """Every word is the exact number, rounded to its safe side (delays up, duties down, trip down)."""
    made = firmware(DEMANDS[name])
    demand, words = made.demand, made.words
    unit = made.unit
    assert words.set_point * unit == pytest.approx(demand.target, abs=0.5 * unit)
    assert words.trip_speed * unit <= demand.trip_speed < (words.trip_speed + 1) * unit
    exact = demand.gain * unit * fp.FULL
    assert words.proportional / 2**words.proportional_bits == pytest.approx(exact, rel=made.gain_error + 1e-12)
    step = exact * demand.sample_time / demand.integral_time
    assert words.integral / 2**words.integral_bits == pytest.approx(step, rel=made.integral_error + 1e-12)
    tick = demand.clock / made.timers["prescaler"]
    for entry, setting in zip(words.output, demand.table.settings, strict=True):
        if demand.frequency is not None:
            late = entry - setting / np.pi * tick / (2 * demand.frequency)
            assert 0 <= late < 1
        else:
            early = setting * (made.timers["pwm_top"] + 1) - entry
            assert 0 <= early < 1
    if demand.frequency is not None:
        assert made.timers["half_cycle_least"] < tick / (2 * demand.frequency) < made.timers["half_cycle_most"]
        assert made.timers["half_cycle_most"] < 2**demand.bits


@pytest.mark.parametrize("name", DEMANDS)
def test_no_sum_passes_its_word(name: str) -> None:
    """At the greatest error, integral, ramp and reading every sum stays inside 32 bits, by Python's own integers."""
    made = firmware(DEMANDS[name])
    words = made.words
    error = fp.SPEED_MOST
    sums = (words.proportional * error, (fp.FULL << words.integral_bits) + words.integral * error,
            (words.set_point << fp.RAMP_BITS) + words.ramp,
            max(abs(b - a) for a, b in zip(words.output, words.output[1:], strict=False)) << fp.SEGMENT_BITS)
    assert max(sums) <= WORD
    assert made.demand.averaging * words.speed_numerator < 2**32
    assert min(step.value for step in made.headroom) >= 1.0
    assert [step.value for step in made.headroom[:4]] == pytest.approx([WORD / s for s in sums])


def test_speed_is_the_quotient_rounded_down() -> None:
    """Eight intervals of 2,000 Hz, 8 edges a turn: 15,000 rpm (needs.md row 9: f = n·p/60)."""
    made = firmware(DEMANDS["fast"])
    tick = made.demand.clock / made.timers["tacho_prescaler"]
    told = fp.speed(made.words, 8, round(8 * tick / 2000.0), 0)
    assert told * made.unit == pytest.approx(15000 * RPM, abs=made.unit * 2)
    assert fp.speed(made.words, 0, 5, 5) == 0
    assert fp.speed(made.words, 1, 1, 0) == fp.SPEED_MOST


def test_a_late_edge_lowers_the_reading() -> None:
    """While the next edge is late the speed is at most one interval over the ticks waited."""
    words = firmware(phase()).words
    at = fp.speed(words, 8, 40000, 0)
    assert fp.speed(words, 8, 40000, 4000) == at
    assert fp.speed(words, 8, 40000, 20000) == words.speed_numerator // 20000 < at


class Exact:
    """The same regulator in exact fractions, written apart from the package."""

    def __init__(self, made: Firmware) -> None:
        """Take the gains as asked for, before any rounding."""
        demand = made.demand
        self.made = made
        self.gain = Fraction(demand.gain) * Fraction(made.unit) * fp.FULL
        self.step = self.gain * Fraction(demand.sample_time) / Fraction(demand.integral_time)
        self.integral = Fraction(0)
        self.proportional, self.steps = Fraction(0), Fraction(0)

    def next(self, error: int) -> Fraction:
        """One step inside the limits."""
        self.integral += self.step * error
        self.steps += abs(self.step * error)
        self.proportional = max(self.proportional, abs(self.gain * error))
        return self.gain * error + self.integral


@pytest.mark.parametrize("name", DEMANDS)
def test_fixed_point_stays_within_its_bound(name: str) -> None:
    """Inside the limits the whole-number command lies from the exact one by no more than the bound told."""
    made = firmware(DEMANDS[name])
    words, exact, state = made.words, Exact(made), fp.State()
    state.reference = words.set_point << fp.RAMP_BITS
    state.integral = int(fp.FULL // 3) << words.integral_bits
    exact.integral = Fraction(fp.FULL // 3)
    chance, worst = random.Random(7), Fraction(0)
    small = max(1, int(0.02 * words.set_point))
    for _ in range(400):
        error = chance.randint(-small, small)
        told = fp.regulate(replace(words, ceiling=(fp.FULL,) * len(words.ceiling)), state, words.set_point - error)
        wanted = exact.next(error)
        assert 0 < wanted < fp.FULL
        worst = max(worst, abs(told - wanted))
    assert 0 < worst <= bound(made, proportional=float(exact.proportional), integral=float(exact.steps))


def test_the_integral_stands_still_at_its_end() -> None:
    """Held at its ceiling for a long time, the command comes off it at the first step that turns the error round."""
    words, state = firmware(phase()).words, fp.State()
    for _ in range(3000):
        fp.regulate(words, state, 0)
    held = state.integral >> words.integral_bits
    assert held <= words.ceiling[0]
    state.reference = words.set_point << fp.RAMP_BITS
    slow = fp.regulate(words, state, words.set_point + 200)
    assert slow < words.ceiling[0]


def test_trips_latch_until_a_new_start() -> None:
    """Overspeed, lost pulses, no start and lost zeros set their bits, block the output, and stay."""
    words = firmware(phase()).words
    fast = fp.State()
    assert fp.guard(words, fast, edges=8, measured=words.trip_speed) == 0
    assert fp.guard(words, fast, edges=8, measured=words.trip_speed + 1) == fp.TRIP_OVERSPEED
    assert fp.guard(words, fast, edges=8, measured=0) == fp.TRIP_OVERSPEED
    assert fp.regulate(words, fast, 0) == 0
    spikes = fp.State()
    short = words.shortest_interval
    assert [fp.edge(words, spikes, t) for t in (short - 1, short, short - 1, short - 1)] == [0, 0, 0, fp.TRIP_OVERSPEED]
    silent = fp.State(turned=True, command=100)
    trips = [fp.guard(words, silent, edges=0, measured=0) for _ in range(words.lost_steps)]
    assert trips == [0] * (words.lost_steps - 1) + [fp.TRIP_NO_PULSES]
    still = fp.State(command=100)
    assert [fp.guard(words, still, edges=0, measured=0) for _ in range(words.start_steps)][-1] == fp.TRIP_NO_START
    zeros = fp.State()
    found = [fp.zero_cross(words, zeros, words.half_cycle_most + 1) for _ in range(words.zero_cross_misses + 1)]
    assert found == [0] * words.zero_cross_misses + [fp.TRIP_ZERO_CROSS]


def test_a_clock_that_fits_no_timer_is_refused() -> None:
    """Eight bits at 64 MHz span no half cycle with any usual prescaler: told by the key."""
    with pytest.raises(InputError, match=r"control\.clock"):
        firmware(phase(clock=64e6, bits=8))
    with pytest.raises(InputError, match=r"control\.clock"):
        firmware(chopper(clock=1e6))
    with pytest.raises(InputError, match=r"control\.sample_time"):
        firmware(phase(gain=2e-5, integral_time=5.0))


HARNESS = """
#include <stdio.h>
#include "loop.h"
int main(void)
{
    bb_state state;
    unsigned edges, ticks, waited, half;
    bb_start(&state);
    while (scanf("%u %u %u %u", &edges, &ticks, &waited, &half) == 4) {
        int32_t measured = bb_speed((uint16_t)edges, ticks, waited);
        int32_t command;
        PHASE
        if (edges != 0)
            (void)bb_edge(&state, ticks / edges);
        (void)bb_guard(&state, (uint16_t)edges, measured);
        command = bb_regulate(&state, measured);
        printf("%ld %ld %lu %u %ld %ld\\n", (long)measured, (long)command, (unsigned long)bb_output(command),
               (unsigned)state.trips, (long)state.integral, (long)state.reference);
    }
    return 0;
}
"""


def compiled(made: Firmware, folder: Path) -> Path:
    """The program under a harness that reads samples and prints what it makes of them."""
    assert GCC is not None
    (folder / "loop.h").write_text(header(made, title="Test */ of \\ a ??/ title"), encoding="ascii")
    (folder / "loop.c").write_text(source(made, header_name="loop.h"), encoding="ascii")
    call = "(void)bb_zero_cross(&state, half);" if made.demand.frequency else "(void)half;"
    (folder / "main.c").write_text(HARNESS.replace("PHASE", call), encoding="ascii")
    subprocess.run([GCC, *STRICT, "-fsanitize=undefined", "-fno-sanitize-recover", "-o", "loop", "loop.c", "main.c"],
                   cwd=folder, check=True, capture_output=True, text=True)
    return folder / "loop"


def samples(made: Firmware) -> list[tuple[int, int, int, int]]:
    """Edges, ticks, ticks waited, half cycle: a start, running, silence, noise up to the ends of the words."""
    chance = random.Random(11)
    tick = made.demand.clock / made.timers["tacho_prescaler"]
    half = made.timers.get("half_cycle_ticks", 0)
    rows = []
    for k in range(1500):
        speed = made.demand.target * min(1.0, (k + 60) / 600) * chance.uniform(0.9, 1.1)
        interval = 2 * np.pi / (made.demand.pulses * speed) * tick
        edges = 0 if interval >= 2**made.demand.bits else made.demand.averaging
        rows.append((edges, round(edges * interval), chance.choice((0, round(0.3 * interval))), half))
    rows += [(made.demand.averaging, chance.randint(1, 60000), chance.randint(0, 60000), half + chance.randint(-9, 9))
             for _ in range(500)]
    rows += [(0, 0, 0, half)] * 60 + [(8, 1, 0, 2 * half)] * 5
    return rows


@needs_gcc
@pytest.mark.parametrize("name", DEMANDS)
def test_c_source_and_python_agree_sample_by_sample(name: str, tmp_path: Path) -> None:
    """Compiled with every warning an error and undefined behaviour trapped, C gives the same words at every sample."""
    made = firmware(DEMANDS[name])
    rows = samples(made)
    text = "\n".join(" ".join(map(str, row)) for row in rows)
    run = subprocess.run([compiled(made, tmp_path)], input=text, capture_output=True, text=True, check=True)
    words, state, wanted = made.words, fp.State(), []
    for edges, ticks, waited, half in rows:
        measured = fp.speed(words, edges, ticks, waited)
        if made.demand.frequency:
            fp.zero_cross(words, state, half)
        if edges:
            fp.edge(words, state, ticks // edges)
        fp.guard(words, state, edges=edges, measured=measured)
        command = fp.regulate(words, state, measured)
        wanted.append((measured, command, fp.output(words, command), state.trips, state.integral, state.reference))
    got = [tuple(int(part) for part in line.split()) for line in run.stdout.splitlines()]
    assert got == wanted
    assert {row[3] for row in wanted} - {0}
    assert len({row[1] for row in wanted}) > 100


@needs_gcc
@pytest.mark.parametrize("standard", ["c99", "c11", "c17"])
def test_header_compiles_alone(standard: str, tmp_path: Path) -> None:
    """The header by itself compiles without a warning, twice included, whatever stands in the title."""
    assert GCC is not None
    (tmp_path / "loop.h").write_text(header(firmware(phase()), title="*/ int x; /*"), encoding="ascii")
    (tmp_path / "only.c").write_text('#include "loop.h"\n#include "loop.h"\nint main(void) { return 0; }\n')
    subprocess.run([GCC, f"-std={standard}", *STRICT[1:], "-fsyntax-only", "only.c"], cwd=tmp_path, check=True,
                   capture_output=True, text=True)
