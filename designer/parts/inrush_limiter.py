"""Inrush limiter of the reservoir: none, an NTC alone, or a resistor with a bypass relay.

Safe side: the larger resistance at its lower tolerance, the larger energy with the capacitor at its upper one.
The worst case of an NTC is the restart while it is still hot: then it hardly limits. Where bridge and fuse do
not bear that, the resistor with a relay across it takes its place.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from designer.equations import reservoir as eq
from designer.errors import InputError
from designer.parts import bypass
from designer.parts.inrush import Demand, bears, energy, i2t, needed, peak
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

__all__ = ["Choice", "Demand", "Disc", "bears", "choose", "energy", "i2t", "needed", "peak"]

#: of an NTC's resistance at 25 °C (from memory)
TOLERANCE = 0.20
#: °C; the greatest current holds up to the first and falls to zero at the second (NTC data, from memory)
FULL_CURRENT, NO_CURRENT = 65.0, 170.0
_WRONG = (
    "Left out or bridged: switching on welds the main switch, opens the fuse or breaks the bridge. Too small a disc "
    "bursts. Restarted while still hot it limits nothing."
)


@dataclass(frozen=True, kw_only=True)
class Disc:
    """An NTC as sold: Ω at 25 °C and at its greatest steady current (A r.m.s.), energy of one inrush (J).

    The user's own has no diameter (0).
    """

    diameter_mm: float
    resistance: float
    hot_resistance: float
    current: float
    energy: float
    source: str
    mark: str

    @property
    def own(self) -> bool:
        """True for the user's: taken as it is."""
        return self.diameter_mm == 0


@dataclass(frozen=True, kw_only=True)
class Choice:
    """What limits: ``kind`` ``"none"``, ``"ntc"`` or ``"bypassed"``, its parts, and what is left of the inrush.

    ``peak`` (A) and ``i2t`` (A²s): of the worst switch-on, for bridge and fuse. ``running_resistance`` (Ω, at its
    least) stands in the line while running. ``delay`` (s): after it the load may be let on, 0 without a relay.
    """

    kind: str
    parts: tuple[Part, ...]
    peak: float
    i2t: float
    running_resistance: float
    delay: float
    note: str


def own_disc(hot: float, *, resistance: float | None, current: float | None, energy: float | None) -> Disc:
    """Give the disc of a file (Ω hot and at 25 °C, A r.m.s., J).

    What is left out (None) is that of the listed disc nearest to it.
    """
    def away(disc: Disc) -> float:
        return abs(math.log(max(hot, 1e-6) / disc.hot_resistance)) + (
            abs(math.log(max(resistance, 1e-6) / disc.resistance)) if resistance is not None else 0.0)

    near = min(read("inrush_limiters", Disc), key=away)
    return replace(
        near, hot_resistance=hot, resistance=near.resistance if resistance is None else resistance,
        current=near.current if current is None else current, energy=near.energy if energy is None else energy,
        source="your file; what it leaves out is a listed disc's", diameter_mm=0.0)


def choose(demand: Demand, *, margins: Mapping[str, float], own: Disc | None = None) -> Choice:
    """Give the least that limits the inrush at its worst: none, an NTC that does even hot, else the bypassed resistor.

    Behind a line choke (``rings``) only the resistor: it damps, the others do not. The user's ``own`` NTC is taken as
    it is, its ratings told.

    Raises ``InputError`` for ``parts.reservoir.capacitance`` where no charging resistor bears the energy, for
    ``supply.prospective_current`` where nothing says what the source can give.
    """
    if not demand.source_resistance > 0:
        raise InputError(
            "supply.prospective_current", None, "the current that the supply gives into a short",
            "Without it nothing tells what a closing contact, a fuse and a bridge must bear.")
    if own is not None:
        return _choice("ntc", (ntc(own, demand=demand, margins=margins),), demand=demand,
                       resistance=own.hot_resistance, note="The NTC of your file; it stands in the line while running.")
    if not demand.rings and bears(demand, resistance=0.0):
        return _choice("none", (), demand=demand, resistance=0.0, note="The source's own resistance limits enough.")
    discs = () if demand.rings else read("inrush_limiters", Disc)
    for disc in sorted(discs, key=lambda row: (row.diameter_mm, row.resistance)):
        made = ntc(disc, demand=demand, margins=margins)
        if all(map(holds, made.ratings)):
            return _choice("ntc", (made,), demand=demand, resistance=disc.hot_resistance,
                           note="An NTC does: even hot it leaves a peak that holds.")
    resistor, ohms = bypass.charging_resistor(demand, margins=margins)
    relay, delay = bypass.relay(demand, resistance=ohms, margins=margins)
    least = ohms * (1.0 - bypass.TOLERANCE)
    return Choice(
        kind="bypassed", parts=(resistor, relay), peak=peak(demand, resistance=least).value,
        i2t=i2t(demand, resistance=least).value, running_resistance=0.0, delay=delay, note=_why_bypassed(demand))


def _choice(kind: str, parts: tuple[Part, ...], *, demand: Demand, resistance: float, note: str) -> Choice:
    return Choice(
        kind=kind, parts=parts, peak=peak(demand, resistance=resistance).value,
        i2t=i2t(demand, resistance=resistance).value, running_resistance=resistance, delay=0.0, note=note)


def _why_bypassed(demand: Demand) -> str:
    """What the NTC that would carry the current does when it is still hot."""
    if demand.rings:
        return ("Restarted through a hot NTC, the line choke would lift the reservoir far above the crest: a resistor "
                "damps it, bypassed while running.")
    rows = [disc for disc in read("inrush_limiters", Disc) if disc.current >= demand.running_current]
    if not rows:
        return "No listed NTC carries the running current: a resistor, bypassed while running."
    hot = min(rows, key=lambda disc: disc.current)
    left = peak(demand, resistance=hot.hot_resistance).value
    return (
        f"A hot NTC of {hot.hot_resistance:g} Ω would let {left:.0f} A through where {demand.allowed_peak:.0f} A "
        f"hold ({demand.set_by}): a resistor, bypassed while running.")


def steady_current(disc: Disc, *, ambient: float) -> float:
    """Give the greatest steady current, A r.m.s., in air of ``ambient`` (°C); source: NTC data, from memory."""
    use = (NO_CURRENT - ambient) / (NO_CURRENT - FULL_CURRENT)
    return disc.current * min(1.0, max(0.0, use))


def ntc(disc: Disc, *, demand: Demand, margins: Mapping[str, float]) -> Part:
    """Give ``disc`` as a part with its ratings, the restart while hot among them."""
    cold = disc.resistance * (1.0 - TOLERANCE)
    heat = Step(formula=eq.HOT_LOSS, inputs={"I_run": disc.current, "R_hot": disc.hot_resistance},
                note="heat at its greatest current")
    told = marked(disc.source, disc.mark)
    return Part(
        role="inrush-limiter", designator="RT1",
        description=f"NTC inrush limiter{' of your file' if disc.own else f', disc of {disc.diameter_mm:g} mm'}",
        value=Quantity(disc.resistance, "ohm"),
        marking=f"{disc.resistance:g} Ω at 25 °C, {disc.current:g} A", tolerance=f"{100 * TOLERANCE:g} %",
        ratings=(*_inrush_ratings(demand, cold=cold, hot=disc.hot_resistance, source=told),
                 *_own_ratings(disc, demand=demand, margins=margins, source=told)),
        worked=(needed(demand), energy(demand), peak(demand, resistance=cold),
                peak(demand, resistance=disc.hot_resistance), i2t(demand, resistance=disc.hot_resistance), heat),
        if_wrong=_WRONG,
        notes=(f"It runs hot, up to {engineering(heat.value, 'W', 3)} and 200 °C: clear of wires, board and capacitor.",
               "After switching off it needs 30 to 60 s to cool (read in a public source); a restart before that "
               "counts here as the worst case, with all its resistance gone but the hot part."),
        sources=(told,))


def _inrush_ratings(demand: Demand, *, cold: float, hot: float, source: str) -> tuple[Rating, ...]:
    why = f"what the rest bears: {demand.set_by}"
    rows = (
        ("peak at switch-on, cold", "A", demand.allowed_peak, peak(demand, resistance=cold).value),
        ("peak at a restart while hot", "A", demand.allowed_peak, peak(demand, resistance=hot).value),
        ("I²t at a restart while hot", "A**2*s", demand.allowed_i2t, i2t(demand, resistance=hot).value),
    )
    return tuple(
        Rating(name=name, limit=Quantity(limit, unit), stress=Quantity(stress, unit), source=f"{why}; {source}",
               at="highest supply, upper capacitance", remedy="Bypass a charging resistor by a relay instead.")
        for name, unit, limit, stress in rows if math.isfinite(limit))


def _own_ratings(disc: Disc, *, demand: Demand, margins: Mapping[str, float], source: str) -> tuple[Rating, ...]:
    allowed, told = share("inrush_energy", margins)
    carry, carried = share("contact_current", margins)
    return (
        Rating(name="energy of one charging", limit=Quantity(disc.energy, "J"),
               stress=Quantity(energy(demand).value, "J"), share=allowed, source=told, at="upper capacitance"),
        Rating(name="running current", limit=Quantity(steady_current(disc, ambient=demand.ambient), "A"),
               stress=Quantity(demand.running_current, "A"), share=carry, source=f"{carried}; {source}",
               at=f"{demand.ambient:.0f} °C in the box"),
    )
