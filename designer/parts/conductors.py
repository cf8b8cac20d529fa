"""Conductors: supply cord, wires in the box, protective earth, printed tracks.

Safe side: the next larger cross-section; the fuse's let-through must not overheat it in a short.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations import conductor as eq
from designer.errors import InputError
from designer.parts import wire_overload
from designer.parts.margins import share
from designer.parts.wire_overload import Overload, Wire
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: m, the longest cord of 0.5 mm² (IEC 60335-1 Table 11)
SHORT_CORD = 2.0
#: m, thickness of 1 oz copper
OUNCE = 35e-6
#: k of IPC-2221, A: outside and inside the board
OUTER, INNER = 0.048, 0.024
_RELIEF = "Strain relief; the earth conductor longer than the others, so that it tears last."
_EARTH = ("Protective earth: the same cross-section, green-yellow, on a screw of its own (IEC 60364-5-54 Table 54.2, "
          "seen).")
_BOND = ("What bonds frame, heatsink and box has the same cross-section; green-yellow where the supply has a "
         "protective earth (IEC 60364-5-54 Table 54.2, seen).")
_WRONG = "Too thin: it glows in a short before the fuse opens, and its insulation melts in running."


#: °C, what the hook-up wire's insulation stands
INSULATION = 105.0
_FUSE = "fuse rating against the wire"
_FUSE_SOURCE = "IEC 60364-4-43: rated current of the fuse at most what the wire carries (from memory)"


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
    """What flows: r.m.s. current (A), rating (A) and let-through (A²s) of the fuse, air round the wire (°C).

    ``direct``: the wire hangs on a direct supply, not on the mains. ``overloads``: stalls that no fuse ends at once.
    """

    current: float
    fuse_rating: float
    let_through: float
    ambient: float
    cord_length: float = 3.0
    direct: bool = False
    overloads: tuple[Overload, ...] = ()


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
    """Give the supply cord by rated current, and by the fuse's rating at the ambient. Source: IEC 60335-1 Table 11.

    The largest cord where the fuse asks for more: its check then fails. Raises ``InputError`` for ``load.torque``
    beyond 63 A, for ``ambient.temperature`` above 60 °C.
    """
    factor, warm = ambient_factor(demand.ambient)
    rows = [row for row in read("supply_cords", Cord)
            if demand.current <= row.current_to and (row.area_mm2 > 0.5 or demand.cord_length <= SHORT_CORD)]
    if not rows:
        most = read("supply_cords", Cord)[-1].current_to
        raise InputError("load.torque", f"{demand.current:.3g} A", f"up to {most:g} A")
    row = next((row for row in rows if demand.fuse_rating <= factor * row.current_to), rows[-1])
    source = marked(row.source, row.mark)
    return Part(
        role="supply-cord", designator="W1",
        description=f"supply cord, 3 × {row.area_mm2:g} mm², double-insulated, protective earth in it",
        value=Quantity(row.area_mm2 * 1e-6, "m**2"), marking=f"3 × {row.area_mm2:g} mm²",
        ratings=(
            Rating(name="rated current", limit=Quantity(row.current_to, "A"), stress=Quantity(demand.current, "A"),
                   source=source),
            _fuse_rating(demand, carries=factor * row.current_to, source=f"{_FUSE_SOURCE}; {warm}")),
        if_wrong=_WRONG, notes=(*filter(None, (row.note,)), _RELIEF), sources=(source, warm))


def _fuse_rating(demand: Demand, *, carries: float, source: str) -> Rating:
    return Rating(
        name=_FUSE, limit=Quantity(carries, "A"), stress=Quantity(demand.fuse_rating, "A"), source=source,
        at=f"{demand.ambient:.0f} °C round the wire",
        remedy=f"A fuse of at most {carries:.3g} A, or thicker wire chosen by hand.")


def hook_up_factor(ambient: float) -> Step:
    """Give the step of the factor on the table's current for wire of 105 °C at ``ambient`` (°C).

    1 up to 30 °C, then falling without a step to nothing at 105 °C. Raises ``InputError`` for
    ``ambient.temperature`` from 105 °C.
    """
    if ambient >= INSULATION:
        raise InputError("ambient.temperature", f"{ambient:.0f} °C round the wires", f"below {INSULATION:g} °C",
                         "Ventilate the box.")
    return Step(formula=eq.HOT_WIRE_FACTOR, inputs={"T_wire": ambient + 273.15}, note="warm air in the box")


def hook_up(demand: Demand, *, margins: Mapping[str, float]) -> Part:
    """Give the wire inside the box: by current and fuse at the temperature in it, and by the fuse's let-through.

    The protective conductor takes the same cross-section (IEC 60364-5-54 Table 54.2). The largest wire where
    the fuse asks for more: its checks then fail. Raises ``InputError`` for ``load.torque`` where the largest does
    not carry the current.
    """
    warm = hook_up_factor(demand.ambient)
    allowed, why = share("conductor_current", margins)
    short = Step(formula=eq.SHORT_AREA, inputs={"W_let": demand.let_through}, note="short behind the fuse")
    every = read("hook_up_wires", HookUp)
    rows = [row for row in every if demand.current <= allowed * warm.value * row.current]
    if not rows:
        raise InputError(
            "load.torque", f"{demand.current:.3g} A",
            f"what {every[-1].area_mm2:g} mm² carries: {allowed * warm.value * every[-1].current:.3g} A",
            "Cool the box, or lower the current.")
    row = next((row for row in rows if short.value <= row.area_mm2 * 1e-6
                and demand.fuse_rating <= allowed * warm.value * row.current
                and _stands(_wire(row, warm, demand.current), demand.overloads, allowed=allowed)), rows[-1])
    wire = _wire(row, warm, demand.current)
    carries = warm.value * row.current
    source = marked(row.source, row.mark)
    return Part(
        role="wire", designator="W2",
        description=f"hook-up wire {row.area_mm2:g} mm², {'bus-voltage' if demand.direct else 'mains'} insulation of "
                    f"{INSULATION:g} °C or more",
        value=Quantity(row.area_mm2 * 1e-6, "m**2"), marking=f"{row.area_mm2:g} mm²",
        ratings=(
            Rating(name="r.m.s. current of the wire", limit=Quantity(carries, "A"), share=allowed,
                   stress=Quantity(demand.current, "A"), source=f"{source}; {why}",
                   at=f"{demand.ambient:.0f} °C in the box"),
            _fuse_rating(demand, carries=allowed * carries, source=f"{_FUSE_SOURCE}; {source}"),
            Rating(name="cross-section in a short", limit=Quantity(row.area_mm2 * 1e-6, "m**2"),
                   stress=Quantity(short.value, "m**2"), source=eq.SHORT_AREA.source, at="short behind the fuse",
                   remedy="A quicker fuse; one of unknown let-through: give its i2t in [parts.fuse]."),
            *wire_overload.ratings(wire, demand.overloads, margins=margins),
        ),
        worked=(warm, *((short,) if math.isfinite(short.value) else ()),
                *wire_overload.steps(wire, demand.overloads)), if_wrong=_WRONG,
        notes=(_BOND if demand.direct else _EARTH,),
        sources=(source, eq.HOT_WIRE_FACTOR.source))


def _wire(row: HookUp, warm: Step, running: float) -> Wire:
    return Wire(area=row.area_mm2 * 1e-6, stated=row.current, factor=warm.value, running=running)


def _stands(wire: Wire, overloads: tuple[Overload, ...], *, allowed: float) -> bool:
    return all(one.current <= allowed * wire_overload.bears(wire, time=one.time) for one in overloads)


@dataclass(frozen=True, kw_only=True)
class Carried:
    """What a winding's leads carry: A r.m.s. for good (where: ``at``), stalls, air round them (°C)."""

    current: float
    ambient: float
    at: str
    overloads: tuple[Overload, ...] = ()


def leads(
    current: float, *, role: str, what: str, ambient: float, at: str, margins: Mapping[str, float],
) -> Part:
    """Give the wire of a winding's own current (A r.m.s., for good) as ``winding_leads`` does, without a stall."""
    return winding_leads(Carried(current=current, ambient=ambient, at=at), role=role, what=what, margins=margins)


def winding_leads(carried: Carried, *, role: str, what: str, margins: Mapping[str, float]) -> Part:
    """Give the wire of a winding's own current by the temperature in the box, and by the stalls it must outlast.

    The fuse ahead does not see that current: the freewheel diode's or another supply's is more than the line's.
    ``what`` names the winding, ``role`` is the part's. Raises ``InputError`` for ``load.torque`` where the largest
    wire does not carry the current or does not bear a stall.
    """
    warm = hook_up_factor(carried.ambient)
    allowed, why = share("conductor_current", margins)
    every = read("hook_up_wires", HookUp)
    row = next((row for row in every if carried.current <= allowed * warm.value * row.current and _stands(
        _wire(row, warm, carried.current), carried.overloads, allowed=allowed)), None)
    if row is None:
        raise _no_lead(every[-1], warm, carried, what=what, allowed=allowed)
    source, wire = marked(row.source, row.mark), _wire(row, warm, carried.current)
    return Part(
        role=role, designator="W3",
        description=f"wire of the {what}'s leads {row.area_mm2:g} mm², insulation for the bus voltage, of "
                    f"{INSULATION:g} °C or more",
        value=Quantity(row.area_mm2 * 1e-6, "m**2"), marking=f"{row.area_mm2:g} mm²",
        ratings=(Rating(
            name="r.m.s. current of the wire", limit=Quantity(warm.value * row.current, "A"), share=allowed,
            stress=Quantity(carried.current, "A"), source=f"{source}; {why}", at=carried.at,
            remedy="Thicker wire, a cooler box, or less current."),
            *wire_overload.ratings(wire, carried.overloads, margins=margins)),
        worked=(warm, *wire_overload.steps(wire, carried.overloads)),
        if_wrong=f"As thin as the supply's wire: the {what} takes more than the line gives, and no fuse sees it; the "
                 "wire glows.",
        sources=(source, eq.HOT_WIRE_FACTOR.source))


def _no_lead(top: HookUp, warm: Step, carried: Carried, *, what: str, allowed: float) -> InputError:
    """Why even the largest wire does not do: its steady current, or a stall."""
    one = wire_overload.worst(_wire(top, warm, carried.current), carried.overloads)
    if carried.current > allowed * warm.value * top.current or one is None:
        return InputError(
            "load.torque", f"{carried.current:.3g} A in the {what}'s leads",
            f"what {top.area_mm2:g} mm² carries: {allowed * warm.value * top.current:.3g} A",
            "Cool the box, or lower the current or its limit.")
    bears = allowed * wire_overload.bears(_wire(top, warm, carried.current), time=one.time)
    return InputError(
        "load.torque", f"{one.current:.3g} A in the {what}'s leads ({one.at})",
        f"what {top.area_mm2:g} mm² bears for that long: {bears:.3g} A",
        "Cool the box, lower the current or its limit, or end a stall sooner.")


def track_width(current: float, *, rise: float = 20.0, copper: float = OUNCE, inside: bool = False) -> float:
    """Give the width, m, of a printed track for ``current`` (A) at ``rise`` (K), rounded up to 0.1 mm.

    ``copper`` is its thickness, m. Above about 8 A take 70 µm or a soldered wire. Source: IPC-2221.
    """
    area = float(eq.TRACK_AREA(
        I_track=current, k_track=INNER if inside else OUTER, dT_track=rise))
    return math.ceil(round(area / copper * 1e4, 6)) * 1e-4


def track_note(current: float) -> str:
    """Give the track's width in words, outer layer, 1 oz, 20 K."""
    width = track_width(current)
    advice = "; better a soldered wire or 70 µm copper" if current > 8.0 else ""
    return f"Printed track for {engineering(current, 'A', 3)}: {1e3 * width:.1f} mm of 35 µm{advice} (IPC-2221, seen)."
