"""What a motor on a phase-controlled rectifier answers: currents, torque, losses, stresses, for many points at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.case import Drop, Fixed, Points
from designer.circuits.rectifier_forms import Form
from designer.results import Array, Indices
from designer.waveforms.phase_control import Gate
from designer.waveforms.rectified import Command, Rectification, Rectified

TURN = 2 * np.pi
LATEST = np.pi * (1 - 1e-6)   # rad: the firing angle of no output
_ROLES = ("switch", "rectifier", "freewheel")


@dataclass(frozen=True, kw_only=True)
class RectifiedSolution:
    """The circuit, its model and one period of every point; currents in A, over a full period of the source.

    ``flux``: the part of k (V·s) that does not follow the current: all of it with a separate field, the remanence of
    a series winding. ``inductance`` (H) of the motor where it is constant, nan where it is not.
    """

    fixed: Fixed
    points: Points
    form: Form
    model: Rectified
    command: Command
    state: Rectification
    flux: Array
    inductance: Array

    def __getitem__(self, chosen: Indices) -> RectifiedSolution:
        return replace(self, **{name: getattr(self, name)[chosen] for name in
                                ("points", "model", "command", "state", "flux", "inductance")})

    @property
    def series(self) -> bool:
        """True where the field winding carries the motor's current."""
        return self.fixed.field is None and bool(np.isnan(self.points.field_current).all())

    @property
    def torque(self) -> Array:
        """Mean electromagnetic torque, N·m."""
        return np.asarray((self.flux * self.state.charge + self.state.pull) / TURN)

    @property
    def iron_torque(self) -> Array:
        """Mean torque of the iron loss with a constant flux, N·m (none unless the readings tell it apart)."""
        return self.fixed.motor.iron_torque(self.flux, self.points.speed)

    @property
    def armature_square(self) -> Array:
        """Mean square of the armature current, A²."""
        return np.asarray(self.state.square / TURN)

    @property
    def armature_absolute(self) -> Array:
        """Mean of the armature current, A; it has one sign."""
        return np.asarray(self.state.charge / TURN)

    @property
    def field_square(self) -> Array:
        """Mean square of the field current, A²: that of a separate field stands still."""
        return self.armature_square if self.series else self.points.field_current**2

    @property
    def line_square(self) -> Array:
        """Mean square of the line current, A²."""
        return np.asarray(self.state.source_square / TURN)

    @property
    def input_power(self) -> Array:
        """Mean power drawn from the ideal source for the motor's circuit, W."""
        return np.asarray(self.state.drawn / TURN)

    def device(self, role: str) -> Mapping[str, Array]:
        """Mean, r.m.s. and peak of ONE device of a role (A), over the full period; ``KeyError`` where there is none."""
        of, state = self.form.carries[role], self.state
        charge = np.array((state.source_charge, state.freewheel_charge, state.charge)) / TURN
        square = np.array((state.source_square, state.freewheel_square, state.square)) / TURN
        crests = (state.source_crest, state.freewheel_crest, state.crest)
        peak = np.max([crest for share, crest in zip(of[0], crests, strict=True) if share], axis=0)
        return {"mean": np.tensordot(of[0], charge, 1), "rms": np.sqrt(np.tensordot(of[1], square, 1)), "peak": peak}

    def loss(self, role: str) -> Array:
        """Conduction loss of all devices of a role together, W."""
        fixed, state, total = self.fixed, self.state, np.zeros(len(self.points))
        drop: Drop = {"switch": fixed.switch, "rectifier": fixed.feed.rectifier, "freewheel": fixed.freewheel}[role]
        paths = ((self.form.source, state.source_charge, state.source_square),
                 (self.form.freewheel, state.freewheel_charge, state.freewheel_square),
                 (self.form.motor, state.charge, state.square))
        for devices, charge, square in paths:
            if devices is not None:
                thresholds, slopes = getattr(devices, role)
                total = total + (thresholds * drop.threshold * charge + slopes * drop.slope * square) / TURN
        return np.asarray(total)


def model(fixed: Fixed, points: Points, form: Form, *, resistance: Array, standing: Array) -> Rectified:
    """Give source, paths and motor of every point.

    ``resistance`` (ohm) of the windings in the motor's path, ``standing`` the speed voltage (V) without current.
    """
    one = np.ones(len(points))
    on, with_motor = form.source.drop(fixed), form.motor.drop(fixed)
    wheel = form.freewheel.drop(fixed) if form.freewheel else Drop()
    return Rectified(
        peak=np.sqrt(2.0) * points.voltage, omega=TURN * points.frequency,
        source_resistance=fixed.feed.line_resistance * one, source_inductance=fixed.feed.line_inductance * one,
        on_threshold=on.threshold * one, on_slope=on.slope * one, freewheel_threshold=wheel.threshold * one,
        freewheel_slope=wheel.slope * one, back=fixed.motor.brush_drop + with_motor.threshold + standing,
        standing=standing, resistance=resistance + with_motor.slope, speed=points.speed, pulses=form.pulses,
        freewheel=form.freewheel is not None, held=form.held)


def short_lived(fixed: Fixed) -> tuple[Fixed, float]:
    """What stands for a shorted thyristor as far as the motor feels it: fully on, no drop, whatever the gate does."""
    return replace(fixed, switch=Drop(), gate=Gate(), shorted=True), 0.0


def angle_range(fixed: Fixed) -> tuple[float, float]:
    """Firing angles of most and of least output, rad."""
    return 0.0, LATEST - fixed.gate.guard


def stresses(solved: RectifiedSolution) -> dict[str, Array]:
    """What line and devices see at every point, by the names of the operating point's quantities: A, W, V, A/s."""
    state, rms = solved.state, np.sqrt(solved.line_square)
    mean = state.source_charge / TURN
    told = {
        "line_current_rms": rms, "line_current_peak": state.source_crest,
        "line_current_mean": mean if solved.form.pulses == 1 else np.zeros_like(mean),
        "line_current_mean_absolute": mean,
        "armature_current_mean": solved.armature_absolute, "armature_current_rms": np.sqrt(solved.armature_square),
        "armature_current_peak": state.crest, "armature_current_ripple": state.crest - state.least,
        "field_current_rms": np.sqrt(solved.field_square),
        "turn_off_current_slope": state.slope, "reapplied_voltage": state.reapplied,
    }
    for role in _ROLES:
        if role in solved.form.carries:
            one = solved.device(role)
            told |= {f"{role}_current_{what}": value for what, value in one.items()}
            told |= {f"{role}_current_mean_absolute": one["mean"], f"{role}_loss": solved.loss(role)}
    return told
