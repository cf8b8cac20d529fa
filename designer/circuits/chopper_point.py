"""All quantities and one switching period of waveforms of a single operating point of a motor on a chopper."""

from __future__ import annotations

import numpy as np

from designer.circuits.bus_point import Named, feed_powers, line_currents, mains, shape
from designer.circuits.case import friction_and_load
from designer.circuits.on_bus import OnBus, Wave
from designer.equations.motor import OUTPUT_TORQUE
from designer.results import Array, OperatingPoint, Quantity, Warning_


def operating_point(solved: OnBus) -> OperatingPoint:
    """Tell everything about the first point of ``solved``."""
    wave = _waveform(solved)
    named = _setting(solved) | _currents(solved) | line_currents(solved.fixed.feed, solved.bus) | solved.more()
    named |= _powers(solved) | mains(solved.bus, float(solved.points.voltage[0]))
    return OperatingPoint(circuit=solved.circuit, quantities=named, waveform=wave, warnings=_warnings(solved))


def _setting(solved: OnBus) -> Named:
    one, loop = solved.current, solved.loop
    speed = float(solved.points.speed[0])
    named: Named = {
        "duty": Quantity(float(loop.on_time[0] / loop.period[0]), "1"),
        "switching_frequency": Quantity(1.0 / float(loop.period[0]), "Hz"),
        "continuous": Quantity(float(one.continuous[0]), "1"),
        "speed": Quantity(speed, "rad/s"),
        "output_speed": Quantity(speed / solved.fixed.load.ratio, "rad/s"),
        "bus_voltage_mean": Quantity(float(solved.bus.mean[0]), "V"),
    }
    if np.isfinite(one.extinction[0]):
        named["extinction_time"] = Quantity(float(one.extinction[0]), "s")
    if solved.bus.charged is not None:
        named["bus_voltage_valley"] = Quantity(float(solved.bus.valley[0]), "V")
        named["bus_voltage_crest"] = Quantity(float(solved.bus.crest[0]), "V")
    return named


def _currents(solved: OnBus) -> Named:
    one = solved.current
    peak, least = float(one.greatest[0]), float(one.least[0])
    on, off = bool(one.on_charge[0] > 0), bool(one.off_charge[0] > 0)
    through = not bool(solved.loop.off_time[0] > 0)     # never turned off: nothing falls to zero
    rows = {
        "armature": {"mean": one.mean[0], "rms": one.rms[0], "peak": peak, "min": least, "ripple": peak - least},
        "field": solved.field_shape(),
        "switch": {"mean": one.switch_mean[0], "rms": one.switch_rms[0], "peak": peak * on,
                   "min": least * through, "ripple": (peak - least * through) * on},
        "freewheel": {"mean": one.diode_mean[0], "rms": one.diode_rms[0], "peak": peak * off, "min": 0.0,
                      "ripple": peak * off},
    }
    named: Named = {f"{where}_current_{what}": Quantity(float(value) + 0.0, "A")   # no −0
                    for where, row in rows.items() for what, value in shape(row).items()}
    ripple = float(solved.switching_ripple[0])
    low = 0.0 if solved.bus.charged is None else float(solved.bus.charged.capacitor_rms[0])
    return named | {"capacitor_current_rms": Quantity(float(np.hypot(low, ripple)), "A")}


def _powers(solved: OnBus) -> Named:
    fixed, motor, load, one = solved.fixed, solved.fixed.motor, solved.fixed.load, solved.current
    points, speed = solved.points, float(solved.points.speed[0])
    torque, iron = float(solved.torque[0]), float(solved.iron_torque[0])
    friction = float(friction_and_load(fixed, points)[0][0])
    shaft = torque - friction - iron
    output = float(OUTPUT_TORQUE(u=load.ratio, eta=load.efficiency, T_sh=shaft))
    switch, diode, mean, beside = fixed.switch, fixed.freewheel, float(one.mean[0]), solved.more_losses()
    watts = feed_powers(fixed.feed, solved.bus, float(points.voltage[0])) | dict(solved.field_watts())
    watts |= {
        "switch_loss": float(switch.threshold * one.switch_mean[0] + switch.slope * one.switch_rms[0] ** 2) + beside[0],
        "freewheel_loss": float(diode.threshold * one.diode_mean[0] + diode.slope * one.diode_rms[0] ** 2) + beside[1],
        "copper_loss_armature": float(points.armature_resistance[0] * one.rms[0] ** 2),
        "brush_loss": motor.brush_drop * mean, "iron_loss": iron * speed, "friction_loss": friction * speed,
        "switching_loss": 0.0, "shaft_power": shaft * speed, "output_power": output * speed / load.ratio,
        "transmission_loss": shaft * speed - output * speed / load.ratio,
    }
    drawn = watts["input_power"] + watts.get("field_input_power", 0.0)
    named: Named = {
        "electromagnetic_torque": Quantity(torque, "N*m"), "shaft_torque": Quantity(shaft, "N*m"),
        "output_torque": Quantity(output, "N*m"),
        "torque_ripple": Quantity(solved.torque_ripple, "N*m"),
        "speed_ripple": Quantity(0.0, "rad/s"),
        "efficiency": Quantity(watts["shaft_power"] / drawn if drawn else 0.0, "1"),
        "overall_efficiency": Quantity(watts["output_power"] / drawn if drawn else 0.0, "1"),
    }
    return named | {name: Quantity(value, "W") for name, value in watts.items()}


def _waveform(solved: OnBus) -> dict[str, Array]:
    fixed, loop, points, wave = solved.fixed, solved.loop, solved.points, solved.wave()
    time, current, field, flux = _doubled(wave, at=float(loop.on_time[0]))
    bus, e = float(solved.bus.mean[0]), flux * float(points.speed[0])
    on = (time < float(loop.on_time[0])) | (float(loop.on_time[0]) >= float(loop.period[0]))
    flows = current > 0
    drop = fixed.switch.threshold + fixed.switch.slope * current
    back = -(fixed.freewheel.threshold + fixed.freewheel.slope * current)
    armature = np.where(on & flows, bus - drop, np.where(flows, back, e))
    full = np.ones_like(time)
    told = {
        "time": time, "bus_voltage": bus * full, "armature_voltage": armature, "motor_voltage": armature,
        "armature_current": current, "field_current": field,
        "switch_voltage": np.where(on & ~flows, bus - e, bus - armature), "switch_current": current * on,
        "freewheel_current": current * ~on, "torque": flux * current,
        "speed": float(points.speed[0]) * full,
    }
    if solved.bus.charged is None:
        told |= {"source_voltage": float(points.voltage[0]) * full,
                 "line_current": float(solved.taken[0]) * full}
    return told


def _doubled(wave: Wave, *, at: float) -> tuple[Array, ...]:
    """One more point a hair before the turn-off, where switch and diode change places: both sides of the jump."""
    rows = wave.time, wave.current, wave.field, wave.flux
    place = int(np.searchsorted(wave.time, at))
    if not 0 < place < len(wave.time) - 1:
        return rows
    before = np.nextafter(at, 0.0), *(row[place] for row in rows[1:])
    return tuple(np.insert(row, place, value) for row, value in zip(rows, before, strict=True))


def _warnings(solved: OnBus) -> tuple[Warning_, ...]:
    from designer.quantities import engineering

    told, one = [], solved.current
    curve, field = solved.fixed.motor.curve, solved.field_shape()["peak"]
    if not one.on_charge[0] > 0:
        told.append(Warning_(code="no-current", message="No current flows: the bus does not exceed what opposes it, "
                             "or the duty is zero."))
    elif not one.continuous[0]:
        told.append(Warning_(
            code="discontinuous", message="The armature current falls to zero in every period: the speed hangs far "
            "more on load and duty than with continuous current."))
    asked, held = float(solved.points.setting[0]), float(solved.loop.on_time[0] / solved.loop.period[0])
    if held < asked * (1 - 1e-9):
        told.append(Warning_(code="current-limit", message=f"The current limit shortens the duty from "
                             f"{engineering(asked, '1')} to {engineering(held, '1')}."))
    if field > curve.last_current:
        told.append(Warning_(
            code="curve-exceeded", message=f"The field current of {engineering(field, 'A')} lies beyond the last "
            f"reading of the flux curve at {engineering(curve.last_current, 'A')}: the curve is continued there by "
            "rule, not by reading."))
    return tuple(told)
