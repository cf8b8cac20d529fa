"""What meters show: a table a state of first power, the readings over the setting, and the file's own turned round."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.project.readings import MeterReading
from designer.quantities import engineering, shown
from designer.results import Array, OperatingPoint, Quantity, Table
from designer.studies.meter_reverse import METERS, STEPS, Answer, Curve, curve_of, lamp_angles, lamp_curve
from designer.studies.meter_states import MeterState, states
from designer.studies.meter_waves import LAMP_FORMS, MeterPoint, lamp_shown
from designer.studies.survey import Survey
from designer.waveforms.meter_readings import CREST_LIMIT, HAND_BAND, Shown

ROUNDING = 1e-4             # of the r.m.s.: a smaller mean is what the solution leaves
HARDLY = 0.05               # of the motor's voltage: a switch with less conducts nearly all the time
NEXT_TO_NOTHING = 0.02      # of the true r.m.s.: less than an ordinary meter tells
LAMP_STEP = 15              # degrees
COLUMNS = ("test point", *(name for name, _ in METERS.values()), "oscilloscope, highest", "oscilloscope, lowest",
           "crest factor", "which meter")
_MEMORY = (f"An ordinary a.c. range is taken to end at {engineering(HAND_BAND, 'Hz')}, a true r.m.s. meter to bear a "
           f"crest factor of {CREST_LIMIT:g} at full scale: both from memory, the meter's own leaflet tells.")


def meters(found: Survey, project: Project, point: OperatingPoint) -> tuple[Table, ...]:
    """Give the tables of the section: the file's readings first, the states of first power, the way back."""
    curve = curve_of(found, fine=bool(project.meter_readings))
    form = LAMP_FORMS.get(CIRCUIT_KINDS[str(project.circuit.kind)].line)
    told = tuple(state_table(n, state, separate=found.fixed.field is not None)
                 for n, state in enumerate(states(found, project, point), 1))
    lamp = () if form is None else (_lamp(project, form),)
    return (*_own(curve, project, form, found.fixed.load.ratio), *told, _back(curve, found), *lamp)


def supply_meters(points: tuple[MeterPoint, ...]) -> tuple[Table, ...]:
    """Give the table of a supply without motor, fully loaded."""
    return (state_table(1, MeterState(title="Full supply, the load on", points=points), separate=True),)


def state_table(number: int, state: MeterState, *, separate: bool) -> Table:
    """Give one state's table; ``separate``: the field is fed apart, so the motor's voltage is the armature's."""
    rows = tuple((_named(told.name, separate), *_cells(told.shown, told.unit), _use(told))
                 for told in _telling(state.points))
    return Table(name=f"meters-{number}", title=state.title, columns=COLUMNS, rows=rows,
                 note=" ".join(note for note in (_MEMORY if number == 1 else "", _ripple(state)) if note))


def _ripple(state: MeterState) -> str:
    """What a chopped wave leaves out where its bus follows the mains."""
    paces = {told.name: told.frequency for told in state.points}
    bus, switch = paces.get("bus_voltage"), paces.get("switch_voltage")
    if bus is None or switch is None or bus == switch:
        return ""
    return "Chopped waves are those at the mean of the bus: on the oscilloscope their tops follow its ripple."


def _telling(points: tuple[MeterPoint, ...]) -> Iterator[MeterPoint]:
    """The points worth a row: a current once where line and motor share it, no switch that hardly ever blocks."""
    by_name = {told.name: told for told in points}
    for told in points:
        line, motor = by_name.get("line_current"), by_name.get("motor_voltage")
        if told.name == "armature_current" and line is not None and line.shown == told.shown:
            yield replace(told, name="motor and line current")
        elif told.name == "line_current" and told.shown == getattr(by_name.get("armature_current"), "shown", None):
            continue
        elif told.name != "switch_voltage" or motor is None or told.shown.rms > HARDLY * motor.shown.rms:
            yield told


def _named(name: str, separate: bool) -> str:
    return "armature voltage" if separate and name == "motor_voltage" else name.replace("_", " ")


def _cells(shown_: Shown, unit: str) -> tuple[Quantity | str, ...]:
    """The figures of one wave; what is next to rounding comes as zero."""
    values = (shown_.mean, shown_.rms, shown_.ac, shown_.average, shown_.peak, shown_.trough)
    crest = "—" if math.isnan(shown_.crest) else f"{shown_.crest:.2f}"
    return (*(_clean(value, shown_, unit) for value in values), crest)


def _clean(value: float, of: Shown, unit: str) -> Quantity:
    """A figure of a wave; what is next to rounding beside its r.m.s. comes as zero."""
    return Quantity(value if abs(value) > ROUNDING * of.rms else 0.0, unit)


def _use(told: MeterPoint) -> str:
    """Which meter tells the truth there, and by how much the others are off."""
    one = told.shown
    if one.rms == 0.0:
        return "nothing here"
    if one.ac < NEXT_TO_NOTHING * one.rms:
        return "d.c. range: it is steady, and an a.c. range shows nothing of use"
    if told.beyond:
        return (f"d.c. range for the mean; repeats at {engineering(told.frequency, 'Hz', 3)}, beyond an a.c. range of "
                f"{engineering(HAND_BAND, 'Hz')}, which shows anything from nothing to the figures here")
    direct = abs(one.mean) > NEXT_TO_NOTHING * one.rms
    said = ["true r.m.s., a.c. and d.c. together, or d.c. range for the mean; an a.c. range leaves the mean out"
            if direct else "true r.m.s."]
    off = one.average / one.ac - 1
    if abs(off) > NEXT_TO_NOTHING and not direct:
        said.append(f"average-responding {100 * abs(off):.0f} % too {'low' if off < 0 else 'high'}")
    if one.reads_low >= 0.005:
        said.append(f"a band of {engineering(HAND_BAND, 'Hz')} takes {100 * one.reads_low:.1f} % off an a.c. range")
    if one.crest > CREST_LIMIT or one.crest_ac > CREST_LIMIT:
        said.append(f"crest factor beyond {CREST_LIMIT:g}: a range of {engineering(one.scale, told.unit, 3)} or more")
    return "; ".join(said)


def _back(curve: Curve, found: Survey) -> Table:
    """Readings at the motor over the setting: the way back from a reading."""
    name = found.circuit.setting.replace("_", " ")
    step = STEPS.get(found.circuit.setting)
    kept = [n for n, setting in enumerate(curve.settings)
            if curve.shown[n] and (step is None or n in (0, len(curve.settings) - 1)
                                   or abs(setting / (2 * step) - round(setting / (2 * step))) < 1e-6)]
    wave = "armature_current" if step is None else "motor_voltage"
    of, unit = _named(wave, found.fixed.field is not None), "A" if step is None else "V"
    rows: tuple[tuple[Quantity | str, ...], ...] = tuple((
        *_columns(found.circuit.setting, float(curve.settings[n]), curve.frequency),
        *(_clean(reads(curve.shown[n][wave].shown), curve.shown[n][wave].shown, unit) for _, reads in METERS.values()),
        Quantity(max(float(curve.speeds[n]), 0.0) / found.fixed.load.ratio, "rad/s")) for n in kept)
    blind = [METERS[meter][0] for meter in METERS if not curve.tells(wave, meter)]
    useless = f"Of no use here: {', '.join(blind)}. " if blind else ""
    return Table(
        name="meters-back", title=f"From a reading of the {of} to the {name}",
        columns=(*_heads(found.circuit.setting), *COLUMNS[1:5], "output speed"), rows=rows,
        note="Nominal supply, windings as at the target, the load as written, the speed as it follows. Find the "
        f"reading in the column of your meter: the {name} stands at the left. Where a column rises and falls again a "
        "reading has two answers, and the speed tells which. "
        f"{useless}A reading put into the file as [[meter_readings]] is turned round exactly.")


def _lamp(project: Project, form: str) -> Table:
    """A resistive lamp in the motor's place, by the closed forms."""
    volts, hertz = float(project.supply.voltage or 0.0), float(project.supply.frequency or 1.0)
    rows = []
    for degrees in range(0, 180, LAMP_STEP):
        one = lamp_shown(math.radians(degrees), volts=volts, form=form, frequency=hertz)
        rows.append((*_columns("firing_angle", math.radians(degrees), hertz), *_cells(one, "V")))
    halves = {"both": "both half cycles", "half": "one half cycle a period", "rectified": "both half cycles rectified"}
    return Table(
        name="meters-lamp", title="A filament lamp in the motor's place", rows=tuple(rows),
        columns=(*_heads("firing_angle"), *COLUMNS[1:-1]),
        note=f"Resistive load, {halves[form]}, {engineering(volts, 'V')}, devices ideal: exact. The shape does not "
        "depend on the lamp, so a reading across it tells the firing angle without the motor.")


def _heads(name: str) -> tuple[str, ...]:
    return ("firing angle", "after the zero") if name == "firing_angle" else (name.replace("_", " "),)


def _columns(name: str, value: float, frequency: float) -> tuple[str, ...]:
    """A setting in words; of a firing angle the time after the zero too."""
    if name == "firing_angle":
        return f"{math.degrees(value):.1f}°", engineering(value / (2 * math.pi * frequency), "s", 3)
    return (f"{100 * value:.1f} %" if name == "duty" else engineering(value, "A"),)


def _setting(name: str, value: float, frequency: float) -> str:
    """The same as one text."""
    first, *after = _columns(name, value, frequency)
    return f"{first} ({after[0]} after the zero)" if after else first


def _own(curve: Curve, project: Project, form: str | None, ratio: float) -> Iterator[Table]:
    """The file's own readings, each turned round."""
    if not project.meter_readings:
        return
    rows = tuple(_turned(reading, curve, project, form, ratio) for reading in project.meter_readings)
    name = curve.circuit.setting.replace("_", " ")
    yield Table(
        name="meters-own", title="Your meter readings, turned round", rows=rows,
        columns=("read at", "meter", "reading", f"{name} that gives it", "remark"),
        note="Nominal supply, windings as at the target, the load as written and the speed as it follows; a lamp as a "
        "resistance. A supply off by a part puts a voltage off by as much. No answer means that something else than "
        f"the {name} is wrong, or the meter's kind is not as written.")


def _turned(
    reading: MeterReading, curve: Curve, project: Project, form: str | None, ratio: float
) -> tuple[Quantity | str, ...]:
    value, unit = (reading.voltage, "V") if reading.voltage is not None else (reading.current, "A")
    assert value is not None
    wave, said = reading.point.replace("-", "_"), (reading.point.replace("-", " "), METERS[reading.meter][0])
    if reading.point == "lamp-voltage":
        assert form is not None
        volts = float(project.supply.voltage or 0.0)
        angles = lamp_angles(value, reading.meter, volts=volts, form=form)
        spans = lamp_curve(reading.meter, volts=volts, form=form)[1]
        tells, answers = bool(np.ptp(spans) > 0), tuple(Answer(setting=a) for a in angles)
    else:
        spans, tells = curve.values(wave, reading.meter), curve.tells(wave, reading.meter)
        answers = curve.answers(wave, reading.meter, value) if tells else ()
    setting = "firing_angle" if reading.point == "lamp-voltage" else curve.circuit.setting
    told = " or ".join(_setting(setting, one.setting, curve.frequency) for one in answers) or "none"
    return (*said, Quantity(value, unit), told, _remark(answers, spans if tells else None, unit=unit, ratio=ratio))


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
