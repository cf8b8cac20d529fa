"""What readings of one winding or of the tacho tell by themselves: inductance, thermal resistance, pulses a turn."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from designer.equations.characterise import (
    INDUCTANCE,
    TACHO_PULSES,
    TEMPERATURE_BY_RESISTANCE,
    THERMAL_RESISTANCE,
)
from designer.motor.fit_bench import Bench, KeptOut
from designer.motor.fit_errors import errors_of
from designer.motor.fit_suspects import IMPOSSIBLE, Suspect, chance
from designer.motor.model import KELVIN
from designer.results import Array, Step

Value = tuple[float, float]          # a value and its standard uncertainty, SI
LIKE = 1.5          # a.c. currents within this factor of the smallest read the same inductance
ROUNDED = 0.1       # of a pulse: nearer than that a count is whole
OPEN_END = 0.6      # of a rise that must have been seen before its end is known at all


@dataclass(frozen=True, kw_only=True)
class Inductance:
    """An inductance from one a.c. reading: place, winding, current (A), value and uncertainty (H), worked step."""

    place: int
    winding: str
    current: float
    value: float
    uncertainty: float
    step: Step


def inductances(bench: Bench, resistances: Mapping[str, Value]) -> tuple[list[Inductance], list[KeptOut]]:
    """Give the inductance of every standstill a.c. reading, and the readings that give none.

    ``resistances`` (ohm) by winding are used where a reading has no power.
    """
    found, out = [], []
    for place, r in bench.of("standstill-ac"):
        volts, amps = errors_of([r], ("voltage", "current"), bench.instruments).at(
            np.array([[r.voltage, r.current]]))[0]
        if not r.current > 0 or not r.frequency > 0:
            out.append(KeptOut(place=place, why="without current or frequency there is no impedance"))
            continue
        if r.power:
            ohms, spread = r.power / r.current**2, 0.07 * r.power / r.current**2
        elif r.winding in resistances:
            ohms, spread = resistances[r.winding]
        else:
            out.append(KeptOut(place=place, why=f"the resistance of the {r.winding} is not known, nor the power read"))
            continue
        if r.voltage / r.current <= ohms:
            out.append(KeptOut(place=place, why="its impedance is below the winding's resistance: read it again"))
            continue
        step = Step(formula=INDUCTANCE, note=f"{r.winding} at {r.current:.3g} A",
                    inputs={"U": r.voltage, "I_w": r.current, "R_w": ohms, "f_r": r.frequency})
        impedance, omega = r.voltage / r.current, 2 * math.pi * r.frequency
        error = math.hypot(impedance**2 * math.hypot(volts / r.voltage, amps / r.current), ohms * spread)
        found.append(Inductance(place=place, winding=r.winding, current=r.current, value=step.value, step=step,
                                uncertainty=error / (omega**2 * step.value)))
    return found, out


def inductance(found: list[Inductance], winding: str) -> Value | None:
    """Give the weighted mean (H) of a winding's readings at the smallest currents, where iron saturates least."""
    own = [one for one in found if one.winding == winding]
    if not own:
        return None
    least = min(one.current for one in own)
    near = [one for one in own if one.current <= LIKE * least or winding == "armature"]
    weights = np.array([one.uncertainty**-2 for one in near])
    mean = float(np.average([one.value for one in near], weights=weights))
    return mean, float(weights.sum() ** -0.5)


@dataclass(frozen=True, kw_only=True)
class Tacho:
    """Pulses a turn and volts (r.m.s.) per rad/s, each with its uncertainty, readings that disagree, worked step."""

    pulses: Value
    volts: Value | None
    suspects: tuple[Suspect, ...]
    step: Step

    @property
    def whole(self) -> bool:
        """True where the pulses are a whole number within the errors."""
        away = abs(self.pulses[0] - round(self.pulses[0]))
        return away <= max(ROUNDED, 3 * self.pulses[1])


def tacho(bench: Bench) -> Tacho | None:
    """Give pulses a turn from the tacho readings (the middle one decides), and name those that disagree."""
    rows = [(place, r) for place, r in bench.of("tacho") if r.speed > 0 and r.frequency > 0]
    if not rows:
        return None
    sigma = errors_of([r for _, r in rows], ("speed", "frequency"), bench.instruments).at(
        np.array([[r.speed, r.frequency] for _, r in rows]))
    each = np.array([TACHO_PULSES(f_t=r.frequency, omega_t=r.speed) for _, r in rows])
    spread = each * np.hypot(sigma[:, 0] / [r.speed for _, r in rows], sigma[:, 1] / [r.frequency for _, r in rows])
    middle = float(np.sort(each)[len(each) // 2])
    far = np.array([chance(((p - middle) / (1.5 * s)) ** 2, 1) < IMPOSSIBLE
                    for p, s in zip(each, spread, strict=True)])
    suspects = tuple(_miscounted(place, float(p / middle), float(abs(p - middle) / s))
                     for (place, _), p, s, is_far in zip(rows, each, spread, far, strict=True) if is_far)
    good = ~far
    weights = spread[good] ** -2
    volts = [(r.voltage / r.speed) for (_, r), g in zip(rows, good, strict=True) if g and r.voltage]
    best = next(r for (_, r), g in zip(rows, good, strict=True) if g)
    return Tacho(pulses=(float(np.average(each[good], weights=weights)), float(weights.sum() ** -0.5)),
                 volts=(float(np.mean(volts)), float(0.02 * np.mean(volts) / math.sqrt(len(volts)))) if volts else None,
                 suspects=suspects,
                 step=Step(formula=TACHO_PULSES, inputs={"f_t": best.frequency, "omega_t": best.speed}))


def _miscounted(place: int, ratio: float, distance: float) -> Suspect:
    if abs(math.log2(ratio) - round(math.log2(ratio))) < 0.05:
        cause = "speed or frequency off by a factor of two: check pulses per turn, and both half waves"
    else:
        cause = "the other tacho readings contradict it, and no usual slip explains it: read it again"
    return Suspect(place=place, kind="tacho", distance=distance, cause=cause, set_aside=True)


@dataclass(frozen=True, kw_only=True)
class Warming:
    """A warm-up: winding, thermal resistance (K/W), time constant (s), speed (rad/s), steady rise (K), worked steps."""

    winding: str
    speed: float
    resistance: Value
    constant: Value
    rise: float
    steps: tuple[Step, ...]


def warming(bench: Bench, winding: str, start: float) -> Warming | None:
    """Fit an exponential to a warm-up of one winding that began at ``start`` (°C); None below four readings.

    R(t) = R_1·(1 + ΔT·(1 − exp(−t/τ'))/(θ_1 + 235)); the copper loss grows with R, so the time constant of the
    winding itself is τ'/(1 + ΔT/(θ_1 + 235)) (derived from C·dT/dt = I²·R(T) − T/R_th).
    """
    rows = [r for _, r in bench.of("warm-up", {"winding": winding})]
    if len(rows) < 4:
        return None
    time, ohms = np.array([(r.time, r.resistance) for r in rows]).T
    sigma = errors_of(rows, ("resistance",), bench.instruments).at(ohms[:, None])[:, 0]
    found = _exponential(time, ohms, sigma)
    if found is None:
        return None
    (cold, grown, tau), covariance = found
    zero = start + 235.0
    rise = grown / cold * zero
    current = float(np.mean([r.current for r in rows]))
    end = cold + grown
    steps = (Step(formula=TEMPERATURE_BY_RESISTANCE, note=f"{winding}, steady",
                  inputs={"R_1": cold, "R_2": end, "theta_1": start + KELVIN}),
             Step(formula=THERMAL_RESISTANCE, note=winding, inputs={"dT_w": rise, "I_h": current, "R_end": end}))
    amps = float(errors_of(rows, ("current",), bench.instruments).at(np.array([[r.current] for r in rows])).mean())
    share = grown / cold
    own = tau / (1 + share)
    # slopes of R_th = grown/cold·zero/(I²·(cold + grown)) and of the time constant against cold, grown, tau
    slopes = np.array([
        [-1 / cold - 1 / end, 1 / grown - 1 / end, 0.0],
        [share / (cold * (1 + share)), -1 / (cold * (1 + share)), 1 / tau]])
    relative = np.sqrt(np.diag(slopes @ covariance @ slopes.T))
    value = steps[1].value
    return Warming(
        winding=winding, speed=float(np.mean([r.speed or 0.0 for r in rows])), rise=rise, steps=steps,
        resistance=(value, value * float(np.hypot(relative[0], 2 * amps / current))),
        constant=(own, own * float(relative[1])))


def _exponential(time: Array, ohms: Array, sigma: Array) -> tuple[tuple[float, float, float], Array] | None:
    """Cold resistance, its growth and the time constant, with their covariance: given τ the rest is a line."""
    span = float(time.max() - time.min())
    if span <= 0:
        return None
    best: tuple[float, float, Array] = (math.inf, 0.0, np.zeros(2))
    grid = span * np.geomspace(0.05, 20.0, 400)
    for tau in grid:
        design = np.stack((np.ones_like(time), -np.expm1(-time / tau)), axis=1) / sigma[:, None]
        fitted = np.linalg.lstsq(design, ohms / sigma, rcond=None)[0]
        squares = float(np.sum((design @ fitted - ohms / sigma) ** 2))
        best = min(best, (squares, float(tau), np.asarray(fitted)), key=lambda one: one[0])
    _, tau, (cold, grown) = best
    if not (cold > 0 and grown > 0) or -math.expm1(-time.max() / tau) < OPEN_END:
        return None
    slopes = np.stack((np.ones_like(time), -np.expm1(-time / tau),
                       -grown * np.exp(-time / tau) * time / tau**2), axis=1) / sigma[:, None]
    return (float(cold), float(grown), tau), np.asarray(np.linalg.pinv(slopes.T @ slopes))
