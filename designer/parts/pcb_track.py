"""Printed tracks: the width of every current path of the board, at the copper's thickness and the rise allowed.

Safe side: widths rounded up to 0.1 mm; beyond what the rule is known for, a soldered wire instead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from designer.parts.conductors import OUNCE, track_width
from designer.quantities import engineering

#: K, rise taken where none is given (example of IPC-2221 widths as worked in the trade)
RISE = 20.0
#: A and m: to here the fit of IPC-2221 holds (from memory)
MOST_CURRENT, MOST_WIDTH = 35.0, 10e-3
#: A, above which 1 oz copper is no good choice (common practice, no source)
THIN_COPPER = 8.0
SOURCE = "IPC-2221: I = k·ΔT^0.44·A^0.725, k 0.048 outside, 0.024 inside (seen); range from memory"


@dataclass(frozen=True, kw_only=True)
class Track:
    """One path: r.m.s. current (A), widths (m) outside and inside the board, and what to take."""

    name: str
    current: float
    outer: float
    inner: float
    advice: str

    @property
    def known(self) -> bool:
        """True where the rule holds for the outer layer."""
        return self.current <= MOST_CURRENT and self.outer <= MOST_WIDTH


def track(name: str, current: float, *, copper: float = OUNCE, rise: float = RISE) -> Track:
    """Give the track of a path of ``current`` (A r.m.s.) for a ``copper`` thickness (m) and a ``rise`` (K)."""
    if not math.isfinite(current) or current <= 0:
        raise ValueError(f"{name}: {current} A is no current of a track")
    outer = track_width(current, rise=rise, copper=copper)
    inner = track_width(current, rise=rise, copper=copper, inside=True)
    advice = ""
    if current > MOST_CURRENT or outer > MOST_WIDTH:
        advice = "no track: soldered wire or bar"
    elif current > THIN_COPPER and copper < 2 * OUNCE:
        advice = "70 µm copper or a soldered wire"
    elif inner > MOST_WIDTH:
        advice = "outer layers only"
    return Track(name=name, current=current, outer=outer, inner=inner, advice=advice)


def said(copper: float, rise: float) -> str:
    """Give what the widths hold for, in words."""
    return (f"Copper {engineering(copper, 'm')} thick, {rise:g} K above the air in the box, one track by itself. "
            f"{SOURCE}.")
