"""A tacho as feedback, put together: how its edges are counted, its input, its timer, and what stands against it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from designer.control.tacho import EDGES, Lowest, Reading, Tacho, lowest, tacho_of, too_slow
from designer.control.tacho_table import trade
from designer.control.tacho_timer import PRESCALERS, TachoTimer, prescaler
from designer.equations import tacho as eq
from designer.motor import fit_winding
from designer.parts import tacho_input
from designer.parts.tacho_values import USUAL_NOISE
from designer.results import Assumption, Reason, Step, Table

#: share of the slowest target that the timer must still span: a start is to be seen (common practice, no source)
SEEN_FROM = 0.25
#: updates by which a reading averaged over a whole turn may be old (common practice, no source)
AGE = 2.0
_AT_THE_LEADS = Assumption(
    text="The tacho's frequency was read at its two leads, not behind a bridge: behind one it reads double, and "
         "the loop would hold the motor at twice the target. Compare with an independent speed counter at the first "
         "start, at a low target", mark="assumed")
_NOISE = Assumption(
    text=f"Noise of {USUAL_NOISE:g} V peak at the tacho's comparator, behind its filter: measure it with the motor "
         "running", mark="assumed, common practice, no source")


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What is wanted of the tacho, SI: speeds at the motor, ``update`` (s), the timer, and where its input stands.

    ``highest`` (rad/s): the speed that can come, full conduction without load. ``clock`` (Hz) ahead of the timer's
    divider; ``noise`` (V peak at the comparator) where it was measured.
    """

    speeds: tuple[float, ...]
    highest: float
    update: float
    clock: float
    bus_peak: float
    mains: float
    bits: int = 16
    noise: float | None = None
    altitude: float = 0.0
    own_supply: bool = True
    margins: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Stage:
    """The tacho as it is read: ``divider`` of the timer's clock, ``reasons`` against it, the table of updates."""

    tacho: Tacho
    input: tacho_input.Input
    reading: Reading
    timer: TachoTimer
    divider: int
    lowest: Lowest
    reasons: tuple[Reason, ...]
    table: Table
    assumptions: tuple[Assumption, ...]
    speeds: tuple[float, ...]

    @property
    def worked(self) -> tuple[Step, ...]:
        """Worked steps: edges, timer's step and age at the slowest and the fastest target, then the lowest speeds."""
        ends = dict.fromkeys((min(self.speeds), max(self.speeds)))
        told = [step for speed in ends for step in (
            Step(formula=eq.EDGE_RATE, inputs={"p_c": float(self.tacho.pulses), "omega": speed}),
            self.timer.step(speed),
            Step(formula=eq.TIMED_AGE, inputs={
                "n_a": float(self.timer.averaging), "p_c": float(self.tacho.pulses), "omega": speed}))]
        return (*told, *self.lowest.steps)

    def delay(self, speed: float) -> float:
        """Give by how much the reading is old at ``speed`` (rad/s), s: timer's mean age, filter, barrier."""
        return self.timer.age(speed) + self.input.delay


def stage(found: fit_winding.Tacho | None, wanted: Wanted) -> Stage:
    """Put tacho, input and timer together.

    Raises ``InputError`` as ``tacho_of``, ``Tacho.least_volts`` and ``parts.tacho_input.design`` do; targets below the
    lowest speed come back as ``reasons``.
    """
    tacho = _counted(tacho_of(found), wanted)
    noise = USUAL_NOISE if wanted.noise is None else wanted.noise
    made = tacho_input.design(tacho_input.Demand(
        peak=tacho.peak(wanted.highest, most=True), frequency=tacho.coil_frequency(wanted.highest), noise=noise,
        bus_peak=wanted.bus_peak, mains=wanted.mains, altitude=wanted.altitude, own_supply=wanted.own_supply,
        margins=wanted.margins))
    slowest = min(wanted.speeds)
    divider = prescaler(clock=wanted.clock, pulses=tacho.pulses, bits=wanted.bits,
                        lowest=SEEN_FROM * slowest) or PRESCALERS[-1]
    averaging = _averaging(tacho, slowest, wanted.update)
    reading = Reading(threshold=made.threshold, noise=made.terminal_noise, update=wanted.update,
                      clock=wanted.clock / divider, bits=wanted.bits, averaging=averaging)
    return Stage(
        tacho=tacho, input=made, reading=reading, divider=divider, lowest=lowest(tacho, reading),
        timer=TachoTimer(clock=reading.clock, pulses=tacho.pulses, averaging=averaging, bits=wanted.bits),
        reasons=too_slow(tacho, reading, wanted.speeds), table=trade(tacho, reading, slowest),
        speeds=wanted.speeds, assumptions=(_AT_THE_LEADS, *(() if wanted.noise is not None else (_NOISE,))))


def _counted(tacho: Tacho, wanted: Wanted) -> Tacho:
    """One edge a period; both where only that brings new edges in each update at the slowest speed."""
    edges = tacho.frequency(min(wanted.speeds)) * wanted.update
    return replace(tacho, counting="both-edges") if edges < 1 else tacho


def _averaging(tacho: Tacho, slowest: float, update: float) -> int:
    """A whole turn, where that is not too old at the slowest speed; else what fits into an update, whole periods."""
    if tacho.age(slowest, tacho.pulses) <= AGE * update:
        return tacho.pulses
    edges = EDGES[tacho.counting]
    fits = math.floor(tacho.frequency(slowest) * update / edges) * edges
    return min(max(fits, edges), tacho.pulses)
