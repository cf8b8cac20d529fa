"""Results as text for a terminal."""

from __future__ import annotations

import math

from designer.quantities import engineering, shown
from designer.results import Design, OperatingPoint, Quantity

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


def _text(value: Quantity) -> str:
    if not math.isfinite(value.value):
        return "no limit"
    if value.unit == "1":
        return f"{value.value:.4g}"
    return shown(value.value, value.unit) if value.unit == "rad/s" else engineering(value.value, value.unit)


def point_table(point: OperatingPoint) -> str:
    """One operating point: its main quantities a line each, then its warnings."""
    rows = [(name.replace("_", " "), point.quantities[name]) for name in _LISTED if name in point.quantities]
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


def design_tables(design: Design) -> str:
    """Cautions first, then the verdict with its reasons, headline figures, parts and checks."""
    lines = [
        "The whole circuit is live at mains potential, its control side and heatsink included. This is a calculation, "
        "not an",
        "approval: local codes govern, and work on mains is for people licensed or supervised where the law says "
        "so.", "",
        f"{design.circuit_title}: {'READY' if design.ready else 'NOT READY'}",
    ]
    for reason in design.reasons:
        limit = f", limit {_text(reason.limit)}" if reason.limit else ""
        figure = f" [{_text(reason.figure)}{limit}]" if reason.figure else ""
        lines.append(f"  {reason.code}: {reason.message}{figure}")
        if reason.way_out:
            lines.append(f"    way out: {reason.way_out}")
        lines += [f"    nearest: {name.replace('_', ' ')} {_text(value)}" for name, value in reason.nearest.items()]
    lines += ["", *_pairs({name.replace("_", " "): value for name, value in design.headline.items()})]
    if design.ready:
        lines += ["", "Parts"]
        for part in design.parts:
            times = f" × {part.count}" if part.count > 1 else ""
            lines.append(f"  {part.designator:<10} {part.marking + times:<22} {part.description}")
    lines += ["", "Ratings"]
    for check in design.checks:
        used = f"{100 * check.stress.value / check.limit.value:.0f} %" if check.limit.value else "-"
        lines.append(f"  {check.verdict:<4}  {check.part}, {check.rating}: {_text(check.stress)} of "
            f"{_text(check.limit)} ({used} used, "
                     f"{100 * check.margin:.0f} % allowed)")
    lines += ["", *(f"warning ({warning.code}): {warning.message}" for warning in design.warnings)]
    return "\n".join(lines) + "\n"


def _pairs(values: dict[str, Quantity]) -> list[str]:
    width = max(map(len, values))
    return [f"  {name:<{width}}  {_text(value)}" for name, value in values.items()]
