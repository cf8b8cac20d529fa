"""What phase angle on a rectifier brings with it: control lost, direct current, the first guess, the words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from designer.circuits.case import Circuit, Drop, Fixed, Points
from designer.parts import mains_diode
from designer.parts.margins import share
from designer.parts.triac_classes import classes
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Quantity, Reason, Warning_
from designer.studies import phase_cut
from designer.studies.chopped_path import asked_current
from designer.studies.field_choice import fed
from designer.studies.groups import Group, Worst
from designer.studies.sides import Halfway, Scene
from designer.studies.survey import Survey
from designer.studies.triac_firing import guard_time

TURN = 2 * math.pi
UNEQUAL = math.radians(1.0)   # between the two halves: detector edge, optocoupler
WHEEL_PART = 0.7              # of a stall's peak, in the freewheel path: only where the search begins
#: words of each form of the bridge
FORMS: Mapping[str, str] = {
    "common-cathode": "Two thyristors and two diodes as a bridge",
    "one-leg": "Two thyristors in one leg of a bridge, two diodes in the other",
    "diodes-thyristor": "Four diodes and one thyristor on their d.c. side",
}


@dataclass(frozen=True, kw_only=True)
class Look:
    """What only a rectifier on phase angle has to tell of a survey.

    ``lost_below``: rad, control lost below, at standstill and at speed; 0 where that lies within the gate guard.
    ``held``: states in which the motor's current never lets the thyristor go. ``goes_on``: with its gates off, mean
    motor current (A) and speed (rad/s, motor) of a bridge that goes on half-waving; None where it lets go.
    ``unequal``: direct current (A) of halves fired one degree apart, as if each half were alone in its steady state
    (an upper bound); 0 on half-wave.
    """

    lost_below: tuple[float, float]
    held: tuple[str, ...]
    goes_on: tuple[float, float] | None
    unequal: Worst


def prepared(circuit: Circuit, fixed: Fixed, project: Project) -> Fixed:
    """Complete what all points share: gate guard, the field's current, and the drops of likely classes."""
    if CIRCUIT_KINDS[circuit.name].winding == "separate":
        fixed = replace(fixed, field=fed(fixed, project))
    omega, parts = TURN * float(project.supply.frequency or 0.0), project.parts
    fixed = replace(fixed, gate=replace(fixed.gate, guard=max(fixed.gate.guard, omega * guard_time(project))))
    switch, diode, wheel = _likely(fixed, project)
    return replace(
        fixed, switch=fixed.switch if parts.switch else _drop(switch),
        freewheel=fixed.freewheel if parts.freewheel else _drop(wheel),
        feed=fixed.feed if parts.rectifier else replace(fixed.feed, rectifier=_drop(diode)))


def _likely(fixed: Fixed, project: Project) -> tuple[Mapping[str, float], ...]:
    """The smallest classes of thyristor, rectifier diode and freewheel diode for the current asked and a stall.

    A stall fully on is taken as the crest on the windings' resistance; the freewheel path has less of it.
    """
    margins, motor = project.margins.values, fixed.motor
    current = asked_current(fixed, project)
    windings = motor.armature_resistance + (motor.field_resistance if fixed.field is None else 0.0)
    stalled = math.sqrt(2) * project.supply.highest_voltage / (windings + fixed.feed.resistance)
    found = []
    for devices, kind, part in ((classes("thyristor"), "switch", 1.0), (_diodes(), "diode", 1.0),
                                (_diodes(), "diode", WHEEL_PART)):
        amperes, surge = current / share(f"{kind}_current", margins)[0], stalled / share(f"{kind}_surge", margins)[0]
        found.append(next((d.values for d in devices if d["current"] >= amperes
                           and d["surge_current"] >= part * surge), devices[-1].values))
    return tuple(found)


def _diodes() -> tuple[Any, ...]:
    return tuple(diode.device for diode in mains_diode.classes())


def _drop(values: Mapping[str, float]) -> Drop:
    return Drop(threshold=values["threshold_voltage"], slope=values["slope_resistance"])


def look(half: Halfway, corners: Group) -> Look:
    """Solve for the angles below which control is lost, for a thyristor that never lets go, and for unequal halves."""
    circuit, fixed, held = half.circuit, half.fixed, half.held
    speed = np.array([0.0, float(np.nan_to_num(held.points.speed[1]))])
    full = Points.of(fixed, {**half.cold, "setting": circuit.setting_range(fixed)[0], "speed": speed})
    state = circuit.solve(fixed, full).state
    angles = np.where(state.lost, np.nan_to_num(state.turn_on), 0.0)
    angles = np.where(angles > fixed.gate.guard, angles, 0.0)     # less than the detector's own error: no news
    form, seen = _form(circuit, fixed), corners.solved.state
    never = seen.continuous if form.keeps_gate else seen.lost if form.held else np.zeros(len(corners.points), bool)
    labels = tuple(label for label, on in zip(corners.labels, never, strict=True) if on)
    return Look(lost_below=(float(angles[0]), float(angles[1])), held=labels,
                goes_on=_goes_on(circuit, fixed, held.points[[1]]) if form.keeps_gate else None,
                unequal=_unequal(circuit, fixed, corners) if form.pulses == 2 else Worst(value=0.0, at=""))


def _form(circuit: Any, fixed: Fixed) -> Any:
    return circuit.form(fixed)


def _goes_on(circuit: Any, fixed: Fixed, points: Points) -> tuple[float, float] | None:
    """Mean motor current (A) with the gates off, and motor speed (rad/s): at the setting, else at rest; or None.

    At rest it always goes on: nothing opposes the freewheeling current but resistance.
    """
    on = getattr(circuit, "half_waving", None)
    speed = float(np.nan_to_num(points.speed[0]))
    if on is None:
        return None
    both = points[[0, 0]].at(speed=np.array([speed, 0.0]))
    solved = on(fixed, both)
    going = np.flatnonzero(solved.state.continuous)
    if not going.size:
        return None
    at = int(going[0])
    return float(solved.armature_absolute[at]), float(both.speed[at])


def _unequal(circuit: Circuit, fixed: Fixed, corners: Group) -> Worst:
    """Half the change of a pulse's charge over one degree, at the worst loaded corner."""
    loaded = np.flatnonzero((corners.points.load > 0) & (corners.points.speed > 0))
    later = corners.points.setting + UNEQUAL
    loaded = loaded[later[loaded] < math.pi - fixed.gate.guard]
    if not loaded.size:
        return Worst(value=0.0, at="the target")
    moved = circuit.solve(fixed, corners.points[loaded].at(setting=later[loaded]))
    change = np.abs(corners.solved.state.source_charge[loaded] - moved.state.source_charge) / 2 / TURN
    at = int(np.argmax(change))
    return Worst(value=float(change[at]), at=corners.labels[int(loaded[at])])


def direct_current(scene: Scene, *, limit: float = math.inf) -> Worst:
    """The greatest direct current in the line over the control range, A; where that is below ``limit``, over all
    loaded corners."""
    found = scene.found
    assert found is not None
    worst = Worst(value=0.0, at="")
    for group in (found.range, found.corners.loaded):
        if len(group.labels):
            seen = group.worst(np.abs(group.stresses["line_current_mean"]))
            worst = seen if seen.value > worst.value else worst
        if worst.value > limit:
            break
    return worst


def reasons(scene: Scene) -> Iterator[Reason]:
    """A thyristor that never lets go or never fires, and direct current in a transformer."""
    found = scene.found
    assert found is not None
    yield from _held(scene, found)
    yield from _firing(found)
    yield from _transformer(scene, found)


def _held(scene: Scene, found: Survey) -> Iterator[Reason]:
    """Without a freewheel diode: no say of the angle (one thyristor), or no way to turn off (two in two legs)."""
    form, seen = _form(found.circuit, found.fixed), found.look
    if form.freewheel is None or found.fixed.freewheeling or not (form.held or form.keeps_gate):
        return
    way = "A freewheel diode across the motor (leave circuit.freewheel out, or true)."
    if form.held and (seen.held or found.stall.solved.state.lost.any()):
        where = seen.held[0] if seen.held else found.stall.labels[0]
        yield Reason(
            code="loss-of-control", message="Without a freewheel diode the motor's current goes on through diodes and "
            f"thyristor past every zero: the thyristor never lets go, and the firing angle has no say ({where}). The "
            "motor then has full output until the line is broken.",
            figure=Quantity(found.unloaded[1].speed, "rad/s"), way_out=way)
    elif form.keeps_gate:
        where = "at the setting's speed" if seen.goes_on and seen.goes_on[1] > 0 else "at rest, jammed or starting"
        goes = f": {engineering(seen.goes_on[0], 'A')} {where}" if seen.goes_on else ""
        yield Reason(
            code="loss-of-control", message="Without a freewheel diode the motor's current goes on through the "
            "thyristor that fired last and the diode in its leg. With the gates off, or one of them lost, that "
            f"thyristor passes every second half cycle whole{goes}: only breaking the line stops the motor.",
            figure=None if seen.goes_on is None else Quantity(seen.goes_on[0], "A"),
            limit=None if seen.goes_on is None else Quantity(0.0, "A"),
            way_out=way)


def _firing(found: Survey) -> Iterator[Reason]:
    missed = found.range.solved.state.missed
    if bool(np.any(missed)):
        at = int(np.argmax(missed))
        yield Reason(
            code="no-firing", message="At a setting of the control range the thyristor does not fire or does not latch "
            f"({found.range.labels[at]}).", figure=Quantity(float(found.range.points.setting[at]), "rad"),
            way_out="A gate held through its window, a thyristor of lower latching current, or an earlier angle.")


def _transformer(scene: Scene, found: Survey) -> Iterator[Reason]:
    """Direct current that a transformer ahead does not bear: all of it on half-wave, unequal halves on a bridge."""
    transformer = scene.project.supply.transformer
    if transformer is None:
        return
    half_wave, limit = _form(found.circuit, found.fixed).pulses == 1, transformer.magnetising_current
    seen = found.look.unequal
    if half_wave:
        seen = direct_current(scene, limit=math.inf if limit is None else limit)
    way = (
        "A bridge with thyristor and freewheel diode in its place (bridge-series or bridge-armature): its line current "
        "has no direct part." if half_wave else "A larger transformer, or none.")
    if limit is None and half_wave:
        yield Reason(
            code="transformer-direct-current", message="Half-wave: the circuit draws direct current through the "
            f"transformer ({seen.at}), and what that bears is not known.", figure=Quantity(seen.value, "A"),
            way_out=f"Measure its magnetising current (supply.transformer.magnetising_current). {way}")
    elif limit is not None and seen.value > limit:
        yield Reason(
            code="transformer-direct-current", message=("Half-wave: the circuit draws" if half_wave else
            "Half cycles fired one degree apart draw") + " more direct current from the transformer than its whole "
            f"magnetising current ({seen.at}): {seen.value / limit:.2g} times. It saturates, hums and burns.",
            figure=Quantity(seen.value, "A"), limit=Quantity(limit, "A"), way_out=way)


def figures(found: Survey) -> dict[str, Quantity]:
    """The ends of the usable range of angles."""
    return phase_cut.figures(found)


def warnings(found: Survey) -> tuple[Warning_, ...]:
    """Control lost at a start."""
    return phase_cut.warnings(found)


def span(found: Survey) -> tuple[float, float]:
    """The angles that plots show."""
    return phase_cut.span(found)


def summary(found: Survey, project: Project) -> dict[str, str]:
    """One sentence of what it does."""
    ratio, fixed = found.fixed.load.ratio, found.fixed
    low, nominal, high = (float(speed) / ratio for speed in found.held.points.speed)
    free = float(found.free.points.speed[0]) / ratio
    form = _form(found.circuit, fixed)
    what = "One thyristor, half-wave," if form.pulses == 1 else f"{FORMS[fixed.bridge]}"
    wheel = ", with a freewheel diode across it," if fixed.freewheeling else ""
    fed_with = "" if fixed.field is None else (
        f" The field has {engineering(float(found.held.points.field_current[1]), 'A')} of its own.")
    motor = "motor" if fixed.field is None else "armature"
    verb = "feeds" if form.pulses == 1 or fixed.bridge == "" else "feed"
    zero = "each rising mains zero" if form.pulses == 1 else "each mains zero"
    return {"summary": f"{what} {verb} the {motor}{wheel} fired {engineering(found.setting, 'rad')} after {zero}: "
            f"{shown(nominal, 'rad/s')} with the load as written, {shown(low, 'rad/s')} at low and "
            f"{shown(high, 'rad/s')} at high mains, {shown(free, 'rad/s')} with the load off.{fed_with}"}
