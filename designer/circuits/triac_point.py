"""All quantities and one period of waveforms of a single triac-series operating point."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from designer.circuits.case import friction_and_load
from designer.circuits.periods import HalfTrace, Period, Series, half_trace, period, series
from designer.circuits.triac_series import TriacSolution
from designer.equations.motor import OUTPUT_TORQUE
from designer.results import Array, OperatingPoint, Quantity, Warning_

Named = dict[str, Quantity | tuple[Quantity, ...]]


def operating_point(
    solved: TriacSolution, *, one: Period | None = None, moving: Array | None = None, fourier: Series | None = None,
) -> OperatingPoint:
    """Tell everything about the first point of ``solved``.

    Where the speed moves over the cycle, ``one`` is the period as it then runs, ``moving`` the speed on
    its angles (rad/s), ``fourier`` its line current; angles, currents and powers are still those of
    ``solved``.
    """
    halves = (
        half_trace(solved.paths[0], solved.winding, solved.state.positive),
        half_trace(solved.paths[1], solved.winding, solved.state.negative),
    )
    fourier = fourier or series(halves)
    wave = _waveform(solved, one or period(halves), solved.points.speed[0] if moving is None else moving)
    named = _angles(solved) | _currents(solved, wave) | _powers(solved, wave) | _mains(solved, fourier)
    return OperatingPoint(
        circuit="triac-series", quantities=named, waveform=wave, warnings=_warnings(solved, halves),
    )


def _angles(solved: TriacSolution) -> Named:
    state, half = solved.state, solved.main_half
    missed = bool(state.missed_positive[0] or state.missed_negative[0])
    continuous = bool(state.lost[0]) and not missed
    named: Named = {
        "firing_angle": Quantity(float(solved.points.setting[0]), "rad"),
        "continuous": Quantity(float(continuous), "1"),
        "misfire": Quantity(float(missed), "1"),
        "speed": Quantity(float(solved.points.speed[0]), "rad/s"),
        "output_speed": Quantity(float(solved.points.speed[0]) / solved.fixed.load.ratio, "rad/s"),
    }
    if np.isfinite(half.extinction[0]):
        start, end = float(half.turn_on[0]), float(half.extinction[0])
        path, omega = solved.paths[0], float(solved.paths[0].omega[0])
        kept = solved.remanence[0] if solved.fixed.motor.remanence == "keep" else 0.0
        step = abs(float(path.peak[0] * np.sin(end)) - kept * float(solved.points.speed[0]))
        named |= {
            "turn_on_angle": Quantity(start, "rad"),
            "extinction_angle": Quantity(end, "rad"),
            "conduction_angle": Quantity(end - start, "rad"),
            "turn_off_current_slope": Quantity(float(half.slope[0]) * omega, "A/s"),
            "reapplied_voltage": Quantity(step, "V"),
        }
        if not continuous:
            named["armature_extinction_angle"] = Quantity(end, "rad")
    return named


def _currents(solved: TriacSolution, wave: Mapping[str, Array]) -> Named:
    current = wave["line_current"]
    values = {
        "mean": float(solved.mean[0]),
        "mean_absolute": float(solved.mean_absolute[0]),
        "rms": float(solved.rms[0]),
        "peak": float(solved.peak[0]),
        "min": -float(solved.state.negative.crest[0]),
        "ripple": float(solved.state.positive.crest[0] + solved.state.negative.crest[0]),
    }
    if not current.any():
        values = dict.fromkeys(values, 0.0)
    return {
        f"{where}_current_{what}": Quantity(value, "A")
        for where in ("armature", "field", "line", "switch") for what, value in values.items()
    }


def _powers(solved: TriacSolution, wave: Mapping[str, Array]) -> Named:
    fixed, motor, load = solved.fixed, solved.fixed.motor, solved.fixed.load
    speed = float(solved.points.speed[0])
    square, absolute = float(solved.rms[0]) ** 2, float(solved.mean_absolute[0])
    torque, iron = float(solved.torque[0]), float(solved.iron_torque[0])
    friction = float(friction_and_load(fixed, solved.points)[0][0])
    shaft = torque - friction - iron
    output = float(OUTPUT_TORQUE(u=load.ratio, eta=load.efficiency, T_sh=shaft))
    watts = {
        "input_power": float(solved.input_power[0]),
        "source_loss": fixed.feed.resistance * square,
        "switch_loss": fixed.switch.threshold * absolute + fixed.switch.slope * square,
        "copper_loss_armature": float(solved.points.armature_resistance[0]) * square,
        "copper_loss_field": float(solved.points.field_resistance[0]) * square,
        "brush_loss": motor.brush_drop * absolute,
        "iron_loss": iron * speed,
        "friction_loss": friction * speed,
        "switching_loss": 0.0,
        "field_input_power": 0.0,
        "shaft_power": shaft * speed,
        "output_power": output * speed / load.ratio,
        "transmission_loss": shaft * speed - output * speed / load.ratio,
    }
    drawn = watts["input_power"]
    named: Named = {
        "electromagnetic_torque": Quantity(torque, "N*m"),
        "shaft_torque": Quantity(shaft, "N*m"),
        "output_torque": Quantity(output, "N*m"),
        "torque_ripple": Quantity(float(np.ptp(wave["torque"])), "N*m"),
        "speed_ripple": Quantity(0.0, "rad/s"),
        "efficiency": Quantity(watts["shaft_power"] / drawn if drawn else 0.0, "1"),
        "overall_efficiency": Quantity(watts["output_power"] / drawn if drawn else 0.0, "1"),
    }
    return named | {name: Quantity(value, "W") for name, value in watts.items()}


def _mains(solved: TriacSolution, fourier: Series) -> Named:
    rms, voltage = float(solved.rms[0]), float(solved.points.voltage[0])
    apparent = rms * voltage
    first = float(fourier.rms[0])
    rest = max(rms**2 - fourier.mean**2 - first**2, 0.0)
    drawn = float(solved.input_power[0])
    return {
        "apparent_power": Quantity(apparent, "V*A"),
        "power_factor": Quantity(drawn / apparent if apparent else 0.0, "1"),
        "displacement_factor": Quantity(fourier.displacement_factor, "1"),
        "line_current_distortion": Quantity(rest**0.5 / first if first else 0.0, "1"),
        "line_harmonics": tuple(Quantity(float(value), "A") for value in fourier.rms),
    }


def _waveform(solved: TriacSolution, one: Period, speed: Array) -> dict[str, Array]:
    fixed, motor = solved.fixed, solved.fixed.motor
    constant = one.odd + motor.remanent(one.on)
    source = float(solved.paths[0].peak[0]) * np.sin(one.angle)
    resistance = float(solved.paths[0].resistance[0])
    opposing = (motor.brush_drop + fixed.switch.threshold) * one.on + constant * speed
    inductance = solved.winding.inductance(one.current)
    slope = (source - resistance * one.current - opposing) / inductance * (one.on != 0)   # A/s
    terminal = source - fixed.feed.resistance * one.current - fixed.feed.inductance * slope
    drop = fixed.switch.threshold * one.on + fixed.switch.slope * one.current
    motor_voltage = np.where(one.on != 0, terminal - drop, constant * speed)
    armature = constant * speed + motor.brush_drop * one.on + motor.armature_inductance * slope
    armature += float(solved.points.armature_resistance[0]) * one.current
    return {
        "angle": one.angle,
        "source_voltage": source,
        "line_current": one.current,
        "motor_voltage": motor_voltage,
        "armature_voltage": armature,
        "armature_current": one.current,
        "field_current": one.current,
        "switch_voltage": terminal - motor_voltage,
        "switch_current": one.current,
        "torque": constant * one.current,
        "speed": np.broadcast_to(speed, one.angle.shape).astype(float),
    }


def _warnings(solved: TriacSolution, halves: tuple[HalfTrace, HalfTrace]) -> tuple[Warning_, ...]:
    from designer.quantities import engineering

    state, told = solved.state, []

    def say(code: str, message: str) -> None:
        told.append(Warning_(code=code, message=message))

    missed = bool(state.missed_positive[0]), bool(state.missed_negative[0])
    if all(missed):
        say("no-firing", "The triac never fires: the source does not rise above what opposes it inside the gate "
            "window, or the current does not reach the latching level in it.")
    elif any(missed):
        say("half-wave", "Only one half of each cycle conducts: "
            f"{engineering(abs(float(solved.mean[0])), 'A')} of direct current in the line.")
    if state.lost[0]:
        say("loss-of-control", "The current of one half still flows when the next is to be fired: "
            "the firing angle has no say, smaller angles change nothing.")
    if state.late[0]:
        say("late-firing", "The source has not yet risen above what opposes it at the firing angle: the triac turns "
            f"on at {engineering(float(solved.main_half.turn_on[0]), 'rad')} instead.")
    peak, last = float(solved.peak[0]), solved.fixed.motor.curve.last_current
    if peak > last:
        say("curve-exceeded", f"The current's peak of {engineering(peak, 'A')} lies beyond the last reading of the "
            f"flux curve at {engineering(last, 'A')}: the curve is continued there by rule, not by reading.")
    return tuple(told)
