"""A motor's dimensions against usual limits, and its heat over a duty cycle; limits in ``tables/motor_limits.csv``."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from designer.equations import commutator as eq
from designer.equations.motor import DUTY_FACTOR
from designer.results import Quantity, Step
from designer.tables import marked, read


@dataclass(frozen=True, kw_only=True)
class Limit:
    """What is usual and what is the most, in ``unit``."""

    name: str
    usual: float
    most: float
    unit: str
    meaning: str
    source: str
    mark: str

    @property
    def told(self) -> str:
        """Meaning and source in one."""
        return f"{self.meaning}: {marked(self.source, self.mark)}"


@cache
def limit(name: str) -> Limit:
    """Give the limit of that name; ``KeyError`` on an unknown one."""
    return {row.name: row for row in read("motor_limits", Limit)}[name]


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """A winding over the duty: rises (K) under load for ever and allowed, time constants (s) under load and at rest."""

    end: float
    allowed: float
    loaded: float
    rest: float

    @property
    def continuous(self) -> bool:
        """True where it may run for ever."""
        return self.end <= self.allowed

    @property
    def longest(self) -> Step | None:
        """The step for the longest time on, s, from cold; None where it may run for ever or never at all."""
        if self.continuous or self.allowed <= 0:
            return None
        return Step(formula=eq.LONGEST_ON, inputs={
            "tau_on": self.loaded, "dT_end": self.end, "dT_max": self.allowed}, note="from cold")

    def peak(self, on: float, off: float) -> float:
        """Give the greatest rise, K, of a cycle of ``on`` and ``off`` seconds that goes on for ever."""
        return self.end * float(DUTY_FACTOR(t_on=on, t_off=off, tau_th=self.loaded, tau_off=self.rest))

    def trough(self, on: float, off: float) -> Step:
        """Give the step for the least rise, K, of that cycle."""
        return Step(formula=eq.CYCLE_TROUGH, inputs={
            "dT_peak": self.peak(on, off), "t_off": off, "tau_rest": self.rest})

    def off_after(self, on: float) -> Step | None:
        """Give the step for the rest wanted after ``on`` seconds; None where no rest is enough, or none is needed."""
        if self.continuous or self.longest is None or on >= self.longest.value:
            return None
        return Step(formula=eq.NEEDED_OFF, inputs={
            "tau_rest": self.rest, "dT_end": self.end, "dT_max": self.allowed, "t_on": on, "tau_on": self.loaded})


def bar_voltages(bars: float, *, across: float, speed_voltage: float) -> tuple[Step, Step, Step]:
    """Give the steps of the voltage between bars: crest across the armature spread evenly; the mean and the peak of
    the speed voltage, from its crest.
    """
    return (Step(formula=eq.BAR_VOLTAGE, inputs={"V_arm": across, "N_bars": bars}, note="crest of the supply, evenly"),
            Step(formula=eq.BAR_VOLTAGE, inputs={"V_arm": speed_voltage, "N_bars": bars}, note="by the speed voltage"),
            Step(formula=eq.BAR_PEAK, inputs={"E_arm": speed_voltage, "N_bars": bars}))


def quantity(step: Step) -> Quantity:
    """Give a step's result with its unit; not a number stays so."""
    return Quantity(step.value if math.isfinite(step.value) else math.nan, step.formula.result.unit)
