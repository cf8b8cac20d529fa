"""The tacho as a speed signal: edges, volts, the lowest speed that it tells, steps and age of its reading.

``Tacho`` is what hangs on the shaft, ``TachoTimer`` (``control.tacho_timer``) the timer that reads it.
Safe side: least volts for the lowest speed, greatest volts for what the input must bear.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from designer.equations import tacho as eq
from designer.errors import InputError
from designer.motor import fit_winding
from designer.quantities import rpm, shown
from designer.results import Quantity, Reason, Step

Counting = Literal["one-edge", "both-edges", "rectified"]
#: edges counted in one period of the coil's voltage
EDGES: Mapping[Counting, int] = {"one-edge": 1, "both-edges": 2, "rectified": 2}
#: peak over threshold and noise at the lowest speed (common practice, no source)
CLEAR_OF_NOISE = 2.0
#: new edges that every update must bring (common practice, no source)
EDGES_AN_UPDATE = 1
#: standard uncertainties by which the volts read are lowered or raised (common practice, no source)
SIGMAS = 2.0


@dataclass(frozen=True, kw_only=True)
class Tacho:
    """``periods`` of the coil's voltage a turn, edges counted of each, volts r.m.s. per rad/s (or None).

    ``volts_spread`` is the standard uncertainty of ``volts`` (V*s).
    """

    periods: int
    counting: Counting = "one-edge"
    volts: float | None = None
    volts_spread: float = 0.0

    @property
    def pulses(self) -> int:
        """Edges counted a turn."""
        return self.periods * EDGES[self.counting]

    @property
    def least_volts(self) -> float:
        """V r.m.s. per rad/s, lower end; raises ``InputError`` for ``readings`` where they were not read."""
        return self._read() - SIGMAS * self.volts_spread

    @property
    def most_volts(self) -> float:
        """V r.m.s. per rad/s, upper end; raises ``InputError`` for ``readings`` where they were not read."""
        return self._read() + SIGMAS * self.volts_spread

    def _read(self) -> float:
        if self.volts is None or not self.volts > SIGMAS * self.volts_spread:
            raise InputError(
                "readings", "tacho readings without voltage" if self.volts is None else "tacho volts unsure by half",
                "`voltage` in a reading of kind \"tacho\"",
                "Turn the shaft at a known speed and read the a.c. volts at the tacho's leads, nothing else on them.")
        return self.volts

    def frequency(self, speed: float) -> float:
        """Give the edges counted a second, Hz, at ``speed`` (rad/s)."""
        return self.pulses * speed / (2 * math.pi)

    def coil_frequency(self, speed: float) -> float:
        """Give the frequency of the coil's voltage, Hz, at ``speed`` (rad/s)."""
        return self.periods * speed / (2 * math.pi)

    def peak(self, speed: float, *, most: bool = False) -> float:
        """Give the least (or the greatest) peak voltage, V, at ``speed`` (rad/s); errors as ``least_volts``."""
        return math.sqrt(2) * (self.most_volts if most else self.least_volts) * speed

    def resolution(self, speed: float, window: float) -> float:
        """Give the step, rad/s, of a speed counted over ``window`` (s); it is the same at every ``speed``."""
        return float(eq.COUNT_STEP(p_c=self.pulses, T_w=window))

    def timed_resolution(self, speed: float, *, clock: float, averaging: int = 1) -> float:
        """Give the step, rad/s, at ``speed`` of a speed from ``averaging`` edge intervals timed at ``clock`` (Hz)."""
        return float(eq.TICK_STEP(omega=speed, p_c=self.pulses, n_a=averaging, f_c=clock))

    def noise_step(self, speed: float, *, threshold: float, noise: float, averaging: int = 1) -> float:
        """Give the greatest error, rad/s, that ``noise`` (V peak, at the terminals) makes at ``speed`` (rad/s).

        Raises ``InputError`` as ``least_volts``, ``ArithmeticError`` where the peak does not clear threshold and noise.
        """
        return float(eq.NOISE_STEP(omega=speed, k_e=EDGES[self.counting], n_a=averaging, V_thr=threshold, V_n=noise,
                                   V_t=self.peak(speed)))

    def crossover(self, *, clock: float, window: float, averaging: int = 1) -> float:
        """Give the speed, rad/s, below which timing at ``clock`` (Hz) is finer than counting over ``window`` (s)."""
        return float(eq.STEPS_CROSS(p_c=self.pulses, n_a=averaging, f_c=clock, T_w=window))

    def age(self, speed: float, averaging: int = 1) -> float:
        """Give the mean age, s, of a reading from ``averaging`` timed edge intervals at ``speed`` (rad/s)."""
        return float(eq.TIMED_AGE(n_a=averaging, p_c=self.pulses, omega=speed))


def tacho_of(found: fit_winding.Tacho | None, counting: Counting = "one-edge") -> Tacho:
    """Give the tacho that the readings tell.

    Raises ``InputError`` for ``readings`` where there are none of a tacho, or where they give no whole number of
    pulses a turn.
    """
    if found is None:
        raise InputError(
            "readings", "no reading of a tacho, and [control] feedback = \"tacho\"",
            "one reading or more of kind \"tacho\" with `speed`, `frequency` and `voltage`",
            "Turn the motor at a known speed, better at two, and read frequency and a.c. volts at the tacho's leads.")
    whole = round(found.pulses[0])
    if not found.whole or whole < 1:
        raise InputError(
            "readings", f"{found.pulses[0]:.4g} ± {found.pulses[1]:.2g} tacho pulses a turn",
            "a whole number of pulses a turn, 1 or more",
            "Read speed and frequency again at two speeds; see that the optical counter sees one mark, and that the "
            "speed is the motor shaft's, not the drum's.")
    volts, spread = found.volts if found.volts is not None else (None, 0.0)
    return Tacho(periods=whole, counting=counting, volts=volts, volts_spread=spread)


@dataclass(frozen=True, kw_only=True)
class Lowest:
    """The lowest speeds, rad/s, that volts, update and timer allow, with their worked steps."""

    by_volts: Step
    by_update: Step
    by_overflow: Step

    @property
    def speed(self) -> float:
        """The greatest of them: below it the reading is not to be relied on."""
        return max(step.value for step in self.steps)

    @property
    def steps(self) -> tuple[Step, Step, Step]:
        """The worked steps."""
        return self.by_volts, self.by_update, self.by_overflow

    @property
    def bound(self) -> str:
        """Which of them binds, in words."""
        words = ("the tacho's volts", "the edges that each update needs", "the timer's overflow")
        return max(zip(self.steps, words, strict=True), key=lambda pair: pair[0].value)[1]


@dataclass(frozen=True, kw_only=True)
class Reading:
    """How the tacho is read: threshold and noise (V, at its terminals), update (s), timer clock (Hz) and bits."""

    threshold: float
    noise: float
    update: float
    clock: float
    bits: int = 16
    averaging: int = 1


def lowest(tacho: Tacho, reading: Reading) -> Lowest:
    """Give the lowest usable speed; raises ``InputError`` as ``Tacho.least_volts``."""
    return Lowest(
        by_volts=Step(formula=eq.LOWEST_BY_VOLTS, note="least volts read", inputs={
            "m_a": CLEAR_OF_NOISE, "V_thr": reading.threshold, "V_n": reading.noise, "k_t": tacho.least_volts}),
        by_update=Step(formula=eq.LOWEST_BY_UPDATE, inputs={
            "n_e": float(EDGES_AN_UPDATE), "p_c": float(tacho.pulses), "T_s": reading.update}),
        by_overflow=Step(formula=eq.LOWEST_BY_OVERFLOW, inputs={
            "f_c": reading.clock, "p_c": float(tacho.pulses), "b_t": float(reading.bits)}))


def too_slow(tacho: Tacho, reading: Reading, speeds: Iterable[float]) -> tuple[Reason, ...]:
    """Give a reason for each of ``speeds`` (rad/s, at the motor) that lies below the lowest usable one."""
    found = lowest(tacho, reading)
    return tuple(
        Reason(
            code="tacho-too-slow",
            message=f"At {rpm(speed)} the tacho does not tell the speed: {rpm(found.speed)} is the lowest, set by "
                    f"{found.bound}.",
            figure=Quantity(speed, "rad/s"), limit=Quantity(found.speed, "rad/s"),
            way_out=_way_out(tacho, found, speed), nearest={"speed": Quantity(found.speed, "rad/s")})
        for speed in sorted(set(speeds)) if speed < found.speed)


def _way_out(tacho: Tacho, found: Lowest, speed: float) -> str:
    ratio = math.ceil(10 * found.speed / speed - 1e-6) / 10      # rounded up, like the time below: both must suffice
    ways = [f"A gear ratio {ratio:.2g} times as large, so that the motor turns faster at the same output speed"]
    if found.by_update.value > speed:
        update = math.ceil(1e4 * found.by_update.inputs["T_s"] * found.by_update.value / speed - 1e-6) / 1e4
        ways.append(f"an update of {shown(update, 's', 3)} or longer ([control] sample_time)")
    if found.by_volts.value > speed:
        ways.append("a lower comparator threshold, if the noise measured allows it")
    if found.by_overflow.value > speed:
        ways.append("a slower timer clock or a longer timer ([control] clock, timer_bits)")
    if tacho.counting == "one-edge":
        ways.append("both edges counted")
    ways.append(f"a tacho with {math.ceil(found.speed / speed * tacho.periods - 1e-6)} pulses a turn or more")
    return f"{', '.join(ways[:-1])}, or {ways[-1]}."
