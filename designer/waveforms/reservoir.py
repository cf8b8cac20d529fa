"""Bridge, source impedance and reservoir: the closed form of one pulse of current, and of the gap after it.

While a pair of diodes conducts, with θ the angle of the source, i the rectified line current, I the load's
constant current and w the voltage that the bus would have without line current (capacitor less the load's
drop in the series resistance r; the bus stands at w + r·i):

    X·di/dθ = V·sin θ − D − (R + r)·i − w,        B·dw/dθ = i − I,        X = ωL, B = ωC.

i = I + i_s(θ) + y with the forced sine i_s of the series circuit R + r, X, 1/B and a free part
y = y0·C(x) + m·T(x), x being the angle from the pulse's start. C is the free response to a unit of current,
T = −dC/dx. Both are written so that they stay exact through critical damping and have their limits at
X = 0 (first order) and X = R + r = 0 (the bus follows the source).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields

import numpy as np

from designer.results import Array, Indices, Mask

FEW = 64           # points, and rad of ringing, up to which all are looked at alike
TINY = 1e-100      # stands for zero under a fraction whose limit is finite


@dataclass(frozen=True, kw_only=True)
class Bridge:
    """Single-phase diode bridge from a sine source into a reservoir with a constant load current; arrays, SI.

    ``peak`` V, crest of the ideal source; ``omega`` rad/s; ``resistance`` ohm, source and the slopes of the
    two conducting diodes; ``inductance`` H, source; ``drop`` V, thresholds of the two conducting diodes;
    ``capacitance`` F; ``series_resistance`` ohm, of the capacitor; ``load_current`` A, constant, ≥ 0.
    """

    peak: Array
    omega: Array
    resistance: Array
    inductance: Array
    drop: Array
    capacitance: Array
    series_resistance: Array
    load_current: Array

    def __getitem__(self, chosen: object) -> Bridge:
        return Bridge(**{f.name: np.atleast_1d(getattr(self, f.name)[chosen]) for f in fields(self)})

    def __len__(self) -> int:
        return len(self.peak)


@dataclass(frozen=True, kw_only=True)
class Loop:
    """The numbers of a ``Bridge`` that its closed form needs; units as there, reactances in ohm."""

    peak: Array
    drop: Array
    load: Array
    resistance: Array       # ohm, of the whole loop with the capacitor's
    reactance: Array        # X, ohm
    susceptance: Array      # B, siemens
    in_phase: Array         # i_s = in_phase·sin θ + quadrature·cos θ, A
    quadrature: Array
    slow: Array             # 1/rad: decay of the free part, the slower one where it does not ring
    ring: Array             # 1/rad: rate of ringing, 0 where it does not ring
    spread: Array           # 1/rad: difference of the two decays, 0 where it rings
    kick: Array             # T = kick·exp(−slow·x)·(1 − exp(−spread·x)), or with the sine of the ringing
    lean: Array             # likewise for the part of C

    def __getitem__(self, chosen: object) -> Loop:
        return Loop(**{f.name: getattr(self, f.name)[chosen] for f in fields(self)})

    def free(self, x: Array) -> tuple[Array, Array]:
        """Give C and T (1/rad) at the angle ``x`` after the start."""
        decay = np.exp(-self.slow * x)
        rings = self.ring > 0
        if rings.all():
            turn = self.ring * x
            even, odd = np.cos(turn), np.sin(turn)
        else:
            gone = -np.expm1(-self.spread * x)
            even, odd = 1 - gone / 2, gone
            if rings.any():
                turn = self.ring * x
                even, odd = np.where(rings, np.cos(turn), even), np.where(rings, np.sin(turn), odd)
        return decay * (even + self.lean * odd), decay * self.kick * odd

    def forced(self, theta: Array) -> tuple[Array, Array]:
        """Give the forced sine i_s (A) and its slope (A/rad)."""
        sine, cosine = np.sin(theta), np.cos(theta)
        return self.in_phase * sine + self.quadrature * cosine, self.in_phase * cosine - self.quadrature * sine

    def last_rise(self) -> Array:
        """Give the angle, rad, after which the source falls faster than an unfed bus."""
        return np.asarray(np.arccos(np.maximum(-self.load / (self.susceptance * self.peak), -1.0)))

    def excess(self, theta: Array) -> Array:
        """Give V·sin θ − D + I·θ/B, V: equal at both ends of a gap, less w + I·θ/B of its start."""
        return np.asarray(self.peak * np.sin(theta) - self.drop + self.load / self.susceptance * theta)


def loop(bridge: Bridge) -> Loop:
    """Give the closed form's numbers."""
    r = bridge.resistance + bridge.series_resistance
    x, b = bridge.omega * bridge.inductance, bridge.omega * bridge.capacitance
    net = x - 1 / b
    square = r * r + net * net
    balance = r * r / 4 - x / b                       # ohm²: below zero it rings
    root = np.maximum(np.sqrt(np.abs(balance)), TINY)
    rings = balance < 0
    safe = np.maximum(x, TINY)
    slow = np.where(rings, r / 2 / safe, 1 / (b * np.maximum(r / 2 + root, TINY)))
    half = np.where(rings, 1.0, 0.5)
    return Loop(
        peak=bridge.peak, drop=bridge.drop, load=bridge.load_current, resistance=r, reactance=x, susceptance=b,
        in_phase=bridge.peak * r / square, quadrature=-bridge.peak * net / square, slow=slow,
        ring=np.where(rings, root / safe, 0.0), spread=np.where(rings, 0.0, 2 * root / safe),
        kick=half / (b * root), lean=half * r / 2 / root,
    )


@dataclass(frozen=True, kw_only=True)
class Pulse:
    """Current from zero at ``start`` (rad, in its own half cycle) with the bus at ``level`` (w, V); arrays.

    Angles may have a row a look and a column a pulse.
    """

    loop: Loop
    start: Array
    level: Array
    y0: Array
    m: Array
    pull: Array     # m over the reactance, A/V per rad
    rise: Array     # A/rad, slope of the forced sine at the start

    def __getitem__(self, chosen: object) -> Pulse:
        return Pulse(loop=self.loop[chosen], **{
            f.name: getattr(self, f.name)[chosen] for f in fields(self) if f.name != "loop"})

    def at(self, x: Array) -> Array:
        """Give the current, A, at ``x`` after the start."""
        near, far = self.loop.free(x)
        return np.asarray(self.loop.load + self.loop.forced(self.start + x)[0] + self.y0 * near + self.m * far)

    def whole(self, x: Array) -> tuple[Array, Array, Array, Array, Array]:
        """Give i (A), di/dθ (A/rad), w (V), C and T (1/rad) at ``x`` after the start."""
        k = self.loop
        near, far = k.free(x)
        theta = self.start + x
        sine, slope = k.forced(theta)
        current = k.load + sine + self.y0 * near + self.m * far
        moved = self.rise - slope + self.m * (1 - near)
        level = self.level + moved / k.susceptance + self.y0 * (k.reactance * far + k.resistance * (1 - near))
        rate = slope - self.y0 * far + self.pull * (near / k.susceptance - k.resistance * far)
        return current, rate, level, near, far


def pulse(bridge: Loop, start: Array, level: Array) -> Pulse:
    """Give the pulse that starts at ``start`` (rad) with the bus at ``level`` (V).

    Without inductance the current is at once what the resistance lets through.
    """
    sine, slope = bridge.forced(start)
    drive = bridge.peak * np.sin(start) - bridge.drop - level
    choked = bridge.reactance > 0
    at_once = np.where(choked, 0.0, drive / np.maximum(bridge.resistance, TINY))
    pull = np.where(choked, bridge.susceptance * (drive / np.maximum(bridge.reactance, TINY) - slope), 0.0)
    return Pulse(loop=bridge, start=start, level=level, y0=at_once - bridge.load - sine, rise=slope, pull=pull,
                 m=pull * bridge.reactance)


def root(function: Callable[[Array], Array], low: Array, high: Array) -> Array:
    """Give where ``function`` changes sign between ``low`` and ``high``, to rounding (Chandrupatla's method)."""
    a, b = np.array(high, float), np.array(low, float)
    fa, fb = function(a), function(b)
    c, fc, share = a, fa, np.full_like(a, 0.5)
    for _ in range(60):
        trial = a + share * (b - a)
        value = function(trial)
        same = np.sign(value) == np.sign(fa)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = trial, value
        width = np.abs(b - a)
        least = 2.0**-51 * np.maximum(np.abs(a), np.abs(b))
        if np.all((width <= 2 * least) | (fa == 0)):
            break
        with np.errstate(all="ignore"):
            xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
            smooth = (1 - np.sqrt(1 - xi) < phi) & (phi < np.sqrt(xi))
            inverse = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
            edge = np.minimum(least / width, 0.5)
            share = np.clip(np.where(smooth, inverse, 0.5), edge, 1 - edge)
        share = np.where(np.isfinite(share), share, 0.5)
    return np.where(np.abs(fa) <= np.abs(fb), a, b)


def extinction(current: Pulse, limit: Array) -> Array:
    """Give the angle, rad after the start, at which the current is first zero again; nan where not by ``limit``."""
    found = np.full(len(limit), np.nan)
    for some in alike(current.loop.ring * limit):
        found[some] = _extinction(current[some], limit[some])
    return found


def alike(swings: Array) -> list[Indices]:
    """Give groups of points that need about as many looks, from how far each rings (rad)."""
    if len(swings) < FEW and np.max(swings, initial=0.0) < FEW:
        return [np.arange(len(swings))]          # not worth the parting
    grade = np.ceil(np.log2(np.maximum(swings, 8.0) / 8.0) / 2)
    return [np.flatnonzero(grade == one) for one in np.unique(grade)]


def _extinction(current: Pulse, limit: Array) -> Array:
    angles = limit * np.linspace(0.0, 1.0, 1 + looks(current.loop, limit))[1:, None]
    flow, rate, _, _, _ = current.whole(angles)
    ends = flow <= 0
    dips = np.zeros_like(ends)
    dips[1:] = may_dip(flow, rate, angles)
    columns = np.arange(len(limit))
    while True:
        first = np.argmax(ends | dips, axis=0)
        ended, dipped = ends[first, columns], dips[first, columns] & ~ends[first, columns]
        high = angles[first, columns]
        low = np.where(first > 0, angles[first - 1, columns], high * 1e-3)
        some = np.flatnonzero(dipped)
        if not len(some):
            break
        part = current[some]
        least = root(lambda x, part=part: part.whole(x)[1], low[some], high[some])  # type: ignore[misc]
        dips[first[some], some] = False
        below = part.at(least) <= 0
        # the zero lies before the least value: let the next round find it between the look before and there
        angles[first[some[below]], some[below]] = least[below]
        ends[first[some[below]], some[below]] = True
    found = np.full(len(limit), np.nan)
    found[ended] = _falls(current[ended], low[ended], high[ended])
    return found


def _falls(current: Pulse, low: Array, high: Array) -> Array:
    """Give where a current above zero at ``low`` and not at ``high`` passes zero: Newton's method in the bracket."""
    x = 0.5 * (low + high)
    for _ in range(80):
        flow, rate, _, _, _ = current.whole(x)
        low, high = np.where(flow > 0, x, low), np.where(flow > 0, high, x)
        with np.errstate(all="ignore"):
            trial = x - flow / rate
        inside = (trial >= low) & (trial <= high)
        step = np.where(inside, trial, 0.5 * (low + high)) - x
        x = x + step
        if np.all(np.abs(step) <= 1e-9 * x):      # the next step would be the square of it
            break
    return x


def looks(k: Loop, length: Array) -> int:
    """Give how many even looks at pulses of that length (rad) follow each swing of the ringing."""
    return int(max(10.0, 2.5 * float(np.max(k.ring * length, initial=0.0))))


def may_dip(flow: Array, rate: Array, angles: Array) -> Mask:
    """Tell between which neighbouring looks a current above zero may have dipped to it: its tangents cross there.

    The current is convex around its least value, so it does not go below the crossing of the tangents. A row a
    look, a column a pulse.
    """
    left, right = rate[:-1], rate[1:]
    with np.errstate(all="ignore"):
        width = angles[1:] - angles[:-1]
        cross = (flow[1:] - flow[:-1] - right * width) / (left - right)
        under = flow[:-1] + left * cross <= 0
    return np.asarray((left < 0) & (right > 0) & under)


def next_start(bridge: Loop, end: Array, level: Array) -> Array:
    """Give where the source passes the unfed bus again in the SAME half cycle, rad; nan where it does not."""
    slope, top = bridge.load / bridge.susceptance, bridge.last_rise()
    offset = level + slope * end
    again = (end < top) & (bridge.excess(top) > offset)
    angle = np.array(end)
    for _ in range(60):          # concave and from below: Newton's steps never pass the root
        step = (offset - bridge.excess(angle)) / (bridge.peak * np.cos(angle) + slope)
        step = np.where(again, np.maximum(step, 0.0), 0.0)
        angle = np.where(again, np.minimum(angle + step, top), angle)
        if np.all(step <= 4e-16 * (1 + angle)):
            break
    return np.where(again, angle, np.nan)
