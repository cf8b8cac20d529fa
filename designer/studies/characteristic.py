"""Speed against the setting, and load against speed with the setting held, with their bands."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Circuit, Points, friction_and_load
from designer.project.kinds import CIRCUIT_KINDS
from designer.results import Array, Characteristic, Curve, Quantity
from designer.studies.rows import LOAD_STEPS, STEP_KELVIN, STEP_SHARE, UNLOADED
from designer.studies.sides import control
from designer.studies.survey import Survey

COARSE = 1e-3        # of torque, for plots
ANGLES, SPEEDS = 33, 27


def characteristic(circuit: Circuit, found: Survey) -> Characteristic:
    """Give the plots' curves by inverting a map of torque over angle and speed, and exact figures."""
    return Characteristic(
        setting_name=circuit.setting.replace("_", " "), setting_unit=_unit(circuit),
        curves=_speed_curves(circuit, found), load_curves=_load_curves(circuit, found),
        figures=_figures(circuit, found),
    )


def _speed_curves(circuit: Circuit, found: Survey) -> tuple[Curve, ...]:
    """Output speed against the setting: no load and full load at nominal mains, full load at both ends."""
    if found.fixed.chopping is not None:
        return _found_speeds(circuit, found)
    fixed = replace(found.fixed, tolerance=COARSE)
    angles = np.linspace(*control(CIRCUIT_KINDS[circuit.name]).span(found), ANGLES)
    ends = np.array([*found.free.points.speed, *(c.speed for c in found.unloaded if c.name in UNLOADED)])
    top = 1.03 * float(np.max(ends[np.isfinite(ends)]))
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
        curves.append(Curve(name=_name(found, index, load), x=angles, y=_crossing(surplus, speeds) / fixed.load.ratio))
    return tuple(curves)


def _found_speeds(circuit: Circuit, found: Survey) -> tuple[Curve, ...]:
    """The same curves by finding every speed: where the current has a closed form that costs less than a map."""
    fixed, settings = replace(found.fixed, tolerance=COARSE), np.linspace(
        *control(CIRCUIT_KINDS[circuit.name]).span(found), ANGLES)
    rows = ((1, 0.0), (1, 1.0), (0, 1.0), (2, 1.0))
    points = Points.joined([
        replace(found.held.points[np.full(ANGLES, index)], setting=settings, load=np.full(ANGLES, load))
        for index, load in rows])
    speed = np.nan_to_num(find_speed(circuit, fixed, points), nan=0.0).reshape(len(rows), ANGLES)
    return tuple(Curve(name=_name(found, index, load), x=settings, y=values / fixed.load.ratio)
                 for (index, load), values in zip(rows, speed, strict=True))


def _name(found: Survey, index: int, load: float) -> str:
    return f"{'full' if load else 'no'} load, {_supplies(found)[index]}"


def _supplies(found: Survey) -> tuple[str, ...]:
    """The three supply voltages as curves name them."""
    word = "mains" if found.fixed.feed.alternating else "supply"
    return tuple(f"{which} {word}" for which in ("low", "nominal", "high"))


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


def _load_curves(circuit: Circuit, found: Survey) -> tuple[Curve, ...]:
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
        _supplies(found), torque.reshape(3, speeds.size), strict=True)]
    output = speeds / load.ratio
    curves.append(Curve(name="the load", x=output, y=load.at_output(output)))
    return tuple(curves)


def _figures(circuit: Circuit, found: Survey) -> dict[str, Quantity]:
    """Slope and sensitivities at the target by central differences, and what the control tells of its range."""
    speed = found.probes.points.speed / found.fixed.load.ratio
    setting = found.probes.points.setting
    return {
        "speed_per_setting": Quantity(
            float((speed[1] - speed[0]) / (setting[1] - setting[0])), "1/s" if _unit(circuit) == "rad" else "rad/s"),
        "speed_per_load_percent": Quantity(float(speed[3] - speed[2]) / (200 * STEP_SHARE), "rad/s"),
        "speed_per_mains_percent": Quantity(float(speed[5] - speed[4]) / (200 * STEP_SHARE), "rad/s"),
        "speed_per_kelvin": Quantity(float(speed[7] - speed[6]) / (2 * STEP_KELVIN), "rad/s/K"),
        **control(CIRCUIT_KINDS[circuit.name]).figures(found),
    }


def _unit(circuit: Circuit) -> str:
    """The unit of the setting."""
    return {"firing_angle": "rad", "duty": "1", "field_current": "A"}[circuit.setting]
