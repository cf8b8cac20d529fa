"""The lines of a fuse's time-current plot: its gate, what flows for how long, and what each part behind it bears."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from designer.equations.conductor import HOT_WIRE_FACTOR
from designer.equations.fuse import I2T_RECTANGLE
from designer.parts import dc_fuse, wire_overload
from designer.parts.coordination import STATED, Bears
from designer.parts.fuse_gates import ADIABATIC, Link, gate, gate_curves, i2t_row
from designer.parts.winding import limits
from designer.results import Array, Part
from designer.studies.sides import Scene
from designer.studies.stall import hottest_winding, thermal_class, time_to_limit

#: s, the times that a plot shows
SHORTEST, LONGEST = 1e-4, 1e4
_SOON = 5e-3           # s: an I²t of a pulse is drawn as a current for that long
_POINTS = 41
_AROUND = 3.0          # times the stalls' currents: as far as a winding's limit is drawn


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line of a time-current plot: ``x`` current (A r.m.s.), ``y`` time (s).

    ``kind``: ``"fuse"`` (a bound of its gate), ``"limit"`` (what a part bears), ``"load"`` (what flows, for as long as
    it may last), ``"pulse"`` (surges, a point each), ``"short"`` (prospective current).
    """

    name: str
    kind: Literal["fuse", "limit", "load", "pulse", "short"]
    x: Array
    y: Array


def line(name: str, kind: Literal["fuse", "limit", "load", "pulse", "short"],
         points: Iterable[tuple[float, float]]) -> Line | None:
    """Give a line through the points (A, s) that are finite and above 0; None where fewer than one is."""
    kept = [(x, y) for x, y in points if 0 < x < math.inf and 0 < y < math.inf]
    if not kept:
        return None
    x, y = np.array(kept, float).T
    return Line(name=name, kind=kind, x=x, y=y)


def steady(name: str, kind: Literal["load", "short"], current: float, *, until: float = LONGEST) -> Line | None:
    """Give a current that flows from ``SHORTEST`` until then."""
    return line(name, kind, [(current, SHORTEST), (current, max(SHORTEST, min(until, LONGEST)))])


def of_link(link: Link | dc_fuse.Link) -> tuple[Line, ...]:
    """Give the bounds of a fuse: its gate and above 10 times the rating its I²t; of a d.c. link the I²t alone."""
    if isinstance(link, dc_fuse.Link):
        found = [_constant(name, heat, rating=link.rating)
                 for name, heat in (("fuse, melts at the earliest", link.melting),
                                    ("fuse, has cleared at the latest", link.clearing))]
        return tuple(one for one in found if one is not None)
    if not gate(link.speed, breaking=link.breaking, rating=link.rating):
        one = _constant("fuse, has cleared at the latest", link.clearing, rating=link.rating)
        return () if one is None else (one,)
    early, late = gate_curves(link)
    row = i2t_row(link.speed, breaking=link.breaking)
    least = (row.melting_low if row.gate_low is None else row.gate_low) * link.rating**2
    made = (("fuse, opens at the earliest", early, least),
            ("fuse, opens at the latest", late, row.gate_high * link.rating**2))
    return tuple(one for name, curve, heat in made if (one := line(name, "fuse", [
        *((float(x), float(y)) for x, y in zip(curve.x, curve.y, strict=True) if x < ADIABATIC * link.rating * 0.999),
        *_below(heat, rating=link.rating, before=float(curve.y[-1]))])) is not None)


def _constant(name: str, heat: float | None, *, rating: float) -> Line | None:
    return None if heat is None else line(name, "fuse", _below(heat, rating=rating))


def _below(heat: float, *, rating: float, before: float = math.inf) -> list[tuple[float, float]]:
    """Constant I²t from 10 times the rating down to the shortest time; no later than the time ``before`` it (s)."""
    longest = min(heat / (ADIABATIC * rating) ** 2, before)
    return [(math.sqrt(heat / t), t) for t in (longest, min(longest, SHORTEST))]


def of_device(of: Bears) -> Line | None:
    """Give what a device bears: the lesser of its I²t for the time and of a surge's peak as r.m.s. of a half sine.

    Above 10 ms only as far as the figures go: one half cycle's I²t, no less than its rated current.
    """
    times = np.geomspace(SHORTEST, LONGEST if of.current > 0 else STATED, _POINTS)
    return line(f"{of.name} bears", "limit", [
        (min(math.sqrt(of.heat(float(t)) / float(t)),
             of.peak(float(t)) / math.sqrt(2.0) if t <= STATED else math.inf), float(t)) for t in times])


def of_wire(part: Part, *, name: str, running: float | None = None) -> Line | None:
    """Give what a wire of the parts list bears from running on: its own warming, no heat leaving in a short."""
    factor = next((step.value for step in part.worked if step.formula is HOT_WIRE_FACTOR), None)
    rated = next((r for r in part.ratings if r.name == "r.m.s. current of the wire"), None)
    if factor is None or rated is None or part.value is None or factor <= 0:
        return None
    wire = wire_overload.Wire(area=part.value.value, stated=rated.limit.value / factor, factor=factor,
                              running=rated.stress.value if running is None else running)
    return line(name, "limit", [(wire_overload.bears(wire, time=float(t)), float(t))
                                for t in np.geomspace(SHORTEST, LONGEST, _POINTS)])


def of_windings(scene: Scene) -> Iterator[Line]:
    """Give the time in which each winding that is stalled reaches its limit from running warm, against its current."""
    found = scene.found
    if found is None or not scene.stalled:
        return
    stall = scene.stalled[0]
    limit, start = limits(thermal_class(scene.project)).locked, hottest_winding(found)
    low, high = (pick(one.armature for one in scene.stalled) for pick in (min, max))
    if not low > 0:
        return
    for which in ("armature", "field") if found.fixed.field is None else ("armature",):
        points = []
        for current in np.geomspace(low / _AROUND, _AROUND * high, _POINTS):
            rms = float(current)
            mean = rms * min(1.0, stall.mean_absolute / stall.rms if stall.rms > 0 else 1.0)
            time, _ = time_to_limit(found, scene.project, which, currents=(rms, mean), start=start, limit=limit)
            points.append((float(current), math.inf if time is None else time))
        made = line(f"{which} winding's limit", "limit", points)
        if made is not None:
            yield made


def pulses(part: Part) -> Line | None:
    """Give the surges that a fuse of the parts list was chosen for, a point each; a bare I²t as a short current."""
    points = [(float(step.inputs["I_p"]), float(step.inputs["t"])) for step in part.worked
              if step.formula is I2T_RECTANGLE and "short" not in step.note]
    if not points:
        points = [(math.sqrt(r.stress.value / _SOON), _SOON) for r in part.ratings
                  if r.name in ("I²t of charging the bus", "I²t of a start")]
    return line("start and inrush", "pulse", points)
