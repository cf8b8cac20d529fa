"""A one-switch chopper with a freewheel diode in periodic steady state, in closed form.

The bus drives the current through winding and switch for the on-time; then the diode carries it until the
switch turns on again (continuous) or the current ends (discontinuous). Each of the two loops is
L·di/dt = V − R·i with its own V and R, hence two time constants. The speed voltage is constant over a period.

The error is that of changing a voltage or a time by its last digit; where the volt-seconds of on and off almost
cancel that is still seen in the current, as it is in any formula for it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from designer.results import Array, Indices, Mask
from designer.waveforms.periodic import Periodic
from designer.waveforms.stretch import Stretch, product, put, stretch

#: R·t/L below which the sum of volt-seconds is taken apart from its small corrections
_SMALL = 0.5
#: stands for zero where something is divided by it
_TINY = 1e-300


@dataclass(frozen=True, kw_only=True)
class Loop:
    """The two loops of a chopper, one entry a point, all arrays of one shape; V, ohm, H, s.

    ``on_voltage`` drives the current while the switch conducts: bus less switch threshold, brush drop and
    speed voltage. ``off_voltage`` drives it while the diode conducts: minus diode threshold, brush drop and
    speed voltage, hence negative with a motor that drives. ``on_resistance`` and ``off_resistance`` hold
    winding and slope of the device. ``on_time`` lies in 0..``period``.
    """

    on_voltage: Array
    off_voltage: Array
    on_resistance: Array
    off_resistance: Array
    inductance: Array
    period: Array
    on_time: Array

    def __len__(self) -> int:
        return len(self.period)

    def __getitem__(self, chosen: Mask | Indices | slice) -> Loop:
        return Loop(**{item.name: getattr(self, item.name)[chosen] for item in fields(self)})

    @property
    def off_time(self) -> Array:
        """Time from turn-off of the switch to its next turn-on, s."""
        return np.asarray(self.period - self.on_time)

    def opposed(self, voltage: Array) -> Loop:
        """Give the loop with ``voltage`` (V) more against the current, as more speed voltage is."""
        return replace(self, on_voltage=self.on_voltage - voltage, off_voltage=self.off_voltage - voltage)


@dataclass(frozen=True, kw_only=True)
class Chopped(Periodic):
    """The current of one period in closed form.

    ``flows``: there is any. ``on`` and ``off``: the stretches through switch and diode.
    """

    flows: Mask
    on: Stretch
    off: Stretch

    def __getitem__(self, chosen: Mask | Indices | slice) -> Chopped:
        return Chopped(**{item.name: getattr(self, item.name)[chosen] for item in fields(self)})

    @cached_property
    def on_charge(self) -> Array:
        """Charge through the switch, A·s per period."""
        return np.asarray(self.on.charge(self.first) * self.flows)

    @cached_property
    def on_square(self) -> Array:
        """∫ i² dt through the switch, A²·s per period."""
        return np.asarray(self.on.square(self.first) * self.flows)

    @cached_property
    def off_charge(self) -> Array:
        """Charge through the diode, A·s per period."""
        return np.asarray(self.off.charge(self.peak) * self.flows)

    @cached_property
    def off_square(self) -> Array:
        """∫ i² dt through the diode, A²·s per period."""
        return np.asarray(self.off.square(self.peak) * self.flows)


def _on(loop: Loop) -> Stretch:
    return stretch(
        loop.on_voltage, resistance=loop.on_resistance, inductance=loop.inductance, time=loop.on_time)


def _off(loop: Loop, time: Array) -> Stretch:
    return stretch(loop.off_voltage, resistance=loop.off_resistance, inductance=loop.inductance, time=time)


def _excess(loop: Loop, on: Stretch, off: Stretch) -> Array:
    """Current left at the end of a period that began without any, were it allowed below zero, A."""
    plain = on.lift * off.decay + off.lift
    small = on.x + off.x < _SMALL
    if not small.any():
        return np.asarray(plain)
    # where resistance hardly matters the two lifts nearly cancel: sum the volt-seconds first
    lost = on.shortfall + on.lift * off.x * off.phi_1 + off.shortfall
    return np.where(small, _volt_seconds(loop, off.time) / loop.inductance - lost, plain)


def _volt_seconds(loop: Loop, off_time: Array) -> Array:
    """Give on_voltage·on_time + off_voltage·off_time as if with twice the digits, V·s."""
    missed = (loop.period - off_time) - loop.on_time    # rounding of off_time, exact
    high, low = product(loop.on_voltage, loop.on_time)
    high_off, low_off = product(loop.off_voltage, off_time)
    return np.asarray((high + high_off) + (low + low_off + loop.off_voltage * missed))


def _checked(loop: Loop) -> None:
    """Refuse what is no chopper."""
    sound = (
        (loop.inductance > 0) & (loop.period > 0) & (loop.on_time >= 0) & (loop.on_time <= loop.period)
        & (loop.on_resistance >= 0) & (loop.off_resistance >= 0)
        & ((loop.off_voltage <= 0) | (loop.on_voltage >= loop.off_voltage)))
    if sound.all():
        return
    for name, right in (
        ("inductance must be above zero", loop.inductance > 0),
        ("period must be above zero", loop.period > 0),
        ("on-time must lie within the period", (loop.on_time >= 0) & (loop.on_time <= loop.period)),
        ("resistance must not be negative", (loop.on_resistance >= 0) & (loop.off_resistance >= 0)),
        ("the off loop drives more than the on loop: the bus is below the switch threshold", sound),
    ):
        if not right.all():
            raise ValueError(f"{name} (point {int(np.argmin(right))})")


def chopped(loop: Loop) -> Chopped:
    """Give the periodic current of every point.

    No current flows where ``on_voltage`` ≤ 0 or ``on_time`` = 0. With ``on_time`` = ``period`` the current is
    direct, on_voltage/on_resistance. Where ``off_voltage`` > 0 the load drives the machine against its
    torque and current circles through the diode without the bus, at ``on_time`` = 0 as well
    (off_voltage/off_resistance): that is computed as it stands, and is braking.

    Raises ``ValueError`` for lengths, times and resistances that make no chopper, ``ArithmeticError`` where
    there is no steady state (no resistance, and more volt-seconds up than down).
    """
    _checked(loop)
    on, off = _on(loop), _off(loop, loop.off_time)
    excess = _excess(loop, on, off)
    flows = ((loop.on_voltage > 0) & (loop.on_time > 0)) | (loop.off_voltage > 0)
    continuous = flows & ((excess > 0) | (loop.off_voltage >= 0) | (loop.on_time == loop.period))
    lasting = -np.expm1(-on.x - off.x)
    if np.any(continuous & (lasting == 0)):
        raise ArithmeticError(
            "no steady state: a loop without resistance gains current every period "
            f"(point {int(np.argmax(continuous & (lasting == 0)))})")
    first = np.divide(excess, lasting, out=np.zeros_like(excess), where=continuous)
    peak = on.end(first) * flows
    ended = np.flatnonzero(flows & ~continuous)
    extinction = np.full_like(peak, np.nan)
    if len(ended):
        short = _freewheeling(loop[ended], peak[ended], off_time=off.time[ended])
        extinction[ended] = loop.on_time[ended] + short.time
        off = put(off, ended, short)
    return Chopped(
        continuous=continuous, flows=flows, first=first, peak=peak, period=loop.period, extinction=extinction,
        on=on, off=off)


def _freewheeling(loop: Loop, peak: Array, *, off_time: Array) -> Stretch:
    """The off loop from ``peak`` until the current ends, at the latest after ``off_time``."""
    against = -loop.off_voltage
    y = np.maximum(loop.off_resistance * peak / against, _TINY)
    time = loop.inductance * peak / against * (np.log1p(y) / y)
    return _off(loop, np.minimum(time, off_time))


@dataclass(frozen=True, kw_only=True)
class Edge:
    """Where continuous conduction ends.

    ``duty``: share of the on-time in the period at which the current just reaches zero, at the loop's own
    voltages (0 where nothing opposes the diode's current, nan where the bus drives none). ``headroom`` (V):
    what may be added to the speed voltage until the current just reaches zero at the loop's own on-time;
    negative where it is discontinuous already. ``mean`` (A): the mean current there.
    """

    duty: Array
    headroom: Array
    mean: Array


def edge(loop: Loop) -> Edge:
    """Give the edge of continuous conduction: duty by bisection to rounding, headroom in closed form.

    Raises as ``chopped`` does.
    """
    _checked(loop)
    on, off = _on(loop), _off(loop, loop.off_time)
    weight = (on.time * on.phi_1 * off.decay + off.time * off.phi_1) / loop.inductance
    headroom = np.asarray(_excess(loop, on, off) / weight)
    return Edge(duty=_edge_duty(loop), headroom=headroom, mean=chopped(loop.opposed(headroom)).mean)


def _edge_duty(loop: Loop) -> Array:
    low, high = np.zeros_like(loop.period), np.array(loop.period)
    for _ in range(56):
        middle = 0.5 * (low + high)
        tried = replace(loop, on_time=middle)
        above = _excess(tried, _on(tried), _off(tried, tried.off_time)) > 0
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.where(loop.on_voltage > 0, np.where(loop.off_voltage < 0, high / loop.period, 0.0), np.nan)


def trace(loop: Loop, found: Chopped, at: int, nodes: int = 181) -> tuple[Array, Array]:
    """Give time from turn-on (s) and current (A) of point ``at`` over one full period with both ends.

    Turn-off and extinction are points of their own; each stretch has ``nodes`` of them, and a period of
    a single stretch twice as many.
    """
    one, state = loop[at:at + 1], found[at:at + 1]
    T, on_time = float(one.period[0]), float(one.on_time[0])
    end = float(state.extinction[0])
    cuts = sorted({0.0, on_time, T} | ({end} if math.isfinite(end) else set()))
    count = nodes if len(cuts) > 2 else 2 * nodes - 1
    parts = [np.linspace(a, b, count)[1:] for a, b in pairwise(cuts)]
    time = np.concatenate([[0.0], *parts])
    many = loop[np.full(len(time), at)]
    rising = stretch(many.on_voltage, resistance=many.on_resistance, inductance=many.inductance,
                      time=np.minimum(time, on_time))
    falling = _off(many, np.maximum(time - on_time, 0.0))
    top = rising.end(np.full(len(time), float(state.first[0])))
    current = np.where(time <= on_time, top, falling.end(np.full(len(time), float(state.peak[0]))))
    gone = time >= (end if math.isfinite(end) else np.inf)
    nothing = not state.continuous[0] and not math.isfinite(end)
    return time, np.where(gone | nothing, 0.0, current)
