"""Conductors: supply cord, wires in the box, protective earth, printed tracks.

Safe side: the next larger cross-section; the fuse's let-through must not overheat it in a short.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations import conductor as eq
from designer.errors import InputError
from designer.parts.margins import share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: m, the longest cord of 0.5 mm² (IEC 60335-1 Table 11)
SHORT_CORD = 2.0
#: m, thickness of 1 oz copper
OUNCE = 35e-6
_OUTER, _INNER = 0.048, 0.024
_RELIEF = "Strain relief; the earth conductor longer than the others, so that it tears last."
_WRONG = "Too thin: it glows in a short before the fuse opens, and its insulation melts in running."


#: °C: where the table of ambient factors ends, and what the hook-up wire's insulation stands
TABLE_ENDS, INSULATION = 60.0, 105.0


@dataclass(frozen=True, kw_only=True)
class Cord:
    """Cross-section (mm²) of a supply cord for rated currents above … up to …, A."""

    current_above: float
    current_to: float
    area_mm2: float
    note: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class HookUp:
    """Current (A) of a wire in a box, by cross-section (mm²)."""

    area_mm2: float
    current: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class WireAmbient:
    """Factor on a wire's current up to a temperature (°C)."""

    temperature: float
    factor: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What flows: r.m.s. current (A), let-through of the fuse (A²s), air round the wire (°C)."""

    current: float
    let_through: float
    ambient: float
    cord_length: float = 3.0


def ambient_factor(ambient: float) -> tuple[float, str]:
    """Give the factor on the current at ``ambient`` (°C), the next warmer row; 1 up to 30 °C.

    Raises ``InputError`` for ``ambient.temperature`` above 60 °C: PVC of 70 °C has nothing left.
    """
    rows = read("wire_ambient", WireAmbient)
    row = next((row for row in rows if ambient <= row.temperature), None)
    if row is None:
        raise InputError(
            "ambient.temperature", f"{ambient:.0f} °C round the wires", f"up to {rows[-1].temperature:g} °C",
            "Ventilate the box, or use wire of higher temperature class outside this table.")
    return row.factor, marked(row.source, row.mark)


def cord(demand: Demand) -> Part:
    """Give the supply cord by rated current. Source: IEC 60335-1 Table 11.

    Raises ``InputError`` for ``target`` beyond 63 A.
    """
    rows = [row for row in read("supply_cords", Cord)
            if row.area_mm2 > 0.5 or demand.cord_length <= SHORT_CORD]
    row = next((row for row in rows if demand.current <= row.current_to), None)
    if row is None:
        raise InputError("load.torque", f"{demand.current:.3g} A", f"up to {rows[-1].current_to:g} A")
    return Part(
        role="supply-cord", designator="W1",
        description=f"supply cord, 3 × {row.area_mm2:g} mm², double-insulated, protective earth in it",
        value=Quantity(row.area_mm2 * 1e-6, "m**2"), marking=f"3 × {row.area_mm2:g} mm²",
        ratings=(Rating(
            name="rated current", limit=Quantity(row.current_to, "A"), stress=Quantity(demand.current, "A"),
            source=marked(row.source, row.mark)),),
        if_wrong=_WRONG, notes=(*filter(None, (row.note,)), _RELIEF),
        sources=(marked(row.source, row.mark),))


def _warm(ambient: float) -> tuple[float, str]:
    """Above the table's end: by the 105 °C insulation of hook-up wire."""
    if ambient >= INSULATION:
        raise InputError("ambient.temperature", f"{ambient:.0f} °C round the wires", f"below {INSULATION:g} °C",
                         "Ventilate the box.")
    return float(eq.HOT_WIRE_FACTOR(T_wire=ambient + 273.15)), eq.HOT_WIRE_FACTOR.source


def hook_up(demand: Demand, *, margins: Mapping[str, float]) -> Part:
    """Give the wire inside the box: by current at the temperature in it, and by the fuse's let-through.

    The protective conductor takes the same cross-section (IEC 60364-5-54 Table 54.2). Raises
    ``InputError`` for ``parts.fuse.rating`` where the largest does not do.
    """
    factor, source = _warm(demand.ambient) if demand.ambient > TABLE_ENDS else ambient_factor(demand.ambient)
    allowed, why = share("conductor_current", margins)
    short = Step(formula=eq.SHORT_AREA, inputs={"W_let": demand.let_through}, note="short behind the fuse")
    rows = read("hook_up_wires", HookUp)
    row = next((row for row in rows if demand.current <= allowed * factor * row.current
                and short.value <= row.area_mm2 * 1e-6), None)
    if row is None:
        raise InputError(
            "parts.fuse.rating", f"{demand.current:.3g} A, let-through {demand.let_through:.3g} A²s",
            f"what {rows[-1].area_mm2:g} mm² carries: {allowed * factor * rows[-1].current:.3g} A",
            "Cool the box, lower the current, or take a quicker fuse.")
    return Part(
        role="wire", designator="W2",
        description=f"hook-up wire {row.area_mm2:g} mm², mains insulation of 105 °C or more",
        value=Quantity(row.area_mm2 * 1e-6, "m**2"), marking=f"{row.area_mm2:g} mm²",
        ratings=(
            Rating(name="r.m.s. current of the wire", limit=Quantity(factor * row.current, "A"), share=allowed,
                   stress=Quantity(demand.current, "A"), source=f"{marked(row.source, row.mark)}; {why}",
                   at=f"{demand.ambient:.0f} °C in the box"),
            Rating(name="cross-section in a short", limit=Quantity(row.area_mm2 * 1e-6, "m**2"),
                   stress=Quantity(short.value, "m**2"), source=eq.SHORT_AREA.source, at="short behind the fuse"),
        ),
        worked=(short,), if_wrong=_WRONG,
        notes=("Protective earth: the same cross-section, green-yellow, on a screw of its own "
               "(IEC 60364-5-54 Table 54.2, seen).",),
        sources=(marked(row.source, row.mark), source))


def track_width(current: float, *, rise: float = 20.0, copper: float = OUNCE, inside: bool = False) -> float:
    """Give the width, m, of a printed track for ``current`` (A) at ``rise`` (K), rounded up to 0.1 mm.

    ``copper`` is its thickness, m. Above about 8 A take 70 µm or a soldered wire. Source: IPC-2221.
    """
    area = float(eq.TRACK_AREA(
        I_track=current, k_track=_INNER if inside else _OUTER, dT_track=rise))
    return math.ceil(round(area / copper * 1e4, 6)) * 1e-4


def track_note(current: float) -> str:
    """Give the track's width in words, outer layer, 1 oz, 20 K."""
    width = track_width(current)
    advice = "; better a soldered wire or 70 µm copper" if current > 8.0 else ""
    return f"Printed track for {engineering(current, 'A', 3)}: {1e3 * width:.1f} mm of 35 µm{advice} (IPC-2221, seen)."
