"""An independent brute-force model of the chopper, of the bridge with reservoir, and of the two joined.

Written from the definitions alone and sharing no code with the package: scipy's ``solve_ivp``
(DOP853, tight tolerance, every switching by event) marches the differential equations, and a root
finder closes the period. Slow on purpose. SI units; the chopper's time counts from the turn-on of
its switch, the bridge's angle from the zero of the ideal source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.integrate import OdeSolution, solve_ivp
from scipy.integrate._ivp.ivp import OdeResult
from scipy.optimize import brentq, minimize_scalar, root

from tests.reference import Curve

RTOL, ATOL = 1e-11, 1e-14


@dataclass(frozen=True, kw_only=True)
class Diode:
    """Drop of a conducting device: threshold (V) plus slope (ohm) times its current."""

    threshold: float = 0.0
    slope: float = 0.0


IDEAL = Diode()


# --- chopper ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Chopper:
    """Resistance, inductance and back voltage on a bus through a switch, a diode across them."""

    bus: float                       # V
    frequency: float                 # Hz
    duty: float
    back: float = 0.0                # V
    R: float
    L: float
    brush: float = 0.0               # V, both brushes
    switch: Diode = IDEAL
    freewheel: Diode = IDEAL

    @property
    def period(self) -> float:
        """One switching period, s."""
        return 1 / self.frequency

    def slope(self, i: float, *, on: bool) -> float:
        """di/dt, A/s, with the switch on or the freewheel conducting."""
        device = self.switch if on else self.freewheel
        driving = self.bus if on else 0.0
        against = self.back + self.brush + device.threshold + (self.R + device.slope) * i
        return (driving - against) / self.L


#: integrals over one stage: charge, ∫i², ∫ what the bus gives, ∫ what the back voltage takes
_CHOPPED = ("charge", "square", "given", "taken")


@dataclass(frozen=True, kw_only=True)
class Stage:
    """From one switching to the next: begin and end (s), currents there, integrals, the march itself."""

    begin: float
    end: float
    first: float
    last: float
    integrals: dict[str, float]
    march: OdeSolution | None = field(repr=False, default=None)


def _stage(case: Chopper, begin: float, end: float, first: float, *, on: bool) -> Stage:
    """March from ``begin`` until ``end`` or until the current is zero, whichever is first."""
    if first <= 0 and case.slope(0.0, on=on) <= 0:
        return Stage(begin=begin, end=begin, first=0.0, last=0.0, integrals=dict.fromkeys(_CHOPPED, 0.0))

    def rhs(_: float, y: np.ndarray) -> list[float]:
        i = float(y[0])
        return [case.slope(i, on=on), i, i * i, case.bus * i if on else 0.0, case.back * i]

    def extinct(_: float, y: np.ndarray) -> float:
        return float(y[0])

    extinct.terminal, extinct.direction = True, -1  # type: ignore[attr-defined]
    found = solve_ivp(
        rhs, (begin, end), [first, 0.0, 0.0, 0.0, 0.0], method="DOP853", rtol=RTOL, atol=ATOL,
        events=None if case.slope(0.0, on=on) > 0 else extinct, dense_output=True,
    )
    if not found.success:
        raise RuntimeError(found.message)
    ended = found.t_events is not None and len(found.t_events[0])
    last = found.y_events[0][0] if ended else found.y[:, -1]
    return Stage(
        begin=begin, end=float(found.t_events[0][0]) if ended else end, first=first,
        last=0.0 if ended else float(last[0]),
        integrals=dict(zip(_CHOPPED, (float(v) for v in last[1:]), strict=True)), march=found.sol,
    )


def one_period(case: Chopper, first: float) -> tuple[Stage, Stage]:
    """Switch on, then freewheel, over one period from the current ``first``."""
    turn_off = case.duty * case.period
    on = _stage(case, 0.0, turn_off, first, on=True)
    off = _stage(case, turn_off, case.period, on.last, on=False)
    return on, off


@dataclass(frozen=True, kw_only=True)
class Chopped:
    """One period of the steady state; means are over the whole period."""

    case: Chopper
    on: Stage
    off: Stage
    continuous: bool

    def _mean(self, what: str, *stages: Stage) -> float:
        return sum(stage.integrals[what] for stage in stages or (self.on, self.off)) / self.case.period

    @property
    def extinction(self) -> float:
        """When the current reaches zero, s from turn-on; nan where it never does."""
        return math.nan if self.continuous else self.off.end

    @property
    def mean(self) -> float:
        """Armature current, A."""
        return self._mean("charge")

    @property
    def rms(self) -> float:
        """Armature current, A r.m.s."""
        return math.sqrt(self._mean("square"))

    @property
    def peak(self) -> float:
        """Greatest current, A: at turn-off, or at turn-on where the bus cannot hold what flows."""
        return max(self.on.first, self.on.last)

    @property
    def least(self) -> float:
        """Least current, A."""
        return min(self.on.first, self.on.last) if self.continuous else 0.0

    @property
    def switch_mean(self) -> float:
        """What the bus gives, A."""
        return self._mean("charge", self.on)

    @property
    def switch_rms(self) -> float:
        """A r.m.s. over the whole period."""
        return math.sqrt(self._mean("square", self.on))

    @property
    def freewheel_mean(self) -> float:
        """A."""
        return self._mean("charge", self.off)

    @property
    def freewheel_rms(self) -> float:
        """A r.m.s. over the whole period."""
        return math.sqrt(self._mean("square", self.off))

    @property
    def ripple_of_bus(self) -> float:
        """R.m.s. of the switch current less its mean, A: what an ideal capacitor on the bus carries."""
        return math.sqrt(max(self.switch_rms**2 - self.switch_mean**2, 0.0))

    @property
    def given(self) -> float:
        """Power from the bus, W."""
        return self._mean("given")

    @property
    def taken(self) -> float:
        """Power into the back voltage, W."""
        return self._mean("taken")

    def losses(self) -> dict[str, float]:
        """W, by the definitions' names; the copper loss is that of ``R``."""
        case = self.case
        return {
            "switch_loss": case.switch.threshold * self.switch_mean + case.switch.slope * self.switch_rms**2,
            "freewheel_loss": case.freewheel.threshold * self.freewheel_mean
            + case.freewheel.slope * self.freewheel_rms**2,
            "copper_loss_armature": case.R * self.rms**2,
            "brush_loss": case.brush * self.mean,
        }

    def current(self, time: np.ndarray) -> np.ndarray:
        """The armature current at instants within the period, A."""
        time = np.asarray(time, float)
        found = np.zeros(time.shape)
        for stage in (self.on, self.off):
            inside = (time >= stage.begin) & (time <= stage.end)
            if stage.march is not None and inside.any():
                found[inside] = stage.march(time[inside])[0]
        return found


def chopped(case: Chopper) -> Chopped:
    """The periodic state: no current at turn-on, or the current that comes back after a period.

    The first period starts without current. Where it also ends so, that is the steady state; else the
    current at turn-on is the root of what a period adds to it, bracketed by none and by what full
    conduction would settle at.
    """
    on, off = one_period(case, 0.0)
    if off.last > 0:
        def gain(first: float) -> float:
            return one_period(case, first)[1].last - first

        top = (case.bus - case.back - case.brush - case.switch.threshold) / (case.R + case.switch.slope)
        first = float(brentq(gain, 0.0, 1.000001 * top + 1e-9, xtol=1e-14, rtol=1e-14))
        on, off = one_period(case, first)
    return Chopped(case=case, on=on, off=off, continuous=off.last > 0)


def march_from_rest(case: Chopper, periods: int) -> list[float]:
    """Current at the end of each of ``periods`` switching periods, from none: for tests of ``chopped``."""
    ends, first = [], 0.0
    for _ in range(periods):
        first = one_period(case, first)[1].last
        ends.append(first)
    return ends


# --- bridge and reservoir --------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Rectifier:
    """Four diodes on a sine source, a reservoir behind them, a constant load current."""

    voltage: float                   # V r.m.s.
    frequency: float                 # Hz
    load: float                      # A
    C: float
    esr: float = 0.0
    R_s: float = 0.0
    L_s: float = 0.0
    diode: Diode = IDEAL             # ONE diode; two conduct
    conductance: float = 0.0         # S beside the load current: published examples load with a resistance

    @property
    def omega(self) -> float:
        """rad/s."""
        return 2 * math.pi * self.frequency

    @property
    def crest(self) -> float:
        """Of the source, V."""
        return math.sqrt(2) * self.voltage

    @property
    def ohms(self) -> float:
        """Source and two diodes."""
        return self.R_s + 2 * self.diode.slope

    def terminal(self, x: float, v: float) -> float:
        """Bus voltage with the rectified current ``x`` and ``v`` on the capacitor itself, V."""
        return (v + self.esr * (x - self.load)) / (1 + self.esr * self.conductance)

    def into(self, x: float, v: float) -> float:
        """Current into the capacitor, A."""
        return x - self.load - self.conductance * self.terminal(x, v)

    def surplus(self, angle: float, v: float) -> float:
        """How far the source of the half cycle that begins at 0 exceeds what opposes a current from none, V."""
        return self.crest * math.sin(angle) - self.terminal(0.0, v) - 2 * self.diode.threshold

    def current(self, angle: float, x: float, v: float) -> float:
        """The rectified current, A: the state ``x`` behind an inductance, else what resistances allow."""
        if self.L_s > 0:
            return x
        return self.surplus(angle, v) / (self.ohms + self.esr / (1 + self.esr * self.conductance))

    def slope(self, angle: float, x: float, v: float) -> float:
        """Rise of the rectified current, A/s; 0 without an inductance, where it is no state."""
        if self.L_s <= 0:
            return 0.0
        against = self.ohms * x + 2 * self.diode.threshold + self.terminal(x, v)
        return (self.crest * math.sin(angle) - against) / self.L_s


#: integrals over angle: rectified current, its square, source power, bus voltage, square of what the capacitor takes
_RECTIFIED = ("charge", "square", "given", "bus", "capacitor")


class _BusCollapsed(RuntimeError):
    """The bridge never stops conducting: the load pulls the bus below nothing between two crests."""


@dataclass(frozen=True, kw_only=True)
class Piece:
    """Conduction or rest between two switchings of the bridge, rad."""

    begin: float
    end: float
    conducts: bool
    march: OdeSolution = field(repr=False)


@dataclass(frozen=True, kw_only=True)
class HalfCycle:
    """From the first turn-on of a half cycle to that of the next: pieces, capacitor voltages, integrals."""

    pieces: tuple[Piece, ...]
    next_on: float
    v_on: float
    v_next: float
    integrals: dict[str, float]

    @property
    def on(self) -> float:
        """First turn-on, rad."""
        return self.pieces[0].begin

    @property
    def off(self) -> float:
        """Last extinction, rad."""
        return self.pulses[-1].end

    @property
    def pulses(self) -> tuple[Piece, ...]:
        """The conductions of one half cycle."""
        return tuple(piece for piece in self.pieces if piece.conducts)


def half_cycle(case: Rectifier, on: float, v_on: float) -> HalfCycle:
    """March from a turn-on at ``on`` (of the positive half cycle) to the first of the half cycle after it."""
    pieces, total, angle, v = [], np.zeros(len(_RECTIFIED)), on, v_on
    while True:
        found = _bridge_march(case, (angle, v), angle + 2 * math.pi, conducts=True)
        if not len(found.t_events[0]):
            raise _BusCollapsed(f"the load takes more than {case.C} F can hold from {angle} rad on")
        off, end = float(found.t_events[0][0]), found.y_events[0][0]
        pieces.append(Piece(begin=angle, end=off, conducts=True, march=found.sol))
        total, v, next_on, again = total + end[2:], float(end[1]), off, None
        if case.surplus(off - math.pi, v) <= 0:     # else straight into the other pair
            resting = _bridge_march(case, (off, v), on + 2 * math.pi, conducts=False).sol
            again = _again(case, off, resting)
            next_on = _turned_on(case, off, resting) if again is None else again
            last = resting(min(next_on, on + 2 * math.pi))
            pieces.append(Piece(begin=off, end=next_on, conducts=False, march=resting))
            total, v = total + last[2:], float(last[1])
        if again is None:
            return HalfCycle(pieces=tuple(pieces), next_on=next_on, v_on=v_on, v_next=v,
                             integrals=dict(zip(_RECTIFIED, map(float, total), strict=True)))
        angle = again


def _again(case: Rectifier, off: float, resting: OdeSolution) -> float | None:
    """The angle at which the same half cycle turns on once more, a bus that has sunk below it; None without."""
    def surplus(angle: float) -> float:
        return case.surplus(angle, float(resting(angle)[1]))

    grid = np.linspace(off, max(off, math.pi), 401)
    volts = resting(grid)[1]
    above = np.flatnonzero([case.surplus(float(a), float(v)) > 1e-9 for a, v in zip(grid, volts, strict=True)])
    if not len(above) or above[0] == 0:
        return None
    return float(brentq(surplus, grid[above[0] - 1], grid[above[0]], xtol=1e-15, rtol=1e-15))


def _turned_on(case: Rectifier, off: float, resting: OdeSolution) -> float:
    """The angle at which the half cycle after this one turns on, infinite where it does not.

    Close to the crest the source may exceed the bus for so short a time that an event is stepped over: the
    greatest excess is found first.
    """
    def surplus(angle: float) -> float:
        return case.surplus(angle - math.pi, float(resting(angle)[1]))

    crest = 1.5 * math.pi
    greatest = minimize_scalar(lambda a: -surplus(float(a)), bounds=(max(off, crest - 0.5), crest + 0.5),
                               method="bounded", options={"xatol": 1e-6})
    if surplus(float(greatest.x)) <= 0:
        return math.inf
    return float(brentq(surplus, max(off, crest - 0.5 * math.pi), float(greatest.x), xtol=1e-15, rtol=1e-15))


def _bridge_march(case: Rectifier, start: tuple[float, float], end: float, *, conducts: bool) -> OdeResult:
    """March from an angle and a capacitor voltage, without current: until extinction, or at rest to ``end``."""
    per = 1 / case.omega

    def extinct(angle: float, y: np.ndarray) -> float:
        x = case.current(angle, float(y[0]), float(y[1]))
        return x if angle - start[0] > 1e-7 else abs(x) + 1e-30

    def rhs(angle: float, y: np.ndarray) -> list[float]:
        v = float(y[1])
        x = case.current(angle, float(y[0]), v) if conducts else 0.0
        rise = case.slope(angle, x, v) if conducts else 0.0
        into = case.into(x, v)
        return [rise * per, into / case.C * per, x, x * x, case.crest * math.sin(angle) * x, case.terminal(x, v),
                into * into]

    extinct.terminal, extinct.direction = True, -1  # type: ignore[attr-defined]
    found = solve_ivp(
        rhs, (start[0], end), [0.0, start[1], *[0.0] * len(_RECTIFIED)], method="DOP853", rtol=RTOL, atol=ATOL,
        events=extinct if conducts else None, dense_output=True, max_step=0.1 if conducts else math.pi,
    )
    if not found.success:
        raise RuntimeError(found.message)
    return found


@dataclass(frozen=True, kw_only=True)
class Rectified:
    """The periodic state of bridge and reservoir; means are over a full period."""

    case: Rectifier
    half: HalfCycle

    def _mean(self, what: str) -> float:
        return self.half.integrals[what] / math.pi

    @property
    def line_rms(self) -> float:
        """A."""
        return math.sqrt(self._mean("square"))

    @property
    def rectified_mean(self) -> float:
        """Mean of the current out of the bridge, A: the load current once it is periodic."""
        return self._mean("charge")

    @property
    def capacitor_rms(self) -> float:
        """A, at twice the line's frequency and its multiples."""
        return math.sqrt(self._mean("capacitor"))

    @property
    def bus_mean(self) -> float:
        """V at the terminals of the reservoir, its series resistance included."""
        return self._mean("bus")

    @property
    def input_power(self) -> float:
        """W from the ideal source."""
        return self._mean("given")

    def losses(self) -> dict[str, float]:
        """W, by the definitions' names; all four diodes together."""
        return {
            "source_loss": self.case.R_s * self.line_rms**2,
            "rectifier_loss": 2 * self.case.diode.threshold * self.rectified_mean
            + 2 * self.case.diode.slope * self.line_rms**2,
            "capacitor_loss": self.case.esr * self.capacitor_rms**2,
        }

    @property
    def peak(self) -> float:
        """Greatest line current, A."""
        return max(_extreme(self.rectified_current, p.begin, p.end, +1) for p in self.half.pulses)

    @property
    def bus_crest(self) -> float:
        """V."""
        return max(_extreme(self.bus, p.begin, p.end, +1) for p in self.half.pieces)

    @property
    def bus_valley(self) -> float:
        """V."""
        return min(_extreme(self.bus, p.begin, p.end, -1) for p in self.half.pieces)

    def _inside(self, angle: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Number of the half period of each angle, rectified current and capacitor voltage there."""
        angle, half = np.asarray(angle, float), self.half
        number = np.floor((angle - half.on) / math.pi)
        inside = angle - number * math.pi
        which = np.searchsorted([piece.begin for piece in half.pieces[1:]], inside, side="right")
        x, v = np.zeros(angle.shape), np.zeros(angle.shape)
        for n, piece in enumerate(half.pieces):
            here = which == n
            if not here.any():
                continue
            y = piece.march(inside[here])
            v[here] = y[1]
            if piece.conducts:
                x[here] = [self.case.current(float(a), float(i), float(u))
                           for a, i, u in zip(inside[here], y[0], y[1], strict=True)]
        return number, x, v

    def rectified_current(self, angle: np.ndarray) -> np.ndarray:
        """Current out of the bridge at any angles, A."""
        return self._inside(angle)[1]

    def line_current(self, angle: np.ndarray) -> np.ndarray:
        """Signed line current at any angles, A."""
        number, x, _ = self._inside(angle)
        return np.where(number % 2 == 0, x, -x)

    def bus(self, angle: np.ndarray) -> np.ndarray:
        """Bus voltage at any angles, V."""
        _, x, v = self._inside(angle)
        return np.array([self.case.terminal(float(i), float(u)) for i, u in zip(x, v, strict=True)])

    def harmonics(self, orders: int = 40) -> np.ndarray:
        """R.m.s. of the line current's harmonics from order 1, A (Gauss quadrature over the conduction)."""
        return np.array([math.hypot(*self._fourier(n)) / math.sqrt(2) for n in range(1, orders + 1)])

    def _fourier(self, order: int) -> tuple[float, float]:
        """Sine and cosine amplitude of one odd harmonic; even ones are none."""
        if order % 2 == 0:
            return 0.0, 0.0
        nodes, weights = np.polynomial.legendre.leggauss(20)
        sine = cosine = 0.0
        for piece in self.half.pulses:
            edges = np.linspace(piece.begin, piece.end, 41)
            middle, width = (edges[1:] + edges[:-1]) / 2, np.diff(edges) / 2
            angle = (middle[:, None] + width[:, None] * nodes).ravel()
            weight = (width[:, None] * weights).ravel() * self.rectified_current(angle) * 2 / math.pi
            sine += float(weight @ np.sin(order * angle))
            cosine += float(weight @ np.cos(order * angle))
        return sine, cosine

    def line_quality(self) -> dict[str, float]:
        """Apparent power, power factor, displacement factor and distortion, by the contract's names."""
        sine, cosine = self._fourier(1)
        apparent, first = self.case.voltage * self.line_rms, math.hypot(sine, cosine) / math.sqrt(2)
        return {
            "apparent_power": apparent, "power_factor": self.input_power / apparent,
            "displacement_factor": sine / math.hypot(sine, cosine),
            "line_current_distortion": math.sqrt(self.line_rms**2 - first**2) / first,
        }


def _extreme(value: Callable[[np.ndarray], np.ndarray], low: float, high: float, sense: int) -> float:
    """The greatest (``sense`` +1) or least (-1) of a smooth function: a grid, then refined between neighbours."""
    grid = np.linspace(low, high, 401)
    found = sense * value(grid)
    n = int(np.argmax(found))
    best = minimize_scalar(
        lambda a: -sense * float(value(np.array([a]))[0]), method="bounded", options={"xatol": 1e-10},
        bounds=(float(grid[max(n - 1, 0)]), float(grid[min(n + 1, 400)])))
    return sense * max(-float(best.fun), float(found[n]))


def rectified(case: Rectifier) -> Rectified:
    """The periodic state: a turn-on (angle and capacitor voltage) that comes back half a period later.

    With a pause the capacitor's voltage tells the angle, and the charge of one conduction must be what
    the load takes; without one, angle and voltage are both unknown.
    """
    def start(v: float) -> float:
        opposing = case.terminal(0.0, v) + 2 * case.diode.threshold
        return math.asin(max(min(opposing / case.crest, 1.0), 0.0))

    def gain(v: float) -> float:
        half = half_cycle(case, start(v), v)
        return half.v_next - v if half.next_on < half.on + 1.5 * math.pi else 1.0     # a half cycle skipped

    top = (case.crest - 2 * case.diode.threshold) * (1 + case.esr * case.conductance) + case.esr * case.load
    low = next((v for v in top * np.array([0.98, 0.9, 0.8, 0.6, 0.4, 0.2, 0.0]) if gain(float(v)) > 0), None)
    if low is None:
        raise _BusCollapsed(f"a bus of {case.C} F falls to nothing between two crests")
    v = float(brentq(gain, float(low), top * (1 - 1e-12), xtol=1e-13 * case.crest, rtol=1e-15))
    half = half_cycle(case, start(v), v)
    if abs(half.next_on - math.pi - half.on) < 1e-9:
        return Rectified(case=case, half=half)
    return _without_pause(case, half)


def _without_pause(case: Rectifier, guess: HalfCycle) -> Rectified:
    def gain(state: Sequence[float]) -> list[float]:
        half = half_cycle(case, float(state[0]), float(state[1]))
        return [half.next_on - math.pi - half.on, (half.v_next - half.v_on) / case.crest]

    for _ in range(10):
        guess = half_cycle(case, guess.next_on - math.pi, guess.v_next)
    found = root(gain, [guess.on, guess.v_on], method="hybr", options={"xtol": 1e-14})
    residual = max(abs(g) for g in gain(found.x))
    if residual > 1e-10:
        raise RuntimeError(f"no periodic state: {residual} left")
    return Rectified(case=case, half=half_cycle(case, float(found.x[0]), float(found.x[1])))


# --- both joined, and the motor ------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Motor:
    """A separately excited motor; the field current is held."""

    curve: Curve
    R_a: float
    L_a: float
    R_f: float
    V_b: float = 2.0
    remanence: str = "keep"
    friction: tuple[float, float, float] = (0.0, 0.0, 0.0)
    iron: tuple[float, float, float] = (0.0, 0.0, 1.0)     # hysteresis, eddy, flux reference

    def constant(self, field_current: float) -> float:
        """Speed constant, V·s, of a field current that is zero or more."""
        rest = 0.0 if self.remanence == "drop" else self.curve.k_r
        if self.remanence == "follows-current" and field_current == 0:
            rest = 0.0
        return self.curve.g(field_current) + rest

    def iron_torque(self, k: float, w: float) -> float:
        """Torque of hysteresis and eddy currents; none at standstill."""
        if w <= 0:
            return 0.0
        return self.iron[0] * (k / self.iron[2]) ** 1.6 + self.iron[1] * w * (k / self.iron[2]) ** 2

    def friction_torque(self, w: float) -> float:
        """Constant, linear and square part at a speed above zero."""
        return self.friction[0] + self.friction[1] * w + self.friction[2] * w * w if w > 0 else 0.0


@dataclass(frozen=True, kw_only=True)
class Drive:
    """The chopped armature behind a d.c. source, or behind bridge and reservoir."""

    motor: Motor
    field_current: float
    speed: float                     # rad/s
    duty: float
    switching: float                 # Hz
    switch: Diode = IDEAL
    freewheel: Diode = IDEAL
    dc: float = math.nan             # V of a d.c. source
    dc_resistance: float = 0.0
    mains: Rectifier | None = None   # its load current is found


@dataclass(frozen=True, kw_only=True)
class Solved:
    """A drive's steady state: the chopper, what feeds it, and the torques."""

    drive: Drive
    k: float
    chopped: Chopped
    rectified: Rectified | None

    @property
    def bus(self) -> float:
        """Mean bus voltage, V."""
        return self.chopped.case.bus

    @property
    def torque(self) -> float:
        """Mean electromagnetic torque, N·m."""
        return self.k * self.chopped.mean

    @property
    def iron_torque(self) -> float:
        """N·m."""
        return self.drive.motor.iron_torque(self.k, self.drive.speed)

    @property
    def shaft_torque(self) -> float:
        """N·m; at standstill the friction takes what it can."""
        if self.drive.speed <= 0:
            return max(self.torque - self.drive.motor.friction[0], 0.0)
        return self.torque - self.iron_torque - self.drive.motor.friction_torque(self.drive.speed)

    @property
    def input_power(self) -> float:
        """W from the ideal source."""
        if self.rectified is not None:
            return self.rectified.input_power
        return self.drive.dc * self.chopped.switch_mean

    def losses(self) -> dict[str, float]:
        """W, by the definitions' names, the field winding's copper apart."""
        w = self.drive.speed
        found = self.chopped.losses()
        if self.rectified is not None:
            found |= self.rectified.losses()
        else:
            found["source_loss"] = self.drive.dc_resistance * self.chopped.switch_mean**2
        return found | {
            "iron_loss": self.iron_torque * w, "friction_loss": self.drive.motor.friction_torque(w) * w,
            "shaft_power": self.shaft_torque * w,
        }


def _chopper(drive: Drive, bus: float) -> Chopper:
    motor = drive.motor
    return Chopper(
        bus=bus, frequency=drive.switching, duty=drive.duty, R=motor.R_a, L=motor.L_a, brush=motor.V_b,
        back=motor.constant(drive.field_current) * drive.speed, switch=drive.switch, freewheel=drive.freewheel,
    )


def solved(drive: Drive) -> Solved:
    """Chopper and supply in agreement to 1e-12 of the bus voltage (the definitions ask for 1e-9)."""
    def supply(current: float) -> tuple[float, Rectified | None]:
        if drive.mains is None:
            return drive.dc - drive.dc_resistance * current, None
        found = rectified(replace(drive.mains, load=current))
        return found.bus_mean, found

    ideal = drive.dc if drive.mains is None else math.sqrt(2) * drive.mains.voltage

    def lacking(bus: float) -> float:
        current = chopped(_chopper(drive, bus)).switch_mean
        return (supply(max(current, 1e-9 * ideal))[0] - bus) / ideal

    bus = ideal
    if drive.mains is not None or drive.dc_resistance > 0:
        bus = _agreed(lacking, ideal)
    return Solved(
        drive=drive, k=drive.motor.constant(drive.field_current), chopped=chopped(_chopper(drive, bus)),
        rectified=supply(chopped(_chopper(drive, bus)).switch_mean)[1],
    )


def _agreed(lacking: Callable[[float], float], ideal: float) -> float:
    """The bus voltage at which nothing is lacking: secants, and bisection where one asks for what no bus can give."""
    try:
        a, f_a = ideal, lacking(ideal)
        b = ideal * (1 + 0.9 * f_a)
        for _ in range(40):
            f_b = lacking(b)
            if abs(f_b) < 1e-12 or f_b == f_a:
                return b
            a, f_a, b = b, f_b, b - f_b * (b - a) / (f_b - f_a)
        raise RuntimeError(f"no agreement between bus and chopper: {f_b}")
    except _BusCollapsed:
        def signed(bus: float) -> float:
            try:
                return lacking(bus)
            except _BusCollapsed:
                return -1.0
        found = float(brentq(signed, 0.02 * ideal, ideal, xtol=1e-13 * ideal, rtol=1e-14))
        if abs(lacking(found)) > 1e-9:
            raise
        return found


def find_duty(drive: Drive, load: float) -> float:
    """The duty that carries ``load`` (N·m at the motor's shaft) at the drive's speed; d.c. or mains."""
    def excess(duty: float) -> float:
        return solved(replace(drive, duty=duty)).shaft_torque - load

    return float(brentq(excess, 1e-4, 1.0, xtol=1e-13, rtol=1e-13))


def find_speed(drive: Drive, load: float, low: float = 1e-3, high: float = 5000.0) -> float:
    """The speed (rad/s) at which ``load`` takes what the motor gives at the drive's duty."""
    def excess(w: float) -> float:
        return solved(replace(drive, speed=w)).shaft_torque - load

    return float(brentq(excess, low, high, xtol=1e-11, rtol=1e-13))
