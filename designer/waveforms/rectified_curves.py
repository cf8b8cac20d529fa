"""One period of a saturating rectified motor as curves, the harmonics of its line current, and means of its flux."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from designer.motor.flux import Winding
from designer.results import Array, Indices
from designer.waveforms.rectified import OFF, Command, Rectification, Rectified, Wave
from designer.waveforms.rectified_cycle import Cycle, Start, cycle, opens
from designer.waveforms.rectified_march import scene_of
from designer.waveforms.rectified_modes import Stretch
from designer.waveforms.rectified_trace import LEAST, ORDERS, apart

PANELS = 96            # steps of a mode
SHORTEST = 1e-7        # rad: a mode that lasts less is not drawn
TURN = 2 * np.pi
_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(4)


def retraced(circuit: Rectified, winding: Winding, command: Command, state: Rectification) -> tuple[Indices, Cycle]:
    """March the known period once more: the points that conduct (all of one source inductance), and their period."""
    at = np.flatnonzero(~state.missed)
    some, known = circuit[at], state[at]
    crest = float(known.crest.max(initial=0.0))
    extra = float(some.source_inductance[0]) if at.size else 0.0
    scene = scene_of(some, winding, extra, 1e-9, reach=1.02 * (float(winding.linkage(crest)) + extra * crest))
    until = np.where(known.continuous, known.turn_on, np.inf) + TURN / circuit.pulses
    start = Start(turn_on=known.turn_on, current=known.first, until=np.minimum(until, known.turn_on + 2 * TURN))
    return at, cycle(scene, start, opens(scene, command[at]), steps=PANELS)


@dataclass(frozen=True, kw_only=True)
class Samples:
    """A mode at some angles in every step: angle, weight for integrals over it, and what flows; (point, angle)."""

    angle: Array
    weight: Array
    current: Array
    line: Array
    odd: Array


def sampled(part: Stretch) -> Samples:
    """Give a mode at Gauss's points of every step, by the cubics between its nodes."""
    share, weight = (_POINTS + 1) / 2, _WEIGHTS / 2
    width, steps = part.width, len(part.line) - 1
    place = (np.arange(steps)[:, None] + share).ravel()
    angle = part.start[:, None] + width[:, None] * place
    return Samples(
        angle=angle, weight=width[:, None] * np.tile(weight, steps),
        current=_between(part.nodes.current, part.nodes.current_rate, width, share),
        line=_between(part.line, part.line_rate, width, share),
        odd=_between(part.nodes.odd, part.nodes.odd_rate, width, share))


def _between(value: Array, rate: Array, width: Array, share: Array) -> Array:
    """Values at ``share`` of every step, (point, step and share)."""
    t = share[:, None, None]
    y0, y1, r0, r1 = value[:-1], value[1:], width * rate[:-1], width * rate[1:]
    rise = y1 - y0
    found = y0 + t * (r0 + t * (3 * rise - 2 * r0 - r1 + t * (r0 + r1 - 2 * rise)))
    return np.asarray(found.transpose(2, 1, 0).reshape(value.shape[1], -1))


def spectrum(circuit: Rectified, at: Indices, one: Cycle) -> Array:
    """Give the complex amplitudes of the line current, A, orders 0 to 40 (columns), a row a point.

    The current is the mean (order 0, real) and the sum of Re(c_n·exp(−j·n·θ)).
    """
    total = np.zeros((len(circuit), ORDERS + 1), complex)
    for part in one.parts.values():
        if not part.line.any():
            continue
        some = sampled(part)
        power, turning = (some.line * some.weight).astype(complex), np.exp(1j * some.angle)
        for n in range(ORDERS + 1):
            total[at[part.at], n] += power.sum(axis=1)
            power *= turning
    if circuit.pulses == 2:
        total *= 1 - (-1.0) ** np.arange(ORDERS + 1)
    total /= np.pi
    total[:, 0] = total[:, 0].real / 2
    return total


def flux_means(circuit: Rectified, at: Indices, one: Cycle, *, remanent: tuple[float, float], power: float) -> Array:
    """Give the mean of |k|^``power`` over the period; ``remanent``: k_r while current flows, and while none does."""
    total, flows = np.zeros(len(circuit)), np.zeros(len(circuit))
    for part in one.parts.values():
        some = sampled(part)
        total[at[part.at]] += (np.abs(some.odd + remanent[0]) ** power * some.weight).sum(axis=1)
        flows[at[part.at]] += part.end - part.start
    period = TURN / circuit.pulses
    return np.asarray((total + np.maximum(period - flows, 0.0) * abs(remanent[1]) ** power) / period)


def trace(circuit: Rectified, winding: Winding, command: Command, state: Rectification) -> Wave:
    """Give the first point's period; every switching instant stands twice, a rounding apart."""
    first = np.array([0])
    circuit, state = circuit[first], state[first]
    period = TURN / circuit.pulses
    if state.missed[0]:
        rows = _cut(np.array((0.0, TURN)), None, 1.0)
    else:
        _, one = retraced(circuit, winding, command[first], state)
        rows = [row for span, part in _spans(one, period) for copy in (1.0, -1.0)[: circuit.pulses]
                for row in _cut(np.array(span) + (np.pi if copy < 0 else 0.0), part, copy)]
    rows.sort(key=lambda row: float(row[0, 0]))
    angle, mode, current, slope, line, line_slope, pulse = np.concatenate(rows, axis=1)
    omega = float(circuit.omega[0])
    return Wave(angle=apart(angle), mode=mode, current=current, slope=slope * omega, line=line,
                line_slope=line_slope * omega, pulse=pulse)


def _spans(one: Cycle, period: float) -> list[tuple[tuple[float, float], Stretch | None]]:
    """Begin and end of every mode of one point, and of what lies between (None), over a period from the first on."""
    parts = sorted(one.parts.values(), key=lambda part: float(part.start[0]))
    parts = [part for part in parts if part.end[0] - part.start[0] > SHORTEST]
    spans: list[tuple[tuple[float, float], Stretch | None]] = []
    reached = begin = float(parts[0].start[0])
    for part in parts:
        low, high = float(part.start[0]), float(part.end[0])
        if low > reached + SHORTEST:
            spans.append(((reached, low), None))
        spans.append(((low, high), part))
        reached = high
    if begin + period > reached + SHORTEST:
        spans.append(((reached, begin + period), None))
    return spans


def _cut(span: Array, part: Stretch | None, copy: float) -> list[Array]:
    """One point's rows of a mode (None: nothing flows), cut where the period ends."""
    blocks = []
    for low in (0.0, TURN, 2 * TURN):
        a, b = max(float(span[0]), low), min(float(span[1]), low + TURN)
        if b <= a:
            continue
        theta = np.linspace(a, b, 2 + int(np.ceil((b - a) / TURN * LEAST)))
        rows = np.zeros((7, theta.size))
        rows[0], rows[1], rows[6] = theta - low, OFF if part is None else part.mode, copy
        if part is not None:
            place = np.clip((theta - span[0]) / (span[1] - span[0]), 0.0, 1.0) * (len(part.line) - 1)
            rows[2:4] = _hermite(part.nodes.current, part.nodes.current_rate, part.width, place)
            rows[4:6] = copy * np.array(_hermite(part.line, part.line_rate, part.width, place))
        blocks.append(rows)
    return blocks


def _hermite(value: Array, rate: Array, width: Array, place: Array) -> tuple[Array, Array]:
    """Value and slope (a radian) of the first point at places counted in nodes."""
    left = np.minimum(place.astype(np.intp), len(value) - 2)
    t, h = place - left, float(width[0])
    y0, y1, r0, r1 = value[left, 0], value[left + 1, 0], h * rate[left, 0], h * rate[left + 1, 0]
    rise = y1 - y0
    c2, c3 = 3 * rise - 2 * r0 - r1, r0 + r1 - 2 * rise
    return y0 + t * (r0 + t * (c2 + t * c3)), (r0 + t * (2 * c2 + t * 3 * c3)) / h
