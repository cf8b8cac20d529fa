"""What phase angle on both half cycles brings with it: control lost, unequal halves, the bench on low a.c., wiring."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from designer.circuits.case import Circuit, Fixed, Points
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import FaultCase, Quantity, Reason, Warning_
from designer.studies.bench import LOW_VOLTAGES
from designer.studies.conditions import State
from designer.studies.groups import Group, Worst
from designer.studies.phase_bench import QUARTER, first_power
from designer.studies.rows import Rows
from designer.studies.sides import Halfway, Names, Row
from designer.studies.sides.mains import THIN
from designer.studies.survey import Survey

UNEQUAL = math.radians(1.0)  # between the two halves: detector edge, optocoupler
LOGIC = "thin wire, apart from every mains wire"
COARSE = 1e-3               # of torque

__all__ = ["Look", "bench_rows", "driver_wires", "figures", "first_power", "halves", "look", "network_wires", "reasons",
           "span", "summary", "warnings"]


@dataclass(frozen=True, kw_only=True)
class Look:
    """What only phase angle has to tell of a survey."""

    direct_current: Worst           # from halves fired one degree apart
    lost_below: tuple[float, float]  # rad: control lost below, at standstill and at speed


def look(half: Halfway, corners: Group) -> Look:
    """Solve for the direct current of unequal halves, and for the angles below which control is lost."""
    return Look(direct_current=_direct_current(half.circuit, half.fixed, corners),
                lost_below=_lost_below(half.circuit, half.fixed, half.cold, half.held))


def bench_rows(half: Halfway) -> Rows:
    """Low isolated voltages, windings cold, least friction; the load is on where it is fixed."""
    fixed, project, cold, held = half.fixed, half.project, half.cold, half.held
    full = half.circuit.setting_range(fixed)[0]
    load = 1.0 if project.load.coupling == "fixed" else 0.0
    rows = [(v, angle, k) for v in LOW_VOLTAGES for angle, k in ((full, 0.0), (QUARTER, load), (full, load))]
    labels = tuple(f"{v:g} V, {name}" for v in LOW_VOLTAGES for name in ("free", "at 90°", "at once"))
    voltage, setting, loads = np.array(rows).T
    return Rows(labels=labels, points=Points.of(fixed, {
        **cold, "frequency": project.supply.frequency, "voltage": voltage, "setting": setting, "load": loads,
        "speed": float(np.nan_to_num(held.points.speed[1]))}))


def _direct_current(circuit: Any, fixed: Fixed, corners: Group) -> Worst:
    """The direct current that halves fired a degree apart make, at the worst loaded corner."""
    loaded = np.flatnonzero((corners.points.load > 0) & (corners.points.speed > 0))
    if not loaded.size or corners.points.setting[0] + UNEQUAL >= math.pi - fixed.gate.guard:
        return Worst(value=0.0, at="the target")
    solved = circuit.unequal(fixed, corners.points[loaded], UNEQUAL)
    at = int(np.argmax(np.abs(solved.mean)))
    return Worst(value=float(np.abs(solved.mean[at])), at=corners.labels[int(loaded[at])])


def _lost_below(
    circuit: Circuit, fixed: Fixed, cold: Mapping[str, Any], held: State
) -> tuple[float, float]:
    """The firing angle below which control is lost, at standstill and at the target's speed."""
    speed = np.array([0.0, float(held.points.speed[1])])
    points = Points.of(fixed, {**cold, "setting": circuit.setting_range(fixed)[0], "speed": speed})
    solved = circuit.solve(fixed, points)
    angles = np.where(solved.state.lost, solved.state.positive.turn_on, 0.0)
    return float(angles[0]), float(angles[1])


def figures(found: Survey) -> dict[str, Quantity]:
    """The ends of the usable range of angles."""
    fixed, base = found.fixed, found.held.points[[1]]
    low, high = found.circuit.setting_range(fixed)
    # the largest angle at which the motor still starts with its load: torque at rest against it
    angles = np.linspace(low, high, 91)
    rest = base[np.zeros(angles.size, int)].at(setting=angles, speed=np.zeros(angles.size))
    needed = fixed.motor.friction_torque + float(fixed.load.at_motor(0.0))
    starts = angles[found.circuit.solve(replace(fixed, tolerance=COARSE), rest).torque > needed]
    told = {
        "smallest_angle_at_stall": Quantity(found.look.lost_below[0], "rad"),
        "smallest_angle_at_speed": Quantity(found.look.lost_below[1], "rad"),
        "largest_angle": Quantity(high, "rad"),
    }
    if starts.size:
        told["largest_angle_that_starts"] = Quantity(float(starts[-1]), "rad")
    return told


def span(found: Survey) -> tuple[float, float]:
    """The angles that plots show: from a little before control is lost at speed to the last."""
    low, high = found.circuit.setting_range(found.fixed)
    return max(found.look.lost_below[1] - 0.3, low), high


def warnings(found: Survey) -> tuple[Warning_, ...]:
    """Control lost at a start."""
    lost = found.look.lost_below[0]
    if not found.setting < lost:
        return ()
    return (Warning_(
        code="loss-of-control-at-start", message=f"At standstill control is lost below {engineering(lost, 'rad')}, "
        "later than the setting: switched on there, the motor starts at full conduction. Start at a later angle, and "
        "never ramp from below it."),)


def summary(found: Survey, project: Project) -> dict[str, str]:
    """One sentence of what it does."""
    ratio = found.fixed.load.ratio
    low, nominal, high = (float(speed) / ratio for speed in found.held.points.speed)
    free = float(found.free.points.speed[0]) / ratio
    return {"summary": f"A triac in series with the motor, fired {engineering(found.setting, 'rad')} after each mains "
            f"zero, holds {shown(nominal, 'rad/s')} with the load as written: {shown(low, 'rad/s')} at low and "
            f"{shown(high, 'rad/s')} at high mains, {shown(free, 'rad/s')} with the load off."}


def reasons(found: Survey, project: Project) -> Iterator[Reason]:
    """Half cycles that do not fire, and direct current in a transformer."""
    yield from _firing(found)
    yield from _transformer(found, project)


def _firing(found: Survey) -> Iterator[Reason]:
    state = found.range.solved.state
    if bool(np.any(state.missed_positive ^ state.missed_negative)):
        yield Reason(
            code="half-wave", message="A single short gate pulse finds the triac still conducting the other way: only "
                "one half of each "
            "cycle conducts.", figure=Quantity(float(np.max(np.abs(found.range.solved.mean))), "A"),
            limit=Quantity(0.0, "A"),
            way_out='A gate held through its window: gate = "train".')
    elif bool(np.any(state.missed_positive & state.missed_negative)):
        yield Reason(
            code="no-firing", message="At a setting of the control range the triac does not fire or does not latch.",
            figure=Quantity(float(found.range.points.setting[int(np.argmax(state.missed_positive))]), "rad"),
            way_out="A gate held through its window, a triac of lower latching current, or an earlier angle.")


def _transformer(found: Survey, project: Project) -> Iterator[Reason]:
    transformer = project.supply.transformer
    if transformer is None or transformer.magnetising_current is None:
        return
    if found.look.direct_current.value > transformer.magnetising_current:
        yield Reason(
            code="transformer-direct-current", message="Half cycles fired one degree apart draw more direct current "
            f"than the transformer's magnetising current ({found.look.direct_current.at}).",
            figure=Quantity(found.look.direct_current.value, "A"),
            limit=Quantity(transformer.magnetising_current, "A"), way_out="A larger transformer, or none.")


def halves(found: Survey) -> Iterator[FaultCase]:
    """Half cycles missing or unequal."""
    kind: Any = found.circuit
    one_way = kind.one_way(found.fixed, found.held.points[[1]])
    yield FaultCase(
        fault="switch-shorted",
        name="Triac shorted one way", figures={
            "direct current in the line": Quantity(abs(float(one_way.mean[0])), "A"),
            "line current, r.m.s.": Quantity(float(one_way.rms[0]), "A")},
        ends_by="nothing here: the motor speeds up, a transformer ahead saturates; switch off at the plug")
    yield FaultCase(
        fault="unequal-halves",
        name="Halves fired one degree apart",
        figures={"direct current in the line": Quantity(found.look.direct_current.value, "A")},
        ends_by="nothing: it is small and stays")


def driver_wires(names: Names) -> Iterator[Row]:
    """Optocoupled driver and zero-cross detector, mains side and logic side."""
    q, u, z = names.of("switch") or "Q1", names.of("gate-driver"), names.of("zero-cross-detector")
    yield f"{q}, main terminal 2", f"{names.of('driver-resistor')}, then {u} output", THIN, f"then to {q} gate"
    yield f"{q}, gate", names.of("gate-resistor"), THIN, f"its other end to {q} main terminal 1, close to {q}"
    yield ("line rail", f"{names.of('zero-cross-resistor')}, in series, then {z} input", THIN,
           "the other input terminal to the neutral rail")
    yield ("logic supply, 5 V", f"{names.of('led-resistor')}, then {u} diode, anode", LOGIC,
           f"{u} diode, cathode, to the logic output that sinks its current")
    yield ("logic supply, 5 V", names.of("zero-cross-pull-up"), LOGIC,
           f"to {z} output, collector; emitter to logic 0 V")
    yield (f"{z} output, collector", names.of("zero-cross-filter-resistor"), LOGIC,
           f"to the logic input; {names.of('zero-cross-filter-capacitor')} from that input to logic 0 V")


def network_wires(names: Names, network: str) -> list[Row]:
    """Breakover network with one or two time constants."""
    q = names.of("switch") or "Q1"
    source = "line rail" if network == "three-wire" else f"{q}, main terminal 2"
    base, last = f"{q}, main terminal 1", names.of("timing-capacitor")
    first, second = names.of("timing-capacitor", 1), names.of("timing-resistor", 1)
    node = f"{first or last}, node"
    rows = [(source, f"{names.of('timing-resistor')}, then {names.of('potentiometer')} track, then wiper", THIN,
             f"the wiper to the {node}; the far end of the track stays open; insulated shaft")]
    if second:
        rows += [(node, first, THIN, f"its other end to {base}"),
                 (node, second, THIN, f"to the {last}, node")]
    rows += [(f"{last}, node", last, THIN, f"its other end to {base}"),
             (f"{last}, node", f"{names.of('breakover-device')}, then {names.of('gate-resistor')}", THIN,
              f"then to {q} gate")]
    return rows
