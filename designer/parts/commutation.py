"""What one period of chopping costs a transistor: its edges through the gate resistors, recovery, losses.

Edges are the slowest that threshold and plateau allow where they cost heat, the fastest where they
make a spike: each on its safe side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from designer.equations import switching as eq
from designer.equations.thermal import TWO_TERM_LOSS
from designer.parts.transistor_classes import Device
from designer.results import Step


@dataclass(frozen=True, kw_only=True)
class Gate:
    """Total resistance, ohm, through which the gate is charged (``on``) and discharged (``off``), driver included."""

    on: float
    off: float


@dataclass(frozen=True, kw_only=True)
class State:
    """One state of a chopper as its switch sees it: V, A.

    ``bus``: voltage switched. ``turn_on_current``: armature current when the switch takes over (its
    valley; 0 when discontinuous), ``turn_off_current``: when it lets go (its peak). ``mean_current``,
    ``rms_current``: of the switch over the period.
    """

    bus: float
    mean_current: float
    rms_current: float
    turn_on_current: float
    turn_off_current: float


@dataclass(frozen=True, kw_only=True)
class Recovery:
    """Of the freewheel diode: ``time`` (s), and ``charge`` (C) where it is known; none for a Schottky diode."""

    time: float = 0.0
    charge: float | None = None

    def charge_at(self, current: float) -> float:
        """The charge, C, when ``current`` (A) is taken out of the diode; none where no current flows."""
        if not current > 0:
            return 0.0
        return self.charge if self.charge is not None else float(eq.RECOVERY_CHARGE(I=current, t_rr=self.time))


NO_RECOVERY = Recovery()


@dataclass(frozen=True, kw_only=True)
class Losses:
    """Heat in one transistor, W, and the steps it was worked out by."""

    conduction: float
    switching: float
    steps: tuple[Step, ...]

    @property
    def total(self) -> float:
        """Both together, W."""
        return self.conduction + self.switching


def rise_of_current(device: Device, *, gate: Gate, current: float) -> float:
    """Give di/dt at turn-on, A/s, when ``current`` (A) is taken over; 0 for none."""
    return float(_rise(device, gate=gate, current=current)) if current > 0 else 0.0


def _rise(device: Device, *, gate: Gate, current: float) -> float:
    return float(eq.RISE_OF_CURRENT(
        I=current, V_dr=device["drive_voltage"], V_pl=device["plateau_voltage"], Q_g=device["gate_charge"],
        R_gon=gate.on))


def fall_time(device: Device, *, gate: Gate) -> float:
    """Give the shortest fall of the current at turn-off, s: what makes the overshoot."""
    return float(eq.FALL_TIME(Q_g=device["gate_charge"], R_goff=gate.off, V_pl=device["plateau_voltage"]))


def recovery_peak(device: Device, *, gate: Gate, recovery: Recovery, current: float) -> float:
    """Give the diode's reverse peak, A, that comes on top of ``current`` (A) at turn-on."""
    charge = recovery.charge_at(current)
    if not charge > 0:
        return 0.0
    return float(eq.RECOVERY_PEAK(Q_rr=charge, didt=_rise(device, gate=gate, current=current)))


def edges(device: Device, *, gate: Gate) -> tuple[Step, Step]:
    """Give the steps of turn-on and turn-off edge, current and voltage together, s."""
    charge = device["gate_charge"]
    return (
        Step(formula=eq.TURN_ON_TIME, note="turn-on edge", inputs={
            "Q_g": charge, "R_gon": gate.on, "V_dr": device["drive_voltage"], "V_pl": device["plateau_voltage"]}),
        Step(formula=eq.TURN_OFF_TIME, note="turn-off edge", inputs={
            "Q_g": charge, "R_goff": gate.off, "V_th": device["gate_threshold"]}),
    )


def losses(device: Device, *, gate: Gate, state: State, recovery: Recovery, frequency: float) -> Losses:
    """Give conduction and switching loss of ``device`` in ``state`` at ``frequency`` (Hz), junction hot."""
    conduction = _conduction(device, state=state)
    on, off = edges(device, gate=gate)
    overlap_on = Step(formula=eq.EDGE_ENERGY, note="overlap at turn-on", inputs={
        "V": state.bus, "I": state.turn_on_current, "t": on.value})
    overlap_off = Step(formula=eq.EDGE_ENERGY, note="overlap at turn-off", inputs={
        "V": state.bus, "I": state.turn_off_current, "t": off.value})
    capacitance = Step(formula=eq.CAPACITANCE_ENERGY, note="its own capacitance", inputs={
        "C_oss": device["output_capacitance"], "V": state.bus})
    back = _recovery(device, gate=gate, state=state, recovery=recovery)
    tail = _tail(device, state=state)
    least = overlap_on.value + overlap_off.value
    more = max(tail.value - least, 0.0) if tail else 0.0
    switching = Step(formula=eq.SWITCHING_LOSS, note="switching", inputs={
        "f": frequency, "E_on": overlap_on.value, "E_off": overlap_off.value + more,
        "E_rr": back.value if back else 0.0, "E_oss": capacitance.value})
    used = (on, off, overlap_on, overlap_off, *((tail,) if tail else ()), *((back,) if back else ()), capacitance)
    return Losses(conduction=conduction.value, switching=switching.value, steps=(conduction, *used, switching))


def _conduction(device: Device, *, state: State) -> Step:
    if device.kind == "mosfet" and device["threshold_voltage"] == 0:
        return Step(formula=eq.CHANNEL_LOSS, note="conduction, hot", inputs={
            "R_hot": device["slope_resistance"], "I_rms": state.rms_current})
    return Step(formula=TWO_TERM_LOSS, note="conduction, hot", inputs={
        "V_T0": device["threshold_voltage"], "r_T": device["slope_resistance"], "I_abs": state.mean_current,
        "I_rms": state.rms_current})


def _recovery(device: Device, *, gate: Gate, state: State, recovery: Recovery) -> Step | None:
    charge = recovery.charge_at(state.turn_on_current)
    if not charge > 0:
        return None
    return Step(formula=eq.RECOVERY_ENERGY, note="the freewheel diode's recovery, borne by the transistor", inputs={
        "V": state.bus, "Q_rr": charge, "I": state.turn_on_current,
        "didt": _rise(device, gate=gate, current=state.turn_on_current)})


def _tail(device: Device, *, state: State) -> Step | None:
    """The datasheet energy of a bipolar transistor, whose tail no gate resistor shortens."""
    if device.kind != "igbt" or math.isclose(device.values.get("switching_energy", 0.0), 0.0):
        return None
    return Step(
        formula=eq.SCALED_ENERGY, inputs={
            "E_class": device["switching_energy"], "V": state.bus, "V_class": device["energy_voltage"],
            "I": max(state.turn_on_current, state.turn_off_current), "I_class": device["energy_current"]},
        note="energy of its class, tail included; it counts where it exceeds both overlaps")
