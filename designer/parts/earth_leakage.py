"""Current to protective earth: Y capacitors and windings, both poles, against the limits of IEC 60335-1.

Safe side: the highest mains, the upper tolerance of every capacitor, and the neutral open: a fuse or a switch in one
pole only, or a broken neutral, puts the mains on the capacitors of both poles, which doubles the current.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from designer.equations import mains_filter as eq
from designer.results import Quantity, Rating, Step
from designer.tables import marked, read

Protection = Literal["class-1-portable", "class-1-stationary", "class-2"]

#: upper tolerance of Y capacitors as sold (from memory)
Y_TOLERANCE = 0.20
#: A, residual-current device that protects people, and the part of it below which it must not trip (IEC 61008)
RESIDUAL, UNTRIPPED = 30e-3, 0.5
#: part of that for one machine: needs and common practice, no source: well below a half
ONE_MACHINE = 1.0 / 3.0


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A limit (A r.m.s.) of the leakage current, by class of protection."""

    name: str
    current: float
    meaning: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Demand:
    """Highest mains (V r.m.s.), its frequency (Hz), one Y capacitor (F), windings to frame (F, 0 if not known)."""

    mains_high: float
    frequency: float
    y_capacitance: float = 0.0
    frame_capacitance: float = 0.0
    protection: Protection = "class-1-portable"


@dataclass(frozen=True, kw_only=True)
class Leakage:
    """The current (A r.m.s.) with both poles whole and with the neutral open, and how each was worked out."""

    whole: Step
    neutral_open: Step
    steps: tuple[Step, ...]
    limit: Limit

    @property
    def share_of_device(self) -> float:
        """The worse current over what a residual-current device of 30 mA surely lets stand."""
        return self.neutral_open.value / (UNTRIPPED * RESIDUAL)

    @property
    def machines(self) -> int:
        """How many such machines one residual-current device of 30 mA surely bears, neutral open; 0 for none."""
        return int(1 / self.share_of_device) if self.share_of_device > 0 else 0


def limit(protection: Protection) -> Limit:
    """Give the limit of a class of protection. Source: IEC 60335-1 clauses 13.2, 16.2 (from memory)."""
    return next(row for row in read("leakage_limits", Limit) if row.name == protection)


def leakage(demand: Demand) -> Leakage:
    """Give the leakage current, whole and with the neutral open."""
    poles = {
        number: Step(formula=eq.EARTH_CAPACITANCE, note=note, inputs={
            "n_Y": number, "d_Y": Y_TOLERANCE, "C_Y": demand.y_capacitance, "C_frame": demand.frame_capacitance})
        for number, note in ((1.0, "neutral at earth: the line's capacitor counts"),
                             (2.0, "neutral open: both poles on the line's voltage"))}
    whole, opened = (
        Step(formula=eq.EARTH_LEAKAGE, note=step.note, inputs={
            "f_net": demand.frequency, "C_earth": step.value, "V_earth": demand.mains_high}) for step in poles.values())
    return Leakage(whole=whole, neutral_open=opened, limit=limit(demand.protection),
                   steps=(poles[1.0], whole, poles[2.0], opened))


def rating(found: Leakage) -> Rating:
    """Give the check: neutral open against the limit of the class."""
    return Rating(
        name="earth leakage current, neutral open", limit=Quantity(found.limit.current, "A"),
        stress=Quantity(found.neutral_open.value, "A"), source=marked(found.limit.source, found.limit.mark),
        at="highest mains, capacitors at their upper tolerance, mains on both poles",
        remedy="Smaller Y capacitors, or none.")


def largest_y(demand: Demand) -> float:
    """Give the largest Y capacitor (F, nominal) that keeps the limit with the neutral open; 0 where none does."""
    total = float(eq.CAPACITANCE_FOR_LEAKAGE(
        I_leak=limit(demand.protection).current, f_net=demand.frequency, V_earth=demand.mains_high))
    return max(total - demand.frame_capacitance, 0.0) / (2 * (1 + Y_TOLERANCE))
