"""What charging the reservoir does to bridge, fuse and switch, and the least resistance that keeps it bearable.

Bounds from above: no inductance is counted, the switch closes at the crest, the capacitor is empty and at its
upper tolerance. An inductance lowers the peak; the I²t bound holds whatever inductance and instant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from designer.equations import reservoir as eq
from designer.equations.capacitor import STORED_ENERGY
from designer.quantities import engineering
from designer.results import Step


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What must be limited; SI.

    ``crest``: of the highest mains (or highest direct supply). ``source_resistance``: behind it at the prospective
    current, Ω. ``capacitance``: at its upper tolerance. ``running_current``: greatest r.m.s. through the limiter.
    ``allowed_peak`` (A) and ``allowed_i2t`` (A²s, infinite where nothing minds): what bridge, fuse and switch
    bear, with their margins, and ``set_by`` says which. ``ambient``: °C in the box. ``frequency``: of the mains,
    0 for a direct supply. ``nominal``: V r.m.s. or direct. ``rings``: a choke stands in the line, and lifts a
    reservoir far above the crest unless a resistor damps it.
    """

    crest: float
    source_resistance: float
    capacitance: float
    running_current: float
    allowed_peak: float
    allowed_i2t: float
    ambient: float
    nominal: float
    frequency: float = 0.0
    set_by: str = ""
    rings: bool = False


def peak(demand: Demand, *, resistance: float) -> Step:
    """Give the step for the greatest peak, A, through ``resistance`` (Ω)."""
    return Step(formula=eq.INRUSH_PEAK, inputs={
        "V_pk": demand.crest, "R_lim": resistance, "R_src": demand.source_resistance},
        note=f"through {engineering(resistance, 'ohm', 3)}")


def i2t(demand: Demand, *, resistance: float) -> Step:
    """Give the step for the greatest I²t, A²s, through ``resistance`` (Ω)."""
    return Step(formula=eq.INRUSH_I2T, inputs={
        "C_up": demand.capacitance, "V_pk": demand.crest, "R_lim": resistance, "R_src": demand.source_resistance},
        note=f"through {engineering(resistance, 'ohm', 3)}")


def needed(demand: Demand) -> Step:
    """Give the step for the least resistance: by peak or by I²t, whichever asks for more."""
    by_peak = Step(formula=eq.LIMITER_RESISTANCE, inputs={"V_pk": demand.crest, "I_lim": demand.allowed_peak},
                   note=f"at most {engineering(demand.allowed_peak, 'A', 3)}: {demand.set_by}")
    if math.isinf(demand.allowed_i2t):
        return by_peak
    by_heat = Step(formula=eq.LIMITER_FOR_I2T, inputs={
        "C_up": demand.capacitance, "V_pk": demand.crest, "W_surge": demand.allowed_i2t},
        note=f"at most {engineering(demand.allowed_i2t, 'A**2*s', 3)}: {demand.set_by}")
    return max(by_peak, by_heat, key=lambda step: step.value)


def bears(demand: Demand, *, resistance: float) -> bool:
    """Tell whether bridge, fuse and switch bear a switch-on through ``resistance`` (Ω)."""
    return (peak(demand, resistance=resistance).value <= demand.allowed_peak
            and i2t(demand, resistance=resistance).value <= demand.allowed_i2t)


def energy(demand: Demand) -> Step:
    """Give the step for the energy that the limiter takes, J: as much as the capacitor then holds."""
    return Step(formula=STORED_ENERGY, inputs={"C_max": demand.capacitance, "V_start": demand.crest},
                note="taken by the limiter in one charging")
