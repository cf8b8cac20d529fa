"""A heatsink by its dimensions: an extrusion with upright plate fins, or a plain upright plate."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from designer.equations import fins as eq
from designer.errors import InputError
from designer.parts import plate
from designer.project.device import Heatsink
from designer.results import Step

#: m: the fins of the equivalent extrusion (common practice, no source); steps to which its sides are rounded up
FIN_THICKNESS, FIN_HEIGHT, _STEP = 2e-3, 25e-3, 5e-3
#: K; a sink less warm than this above the air takes its resistance there (the greater one)
_LEAST_RISE = 0.1
_HOTTEST = 2000.0


@dataclass(frozen=True, kw_only=True)
class Size:
    """A heatsink: ``height`` (m, along the fins, upright), ``width`` (m); a plain plate where it has no fins.

    ``fin_height`` and ``fin_thickness`` in m; ``emissivity`` of its surface.
    """

    height: float
    width: float
    fin_count: int = 0
    fin_height: float = 0.0
    fin_thickness: float = FIN_THICKNESS
    emissivity: float = plate.BLACK

    @property
    def words(self) -> str:
        """Its dimensions in mm, width first."""
        body = f"{1e3 * self.width:.0f} mm wide, {1e3 * self.height:.0f} mm high"
        if not self.fin_count:
            return body
        return (f"{body}, {self.fin_count} fins of {1e3 * self.fin_height:.0f} mm, "
                f"{1e3 * self.fin_thickness:g} mm thick")


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where the heatsink stands: ``air`` round it (°C), ``altitude`` (m)."""

    air: float
    altitude: float = 0.0


def thin_air(resistance: float, altitude: float) -> Step:
    """Give the step of what a sink of ``resistance`` (K/W at sea level) has at ``altitude`` (m)."""
    return Step(formula=eq.RESISTANCE_ALOFT, note=f"{altitude:.0f} m above the sea", inputs={
        "R_sea": resistance, "d_air": float(eq.AIR_DENSITY(z=altitude))})


def told_aloft(times: float, altitude: float) -> str:
    """What the thin air of ``altitude`` (m) makes of a sink's resistance, ``times`` greater; nothing where it is 1."""
    if times == 1.0:
        return ""
    return f" at {altitude:.0f} m, where a sink has {times:.3g} times the resistance that is told for sea level"


def of_file(own: Heatsink | None) -> Size | None:
    """Give the dimensions of ``[parts.heatsink]``, None where it has none; bare metal unless it tells otherwise."""
    if own is None or own.height is None or own.width is None:
        return None
    emissivity = plate.BARE if own.emissivity is None else own.emissivity
    if own.fin_count is None or own.fin_height is None or own.fin_thickness is None:
        return Size(height=own.height, width=own.width, emissivity=emissivity)
    return Size(
        height=own.height, width=own.width, fin_count=own.fin_count, fin_height=own.fin_height,
        fin_thickness=own.fin_thickness, emissivity=emissivity)


def heat_capacity(size: Size) -> float:
    """Give the least heat capacity, J/K: aluminium, base or plate 2 mm thick."""
    return float(eq.METAL_CAPACITY(
        L_plate=size.height, W_sink=size.width, n_fin=float(size.fin_count), t_fin=size.fin_thickness,
        H_fin=size.fin_height))


def radiating(size: Size) -> float:
    """Give the area, m², that radiates to the room: one face and the sides of the fins."""
    return float(eq.ENVELOPE(L_plate=size.height, W_sink=size.width, H_fin=size.fin_height))


def best_gap(height: float, *, sink: float, place: Place) -> float:
    """Give the gap, m, between upright fins of ``height`` (m) that sheds most from a given width."""
    number = plate.rayleigh(height, sink=sink, air=place.air, altitude=place.altitude)
    return float(eq.BEST_GAP(L_plate=height, Ra=number))


def worked(size: Size, *, sink: float, place: Place) -> Step:
    """Give the step of the thermal resistance, K/W, with the sink at ``sink`` (°C).

    Between the fins no more is counted than on a plate by itself: far apart, the form of the channels reads a
    tenth above that of the plate. Raises ``InputError`` for ``parts.heatsink.fin_count`` where the fins leave no gap.
    """
    radiated = plate.radiation(sink=sink, air=place.air, emissivity=size.emissivity)
    face = plate.convection(size.height, sink=sink, air=place.air, altitude=place.altitude)
    note = f"sink at {sink:.0f} °C, air {place.air:.0f} °C, {place.altitude:.0f} m, emissivity {size.emissivity:g}"
    if not size.fin_count:
        return Step(formula=eq.PLATE_RESISTANCE, note=note, inputs={
            "L_plate": size.height, "W_sink": size.width, "h": face + radiated})
    gap = _gap(size)
    number = plate.rayleigh(size.height, sink=sink, air=place.air, altitude=place.altitude)
    inside = min(face, float(eq.CHANNEL_CONVECTION(S=gap, Nu=float(eq.CHANNEL(El=float(
        eq.ELENBAAS(Ra=number, S=gap, L_plate=size.height)))))))
    share = float(eq.FIN_EFFICIENCY(H_fin=size.fin_height, h=face + radiated, t_fin=size.fin_thickness))
    return Step(formula=eq.FIN_RESISTANCE, note=note, inputs={
        "L_plate": size.height, "n_fin": float(size.fin_count), "eta_fin": share, "H_fin": size.fin_height, "S": gap,
        "h_gap": inside, "h_side": face, "W_sink": size.width, "h_rad": radiated})


def _gap(size: Size) -> float:
    gap = float(eq.GAP(W_sink=size.width, n_fin=float(size.fin_count), t_fin=size.fin_thickness)) \
        if size.fin_count > 1 else 0.0
    if gap <= 0:
        raise InputError(
            "parts.heatsink.fin_count", size.fin_count,
            f"2 to {max(2, math.ceil(size.width / size.fin_thickness) - 1)} fins of {1e3 * size.fin_thickness:g} mm "
            f"on a width of {1e3 * size.width:g} mm", "Count the fins, the two at the edges too.")
    return gap


def temperature(size: Size, *, loss: float, place: Place) -> float:
    """Give the temperature, °C, at which the sink sheds ``loss`` (W); at least a little above the air.

    Raises ``InputError`` for ``parts.heatsink.height`` where that would be above 2000 °C, and as ``worked``.
    """
    def surplus(sink: float) -> float:
        return (sink - place.air) / worked(size, sink=sink, place=place).value - loss

    low, high = place.air + _LEAST_RISE, _HOTTEST
    if surplus(low) >= 0:
        return low
    if surplus(high) < 0:
        raise InputError("parts.heatsink.height", size.words, f"a heatsink that sheds {loss:.3g} W",
                         "Take a far larger one.")
    return float(brentq(surplus, low, high, xtol=1e-6))


def at_loss(size: Size, *, loss: float, place: Place) -> Step:
    """Give the step of the thermal resistance, K/W, at the temperature at which the sink sheds ``loss`` (W)."""
    return worked(size, sink=temperature(size, loss=loss, place=place), place=place)


def equivalent(loss: float, *, sink: float, place: Place) -> Size | None:
    """Give the smallest black square extrusion with fins at the best gap that sheds ``loss`` (W) at ``sink`` (°C).

    Sides in steps of 5 mm up to 400 mm, rounded up; the fins as many as leave the best gap or more. None where a
    plate of that size would not do.
    """
    for step in range(6, round(plate.LARGEST / _STEP) + 1):
        edge = step * _STEP
        gap = best_gap(edge, sink=sink, place=place)
        count = math.floor((edge + gap) / (gap + FIN_THICKNESS))
        if count < 2:
            continue
        size = Size(height=edge, width=edge, fin_count=count, fin_height=FIN_HEIGHT)
        if (sink - place.air) / worked(size, sink=sink, place=place).value >= loss:
            return size
    return None


def counted(size: Size, *, sink: float, place: Place) -> list[str]:
    """Tell how a user's sink was counted, and how its gaps stand to the best."""
    notes = [f"Counted upright with an emissivity of {size.emissivity:g} at {place.altitude:.0f} m; air free to rise."]
    if size.fin_count:
        best = best_gap(size.height, sink=sink, place=place)
        notes.append(f"Its gaps are {1e3 * _gap(size):.1f} mm; {1e3 * best:.1f} mm would shed most at that height.")
    return notes


def equals(loss: float, *, sink: float, place: Place) -> list[str]:
    """Tell what sheds ``loss`` (W) at ``sink`` (°C) as well: a plain plate, an extrusion."""
    found = []
    side = plate.side(loss, sink=sink, air=place.air, altitude=place.altitude)
    if side <= plate.LARGEST:
        found.append(
            f"A plain upright plate does as well: black, {1e3 * side:.0f} mm square, 2 mm aluminium or more.")
    finned = equivalent(loss, sink=sink, place=place)
    if finned is not None:
        found.append(f"A black extrusion {finned.words}, fins upright, does as well with top and bottom open.")
    return found
