"""Line choke ahead of a bridge with reservoir: the least inductance with which the line harmonics hold.

Safe side: harmonics, r.m.s. current and peak are those at the lower end of the inductance's tolerance and at the
least winding resistance of any class; heat at the class's own resistance, warm. Iron loss is not counted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from designer.equations import line_choke as eq
from designer.parts import harmonics
from designer.parts.margins import holds, share, within
from designer.parts.preferred import at_least, tolerance
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

SERIES = "E6"
#: of a limit: what a smaller choke may use to take the place of one that was chosen before and still does
KEEP = 0.97
_WRONG = (
    "Too small, or left out: harmonics above the limits; neutral and transformer ahead carry what does no work. One "
    "that saturates is no choke at the peak, and hums. Too large: the bus sags under load."
)


@dataclass(frozen=True, kw_only=True)
class Row:
    """Chokes as sold: rated A r.m.s., from … to (H), inductance over winding resistance (s), saturation (A peak)."""

    current: float
    inductance_low: float
    inductance_high: float
    time_constant: float
    saturation: float
    source: str
    mark: str

    def has(self, inductance: float) -> bool:
        """True where this class is sold in that inductance, H."""
        return self.inductance_low * (1 - 1e-9) <= inductance <= self.inductance_high * (1 + 1e-9)


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What the line carries with a choke of ``inductance`` (H, nominal) at its lower end; the worst of all states.

    ``use``: the greatest harmonic current over what its limit allows, ``order`` which, ``current`` (A) of it; ``rms``
    and ``peak`` A of the line; ``at``: in which state the harmonic arises; ``advice``: what to do where it is too much.
    An ``inductance`` of 0 is no choke.
    """

    inductance: float
    use: float
    order: int
    current: float
    rms: float
    peak: float
    at: str
    advice: str = "Take the next larger inductance."


@dataclass(frozen=True, kw_only=True)
class Bus:
    """What stands behind the choke, for its notes: nominal F, and V that the bus falls by it under full load."""

    capacitance: float
    sag: float


@cache
def rows() -> tuple[Row, ...]:
    """Give the classes, the smallest current first."""
    return tuple(sorted(read("line_chokes", Row), key=lambda row: row.current))


@cache
def inductances() -> tuple[float, ...]:
    """Give every preferred inductance that is sold, H, the smallest first."""
    found, value = [], at_least(min(row.inductance_low for row in rows()), SERIES)
    while value <= max(row.inductance_high for row in rows()) * (1 + 1e-9):
        found.append(value)
        value = at_least(value * 1.01, SERIES)
    return tuple(found)


def lower(inductance: float) -> float:
    """Give the lower end of a choke's inductance, H."""
    return float(eq.LOWER_INDUCTANCE(L_ch=inductance, tol_L=tolerance(SERIES)))


def upper(inductance: float) -> float:
    """Give the upper end of a choke's inductance, H."""
    return inductance * (1.0 + tolerance(SERIES))


def least_resistance(inductance: float) -> float:
    """Give the least winding resistance, ohm, of any class that is sold in that inductance (H)."""
    return min(inductance / row.time_constant for row in rows() if row.has(inductance))


def resistance(inductance: float, *, row: Row) -> float:
    """Give a class's winding resistance, ohm warm, at an inductance (H)."""
    return float(eq.CHOKE_RESISTANCE(L_ch=inductance, tau_ch=row.time_constant))


def own_row(inductance: float, *, resistance: float | None, current: float | None, saturation: float | None) -> Row:
    """Give the row of a choke at hand (H, ohm warm, A r.m.s., A peak); what is left out (None) is a listed class's.

    That class is the smallest of at least the rated current that is sold in the inductance, or nearest to it; where
    the rated current is left out the largest, whose winding damps least.
    """
    def away(row: Row) -> float:
        return max(0.0, math.log(row.inductance_low / inductance), math.log(inductance / row.inductance_high))

    enough = [row for row in rows() if row.current >= (current or 0.0) * (1 - 1e-9)] or [rows()[-1]]
    near = min(enough, key=lambda row: (away(row), -row.current if current is None else row.current))
    return replace(
        near, current=near.current if current is None else current,
        saturation=near.saturation if saturation is None else saturation,
        time_constant=inductance / resistance if resistance else near.time_constant,
        source="your file; what it leaves out is a listed choke's")


def stands(seen: Seen, *, row: Row, margins: Mapping[str, float]) -> bool:
    """Tell whether a class bears r.m.s. current and peak."""
    return all(map(holds, _currents(seen, row=row, margins=margins)))


def candidates(
    seen: Sequence[Seen], *, held: float | None, margins: Mapping[str, float]
) -> tuple[tuple[Seen, Row], ...]:
    """Give those with which every limit holds and the class of each, the smallest inductance first.

    One of ``held`` (H, chosen before; None: none) stays while it does: a smaller one must keep ``KEEP``.
    """
    found = []
    for one in sorted(seen, key=lambda each: each.inductance):
        enough = 1.0 if held is None or one.inductance >= held * (1 - 1e-9) else KEEP
        row = next((row for row in rows() if row.has(one.inductance)
                    and stands(one, row=row, margins=margins)), None)
        if within(one.use, limit=enough) and row is not None:
            found.append((one, row))
    return tuple(found)


def _currents(seen: Seen, *, row: Row, margins: Mapping[str, float]) -> tuple[Rating, Rating]:
    carried, crest = share("choke_current", margins), share("choke_saturation", margins)
    at = "worst loaded state, lower inductance"
    return (
        Rating(name="r.m.s. current", limit=Quantity(row.current, "A"), stress=Quantity(seen.rms, "A"),
               share=carried[0], source=carried[1], at=at, remedy="Take the next larger class."),
        Rating(name="peak against saturation", limit=Quantity(row.saturation, "A"), stress=Quantity(seen.peak, "A"),
               share=crest[0], source=crest[1], at=at, remedy="Take the next larger class."),
    )


def part(seen: Seen, *, row: Row, bus: Bus, margins: Mapping[str, float], limited: bool = True) -> Part:
    """Give the choke as a part; the harmonic nearest to its limit is among its ratings where it is ``limited``."""
    allowed, told = share("harmonics", margins)
    ohms = resistance(seen.inductance, row=row)
    loss = Step(formula=eq.CHOKE_LOSS, inputs={"R_ch": ohms, "I_line": seen.rms}, note="winding, warm")
    ringing = Step(formula=eq.RESONANCE, inputs={"L_ch": seen.inductance, "C_res": bus.capacitance})
    return Part(
        role="line-choke", designator="L1", value=Quantity(seen.inductance, "H"),
        description="line choke, laminated iron with an air gap, for mains frequency",
        marking=f"{engineering(seen.inductance, 'H')} {row.current:g} A", tolerance=f"{100 * tolerance(SERIES):g} %",
        ratings=(
            *((Rating(
                name=f"harmonic {seen.order} at the lower inductance", limit=Quantity(harmonics.limit(seen.order), "A"),
                stress=Quantity(seen.current, "A"), share=allowed, source=f"{harmonics.SOURCE}; {told}", at=seen.at,
                remedy=seen.advice),) if limited else ()),
            *_currents(seen, row=row, margins=margins)),
        worked=(
            Step(formula=eq.LOWER_INDUCTANCE, inputs={"L_ch": seen.inductance, "tol_L": tolerance(SERIES)},
                 note="the harmonics are held with this"),
            Step(formula=eq.CHOKE_RESISTANCE, inputs={"L_ch": seen.inductance, "tau_ch": row.time_constant}),
            loss, ringing),
        if_wrong=_WRONG, notes=_notes(bus, row=row, loss=loss.value, ringing=ringing.value, ohms=ohms),
        sources=(marked(row.source, row.mark),))


def _notes(bus: Bus, *, row: Row, loss: float, ringing: float, ohms: float) -> tuple[str, ...]:
    return (
        f"Winding {engineering(ohms, 'ohm', 3)} warm, {engineering(loss, 'W', 3)} of heat, iron loss apart; saturation "
        f"(inductance at the lower end of its tolerance) at {engineering(row.saturation, 'A', 3)} peak or more.",
        f"The bus falls by {engineering(bus.sag, 'V', 3)} more under full load than without it (nominal mains).",
        f"It rings with the reservoir at {engineering(ringing, 'Hz', 3)}: the inrush limiter damps it at switch-on; "
        "a dip while the limiter is bypassed counts in the reservoir's surge voltage.",
        "Inrush, let-through and shorts are computed without it: saturated, it holds nothing back.",
        "Insulated for the mains, its core earthed; clear of the current sensor, and of sheet iron, which hums in its "
        "stray field.",
    )
