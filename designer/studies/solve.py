"""One operating point of a project: two of speed, load and control setting give the third."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from designer.circuits import circuit
from designer.circuits.balance import find_setting, find_speed, refined
from designer.circuits.case import Chopping, Circuit, Fixed, Points
from designer.errors import InputError
from designer.motor.model import MotorModel, load_model, motor_model
from designer.project import require
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import OperatingPoint, Quantity, Warning_
from designer.studies.feeds import drop_of, feed_of
from designer.studies.field_supplies import RECTIFIED, ahead, field_of, needed_mean
from designer.studies.fitted import completed
from designer.studies.from_readings import told_point
from designer.studies.ripple import rippling_point, swinging
from designer.waveforms.phase_control import Gate

TOLERANCE = 1e-7     # of r.m.s. current and torque at a single point
BRAKES = 1e-6        # of the torque: less than that is what the search leaves, and no load that drives


def solve(project: Project) -> OperatingPoint:
    """Solve the project's operating point, windings at their running temperature (else as read).

    Raises ``InputErrors`` where keys are missing, too many, or of another circuit. A point that cannot
    be reached comes back as the nearest that can, with ``reached`` false and a warning that says so.
    """
    require(project, "solve")
    project, read = completed(project, "solve")
    if not CIRCUIT_KINDS[str(project.circuit.kind)].drives_motor:
        from designer.studies.supply_only import solve_supply

        return told_point(solve_supply(project), read)
    kind = circuit(str(project.circuit.kind))
    fixed = fixed_of(project)
    motor = project.motor
    read_at = fixed.motor.winding_temperature
    armature, field = fixed.motor.resistances(*(
        read_at if told is None else told for told in (motor.armature_temperature, motor.field_temperature)))
    speed = (project.target.speed or 0.0) * fixed.load.ratio
    points = Points.of(fixed, {
        "voltage": project.supply.voltage, "frequency": project.supply.frequency,
        "setting": getattr(project.circuit, kind.setting) or 0.0, "speed": speed,
        "armature_resistance": armature, "field_resistance": field,
    })
    points, reached, note = unknown_found(kind, fixed, points, project)
    if project.circuit.speed_ripple and reached and fixed.chopping is not None:
        point = swinging(kind.operating_point(kind.solve(fixed, points)), fixed)
    elif project.circuit.speed_ripple and reached:
        point = rippling_point(kind, fixed, points, unknown=_unknown(project), load_given=project.load.is_given)
    else:
        point = kind.operating_point(kind.solve(fixed, points))
    notes = (*note, *_weak_field(project, points), *reading_notes(project, fixed.motor, point),
             *_meters(kind, fixed, points, project))
    return told_point(finish(point, fixed, points, reached=reached, notes=notes), read)


def _meters(kind: Circuit, fixed: Fixed, points: Points, project: Project) -> tuple[Warning_, ...]:
    """The file's meter readings turned round; nothing is loaded where it has none."""
    if not project.meter_readings:
        return ()
    from designer.studies.meter_own import turned_round

    return turned_round(kind, fixed, points, project)


def _weak_field(project: Project, points: Points) -> tuple[Warning_, ...]:
    """A field supply too low for the field current asked for."""
    supply, current = project.field_supply, float(points.field_current[0])
    found = None if supply is None else ahead(project, supply)
    if found is None or supply is None or not math.isfinite(current):
        return ()
    needed = needed_mean(project, current, float(points.field_resistance[0]))
    if needed is None or found.most >= needed * (1 - 1e-9):
        return ()
    told = f"{engineering(found.most, 'V')}" + (
        " (mean of its rectifier, without load)" if supply.kind in RECTIFIED else "")
    return (Warning_(
        code="field-supply", message=f"A field supply of {told} cannot drive {engineering(current, 'A')} through the "
        f"field: that takes {engineering(needed, 'V')} at this temperature."),)


def _unknown(project: Project) -> str:
    if project.target.speed is None:
        return "speed"
    return "setting" if project.load.is_given else "load"


def fixed_of(project: Project) -> Fixed:
    """Gather what all points of a study share, from the project file; devices that it does not give are ideal."""
    supply, given, parts = project.supply, project.circuit, project.parts
    kind = CIRCUIT_KINDS[str(given.kind)]
    omega = 2 * math.pi * (supply.frequency or 0.0)
    pulse = omega * _known(given.gate_pulse) if given.gate == "pulse" else math.inf
    latching = (parts.switch.latching_current or 0.0) if parts.switch else 0.0
    return Fixed(
        motor=motor_model(project.motor, alternating=kind.line == "phase-cut",
                          series_inductance=series_inductance(project)),
        load=load_model(project.load, project.transmission),
        feed=feed_of(project), switch=drop_of(parts.switch), freewheel=drop_of(parts.freewheel),
        gate=Gate(pulse=pulse, guard=omega * (given.gate_guard or 0.0), latching=latching),
        chopping=Chopping(frequency=given.switching_frequency) if kind.chops and given.switching_frequency else None,
        field=field_of(project) if kind.winding == "separate" and kind.setting != "field_current" else None,
        field_floor=given.field_floor or 0.0,
        freewheeling=freewheels(project), bridge=bridge_of(project), tolerance=TOLERANCE,
    )


def freewheels(project: Project) -> bool:
    """Whether a freewheel diode stands across the motor of a rectifier on phase angle.

    As the file says. Where it does not: none on half-wave; always one on bridges, but in the one-leg form, whose other
    leg free-wheels, only where the file gives such a diode.
    """
    if project.circuit.freewheel is not None:
        return project.circuit.freewheel
    if CIRCUIT_KINDS[str(project.circuit.kind)].line != "bridge":
        return False
    return bridge_of(project) != "one-leg" or project.parts.freewheel is not None


def bridge_of(project: Project) -> str:
    """How the bridge is made up: as the file says, else common cathode, or four diodes for a series motor."""
    series = CIRCUIT_KINDS[str(project.circuit.kind)].winding == "series"
    return project.circuit.bridge or ("diodes-thyristor" if series else "common-cathode")


def series_inductance(project: Project) -> float | None:
    """Give the inductance (H) of both windings in series, from a standstill a.c. reading of them, if any.

    Z = V/I; the resistance is that of the reading's power where it was read, else of the windings.
    """
    motor = project.motor
    for reading in project.readings:
        if reading.kind == "standstill-ac" and getattr(reading, "winding", None) == "series":
            impedance = reading.voltage / reading.current
            resistance = (reading.power / reading.current**2 if reading.power else
                          _known(motor.armature_resistance) + _known(motor.field_resistance))
            return math.sqrt(max(impedance**2 - resistance**2, 0.0)) / (2 * math.pi * reading.frequency)
    return None


def unknown_found(
    kind: Circuit, fixed: Fixed, points: Points, project: Project
) -> tuple[Points, bool, tuple[Warning_, ...]]:
    """Find the one of speed, load and setting that the file leaves out."""
    speed_given, load_given = project.target.speed is not None, project.load.is_given
    if speed_given and not load_given:
        return points, True, ()
    if not speed_given:
        speed = find_speed(kind, fixed, points)
        if math.isnan(speed[0]):
            raise InputError(
                "load", "a load under which the speed has no end", "a load or friction that grows with speed",
                "A series motor without load runs away: give friction_torque, windage or a load.",
            )
        if speed[0] > 0 and fixed.feed.reservoir is not None:
            return refined(kind, fixed, points.at(speed=speed), unknown="speed"), True, ()
        note = () if speed[0] > 0 else (Warning_(
            code="no-start", message="The torque at rest does not overcome friction and load: the motor stands."),)
        return points.at(speed=speed), True, note
    setting, lacking = find_setting(kind, fixed, points)
    if not math.isnan(setting[0]):
        points = points.at(setting=setting)
        settled = points if fixed.feed.reservoir is None else refined(kind, fixed, points, unknown="setting")
        return settled, True, ()
    return _nearest(kind, fixed, points, float(lacking[0]))


def _nearest(kind: Circuit, fixed: Fixed, points: Points, lacking: float) -> tuple[Points, bool, tuple[Warning_, ...]]:
    """The point at full output with the load as given, and how far it falls short."""
    if lacking > 0 and kind.setting == "field_current":
        return _slowest(kind, fixed, points)
    if lacking > 0:
        raise InputError(
            "load", engineering(float(fixed.load.at_output(points.speed[0] / fixed.load.ratio)), "N*m"),
            "a load that the motor drives", "This one drives the motor: braking is not what the circuit can do.",
        )
    most = points.at(setting=np.full(len(points), kind.setting_range(fixed)[0]))
    speed = find_speed(kind, fixed, most)
    wanted = float(points.speed[0]) / fixed.load.ratio
    message = (
        f"{shown(wanted, 'rad/s')} cannot be reached with this load: at full output the torque is "
        f"{engineering(-lacking * fixed.load.ratio * fixed.load.efficiency, 'N*m')} short there. "
        f"With the load, full output settles at {shown(float(speed[0]) / fixed.load.ratio, 'rad/s')}; shown is that "
        "point."
    )
    return most.at(speed=speed), False, (Warning_(code="not-reachable", message=message),)


def _slowest(kind: Circuit, fixed: Fixed, points: Points) -> tuple[Points, bool, tuple[Warning_, ...]]:
    """The point at the strongest field: a motor whose speed the field sets goes no slower."""
    least = points.at(setting=np.full(len(points), kind.setting_range(fixed)[1]))
    speed = find_speed(kind, fixed, least)
    wanted, turns = (shown(float(value) / fixed.load.ratio, "rad/s") for value in (points.speed[0], speed[0]))
    message = (f"{wanted} cannot be reached: at the strongest field the motor still turns at {turns} with this load; "
               "shown is that point. A lower armature supply, or a chopper in the armature.")
    return least.at(speed=speed), False, (Warning_(code="not-reachable", message=message),)


def finish(
    point: OperatingPoint, fixed: Fixed, points: Points, *, reached: bool, notes: tuple[Warning_, ...]
) -> OperatingPoint:
    """Add what only the study knows: whether the point was reached, and its own warnings."""
    overhauling: tuple[Warning_, ...] = ()
    if point["shaft_torque"] < -max(1e-9, BRAKES * abs(point["electromagnetic_torque"])) and reached:
        overhauling = (Warning_(
            code="overhauling", message="At this setting and speed the motor brakes: "
            f"{engineering(point['shaft_torque'], 'N*m')} at the shaft. Only an overhauling load would hold this "
            "point.",
        ),)
        reached = False
    temperatures = {
        "armature_resistance": Quantity(float(points.armature_resistance[0]), "ohm"),
        "field_resistance": Quantity(float(points.field_resistance[0]), "ohm"),
    }
    return replace(point, quantities={**point.quantities, **temperatures}, reached=reached,
                   warnings=(*point.warnings, *notes, *overhauling))


def reading_notes(project: Project, motor: MotorModel, point: OperatingPoint) -> tuple[Warning_, ...]:
    """Tell what the readings say of the inductances: brush shift, and saturation that none of them confirms."""
    return (*_brush_shift(motor), *_not_measured(project, motor, point))


def _brush_shift(motor: MotorModel) -> tuple[Warning_, ...]:
    departs = motor.brush_shift
    if departs is None:
        return ()
    return (Warning_(
        code="brush-shift",
        message=f"Both windings in series read {100 * departs:+.0f} % against the sum of the two: the brushes stand "
        "off the neutral. The series reading is used.",
    ),)


def _not_measured(project: Project, motor: MotorModel, point: OperatingPoint) -> tuple[Warning_, ...]:
    """Tell where the curve alone takes off more than half of the field inductance and no reading says so."""
    if not motor.saturating or CIRCUIT_KINDS[point.circuit].winding != "series":
        return ()
    current = point["armature_current_rms"]
    winding = motor.series_winding()
    left = float(winding.inductance(current)) - winding.constant + motor.field_leakage
    near = any(
        reading.kind == "standstill-ac" and 0.5 * current <= reading.current <= 2 * current
        for reading in project.readings
    )
    if left >= 0.5 * motor.field_inductance or near:
        return ()
    return (Warning_(
        code="not-measured",
        message=f"At {engineering(current, 'A')} the flux curve alone takes the field inductance from "
        f"{engineering(motor.field_inductance, 'H')} to {engineering(left, 'H')}, and no standstill a.c. reading near "
        "that current confirms it: take one.",
    ),)


def _known(value: Any) -> float:
    if value is None:
        raise ValueError("require() must be asked first")
    return float(value)


