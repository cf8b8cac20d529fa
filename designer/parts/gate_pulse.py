"""Gate pulse: how long the gate must be held for the motor's current to latch, and when it must end.

The load current grows by L·di/dt + (R + k'·ω)·i = V̂·sin θ − E from zero at the firing angle; near zero
current the speed voltage of a series motor is in proportion to the current, so it acts as a resistance.
Closed form between firing and the crest of the current, the instant of latching by root.
Rounding: the pulse up, its end down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq, minimize_scalar

from designer.equations import firing as formulas
from designer.errors import InputError
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step

#: s; shortest guard between gate off and the next zero (0.3 to 0.5 ms: common practice, no source)
LEAST_GUARD = 0.5e-3
#: pulse over latching time (common practice, no source)
PULSE_FACTOR = 2.0
#: least frequency of the train, Hz (common practice, no source)
TRAIN = 10e3
#: of a quarter period about: to 1e-9 rad, as near as the inner search goes
HALVINGS = 31


@dataclass(frozen=True, kw_only=True)
class Demand:
    """The loop just after firing, and the gate's window; SI, angles in rad.

    ``inductance`` at its greatest (unsaturated), ``resistance`` of the loop, ``speed_resistance`` (Ω)
    k'(0)·ω, ``opposing_voltage`` (V) brushes, device and remanent speed voltage together; ``frequency``
    at its highest; ``guard`` (s) between gate off and the zero; ``edge_error`` (s) by how much the
    detector may tell the zero late; ``mode`` as ``[circuit] gate``, ``pulse`` (s) its width, or None
    for the width to be chosen.
    """

    supply_rms_low: float
    frequency: float
    inductance: float
    resistance: float
    speed_resistance: float
    opposing_voltage: float
    latching_current: float
    earliest_angle: float
    latest_angle: float
    guard: float
    edge_error: float
    mode: str
    pulse: float | None

    @property
    def window_end(self) -> float:
        """Angle at which the gate must be off, rad."""
        return float(formulas.GATE_END(f=self.frequency, t_guard=self.guard))


def current(demand: Demand, *, angle: float, theta: float) -> float:
    """Give the load current, A, at ``theta`` after firing at ``angle`` (rad), while it has not yet ended."""
    omega = 2 * math.pi * demand.frequency
    resistance = demand.resistance + demand.speed_resistance
    reactance = omega * demand.inductance
    lag, impedance = math.atan2(reactance, resistance), math.hypot(reactance, resistance)
    crest = math.sqrt(2) * demand.supply_rms_low

    def steady(at: float) -> float:
        return crest / impedance * math.sin(at - lag) - demand.opposing_voltage / resistance

    return steady(theta) - steady(angle) * math.exp(-(theta - angle) * resistance / reactance)


def latching_time(demand: Demand, *, angle: float) -> float:
    """Give the time, s, from the gate pulse's start at ``angle`` (rad) to the latching current.

    A pulse that starts while the mains is below the opposing voltage waits for it. nan when the current
    is not reached before the gate window ends.
    """
    crest = math.sqrt(2) * demand.supply_rms_low
    if demand.opposing_voltage >= crest:
        return math.nan
    start, end = max(angle, math.asin(demand.opposing_voltage / crest)), demand.window_end
    if start >= end:
        return math.nan

    def spare(theta: float) -> float:
        return current(demand, angle=start, theta=theta) - demand.latching_current

    found = minimize_scalar(
        lambda theta: -spare(theta), bounds=(start, end), method="bounded", options={"xatol": 1e-9},
    )
    top = max((float(found.x), end), key=spare)
    if spare(top) <= 0:
        return math.nan
    theta = brentq(spare, start, top, xtol=1e-13)
    return float(theta - angle) / (2 * math.pi * demand.frequency)


def latest_latching_angle(demand: Demand) -> float:
    """Give the latest firing angle, rad, past the crest that still latches; nan when the crest does not."""
    low, high = math.pi / 2, demand.window_end
    if math.isnan(latching_time(demand, angle=low)):
        return math.nan
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if math.isnan(latching_time(demand, angle=middle)):
            high = middle
        else:
            low = middle
    return low


def choose(demand: Demand) -> Part:
    """Give the gate pulse as a part of the firmware: width, end of window, train.

    Raises ``InputError`` for ``circuit.gate_guard`` below 0.5 ms with the detector's error,
    for ``circuit.firing_angle`` where the latest angle does not latch, and for ``circuit.gate_pulse``
    where a given pulse is too short.
    """
    least = LEAST_GUARD + demand.edge_error
    if demand.guard < least:
        raise InputError(
            "circuit.gate_guard", f"{1000 * demand.guard:.3g} ms", f"{1000 * least:.3g} ms or more",
            "A gate that outlives the zero fires the next half cycle at its start: full speed.",
        )
    times = [latching_time(demand, angle=angle) for angle in (demand.earliest_angle, demand.latest_angle)]
    latest = latest_latching_angle(demand)
    if math.isnan(times[1]) or math.isnan(times[0]):
        raise InputError(
            "circuit.firing_angle", f"{math.degrees(demand.latest_angle):.4g}°",
            f"up to {math.degrees(latest):.4g}°" if math.isfinite(latest) else "none latches",
            "Later, the current does not reach the latching current before the gate must be off. Fire earlier, "
            "or take a switch with a lower latching current.",
        )
    worst = max(times)
    width = math.ceil(PULSE_FACTOR * worst / 5e-6) * 5e-6 if demand.pulse is None else demand.pulse
    if width < worst:
        raise InputError(
            "circuit.gate_pulse", f"{1e6 * width:.3g} µs", f"{1e6 * worst:.4g} µs or more",
            f"It would end before the switch has latched; hold the gate, or send a train.{_bleeder(demand, width)}",
        )
    return _part(demand, worst=worst, width=width, latest=latest)


def _bleeder(demand: Demand, width: float) -> str:
    """What a resistance across the motor, which makes the missing current, would cost; at the latest angle."""
    drive = math.sqrt(2) * demand.supply_rms_low * math.sin(demand.latest_angle) - demand.opposing_voltage
    ohms = float(formulas.LATCHING_BLEEDER(
        E=drive, I_L=demand.latching_current, R=demand.resistance + demand.speed_resistance, L=demand.inductance,
        t_p=width,
    ))
    if not ohms > 0:
        return ""
    power = engineering(demand.supply_rms_low**2 / ohms, "W", 3)
    return f" A resistance of {engineering(ohms, 'ohm')} across the motor would latch it too, at up to {power}."


def _part(demand: Demand, *, worst: float, width: float, latest: float) -> Part:
    angle = demand.latest_angle
    drive = math.sqrt(2) * demand.supply_rms_low * math.sin(angle) - demand.opposing_voltage
    step = {"L": demand.inductance, "R": demand.resistance + demand.speed_resistance,
            "I_L": demand.latching_current, "E": drive}
    notes = (
        f"Latest angle that latches at low mains: {math.degrees(latest):.4g}°. The gate is off by "
        f"{math.degrees(demand.window_end):.4g}°.",
        f"A train of pulses at {TRAIN / 1e3:g} kHz or more, or a steady gate current, holds the gate from the "
        "firing angle to the end of the window: brushes bounce, the current falls out, and the gate brings it back.",
        "Never fire before the current of the other half cycle has ended: a short pulse is then lost, and every "
        "second half cycle with it.",
    )
    checks = () if step["R"] * step["I_L"] >= drive else (
        Step(formula=formulas.LATCHING_TIME, inputs=step,
             note="Voltage taken as at the firing angle; the width rests on the sine itself."),
    )
    return Part(
        role="gate-pulse", designator="", count=0,
        description="Gate train, held through the window" if demand.mode == "train" else "Single gate pulse",
        value=Quantity(width, "s"),
        ratings=(Rating(
            name="time to latch", limit=Quantity(width, "s"), stress=Quantity(worst, "s"),
            share=1 / PULSE_FACTOR if demand.pulse is None else 1.0,
            source="twice the latching time (common practice, no source)" if demand.pulse is None
            else "derived: the pulse must outlast it", at="low mains, greatest inductance, worst end of the range",
            remedy="A longer pulse, a train, or a switch with a lower latching current.",
        ),),
        worked=(*checks, Step(formula=formulas.GATE_END,
                              inputs={"f": demand.frequency, "t_guard": demand.guard})),
        if_wrong="Too short: one half cycle does not latch, direct current flows, the motor growls and the switch "
                 "overheats. Too long: the next half cycle fires at its start, full speed.",
        notes=notes,
        sources=("closed form of the current after firing (derived)",),
    )
