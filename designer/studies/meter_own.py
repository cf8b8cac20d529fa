"""A file's own meter readings turned round: the setting that gives each, or why none does."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from designer.circuits.case import Circuit, Fixed, Points
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.project.readings import MeterReading
from designer.quantities import engineering, shown
from designer.results import Array, Quantity, Table, Warning_
from designer.studies.meter_reverse import METERS, Answer, Curve, curve_of, lamp_angles, lamp_curve
from designer.studies.meter_waves import LAMP_FORMS


def own_table(curve: Curve, project: Project) -> Iterator[Table]:
    """Give the table of the file's readings, each turned round; nothing where it has none."""
    if not project.meter_readings:
        return
    rows = tuple(_turned(reading, curve, project) for reading in project.meter_readings)
    name = curve.circuit.setting.replace("_", " ")
    yield Table(
        name="meters-own", title="Your meter readings, turned round", rows=rows,
        columns=("read at", "meter", "reading", f"{name} that gives it", "remark"),
        note="Nominal supply, windings as at the target, the load as written and the speed as it follows; a lamp as a "
        "resistance. A supply off by a part puts a voltage off by as much. No answer means that something else than "
        f"the {name} is wrong, or the meter's kind is not as written.")


def turned_round(circuit: Circuit, fixed: Fixed, base: Points, project: Project) -> tuple[Warning_, ...]:
    """Give a line for each of the file's readings, at supply and temperatures of one solved point, ``base``."""
    if not project.meter_readings:
        return ()
    if not project.load.is_given:
        return (Warning_(code="meter-reading", message="Meter readings are turned round with the load as written, and "
                         "this file has none: give its torque."),)
    curve = curve_of(circuit, fixed, base, fine=True)
    lines = []
    for where, meter, reading, found, remark in (_turned(one, curve, project) for one in project.meter_readings):
        assert isinstance(reading, Quantity)
        lines.append(Warning_(
            code="meter-reading", message=f"{engineering(reading.value, reading.unit)} of {where} on a meter of the "
            f"kind {meter}: {circuit.setting.replace('_', ' ')} {found}. {remark}"))
    return tuple(lines)


def point_name(wave: str, project: Project) -> str:
    """Give a test point in words: of a motor whose field is fed apart the motor's voltage is the armature's."""
    separate = CIRCUIT_KINDS[str(project.circuit.kind)].winding != "series"
    return "armature voltage" if separate and wave == "motor_voltage" else wave.replace("_", " ")


def _turned(reading: MeterReading, curve: Curve, project: Project) -> tuple[Quantity | str, ...]:
    value, unit = (reading.voltage, "V") if reading.voltage is not None else (reading.current, "A")
    assert value is not None
    wave = reading.point.replace("-", "_")
    said = point_name(wave, project), METERS[reading.meter][0]
    if reading.point == "lamp-voltage":
        form = LAMP_FORMS[CIRCUIT_KINDS[str(project.circuit.kind)].line]
        volts = float(project.supply.voltage or 0.0)
        angles = lamp_angles(value, reading.meter, volts=volts, form=form)
        spans = lamp_curve(reading.meter, volts=volts, form=form)[1]
        tells, answers = bool(np.ptp(spans) > 0), tuple(Answer(setting=a) for a in angles)
    else:
        spans, tells = curve.values(wave, reading.meter), curve.tells(wave, reading.meter)
        answers = curve.answers(wave, reading.meter, value) if tells else ()
    setting = "firing_angle" if reading.point == "lamp-voltage" else curve.circuit.setting
    told = " or ".join(setting_text(setting, one.setting, curve.frequency) for one in answers) or "none"
    remark = _remark(answers, spans if tells else None, unit=unit, ratio=curve.fixed.load.ratio)
    return (*said, Quantity(value, unit), told, remark)


def _remark(answers: tuple[Answer, ...], spans: Array | None, *, unit: str, ratio: float) -> str:
    """What goes with the answers: speeds, or why there is none; ``spans``: the curve, None where it tells nothing."""
    if spans is None:
        return ("This meter shows next to the same at every setting here: it tells nothing. Use one that sees the "
                "wave's r.m.s.")
    if not answers:
        low, high = float(np.nanmin(spans)), float(np.nanmax(spans))
        return (f"This meter shows {engineering(low, unit)} to {engineering(high, unit)} here, whatever the setting. "
                "Check the meter's range and kind, the supply voltage, that the load is on, that no half cycle is "
                "missing and that the switch is not shorted.")
    speeds = [shown(max(one.speed, 0.0) / ratio, "rad/s") for one in answers if one.speed is not None]
    if len(answers) > 1:
        return "The curve turns: " + (f"the output speed tells which, {' or '.join(speeds)}." if speeds else
                                      "turn the setting a little and see which way the reading goes.")
    return f"The output turns at {speeds[0]} there." if speeds else "Exact for a resistance."


def heads(name: str) -> tuple[str, ...]:
    """Give the heads of a setting's columns."""
    return ("firing angle", "after the zero") if name == "firing_angle" else (name.replace("_", " "),)


def columns(name: str, value: float, frequency: float) -> tuple[str, ...]:
    """Give a setting in words; of a firing angle the time after the zero too."""
    if name == "firing_angle":
        return f"{math.degrees(value):.1f}°", engineering(value / (2 * math.pi * frequency), "s", 3)
    return (f"{100 * value:.1f} %" if name == "duty" else engineering(value, "A"),)


def setting_text(name: str, value: float, frequency: float) -> str:
    """Give the same as one text."""
    first, *after = columns(name, value, frequency)
    return f"{first} ({after[0]} after the zero)" if after else first
