"""The setting and the temperatures that go with it: losses heat the windings, and they change the setting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.balance import find_setting, find_speed
from designer.circuits.case import Circuit, Fixed, Points, Solution
from designer.equations.motor import DUTY_FACTOR
from designer.errors import InputError
from designer.motor.warming import HIGHEST, Losses, Surroundings, Warm, settle, winding_path
from designer.project.model import Project
from designer.results import Array

LONGEST_TAU = 7200.0         # s, of a small motor: minutes to about two hours; common practice, no source
NODES = 5                    # temperatures at which each state is solved; between them a polynomial


@dataclass(frozen=True, kw_only=True)
class State:
    """Settled states, one entry a demand: setting, speed, winding temperatures (°C), and what they give.

    Where the file fixes running temperatures, the waveforms take those, and ``warm`` is what their losses
    bring: the class limit is held against that. ``taken`` are the temperatures of the waveforms.

    ``setting`` is nan where the demand cannot be met, ``lacking`` then the torque missing (N·m).
    """

    points: Points
    warm: Warm
    taken: Warm
    lacking: Array
    square: Array          # A², mean square of the armature current
    absolute: Array        # A, mean magnitude of the armature current
    field_square: Array    # A², mean square of the field current


@dataclass(frozen=True, kw_only=True)
class Thermal:
    """What the windings' temperatures follow from: where the heat goes (None where not read), ambient, fixed values."""

    surroundings: Surroundings | None
    ambient: float
    fixed_armature: float | None
    fixed_field: float | None
    as_read: float
    cold: float


def thermal_of(project: Project) -> Thermal:
    """Gather the thermal data; cold windings are at ``temperature_min``, else as read or ambient, the lower."""
    motor, ambient = project.motor, project.ambient
    armature, field = winding_path(motor, "armature"), winding_path(motor, "field")
    as_read = 20.0 if motor.winding_temperature is None else motor.winding_temperature
    cold = ambient.temperature_min
    both = motor.running_temperature
    return Thermal(
        surroundings=None if armature is None or field is None else Surroundings(
            ambient=ambient.counted_temperature, paths=(armature, field), duty=duty_share(project)),
        ambient=ambient.counted_temperature,
        fixed_armature=_first(motor.running_temperature_armature, both),
        fixed_field=_first(motor.running_temperature_field, both),
        as_read=as_read,
        cold=min(as_read, ambient.counted_temperature) if cold is None else cold,
    )


def duty_share(project: Project) -> float:
    """Share of the continuous temperature rise that the duty reaches; 1 where it is continuous.

    Raises ``InputError`` where a periodic duty lacks its times or the motor its time constant.
    """
    duty = project.duty
    if duty.kind == "continuous":
        return 1.0
    for key, value in (("duty.on_time", duty.on_time), ("duty.off_time", duty.off_time),
                       ("motor.thermal_time_constant", project.motor.thermal_time_constant)):
        if value is None:
            raise InputError(key, None, "a value", "A periodic duty is judged by its times and the winding's time "
                "constant.")
    at_rest = min(float(project.motor.thermal_time_constant or 0.0), LONGEST_TAU)
    running = at_rest / _quicker_running(project)
    return float(DUTY_FACTOR(t_on=duty.on_time, t_off=duty.off_time, tau_th=running, tau_off=at_rest))


def _quicker_running(project: Project) -> float:
    """How many times quicker the windings warm running than at rest: the larger of both, on the safe side."""
    motor, speed = project.motor, float(project.target.speed or 0.0) * project.ratio
    paths = [path for path in (winding_path(motor, "armature"), winding_path(motor, "field")) if path is not None]
    return max((float(path.conductance(speed)) / path.standstill for path in paths), default=1.0)


def _first(*values: float | None) -> float | None:
    return next((value for value in values if value is not None), None)


def settled(
    circuit: Circuit, fixed: Fixed, thermal: Thermal, points: Points, *, held: bool
) -> State:
    """Find setting (or speed, where the setting is ``held``) and temperatures that agree.

    Every point is solved at ``NODES`` winding temperatures at once; the losses between them are a
    polynomial in the resistance, on which the temperatures settle; the state is solved again there.
    """
    count = len(points)
    find: Callable[[Points], tuple[Points, Array]] = (
        lambda some: _held(circuit, fixed, some)) if held else (lambda some: _found(circuit, fixed, some))
    warm = told = _given(thermal, count)
    if warm is None:
        warm, points = _settle(circuit, fixed, thermal, points, find)
    finite = replace(warm, armature=np.minimum(warm.armature, HIGHEST), field=np.minimum(warm.field, HIGHEST))
    armature, field = fixed.motor.resistances(finite.armature, finite.field)
    at, lacking = find(replace(points, armature_resistance=armature, field_resistance=field).fed(fixed))
    good = np.isfinite(at.setting) & np.isfinite(at.speed)
    solved = circuit.solve(fixed, replace(at, setting=np.where(good, at.setting, circuit.setting_range(fixed)[1]),
                                          speed=np.where(good, at.speed, 0.0)))
    if told is not None and thermal.surroundings is not None:
        warm = _judged(fixed, thermal.surroundings, solved, at.speed)
    return State(points=at, warm=warm, taken=finite, lacking=lacking,
                 square=np.where(good, solved.armature_square, np.nan),
                 absolute=np.where(good, solved.armature_absolute, np.nan),
                 field_square=np.where(good, solved.field_square, np.nan))


def _judged(fixed: Fixed, surroundings: Surroundings, solved: Solution, speed: Array) -> Warm:
    """Where the file fixes the temperatures of the waveforms: those that its currents would bring all the same."""
    iron = np.asarray(solved.iron_torque * np.nan_to_num(speed))
    losses = Losses(square=solved.armature_square, absolute=solved.armature_absolute, field_square=solved.field_square,
                    iron=iron, speed=np.nan_to_num(speed))
    return settle(fixed.motor, surroundings, lambda *_: losses, len(speed))


def _given(thermal: Thermal, count: int) -> Warm | None:
    """The temperatures where the file fixes them, or nothing to find them by is known."""
    armature, field = thermal.fixed_armature, thermal.fixed_field
    if thermal.surroundings is None:
        armature = thermal.as_read if armature is None else armature
        field = thermal.as_read if field is None else field
    if armature is None or field is None:
        return None
    return Warm(armature=np.full(count, armature), field=np.full(count, field))


def _found(circuit: Circuit, fixed: Fixed, points: Points) -> tuple[Points, Array]:
    setting, lacking = find_setting(circuit, fixed, points)
    return points.at(setting=setting), lacking


def _held(circuit: Circuit, fixed: Fixed, points: Points) -> tuple[Points, Array]:
    return points.at(speed=find_speed(circuit, fixed, points)), np.zeros(len(points))


def _settle(
    circuit: Circuit, fixed: Fixed, thermal: Thermal, points: Points,
    find: Callable[[Points], tuple[Points, Array]],
) -> tuple[Warm, Points]:
    """The temperatures, and the points with setting and speed close to what belongs to them.

    A series field is as warm as the armature at every node. A field fed apart finds its own temperature first;
    then once more at the speed that was found, where that is another.
    """
    assert thermal.surroundings is not None
    if fixed.field is None:
        return _through_nodes(circuit, fixed, thermal, points, find=find)
    for _ in range(2):
        before, alone = points.speed, field_alone(fixed, thermal.surroundings, points)
        warm, points = _through_nodes(circuit, fixed, thermal, points, find=find, field=alone)
        if np.allclose(points.speed, before, rtol=1e-9, atol=0.0, equal_nan=True):
            break
    return warm, points


def field_alone(fixed: Fixed, surroundings: Surroundings, points: Points) -> Array:
    """The steady temperature (°C) of a field fed apart, at the points' speeds; at most ``HIGHEST``."""
    assert fixed.field is not None
    feed, nothing, speed = fixed.field, np.zeros(len(points)), np.nan_to_num(points.speed)
    warm = settle(fixed.motor, surroundings, lambda _, field: Losses(
        square=nothing, absolute=nothing, field_square=feed.current(field, points.voltage) ** 2, iron=nothing,
        speed=speed), len(points))
    return np.minimum(warm.field, HIGHEST)


def _through_nodes(
    circuit: Circuit, fixed: Fixed, thermal: Thermal, points: Points, *,
    find: Callable[[Points], tuple[Points, Array]], field: Array | None = None,
) -> tuple[Warm, Points]:
    """Solve at ``NODES`` armature temperatures, and settle on the polynomials between them.

    ``field``: the temperatures (°C) of a field fed apart; a series field is as warm as the armature at each node.
    """
    count, shape = len(points), (len(points), NODES)
    assert thermal.surroundings is not None
    low = min(thermal.cold, thermal.ambient)
    nodes = np.tile(low + (HIGHEST - low) * np.linspace(0.0, 1.0, NODES) ** 1.5, count)
    each = np.repeat(np.arange(count), NODES)
    armature, winding = fixed.motor.resistances(nodes, nodes if field is None else field[each])
    many, _ = find(replace(points[each], armature_resistance=armature, field_resistance=winding).fed(fixed))
    good = np.isfinite(many.setting) & np.isfinite(many.speed)
    least = circuit.setting_range(fixed)[1]
    safe = replace(many, setting=np.where(good, many.setting, least), speed=np.where(good, many.speed, 0.0))
    solved: Solution = circuit.solve(fixed, safe)
    along = (armature + winding if field is None else armature).reshape(shape)
    held = good.reshape(shape)
    rows = {"square": solved.armature_square, "absolute": solved.armature_absolute, "field_square": solved.field_square,
            "iron": solved.iron_torque * safe.speed, "speed": safe.speed}
    fits = {name: [_fit(along[p], value.reshape(shape)[p], held[p]) for p in range(count)]
            for name, value in rows.items()}

    def losses(r_a: Array, r_f: Array) -> Losses:
        at = r_a + r_f if field is None else r_a
        found = {name: np.array([fit(r) for fit, r in zip(fits[name], at, strict=True)]) for name in fits}
        if fixed.field is not None:
            found["field_square"] = fixed.field.current(r_f, points.voltage) ** 2
        return Losses(**found)

    warm = settle(fixed.motor, thermal.surroundings, losses, count)
    r_a, r_f = fixed.motor.resistances(np.minimum(warm.armature, HIGHEST), np.minimum(warm.field, HIGHEST))
    near, guess = r_a + r_f if field is None else r_a, {}
    for name in ("setting", "speed"):
        values = getattr(many, name).reshape(shape)
        own = getattr(points, name)     # what no temperature reaches keeps the speed asked of it
        guess[name] = np.array([_fit(along[p], values[p], held[p])(near[p]) if held[p].any() else own[p]
                                for p in range(count)])
    return warm, points.at(**guess)


def _fit(x: Array, y: Array, good: Array) -> Callable[[float], float]:
    """The polynomial through the nodes that could be solved, held constant outside them."""
    if not good.any():
        return lambda _: 0.0
    low, high = float(x[good][0]), float(x[good][-1])
    middle, half = 0.5 * (low + high), max(0.5 * (high - low), 1e-12)
    coefficients = np.polynomial.polynomial.polyfit((x[good] - middle) / half, y[good], int(good.sum()) - 1)

    def value(r: float) -> float:
        return float(np.polynomial.polynomial.polyval((min(max(r, low), high) - middle) / half, coefficients))

    return value
