"""Example projects changed by text, and the states of a survey as the independent reference takes them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from importlib.resources import files

import pytest

from designer.circuits.case import Points
from designer.project import loads
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.results import Design
from designer.studies import design as studies_design
from designer.studies.refusals import reasons
from designer.studies.sides import Power, Scene, side
from designer.studies.stall import Stall, stalls
from designer.studies.survey import Survey
from tests import reference


@dataclass(frozen=True, kw_only=True)
class Made:
    """An example as designed, with the survey and the power side behind it."""

    name: str
    project: Project
    design: Design
    found: Survey
    power: Power


def text_of(name: str, *pairs: tuple[str, str], more: str = "") -> str:
    """An example's text with parts replaced, each of which must be there, and ``more`` at its end."""
    text = files("designer").joinpath("examples", f"{name}.toml").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text + more


def project(name: str, *pairs: tuple[str, str], more: str = "") -> Project:
    """The project of an example's text, changed."""
    return loads(text_of(name, *pairs, more=more))


def made(name: str) -> Made:
    """Design an example and keep the last survey and power side that it came from."""
    surveys, powers = [], []
    real_survey, real_power = studies_design.survey, studies_design.power

    def survey(*given, **named):
        surveys.append(real_survey(*given, **named))
        return surveys[-1]

    def power(*given, **named):
        built, lacking = real_power(*given, **named)
        powers.append(built)
        return built, lacking

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(studies_design, "survey", survey)
        patch.setattr(studies_design, "power", power)
        given = project(name)
        design = studies_design.design(given)
    return Made(name=name, project=given, design=design, found=surveys[-1], power=powers[-1])


def redesigned(base: Made, *pairs: tuple[str, str], more: str = "") -> Design:
    """Design the changed example on the survey already made; for changes on which no state depends."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(studies_design, "survey", lambda *given, **named: base.found)
        return studies_design.design(project(base.name, *pairs, more=more))


def refused(base: Made, given: Project, found: Survey | None = None, stalled: tuple[Stall, ...] | None = None):
    """The reasons against a changed project by code, the first of each; on the survey already made unless given."""
    found = base.found if found is None else found
    stalled = stalls(found, given) if stalled is None else stalled
    kind = CIRCUIT_KINDS[found.circuit.name]
    scene = Scene(kind=kind, circuit=found.circuit, fixed=found.fixed, project=given, found=found, stalled=stalled,
                  groups={"running": (found.corners.loaded, found.range), "stall": (found.stall,),
                          "any": (found.corners, found.range, found.stall)})
    own = [reason for name in kind.sides for reason in side(name).reasons(scene)]
    told = reasons(found, given, stalled=stalled, link=base.power.link, sides=own)
    return {reason.code: reason for reason in reversed(told)}


def case_of(base: Made, points: Points, at: int = 0) -> reference.Case:
    """One state of a survey for the reference: motor and load from the file, conditions from ``points``."""
    motor, load, fixed = base.project.motor, base.project.load, base.found.fixed
    friction, share = float(points.friction[at]), float(points.load[at])
    several = len(motor.flux_curve) >= 3
    return reference.Case(
        voltage=float(points.voltage[at]), frequency=float(points.frequency[at]), alpha=float(points.setting[at]),
        speed=float(points.speed[at]), curve=reference.Curve(motor.flux_curve),
        R_a=float(points.armature_resistance[at]), R_f=float(points.field_resistance[at]),
        L_a=motor.armature_inductance, L_f=motor.field_inductance,
        saturating=several if motor.saturating_inductance is None else motor.saturating_inductance,
        remanence=motor.remanence or "drop", V_b=motor.brush_drop,
        R_s=base.project.supply.source_resistance, L_s=base.project.supply.source_inductance,
        V_T0=fixed.switch.threshold, r_T=fixed.switch.slope,
        guard=fixed.gate.guard / (2 * math.pi * base.project.supply.frequency),
        friction=tuple(friction * x for x in (motor.friction_torque, motor.viscous_friction, motor.windage)),
        load=tuple(share * (x or 0.0) for x in (load.torque, load.viscous, load.square)),
    )
