"""An operating point as text for a terminal."""

from __future__ import annotations

import math

from designer.quantities import engineering, shown
from designer.results import OperatingPoint, Quantity

_LISTED = (
    "firing_angle", "turn_on_angle", "extinction_angle", "conduction_angle", "overlap_angle", "duty", "speed",
    "output_speed",
    "electromagnetic_torque", "shaft_torque", "output_torque", "torque_ripple", "speed_ripple", "line_current_rms",
    "line_current_peak", "line_current_mean", "armature_current_rms", "armature_current_mean_absolute",
    "field_current_rms",
    "switch_current_rms", "turn_off_current_slope", "reapplied_voltage", "input_power", "source_loss", "switch_loss",
    "copper_loss_armature", "copper_loss_field", "brush_loss", "iron_loss", "friction_loss", "shaft_power",
    "output_power",
    "efficiency", "power_factor", "displacement_factor", "line_current_distortion",
)
#: told beside those where direct current is chopped, or a bus stands between
_DIRECT = (
    "switching_frequency", "extinction_time", "bus_voltage_mean", "bus_voltage_valley", "bus_voltage_crest",
    "armature_current_mean", "armature_current_peak", "armature_current_min", "armature_current_ripple",
    "field_current_mean", "freewheel_current_mean", "freewheel_current_rms", "rectifier_current_mean",
    "rectifier_current_rms", "capacitor_current_rms", "load_current", "field_input_power", "rectifier_loss",
    "capacitor_loss", "freewheel_loss", "load_power",
)


def _text(value: Quantity) -> str:
    if not math.isfinite(value.value):
        return "no limit"
    if value.unit == "1":
        return f"{value.value:.4g}"
    return shown(value.value, value.unit) if value.unit == "rad/s" else engineering(value.value, value.unit)


def point_table(point: OperatingPoint) -> str:
    """One operating point: its main quantities a line each, then its warnings."""
    direct = bool({"duty", "bus_voltage_mean"} & set(point.quantities))
    listed = (*_LISTED, *(_DIRECT if direct else ()))
    rows = [(name.replace("_", " "), point.quantities[name]) for name in listed if name in point.quantities]
    width = max(len(name) for name, _ in rows)
    lines = [point.circuit, *(f"  {name:<{width}}  "
        f"{_text(value)}" for name, value in rows if isinstance(value, Quantity))]
    harmonics = point.quantities.get("line_harmonics")
    if isinstance(harmonics, tuple):
        odd = ", ".join(f"{n}: {engineering(h.value, 'A', 3)}" for n,
            h in enumerate(harmonics, 1) if n in (1, 3, 5, 7, 9, 11))
        lines.append(f"  {'line harmonics':<{width}}  {odd}")
    lines += [f"warning ({warning.code}): {warning.message}" for warning in point.warnings]
    return "\n".join(lines) + "\n"
