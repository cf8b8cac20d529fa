"""Distances through air and along surfaces: clearance and creepage of mains circuits.

Safe side: the next higher row of each table, never interpolated; millimetres are rounded up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from designer.errors import InputError
from designer.parts.varistor import impulse_voltage
from designer.tables import marked, read

Grade = Literal["functional", "basic", "reinforced"]

#: creepage of reinforced insulation over basic (from memory)
_REINFORCED = 2.0


@dataclass(frozen=True, kw_only=True)
class Clearance:
    """Least clearance, mm, for a rated impulse voltage, V."""

    impulse: float
    clearance_mm: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Creepage:
    """Least creepage, mm, up to a working voltage (V r.m.s. or d.c.), for a pollution degree."""

    insulation: str
    pollution: float
    voltage_to: float
    creepage_mm: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Altitude:
    """Factor on clearances up to an altitude, m."""

    altitude: float
    factor: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Distance:
    """One requirement: clearance and creepage in metres, with where they come from."""

    grade: Grade
    clearance: float
    creepage: float
    source: str


def altitude_factor(altitude: float) -> tuple[float, str]:
    """Give the factor on clearances at ``altitude`` (m); 1 up to 2000 m.

    Raises ``InputError`` for ``ambient.altitude`` beyond the table. Source: IEC 60664-1 Table A.2.
    """
    rows = read("altitude_factors", Altitude)
    row = next((row for row in rows if altitude <= row.altitude), None)
    if row is None:
        raise InputError("ambient.altitude", f"{altitude:g} m", f"up to {rows[-1].altitude:g} m")
    return row.factor, marked(row.source, row.mark)


def clearance(nominal: float, *, grade: Grade, altitude: float = 0.0, near_origin: bool = False) -> float:
    """Give the least clearance, m, for mains of ``nominal`` V to neutral.

    Reinforced insulation takes the next higher impulse step (from memory). Source: IEC 60335-1 Tables
    15 and 16; raises ``InputError`` above 300 V.
    """
    impulse, _ = impulse_voltage(nominal, near_origin=near_origin)
    rows = read("clearances", Clearance)
    place = next(i for i, row in enumerate(rows) if impulse <= row.impulse)
    if grade == "reinforced":
        place += 1
    return _up(rows[place].clearance_mm * altitude_factor(altitude)[0])


def creepage(working: float, *, grade: Grade, dusty: bool = False) -> float:
    """Give the least creepage, m, for a ``working`` voltage (r.m.s. or d.c., V).

    ``dusty``: pollution degree 3, as inside a motor with its brush dust. Source: IEC 60335-1 Tables 17
    and 18, material group III; functional insulation never needs more than basic. Raises ``InputError``
    for ``supply.voltage`` beyond them.
    """
    basic = _creepage(working, kind="basic", degree=3.0 if dusty else 2.0)
    if grade == "functional" and not dusty:
        return _up(min(basic, _creepage(working, kind="functional", degree=2.0)))
    return _up(basic * (_REINFORCED if grade == "reinforced" else 1.0))


def _creepage(working: float, *, kind: str, degree: float) -> float:
    rows = [row for row in read("creepages", Creepage) if (row.insulation, row.pollution) == (kind, degree)]
    row = next((row for row in rows if working <= row.voltage_to * (1 + 1e-9)), None)
    if row is None:
        raise InputError(
            "supply.voltage", f"{working:.0f} V across the insulation", f"up to {rows[-1].voltage_to:g} V",
            "Use a lower voltage, or have the insulation designed by a specialist.")
    return row.creepage_mm


def distances(
    nominal: float, *, working: float, altitude: float = 0.0, near_origin: bool = False, dusty: bool = False,
) -> tuple[Distance, ...]:
    """Give functional, basic and reinforced distances between live parts, to earth and to what is touched."""
    grades: tuple[Grade, ...] = ("functional", "basic", "reinforced")
    source = (f"{marked('IEC 60335-1 Tables 15 to 18, material group III', 'seen')}; reinforced: next impulse "
              "step and twice the creepage (from memory)")
    return tuple(
        Distance(
            grade=grade, source=source, creepage=max(creepage(working, grade=grade, dusty=dusty), through),
            clearance=through)
        for grade in grades
        for through in (clearance(nominal, grade=grade, altitude=altitude, near_origin=near_origin),))


def _up(millimetres: float) -> float:
    return math.ceil(round(millimetres * 10.0, 6)) / 10.0 * 1e-3
