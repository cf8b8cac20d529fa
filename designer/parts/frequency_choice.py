"""The switching frequency of a chopper as a trade: ripple and noise fall with it, losses and short pulses grow.

What it must withstand: the ripple that the motor bears, the loss that the heatsink takes beside conduction, the
shortest pulse of the gate driver, the steps of the timer. The lowest frequency that meets all of them is
recommended, since loss and radio noise grow with it. If it is too low, the motor whines, brushes and winding warm
on the ripple, and the current is discontinuous at light load; if too high, the switch overheats, and short pulses
come out whole or not at all, so that the motor jumps at low speed.

Safe side: ripple by straight flanks at the worst duty (never below the exact one), timer steps rounded down. The
inductance that counts is that at the switching frequency: eddy currents in the iron lower it below the 100 Hz
reading, so a ripple that is close to its limit is measured.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from designer.equations import chopper, chopper_parts
from designer.parts.margins import share, within
from designer.quantities import engineering
from designer.results import Step
from designer.tables import marked, read

#: who hears it -> words of the table
HEARING: Mapping[str, str] = {
    "all": "heard as a whine", "some": "heard by the young", "none": "not heard",
}


@dataclass(frozen=True, kw_only=True)
class _Listed:
    frequency: float
    hearing: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the frequency must suit; SI.

    ``bus_voltage``: the highest that the chopper sees. ``inductance``: of the loop. ``duty_low`` and ``duty_high``: of
    all settings that are used at steady speed. ``mean_current``: of the load at the target. ``switching_energy``
    (J): lost in one cycle at the worst continuous state, diode recovery included. ``loss_allowed`` (W): what the
    heat path takes beside conduction. ``driver_on_time`` (s): the shortest pulse that the gate driver passes
    whole. ``clock`` (Hz): of the timer that makes the duty, counting upward. ``quiet``: a frequency that everybody
    hears is ruled out. ``asked`` (Hz): the file's own frequency, None where it is to be chosen.
    """

    bus_voltage: float
    inductance: float
    duty_low: float
    duty_high: float
    mean_current: float
    switching_energy: float
    loss_allowed: float
    driver_on_time: float
    clock: float
    quiet: bool
    asked: float | None = None

    @property
    def worst_duty(self) -> float:
        """The duty in use at which the ripple is greatest: the one nearest to one half."""
        return min(max(0.5, self.duty_low), self.duty_high)


@dataclass(frozen=True, kw_only=True)
class Row:
    """One frequency (Hz) of the trade.

    ``ripple`` (A peak to peak, worst duty in use) and as a share of the mean current; ``hearing``: ``"all"``,
    ``"some"`` or ``"none"``; ``switching_loss`` (W); ``shortest_on_time`` (s); ``steps`` of the timer and
    ``duty_step``, one of them as a share of the smallest duty. ``ruled_out``: each reason with figure and limit,
    empty where it suits. ``recommended``: for one row at most; ``asked``: the file's own.
    """

    frequency: float
    ripple: float
    ripple_share: float
    hearing: str
    switching_loss: float
    shortest_on_time: float
    steps: int
    duty_step: float
    ruled_out: tuple[str, ...]
    recommended: bool
    asked: bool
    worked: tuple[Step, ...]
    source: str


@cache
def frequencies() -> tuple[_Listed, ...]:
    """Give the frequencies of the trade, lowest first, each with who hears it."""
    return tuple(sorted(read("switching_frequencies", _Listed), key=lambda row: row.frequency))


def trade(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Row, ...]:
    """Give the rows, lowest frequency first; the lowest that suits is recommended, none where none does.

    A frequency that the file asks for gets a row of its own. ``margins`` are those of the file. Raises
    ``ValueError`` for duties that are no range within 0 to 1, and ``InputError`` for a margin laxer than its default.
    """
    if not 0 < demand.duty_low <= demand.duty_high <= 1:
        raise ValueError(f"duties {demand.duty_low:g} to {demand.duty_high:g} are no range within 0 to 1")
    listed = {row.frequency: row for row in frequencies()}
    every = sorted({*listed, *(() if demand.asked is None else (demand.asked,))})
    rows: list[Row] = []
    best = False
    for frequency in every:
        row = _row(frequency, demand=demand, margins=margins, best=not best)
        best = best or row.recommended
        rows.append(row)
    return tuple(rows)


def _row(frequency: float, *, demand: Demand, margins: Mapping[str, float], best: bool) -> Row:
    steps = _worked(frequency, demand=demand)
    ripple, loss, on_time = (step.value for step in steps[:3])
    counts = math.floor(steps[3].value)
    step = steps[4].value if len(steps) > 4 else float("inf")
    hearing, source = _hearing(frequency)
    part = ripple / demand.mean_current if demand.mean_current > 0 else float("inf")
    reasons = (
        *_noise(hearing, quiet=demand.quiet),
        *_over("armature_ripple", part, f"ripple {engineering(ripple, 'A')} is {100 * part:.3g} % of the mean current",
               margins=margins),
        *_too_hot(loss, allowed=demand.loss_allowed),
        *_over("shortest_on_time", demand.driver_on_time / on_time,
               f"shortest on-time {engineering(on_time, 's')}: the driver's {engineering(demand.driver_on_time, 's')} "
               f"is {100 * demand.driver_on_time / on_time:.3g} % of it", margins=margins),
        *_over("duty_step", step, f"{counts:.0f} timer steps: one changes the smallest duty by {100 * step:.3g} %",
               margins=margins),
    )
    return Row(
        frequency=frequency, ripple=ripple, ripple_share=part, hearing=hearing, switching_loss=loss,
        shortest_on_time=on_time, steps=counts, duty_step=step, ruled_out=reasons,
        recommended=best and not reasons, asked=frequency == demand.asked, worked=steps, source=source)


def _worked(frequency: float, *, demand: Demand) -> tuple[Step, ...]:
    """Ripple, loss, shortest on-time, timer steps, and a step's share of the smallest duty where there is a step."""
    steps = (
        Step(formula=chopper.RIPPLE_STRAIGHT, note="ripple at the worst duty in use", inputs={
            "V": demand.bus_voltage, "D": demand.worst_duty, "f_s": frequency, "L": demand.inductance}),
        Step(formula=chopper_parts.SWITCHING_LOSS, note="switching loss", inputs={
            "E_sw": demand.switching_energy, "f_s": frequency}),
        Step(formula=chopper.SHORTEST_ON_TIME, note="on-time at the smallest duty", inputs={
            "D_min": demand.duty_low, "f_s": frequency}),
        Step(formula=chopper_parts.TIMER_STEPS, note="timer steps", inputs={"f_clk": demand.clock, "f_s": frequency}),
    )
    counts = math.floor(steps[3].value)
    if counts < 1:
        return steps
    return (*steps, Step(formula=chopper_parts.DUTY_STEP, note="one step of the timer at the smallest duty", inputs={
        "N_steps": float(counts), "D": demand.duty_low}))


def _hearing(frequency: float) -> tuple[str, str]:
    """Who hears it: as the highest frequency of the table that is not above it (the louder side)."""
    listed = frequencies()
    row = max((r for r in listed if r.frequency <= frequency), key=lambda r: r.frequency, default=listed[0])
    return row.hearing, marked(row.source, row.mark)


def _noise(hearing: str, *, quiet: bool) -> tuple[str, ...]:
    return (HEARING[hearing],) if quiet and hearing == "all" else ()


def _over(key: str, value: float, told: str, *, margins: Mapping[str, float]) -> tuple[str, ...]:
    allowed, source = share(key, margins)
    if within(value, limit=1.0, allowed=allowed):
        return ()
    return (f"{told}; at most {100 * allowed:.3g} % ({source})",)


def _too_hot(loss: float, *, allowed: float) -> tuple[str, ...]:
    if within(loss, limit=allowed):
        return ()
    told = f"switching loss {engineering(loss, 'W')}"
    return (f"{told}; the heat path takes {engineering(allowed, 'W')} beside conduction",)
