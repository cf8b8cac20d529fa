"""A motor on phase angle and what it does in one mode: rates of currents and speed, one Runge–Kutta step of them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from designer.waveforms.phase_control import Gate
from designer.waveforms.rectified import FREEWHEEL, OFF, OVERLAP, SOURCE
from designer.waveforms.transient_motor import Drag, FieldTable, PathTable

#: motor's current (A), current of the source's path (A), speed (rad/s), current of a separate field (A), and the flux
#: linkage (V·s) of the loop that the motor's current flows in
Place = tuple[float, float, float, float, float]
#: over a step: ∫i, ∫i², ∫ of the source path's current squared, ∫ω; the motor's current at half of it
Flow = tuple[float, float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class Drops:
    """What devices in series drop: V, and ohm."""

    threshold: float = 0.0
    slope: float = 0.0


@dataclass(frozen=True, kw_only=True)
class FieldFed:
    """How a separate field is fed: ``voltage`` (V, its supply's drops taken off), ``resistance`` (ohm, all of it).

    None as the voltage holds the current as it is. Negative: the supply is gone and a diode's drop opposes the
    current.
    """

    voltage: float | None
    resistance: float = 1.0

    def rate(self, current: float, inductance: float) -> float:
        """Give di/dt, A/s."""
        if self.voltage is None or (current <= 0.0 and self.voltage <= 0.0):
            return 0.0
        return (self.voltage - self.resistance * current) / inductance


@dataclass(frozen=True, kw_only=True)
class PhaseDrive:
    """Source, paths and motor; ohm, H, V.

    ``motor`` is the path of the motor's current, ``whole`` the same with the source's inductance in it. ``field``: a
    separate field (None with a series winding), ``fed`` by its supply. ``on``: the devices between source and motor;
    ``wheel``: those of the freewheel path, None where there is none; ``back``: brushes and devices that carry the
    motor's current in every mode, ``resistance`` likewise, the windings included. ``remanence``: the part of k (V·s)
    that does not follow the current, while current flows with the source's positive and with its negative half.

    ``two_way``: the current turns round with the source (triac). ``pulses``: halves of a period that are fired.
    ``held``: the freewheel path leads through the controlled device. ``keeps``: a device goes on by itself in its next
    half where the other one has not been fired between.
    """

    motor: PathTable
    whole: PathTable
    on: Drops
    wheel: Drops | None
    back: float
    resistance: float
    source_resistance: float
    source_inductance: float
    remanence: tuple[float, float]
    field: FieldTable | None = None
    fed: FieldFed | None = None
    two_way: bool = False
    pulses: int = 2
    held: bool = False
    keeps: bool = False
    gate: Gate = Gate()


@dataclass(frozen=True, kw_only=True)
class Rates:
    """The rates of one mode as a function of time and place, and the fastest of its decays, 1/s (a bound)."""

    of: Callable[[float, float, float, float, float], tuple[float, float, float, float, float]]
    path: PathTable
    fastest: float
    single: bool        # the source's path carries the motor's current
    off: bool           # or none

    def step(self, now: float, place: Place, h: float) -> tuple[Place, Flow]:
        """Give the place a step of ``h`` (s) later, and the integrals over it, all of fourth order."""
        of, (_, s, w, f, y), g = self.of, place, 0.5 * h
        a_y, a_s, a_w, a_f, i1 = of(now, y, s, w, f)
        s2, w2 = s + g * a_s, w + g * a_w
        b_y, b_s, b_w, b_f, i2 = of(now + g, y + g * a_y, s2, w2, f + g * a_f)
        s3, w3 = s + g * b_s, w + g * b_w
        c_y, c_s, c_w, c_f, i3 = of(now + g, y + g * b_y, s3, w3, f + g * b_f)
        s4, w4 = s + h * c_s, w + h * c_w
        d_y, d_s, d_w, d_f, i4 = of(now + h, y + h * c_y, s4, w4, f + h * c_f)
        x = h / 6.0
        after_y = y + x * (a_y + 2.0 * (b_y + c_y) + d_y)
        after_w = w + x * (a_w + 2.0 * (b_w + c_w) + d_w)
        row = self.path.rows[int(after_y * self.path.per_cell)]
        after_i = row[0] + row[1] * after_y
        square = x * (i1 * i1 + 2.0 * (i2 * i2 + i3 * i3) + i4 * i4)
        if self.single:
            after_s, line = after_i, square
        elif self.off:
            after_s = line = 0.0
        else:
            after_s = s + x * (a_s + 2.0 * (b_s + c_s) + d_s)
            line = x * (s * s + 2.0 * (s2 * s2 + s3 * s3) + s4 * s4)
        middle = after_i
        if a_y > 0.0 > d_y:
            middle = self.path.current(0.5 * (y + after_y) + 0.125 * h * (a_y - d_y))
        after_f = f + x * (a_f + 2.0 * (b_f + c_f) + d_f)
        return ((after_i, after_s, after_w if after_w > 0.0 else 0.0, after_f, after_y),
                (x * (i1 + 2.0 * (i2 + i3) + i4), square, line, x * (w + 2.0 * (w2 + w3) + w4), middle))


def rates(
    drive: PhaseDrive, mode: int, *, side: int, sign: int, supply: tuple[float, float], drag: Drag
) -> Rates:
    """Give the rates of a mode; ``side``: the half that fired the path, ``sign``: of the source at it in this half."""
    peak, omega = sign * supply[0] * (mode in (SOURCE, OVERLAP)), supply[1]
    kept = drive.remanence[0 if side > 0 or not drive.two_way else 1]
    turned = float(side) if drive.two_way and drive.field is not None else 1.0
    resistance, opposing = _loop(drive, mode)
    path = drive.whole if mode == SOURCE else drive.motor
    rows, per_cell = path.rows, path.per_cell
    separate, fed = drive.field, drive.fed or FieldFed(voltage=None)
    flows, line = mode != OFF, _line(drive) if mode == OVERLAP else None
    sine, accelerate = math.sin, drag.acceleration

    def of(t: float, y: float, s: float, w: float, f: float) -> tuple[float, float, float, float, float]:
        i0, i1, g0, g1, hysteresis, eddy = rows[int(y * per_cell)]
        i, k, df = i0 + i1 * y, g0 + g1 * y + kept, 0.0
        if separate is not None:
            k0, k1, l0, l1, hysteresis, eddy = separate.rows[int(f * separate.per_cell)]
            k, df = turned * (k0 + k1 * f + kept), fed.rate(f, l0 + l1 * f)
        braking = eddy * w + (hysteresis if w > 0.0 else 0.0)
        if not flows:
            return 0.0, 0.0, accelerate(-braking, w), df, 0.0
        back = opposing + resistance * i + k * w
        dw = accelerate(k * i - braking, w)
        if line is None:
            return (peak * sine(omega * t) - back if peak else -back), 0.0, dw, df, i
        v_w, r_w, v_on, r_on, l_s = line
        held = v_w + r_w * (i - s)
        return -held - back, (peak * sine(omega * t) - v_on - r_on * s + held) / l_s, dw, df, i

    fastest = resistance / path.least
    if line is not None:
        fastest += (line[1] + line[3]) / line[4]
    return Rates(of=of, path=path, fastest=fastest, single=mode == SOURCE, off=mode in (OFF, FREEWHEEL))


def _loop(drive: PhaseDrive, mode: int) -> tuple[float, float]:
    """Ohm and V of the loop that the motor's current flows in, the part of overlap apart."""
    wheel = drive.wheel or Drops()
    if mode == SOURCE:
        return drive.resistance + drive.source_resistance + drive.on.slope, drive.back + drive.on.threshold
    if mode == FREEWHEEL:
        return drive.resistance + wheel.slope, drive.back + wheel.threshold
    return drive.resistance, drive.back


def _line(drive: PhaseDrive) -> tuple[float, float, float, float, float]:
    """Of the source's loop in overlap: V and ohm of the freewheel path, V, ohm and henries of its own."""
    wheel = drive.wheel or Drops()
    return (wheel.threshold, wheel.slope, drive.on.threshold, drive.on.slope + drive.source_resistance,
            drive.source_inductance)


def surplus(drive: PhaseDrive, source: float, place: Place) -> float:
    """By how much the terminal voltage of a path that conducts exceeds that of the freewheel path, V."""
    assert drive.wheel is not None
    i, _, w, f, y = place
    own = source - drive.on.threshold - (drive.source_resistance + drive.on.slope) * i
    if drive.source_inductance <= 0.0:
        return own + drive.wheel.threshold + drive.wheel.slope * i
    row = drive.whole.rows[int(y * drive.whole.per_cell)]
    k = row[2] + row[3] * y + drive.remanence[0]
    if drive.field is not None:
        flux = drive.field.at(f)
        k += flux[0] + flux[1] * f
    rate = row[1] * (own - drive.back - drive.resistance * i - k * w)
    return own - drive.source_inductance * rate + drive.wheel.threshold
