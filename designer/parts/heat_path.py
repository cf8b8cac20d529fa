"""What the heat path is made of: interfaces, sizes, surface limits, the air in the box."""

from __future__ import annotations

from dataclasses import dataclass

from designer.equations.thermal import BOX_RISE
from designer.tables import marked, read

#: rise of the air in a box, K (common practice, no source: 10 to 20 K; the upper end where closed)
VENTILATED_RISE, CLOSED_RISE = 10.0, 20.0


@dataclass(frozen=True, kw_only=True)
class Interface:
    """A row of the table of interfaces: case-to-sink resistance from ``low`` to ``high``, K/W."""

    name: str
    package: str
    low: float
    high: float
    insulates: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class SizeClass:
    """A heatsink as sold, by thermal resistance, K/W."""

    resistance: float
    construction: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class SurfaceLimit:
    """Highest temperature of a surface, °C: ``"touch"`` or ``"box"``."""

    name: str
    temperature: float
    meaning: str
    source: str
    mark: str


def box_rise(loss: float, *, ventilated: bool, volume: float | None = None) -> float:
    """Give the rise of the air in the box, K, for ``loss`` (W) inside.

    10 K ventilated, 20 K closed (common practice, no source), more where a closed cube of ``volume`` (m³)
    would warm more through its walls. A box that small counts as closed in spite of its openings: a heatsink
    fills it, and no draught goes past.
    """
    if volume is None:
        return VENTILATED_RISE if ventilated else CLOSED_RISE
    walls = float(BOX_RISE(P_sum=loss, A_box=6.0 * volume ** (2.0 / 3.0)))
    return VENTILATED_RISE if ventilated and walls <= CLOSED_RISE else max(CLOSED_RISE, walls)


def case_to_sink(interface: str, *, package: str) -> tuple[float, str]:
    """Give the case-to-sink resistance, K/W (upper end of the range), and its source.

    ``interface`` is a name of the table (``"silicone-fibre pad"``), ``package`` ``"TO-220"`` or
    ``"TO-247"``. Raises ``ValueError`` on another name.
    """
    for row in read("interfaces", Interface):
        if (row.name, row.package) == (interface, package):
            return row.high, marked(f"{row.source}, {row.name}, {row.package}", row.mark)
    known = ", ".join(dict.fromkeys(row.name for row in read("interfaces", Interface)))
    raise ValueError(f"{interface} under {package} is no interface; there are {known}")


def surface_limit(touchable: bool) -> SurfaceLimit:
    """Give the highest temperature of the sink's surface: burn threshold, or wire insulation nearby."""
    name = "touch" if touchable else "box"
    return next(row for row in read("surface_limits", SurfaceLimit) if row.name == name)
