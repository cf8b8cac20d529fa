"""An independent brute-force model of the series motor behind a triac on mains, for the tests.

Written from the definitions alone and sharing no code with the package: scipy's ``solve_ivp``
(DOP853, tight tolerance, extinction by event) marches the differential equation half cycle by
half cycle, from no current, until the waveform repeats. Slow on purpose. SI units, rad, rad/s;
angles count from the zero of the ideal source.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicHermiteSpline, PchipInterpolator
from scipy.optimize import brentq, minimize_scalar, newton

RPM = math.pi / 30
DEGREE = math.pi / 180
RTOL, ATOL = 1e-10, 1e-13


class Curve:
    """Odd part g(|i|) of the flux curve, its slope, and the remanent value ``k_r``."""

    def __init__(self, points: Sequence[tuple[float, float]]) -> None:
        """``points`` are (field current, speed constant) in A and V·s, rising."""
        self.points = tuple(points)
        self.k_r = next((k for i, k in points if i == 0), 0.0)
        current = np.array([0.0, *(i for i, _ in points if i > 0)])
        value = np.array([0.0, *(k - self.k_r for i, k in points if i > 0)])
        mirrored = np.concatenate([-current[:0:-1], current])
        odd = np.concatenate([-value[:0:-1], value])
        chords = np.diff(value) / np.diff(current)
        end = chords[-1]
        if len(chords) > 1:
            end = chords[-1] * min(1.0, chords[-1] / chords[-2]) if chords[-2] else 0.0
        slopes = PchipInterpolator(mirrored, odd).derivative()(mirrored) if len(mirrored) > 2 else None
        slopes[0] = slopes[-1] = end
        spline = CubicHermiteSpline(mirrored, odd, slopes)
        first = len(current) - 1
        self._knots = [float(i) for i in current]
        self._pieces = [tuple(float(c) for c in spline.c[:, first + n]) for n in range(len(current) - 1)]
        self._last, self._end = float(value[-1]), float(end)
        self.initial_slope = float(spline.derivative()(0.0))

    def g(self, x: float) -> float:
        """g at the magnitude ``x`` ≥ 0, V·s."""
        if x >= self._knots[-1]:
            last = self._knots[-1]
            return self._last - self._end * last * math.expm1(-(x - last) / last)
        n = max(bisect_right(self._knots, x) - 1, 0)
        h = x - self._knots[n]
        a, b, c, d = self._pieces[n]
        return ((a * h + b) * h + c) * h + d

    def slope(self, x: float) -> float:
        """dg/di at the magnitude ``x`` ≥ 0, V·s/A."""
        if x >= self._knots[-1]:
            last = self._knots[-1]
            return self._end * math.exp(-(x - last) / last)
        n = max(bisect_right(self._knots, x) - 1, 0)
        h = x - self._knots[n]
        a, b, c, _ = self._pieces[n]
        return (3 * a * h + 2 * b) * h + c


@dataclass(frozen=True, kw_only=True)
class Case:
    """Source, device, motor and load, by the letters of the definitions."""

    voltage: float                   # V r.m.s.
    frequency: float                 # Hz
    alpha: float                     # firing angle, rad
    speed: float = 0.0               # rad/s; with an inertia: at the start
    curve: Curve
    R_a: float
    R_f: float
    L_a: float
    L_f: float
    L_sigma: float | None = None     # leakage; default a tenth of L_f
    saturating: bool = False
    remanence: str = "drop"
    V_b: float = 2.0
    R_s: float = 0.0
    L_s: float = 0.0
    V_T0: float = 0.0
    r_T: float = 0.0
    guard: float = 0.0               # s
    pulse: float | None = None       # s; None: train
    friction: tuple[float, float, float] = (0.0, 0.0, 0.0)
    iron: tuple[float, float, float] = (0.0, 0.0, 1.0)   # T_h, T_e, k_n
    load: tuple[float, float, float] = (0.0, 0.0, 0.0)   # at the motor shaft
    inertia: float | None = None     # kg·m²; None: speed held

    def inductance(self, x: float) -> float:
        """L_s + L_a + L_f at the current's magnitude ``x``."""
        if not self.saturating:
            return self.L_s + self.L_a + self.L_f
        leak = 0.1 * self.L_f if self.L_sigma is None else self.L_sigma
        share = min(1.0, self.curve.slope(x) / self.curve.initial_slope)
        return self.L_s + self.L_a + leak + (self.L_f - leak) * share

    def remanent(self, sign: int) -> float:
        """The remanent speed constant seen by a current of that sign, along its direction."""
        return {"drop": 0.0, "keep": sign * self.curve.k_r, "follows-current": self.curve.k_r}[self.remanence]

    @property
    def resting(self) -> float:
        """k without current: what the iron keeps; a remanence that follows the current is then none."""
        return self.curve.k_r if self.remanence == "keep" else 0.0

    def friction_torque(self, w: float) -> float:
        """Constant, linear and square part at a speed above zero."""
        return self.friction[0] + self.friction[1] * w + self.friction[2] * w * w

    def load_torque(self, w: float) -> float:
        """Constant, linear and square part at a speed above zero."""
        return self.load[0] + self.load[1] * w + self.load[2] * w * w

    def iron_torque(self, k: float, w: float) -> float:
        """Hysteresis and eddy torque at the speed constant ``k``; none at standstill."""
        if w <= 0:
            return 0.0
        ratio = abs(k) / self.iron[2]
        return self.iron[0] * ratio**1.6 + self.iron[1] * w * ratio**2


#: ∫x, ∫x², ∫torque, ∫source power, ∫electromagnetic power, ∫speed, ∫iron torque, ∫iron power, ∫shaft power
INTEGRALS = ("x", "x2", "torque", "input", "electromagnetic", "speed", "iron", "iron_power", "friction_power")


@dataclass(frozen=True, kw_only=True)
class Segment:
    """One conduction: sign, angles, integrals over angle, extremes, and what follows at its end."""

    sign: int
    on: float
    off: float
    speed_off: float
    integrals: dict[str, float]
    peak: float
    peak_torque: float
    slope_off: float                 # A/s, magnitude
    wave: Callable[[np.ndarray], np.ndarray] | None = field(repr=False, default=None)


def _rhs(case: Case, sign: int) -> Callable[[float, np.ndarray], list[float]]:
    per_angle = 1 / (2 * math.pi * case.frequency)
    crest, total_R = math.sqrt(2) * case.voltage, case.R_s + case.R_a + case.R_f + case.r_T
    drop, kappa, g = case.V_b + case.V_T0, case.remanent(sign), case.curve.g

    def rhs(angle: float, y: np.ndarray) -> list[float]:
        x, w = float(y[0]), float(y[1])
        v = sign * crest * math.sin(angle)
        magnitude = max(x, 0.0)
        k = g(magnitude) + kappa
        dx = (v - total_R * x - drop - k * w) / case.inductance(magnitude) * per_angle
        torque = k * x
        iron = case.iron_torque(k, w)
        friction = case.friction_torque(w) if w > 0 else 0.0
        dw = _acceleration(case, torque - iron, w) * per_angle
        return [dx, dw, x, x * x, torque, v * x, torque * w, w, iron, iron * w, friction * w]

    return rhs


def _acceleration(case: Case, torque: float, w: float) -> float:
    if case.inertia is None:
        return 0.0
    if w <= 0 and torque <= case.friction[0] + case.load[0]:
        return 0.0
    return (torque - case.friction_torque(max(w, 0.0)) - case.load_torque(max(w, 0.0))) / case.inertia


def conduct(case: Case, sign: int, on: float, speed: float) -> Segment:
    """March from ``on`` with no current until the current is zero again."""
    rhs = _rhs(case, sign)

    def extinction(angle: float, y: np.ndarray) -> float:
        return float(y[0]) if angle - on > 1e-6 else abs(float(y[0])) + 1e-30

    def crest(angle: float, y: np.ndarray) -> float:
        return rhs(angle, y)[0]

    extinction.terminal, extinction.direction = True, -1  # type: ignore[attr-defined]
    crest.direction = -1  # type: ignore[attr-defined]
    start = np.zeros(2 + len(INTEGRALS))
    start[1] = speed
    found = solve_ivp(
        rhs, (on, on + 4 * math.pi), start, method="DOP853", rtol=RTOL, atol=ATOL,
        events=(extinction, crest), dense_output=True, max_step=0.2,
    )
    if not found.success or not len(found.t_events[0]):
        raise RuntimeError(f"no extinction found from {on} rad")
    off, end = float(found.t_events[0][0]), found.y_events[0][0]
    peak = max((float(y[0]) for y in found.y_events[1]), default=0.0)
    return Segment(
        sign=sign, on=on, off=off, speed_off=float(end[1]),
        integrals=dict(zip(INTEGRALS, (float(v) for v in end[2:]), strict=True)),
        peak=peak, peak_torque=(case.curve.g(peak) + case.remanent(sign)) * peak,
        slope_off=abs(rhs(off, end)[0]) * 2 * math.pi * case.frequency,
        wave=found.sol,
    )


def turn_on(case: Case, after: float, speed: float) -> tuple[int, float] | None:
    """The next firing after an angle: sign and angle; None when there is none within two cycles."""
    w = 2 * math.pi * case.frequency
    width = math.pi - w * case.guard - case.alpha
    if case.pulse is not None:
        width = min(width, w * case.pulse)
    half = math.floor(after / math.pi) - 1
    for n in range(half, half + 6):
        low = max(n * math.pi + case.alpha, after)
        high = n * math.pi + case.alpha + width
        candidates = [
            (angle, sign) for sign in (1, -1)
            if low < high and (angle := _exceeds(case, sign, low, speed)) is not None and angle < high
        ]
        if candidates:
            angle, sign = min(candidates)
            return sign, angle
    return None


def _exceeds(case: Case, sign: int, low: float, speed: float) -> float | None:
    """First angle from ``low`` on at which the source beats what opposes a current of that sign."""
    opposing = (case.V_b + case.V_T0 + case.remanent(sign) * speed) / (math.sqrt(2) * case.voltage)
    if sign * math.sin(low) > opposing:
        return low
    if opposing >= 1:
        return None
    rising = math.asin(max(opposing, -1.0)) + (0.0 if sign > 0 else math.pi)
    return rising + 2 * math.pi * math.ceil((low - rising) / (2 * math.pi))


def coast(case: Case, start: float, end: float, speed: float) -> tuple[float, float]:
    """Speed at ``end`` and ∫ω over angle, without current between two angles."""
    if case.inertia is None or end <= start or speed <= 0:
        return speed, speed * (end - start)
    per_angle = 1 / (2 * math.pi * case.frequency)

    def rhs(angle: float, y: np.ndarray) -> list[float]:
        w = float(y[0])
        iron = case.iron_torque(case.resting, w)
        return [_acceleration(case, -iron, w) * per_angle if w > 0 else 0.0, w]

    found = solve_ivp(rhs, (start, end), [speed, 0.0], method="DOP853", rtol=RTOL, atol=ATOL)
    return float(found.y[0, -1]), float(found.y[1, -1])


def next_segment(case: Case, after: float, speed: float) -> tuple[Segment | None, float]:
    """The next conduction after an angle with the device off, and ∫ω over the pause before it."""
    on = turn_on(case, after, speed)
    if on is None:
        return None, 0.0
    for _ in range(3):  # the remanent voltage falls a little while coasting
        slower, swept = coast(case, after, on[1], speed)
        on = turn_on(case, after, slower) or on
    return conduct(case, on[0], on[1], slower), swept


@dataclass(frozen=True, kw_only=True)
class Result:
    """Means over a full period in the steady state."""

    segments: tuple[Segment, ...]
    turn_on: float
    extinction: float
    rms: float
    mean: float
    mean_absolute: float
    peak: float
    torque: float
    peak_torque: float
    speed: float
    input_power: float
    electromagnetic_power: float
    iron_torque: float
    iron_power: float
    friction_power: float
    slope_off: float
    cycles: int

    def losses(self, case: Case) -> dict[str, float]:
        """Each loss by its name in the definitions, W."""
        return {
            "source_loss": case.R_s * self.rms**2,
            "switch_loss": case.V_T0 * self.mean_absolute + case.r_T * self.rms**2,
            "copper_loss_armature": case.R_a * self.rms**2,
            "copper_loss_field": case.R_f * self.rms**2,
            "brush_loss": case.V_b * self.mean_absolute,
            "iron_loss": self.iron_power,
            "friction_loss": self.friction_power,
        }


def steady(case: Case, cycles: int = 400, tolerance: float = 5e-9) -> Result:
    """Simulate from no current until one full period repeats the one before; speed held.

    Every conduction starts from zero, so the turn-on angle is the whole state. Extinction by dense
    output is uncertain by about 1e-9 rad: asking for more than ``tolerance`` never ends.
    """
    segments: list[Segment] = []
    after = 0.0
    for count in range(2 * cycles):
        segment, _ = next_segment(case, after, case.speed)
        if segment is None:
            return _empty(case)
        segments.append(segment)
        after = segment.off
        for m in (1, 2):
            if len(segments) <= m:
                continue
            before = segments[-1 - m]
            if before.sign == segment.sign and abs(segment.on - before.on - 2 * math.pi) < tolerance:
                return _result(case, segments[-m:], count // 2 + 1)
    raise RuntimeError("no periodic steady state")


def _result(case: Case, period: Sequence[Segment], cycles: int) -> Result:
    turn = 2 * math.pi
    total = {name: sum(s.integrals[name] for s in period) / turn for name in INTEGRALS}
    resting = 1 - sum(s.off - s.on for s in period) / turn
    rest_iron = case.iron_torque(case.resting, case.speed) * resting
    first = max(period, key=lambda s: s.sign)
    half = 0 if first.sign > 0 else math.pi
    shift = math.floor((first.on - half) / turn + 1e-12) * turn + half
    friction = case.friction_torque(case.speed) * case.speed if case.speed > 0 else 0.0
    return Result(
        segments=tuple(period), turn_on=first.on - shift, extinction=first.off - shift,
        rms=math.sqrt(total["x2"]), mean=sum(s.sign * s.integrals["x"] for s in period) / turn,
        mean_absolute=total["x"], peak=max(s.peak for s in period), torque=total["torque"],
        peak_torque=max(s.peak_torque for s in period), speed=case.speed, input_power=total["input"],
        electromagnetic_power=total["electromagnetic"], iron_torque=total["iron"] + rest_iron,
        iron_power=total["iron_power"] + rest_iron * case.speed, friction_power=friction,
        slope_off=max(s.slope_off for s in period), cycles=cycles,
    )


def _empty(case: Case) -> Result:
    friction = case.friction_torque(case.speed) * case.speed if case.speed > 0 else 0.0
    iron = case.iron_torque(case.resting, case.speed)
    return Result(
        segments=(), turn_on=math.nan, extinction=math.nan, rms=0.0, mean=0.0, mean_absolute=0.0, peak=0.0,
        torque=0.0, peak_torque=0.0, speed=case.speed, input_power=0.0, electromagnetic_power=0.0,
        iron_torque=iron, iron_power=iron * case.speed, friction_power=friction, slope_off=0.0, cycles=0,
    )


def excess(case: Case) -> float:
    """Mean electromagnetic torque less iron, friction and load torque, speed held."""
    found = steady(case)
    return found.torque - found.iron_torque - case.friction_torque(case.speed) - case.load_torque(case.speed)


def settle_speed(case: Case, low: float = 10 * RPM, high: float = 40000 * RPM) -> float:
    """The speed at which the load takes what the motor gives, setting held."""
    return float(brentq(lambda w: excess(replace(case, speed=w)), low, high, xtol=1e-9, rtol=1e-12))


def find_angle(case: Case, low: float, high: float = 175 * DEGREE) -> float:
    """The firing angle that carries the load at the speed given."""
    return float(brentq(lambda a: excess(replace(case, alpha=a)), low, high, xtol=1e-11, rtol=1e-12))


def control_lost(case: Case) -> float:
    """The firing angle at which a current from rest lasts exactly half a cycle, at the speed given."""
    def surplus(alpha: float) -> float:
        segment, _ = next_segment(replace(case, alpha=alpha), 0.0, case.speed)
        assert segment is not None
        return segment.off - math.pi - alpha

    return float(brentq(surplus, 0.0, 150 * DEGREE, xtol=1e-9))


@dataclass(frozen=True, kw_only=True)
class Ripple:
    """Periodic state with the speed moving over the cycle."""

    mean_speed: float
    speed_ripple: float              # peak to peak, rad/s
    rms: float
    torque: float
    cycles: tuple[Segment, ...]


def _one_cycle(case: Case, speed: float, begin: float) -> tuple[float, float, list[Segment], float]:
    """March a full period from an angle with no current: end speed, ∫ω, conductions, last angle."""
    after, swept, segments = begin, 0.0, []
    end = begin + 2 * math.pi
    while True:
        segment, pause = next_segment(case, after, speed)
        if segment is None or segment.on >= end - 1e-9:
            speed, pause = coast(case, after, end, speed)
            return speed, swept + pause, segments, end
        segments.append(segment)
        swept += pause + segment.integrals["speed"]
        speed, after = segment.speed_off, segment.off


def rippling(case: Case, guess: float) -> Ripple:
    """Periodic state with ``inertia``: discontinuous current, load given; begins at the firing angle."""
    begin = case.alpha - 1e-6

    def gain(w: float) -> float:
        return _one_cycle(case, w, begin)[0] - w

    start = float(newton(gain, guess, x1=guess * 1.002, tol=1e-9 * guess))   # secant
    _, swept, segments, _ = _one_cycle(case, start, begin)
    speeds = [start]
    for segment in segments:
        assert segment.wave is not None
        for sense in (1, -1):
            best = minimize_scalar(
                lambda a, s=segment, q=sense: q * float(s.wave(a)[1]),
                bounds=(segment.on, segment.off), method="bounded", options={"xatol": 1e-9},
            )
            speeds.append(sense * float(best.fun))
        speeds += [float(segment.wave(segment.on)[1]), segment.speed_off]
    turn = 2 * math.pi
    return Ripple(
        mean_speed=swept / turn, speed_ripple=max(speeds) - min(speeds),
        rms=math.sqrt(sum(s.integrals["x2"] for s in segments) / turn),
        torque=sum(s.integrals["torque"] for s in segments) / turn, cycles=tuple(segments),
    )


@dataclass(frozen=True, kw_only=True)
class Run:
    """A transient: time at the end of each conduction, speed there, and its peak current."""

    time: np.ndarray
    speed: np.ndarray
    peak: np.ndarray
    segments: tuple[Segment, ...]


def run(case: Case, until: Callable[[float, float], bool], begin: float = 0.0) -> Run:
    """March from ``case.speed`` at the source angle ``begin`` until ``until(time, speed)`` says so."""
    w = 2 * math.pi * case.frequency
    after, speed, segments = begin, case.speed, []
    time, speeds, peaks = [0.0], [speed], [0.0]
    while not until(time[-1], speed):
        segment, _ = next_segment(case, after, speed)
        if segment is None:
            break
        segments.append(segment)
        after, speed = segment.off, segment.speed_off
        time.append((after - begin) / w)
        speeds.append(speed)
        peaks.append(segment.peak)
    return Run(time=np.array(time), speed=np.array(speeds), peak=np.array(peaks), segments=tuple(segments))


def sampled(truth: Callable[[float], float], top: float, step: float) -> Curve:
    """A curve sampled from a formula at equal steps up to ``top``."""
    count = round(top / step)
    return Curve([(n * step, truth(n * step)) for n in range(count + 1)])
