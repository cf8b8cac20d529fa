"""The control side of a triac circuit: detector, driver and gate window, or a breakover-device network."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from designer.circuits.case import Points
from designer.circuits.triac_series import TriacSeries
from designer.equations.firing import GATE_CURRENT_COLD
from designer.parts import driver, gate_pulse, zero_cross
from designer.parts.triac_classes import Device
from designer.project.model import Project
from designer.results import Part
from designer.studies.survey import Survey, voltages

# the logic that counts the delay: a 5 V controller on a supply of its own; common practice, no source
LOGIC_LOW, LOGIC, LOGIC_HIGH = 4.75, 5.0, 5.25     # V
SINK = 0.4                                         # V left at the sinking output
READ_HIGH = 3.5                                    # V surely read as high
EDGE = 0.4e-3          # s, detector's edge from the zero at low mains, aged; common practice, no source
BRIDGE_DROP, MISMATCH = 1.4, 0.2                   # V; from memory
TURN_ON_TIME = 3e-6    # s, gate current to collapse of the voltage; from memory
ON_RISE = 0.5          # V, on-state drop over the threshold with the load's current; order of magnitude, from memory
GUARD_STEP = 0.05e-3   # s, the guard is rounded up to this
WARM, ZERO = 25.0, 273.15   # °C at which gate currents are stated; K between °C and kelvin
ANGLES = 61


@dataclass(frozen=True, kw_only=True)
class Firing:
    """The chosen control side, and how far its edges may be off."""

    parts: tuple[Part, ...]
    error: float            # s
    network: str            # "" for the optocoupled drive, else the wiring of the network
    #: rad: where a network fires at low mains and slow, nominal, high mains and fast; nan where it goes out
    angles: tuple[float, float, float] | None = None


def detector(project: Project) -> zero_cross.Detector:
    """The zero-cross detector for this mains."""
    return zero_cross.design(_detector_demand(project))


def guard_time(project: Project) -> float:
    """Gate guard, s: 0.5 ms and the detector's error, rounded up; the file's own where it is longer."""
    least = gate_pulse.LEAST_GUARD + detector(project).error
    return max(math.ceil(round(least / GUARD_STEP, 6)) * GUARD_STEP, project.circuit.gate_guard or 0.0)


def _detector_demand(project: Project) -> zero_cross.Demand:
    low, nominal, high = voltages(project)
    return zero_cross.Demand(
        supply_rms_low=low, supply_rms_nominal=nominal, supply_rms_high=high,
        frequency=float(project.supply.frequency or 0.0), edge=EDGE, bridge_drop=BRIDGE_DROP, drop_mismatch=MISMATCH,
        logic_voltage=LOGIC, logic_high=READ_HIGH, optocoupler=zero_cross.GENERIC, margins=project.margins.values)


def optocoupled(found: Survey, project: Project, device: Device) -> Firing:
    """Detector, driver with its resistors, and the gate window of the firmware."""
    parts = zero_cross.choose(_detector_demand(project))
    error = detector(project).error
    low, _, high = voltages(project)
    settings = found.range.points.setting
    frequency = float(project.supply.frequency or 0.0)
    drive = driver.choose(driver.Demand(
        supply_rms_low=low, supply_rms_high=high, frequency=frequency, gate_current=device["gate_current"],
        gate_voltage=device["gate_voltage"], turn_on_time=TURN_ON_TIME, ambient_low=found.thermal.cold,
        earliest_angle=float(np.min(settings)), driver=driver.GENERIC, logic_voltage=LOGIC_LOW,
        logic_voltage_high=LOGIC_HIGH, logic_low=SINK, margins=project.margins.values))
    window = gate_pulse.choose(_gate_demand(found, project, device, error))
    return Firing(parts=(*drive, *parts, window), error=error, network="")


def _gate_demand(
    found: Survey, project: Project, device: Device, error: float
) -> gate_pulse.Demand:
    solved, motor = found.corners.solved, found.fixed.motor
    speed = float(np.max(found.held.points.speed))
    settings = found.range.points.setting
    return gate_pulse.Demand(
        supply_rms_low=voltages(project)[0], frequency=1.01 * float(project.supply.frequency or 0.0),
        inductance=float(solved.winding.inductance(0.0)), resistance=float(np.max(solved.paths[0].resistance)),
        speed_resistance=motor.curve.initial_slope * speed, opposing_voltage=float(np.max(solved.paths[0].opposing)),
        latching_current=device["latching_current"], earliest_angle=float(np.min(settings)),
        latest_angle=float(np.max(settings)), guard=guard_time(project), edge_error=error,
        mode=project.circuit.gate or "train", pulse=project.circuit.gate_pulse)


def network(circuit: TriacSeries, found: Survey, project: Project, device: Device) -> Firing:
    """A breakover-device network that reaches the settings of the control range, wired as the file says."""
    from designer.parts import breakover  # only here: its formulas take as long to load as a survey
    from designer.parts.breakover_values import behaviour

    wiring: Literal["two-wire", "three-wire"] = (
        "two-wire" if project.circuit.firing == "breakover-two-wire" else "three-wire")
    order: Literal["single", "double"] = "double" if project.circuit.firing_stages == 2 else "single"
    low, nominal, high = voltages(project)
    settings = found.range.points.setting
    # the motor's own extinction against firing angle, at the target's speed
    angles = np.linspace(float(np.min(settings)) - math.radians(15), circuit.setting_range(found.fixed)[1], ANGLES)
    angles = np.maximum(angles, math.radians(1))
    points: Points = found.held.points[np.full(ANGLES, 1)].at(setting=angles)
    solved = circuit.solve(found.fixed, points)
    ends = solved.main_half.extinction
    fired = np.isfinite(ends)
    error = detector(project).error
    latest = float(np.max(settings))
    latch = gate_pulse.latching_time(_gate_demand(found, project, device, error), angle=latest)
    gate = GATE_CURRENT_COLD(I_GT=device["gate_current"], T_low=min(found.thermal.cold, WARM) + ZERO)
    motor = found.held.points
    demand = breakover.Demand(
        supply_rms_low=low, supply_rms_nominal=nominal, supply_rms_high=high,
        frequency=float(project.supply.frequency or 0.0), on_drop=device["threshold_voltage"] + ON_RISE,
        firing_angles=angles[fired], extinctions=ends[fired], earliest_angle=float(np.min(settings)),
        target_angle=found.setting, latest_angle=latest, wiring=wiring, order=order,
        device=breakover.GENERIC, gate_current=float(gate), latching_time=latch,
        direct_resistance=float(motor.armature_resistance[0] + motor.field_resistance[0])
        + found.fixed.feed.resistance,
        margins=project.margins.values)
    values, power = breakover.designed(demand)
    at_nominal, slowest, fastest = behaviour(demand, values).corners.positive.tolist()
    return Firing(parts=breakover.parts(demand, values, power), error=0.0, network=wiring,
                  angles=(slowest, at_nominal, fastest))
