"""What fires the thyristors of a rectifier: one isolated driver each, a common zero-cross detector, the gate window."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from designer.parts import driver, gate_pulse, zero_cross
from designer.parts.triac_classes import Device
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating
from designer.studies.groups import voltages
from designer.studies.sides import Scene
from designer.studies.survey import Survey
from designer.studies.triac_firing import LOGIC_HIGH, LOGIC_LOW, SINK, TURN_ON_TIME, detector, guard_time

PULSE_SECONDS = 100e-6    # s, one pulse of a train through a transformer; common practice, no source
GATE_DIODE = 1000.0       # V, small rectifier diode as sold; from memory
GATE_DIODE_CURRENT = 1.0  # A, mean
TRANSFORMER_DRIVE = 15.0  # V across its secondary; common practice, no source


def fired(scene: Scene, device: Device, *, count: int) -> tuple[Part, ...]:
    """Give detector, a driver with its resistors for each of ``count`` thyristors, and the gate window of the firmware.

    Raises ``InputError`` where a gate cannot be driven or does not latch.
    """
    found, project = scene.found, scene.project
    assert found is not None
    low, _, high = voltages(project)
    drive = driver.choose(driver.Demand(
        supply_rms_low=low, supply_rms_high=high, frequency=float(project.supply.frequency or 0.0),
        gate_current=device["gate_current"], gate_voltage=device["gate_voltage"], turn_on_time=TURN_ON_TIME,
        ambient_low=found.thermal.cold, earliest_angle=float(np.min(found.range.points.setting)),
        driver=driver.GENERIC, logic_voltage=LOGIC_LOW, logic_voltage_high=LOGIC_HIGH, logic_low=SINK,
        margins=project.margins.values))
    each = [replace(part, count=count * part.count) for part in (*map(_told, drive), gate_diode(high))]
    window = _worded(gate_pulse.choose(_gate_demand(found, project, device)), count)
    return (*each, *zero_cross.choose(detector(project).demand), window)


def _told(part: Part) -> Part:
    """The driver's words as they hold for a thyristor."""
    if part.role == "gate-driver":
        return replace(part, notes=(
            *part.notes[:3], "One for each thyristor, fed from its own anode: the cathodes stand at different "
            "potentials, or the anodes do. It fires only while the anode is positive, so all may be pulsed in every "
            "half cycle.", *part.notes[3:],
            "A pulse transformer may stand in its place: a secondary for each gate, reinforced insulation, "
            f"{TRANSFORMER_DRIVE:g} V for {engineering(PULSE_SECONDS, 's')} "
            f"({TRANSFORMER_DRIVE * PULSE_SECONDS * 1e3:g} mV·s) without saturating, a diode in series with each "
            "gate, a train through the whole window (common practice, no source)."))
    if part.role == "gate-resistor":
        return replace(part, description=part.description.replace("to the main terminal", "to the cathode"))
    return part


def gate_diode(high: float) -> Part:
    """Give the diode in series with the gate: no reverse voltage for driver and gate. ``high``: V r.m.s., greatest."""
    return Part(
        role="gate-diode", designator="D_g", description=f"small rectifier diode, {GATE_DIODE:g} V, "
        f"{GATE_DIODE_CURRENT:g} A, in series with the driver", marking=f"{GATE_DIODE_CURRENT:g} A {GATE_DIODE:g} V",
        value=Quantity(GATE_DIODE_CURRENT, "A"),
        ratings=(Rating(name="reverse voltage", limit=Quantity(GATE_DIODE, "V"),
                        stress=Quantity(math.sqrt(2) * high, "V"), share=0.5,
                        source="rating of 2 to 2.5 times the crest (common practice, no source)",
                        at="crest of high mains, anode negative"),),
        if_wrong="Left out: in the other half cycle the driver puts reverse voltage on the gate, which heats the "
                 "thyristor and may spoil it. The wrong way round: it never fires.",
        notes=("Cathode towards the gate.",), sources=("common practice, no source",))


def _worded(window: Part, count: int) -> Part:
    """The gate window's words as they hold for thyristors."""
    both = ("All gates may be pulsed in every half cycle: only the thyristor whose anode is positive fires."
            if count > 1 else "Pulses while the anode is negative do nothing here: driver and gate diode pass none.")
    return replace(
        window, notes=(*window.notes[:2], both), if_wrong="Too short: it does not latch, and half cycles are missing: "
        "the motor growls, direct current flows in the line. Too long: the next half cycle fires at its start, full "
        "speed.")


def _gate_demand(found: Survey, project: Project, device: Device) -> gate_pulse.Demand:
    """The loop just after firing, at the state of the control range that takes longest to latch."""
    every = [_at(found, project, device, index) for index in range(len(found.range.points))]
    times = [gate_pulse.latching_time(one, angle=one.earliest_angle) for one in every]
    return every[int(np.argmax(np.nan_to_num(times, nan=np.inf)))]


def _at(found: Survey, project: Project, device: Device, index: int) -> gate_pulse.Demand:
    """The loop at one state of the control range; from no current, as if the motor's had ended."""
    fixed, points = found.fixed, found.range.points
    model: Any = found.range.solved.model
    series, setting = fixed.field is None, float(points.setting[index])
    return gate_pulse.Demand(
        supply_rms_low=float(points.voltage[index]), frequency=1.01 * float(project.supply.frequency or 0.0),
        inductance=float(fixed.motor.series_winding().inductance(0.0)) if series else fixed.motor.armature_inductance,
        resistance=float(model.resistance[index] + model.source_resistance[index] + model.on_slope[index]),
        speed_resistance=fixed.motor.curve.initial_slope * float(points.speed[index]) if series else 0.0,
        opposing_voltage=float(model.back[index] + model.on_threshold[index]),
        latching_current=device["latching_current"], earliest_angle=setting, latest_angle=setting,
        guard=guard_time(project), edge_error=detector(project).error, mode=project.circuit.gate or "train",
        pulse=project.circuit.gate_pulse)
