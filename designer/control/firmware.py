"""The constants of the program: timer, tables, gains in fixed point, ramp, trips, and how far they stay from overflow.

All are whole numbers, as the C source takes them; the worked steps tell how each came about. Safe side: prescaler up,
delays up (less output), trip speed and times of the guard down, headroom of every sum at its greatest input.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from designer.control import fixed_point as fp
from designer.control.command import CommandLimit, CommandTable
from designer.control.tacho_timer import PRESCALERS
from designer.equations import firmware as eq
from designer.errors import InputError
from designer.quantities import engineering
from designer.results import Step

RPM = 2 * math.pi / 60
WORD, UNSIGNED = 2**31 - 1, 2**32 - 1
FAST = 1.25              # of the trip speed: what the speed word must still tell
SHIFTS = range(6, -4, -1)    # binary places of a speed count, in rpm
GAIN_BITS = 15           # a gain is made to fill this many bits
COARSEST = 0.02          # share by which rounding may change a gain; common practice, no source
ZERO_CROSS_MISSES = 2    # wrong half cycles in a row that are borne; common practice, no source
ZERO_CROSS_SLACK = 0.02  # of a half cycle beyond the mains band: the detector's own edge moves; common practice


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the program is made for; SI, speeds of the motor.

    ``frequency`` (Hz) of the mains with its spread as a share, None on a chopper, which has ``switching_frequency``.
    ``gain`` (command per rad/s), ``integral_time`` and ``sample_time`` (s) of the regulator; ``ramp`` (s) from rest to
    ``target``; ``lost_time`` and ``start_time`` (s) without edges that trip; ``slowest`` the lowest usable speed.
    """

    clock: float
    bits: int
    pulses: int
    averaging: int
    table: CommandTable
    limit: CommandLimit
    gain: float
    integral_time: float
    sample_time: float
    ramp: float
    target: float
    slowest: float
    trip_speed: float
    lost_time: float
    start_time: float
    frequency: float | None = None
    frequency_spread: float = 0.01
    switching_frequency: float | None = None
    gate_guard: float = 0.0
    gate_pulse: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Firmware:
    """The words of the arithmetic, the timers' settings (by name), worked steps and each sum's headroom.

    ``unit`` is one count of speed, rad/s; ``gain_error`` and ``integral_error`` are the shares by which rounding
    changed the gains.
    """

    demand: Demand
    words: fp.Words
    unit: float
    shift: int
    timers: dict[str, int]
    steps: tuple[Step, ...]
    headroom: tuple[Step, ...]
    gain_error: float
    integral_error: float


def firmware(demand: Demand) -> Firmware:
    """Make the constants.

    Raises ``InputError`` for ``control.clock`` where no prescaler suits the timer or a PWM count is too coarse, and for
    ``control.sample_time`` where a gain is too small for its word.
    """
    shift = _shift(demand)
    unit = RPM * 2.0**-shift
    timers, ticks, steps = _timers(demand)
    timers["tacho_prescaler"], numerator = _capture(demand, unit)
    words, gains = _words(demand, timers, unit=unit, numerator=math.floor(numerator.value), output=ticks)
    errors = [abs(round(step.value) / step.value - 1) for step in gains]
    if max(errors) > COARSEST:
        raise InputError(
            "control.sample_time", f"{engineering(demand.sample_time, 's')}: the integral gain is {gains[1].value:.3g} "
            f"in a word of {GAIN_BITS} bits", f"a gain that rounding changes by at most {COARSEST:.0%}",
            "A longer sample time, or a regulator with a shorter integral time.")
    return Firmware(demand=demand, words=words, unit=unit, shift=shift, timers=timers,
                    steps=(*steps, numerator, *gains), headroom=_headroom(words, demand.averaging),
                    gain_error=errors[0], integral_error=errors[1])


def bound(made: Firmware, *, proportional: float, integral: float) -> float:
    """Counts by which the command may lie from the exact regulator's, inside its limits.

    ``proportional``: greatest part of that name; ``integral``: sum of the magnitudes of all its steps; counts.
    """
    return float(eq.FIXED_POINT_BOUND(delta_p=made.gain_error, P_abs=proportional, delta_i=made.integral_error,
                                      I_abs=integral))


def _shift(demand: Demand) -> int:
    """Binary places of rpm in a count of speed: as fine as the word lets the fastest speed be."""
    fastest = FAST * demand.trip_speed / RPM
    return next(s for s in SHIFTS if fastest * 2.0**s <= fp.SPEED_MOST)


def _capture(demand: Demand, unit: float) -> tuple[int, Step]:
    """The prescaler of the timer between edges, and the speed's numerator.

    The least with which an interval at the slowest speed fits the timer, and the numerator of all intervals its word.
    """
    longest = 2 * math.pi / (demand.pulses * demand.slowest)
    first = _prescaler(demand, longest, what="an interval between two edges of the tacho at its lowest usable speed")
    for prescaler in (p for p in PRESCALERS if p >= first):
        numerator = Step(formula=eq.SPEED_NUMERATOR, inputs={
            "f_tick": demand.clock / prescaler, "z_p": float(demand.pulses), "w_q": unit})
        if demand.averaging * numerator.value < UNSIGNED:
            return prescaler, numerator
    raise InputError("control.clock", engineering(demand.clock, "Hz"), "a clock whose ticks between edges fit 32 bits",
                     "A slower timer clock.")


def _prescaler(demand: Demand, time: float, *, what: str) -> int:
    found = next((p for p in PRESCALERS if time * demand.clock / p < 2**demand.bits), None)
    if found is None:
        raise InputError(
            "control.clock", engineering(demand.clock, "Hz"),
            f"a timer of {demand.bits} bits that spans {engineering(time, 's')}",
            f"It has to span {what}: a slower clock, or more bits in control.timer_bits.")
    return found


def _timers(demand: Demand) -> tuple[dict[str, int], tuple[int, ...], list[Step]]:
    """Prescaler and counts of the timer that fires or chops, the output table in its counts, and the steps."""
    if demand.switching_frequency is not None:
        return _pwm(demand, demand.switching_frequency)
    assert demand.frequency is not None
    slow, fast = (demand.frequency * (1 + sign * (demand.frequency_spread + ZERO_CROSS_SLACK)) for sign in (-1, 1))
    prescaler = _prescaler(demand, 0.5 / slow, what="a half cycle of the slowest mains")
    tick = Step(formula=eq.TICK_FREQUENCY, inputs={"f_clk": demand.clock, "n_pre": float(prescaler)})
    half = Step(formula=eq.HALF_CYCLE_TICKS, inputs={"f_tick": tick.value, "f": demand.frequency})
    delays = [Step(formula=eq.DELAY_TICKS, inputs={"alpha": float(a), "N_half": half.value})
              for a in demand.table.settings]
    timers = {"prescaler": prescaler, "half_cycle_ticks": round(half.value),
              "half_cycle_least": math.floor(tick.value / (2 * fast)),
              "half_cycle_most": math.ceil(tick.value / (2 * slow)),
              "guard_ticks": math.ceil(demand.gate_guard * tick.value),
              "gate_pulse_ticks": math.ceil(demand.gate_pulse * tick.value)}
    return timers, tuple(math.ceil(step.value) for step in delays), [tick, half, delays[len(delays) // 2]]


def _pwm(demand: Demand, frequency: float) -> tuple[dict[str, int], tuple[int, ...], list[Step]]:
    """The PWM timer: the least prescaler whose period fits, its highest count, and the duties in counts."""
    prescaler = _prescaler(demand, 1 / frequency, what="a period of the switching frequency")
    tick = Step(formula=eq.TICK_FREQUENCY, inputs={"f_clk": demand.clock, "n_pre": float(prescaler)})
    top = Step(formula=eq.PWM_TOP, inputs={"f_tick": tick.value, "f_s": frequency})
    count = math.floor(top.value + 1e-9)
    if count < 100:
        raise InputError(
            "control.clock", engineering(demand.clock, "Hz"),
            "100 counts or more in a period of the switching frequency",
            "A faster timer clock, or a lower circuit.switching_frequency.")
    output = tuple(math.floor(float(d) * (count + 1)) for d in demand.table.settings)
    return {"prescaler": prescaler, "pwm_top": count}, output, [tick, top]


def _words(
    demand: Demand, timers: dict[str, int], *, unit: float, numerator: int, output: tuple[int, ...]
) -> tuple[fp.Words, tuple[Step, Step]]:
    """The words of the arithmetic, and the steps of both gains."""
    if len(output) != fp.ENTRIES:
        raise ValueError(f"an output table of {len(output)} entries, not {fp.ENTRIES}")
    common = {"K_p": demand.gain, "w_q": unit, "N_full": float(fp.FULL)}
    real = float(eq.PROPORTIONAL_COUNTS(**common, b_p=0.0))
    places = max(0, min(30, GAIN_BITS - 1 - math.floor(math.log2(real))))
    gain = Step(formula=eq.PROPORTIONAL_COUNTS, inputs={**common, "b_p": float(places)})
    integral_places = fp.INTEGRAL_BITS
    integral = Step(formula=eq.INTEGRAL_COUNTS, inputs={
        **common, "T_s": demand.sample_time, "T_i": demand.integral_time, "b_i": float(integral_places)})
    target = round(demand.target / unit)
    steps_of_ramp = max(demand.ramp / demand.sample_time, 1.0)
    speeds = [math.floor(s / unit) for s in demand.limit.speeds]
    return fp.Words(
        speed_numerator=numerator, proportional=round(gain.value), proportional_bits=places,
        integral=round(integral.value), integral_bits=integral_places, set_point=target,
        ramp=max(1, math.floor((target << fp.RAMP_BITS) / steps_of_ramp)),
        ceiling_speed=tuple(min(s, fp.SPEED_MOST) for s in speeds),
        ceiling=tuple(math.floor(float(c) * fp.FULL) for c in demand.limit.commands), output=output,
        eased=tuple(demand.limit.easing(float(s), target=demand.target) for s in demand.limit.speeds),
        trip_speed=math.floor(demand.trip_speed / unit),
        shortest_interval=math.ceil(
            2 * math.pi / (demand.pulses * demand.trip_speed) * demand.clock / timers["tacho_prescaler"]),
        lost_steps=max(1, math.floor(demand.lost_time / demand.sample_time)),
        start_steps=max(1, math.floor(demand.start_time / demand.sample_time)),
        half_cycle_least=timers.get("half_cycle_least", 0), half_cycle_most=timers.get("half_cycle_most", 0),
        zero_cross_misses=ZERO_CROSS_MISSES,
    ), (gain, integral)


def _headroom(words: fp.Words, averaging: int) -> tuple[Step, ...]:
    """How many times the greatest sum of every 32-bit word fits into it."""
    error = float(fp.SPEED_MOST)
    return (
        Step(formula=eq.WORD_HEADROOM, note="proportional part", inputs={
            "N_word": float(WORD), "M_g": float(words.proportional), "e_max": error, "A_max": 0.0}),
        Step(formula=eq.WORD_HEADROOM, note="integral", inputs={
            "N_word": float(WORD), "M_g": float(words.integral), "e_max": error,
            "A_max": float(fp.FULL << words.integral_bits)}),
        Step(formula=eq.WORD_HEADROOM, note="ramp", inputs={
            "N_word": float(WORD), "M_g": 1.0, "e_max": float(words.ramp),
            "A_max": float(words.set_point << fp.RAMP_BITS)}),
        Step(formula=eq.WORD_HEADROOM, note="output table", inputs={
            "N_word": float(WORD), "M_g": float(np.max(np.abs(np.diff(words.output)))),
            "e_max": float(1 << fp.SEGMENT_BITS), "A_max": 0.0}),
        Step(formula=eq.WORD_HEADROOM, note="speed from edges, unsigned", inputs={
            "N_word": float(UNSIGNED), "M_g": float(averaging), "e_max": float(words.speed_numerator), "A_max": 0.0}),
    )
