"""The program's constants by the names that they have in C, with their meaning."""

from __future__ import annotations

from dataclasses import dataclass

from designer.control import fixed_point as fp
from designer.control.firmware import Firmware
from designer.control.guard import SHORT_IN_A_ROW
from designer.control.tacho_timer import PRESCALERS
from designer.quantities import engineering, rpm

#: what is let go after what, in a start; the next only where the one before has been seen to be right
ORDER = (
    ("BB_ORDER_SELF_TEST", "trips cleared, tables in range, timers run, watchdog on"),
    ("BB_ORDER_SUPPLY_SEEN", "logic supply steady, zeros or bus as they should be, for 0.2 s"),
    ("BB_ORDER_START_PRESSED", "the start button newly pressed: not held since the supply came"),
    ("BB_ORDER_SECOND_PATH", "relay of the second path closed; its auxiliary contact seen"),
    ("BB_ORDER_FIELD_SEEN", "field current seen, where the field is fed apart"),
    ("BB_ORDER_OUTPUT", "bb_start, then gates or PWM from command 0 along the ramp"),
)
#: what is let go after what, in a stop or a trip
LATCHED = "A trip blocks the output first, then opens the second path; bb_start alone clears it"


@dataclass(frozen=True, kw_only=True)
class Define:
    """One constant as C has it."""

    name: str
    value: int
    meaning: str
    suffix: str = ""

    @property
    def text(self) -> str:
        """The number, of 32 bits where ``suffix`` says so; a negative one in brackets."""
        if self.suffix:
            return f"{'UINT32_C' if self.suffix == 'UL' else 'INT32_C'}({self.value})"
        return f"{self.value}" if self.value >= 0 else f"({self.value})"


@dataclass(frozen=True, kw_only=True)
class Group:
    """Constants that belong together."""

    title: str
    constants: tuple[Define, ...]


def about(made: Firmware) -> tuple[str, ...]:
    """What the constants were made for, in words."""
    demand = made.demand
    return (
        f"Target {rpm(demand.target)} of the motor, soft start over {engineering(demand.ramp, 's', 3)}; trip at "
        f"{rpm(demand.trip_speed)}.",
        f"One step every {engineering(demand.sample_time, 's', 4)}; timer clock {engineering(demand.clock, 'Hz', 4)}, "
        f"{demand.bits} bits; {demand.pulses} tacho edges a turn, {demand.averaging} intervals averaged.",
        f"Rounding changes the proportional gain by {made.gain_error:.2%}, the integral gain by "
        f"{made.integral_error:.2%}; the least headroom of a 32-bit sum is "
        f"{min(step.value for step in made.headroom):.2f}.",
        f"{LATCHED}.",
    )


def groups(made: Firmware) -> tuple[Group, ...]:
    """Every constant with its meaning, by what it is for."""
    words, demand = made.words, made.demand
    return (
        Group(title="timers", constants=tuple(
            Define(name=f"BB_{name.upper()}", value=value, suffix="UL", meaning=_TIMERS[name])
            for name, value in {"clock_hz": round(demand.clock), **made.timers}.items())),
        Group(title="speed", constants=(
            Define(name="BB_SPEED_PLACES", value=made.shift, meaning="one count is 2**-this rpm of the motor"),
            Define(name="BB_SPEED_NUMERATOR", value=words.speed_numerator, suffix="UL",
                   meaning="counts of speed times ticks between edges"),
            Define(name="BB_SPEED_MOST", value=fp.SPEED_MOST, meaning="a faster reading is told as this"),
            Define(name="BB_INTERVALS", value=demand.averaging, meaning="intervals between edges that are averaged"))),
        Group(title="regulator", constants=(
            Define(name="BB_SET_POINT", value=words.set_point, meaning="counts of speed"),
            Define(name="BB_RAMP", value=words.ramp, suffix="L", meaning="a step, times 2**BB_RAMP_BITS"),
            Define(name="BB_RAMP_BITS", value=fp.RAMP_BITS, meaning="binary places of the ramp"),
            Define(name="BB_PROPORTIONAL", value=words.proportional, suffix="L", meaning="gain, whole"),
            Define(name="BB_PROPORTIONAL_BITS", value=words.proportional_bits, meaning="its binary places"),
            Define(name="BB_INTEGRAL", value=words.integral, suffix="L", meaning="gain a step, whole"),
            Define(name="BB_INTEGRAL_BITS", value=words.integral_bits, meaning="its binary places"),
            Define(name="BB_COMMAND_FULL", value=fp.FULL, suffix="L", meaning="counts of the full command"),
            Define(name="BB_SEGMENT_BITS", value=fp.SEGMENT_BITS, meaning="2**this counts between table entries"),
            Define(name="BB_SAMPLE_TIME_US", value=round(demand.sample_time * 1e6), suffix="UL",
                   meaning="between two steps, microseconds"))),
        Group(title="trips", constants=_trips(made)),
    )


def _trips(made: Firmware) -> tuple[Define, ...]:
    words = made.words
    found = (
        Define(name="BB_TRIP_OVERSPEED", value=fp.TRIP_OVERSPEED, meaning="bit: faster than BB_TRIP_SPEED"),
        Define(name="BB_TRIP_NO_PULSES", value=fp.TRIP_NO_PULSES, meaning="bit: edges stopped while output is on"),
        Define(name="BB_TRIP_NO_START", value=fp.TRIP_NO_START, meaning="bit: no edge after the output came on"),
        Define(name="BB_TRIP_ZERO_CROSS", value=fp.TRIP_ZERO_CROSS, meaning="bit: zeros of the mains lost or doubled"),
        Define(name="BB_TRIP_SPEED", value=words.trip_speed, meaning="counts of speed"),
        Define(name="BB_SHORTEST_INTERVAL", value=words.shortest_interval, suffix="UL",
               meaning="ticks between edges; a shorter one is too fast"),
        Define(name="BB_SHORT_IN_A_ROW", value=SHORT_IN_A_ROW, meaning="short intervals in a row that trip"),
        Define(name="BB_LOST_STEPS", value=words.lost_steps, meaning="steps without an edge, running"),
        Define(name="BB_START_STEPS", value=words.start_steps, meaning="steps without an edge, starting"),
    )
    if made.demand.frequency is None:
        return found
    return (*found, Define(name="BB_ZERO_CROSS_MISSES", value=words.zero_cross_misses,
                           meaning="wrong half cycles in a row that are borne"))


_TIMERS = {
    "clock_hz": "clock of the timers",
    "prescaler": f"of the timer that fires or chops; one of {', '.join(map(str, PRESCALERS))}",
    "tacho_prescaler": "of the timer between edges",
    "half_cycle_ticks": "at the nominal frequency",
    "half_cycle_least": "shorter: a doubled zero",
    "half_cycle_most": "longer: a lost zero",
    "guard_ticks": "the gate is let go this long before the next zero",
    "gate_pulse_ticks": "length of a gate pulse; 0: held up to the guard",
    "pwm_top": "highest count of the PWM timer",
}


def constants_json(made: Firmware) -> dict[str, object]:
    """The same for JSON: every constant by its name in C, and the tables."""
    return {
        "constants": {one.name: one.value for group in groups(made) for one in group.constants},
        "output_table": list(made.words.output), "ceiling_speed": list(made.words.ceiling_speed),
        "ceiling_command": list(made.words.ceiling), "eased": list(made.words.eased),
        "order": [name for name, _ in ORDER],
    }
