"""The measuring plan: what to read in which order, what not to pass, what a first look should show."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from designer.motor.fit import Fit
from designer.motor.fit_next import Limits
from designer.quantities import engineering, shown
from designer.studies.fitted import Characterised
from designer.studies.next_reading import limits_of

FIRST_VOLTS = 12.0      # V: a first turn, where nothing is known yet (common practice, no source)
STALL_TIME = 3          # s of current at rest through the brushes (common practice, no source)
SURE = 2.0              # standard uncertainties towards the unsafe side


@dataclass(frozen=True, kw_only=True)
class Task:
    """One step of the plan: title, what to do, what not to pass, what it should show, and rows to fill in.

    ``columns`` head the blanks; ``rows`` are settings, one a row.
    """

    title: str
    kind: str
    action: str
    limits: str
    look: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The steps in safe order, largest safe voltage of a series motor without load (V), highest bench speed (rad/s)."""

    tasks: tuple[Task, ...]
    safe_voltage: float
    safe_speed: float
    known: bool             # False where the voltage is common practice for want of a fit
    assumed: tuple[str, ...]


def plan(found: Characterised) -> Plan:
    """Give the worksheet for a motor of which as much is known as ``found`` says."""
    limits, assumed = limits_of(found.project, found.fit)
    known = found.fit is not None and found.fit.turning and found.fit.has("field_resistance")
    volts = safe_series_voltage(found.fit, limits.speed) if found.fit is not None and known else FIRST_VOLTS
    return Plan(tasks=tuple(_tasks(found, limits, volts)), safe_voltage=volts, safe_speed=limits.speed, known=known,
                assumed=assumed)


def safe_series_voltage(made: Fit, speed: float) -> float:
    """The direct voltage (V) at which the series motor without load just reaches ``speed`` (rad/s).

    Counted on the safe side: flux and friction less by two standard uncertainties, so the true speed is lower.
    """
    friction, spread = (float(of[0]) for of in made.friction(np.array([speed])))
    needed = max(friction - SURE * spread, 0.3 * friction)
    grid = float(made.read_at[-1]) * np.geomspace(1e-3, 10.0, 800)
    k, sigma = made.curve(grid)
    k = np.maximum(k - SURE * sigma, 0.2 * k)
    current = float(np.interp(needed, np.maximum.accumulate(k * grid), grid))
    ohms = made.value("armature_resistance")[0] + made.value("field_resistance")[0]
    return made.value("brush_drop")[0] + ohms * current + float(np.interp(current, grid, k)) * speed


def _tasks(found: Characterised, limits: Limits, volts: float) -> Iterator[Task]:
    """Dead first, then at rest, then turning slowly, then fast, and warm last."""
    amps = engineering(limits.armature_current, "A", 3)
    yield Task(
        title="Insulation", kind="insulation", columns=("test voltage", "resistance after a minute"),
        action="All windings tied together against the frame, 500 V. Clean, dry and test again where it is low.",
        limits="Below 1 MΩ (2 MΩ double-insulated) the motor is not used. Nothing else is read before this.",
        look="Tens of megohms or more.", rows=(("500 V",),))
    yield Task(
        title="Armature at rest, direct current", kind="standstill-dc", columns=("current", "volts at the brushes"),
        action="Rotor clamped, field open, four wires, four positions of the shaft. An ohmmeter does not read this.",
        limits=f"At most {amps}, at most {STALL_TIME} s at a time: the winding warms by 0.4 % a kelvin.",
        look=_look_armature(found.fit), rows=_steps(limits.armature_current, "A"))
    yield Task(
        title="Field, direct current", kind="standstill-dc", columns=("current", "volts at the field"),
        action="Four wires; note the winding's temperature. Each tap likewise.",
        limits=f"At most {engineering(limits.field_current, 'A', 3)}. Switch off before a lead is pulled: it bites.",
        look="Volts in proportion to amperes.", rows=_steps(limits.field_current, "A"))
    yield Task(
        title="Windings on alternating current, rotor clamped", kind="standstill-ac",
        columns=("winding", "volts r.m.s.", "amperes r.m.s.", "frequency"),
        action="6 to 24 V from an isolating transformer through a resistor, true r.m.s. meters; armature, field, and "
        "both in series (that one tells the brush shift).",
        limits=f"At most {amps} and {STALL_TIME} s through the brushes.", look="Field larger than armature.",
        rows=(("armature",), ("field",), ("series",)))
    yield from _turning_tasks(found, limits, volts)
    yield Task(
        title="Warm-up", kind="warm-up", columns=("minutes", "amperes", "ohms"),
        action="One winding at a time, its current held, resistance from volts and amperes, until it stands still; "
        "note the air's temperature as winding_temperature.",
        limits="Stop at 1.3 times the cold resistance: about 75 K above it.", look="Half of the rise in ten to twenty "
        "minutes.", rows=(("0",), ("5",), ("10",), ("20",), ("40",), ("60",)))


def _turning_tasks(found: Characterised, limits: Limits, volts: float) -> Iterator[Task]:
    """The first turn, the map of the flux curve, tacho and run-down."""
    yield Task(
        title="First turn, both windings in series", kind="series-run", columns=("volts", "amperes", "speed"),
        action="Clamped, guarded, shaft bare, current limit set, nobody alone. A hold-out: mark it hold_out = true.",
        limits=f"Without load at most {engineering(math.floor(min(volts, limits.armature_voltage)), 'V')}: at "
        f"{engineering(volts, 'V', 3)} the speed may reach {shown(limits.speed, 'rad/s')}, and it runs away beyond.",
        look=_look_first(found), rows=_steps(min(FIRST_VOLTS, volts), "V"))
    yield Task(
        title="Field fed apart, no load", kind="separate-excitation",
        columns=("field current", "armature volts", "field volts", "armature amperes", "speed"),
        action="Field on first and off last, armature from 0 up; armature volts of 20 V and more, so that the brushes "
        "count little.",
        limits=f"At most {shown(limits.speed, 'rad/s')}: less field is faster. A lost field is a runaway.",
        look="The less field, the more armature current: that is right.", rows=tuple(_map(found.fit, limits)))
    yield Task(
        title="Tacho", kind="tacho", columns=("speed", "frequency", "volts r.m.s."),
        action="At two speeds of the rows above, with an optical counter beside it.",
        limits="The tacho's leads are live with the motor once it is on mains.",
        look="A whole number of pulses a turn.", rows=(("",), ("",)))
    yield Task(
        title="Run-down", kind="run-down", columns=("seconds since switch-off", "speed"),
        action="Field off, armature switched off at the highest speed of the rows above; film the counter.",
        limits="Nobody touches the shaft before it stands.", look="Seconds.", rows=(("",),) * 5)


def _steps(most: float, unit: str) -> tuple[tuple[str, ...], ...]:
    return tuple((engineering(share * most, unit, 3),) for share in (1 / 3, 2 / 3, 1.0))


def _look_armature(made: Fit | None) -> str:
    if made is None or not made.has("armature_resistance"):
        return "Volts on a straight line that starts near 2 V: its slope is the resistance."
    drop, ohms = made.value("brush_drop")[0], made.value("armature_resistance")[0]
    return f"About {engineering(drop, 'V', 2)} and {engineering(ohms, 'V', 3)} more for each ampere."


def _look_first(found: Characterised) -> str:
    if found.fit is None or not found.fit.turning or found.completed.motor.field_resistance is None:
        return "It turns, slowly; sparks are few and blue."
    from designer.studies.hold_out import on_direct

    point = on_direct(found.completed, FIRST_VOLTS)
    return (f"At {engineering(FIRST_VOLTS, 'V')} about {shown(point['speed'], 'rad/s')} and "
            f"{engineering(point['current'], 'A', 2)}; more than 15 % off is a fault of pinout or winding.")


def _map(made: Fit | None, limits: Limits) -> Iterator[tuple[str, ...]]:
    """Field currents from the largest down, and armature volts that keep the speed within the bench's limit."""
    for share in (1.0, 0.75, 0.5, 0.25, 0.125):
        field = share * limits.field_current
        for part in (0.67, 1.0):
            volts = part * limits.armature_voltage
            if made is not None and made.turning:
                fastest = made.value("brush_drop")[0] + float(made.curve(np.array([field]))[0][0]) * limits.speed
                volts = min(volts, fastest)
            yield engineering(field, "A", 3), engineering(volts, "V", 3)
