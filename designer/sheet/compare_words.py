"""The rows of a comparison in words: label, what stands in each cell, for terminal and page alike."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from designer.results import Quantity
from designer.sheet.text import share, show
from designer.studies.compare_rank import SAID
from designer.studies.compare_result import Candidate

SETTINGS = {"firing_angle": "firing angle", "duty": "duty", "field_current": "field current"}
NONE = "—"


@dataclass(frozen=True, kw_only=True)
class Line:
    """One row of the comparison: its label, and the cell of a candidate."""

    label: str
    cell: Callable[[Candidate], str]


def written(quantity: Quantity) -> str:
    """A figure for people, pure numbers as shares."""
    return share(quantity.value) if quantity.unit == "1" else show(quantity, digits=3)


def _figure(name: str) -> Callable[[Candidate], str]:
    return lambda one: written(one.figures[name]) if name in one.figures else NONE


def _plain(name: str, digits: int) -> Callable[[Candidate], str]:
    return lambda one: f"{one.figures[name].value:.{digits}f}" if name in one.figures else NONE


def _two(first: str, second: str, between: str) -> Callable[[Candidate], str]:
    def cell(one: Candidate) -> str:
        if first not in one.figures or second not in one.figures:
            return NONE
        return f"{written(one.figures[first])}{between}{written(one.figures[second])}"

    return cell


def _range(one: Candidate) -> str:
    if "setting_nominal" not in one.figures:
        return NONE
    ends = [written(one.figures[f"setting_{name}"]) if f"setting_{name}" in one.figures else "not reached"
            for name in ("low", "high")]
    return f"{ends[0]} … {ends[1]}"


def _setting(one: Candidate) -> str:
    name = SETTINGS[one.setting]
    return f"{name} {written(one.figures['setting_nominal'])}" if "setting_nominal" in one.figures else name


def _harmonic(one: Candidate) -> str:
    if "harmonic_order" not in one.figures:
        return NONE
    return (f"order {one.figure('harmonic_order'):.0f}: {written(one.figures['harmonic_current'])}, "
            f"{share(one.figure('harmonic_share'))}")


def _power(one: Candidate) -> str:
    return f"{one.figure('power_factor'):.2f}" if "power_factor" in one.figures else NONE


#: every row in order
LINES = (
    Line(label="standing", cell=lambda one: SAID[one.standing]),
    Line(label="setting at the target", cell=_setting),
    Line(label="setting from low to high supply", cell=_range),
    Line(label="line current, r.m.s.", cell=_figure("line_current_rms")),
    Line(label="armature current, r.m.s.", cell=_figure("armature_current_rms")),
    Line(label="armature current, peak", cell=_figure("armature_current_peak")),
    Line(label="form factor (r.m.s. over mean)", cell=_plain("form_factor", 2)),
    Line(label="field current, r.m.s.", cell=_figure("field_current_rms")),
    Line(label="copper loss", cell=_figure("copper_loss")),
    Line(label="  of it armature, field", cell=_two("copper_loss_armature", "copper_loss_field", ", ")),
    Line(label="winding, armature and field", cell=_two("armature_temperature", "field_temperature", ", ")),
    Line(label="torque ripple, peak to peak", cell=_figure("torque_ripple")),
    Line(label="speed without load, setting held", cell=_figure("speed_no_load")),
    Line(label="  change from no load to full load", cell=_figure("speed_change")),
    Line(label="speed at low, high supply", cell=_two("speed_low_supply", "speed_high_supply", ", ")),
    Line(label="  change over the supply's band", cell=_figure("regulation")),
    Line(label="input power", cell=_figure("input_power")),
    Line(label="power factor", cell=_power),
    Line(label="nearest class A harmonic", cell=_harmonic),
    Line(label="direct current in the line", cell=_figure("direct_current")),
    Line(label="load lost at the setting (motor)", cell=_figure("speed_unloaded")),
    Line(label="switch shorted, load on (motor)", cell=_figure("speed_shorted_loaded")),
    Line(label="switch shorted, load lost (motor)", cell=_figure("speed_shorted")),
    Line(label="field lost (motor)", cell=_figure("speed_field_lost")),
    Line(label="parts, counted", cell=_plain("parts", 0)),
    Line(label="residual-current device", cell=lambda one: one.texts["rcd"]),
    Line(label="field", cell=lambda one: one.texts["field"]),
)


def remarks(one: Candidate) -> Iterator[str]:
    """What has no cell of its own: the failed switch, the diode left out, the limits' scope, what was taken."""
    for name in ("shorted", "without_freewheel", "eased", "harmonics"):
        if one.texts.get(name):
            yield f"If the switch fails short: {one.texts[name]}" if name == "shorted" else one.texts[name]
    if one.taken:
        yield f"Taken where the file does not say: {', '.join(one.taken)}."
