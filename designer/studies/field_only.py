"""The field winding alone on a chopper: one point for ``solve``, and what ``design`` begins with."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from designer.circuits.field_chopper import CIRCUIT, FieldPoints, FieldSolution
from designer.circuits.field_path import NO_CURVE, FieldCell
from designer.equations.motor import COPPER_RESISTANCE
from designer.motor.flux import FluxCurve, Winding
from designer.motor.model import KELVIN, LEAKAGE_SHARE
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import OperatingPoint, Warning_
from designer.studies.feeds import drop_of, feed_of

TOLERANCE = 1e-8      # of current and its square at a single point
SATURATES_FROM = 3    # points of a curve; as everywhere


def winding_of(project: Project) -> Winding:
    """The field winding of the file; it saturates where a curve of three points or more says how."""
    motor = project.motor
    whole = float(motor.field_inductance or 0.0)
    points = tuple(motor.flux_curve or ())
    follows = len(points) >= SATURATES_FROM if motor.saturating_inductance is None else motor.saturating_inductance
    if not follows or not points:
        return Winding(curve=NO_CURVE, constant=whole, main=0.0)
    leakage = motor.field_leakage_inductance
    leakage = LEAKAGE_SHARE * whole if leakage is None else leakage
    return Winding(curve=FluxCurve.from_points(points), constant=leakage, main=whole - leakage)


def cell_of(project: Project, *, frequency: float, tolerance: float = TOLERANCE) -> FieldCell:
    """Transistor, diode and winding of the file; devices that it does not give are ideal."""
    return FieldCell(switch=drop_of(project.parts.switch), freewheel=drop_of(project.parts.freewheel),
                     frequency=frequency, winding=winding_of(project), tolerance=tolerance)


def resistance_at(project: Project, celsius: float | None) -> float:
    """Ohm of the winding at a temperature (°C); as read where none is given, or none was read with it."""
    motor = project.motor
    read = float(motor.field_resistance or 0.0)
    if celsius is None or motor.winding_temperature is None:
        return read
    return float(COPPER_RESISTANCE(R_ref=read, T=celsius + KELVIN, T_ref=motor.winding_temperature + KELVIN))


def solve_field(project: Project) -> OperatingPoint:
    """Solve the point at the duty of the file, or at the duty that gives its field current.

    A current that the supply cannot give comes back as the fully driven one, not ``reached``, with a warning.
    """
    given, supply = project.circuit, project.supply
    cell = cell_of(project, frequency=float(given.switching_frequency or 0.0))
    points = FieldPoints(
        voltage=np.array([float(supply.voltage or 0.0)]), frequency=np.array([float(supply.frequency or 0.0)]),
        duty=np.array([given.duty or 0.0]),
        resistance=np.array([resistance_at(project, project.motor.field_temperature)]))
    if given.field_current is None:
        return CIRCUIT.operating_point(CIRCUIT.solve(feed_of(project), cell, points, exact="all"))
    solved = CIRCUIT.holding(feed_of(project), cell, points, np.array([given.field_current]), exact="all")
    return _told(CIRCUIT.operating_point(solved), solved, given.field_current)


def _told(point: OperatingPoint, solved: FieldSolution, wanted: float) -> OperatingPoint:
    found = float(solved.current.mean[0])
    if found >= wanted * (1 - 1e-6):
        return point
    message = (f"A field current of {engineering(wanted, 'A')} cannot be reached: fully on, this supply drives "
               f"{engineering(found, 'A')} through the winding; shown is that point.")
    return replace(point, reached=False,
                   warnings=(*point.warnings, Warning_(code="not-reachable", message=message)))
