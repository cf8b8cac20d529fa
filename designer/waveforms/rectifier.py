"""Bridge and reservoir in the periodic steady state: exact pulses, and what they load each part with.

The equations stand in ``reservoir.py``, the search for the pulses in ``charging.py``. Half cycles are alike, the
line current changing sign.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from designer.results import Array, Mask
from designer.waveforms.charging import Starts, Stretch, follow, starts
from designer.waveforms.pulse_sums import area, fourier, loads
from designer.waveforms.reservoir import Bridge, Loop, loop

__all__ = ["Bridge", "Charged", "bus_mean", "charged", "harmonics", "spectrum", "trace"]


@dataclass(frozen=True, kw_only=True)
class Charged:
    """A bridge and its reservoir in the steady state; arrays, SI.

    ``turn_on`` and ``extinction`` of a half cycle's pulses, rad from the same source zero (nan where no
    current flows); ``touching`` where the other pair takes over without a gap. ``mean``, ``valley``, ``crest``
    V at the bus terminals; ``line_absolute``, ``line_rms``, ``line_peak`` A of the line current: a diode's mean
    is half the first and its r.m.s. the second over √2. ``capacitor_rms`` A; ``drawn`` W from the ideal source.
    ``level`` is the bus less its rise by line current at turn-on, V, from which the waveform follows.
    All are nan where the load overwhelms the source: the bus would fall to zero within the half cycle, and a
    constant load current has no meaning there.
    """

    turn_on: Array
    extinction: Array
    touching: Mask
    mean: Array
    valley: Array
    crest: Array
    line_absolute: Array
    line_rms: Array
    line_peak: Array
    capacitor_rms: Array
    drawn: Array
    level: Array

    def __getitem__(self, chosen: object) -> Charged:
        return Charged(**{f.name: np.atleast_1d(getattr(self, f.name)[chosen]) for f in fields(self)})

    @property
    def sustained(self) -> Mask:
        """True where the source carries the load."""
        return np.isfinite(self.mean)


def charged(bridge: Bridge, *, tolerance: float = 1e-12) -> Charged:
    """Give the steady state; ``tolerance`` is the relative error of lead and length of the pulses."""
    k = loop(bridge)
    found = starts(k, tolerance=tolerance)
    stretches = tuple(follow(k, found))
    total, level, end = _levels(k, found, stretches)
    values = _loads(k, bridge.series_resistance, found, stretches)
    square = values.pop("square") / np.pi
    values |= {
        "turn_on": found.turn_on, "extinction": end, "level": level,
        "mean": total / np.pi + bridge.series_resistance * k.load,
        "line_rms": np.sqrt(square), "capacitor_rms": np.sqrt(np.maximum(square - k.load**2, 0.0))}
    sound = values["valley"] > 0
    return Charged(touching=found.touching & sound, **{
        name: np.where(sound, value, np.nan) for name, value in values.items()})


def bus_mean(bridge: Bridge, *, tolerance: float = 1e-12) -> Array:
    """Give the mean voltage at the bus terminals alone, V; nan where there is no steady state.

    Unlike ``charged`` it does not look for the valley: a mean may belong to a bus that touches zero.
    """
    k = loop(bridge)
    found = starts(k, tolerance=tolerance)
    total = _levels(k, found, tuple(follow(k, found)))[0]
    return np.asarray(total / np.pi + bridge.series_resistance * k.load)


def _levels(k: Loop, found: Starts, stretches: tuple[Stretch, ...]) -> tuple[Array, Array, Array]:
    """Give ∫w dθ of a half cycle (V·rad), w at its first turn-on (V), and the end of its last pulse (rad)."""
    level = np.where(k.load > 0, found.level, np.maximum(k.peak - k.drop, 0.0))
    level = np.where((k.load > 0) & ~np.isfinite(found.turn_on), np.nan, level)
    total, end, last = np.zeros_like(level), np.array(found.turn_on), np.array(level)
    for one in stretches:
        where = one.where
        total[where] += area(one) + (one.pulse.start - end[where]) * (last[where] + one.pulse.level) / 2
        end[where], last[where] = one.pulse.start + one.length, one.level
    gap = np.where(np.isfinite(end), found.turn_on + np.pi - end, np.pi)
    return total + gap * (last + level) / 2, level, end


def _loads(k: Loop, series: Array, found: Starts, stretches: tuple[Stretch, ...]) -> dict[str, Array]:
    """Give what the pulses add up to (names of ``Charged``; ``square`` is ∫i² dθ of a half cycle)."""
    rest = np.where((k.load > 0) & ~np.isfinite(found.turn_on), np.nan, np.maximum(k.peak - k.drop, 0.0))
    nothing = 0.0 * rest
    names = ("line_absolute", "square", "drawn", "line_peak")
    values = {name: nothing.copy() for name in names}
    values |= {name: np.where(k.load > 0, np.nan, rest) for name in ("valley", "crest")}
    for one in stretches:
        where = one.where
        part = loads(one, series[where])
        values["line_absolute"][where] += one.charge / np.pi
        values["square"][where] += part["square"]
        values["drawn"][where] += part["drawn"] * k.peak[where] / np.pi
        values["line_peak"][where] = np.maximum(values["line_peak"][where], part["most"])
        values["valley"][where] = np.fmin(values["valley"][where], part["valley"])
        values["crest"][where] = np.fmax(values["crest"][where], part["crest"])
    return values


def _pulses(bridge: Bridge, found: Charged) -> tuple[Stretch, ...]:
    """Give the pulses of the points' half cycles, in their order."""
    return tuple(follow(loop(bridge), Starts(
        turn_on=found.turn_on, level=found.level, touching=found.touching,
        length=np.where(found.touching, np.pi, np.nan))))


def harmonics(bridge: Bridge, found: Charged, at: int, orders: int = 40) -> NDArray[np.complex128]:
    """Give c of orders 1 to ``orders`` for one point, A: the line current is the sum of Re(c·exp(j·order·θ)).

    Crest values, so r.m.s. is |c|/√2, and a current in phase with the source has c = −j·crest. Closed form;
    even orders are zero, the half cycles being alike.
    """
    return np.asarray(spectrum(bridge[[at]], found[[at]], orders)[0])


def spectrum(bridge: Bridge, found: Charged, orders: int = 40) -> NDArray[np.complex128]:
    """Give ``harmonics`` of all points at once, a row a point; zero where no current flows or none is known."""
    total = np.zeros((len(bridge), orders), complex)
    for one in _pulses(bridge, found):
        for order in range(1, orders + 1, 2):
            total[one.where, order - 1] += 2 / np.pi * fourier(one, order)
    return total


def trace(bridge: Bridge, found: Charged, at: int, nodes: int = 721) -> tuple[Array, Array, Array]:
    """Give angle (rad, 0 to 2π with both ends), line current (A, signed) and bus voltage (V) of one point.

    Every switching instant is a point besides ``nodes`` even ones. All current is nan where there is no
    steady state.
    """
    stretches = _pulses(bridge[[at]], found[[at]])
    edges = [(float(one.pulse.start[0]), float(one.pulse.start[0] + one.length[0])) for one in stretches]
    instants = np.array(edges).ravel()
    turned = np.mod(np.concatenate((instants, instants + np.pi)), 2 * np.pi)
    angle = np.unique(np.concatenate((np.linspace(0.0, 2 * np.pi, max(nodes, 361)), turned)))
    if not stretches:
        return angle, np.full_like(angle, 0.0 * found.mean[at]), np.full_like(angle, found.mean[at])
    first = float(found.turn_on[at])
    half = np.floor((angle - first) / np.pi)
    # in the half cycle that begins with the first turn-on, which rounding must not put before it
    own = np.maximum(angle - half * np.pi, first)
    k, current, bus = stretches[0].pulse.loop, np.zeros_like(angle), np.zeros_like(angle)
    for one, (start, end) in zip(stretches, edges, strict=True):
        within, after = (own >= start) & (own <= end), own > end
        flow, _, level, _, _ = one.pulse.whole(own[within] - start)
        current[within] = np.maximum(flow, 0.0)
        bus[within] = level + bridge.series_resistance[at] * current[within]
        bus[after] = one.level[0] - k.load[0] / k.susceptance[0] * (own[after] - end)
    return angle, np.where(half % 2 == 0, current, -current), bus
