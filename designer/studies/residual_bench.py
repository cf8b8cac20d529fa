"""First power of a thyristor on the motor's own voltage: that voltage read first, then the lamp, then the mains."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import OperatingPoint, PowerStep, Quantity
from designer.studies import rectified_bench, rectified_control
from designer.studies.survey import REMANENCE_SPREAD, Survey


def first_power(found: Survey, project: Project, point: OperatingPoint) -> tuple[PowerStep, ...]:
    """Give the steps of the half-wave thyristor, with what differs where the motor's voltage fires it."""
    watch = ("Then let the load rise and fall" if project.load.coupling == "fixed" else
             "Then take the load off as far as it comes off")
    steps = list(rectified_bench.first_power(found, project, point))
    lamp = next(number for number, step in enumerate(steps) if "lamp" in step.title)
    steps[lamp] = replace(
        steps[lamp], action=steps[lamp].action.replace(
            "From the slow end of the setting to the fast end and back.",
            "Potentiometer from its slow end to the fast end and back: a lamp has no voltage of its own, so a little "
            "way up from the slow end it is as bright as it gets, and it goes out where the wiper is taken off. The "
            "potentiometer's shaft and every part of the divider are live."),
        stop=steps[lamp].stop.replace(
            "half cycles are missing, look at the gate", "the gate is not held long enough, look at its capacitor"
        ).replace(" The fuse goes: freewheel diode the wrong way round.", ""))
    steps[-1] = replace(
        steps[-1], action="Guard shut, stop within reach, somebody beside you. Potentiometer at its slow end before "
        f"the mains comes on, then up until the output turns at {shown(point['output_speed'], 'rad/s')}. {watch}, "
        "and watch the speed: it must stay where the table of the speed held over the load says. "
        f"The bands are for {engineering(float(project.supply.voltage or 0.0), 'V')} at the socket: read that first. "
        "Feel nothing: read.",
        stop="It races with the potentiometer at its slow end: a part of the divider open, or the remanence is not "
        f"there. {steps[-1].stop}")
    if found.fixed.field is None:
        steps.insert(lamp, _own_voltage(found))
    return tuple(steps)


def _own_voltage(found: Survey) -> PowerStep:
    """The voltage that holds the speed, read with nothing connected."""
    speed, constant = float(found.held.points.speed[1]), found.fixed.motor.curve.remanence
    return PowerStep(
        title="The motor's own voltage, nothing connected",
        action="After the step on direct current, leads off: turn the shaft by a drill at a speed that you read, and "
        "read the direct voltage at the motor's two ends. Divide it by the speed and take it times "
        f"{shown(speed, 'rad/s')}, the motor's speed at the target. Its sign is that of the direct current before.",
        readings=(("own voltage at the speed of the target, d.c. range",
                   Quantity(min(REMANENCE_SPREAD) * constant * speed, "V"),
                   Quantity(max(REMANENCE_SPREAD) * constant * speed, "V")),),
        stop="None, or the other sign: do the step on direct current again the way the thyristor will drive it. "
        "Outside the band: put the reading into the file as the row at 0 A, and design again.")


def summary(found: Survey, project: Project) -> dict[str, str]:
    """One sentence of what it does."""
    told = rectified_control.summary(found, project)["summary"]
    angle = math.degrees(float(np.nan_to_num(found.setting)))
    speed = shown(float(found.held.points.speed[1]) / found.fixed.load.ratio, "rad/s")
    return {"summary": "One thyristor, half-wave, fired where a divider of the mains exceeds the motor's own voltage: "
            f"at {angle:.3g}° with the load as written ({speed}), earlier when it slows down, not at all when it is "
            "faster."
            + (told[told.index(" The field has"):] if " The field has" in told else "")}
