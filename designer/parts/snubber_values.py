"""Values of a snubber: what it must hold, and the R and C that do, by the exact damped response.

Rounding: the smallest capacitance that holds both limits (least leakage and loss); among the resistors
that do, the one that keeps most distance from every limit, mains steps past the motor's winding
capacitance (or with a lamp in its place) counted as a wish. Both sides of the resistance bind: too little
gives turn-on current and ringing, too much gives an initial slope of R_s·E/L.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from designer.equations import snubber as formulas
from designer.errors import InputError
from designer.parts.margins import share
from designer.parts.preferred import at_least, at_most
from designer.results import Array
from designer.waveforms.step_response import Loop

#: tolerance of an X2 film capacitor and of a resistor (common practice, no source)
CAPACITOR_TOLERANCE, RESISTOR_TOLERANCE = 0.10, 0.05
#: smallest and largest capacitor looked at, F (usual X2 range, from memory)
SMALLEST, LARGEST = 10e-9, 1e-6


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the switch meets at turn-off and turn-on, and what it withstands.

    ``step_voltage`` (V) is the source less back-EMF when the current ends, worst corner;
    ``inductance`` (H) and ``resistance`` (Ω) of the whole loop, the inductance at its least and at
    zero current; ``recovery_current`` (A) what still flows when the switch lets go (RECOVERY_CURRENT).
    ``commutating_dvdt`` (V/s) is the limit of a four-quadrant device, None for a three-quadrant one,
    which is held to ``critical_dvdt`` (V/s) instead. ``turn_off_slope`` and its ``…_limit`` in A/s.
    ``device_capacitance`` (F) is the switch's own, ``lead_inductance`` (H) that of supply
    and leads without the motor. ``flux_slope`` (V·s/A) is k'(0) of the motor.
    """

    supply_rms_high: float
    frequency: float
    step_voltage: float
    inductance: float
    resistance: float
    recovery_current: float
    voltage_rating: float
    commutating_dvdt: float | None
    critical_dvdt: float
    turn_off_slope: float
    turn_off_slope_limit: float
    turn_on_slope_limit: float
    device_capacitance: float
    lead_inductance: float
    flux_slope: float
    friction_torque: float
    margins: Mapping[str, float] = field(default_factory=dict)

    @property
    def turn_on_voltage(self) -> float:
        """Greatest switch voltage at firing, V: the crest of the highest mains, which every soft start passes."""
        return math.sqrt(2) * self.supply_rms_high

    @property
    def slope_key(self) -> str:
        """Path of the rating that holds."""
        return f"parts.switch.{'critical' if self.commutating_dvdt is None else 'commutating'}_dvdt"

    @property
    def slope_limit(self) -> float:
        """The dv/dt rating that holds, V/s."""
        return self.critical_dvdt if self.commutating_dvdt is None else self.commutating_dvdt


def worst(demand: Demand, resistance: float, capacitance: float) -> tuple[float, float]:
    """Give peak voltage (V) and greatest dv/dt (V/s) at the worst corner of the parts' tolerances."""
    loops = _loops(demand, np.array([resistance]), capacitance)
    return float(loops.peak().max()), float(loops.greatest_slope().max())


def _loops(demand: Demand, resistances: Array, capacitance: float) -> Loop:
    corners = np.array(list(product((-1.0, 1.0), repeat=2)))
    return Loop(
        step=demand.step_voltage, inductance=demand.inductance, load_resistance=demand.resistance,
        resistance=resistances[:, None] * (1 + RESISTOR_TOLERANCE * corners[:, 0]),
        capacitance=capacitance * (1 + CAPACITOR_TOLERANCE * corners[:, 1]),
        recovery_current=demand.recovery_current,
    )


def pair(demand: Demand) -> tuple[float, float]:
    """Give the smallest capacitance (F) that some resistance holds all limits with, and the best such (Ω) first.

    Raises ``InputError`` for the switch's dv/dt rating where there is none.
    """
    peak_limit = share("switch_voltage", demand.margins)[0] * demand.voltage_rating
    slope_limit = share("dvdt", demand.margins)[0] * demand.slope_limit
    rise_limit = share("rise_of_current", demand.margins)[0] * demand.turn_on_slope_limit
    low = float(formulas.DISCHARGE_RESISTOR(V_sw=demand.turn_on_voltage, didt=rise_limit))
    high = float(formulas.RESISTOR_FOR_SLOPE(L=demand.inductance, slope=slope_limit, E=demand.step_voltage))
    resistances = _between(low / (1 - RESISTOR_TOLERANCE), high / (1 + RESISTOR_TOLERANCE), "E12")
    for capacitance in _between(SMALLEST, LARGEST, "E6"):
        if not resistances.size:
            break
        loops = _loops(demand, resistances, capacitance)
        used = np.max(
            [loops.peak().max(axis=1) / peak_limit, loops.greatest_slope().max(axis=1) / slope_limit,
             low / (resistances * (1 - RESISTOR_TOLERANCE))], axis=0,
        )
        if used.min() <= 1:
            wish = np.where(used <= 1, np.maximum(used, _spike_share(demand, resistances)), np.inf)
            return float(resistances[int(np.argmin(wish))]), float(capacitance)
    raise InputError(
        demand.slope_key, f"{demand.slope_limit / 1e6:.3g} V/µs and {demand.voltage_rating:g} V",
        f"a switch whose limits an R-C can hold ({low:.3g} to {high:.3g} Ω looked at)",
        "Take a three-quadrant switch with a high commutating slope, or one of a higher voltage.",
    )


def _spike_share(demand: Demand, resistances: Array) -> Array:
    """Static dv/dt of a mains step past the motor, over its limit: a wish, not a limit, against large R."""
    limit = share("dvdt", demand.margins)[0] * demand.critical_dvdt
    rise = formulas.REACTOR_SLOPE(V_sw=math.sqrt(2) * demand.supply_rms_high, L_s=demand.lead_inductance)
    slope: Array = formulas.STATIC_SLOPE(R_s=resistances, didt=float(rise)) / limit
    return slope


def _between(low: float, high: float, series: str) -> Array:
    if high < low * (1 - 1e-9):
        return np.array([])
    values, last = [at_least(low, series=series)], at_most(high, series=series)
    while values[-1] < last:
        values.append(at_least(values[-1] * 1.01, series=series))
    return np.array([value for value in values if value <= last])
