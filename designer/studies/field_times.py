"""How long a field takes to come and to go, and the order of field and armature that follows from it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from designer.circuits.run_up import run_down
from designer.equations import field_source as eq
from designer.equations.motor import REFERRED_INERTIA
from designer.parts import field_discharge
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Quantity, Step
from designer.studies.field_feeding import Fed
from designer.studies.rows import FRICTION_BOUNDS
from designer.studies.sides import Scene
from designer.studies.survey import Survey

FULL = 0.95       # of the final current: from there on the field counts as built up (three time constants)


@dataclass(frozen=True, kw_only=True)
class Times:
    """Seconds until the relay picks up, until the field counts as built up, until a tenth is left; their steps."""

    pick_up: float
    full: float
    gone: float
    worked: tuple[Step, ...]
    figures: Mapping[str, Quantity] = field(default_factory=dict)


def times(made: Fed, dying: field_discharge.Demand, *, pick_up: float) -> Times:
    """Give the times of a field as fed, from the unsaturated inductance, which makes them the longest.

    Building up counts with the hot winding at low supply: the latest pick-up. A field that saturates is quicker.
    """
    ohms = dying.resistance + made.feed.series + made.demand.source_resistance
    told = {"L_f": dying.inductance, "R_loop": ohms, "I_st": made.feed.least}
    picks, full = (Step(formula=eq.BUILD_UP, inputs={**told, "I_b": current}, note=note) for current, note in (
        (pick_up, "until the field-current relay picks up, weakest field"), (FULL * made.feed.least, "until 95 %")))
    gone = field_discharge.decay(dying)
    return Times(pick_up=picks.value, full=full.value, gone=gone.value, worked=(picks, full, gone), figures={
        "field_build_up_time": Quantity(full.value, "s"), "field_pick_up_time": Quantity(picks.value, "s"),
        "field_decay_time": Quantity(gone.value, "s")})


def order(made: Times, scene: Scene) -> str:
    """Field and armature in order, with the times."""
    rest = stop_time(scene.found, scene.project) if scene.found is not None else math.inf
    wait = engineering(rest, "s", 2) if math.isfinite(rest) else "a time not known here (read it by a run-down)"
    return (
        f"1. Field on: its current is there after {engineering(made.full, 's', 2)} at the latest; the field-current "
        f"relay picks up after {engineering(made.pick_up, 's', 2)}. 2. Only its contact lets the armature close. "
        "3. Off: the armature first, at once. 4. The field stays on until the shaft stands, up to "
        f"{wait}; then it dies through its diode within {engineering(made.gone, 's', 2)}. The unsaturated inductance "
        "is counted: a saturated field comes and goes quicker.")


def stop_time(found: Survey | None, project: Project) -> float:
    """The longest run-down, s: from the highest speed of any target by least friction alone; infinite if not known."""
    if found is None or project.motor.inertia is None:
        return math.inf
    load, states = found.fixed.load, (found.held, *found.targets)
    inertia = float(REFERRED_INERTIA(J_m=project.motor.inertia, J_load=load.inertia, u=load.ratio))
    return run_down(found.fixed, start=max(float(np.nanmax(state.points.speed)) for state in states), inertia=inertia,
                    friction=FRICTION_BOUNDS[0])
