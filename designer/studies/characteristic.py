"""Speed against the setting, and load against speed with the setting held, with their bands."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from designer.circuits.case import friction_and_load
from designer.circuits.triac_series import TriacSeries
from designer.results import Array, Characteristic, Curve, Quantity
from designer.studies.rows import LOAD_STEPS, STEP_ANGLE, STEP_KELVIN, STEP_SHARE
from designer.studies.survey import Survey

COARSE = 1e-3        # of torque, for plots
ANGLES, SPEEDS = 33, 27


def characteristic(circuit: TriacSeries, found: Survey) -> Characteristic:
    """Give the plots' curves by inverting a map of torque over angle and speed, and exact figures."""
    return Characteristic(
        setting_name="firing angle", setting_unit="rad",
        curves=_speed_curves(circuit, found), load_curves=_load_curves(circuit, found),
        figures=_figures(circuit, found),
    )


def _speed_curves(circuit: TriacSeries, found: Survey) -> tuple[Curve, ...]:
    """Output speed against firing angle: no load and full load at nominal mains, full load at both ends."""
    fixed = replace(found.fixed, tolerance=COARSE)
    low, high = circuit.setting_range(fixed)
    angles = np.linspace(max(found.lost_below[1] - 0.3, low), high, ANGLES)
    top = 1.03 * float(np.max(found.free.points.speed[np.isfinite(found.free.points.speed)]))
    speeds = top * np.linspace(0.0, 1.0, SPEEDS) ** 1.5
    speeds[0] = 1e-3      # a hair above rest, so that friction counts
    grid_angle, grid_speed = (g.ravel() for g in np.meshgrid(angles, speeds, indexing="ij"))
    states = found.held.points[np.repeat(np.arange(3), grid_angle.size)]
    points = states.at(setting=np.tile(grid_angle, 3), speed=np.tile(grid_speed, 3))
    solved = circuit.solve(fixed, points)
    free = solved.torque - solved.iron_torque
    curves = []
    for index, load in ((1, 0.0), (1, 1.0), (0, 1.0), (2, 1.0)):
        friction, asked = friction_and_load(fixed, points.scaled(load=load))
        surplus = (free - friction - asked).reshape(3, ANGLES, SPEEDS)[index]
        name = f"{'full' if load else 'no'} load, {('low', 'nominal', 'high')[index]} mains"
        curves.append(Curve(name=name, x=angles, y=_crossing(surplus, speeds) / fixed.load.ratio))
    return tuple(curves)


def _crossing(surplus: Array, speeds: Array) -> Array:
    """The speed at which each row of surplus torque falls through zero; 0 where it never is above it."""
    found = np.zeros(len(surplus))
    for row, values in enumerate(surplus):
        below = np.flatnonzero((values[:-1] > 0) & (values[1:] <= 0))
        if values[-1] > 0:
            found[row] = speeds[-1]
        elif below.size:
            j = int(below[-1])
            share = values[j] / (values[j] - values[j + 1])
            found[row] = speeds[j] + share * (speeds[j + 1] - speeds[j])
    return found


def _load_curves(circuit: TriacSeries, found: Survey) -> tuple[Curve, ...]:
    """Output torque against output speed with the setting held, at the three mains, and the load's own line."""
    fixed = replace(found.fixed, tolerance=COARSE)
    load = fixed.load
    top = 1.03 * float(np.max(found.free.points.speed[: len(LOAD_STEPS)]))
    speeds = np.linspace(1e-3, top, 61)
    points = found.held.points[np.repeat(np.arange(3), speeds.size)].at(speed=np.tile(speeds, 3))
    solved = circuit.solve(fixed, points)
    friction, _ = friction_and_load(fixed, points)
    torque = (solved.torque - solved.iron_torque - friction) * load.ratio * load.efficiency
    curves = [Curve(name=name, x=speeds / load.ratio, y=values) for name, values in zip(
        ("low mains", "nominal mains", "high mains"), torque.reshape(3, speeds.size), strict=True)]
    output = speeds / load.ratio
    curves.append(Curve(name="the load", x=output, y=load.at_output(output)))
    return tuple(curves)


def _figures(circuit: TriacSeries, found: Survey) -> dict[str, Quantity]:
    """Slope and sensitivities at the target by central differences, and the ends of the usable range."""
    fixed, base = found.fixed, found.held.points[[1]]
    speed = found.probes.points.speed / fixed.load.ratio
    low, high = circuit.setting_range(fixed)
    # the largest angle at which the motor still starts with its load: torque at rest against it
    angles = np.linspace(low, high, 91)
    rest = base[np.zeros(angles.size, int)].at(setting=angles, speed=np.zeros(angles.size))
    needed = fixed.motor.friction_torque + float(fixed.load.at_motor(0.0))
    starts = angles[circuit.solve(replace(fixed, tolerance=COARSE), rest).torque > needed]
    figures = {
        "speed_per_setting": Quantity(float(speed[1] - speed[0]) / (2 * STEP_ANGLE), "1/s"),
        "speed_per_load_percent": Quantity(float(speed[3] - speed[2]) / (200 * STEP_SHARE), "rad/s"),
        "speed_per_mains_percent": Quantity(float(speed[5] - speed[4]) / (200 * STEP_SHARE), "rad/s"),
        "speed_per_kelvin": Quantity(float(speed[7] - speed[6]) / (2 * STEP_KELVIN), "rad/s/K"),
        "smallest_angle_at_stall": Quantity(found.lost_below[0], "rad"),
        "smallest_angle_at_speed": Quantity(found.lost_below[1], "rad"),
        "largest_angle": Quantity(high, "rad"),
    }
    if starts.size:
        figures["largest_angle_that_starts"] = Quantity(float(starts[-1]), "rad")
    return figures
