"""An operating point with the speed moving over the cycle, from the one with the speed held still."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from scipy.optimize import brentq

from designer.circuits.case import Circuit, Fixed, Points
from designer.circuits.periods import ORDERS, Period, Series
from designer.circuits.triac_point import operating_point
from designer.circuits.triac_series import TriacSolution
from designer.equations.motor import REFERRED_INERTIA
from designer.errors import InputError
from designer.results import Array, OperatingPoint, Quantity
from designer.waveforms.swing import Shaft, Swing, swing

CLOSE = 1e-7            # of setting (rad) and speed (share)
NEAR = 0.02             # first bracket about the still solution, likewise


def rippling_point(circuit: Circuit, fixed: Fixed, points: Points, *, unknown: str, load_given: bool) -> OperatingPoint:
    """Give the operating point with moving speed; ``unknown`` is ``"setting"``, ``"speed"`` or ``"load"``.

    ``points`` holds the solution with the speed still. Raises ``InputError`` where the inertia is too
    small for a periodic state.
    """
    if not points.speed[0] > 0:
        return circuit.operating_point(circuit.solve(fixed, points))
    shaft = _shaft(fixed, points, loaded=load_given)

    def at(some: Points) -> tuple[TriacSolution, Swing | None]:
        solved: TriacSolution = circuit.solve(fixed, some)
        try:
            return solved, swing(solved.paths[0], solved.winding, float(some.setting[0]), gate=fixed.gate, shaft=shaft,
                                 remanence=solved.remanence)
        except ArithmeticError:
            raise InputError(
                "motor.inertia", shaft.inertia, "an inertia with which the speed repeats from cycle to cycle",
                "Leave speed_ripple out, or check the inertia's unit.") from None

    if unknown == "setting":
        angle = _balanced(lambda x: _left(at(points.at(setting=np.array([x])))[1]), float(points.setting[0]), NEAR)
        points = points.at(setting=np.array([angle]))
    elif unknown == "speed":
        speed = float(points.speed[0])
        points = points.at(speed=np.array([_balanced(
            lambda x: _left(at(points.at(speed=np.array([x])))[1]), speed, NEAR * speed)]))
    solved, moving = at(points)
    return operating_point(solved) if moving is None else _told(solved, moving)


def swinging(point: OperatingPoint, fixed: Fixed) -> OperatingPoint:
    """A chopper's point with the speed moving over the period: J·dω/dt is torque less its mean, to first order.

    What the moving speed does to the current is of second order (the ripple is below a millionth at kilohertz).
    """
    time, torque = point.waveform["time"], point.waveform["torque"]
    inertia = _inertia(fixed)
    steps = 0.5 * (torque[1:] + torque[:-1]) * np.diff(time)
    given = np.concatenate([[0.0], np.cumsum(steps)])
    swing_ = (given - given[-1] * time / time[-1]) / inertia
    swing_ -= np.trapezoid(swing_, time) / time[-1]
    return replace(
        point, quantities={**point.quantities, "speed_ripple": Quantity(float(np.ptp(swing_)), "rad/s")},
        waveform={**point.waveform, "speed": point["speed"] + swing_})


def _left(found: Swing | None) -> float:
    return -math.inf if found is None else found.left


def _balanced(left: Callable[[float], float], start: float, reach: float) -> float:
    """Where the torque left over is zero, close to ``start``."""
    low, high = max(start - reach, 1e-9), start + reach
    for _ in range(6):
        ends = left(low), left(high)
        if ends[0] * ends[1] <= 0:
            return float(brentq(left, low, high, xtol=CLOSE * max(start, 1.0)))
        low, high = max(low - 2 * reach, 1e-9), high + 2 * reach
    return start


def _inertia(fixed: Fixed) -> float:
    """Inertia at the motor's shaft, kg·m², the load's referred to it."""
    if fixed.motor.inertia is None:
        raise InputError("motor.inertia", None, "a value", "speed_ripple moves the speed with the inertia.")
    return float(REFERRED_INERTIA(J_m=fixed.motor.inertia, J_load=fixed.load.inertia, u=fixed.load.ratio))


def _shaft(fixed: Fixed, points: Points, *, loaded: bool) -> Shaft:
    motor, load = fixed.motor, fixed.load
    share = float(points.load[0]) if loaded else 0.0
    return Shaft(
        inertia=_inertia(fixed),
        resisting=lambda speed, k: float(
            motor.friction(speed) + share * load.at_motor(speed) + motor.iron_torque(k, speed)),
    )


def _told(solved: TriacSolution, moving: Swing) -> OperatingPoint:
    """The still point with everything that the moving speed changes put in its place."""
    one, speed = _period(solved, moving)
    still = operating_point(solved, one=one, moving=speed, fourier=_series(one))
    watts = _powers(solved, moving, one, speed)
    changed = _currents(moving, one) | {name: Quantity(value, "W") for name, value in watts.items()}
    fixed, load, means = solved.fixed, solved.fixed.load, moving.means
    drawn = watts["input_power"]
    torque = means["torque"] - _mean(fixed.motor.friction(speed), one) - _mean(_irons(fixed, one, speed), one)
    apparent = math.sqrt(means["square"]) * float(solved.points.voltage[0])
    changed |= {
        "electromagnetic_torque": Quantity(means["torque"], "N*m"), "shaft_torque": Quantity(torque, "N*m"),
        "output_torque": Quantity(load.ratio * load.efficiency * torque, "N*m"),
        "speed": Quantity(means["speed"], "rad/s"), "output_speed": Quantity(means["speed"] / load.ratio, "rad/s"),
        "speed_ripple": Quantity(moving.speed_ripple, "rad/s"),
        "efficiency": Quantity(watts["shaft_power"] / drawn, "1"),
        "overall_efficiency": Quantity(watts["output_power"] / drawn, "1"),
        "apparent_power": Quantity(apparent, "V*A"), "power_factor": Quantity(drawn / apparent, "1"),
    }
    changed |= _angles(moving)
    if "armature_extinction_angle" in still.quantities:
        changed["armature_extinction_angle"] = changed["extinction_angle"]
    return replace(still, quantities={**still.quantities, **changed})


def _mean(values: Array, one: Period) -> float:
    return float(np.trapezoid(values, one.angle) / (2 * np.pi))


def _irons(fixed: Fixed, one: Period, speed: Array) -> Array:
    k = np.abs(one.odd + fixed.motor.remanent(one.on))
    return fixed.motor.iron_torque(k, speed)


def _powers(solved: TriacSolution, moving: Swing, one: Period, speed: Array) -> dict[str, float]:
    """Means over the period, W; the shaft's is what the rotor's is less iron and friction."""
    means, fixed = moving.means, solved.fixed
    absolute, square = means["current"], means["square"]
    watts = {
        "input_power": float(solved.paths[0].peak[0]) * means["drawn"], "source_loss": fixed.feed.resistance * square,
        "switch_loss": fixed.switch.threshold * absolute + fixed.switch.slope * square,
        "copper_loss_armature": float(solved.points.armature_resistance[0]) * square,
        "copper_loss_field": float(solved.points.field_resistance[0]) * square,
        "brush_loss": fixed.motor.brush_drop * absolute,
        "iron_loss": _mean(_irons(fixed, one, speed) * speed, one),
        "friction_loss": _mean(fixed.motor.friction(speed) * speed, one),
    }
    watts["shaft_power"] = means["power"] - watts["iron_loss"] - watts["friction_loss"]
    watts["output_power"] = fixed.load.efficiency * watts["shaft_power"]
    watts["transmission_loss"] = watts["shaft_power"] - watts["output_power"]
    return watts


def _currents(moving: Swing, one: Period) -> dict[str, Quantity]:
    low, high = float(np.min(one.current)), float(np.max(one.current))
    amperes = {"mean": _mean(one.current, one), "mean_absolute": moving.means["current"],
               "rms": math.sqrt(moving.means["square"]), "peak": max(high, -low), "min": low, "ripple": high - low}
    return {f"{where}_current_{what}": Quantity(value, "A") for where in ("armature", "field", "line", "switch")
            for what, value in amperes.items()}


def _angles(moving: Swing) -> dict[str, Quantity]:
    """Angles of the longest conduction, from the zero of its own half."""
    sign, start, end = max(moving.conductions, key=lambda c: c[2] - c[1])
    first = math.remainder(start - (0.0 if sign > 0 else math.pi), 2 * math.pi)
    return {"turn_on_angle": Quantity(first, "rad"), "extinction_angle": Quantity(first + end - start, "rad"),
            "conduction_angle": Quantity(end - start, "rad")}


def _period(solved: TriacSolution, moving: Swing) -> tuple[Period, Array]:
    """The nodes of the moving state on one period from 0 to 2π, both ends included."""
    turn = 2 * np.pi
    on = np.zeros(moving.angle.size)
    for sign, start, end in moving.conductions:
        on[(moving.angle >= start) & (moving.angle <= end)] = sign
    odd = np.where(on == 0, 0.0, moving.constant - solved.fixed.motor.remanent(on))
    columns = np.array((moving.angle, moving.current, odd, on, moving.speed))
    laps = np.concatenate([columns + np.array([[k * turn], [0], [0], [0], [0]]) for k in (-2, -1, 0, 1)], axis=1)
    laps = laps[:, np.argsort(laps[0], kind="stable")]
    inside = laps[:, (laps[0] > 0) & (laps[0] < turn)]
    ends = [np.array([[np.interp(at, laps[0], row)] for row in laps]) for at in (0.0, turn)]
    for edge in ends:
        at = float(edge[0, 0])
        edge[3] = laps[3, np.searchsorted(laps[0], at)]     # the sign is not interpolated
    angle, current, odd, on, speed = (np.asarray(x) for x in np.concatenate((ends[0], inside, ends[1]), axis=1))
    same = np.flatnonzero(np.diff(angle) <= 0) + 1
    angle[same] = np.nextafter(angle[same - 1], np.inf)
    return Period(angle=angle, current=current, odd=odd, on=on), speed


def _series(one: Period) -> Series:
    orders = np.arange(1, ORDERS + 1)[:, None]
    a, b = (np.asarray(np.trapezoid(one.current * wave(orders * one.angle), one.angle, axis=1) / np.pi)
            for wave in (np.cos, np.sin))
    return Series(mean=float(np.trapezoid(one.current, one.angle) / (2 * np.pi)), a=a, b=b)
