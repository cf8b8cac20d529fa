"""All quantities and one period of waveforms of a single operating point on a phase-controlled rectifier."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from designer.circuits.case import friction_and_load
from designer.circuits.on_bus import field_powers
from designer.circuits.rectified_solution import TURN, RectifiedSolution, stresses
from designer.circuits.rectified_warnings import warnings
from designer.equations.motor import OUTPUT_TORQUE
from designer.results import Array, OperatingPoint, Quantity
from designer.waveforms.rectified import FREEWHEEL, OFF, OVERLAP, SOURCE, Wave

Named = dict[str, Quantity | tuple[Quantity, ...]]


@dataclass(frozen=True, kw_only=True)
class Period:
    """The first point's period: its curves, k on their angles (V·s), and the line current's complex amplitudes (A).

    ``spectrum``: orders 0 to 40; the current is the real part of the sum of c_n·exp(−j·n·θ).
    """

    wave: Wave
    flux: Array
    spectrum: Array


def operating_point(solved: RectifiedSolution, one: Period, *, circuit: str) -> OperatingPoint:
    """Tell everything about the first point of ``solved``."""
    wave = _waveform(solved, one)
    named = _angles(solved) | _currents(solved) | _powers(solved, np.ptp(wave["torque"])) | _mains(solved, one)
    return OperatingPoint(circuit=circuit, quantities=named, waveform=wave, warnings=warnings(solved))


def _angles(solved: RectifiedSolution) -> Named:
    state, speed = solved.state, float(solved.points.speed[0])
    named: Named = {
        "firing_angle": Quantity(float(solved.points.setting[0]), "rad"),
        "continuous": Quantity(float(state.continuous[0]), "1"),
        "misfire": Quantity(float(state.missed[0]), "1"),
        "speed": Quantity(speed, "rad/s"),
        "output_speed": Quantity(speed / solved.fixed.load.ratio, "rad/s"),
    }
    start, end = float(state.turn_on[0]), float(state.extinction[0])
    if not np.isfinite(start):
        return named
    angles = {"turn_on_angle": start, "extinction_angle": end, "conduction_angle": end - start}
    if not state.continuous[0] and np.isfinite(state.armature_extinction[0]):
        angles["armature_extinction_angle"] = float(state.armature_extinction[0])
    if state.overlap_on[0] > 0:
        angles["turn_on_overlap_angle"] = float(state.overlap_on[0])
    if end > state.commutation[0]:
        angles["overlap_angle"] = end - float(state.commutation[0])
    return named | {name: Quantity(value, "rad") for name, value in angles.items()} | {
        "turn_off_current_slope": Quantity(float(state.slope[0]), "A/s"),
        "reapplied_voltage": Quantity(float(state.reapplied[0]), "V")}


def _currents(solved: RectifiedSolution) -> Named:
    state, seen = solved.state, {name: float(value[0]) for name, value in stresses(solved).items()}
    least, peak = float(state.least[0]), float(state.crest[0])
    rows = {"armature": (least, peak)}
    if solved.series:
        rows["field"] = rows["armature"]
        seen |= {f"field_current_{what}": seen[f"armature_current_{what}"] for what in ("mean", "rms")}
    else:
        field = float(solved.points.field_current[0])
        rows["field"] = field, field
        seen |= {"field_current_mean": field}
    crest = seen["line_current_peak"]
    rows["line"] = (0.0 if solved.form.pulses == 1 else -crest), crest
    for role, (shares, _) in solved.form.carries.items():
        always = shares[2] == 1.0       # it carries the motor's current whatever conducts
        rows[role] = (least if always else 0.0), seen[f"{role}_current_peak"]
    named: Named = {}
    for where, (low, high) in rows.items():
        values = {"mean": seen[f"{where}_current_mean"],
                  "mean_absolute": seen.get(f"{where}_current_mean_absolute", seen[f"{where}_current_mean"]),
                  "rms": seen[f"{where}_current_rms"], "peak": max(high, -low), "min": low, "ripple": high - low}
        named |= {f"{where}_current_{what}": Quantity(float(value), "A") for what, value in values.items()}
    return named


def _powers(solved: RectifiedSolution, ripple: float) -> Named:
    fixed, motor, load, points = solved.fixed, solved.fixed.motor, solved.fixed.load, solved.points
    speed, square = float(points.speed[0]), float(solved.armature_square[0])
    torque, iron = float(solved.torque[0]), float(solved.iron_torque[0])
    friction = float(friction_and_load(fixed, points)[0][0])
    shaft = torque - friction - iron
    output = float(OUTPUT_TORQUE(u=load.ratio, eta=load.efficiency, T_sh=shaft))
    resistance = float(points.field_resistance[0])
    watts = {
        "input_power": float(solved.input_power[0]),
        "source_loss": fixed.feed.line_resistance * float(solved.line_square[0]),
        "copper_loss_armature": float(points.armature_resistance[0]) * square,
        "brush_loss": motor.brush_drop * float(solved.armature_absolute[0]), "iron_loss": iron * speed,
        "friction_loss": friction * speed, "switching_loss": 0.0, "shaft_power": shaft * speed,
        "output_power": output * speed / load.ratio, "transmission_loss": shaft * speed - output * speed / load.ratio,
    } | {f"{role}_loss": float(solved.loss(role)[0]) for role in solved.form.carries}
    if solved.series:
        watts |= {"field_input_power": 0.0, "copper_loss_field": resistance * square}
    else:
        watts |= field_powers(fixed, current=float(points.field_current[0]), resistance=resistance,
                              voltage=float(points.voltage[0]))
    drawn = watts["input_power"] + watts["field_input_power"]
    named: Named = {
        "electromagnetic_torque": Quantity(torque, "N*m"), "shaft_torque": Quantity(shaft, "N*m"),
        "output_torque": Quantity(output, "N*m"), "torque_ripple": Quantity(float(ripple), "N*m"),
        "speed_ripple": Quantity(0.0, "rad/s"),
        "efficiency": Quantity(watts["shaft_power"] / drawn if drawn else 0.0, "1"),
        "overall_efficiency": Quantity(watts["output_power"] / drawn if drawn else 0.0, "1"),
    }
    return named | {name: Quantity(value, "W") for name, value in watts.items()}


def _mains(solved: RectifiedSolution, one: Period) -> Named:
    square, drawn = float(solved.line_square[0]), float(solved.input_power[0])
    apparent = square**0.5 * float(solved.points.voltage[0])
    each, first = np.abs(one.spectrum[1:]) / np.sqrt(2.0), complex(one.spectrum[1])
    rest = max(square - abs(one.spectrum[0]) ** 2 - float(each[0]) ** 2, 0.0)
    return {
        "apparent_power": Quantity(apparent, "V*A"),
        "power_factor": Quantity(drawn / apparent if apparent else 0.0, "1"),
        "displacement_factor": Quantity(first.imag / abs(first) if apparent else 0.0, "1"),
        "line_current_distortion": Quantity(float(rest) ** 0.5 / float(each[0]) if apparent else 0.0, "1"),
        "line_harmonics": tuple(Quantity(float(value), "A") for value in each),
    }


def _waveform(solved: RectifiedSolution, one: Period) -> dict[str, Array]:
    wave, model, motor, points = one.wave, solved.model, solved.fixed.motor, solved.points
    speed, flows = float(points.speed[0]), wave.mode != OFF
    source, path = float(model.peak[0]) * np.sin(wave.angle), wave.pulse * wave.line
    wheel = np.where(wave.mode == SOURCE, 0.0, wave.current - path) * flows
    drop = solved.form.motor.drop(solved.fixed)
    behind = float(model.source_resistance[0]) * path + float(model.source_inductance[0]) * wave.pulse * wave.line_slope
    driven = wave.pulse * source - behind - float(model.on_threshold[0]) - float(model.on_slope[0]) * path
    free = -float(model.freewheel_threshold[0]) - float(model.freewheel_slope[0]) * wheel
    terminal = np.select([wave.mode == SOURCE, flows], [driven, free], one.flux * speed)
    motor_voltage = terminal - flows * (drop.threshold + drop.slope * wave.current)
    armature = motor_voltage
    if solved.series:
        armature = (one.flux * speed + motor.brush_drop * flows + motor.armature_inductance * wave.slope
                    + float(points.armature_resistance[0]) * wave.current)
    made = {
        "angle": wave.angle, "source_voltage": source, "line_current": wave.line, "motor_voltage": motor_voltage,
        "armature_voltage": armature, "armature_current": wave.current,
        "field_current": wave.current if solved.series else np.full_like(source, float(points.field_current[0])),
        "switch_voltage": _switch_voltage(solved, wave, terminal, behind),
        "switch_current": _switch_current(solved, wave, wheel),
        "torque": one.flux * wave.current, "speed": np.full_like(source, speed),
    }
    return made | ({"freewheel_current": wheel} if "freewheel" in solved.form.carries else {})


def _switch_current(solved: RectifiedSolution, wave: Wave, wheel: Array) -> Array:
    """Current of one thyristor; of two, that which conducts while the source is positive."""
    form, state = solved.form, solved.state
    shares = form.carries["switch"][0]
    if shares[2] == 1.0:
        return wave.current
    if shares[0] == 1.0:
        return np.asarray(wave.pulse * wave.line)
    own = np.maximum(wave.line, 0.0)
    if not shares[2]:
        return own
    # it goes on as the freewheel path until the other one has taken over
    from_ = float(np.nan_to_num(state.turn_on[0] + state.overlap_on[0]))
    return np.asarray(own + wheel * (np.mod(wave.angle - from_, TURN) < np.pi))


def _switch_voltage(solved: RectifiedSolution, wave: Wave, terminal: Array, behind: Array) -> Array:
    """Forward voltage of one thyristor: its drop while it conducts; off, the diodes that could conduct hold its ends.

    Of two thyristors the one that conducts while the source is positive. In the other half cycle a diode holds its
    anode at the negative bus (common-cathode), or the other leg's diode holds the positive bus at the line (one-leg).
    """
    form, drop = solved.form, solved.fixed.switch
    source = float(solved.model.peak[0]) * np.sin(wave.angle)
    current = _switch_current(solved, wave, np.where(wave.mode == FREEWHEEL, wave.current, 0.0))
    line = source - wave.pulse * behind * ((wave.mode == SOURCE) | (wave.mode == OVERLAP))
    if form.pulses == 1:
        off = line - terminal
    elif form.carries["switch"][0][0] == 1.0 or form.held:
        off = np.abs(line) - terminal
    else:
        idle = line if form.line_short == "rectifier" else -terminal
        other = (wave.line < 0) & (wave.mode == SOURCE)
        off = np.where(source >= 0, line - terminal, np.where(other, -terminal, idle))
    return np.where(current > 0, drop.threshold + drop.slope * current, off)
