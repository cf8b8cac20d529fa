"""The regulator in whole numbers, step by step as the C source has it: 32-bit words, no division but one.

Every function here has its twin of the same name in ``sheet/templates/speed_loop.c``; a test runs both side by side.
Shifts to the right round towards minus infinity in both.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.control.guard import SHORT_IN_A_ROW

COMMAND_BITS = 15
FULL = 1 << COMMAND_BITS           # counts of the full command
SEGMENT_BITS = 9                   # counts of command from one entry of the output table to the next: 2**9
ENTRIES = (FULL >> SEGMENT_BITS) + 1
RAMP_BITS = 16
INTEGRAL_BITS = 14                 # binary places of the integral, in counts of command
SPEED_MOST = 32767                # counts: a reading above it is told as this
#: trips, one bit each; once set they stay until the controller starts anew
TRIP_OVERSPEED, TRIP_NO_PULSES, TRIP_NO_START, TRIP_ZERO_CROSS = 1, 2, 4, 8


@dataclass(frozen=True, kw_only=True)
class Words:
    """What the arithmetic needs, whole numbers all: see ``control.firmware`` for their meaning and making.

    ``output`` is the table of delays or compare values, ``ceiling_speed`` and ``ceiling`` the most command allowed at a
    speed, ``eased`` how often the gain is halved there. Times of the guard are in steps of the regulator.
    """

    speed_numerator: int
    proportional: int
    proportional_bits: int
    integral: int
    integral_bits: int
    set_point: int
    ramp: int
    ceiling_speed: tuple[int, ...]
    ceiling: tuple[int, ...]
    eased: tuple[int, ...]
    output: tuple[int, ...]
    trip_speed: int
    shortest_interval: int
    lost_steps: int
    start_steps: int
    half_cycle_least: int = 0
    half_cycle_most: int = 0
    zero_cross_misses: int = 0


class State:
    """What the regulator remembers from step to step.

    ``reference``: set point of the ramp, speed counts << ``RAMP_BITS``; ``integral``: counts of command <<
    ``integral_bits``; ``silent``: steps without an edge while the output is on; ``turned``: an edge has been seen since
    the start; ``misses``: wrong half cycles, ``short``: edge intervals that were too short, each in a row.
    """

    def __init__(self, *, command: int = 0, turned: bool = False) -> None:
        """Begin as after a start, with this command and whether an edge has been seen."""
        self.reference = self.integral = self.silent = self.misses = self.short = self.trips = 0
        self.command, self.turned = command, turned


def speed(words: Words, intervals: int, ticks: int, waited: int) -> int:
    """Speed counts from ``intervals`` between edges that took ``ticks`` together; 0 where there is none.

    While the next edge is late the speed is no more than one interval over the ticks ``waited`` since the last.
    """
    if intervals == 0 or ticks == 0:
        return 0
    told = intervals * words.speed_numerator // ticks
    if waited:
        told = min(told, words.speed_numerator // waited)
    return min(told, SPEED_MOST)


def place(words: Words, measured: int) -> int:
    """The entry of the ceilings that counts at a speed: the lower of the two beside it."""
    at, most = words.ceiling_speed, words.ceiling
    k = 0
    while k < len(at) and at[k] < measured:
        k += 1
    if k == 0:
        return 0
    if k == len(at):
        return len(at) - 1
    return k if at[k] == measured or most[k] < most[k - 1] else k - 1


def regulate(words: Words, state: State, measured: int) -> int:
    """One step: the command, 0 to ``FULL``; the integral stands still where the output is at its end."""
    if state.trips:
        state.command = 0
        return 0
    target = words.set_point << RAMP_BITS
    state.reference = min(state.reference + words.ramp, target)
    error = (state.reference >> RAMP_BITS) - measured
    at = place(words, measured)
    most, eased = words.ceiling[at], words.eased[at]
    integral = state.integral + (words.integral * error >> eased)
    integral = max(0, min(integral, FULL << words.integral_bits))
    part = words.proportional * error >> words.proportional_bits
    command = (part >> eased) + (integral >> words.integral_bits)
    if command > most:
        command = most
        if error < 0:
            state.integral = integral
    elif command < 0:
        command = 0
        if error > 0:
            state.integral = integral
    else:
        state.integral = integral
    state.command = command
    return command


def output(words: Words, command: int) -> int:
    """Ticks from the zero to the gate, or the compare value of a PWM timer: straight lines between the entries."""
    place, rest = command >> SEGMENT_BITS, command & ((1 << SEGMENT_BITS) - 1)
    if rest == 0:
        return words.output[place]
    rise = words.output[place + 1] - words.output[place]
    return words.output[place] + (rise * rest >> SEGMENT_BITS)


def guard(words: Words, state: State, *, edges: int, measured: int) -> int:
    """Set the trips of one step; any of them blocks the gates and lets the second switch-off path go."""
    if measured > words.trip_speed:
        state.trips |= TRIP_OVERSPEED
    if edges:
        state.silent, state.turned = 0, True
    elif state.command:
        state.silent += 1
        if state.turned and state.silent >= words.lost_steps:
            state.trips |= TRIP_NO_PULSES
        if not state.turned and state.silent >= words.start_steps:
            state.trips |= TRIP_NO_START
    return state.trips


def edge(words: Words, state: State, ticks: int) -> int:
    """At an edge, ``ticks`` after the one before: too short an interval for the second time in a row trips."""
    if ticks < words.shortest_interval:
        state.short += 1
        if state.short >= SHORT_IN_A_ROW:
            state.trips |= TRIP_OVERSPEED
    else:
        state.short = 0
    return state.trips


def zero_cross(words: Words, state: State, ticks: int) -> int:
    """Hold the time since the last zero against a half cycle; more wrong ones in a row than allowed trip."""
    if words.half_cycle_least <= ticks <= words.half_cycle_most:
        state.misses = 0
    else:
        state.misses += 1
        if state.misses > words.zero_cross_misses:
            state.trips |= TRIP_ZERO_CROSS
    return state.trips
