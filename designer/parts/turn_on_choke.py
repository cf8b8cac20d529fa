"""Choke between the capacitor across the mains and thyristors that take over from a free-wheeling diode.

While that diode still conducts, a thyristor that fires shorts the capacitor: only what inductance stands between holds
the rise of current back. Safe side: lower end of the inductance, the capacitor at the crest of the highest mains,
leads and the thyristor's own fall of voltage left out. Its share of the allowed rise leaves room for the snubbers.
It must hold until the thyristor has taken the free-wheeling current over, so that current must not saturate it; at full
conduction the mains passes zero at the firing and there is nothing to hold back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from designer.equations import line_choke as winding
from designer.equations import turn_on_choke as eq
from designer.errors import InputError
from designer.parts import x2_capacitor
from designer.parts.line_choke import SERIES, Row, lower, resistance
from designer.parts.margins import holds, share
from designer.parts.preferred import at_least, tolerance
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

_WRONG = (
    "Too small, left out, or saturated: at each firing the capacitor across the mains empties into thyristor and diode "
    "at a rate that burns a spot into the thyristor; it fails short after days or weeks."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What it holds back and carries; SI.

    ``crest``: V of the capacitor at its highest. ``rise``: rated rise of current of the thyristor, A/s. ``rms``: A
    of the line, ``peak`` (A) while running, ``stall_peak`` (A) at a
    stall with the setting held; ``at``: in which state the r.m.s. current arises.
    """

    crest: float
    rise: float
    rms: float
    peak: float
    stall_peak: float
    at: str = ""
    margins: Mapping[str, float] = field(default_factory=dict)

    @property
    def allowed(self) -> float:
        """Rise of current allowed in all, A/s."""
        return share("rise_of_current", self.margins)[0] * self.rise


@cache
def rows() -> tuple[Row, ...]:
    """Give the classes, the smallest current first."""
    return tuple(sorted(read("turn_on_chokes", Row), key=lambda row: row.current))


def inductances(demand: Demand) -> tuple[float, ...]:
    """Give the preferred values that leave the snubbers their room, H, the least first."""
    least = float(eq.CHOKE_LEAST(V_c=demand.crest, didt_all=demand.allowed)) / (1.0 - tolerance(SERIES))
    found, value = [], at_least(max(least, min(row.inductance_low for row in rows())), SERIES)
    while value <= max(row.inductance_high for row in rows()) * (1 + 1e-9):
        found.append(value)
        value = at_least(value * 1.01, SERIES)
    return tuple(found)


def rise(demand: Demand, inductance: float) -> float:
    """Give the rise of current through a choke of ``inductance`` (H) at its lower end, A/s."""
    return float(eq.CHOKE_RISE(V_c=demand.crest, L_c=lower(inductance)))


def choose(demand: Demand, inductance: float) -> Part:
    """Give the smallest class of that inductance (H, nominal) that holds every rating.

    Raises ``InputError`` for ``load.torque`` where none is listed that carries the line's current.
    """
    fitting = [row for row in rows() if row.has(inductance)]
    for row in fitting:
        made = _part(demand, inductance, row)
        if all(map(holds, made.ratings)):
            return made
    raise InputError(
        "load.torque", f"{engineering(demand.rms, 'A', 3)} r.m.s., {engineering(demand.stall_peak, 'A', 3)} at a stall",
        f"a choke of {engineering(inductance, 'H')} up to {max((row.current for row in fitting), default=0.0):g} A",
        "Lower the load, gear down, or give a thyristor that bears a quicker rise of current in [parts.switch].")


def _part(demand: Demand, inductance: float, row: Row) -> Part:
    ohms = resistance(inductance, row=row)
    loss = Step(formula=winding.CHOKE_LOSS, inputs={"R_ch": ohms, "I_line": demand.rms}, note="winding, warm")
    least = Step(formula=eq.CHOKE_LEAST, inputs={"V_c": demand.crest, "didt_all": demand.allowed},
                 note="crest of high mains")
    left = Step(formula=eq.CHOKE_RISE, inputs={"V_c": demand.crest, "L_c": lower(inductance)},
                note="lower end of the inductance")
    ahead = x2_capacitor.MOST * (1.0 + x2_capacitor.TOLERANCE)
    peak = Step(formula=eq.CHOKE_PEAK, inputs={"V_c": demand.crest, "C_x": ahead, "L_c": lower(inductance)},
                note="largest capacitor that is fitted here, upper end")
    return Part(
        role="turn-on-choke", designator="L1", value=Quantity(inductance, "H"),
        description="choke on an iron-powder ring, against the rise of current at turn-on",
        marking=f"{engineering(inductance, 'H')} {row.current:g} A", tolerance=f"{100 * tolerance(SERIES):g} %",
        ratings=_ratings(demand, row=row, left=left.value),
        worked=(
            least, Step(formula=winding.LOWER_INDUCTANCE, inputs={"L_ch": inductance, "tol_L": tolerance(SERIES)}),
            left, peak, loss,
            Step(formula=winding.CHOKE_RESISTANCE, inputs={"L_ch": inductance, "tau_ch": row.time_constant})),
        if_wrong=_WRONG, notes=_notes(demand, row=row, ohms=ohms, heat=loss.value),
        sources=(marked(row.source, row.mark),))


def _ratings(demand: Demand, *, row: Row, left: float) -> tuple[Rating, ...]:
    allowed, told = share("rise_of_current", demand.margins)
    carried, crest = share("choke_current", demand.margins), share("choke_saturation", demand.margins)
    larger = "Take the next larger class."
    return (
        Rating(name="rise of current that it leaves", limit=Quantity(demand.rise, "A/s"),
               stress=Quantity(left, "A/s"), share=float(eq.k_room.value or 0.0) * allowed,
               at="crest of high mains, lower inductance",
               source=f"half of what the thyristor may see, the rest for the snubbers; {told}",
               remedy="Take the next larger inductance."),
        Rating(name="r.m.s. current", limit=Quantity(row.current, "A"), stress=Quantity(demand.rms, "A"),
               share=carried[0], source=carried[1], at=demand.at, remedy=larger),
        Rating(name="peak against saturation", limit=Quantity(row.saturation, "A"), stress=Quantity(demand.peak, "A"),
               share=crest[0], source=crest[1], at="running", remedy=larger),
        Rating(name="peak against saturation at stall", limit=Quantity(row.saturation, "A"),
               stress=Quantity(demand.stall_peak, "A"), source="a stall is rare: the saturation current is the limit",
               at="stall, setting held", remedy=larger),
    )


def _notes(demand: Demand, *, row: Row, ohms: float, heat: float) -> tuple[str, ...]:
    return (
        f"Winding {engineering(ohms, 'ohm', 3)} warm, {engineering(heat, 'W', 3)} of heat, iron loss apart; saturation "
        f"(inductance at the lower end of its tolerance) at {engineering(row.saturation, 'A', 3)} peak or more.",
        "Between the capacitor across the mains and the rectifier, in the line; no capacitor behind it.",
        "A ring of iron powder, not of ferrite without gap and not a current-compensated choke: both have no "
        "inductance left for a current that flows one way.",
        "Insulated for the mains; a quiet whistle at each firing is no fault.",
    )
