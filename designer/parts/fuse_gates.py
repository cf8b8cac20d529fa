"""Time-current gates of miniature fuses (IEC 60127-2): the band of times in which a link opens."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np

from designer.equations.fuse import AMBIENT_FACTOR, GATE_TIME, I2T_RECTANGLE, LET_THROUGH
from designer.results import Curve, Step
from designer.tables import marked, read

#: multiple above which melting is taken as adiabatic: constant I²t (makers read it at 10 I_n)
ADIABATIC = 10.0
#: s, within which an arc ends at a zero of the current (common practice, no source)
PERIOD = 20e-3
ZERO = 273.15   # K between °C and kelvin
#: what to do about a link whose I²t nobody has told
UNKNOWN = "Its let-through is not known: give i2t (total clearing I²t) of the fuse in [parts.fuse]."


@dataclass(frozen=True, kw_only=True)
class GateRow:
    """One gate point of a sheet: at ``multiple`` × rating the link opens within ``shortest`` … ``longest`` s."""

    sheet: float
    speed: str
    breaking: str
    rating_low: float
    rating_high: float
    multiple: float
    shortest: float | None
    longest: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class I2tRow:
    """I²t of a type, each divided by the square of the rating, A²s/A²; ``arcing`` is operating over melting."""

    speed: str
    breaking: str
    melting_low: float
    melting_high: float
    gate_low: float | None
    gate_high: float
    arcing: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Link:
    """A fuse link: rated current (A), speed ``"T"`` or ``"F"``, breaking letter ``"L"``, ``"E"`` or ``"H"``.

    ``capacity`` (A) and ``voltage`` (V) are its own; ``clearing`` (A²s, total at the working voltage) where
    its data give it, else None. Another speed letter has no sheet in the tables: its times are not known.
    ``current_kind`` is the current for which the capacity is stated: ``"ac"``, ``"dc"``, ``"both"``; None not told.
    """

    rating: float
    speed: str
    breaking: str
    capacity: float
    voltage: float
    clearing: float | None = None
    current_kind: str | None = None

    @property
    def marking(self) -> str:
        """As printed on the cap: T4AH250V."""
        amps = f"{1e3 * self.rating:g}mA" if self.rating < 1 else f"{self.rating:g}A"
        return f"{self.speed}{amps}{self.breaking}{self.voltage:g}V"


@cache
def gate(speed: str, *, breaking: str, rating: float) -> tuple[GateRow, ...]:
    """Give the gate points of the sheet that covers a link, least multiple first; empty where none does."""
    rows = [
        row for row in read("fuse_gates", GateRow)
        if (row.speed, row.breaking) == (speed, breaking)
        and row.rating_low * (1 - 1e-9) <= rating <= row.rating_high * (1 + 1e-9)
    ]
    return tuple(sorted(rows, key=lambda row: row.multiple))


@cache
def i2t_row(speed: str, *, breaking: str) -> I2tRow:
    """Give the I²t bounds of a type; ``ValueError`` on one that the tables lack."""
    for row in read("fuse_i2t", I2tRow):
        if (row.speed, row.breaking) == (speed, breaking):
            return row
    raise ValueError(f"no I²t bounds for a fuse of type {speed}, {breaking}")


def opening_time(link: Link, *, current: float) -> tuple[float, float]:
    """Give the shortest and the longest pre-arcing time, s, of ``link`` at ``current`` (A r.m.s.).

    Straight lines between the gate points, both scales logarithmic; the standard fixes only the points.
    Up to 1.5 I_n it holds for an hour or more; below 2.1 I_n nothing says that it opens at all: the
    longest time is infinite. Above 10 I_n constant I²t. Where a gate has no lower bound, zero. A link
    without a sheet gives 0 to infinity: nothing is known.
    """
    multiple = current / link.rating
    rows = gate(link.speed, breaking=link.breaking, rating=link.rating)
    if not rows:
        return 0.0, math.inf
    shortest = [(row.multiple, row.shortest) for row in rows if row.shortest is not None]
    longest = [(row.multiple, row.longest) for row in rows if math.isfinite(row.longest)]
    early = shortest[0][1] if multiple <= shortest[0][0] else _along(shortest, multiple=multiple)
    late = math.inf if multiple < longest[0][0] else _along(longest, multiple=multiple)
    return early, late


def _along(points: Sequence[tuple[float, float]], *, multiple: float) -> float:
    """The time at ``multiple``, beyond the first point."""
    for (m_1, t_1), (m_2, t_2) in pairwise(points):
        if multiple <= m_2:
            return float(GATE_TIME(t_1=t_1, t_2=t_2, m_1=m_1, m_2=m_2, m=multiple))
    last, time = points[-1]
    if last < ADIABATIC and multiple > last:
        return 0.0          # the gate has no lower bound beyond its last point
    return time * (last / multiple) ** 2


def melting(link: Link, *, current: float) -> float:
    """Give the I²t, A²s, that ``link`` surely bears once at ``current`` without melting.

    The gate's lower bound at that current, and no less than the adiabatic melting I²t: the 10 I_n
    gate's lower bound, else the least typical one (from memory). Raises ``ValueError`` on a type that
    the tables lack.
    """
    row = i2t_row(link.speed, breaking=link.breaking)
    least = row.melting_low if row.gate_low is None else row.gate_low
    return max(least * link.rating**2, current**2 * opening_time(link, current=current)[0])


def let_through(link: Link, *, prospective: float) -> float:
    """Give the greatest I²t, A²s, that ``link`` lets through on a short of ``prospective`` A r.m.s.

    Its clearing I²t where given. Else from 10 times the rating on the gate's bound with arcing, below that
    the longest time at that current. Infinite where the fuse need not open, and where neither its data nor
    a sheet of the tables tell.
    """
    if link.clearing is not None:
        return link.clearing
    return let_through_step(link, prospective=prospective).value if let_through_known(link) else math.inf


def let_through_known(link: Link) -> bool:
    """Tell whether the link's own data or a sheet that covers its rating bound what it lets through."""
    return link.clearing is not None or bool(gate(link.speed, breaking=link.breaking, rating=link.rating))


def let_through_step(link: Link, *, prospective: float) -> Step:
    """Give the step of ``let_through`` by the tables; ``ValueError`` on a type that they lack."""
    row = i2t_row(link.speed, breaking=link.breaking)
    if prospective >= ADIABATIC * link.rating:
        return Step(
            formula=LET_THROUGH,
            inputs={"w_gate": row.gate_high, "I_n": link.rating, "k_arc": row.arcing},
            note="greatest I²t on a short, arcing included")
    return Step(
        formula=I2T_RECTANGLE, inputs={"I_p": prospective, "t": weak_time(link, current=prospective)},
        note="greatest I²t at this weak short, arcing included")


def weak_time(link: Link, *, current: float) -> float:
    """Give the longest time, s, until ``link`` has cleared a short of ``current`` A below 10 times its rating.

    The gate's upper bound, and the arc: as long as the melting at most, and no longer than one period of 50 Hz,
    in which the current passes zero twice (common practice, no source).
    """
    late = opening_time(link, current=current)[1]
    arcing = i2t_row(link.speed, breaking=link.breaking).arcing - 1.0
    return late + min(arcing * late, PERIOD)


@dataclass(frozen=True, kw_only=True)
class Ambient:
    """Fall of the rating with temperature: ``slope`` per K above ``reference`` (°C)."""

    speed: str
    slope: float
    reference: float
    source: str
    mark: str


def ambient_factor(speed: str, *, ambient: float) -> Step:
    """Give the step that reduces the rating at ``ambient`` (°C); no gain is taken below the reference."""
    rows = {row.speed: row for row in read("fuse_ambient", Ambient)}
    row = rows.get(speed, rows["T"])
    warm = max(ambient, row.reference)
    return Step(formula=AMBIENT_FACTOR, inputs={
        "s_amb": row.slope, "T_amb": warm + ZERO, "T_amb0": row.reference + ZERO})


@dataclass(frozen=True, kw_only=True)
class PulseRow:
    """Share of the melting I²t that a link bears ``pulses`` times, 10 s or more between them."""

    pulses: float
    share: float
    source: str
    mark: str


def pulse_share(pulses: float) -> tuple[float, str]:
    """Give the share of the melting I²t that a link bears for ``pulses`` surges, and its source.

    The row of the next larger number; the last row beyond 1e5. Source: pulse life guide (seen).
    """
    rows = read("fuse_pulses", PulseRow)
    row = next((row for row in rows if row.pulses >= pulses * (1 - 1e-9)), rows[-1])
    return row.share, f"{marked(row.source, row.mark)}, {row.pulses:.0e} pulses"


def gate_curves(link: Link) -> tuple[Curve, Curve]:
    """Give the gate as two polylines, time (s) against current (A): shortest and longest pre-arcing time."""
    rows = gate(link.speed, breaking=link.breaking, rating=link.rating)
    early = [(row.multiple * link.rating, row.shortest) for row in rows if row.shortest is not None]
    late = [(row.multiple * link.rating, row.longest) for row in rows if math.isfinite(row.longest)]
    return _curve(f"{link.marking}, shortest", points=early), _curve(
        f"{link.marking}, longest", points=late)


def _curve(name: str, *, points: Sequence[tuple[float, float]]) -> Curve:
    x, y = zip(*points, strict=True)
    return Curve(name=name, x=np.array(x, float), y=np.array(y, float))


def sources(link: Link) -> tuple[str, ...]:
    """Give the sources of the gate and of the I²t bounds, with their marks."""
    rows = gate(link.speed, breaking=link.breaking, rating=link.rating)
    if not rows:
        return ("your file",)
    row = i2t_row(link.speed, breaking=link.breaking)
    return tuple(dict.fromkeys([*(marked(r.source, r.mark) for r in rows), marked(row.source, row.mark)]))
