"""The figures and words of one circuit in a comparison, out of its states."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from designer.checks import HarmonicResult, harmonic_checks
from designer.circuits.case import Fixed
from designer.parts import harmonics
from designer.parts.part_counts import part_count
from designer.parts.residual_current import BY_LINE
from designer.quantities import engineering, shown
from designer.results import Quantity
from designer.studies.compare_reasons import direct_current, form_of, limit_of, lost
from designer.studies.compare_states import NOMINAL, ROUGH, Runaway, States
from designer.studies.compare_variants import Variant
from designer.studies.solve import bridge_of

SETTING_UNITS = {"firing_angle": "rad", "duty": "1", "field_current": "A"}
#: device -> what it is called where a shorted switch shorts the line through it
_THROUGH = {"freewheel": "the freewheel diode", "switch": "the other thyristor", "rectifier": "a diode of the bridge"}


def line_harmonics(one: Variant, found: States) -> HarmonicResult | None:
    """The line's harmonics at the worst of the three supplies against IEC 61000-3-2; None on a direct supply."""
    if not one.project.supply.is_mains:
        return None
    solved, supply = found.solved, one.project.supply
    nominal, hertz = float(supply.voltage or 0.0), float(supply.frequency or 0.0)
    current = float(np.sqrt(np.max(solved.line_square)))
    control = harmonics.control_of(
        found.harmonics[None], direct=np.array([direct_current(found)]), cut=one.kind.line != "bus")
    return harmonic_checks(
        found.harmonics.tolist(), supply=harmonics.Supply(voltage=nominal, frequency=hertz),
        use=harmonics.Use(power=float(np.max(solved.input_power)), current=current, control=control),
        given=one.project.margins.values)


def worst_order(found: States) -> tuple[int, float, float, float]:
    """The order nearest to (or furthest beyond) its limit of class A, its current and limit (A), and their ratio."""
    each = found.harmonics
    limits = np.array([harmonics.limit(order) for order in range(2, harmonics.HIGHEST + 1)])
    at = int(np.argmax(each[1:] / limits))
    return at + 2, float(each[at + 1]), float(limits[at]), float(each[at + 1] / limits[at])


def parts(one: Variant) -> dict[str, Quantity]:
    """The number of parts."""
    bridge = bridge_of(one.project) if one.kind.line == "bridge" else None
    return {"parts": Quantity(float(part_count(one.kind, mains=one.project.supply.is_mains, bridge=bridge)), "1")}


def figures(one: Variant, found: States) -> dict[str, Quantity]:
    """What can be told as numbers, by name: of the target at nominal supply unless the name says otherwise."""
    project, told = one.project, parts(one)
    if found.held is None:
        return told
    ratio, target, point = found.fixed.load.ratio, float(project.target.speed or 0.0), found.point
    unit, settings = SETTING_UNITS[found.circuit.setting], found.target.points.setting
    for name, value in zip(("low", "nominal", "high"), settings, strict=True):
        if math.isfinite(value):
            told[f"setting_{name}"] = Quantity(float(value), unit)
    copies = ("line_current_rms", "armature_current_rms", "armature_current_peak", "field_current_rms",
              "copper_loss_armature", "copper_loss_field", "brush_loss", "torque_ripple", "power_factor",
              "displacement_factor", "line_current_distortion", "input_power", "efficiency", "bus_voltage_mean",
              "electromagnetic_torque")
    told |= {name: q for name in copies if isinstance(q := point.quantities.get(name), Quantity)}
    low, _, high = (speed / ratio for speed in found.held)
    told |= {
        "form_factor": Quantity(point["armature_current_rms"] / point["armature_current_mean_absolute"], "1"),
        "copper_loss": Quantity(point["copper_loss_armature"] + point["copper_loss_field"], "W"),
        "speed": Quantity(point["output_speed"], "rad/s"), "speed_no_load": Quantity(found.free / ratio, "rad/s"),
        "speed_change": Quantity((found.free / ratio - point["output_speed"]) / target, "1"),
        "speed_low_supply": Quantity(low, "rad/s"), "speed_high_supply": Quantity(high, "rad/s"),
        "regulation": Quantity((high - low) / target, "1"),
    }
    for part in ("armature", "field"):
        told[f"{part}_temperature"] = Quantity(float(np.max(getattr(found.target.warm, part))), "degC")
    told["winding_limit"] = Quantity(limit_of(project), "degC")
    if found.full is not None:
        told |= {name: Quantity(speed / ratio, "rad/s")
                 for name, speed in zip(("speed_full_output", "speed_full_output_no_load"), found.full, strict=True)}
    return told | _line(one, found) | _runaway(found.runaway)


def _line(one: Variant, found: States) -> dict[str, Quantity]:
    if not one.project.supply.is_mains:
        return {}
    order, current, limit, share = worst_order(found)
    return {"direct_current": Quantity(direct_current(found), "A"), "harmonic_order": Quantity(float(order), "1"),
            "harmonic_current": Quantity(current, "A"), "harmonic_limit": Quantity(limit, "A"),
            "harmonic_share": Quantity(share, "1")}


def _runaway(away: Runaway | None) -> dict[str, Quantity]:
    if away is None:
        return {}
    told = {"speed_unloaded": Quantity(away.at_setting, "rad/s"), "speed_shorted": Quantity(away.shorted, "rad/s"),
            "speed_shorted_loaded": Quantity(away.shorted_loaded, "rad/s")}
    return told if away.field_lost is None else told | {"speed_field_lost": Quantity(away.field_lost, "rad/s")}


def texts(one: Variant, found: States | None, held: HarmonicResult | None) -> dict[str, str]:
    """What can only be said: how the field is fed, what a shorted switch does, which residual-current device."""
    mains = one.project.supply.is_mains
    told = {"rcd": BY_LINE[one.kind.line].type if mains else "none sees an earth fault of a direct supply",
            "field": _field(one, None if found is None else found.fixed)}
    if found is not None:
        told["shorted"] = " ".join(_shorted(one, found))
        if held is not None:
            told["harmonics"] = " ".join(_harmonics(one, held))
        if found.held is not None and (said := _without_diode(found)):
            told["without_freewheel"] = said
        if found.eased is not None and found.fixed.field is not None and found.fixed.field.held is not None:
            told["eased"] = (
                f"The field current of least loss, {engineering(found.eased, 'A', 3)}, does not reach the targets at "
                f"low supply: {engineering(found.fixed.field.held, 'A', 3)} is taken.")
    return told


def _field(one: Variant, fixed: Fixed | None) -> str:
    """How the field gets its current."""
    if one.kind.winding == "series":
        return "in series with the armature"
    given = one.project.circuit.field_current is not None or one.project.field_supply is not None
    amps = fixed.field.held if fixed is not None and fixed.field is not None else None
    current = "" if amps is None else f", {engineering(amps, 'A', 3)}"
    if one.kind.field_supply:
        return f"a supply of its own, {'as the file says' if given else 'd.c. at the current of least loss'}{current}"
    return f"from the same bus{current}"


def _shorted(one: Variant, found: States) -> Iterator[str]:
    """What a switch that fails short does, with the speeds where they were solved."""
    form, supply, away = form_of(found.circuit, found.fixed), one.project.supply, found.runaway
    if form is not None and form.line_short:
        yield (f"It shorts the line through {_THROUGH[form.line_short]} in every second half cycle: "
               f"{engineering(supply.fault_current, 'A')} prospective, which the fuse must clear.")
        start = "Until then"
    elif form is not None and form.pulses == 2:
        yield "Full output for good: the bridge stays whole and the gate has no say."
        start = "Then"
    elif one.kind.line == "half-wave":
        yield "It puts the motor on plain alternating current."
        start = "There"
    elif one.kind.setting == "field_current":
        yield "The field gets the whole bus: the motor slows down, and the field burns unless something limits it."
        start = "There"
    elif one.kind.line == "bus":
        yield f"It puts the {'motor' if one.kind.winding == 'series' else 'armature'} on the whole bus."
        start = "There"
    else:
        yield "Full conduction, or half-wave with direct current in the line where it fails one way."
        start = "Fully on"
    if away is not None:
        yield f"{start} {_told(away.shorted_loaded)} with the load on, {_told(away.shorted)} without."


def _told(speed: float) -> str:
    return shown(speed, "rad/s") if math.isfinite(speed) else "no end of speed"


def _harmonics(one: Variant, held: HarmonicResult) -> Iterator[str]:
    """Whether limits apply, and what a bus does about them."""
    yield held.note
    if one.kind.line == "bus" and held.worst is not None and held.worst.verdict == "fail":
        yield "As figured here without a line choke; a design puts one in."


def _without_diode(found: States) -> str:
    """What becomes of a rectifier at the target where its freewheel diode is left out."""
    if not found.fixed.freewheeling or form_of(found.circuit, found.fixed) is None:
        return ""
    bare = replace(found.fixed, freewheeling=False, tolerance=ROUGH)
    form = form_of(found.circuit, bare)
    solved = found.circuit.solve(bare, found.target.points[[NOMINAL]])
    if not lost(solved, form):
        return ""
    return "Without the freewheel diode control is lost: the current goes on through the thyristor that fired last."
