"""What meters show: a table a state of first power, the readings over the setting, and the file's own turned round."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import OperatingPoint, Quantity, Table
from designer.studies.meter_own import columns, heads, own_table, point_name
from designer.studies.meter_reverse import METERS, STEPS, Curve, curve_of
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
           f"crest factor of {CREST_LIMIT:g} at full scale: both from memory, the meter's own leaflet tells. What is "
           "steady shows next to nothing on an a.c. range; on what repeats faster than its band it shows anything from "
           "nothing to the figure here.")


def meters(found: Survey, project: Project, point: OperatingPoint, *, refused: bool) -> tuple[Table, ...]:
    """Give the tables of the section: the file's readings first, the states of first power, the way back.

    Of a design that is ``refused`` there is nothing to power: its readings alone.
    """
    if refused and not project.meter_readings:
        return ()
    curve = curve_of(found.circuit, found.fixed, found.held.points[[1]], fine=bool(project.meter_readings))
    if refused:
        return tuple(own_table(curve, project))
    form = LAMP_FORMS.get(CIRCUIT_KINDS[str(project.circuit.kind)].line)
    told = tuple(state_table(n, state, project)
                 for n, state in enumerate(states(found, project, point), 1))
    lamp = () if form is None else (_lamp(project, form),)
    return (*own_table(curve, project), *told, _back(curve, found, project), *lamp)


def supply_meters(points: tuple[MeterPoint, ...], project: Project) -> tuple[Table, ...]:
    """Give the table of a supply without motor, fully loaded."""
    return (state_table(1, MeterState(title="Full supply, the load on", points=points), project),)


def state_table(number: int, state: MeterState, project: Project) -> Table:
    """Give one state's table, a row a test point."""
    rows = tuple((point_name(told.name, project), *_cells(told.shown, told.unit), _use(told))
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
        return "d.c. range: steady"
    if told.beyond:
        return f"d.c. range for the mean; {engineering(told.frequency, 'Hz', 3)} is beyond an a.c. range"
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


def _back(curve: Curve, found: Survey, project: Project) -> Table:
    """Readings at the motor over the setting: the way back from a reading."""
    name = found.circuit.setting.replace("_", " ")
    step = STEPS.get(found.circuit.setting)
    kept = [n for n, setting in enumerate(curve.settings)
            if curve.shown[n] and (step is None or n in (0, len(curve.settings) - 1)
                                   or abs(setting / (2 * step) - round(setting / (2 * step))) < 1e-6)]
    wave = "armature_current" if step is None else "motor_voltage"
    of, unit = point_name(wave, project), "A" if step is None else "V"
    rows: tuple[tuple[Quantity | str, ...], ...] = tuple((
        *columns(found.circuit.setting, float(curve.settings[n]), curve.frequency),
        *(_clean(reads(curve.shown[n][wave].shown), curve.shown[n][wave].shown, unit) for _, reads in METERS.values()),
        Quantity(max(float(curve.speeds[n]), 0.0) / found.fixed.load.ratio, "rad/s")) for n in kept)
    blind = [METERS[meter][0] for meter in METERS if not curve.tells(wave, meter)]
    useless = f"Of no use here: {', '.join(blind)}. " if blind else ""
    return Table(
        name="meters-back", title=f"From a reading of the {of} to the {name}",
        columns=(*heads(found.circuit.setting), *COLUMNS[1:5], "output speed"), rows=rows,
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
        rows.append((*columns("firing_angle", math.radians(degrees), hertz), *_cells(one, "V")))
    halves = {"both": "both half cycles", "half": "one half cycle a period", "rectified": "both half cycles rectified"}
    return Table(
        name="meters-lamp", title="A filament lamp in the motor's place", rows=tuple(rows),
        columns=(*heads("firing_angle"), *COLUMNS[1:-1]),
        note=f"Resistive load, {halves[form]}, {engineering(volts, 'V')}, devices ideal: exact. The shape does not "
        "depend on the lamp, so a reading across it tells the firing angle without the motor.")
