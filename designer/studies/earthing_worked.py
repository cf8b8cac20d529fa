"""The worked steps behind the tables of insulation and earth."""

from __future__ import annotations

import math

from designer.equations.conductor import TRACK_AREA
from designer.equations.mains_cord import BOND_LIMIT
from designer.parts import conductors, earth_leakage, fast_lead, fuse, protective_earth, test_gear
from designer.results import Step
from designer.studies.earthing import found_cord, leakage_demand
from designer.studies.groups import voltages
from designer.studies.motor_lead import demand, edges_of
from designer.studies.sides import Power, Scene


def earthing_steps(scene: Scene, built: Power | None) -> tuple[Step, ...]:
    """Give the steps of leakage, cord, protective conductor, widest track, bench gear and the motor's lead."""
    found: list[Step] = []
    if scene.alternating:
        line = scene.worst("line_current_rms").value
        found += [test_gear.supply(line, voltage=voltages(scene.project)[2], direct=False).apparent]
        if scene.project.motor.frame_capacitance is not None and scene.project.line_filter is None:
            found += earth_leakage.leakage(leakage_demand(scene)).steps[:2]
        found += _cord(scene, built)
    found += [Step(formula=TRACK_AREA, note="outer layer, the widest track", inputs={
        "I_track": current, "k_track": conductors.OUTER, "dT_track": scene.project.board.track_rise})
        for current in _greatest(scene)]
    return (*found, *(_lead(scene, built) if scene.kind.chops else ()))


def _greatest(scene: Scene) -> tuple[float, ...]:
    """The greatest current of a path of the board, A r.m.s.; none where nothing flows."""
    flows = [scene.worst(name).value for name in ("line_current_rms", "armature_current_rms", "freewheel_current_rms")]
    most = max((one for one in flows if math.isfinite(one)), default=0.0)
    return (most,) if most > 0 else ()


def _cord(scene: Scene, built: Power | None) -> tuple[Step, ...]:
    if built is None or built.link is None:
        return ()
    cord = found_cord(scene, built)
    end, through = cord.end.value, fuse.let_through(built.link, prospective=cord.end.value)
    bond = Step(formula=BOND_LIMIT, note="cord cold", inputs={"R_core": cord.cold})
    fault = (protective_earth.in_fault(end, time=through / end**2),) if math.isfinite(through) else ()
    return (cord.core, cord.end, cord.drop, bond, *fault)


def _lead(scene: Scene, built: Power | None) -> tuple[Step, ...]:
    asked = demand(scene, built)
    slowest = fast_lead.leads(asked)[-1]
    told = (slowest.velocity, slowest.critical, *((slowest.crest,) if slowest.crest is not None else ()))
    return (*edges_of(built), *told, *(fast_lead.to_frame(asked) or ()))
