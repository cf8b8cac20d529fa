"""What the sheet tells of a speed loop: tacho, command table, margins over the corners, guard, held or not."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from designer.control.guard import ABOVE
from designer.control.loop import LEAST
from designer.control.plant import State
from designer.errors import InputError
from designer.parts import tacho_volts
from designer.quantities import engineering, shown
from designer.results import Quantity, Table
from designer.studies import guarding
from designer.studies.holding import Holding
from designer.studies.rows import LOAD_STEPS
from designer.studies.sides import Scene
from designer.studies.survey import Survey

SHOWN = 8       # entries of a table of the command
STATES: tuple[tuple[State, str], ...] = (
    ("loaded", "loaded"), ("idle", "without load"), ("lost", "load come off"))
WORST = 6       # corners told, those with the least margins


def tables(scene: Scene, loop: Holding) -> tuple[Table, ...]:
    """Give the loop's tables in the order of the signal."""
    found = scene.found
    assert found is not None
    made = [held(found), loop.stage.table, commands(scene, loop)]
    if loop.tuned is not None:
        made.append(margins(loop))
    if loop.guard is not None and scene.project.motor.inertia is not None:
        made.append(guarding.table(found, scene.project, loop.guard))
    return (*made, *analogue(loop))


def analogue(loop: Holding) -> tuple[Table, ...]:
    """The speed as a voltage, for a loop without a controller: values, ripple against lag; none where none serve."""
    fastest = max(loop.stage.speeds)
    try:
        found = tacho_volts.design(tacho_volts.Demand(
            frequency=loop.stage.tacho.frequency(fastest), speed=fastest))
    except InputError:      # pulses too quick for a pump of usual size: then there is no such table
        return ()
    rows = tuple((part.description, part.marking or "—", part.if_wrong)
                 for part in tacho_volts.choose(found.demand, found=found))
    return (Table(
        name="tacho-volts-parts", title="Speed as a voltage, for an analogue loop", columns=("part", "value", "if it "
        "is wrong"), rows=rows,
        note=f"Not in the parts list: a charge pump behind the barrier, for a loop without a controller. "
        f"{engineering(found.steps['volts'].value, 'V', 3)} at {shown(fastest, 'rad/s')} of the motor, within "
        f"{100 * found.spread:.2g} % before it is trimmed; {100 * found.drift:.2g} % more per kelvin. The guard and "
        "its second path stay as they are."), tacho_volts.trade(found))


def held(found: Survey) -> Table:
    """Speed with the setting held against speed with the loop, from no load up."""
    ratio, load = found.fixed.load.ratio, found.fixed.load
    target = float(found.held.points.speed[1]) / ratio
    rows = []
    for step, speed in zip(LOAD_STEPS, found.free.points.speed[: len(LOAD_STEPS)].tolist(), strict=True):
        turns = max(speed, 0.0) / ratio if math.isfinite(speed) else math.nan
        rows.append((Quantity(step, "1"), Quantity(step * float(load.at_output(target)), "N*m"),
                     Quantity(turns, "rad/s"), Quantity(target, "rad/s") if step <= 1 else "beyond what was surveyed"))
    corners = found.corners.points
    low, high = float(np.min(corners.speed)) / ratio, float(np.max(corners.speed)) / ratio
    return Table(
        name="speed-held", title="The speed with the setting held, and with the loop",
        columns=("load, as a part", "torque at the target's speed", "setting held", "with the loop"), rows=tuple(rows),
        note="Output shaft, nominal supply. Over every corner of supply, frequency, windings, friction and load the "
        f"loop holds {shown(low, 'rad/s')} to {shown(high, 'rad/s')}; the setting that it finds runs from "
        f"{_setting(found, float(np.min(corners.setting)))} to {_setting(found, float(np.max(corners.setting)))}. The "
        "reading's own step and the tacho's magnets come on top: see the table of update times.")


def _setting(found: Survey, value: float) -> str:
    unit = {"firing_angle": "rad", "field_current": "A"}.get(found.circuit.setting, "1")
    return shown(value, unit) if unit != "1" else f"{100 * value:.3g} %"


def commands(scene: Scene, loop: Holding) -> Table:
    """The command's table in a few entries, and how far it may go at rest and at speed."""
    found = scene.found
    assert found is not None
    unit = {"firing_angle": "rad", "field_current": "A"}.get(found.circuit.setting, "1")
    even = "torque at the target" if found.fixed.field is None else "the armature's voltage, as near as can be"
    places = np.linspace(0, len(loop.table.commands) - 1, SHOWN + 1).astype(int)
    rows = tuple((Quantity(float(loop.table.commands[k]), "1"), Quantity(float(loop.table.settings[k]), unit))
                 for k in places)
    limits = ", ".join(f"{shown(float(speed), 'rad/s')}: {float(command):.0%}" for speed, command in zip(
        loop.limit.speeds[::6], loop.limit.commands[::6], strict=True))
    return Table(
        name="command-table", title="From the regulator's command to the setting",
        columns=("command", found.circuit.setting.replace("_", " ")), rows=rows,
        note=f"Made so that equal steps of command give equal steps of {even}. The whole table stands in the program's "
        f"constants. The most command allowed, by speed of the motor ({limits}): enough for twice the torque asked "
        "for, and never where the circuit is not under control; a start begins at command 0 and climbs a ramp of "
        f"{engineering(loop.ramp, 's', 3)}. Where a command gives at least twice the torque that it gives at the "
        "target, the regulator's gain is halved, or quartered.")


def margins(loop: Holding) -> Table:
    """The corners with the least margins of the sampled loop, and the regulator."""
    assert loop.tuned is not None
    one = loop.tuned.regulator
    worst = sorted(loop.tuned.margins, key=lambda m: min(m.spare, m.spare_gain - 1))[:WORST]
    rows = tuple((m.label, f"{math.degrees(m.phase):.1f}°", f"{m.gain:.3g}" if math.isfinite(m.gain) else "any",
                  f"{m.crossover / (2 * math.pi):.3g} Hz" if m.crossover else "—") for m in worst)
    asked = ", ".join(f"{words} {math.degrees(LEAST[state][0]):.0f}° and a factor of {LEAST[state][1]:.3g}"
                      for state, words in STATES)
    out = len(loop.linear.out_of_reach)
    missing = "" if not out else (f" Left out, for the output stands at its end there: {out} of the corners "
                                  f"({loop.linear.out_of_reach[0][0]}).")
    return Table(
        name="loop-margins", title="Margins of the loop, the corners with the least of them",
        columns=("corner", "phase margin", "gain may rise by", "crossover"), rows=rows,
        note=f"PI by the symmetrical optimum, widened until every one of {len(loop.tuned.margins)} corners holds "
        f"its least ({asked}; common practice, no source): gain "
        f"{one.gain:.4g} s/rad of command per motor speed, integral time {engineering(one.integral_time, 's', 3)}, a "
        "step "
        f"every {engineering(one.sample_time, 's', 3)}. Dead time of firing or PWM, computing, sample and hold, and "
        f"the tacho's age are counted.{missing}")


def texts(scene: Scene, loop: Holding) -> Mapping[str, str]:
    """How the loop works and what it does not do, in words."""
    told = {"speed_loop": (
        "The tacho's edges are timed, the regulator steps "
        f"every {engineering(loop.sample_time, 's', 3)}, and its command goes through a table to the "
        f"{scene.found.circuit.setting.replace('_', ' ') if scene.found else 'setting'}. At its end of range the "
        "integral stands still (no wind-up). A loop holds the speed; it does not make the machine safe: the guard and "
        "the second switch-off path do.")}
    if loop.guard is not None:
        given = scene.project.protection.overspeed_trip is not None
        told["overspeed_guard"] = (
            f"The guard trips at {shown(loop.guard.trip_speed, 'rad/s')} of the motor"
            f"{', as the file says' if given else f', {ABOVE:g} times the fastest loaded speed'}; it reads the same "
            "tacho as the loop, so edges that stay away while the output is on count as a trip too, and a watchdog "
            "with a clock of its own opens the second path where the program stands still.")
    return told
