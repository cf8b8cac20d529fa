"""What a winding may reach: running and stall limits of its thermal class, and the time to them at a stall."""

from __future__ import annotations

import math
from dataclasses import dataclass

from designer.equations import winding as eq
from designer.errors import InputError
from designer.results import Step
from designer.tables import marked, read

_ZERO = 273.15
#: °C, base of the rises of IEC 60335-1 Table 3 (from memory)
_BASE = 25.0
#: letters of IEC 60085 for classes that IEC 60335-1 calls by their temperature (from memory)
_LETTERS = {"N": "200", "R": "220"}


@dataclass(frozen=True, kw_only=True)
class Row:
    """A thermal class: name and temperature (°C), rises (K), and limits at a stall (°C)."""

    name: str
    temperature: float
    rise: float
    rise_thermocouple: float | None
    locked: float
    first_hour: float
    later_highest: float
    later_mean: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Limits:
    """Limits of a winding in °C, mean by resistance.

    ``running``: 25 °C plus the rise allowed. ``locked``: rotor locked, steady or impedance-protected.
    ``first_hour``, ``later_highest``, ``later_mean``: with a protector that opens and closes.
    """

    thermal_class: str
    running: float
    locked: float
    first_hour: float
    later_highest: float
    later_mean: float
    source: str


def limits(thermal_class: str) -> Limits:
    """Give the limits of ``"A"``, ``"E"``, ``"B"``, ``"F"``, ``"H"``, ``"200"`` or ``"N"`` … or ``"155"`` for F.

    Raises ``InputError`` for ``motor.thermal_class`` on another. Source: IEC 60335-1 Tables 3 and 8.
    """
    rows = read("winding_classes", Row)
    for row in rows:
        if _LETTERS.get(thermal_class, thermal_class) in (row.name, f"{row.temperature:g}"):
            return Limits(
                thermal_class=row.name, running=_BASE + row.rise, locked=row.locked, first_hour=row.first_hour,
                later_highest=row.later_highest, later_mean=row.later_mean, source=marked(row.source, row.mark))
    raise InputError(
        "motor.thermal_class", thermal_class, ", ".join(row.name for row in rows),
        "If the nameplate does not say, take A.")


def current_density(current: float, *, wire_diameter: float, parallel: int = 1) -> float:
    """Give the current density, A/m², of ``current`` (A r.m.s.) in round copper of that diameter (m).

    ``parallel`` paths share the current: 2 in the armature of a two-pole machine.
    """
    return current / parallel / (math.pi / 4.0 * wire_diameter**2)


def stall_time(density: float, *, start: float, limit: float) -> Step:
    """Give the step for the time in which a winding goes from ``start`` to ``limit`` (°C), no heat leaving.

    ``density`` in A/m². The true time is longer: the safe side.
    """
    return Step(formula=eq.ADIABATIC_TIME, inputs={
        "J": density, "T_w1": start + _ZERO, "T_w2": max(limit, start) + _ZERO},
        note=f"winding from {start:.0f} to {limit:.0f} °C at standstill")


def heating_rate(density: float, *, temperature: float) -> float:
    """Give the rise of the winding's temperature, K/s, at ``density`` (A/m²) and ``temperature`` (°C)."""
    rho = eq.COPPER_RESISTIVITY(T_w=temperature + _ZERO)
    return float(eq.ADIABATIC_RATE(J=density, rho=rho))
