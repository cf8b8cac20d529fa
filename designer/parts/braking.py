"""Braking resistor of an armature whose field stays on: value, body, and time to slow down.

Safe side: the next larger value, at its lower tolerance still within the allowed current; the next larger body; times
with the resistor at its upper tolerance and the armature hot.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy.integrate import quad

from designer.equations import braking as eq
from designer.equations.starter import STARTS_HEAT
from designer.parts import contactor
from designer.parts.margins import holds, share, within
from designer.parts.preferred import at_least
from designer.parts.starting_resistor import HOUR, ON_END, TOLERANCE, Body, bodies
from designer.results import Array, Rating, Step

SERIES = "E12"
LOW_PART = 0.1      # of the first speed: "almost at rest"
_TINY = 1e-12       # of the first speed, where only a constant torque still brakes
_NOTHING = 1e-9     # of the first torque: less than that at rest is no constant part


@dataclass(frozen=True, kw_only=True)
class Shaft:
    """A shaft that slows down: rad/s at first, V·s, kg·m², V of both brushes, ohm of the whole path (infinite: open).

    ``opposing`` gives iron, friction and load torque (N·m) at speeds (rad/s).
    """

    speed: float
    flux: float
    inertia: float
    brushes: float
    path: float
    opposing: Callable[[Array], Array]

    @property
    def ends(self) -> float:
        """The speed, rad/s, at which the brushes' drop takes the whole speed voltage: below it no current brakes."""
        return self.brushes / self.flux

    def torque(self, speed: float) -> float:
        """Give what slows the shaft at ``speed`` (rad/s), N·m."""
        drag = float(self.opposing(np.array([speed]))[0])
        if not math.isfinite(self.path) or speed <= self.ends:
            return drag
        return drag + float(eq.BRAKING_TORQUE(k_b=self.flux, omega=speed, V_b=self.brushes, R_a=self.path, R_br=0.0))

    def opened(self) -> Shaft:
        """The same without a resistor: it runs down by itself."""
        return replace(self, path=math.inf)

    def time_to(self, speed: float) -> float:
        """Give the time, s, down to ``speed`` (rad/s); infinite to rest where nothing constant brakes.

        Quadrature of J/T over speed, split where the current ends.
        """
        if self.torque(_TINY * self.speed if speed == 0.0 else speed) <= _NOTHING * self.torque(self.speed):
            return math.inf
        cuts = sorted({speed, min(max(self.ends, speed), self.speed), self.speed})
        return float(sum(self._piece(low, high) for low, high in pairwise(cuts)))

    def _piece(self, low: float, high: float) -> float:
        return float(quad(lambda w: self.inertia / self.torque(w), low, high, epsrel=1e-10, limit=200)[0])


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the resistor is chosen for: V at first at most, A allowed, ohm of the cold armature, kg·m², rad/s,
    stops an hour (None: not told).
    """

    voltage: float
    allowed: float
    armature: float
    inertia: float
    speed: float
    stops: float | None = None


@dataclass(frozen=True, kw_only=True)
class Choice:
    """The resistor: ``ohms`` (0: none is needed), body (None: none of the table bears it), steps, mean heat (W)."""

    ohms: float
    least: Step
    current: Step
    energy: Step
    peak: Step
    mean: Step | None
    pulse: float            # s: the pulse of constant power that is as hot
    body: Body | None

    @property
    def steps(self) -> tuple[Step, ...]:
        """The worked lines."""
        return (self.least, self.current, self.energy, self.peak, *(() if self.mean is None else (self.mean,)))


def choose(demand: Demand, *, margins: Mapping[str, float]) -> Choice:
    """Give value and body; a value of 0 where the armature's own resistance holds the current."""
    least = Step(formula=eq.BRAKING_RESISTOR, note="braking, cold armature, greatest speed voltage", inputs={
        "E_s": demand.voltage, "I_allowed": demand.allowed, "R_a": demand.armature})
    ohms = at_least(least.value / (1 - TOLERANCE), SERIES) if least.value > 0 else 0.0
    current = Step(formula=eq.FIRST_BRAKING_CURRENT, note="resistor at its lower tolerance", inputs={
        "E_s": demand.voltage, "R_a": demand.armature, "R_br": (1 - TOLERANCE) * ohms})
    energy = Step(formula=eq.BRAKING_ENERGY, inputs={"J_b": demand.inertia, "omega_s": demand.speed})
    peak = Step(formula=eq.PEAK_BRAKING_POWER, inputs={
        "I_br": float(eq.FIRST_BRAKING_CURRENT(E_s=demand.voltage, R_a=demand.armature, R_br=ohms)), "R_br": ohms})
    mean = None if not demand.stops else Step(formula=STARTS_HEAT, note="stops, as many as starts", inputs={
        "n_h": demand.stops, "E_st": energy.value, "t_h": HOUR})
    part = ohms / (ohms + demand.armature)
    pulse = part * energy.value / peak.value if ohms else 0.0
    return Choice(ohms=ohms, least=least, current=current, energy=energy, peak=peak, mean=mean, pulse=pulse,
                  body=_body(energy.value, pulse=pulse, mean=mean.value if mean else 0.0, volts=demand.voltage,
                             margins=margins) if ohms else None)


@dataclass(frozen=True, kw_only=True)
class Contact:
    """The contact that puts the armature onto its resistor: None where none of the table bears it; its steps."""

    row: contactor.Row | None
    ratings: tuple[Rating, ...]
    decay: Step
    rms: Step | None

    @property
    def steps(self) -> tuple[Step, ...]:
        """The worked lines."""
        return (self.decay, *(() if self.rms is None else (self.rms,)))


def contact(
    chosen: Choice, demand: Demand, *, inductance: float, gap: float, margins: Mapping[str, float]
) -> Contact:
    """Give the contact of a braking resistor: it makes the first current, and breaks it when let go at once.

    By order it opens at rest, without current; a brake that is let go early, or bounces, breaks all of it, as direct
    current. ``inductance`` (H) of the armature; ``gap``: V that its open contact stands while the motor runs. For good
    it carries the r.m.s. over the stops of an hour; the first current where those are not told.
    """
    low = (1 - TOLERANCE) * chosen.ohms
    decay = Step(formula=eq.BRAKING_DECAY, note="cold armature, resistor at its lower tolerance", inputs={
        "L_a": inductance, "R_a": demand.armature, "R_br": low})
    rms = None if not demand.stops else Step(formula=eq.BRAKING_RMS, note="stops, as many as starts", inputs={
        "n_h": demand.stops, "t_h": HOUR, "W_b": chosen.energy.value, "R_a": demand.armature, "R_br": low})
    first = chosen.current.value
    rated = {row: contactor.armature_ratings(row, margins=margins, demand=contactor.ArmatureDemand(
        running=first if rms is None else min(rms.value, first), stalled=first, voltage=max(demand.voltage, gap),
        coil=0.0, mains=False, decay=decay.value, wheel=False)) for row in contactor.by_size()}
    row = next((row for row, ratings in rated.items() if all(map(holds, ratings))), None)
    return Contact(row=row, ratings=() if row is None else rated[row], decay=decay, rms=rms)


def _body(energy: float, *, pulse: float, mean: float, volts: float, margins: Mapping[str, float]) -> Body | None:
    """The smallest body that bears two stops on end, the mean heat and the voltage."""
    hot, power, across = (share(key, margins)[0] for key in ("inrush_energy", "resistor_power", "resistor_voltage"))
    return next((row for row in bodies() if within(ON_END * energy, limit=row.bears(ON_END * pulse), allowed=hot)
                 and within(mean, limit=row.power, allowed=power)
                 and within(volts, limit=row.voltage, allowed=across)), None)
